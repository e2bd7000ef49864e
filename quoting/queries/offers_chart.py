"""The picture of price against the chance of going dark, in words and places of the page."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from catalog.quantities import format_number
from quoting.drawings.frontier import FrontierChart, Mark, Spot, frontier_chart
from quoting.queries.offers_facts import chance_words, share_words
from quoting.queries.shown import Shown, shown
from quoting.sizing.selecting.records import Candidate


@dataclass(frozen=True, slots=True)
class Point:
    """A mark as the page places it; shares are in per cent of the plot."""

    x: str
    y: str
    kind: str
    """``offer``, ``frontier``, ``tried`` or ``failed``."""
    words: str
    """What a pointer over it, or a reader, is told."""
    high_y: str = ""
    label: str = ""
    anchor: str = "start"
    dx_px: float = 0.0
    dy_px: float = 0.0


@dataclass(frozen=True, slots=True)
class At:
    """A line of a scale with its number."""

    at: str
    value: Shown | None


@dataclass(frozen=True, slots=True)
class CandidateRow:
    """One system of the table beside the picture."""

    name: str
    price: Shown
    chance: Shown | None
    days: Shown | None
    on_frontier: bool
    holds: bool


@dataclass(frozen=True, slots=True)
class FrontierPicture:
    """What the template draws, and its numbers as a table."""

    points: tuple[Point, ...]
    stairs: str
    prices: tuple[At, ...]
    chances: tuple[At, ...]
    words: str
    rows: tuple[CandidateRow, ...]
    has_tried: bool = False
    """Some systems hold and are neither an offer nor on the frontier."""
    has_failed: bool = False


def frontier_picture(candidates: Iterable[Candidate], named: Mapping[str, str]) -> FrontierPicture | None:
    """Draw candidates; ``named`` are the names of offers by the key of their candidate. None without a simulation."""
    known = tuple(candidates)
    drawn = [one for one in known if one.facts.dark_chance_ratio is not None]
    if not drawn:
        return None
    chart = frontier_chart(_spot(one, named.get(one.key, "")) for one in drawn)
    points = tuple(_point(mark) for mark in chart.marks)
    return FrontierPicture(
        points=points,
        stairs=_stairs(chart),
        prices=tuple(At(_percent(tick.at), Shown(format_number(tick.value), "")) for tick in chart.prices),
        chances=tuple(At(_percent(tick.at), _share(tick.value)) for tick in chart.chances),
        words=_words(chart),
        rows=tuple(_row(one, named.get(one.key, "")) for one in _in_order(known)),
        has_tried=any(point.kind == "tried" for point in points),
        has_failed=any(point.kind == "failed" for point in points),
    )


def _spot(one: Candidate, name: str) -> Spot:
    assert one.facts.dark_chance_ratio is not None
    return Spot(
        price=float(one.facts.price),
        dark_ratio=one.facts.dark_chance_ratio,
        high_ratio=one.facts.dark_high_ratio,
        name=name,
        holds=one.holds,
        frontier=one.frontier,
    )


def _point(mark: Mark) -> Point:
    spot = mark.spot
    kind = "offer" if spot.name else "failed" if not spot.holds else "frontier" if spot.frontier else "tried"
    said = _("%(price)s without tax, %(share)s dark") % {
        "price": format_number(spot.price, 2),
        "share": share_words(spot.dark_ratio),
    }
    label = mark.label
    return Point(
        x=_percent(mark.x),
        y=_percent(mark.y),
        kind=kind,
        words=f"{spot.name}: {said}" if spot.name else said,
        high_y=_percent(mark.high_y) if mark.high_y is not None else "",
        label=label.text if label else "",
        anchor=label.anchor if label else "start",
        dx_px=label.dx_px if label else 0.0,
        dy_px=label.dy_px if label else 0.0,
    )


def _stairs(chart: FrontierChart) -> str:
    """A path in hundredths of the plot, stretched by the page."""
    return " ".join(f"{'L' if k else 'M'}{100 * x:.2f} {100 * y:.2f}" for k, (x, y) in enumerate(chart.stairs))


def _percent(share: float) -> str:
    return f"{100 * share:.2f}"


def _share(ratio: float) -> Shown | None:
    return shown(round(100 * ratio, 1), "%")


def _words(chart: FrontierChart) -> str:
    """What the picture says, for those who do not see it."""
    named = [mark.spot for mark in chart.marks if mark.spot.name]
    said = [
        _("%(name)s %(price)s, dark %(chance)s")
        % {"name": spot.name, "price": format_number(spot.price, 2), "chance": chance_words(spot.dark_ratio)}
        for spot in named
    ]
    others = len(chart.marks) - len(named)
    if others:
        said.append(ngettext("%(n)d other system", "%(n)d other systems", others) % {"n": others})
    return "; ".join(said) + "."


def _in_order(candidates: Iterable[Candidate]) -> list[Candidate]:
    return sorted(candidates, key=lambda one: (float(one.facts.price), one.key))


def _row(one: Candidate, name: str) -> CandidateRow:
    chance, days = one.facts.dark_chance_ratio, one.facts.days_without_charging
    return CandidateRow(
        name=name,
        price=Shown(format_number(float(one.facts.price), 2), ""),
        chance=None if chance is None else shown(round(100 * chance, 1), "%"),
        days=None if days is None else shown(round(days, 1)),
        on_frontier=one.frontier,
        holds=one.holds,
    )
