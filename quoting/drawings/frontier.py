"""Price against the chance of going dark: where each system stands, and the line that no other is below.

Places are shares of the plot, so that the page stretches the drawing and leaves its texts as they are. The chance is
drawn by its square root: near none, where one more battery still matters, a straight scale would show one heap.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from quoting.sizing.errors import require

NARROWEST_PX, HEIGHT_PX = 250.0, 260.0
"""Plot on the narrowest page; names that stand apart here stand apart on any. [px]"""
LETTER_PX, LINE_PX, MARK_PX = 8.8, 17.0, 7.0
"""Room that a letter, a line and the mark of an offer take. [px]"""
MARGIN = 0.07
"""Kept free left and right of the outermost systems, as a share of the plot."""
LEVELS = (0.0, 0.001, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.35, 0.5, 0.75, 1.0)
"""Chances that a scale may name."""
LEAST_APART = 0.11
"""Of two named chances, as a share of the plot's height."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A system that was worked through."""

    price: float
    """[currency]"""
    dark_ratio: float
    high_ratio: float | None = None
    """Upper end of the interval of the chance; drawn of what has a name."""
    name: str = ""
    """What it is called, if it is an offer."""
    holds: bool = True
    """It passed its proof."""
    frontier: bool = False
    """No other proved system is both cheaper and safer."""


@dataclass(frozen=True, slots=True)
class Label:
    """A name beside a mark: where it is set from, and by how much it is moved from there."""

    text: str
    anchor: str
    """``start``, ``middle`` or ``end``."""
    dx_px: float
    dy_px: float


@dataclass(frozen=True, slots=True)
class Mark:
    """A system on the plot."""

    x: float
    """Share of the width from the left."""
    y: float
    """Share of the height from the top."""
    spot: Spot
    high_y: float | None = None
    label: Label | None = None


@dataclass(frozen=True, slots=True)
class Tick:
    at: float
    value: float


@dataclass(frozen=True, slots=True)
class FrontierChart:
    """Marks of systems, those with a name last; the frontier as stairs, and both scales."""

    marks: tuple[Mark, ...]
    stairs: tuple[tuple[float, float], ...]
    """Corners of the line from left to right, as shares from the upper left; empty without a frontier."""
    prices: tuple[Tick, ...]
    chances: tuple[Tick, ...]


def frontier_chart(spots: Iterable[Spot]) -> FrontierChart:
    """Place systems by price and chance of going dark.

    Parameters
    ----------
    spots : iterable of Spot
        At least one. Two of the same place with a name share it.

    Returns
    -------
    FrontierChart
        The line goes on at one system's chance until the price of the next that is safer, and on to the right edge:
        between two systems there is nothing to be bought.

    Raises
    ------
    SizingError
        If there is none, a price is negative or a chance is not between 0 and 1.

    Examples
    --------
    >>> made = frontier_chart([Spot(4000, 0.25, frontier=True), Spot(6000, 0.0, frontier=True)])
    >>> [(round(mark.x, 2), round(mark.y, 2)) for mark in made.marks]
    [(0.07, 0.15), (0.93, 1.0)]
    >>> len(made.stairs)
    4
    """
    known = tuple(spots)
    require("spots", len(known), minimum=1)
    for index, spot in enumerate(known):
        require(f"spots[{index}].price", spot.price, minimum=0)
        require(f"spots[{index}].dark_ratio", spot.dark_ratio, minimum=0, maximum=1)
        require(f"spots[{index}].high_ratio", spot.high_ratio or 0.0, minimum=0, maximum=1)
    low, high = _reach([spot.price for spot in known])
    shown = [ratio for s in known for ratio in (s.dark_ratio, s.high_ratio if s.name else None) if ratio is not None]
    top = next(level for level in LEVELS[3:] if level >= max(shown) - 1e-12)

    def x(price: float) -> float:
        return (price - low) / (high - low)

    def y(ratio: float) -> float:
        return 1.0 - math.sqrt(ratio / top)

    marks = [
        Mark(
            x(spot.price),
            y(spot.dark_ratio),
            spot,
            y(spot.high_ratio) if spot.name and spot.high_ratio is not None else None,
        )
        for spot in _merged(known)
    ]
    stairs = _stairs([mark for mark in marks if mark.spot.frontier])
    return FrontierChart(
        marks=tuple(_labelled(marks)),
        stairs=stairs,
        prices=tuple(Tick(x(price), price) for price in _round_between(low, high)),
        chances=tuple(Tick(y(level), level) for level in _levels(top)),
    )


def _merged(spots: Sequence[Spot]) -> list[Spot]:
    """Each place once among those with a name, unnamed ones first; the dearest last."""
    named: dict[tuple[float, float], Spot] = {}
    for spot in spots:
        if spot.name:
            there = named.get((spot.price, spot.dark_ratio))
            name = f"{there.name}, {spot.name}" if there else spot.name
            holds, frontier = spot.holds, spot.frontier or bool(there and there.frontier)
            named[spot.price, spot.dark_ratio] = Spot(
                spot.price, spot.dark_ratio, spot.high_ratio, name, holds, frontier
            )
    plain = dict.fromkeys(s for s in spots if not s.name and (s.price, s.dark_ratio) not in named)
    return sorted(plain, key=lambda s: s.price) + sorted(named.values(), key=lambda s: s.price)


def _stairs(marks: Sequence[Mark]) -> tuple[tuple[float, float], ...]:
    ordered = sorted(marks, key=lambda mark: (mark.x, -mark.y))
    points: list[tuple[float, float]] = []
    for here, after in pairwise([*ordered, None]):
        assert here is not None
        points += [(here.x, here.y), (after.x if after else 1.0, here.y)]
    return tuple(points)


