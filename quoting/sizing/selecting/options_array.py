"""Arrays: each panel in strings, by what the controllers of a sort make of it; never every pair of both."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from catalog.kinds.capabilities import Panel, SolarControl
from quoting.sizing.brief_choosing import Pick
from quoting.sizing.choice_array import (
    MET,
    Array,
    asked_v_of,
    cold_voc_v,
    given_w,
    met_ratio,
    roof_takes,
    stops_of,
)
from quoting.sizing.needs import SolarNeed
from quoting.sizing.parts import Able
from quoting.sizing.selecting.options_ask import MOST_PIECES, Ask
from quoting.sizing.selecting.options_charging import Charger
from quoting.sizing.selecting.options_strings import beside_panels
from quoting.sizing.selecting.problem import Option, Row
from quoting.sizing.sun import string_v

MOST_SERIES = 8
"""Panels of one string."""


@dataclass(frozen=True, slots=True)
class Panels:
    """An array as an option, with what rows that join it to other parts ask."""

    option: Option
    gives: dict[str, float]
    array: Array
    sorts: frozenset[str]
    """Sorts of controllers that it is meant for."""
    control: SolarControl
    """One of those."""


def sort_of(ask: Ask, can: SolarControl) -> str:
    """Name of a controller's sort: those of one sort make the same of an array, but for their efficiency."""
    need = ask.needs.solar
    shaded = need is not None and any(shade > 0 for _, shade in need.by_stop)
    return f"{can.method}-{asked_v_of(ask.brief, can):g}" if shaded else can.method


def sorts_of(ask: Ask, chargers: list[Charger]) -> dict[str, list[SolarControl]]:
    """Controllers by their sort."""
    sorts: dict[str, list[SolarControl]] = {}
    for charger in chargers:
        can = charger.cans.get("solar")
        if isinstance(can, SolarControl):
            sorts.setdefault(sort_of(ask, can), []).append(can)
    return dict(sorted(sorts.items()))


def arrays_of(ask: Ask, chargers: list[Charger]) -> tuple[list[Panels], list[Row]]:
    """Arrays for every sort of controller there is, from one string to as many as give what is asked."""
    need = ask.needs.solar
    if need is None or need.array_w <= 0:
        return [], []
    rows = [Row("array_w", "need", need.array_w, unit="W", scale=need.array_w)]
    area_m2 = roof_m2(ask)
    if area_m2 is not None:
        rows.append(Row("roof_m2", "limit", most=area_m2, unit="m²", scale=max(area_m2, 0.1)))
    found: list[Panels] = []
    methods = _methods(ask, need, chargers)
    for able, kept in ask.of_role("panel", Panel):
        for method, sorts in methods.items():
            for layout, met, suits in _arrays(ask, need, able, sorts, kept):
                gives = {**layout.gives, "array_w": met * need.array_w}
                if kept is not None:  # it lies there
                    gives.pop("roof_m2", None)
                note = method if len(suits) == len(sorts.sorts) else ",".join(suits)
                beside = beside_panels(ask, layout.array.parallel)
                option = ask.option(("array",), (layout.pick,), gives, kept=kept is not None, note=note, beside=beside)
                found.append(Panels(option, gives, layout.array, frozenset(suits), sorts.sorts[0].control))
    return found, rows


@dataclass(frozen=True, slots=True)
class _Sort:
    """Controllers of one sort, by the widest limits that any of them has."""

    name: str
    control: SolarControl
    least_v: float
    most_voc_v: float
    most_isc_a: float


@dataclass(frozen=True, slots=True)
class _Layout:
    """So many strings of so many panels, whatever is asked of them."""

    array: Array
    pick: Pick
    gives: dict[str, float]
    watts: tuple[tuple[float, ...], ...]
    """By sort of controller: what reaches the battery in the shade of each stop. [W]"""


@dataclass(frozen=True, slots=True)
class _Sorts:
    """Controllers of one method, and the layouts that were found for them."""

    sorts: tuple[_Sort, ...]
    layouts: dict[tuple[str, int, int], _Layout]


def _methods(ask: Ask, need: SolarNeed, chargers: list[Charger]) -> dict[str, _Sorts]:
    """Sorts of controllers by their method."""
    found: dict[str, list[_Sort]] = {}
    for name, controls in sorts_of(ask, chargers).items():
        least_v = min(asked_v_of(ask.brief, c) for c in controls)
        most_v, most_a = max(c.max_voc_v for c in controls), max(c.max_isc_a for c in controls)
        found.setdefault(controls[0].method, []).append(_Sort(name, controls[0], least_v, most_v, most_a))
    at = need.cold_c, need.hot_cell_c, tuple(shade for _, shade in stops_of(need))
    return {
        method: _Sorts(tuple(sorts), ask.remember(("layouts", tuple(sorts), at), dict))
        for method, sorts in found.items()
    }


def _arrays(
    ask: Ask, need: SolarNeed, panel: Able[Panel], sorts: _Sorts, kept: int | None
) -> Iterator[tuple[_Layout, float, tuple[str, ...]]]:
    """Layouts that some controller of a method takes: strings of every length, side by side up to what is asked.

    Each with the share of what is asked that it gives, and the sorts of controllers with which it gives that.
    """
    for series, left, most_strings in _strings(ask, need, panel.can, sorts):
        counts: Sequence[int] = range(1, min(most_strings, MOST_PIECES // series) + 1)
        if kept is not None:
            counts = [kept // series] if kept % series == 0 and kept // series <= most_strings else []
        if not ask.short and kept is None and left:
            counts = counts[_fewest(ask, need, panel.can, sorts, series) - 1 :]
        for count in counts:
            layout = _layout(ask, need, panel, series, count, sorts)
            mets = [(at, met_ratio(need, layout.watts[at])) for at in left]
            for met in sorted({met for _, met in mets if ask.short or met >= MET or kept is not None}):
                yield layout, met, tuple(sorts.sorts[at].name for at, its in mets if its == met)
            left = [at for at, met in mets if met < MET]
            if not left:
                break


def _strings(ask: Ask, need: SolarNeed, panel: Panel, sorts: _Sorts) -> Iterator[tuple[int, list[int], int]]:
    """Panels in a string; sorts that such a string starts when it is hot; most strings for any of them."""
    most_voc_v = min(max(sort.most_voc_v for sort in sorts.sorts), panel.max_system_v)
    most_strings = math.floor(max(sort.most_isc_a for sort in sorts.sorts) / panel.isc_a + 1e-9)
    for series in range(1, MOST_SERIES + 1):
        if cold_voc_v(panel, series, need.cold_c) > most_voc_v:
            break
        hot_v = string_v(panel, series, need.hot_cell_c)
        start = [at for at, sort in enumerate(sorts.sorts) if hot_v >= sort.least_v]
        if start:
            yield series, start, most_strings


def _fewest(ask: Ask, need: SolarNeed, panel: Panel, sorts: _Sorts, series: int) -> int:
    """Strings under which not even an array with the sun on all that its shade leaves gives what is asked."""
    one_w = panel.power_w * series
    least_w = max(w * MET / max(1 - shade, 1e-9) for w, shade in stops_of(need))
    return max(1, math.ceil(min(least_w / one_w, MOST_PIECES) - 1e-9))


def _layout(ask: Ask, need: SolarNeed, panel: Able[Panel], series: int, count: int, sorts: _Sorts) -> _Layout:
    """A layout as it is for any need of the same shades and temperatures; found once for all of them.

    A catalogue is one vehicle's, so its roof is the same as well.
    """
    key = panel.part.key, series, count
    if key not in sorts.layouts:
        p, array = panel.can, Array(panel, series, count)
        gives = {
            "string_cold_v": cold_voc_v(p, series, need.cold_c),
            "string_hot_v": string_v(p, series, need.hot_cell_c),
            "string_isc_a": p.isc_a * count,
        }
        area_m2 = roof_m2(ask)
        if area_m2 is not None:
            takes = roof_takes(ask.brief, need, p, array.count)
            gives["roof_m2"] = taken_of(area_m2, p.length_m * p.width_m, array.count, takes)
        watts = tuple(given_w(array, sort.control, need, ask.brief) for sort in sorts.sorts)
        pick = ask.pick("panel", panel.part.key, array.count, series)
        sorts.layouts[key] = _Layout(array, pick, gives, watts)
    return sorts.layouts[key]


def roof_m2(ask: Ask) -> float | None:
    """Area for panels, what stands in it left out; ``None`` where nobody gave it. [m²]"""
    if ask.brief.vehicle.roof:
        free = (
            a.length_m * a.width_m - math.fsum(t.length_m * t.width_m for t in a.taken) for a in ask.brief.vehicle.roof
        )
        return max(0.0, math.fsum(free))
    return ask.needs.solar.roof_area_m2 if ask.needs.solar is not None else None


def taken_of(whole: float, each: float, count: int, takes: int) -> float:
    """Area that so many pieces take; of pieces that do not all fit, what they would take at the same closeness.

    Parameters
    ----------
    whole : float
        Area that there is. [m²]
    each : float
        Area of a piece. [m²]
    count, takes : int
        Pieces that are wanted; those that fit, counted no further than what is wanted.

    Examples
    --------
    >>> taken_of(4.0, 1.5, 2, 2), taken_of(4.0, 1.5, 3, 2), taken_of(4.0, 1.5, 1, 0)
    (3.0, 6.0, 5.5)
    """
    if takes >= count:
        return min(count * each, whole)
    return whole * count / takes if takes else whole + count * each