# --- Scales ------------------------------------------------------------------------------------------


def _reach(prices: Sequence[float]) -> tuple[float, float]:
    """Ends of the scale of prices, with a margin; a single price stands in the middle."""
    low, high = min(prices), max(prices)
    wide = high - low or max(0.1 * high, 1.0)
    free = wide * MARGIN / (1 - 2 * MARGIN)
    if low == high:
        low, high = low - wide / 2, high + wide / 2
    return low - free, high + free


def _round_between(low: float, high: float, most: int = 4) -> list[float]:
    """Round amounts within a range, at most so many, each a step of 1, 2 or 5 times a power of ten from the next.

    >>> _round_between(3900, 6100)
    [4000.0, 5000.0, 6000.0]
    """
    decade = 10.0 ** math.floor(math.log10(high - low) - 1)
    for step in (decade * k for k in (1, 2, 5, 10, 20, 50, 100)):
        first = math.ceil(low / step - 1e-9)
        count = math.floor(high / step + 1e-9) - first + 1
        if count <= most:
            return [(first + k) * step for k in range(count)]
    return []


def _levels(top: float) -> list[float]:
    """Chances that are named: none and the top always, between them those that stand apart, the greater first."""
    found = [top]
    for level in reversed([level for level in LEVELS if 0 < level < top]):
        at = math.sqrt(level / top)
        if math.sqrt(found[-1] / top) - at >= LEAST_APART and at >= LEAST_APART:
            found.append(level)
    return [0.0, *reversed(found)]


# --- Names -------------------------------------------------------------------------------------------

Box = tuple[float, float, float, float]
"""Left, top, right, bottom. [px]"""


def _labelled(marks: Sequence[Mark]) -> list[Mark]:
    """Give each named mark the first place for its name that is free of marks, of intervals and of other names."""
    taken = [_square(mark, MARK_PX if mark.spot.name else MARK_PX / 2) for mark in marks]
    taken += [_interval(mark) for mark in marks if mark.high_y is not None]
    found: list[Mark] = []
    for mark in marks:
        if not mark.spot.name:
            found.append(mark)
            continue
        tried = [(label, _box(mark, label)) for label in _places(mark)]
        label, box = min(tried, key=lambda pair: _cost(pair[1], taken))
        taken.append(box)
        found.append(Mark(mark.x, mark.y, mark.spot, mark.high_y, label))
    return found


def _places(mark: Mark) -> list[Label]:
    name = mark.spot.name
    beside, up, down = MARK_PX + 4.0, -MARK_PX - 5.0, MARK_PX + LINE_PX - 3.0
    above = (mark.y if mark.high_y is None else mark.high_y) - mark.y
    over = min(up, above * HEIGHT_PX - 5.0)
    around = [("start", beside), ("end", -beside)]
    return [
        *(Label(name, anchor, dx, up) for anchor, dx in around),
        Label(name, "middle", 0.0, over),
        Label(name, "end", MARK_PX, over),
        Label(name, "start", -MARK_PX, over),
        *(Label(name, anchor, dx, down) for anchor, dx in around),
        *(Label(name, anchor, dx, 5.0) for anchor, dx in around),
        *(Label(name, anchor, dx, up - LINE_PX) for anchor, dx in around),
        Label(name, "middle", 0.0, over - LINE_PX),
        Label(name, "end", MARK_PX, over - LINE_PX),
        Label(name, "start", -MARK_PX, over - LINE_PX),
        *(Label(name, anchor, dx, up - 2 * LINE_PX) for anchor, dx in around),
        Label(name, "middle", 0.0, over - 2 * LINE_PX),
        *(Label(name, anchor, dx, up - 3 * LINE_PX) for anchor, dx in around),
    ]


def _interval(mark: Mark) -> Box:
    """What the line up to the end of an interval takes."""
    assert mark.high_y is not None
    x, top, bottom = mark.x * NARROWEST_PX, *sorted((mark.high_y * HEIGHT_PX, mark.y * HEIGHT_PX))
    return x - 1.5, top, x + 1.5, bottom


def _square(mark: Mark, half_px: float) -> Box:
    x, y = mark.x * NARROWEST_PX, mark.y * HEIGHT_PX
    return x - half_px, y - half_px, x + half_px, y + half_px


def _box(mark: Mark, label: Label) -> Box:
    wide = LETTER_PX * len(label.text)
    x = mark.x * NARROWEST_PX + label.dx_px - {"start": 0.0, "middle": wide / 2, "end": wide}[label.anchor]
    y = mark.y * HEIGHT_PX + label.dy_px
    return x, y - 0.75 * LINE_PX, x + wide, y + 0.25 * LINE_PX


def _cost(box: Box, taken: Sequence[Box]) -> float:
    """Area of a place that lies over something, and ten times that beside the plot. [px²]"""
    covered = sum(_shared(box, other) for other in taken)
    beside = max(0.0, -box[0] - 20.0) + max(0.0, box[2] - NARROWEST_PX) + max(0.0, -box[1] - 10.0)
    below = max(0.0, box[3] - HEIGHT_PX + 2.0)
    return covered + 10 * LINE_PX * (beside + below)


def _shared(one: Box, other: Box) -> float:
    """Area that two boxes share. [px²]"""
    wide = min(one[2], other[2]) - max(one[0], other[0])
    high = min(one[3], other[3]) - max(one[1], other[1])
    return max(0.0, wide) * max(0.0, high)
