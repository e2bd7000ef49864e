"""Panels on roof areas and batteries in their spaces: identical rectangles, each way round, as many as fit.

Lengths are counted in whole tenths of a millimetre, pieces rounded up and places down, so that nothing that is said
to fit is too large by a rounding. A gap between pieces is packed as part of each piece.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from quoting.sizing.brief_choosing import BatterySpace, RoofArea, Taken
from quoting.sizing.errors import require
from quoting.sizing.packing_blocks import Blocks, round_what_is_taken, rows_of
from quoting.sizing.packing_bound import Box, most_by_slices
from quoting.sizing.packing_search import search

TENTHS_PER_M = 10_000
TENTHS_PER_MM = 10
SLACK = 1e-6
"""Of a tenth of a millimetre: what binary fractions of metres are off by."""
MOST_EXACT = 120
"""Pieces up to which a packing is worked on until it is proved; of more, rows are laid and what they miss is said."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where one piece lies, its gap not counted in."""

    area: str
    """Key of the roof area or battery space."""
    x: float
    """From the front edge, along the vehicle. [the caller's unit]"""
    y: float
    """From the left edge. [the caller's unit]"""
    length: float
    """Along the vehicle. [the caller's unit]"""
    width: float


@dataclass(frozen=True, slots=True)
class Packed:
    """So many pieces, where each lies, and whether no packing holds more."""

    count: int
    places: tuple[Place, ...] = ()
    proved: bool = True
    """No packing holds more than ``count``; with a number wanted, it is reached or no packing reaches it."""


def most_on(
    areas: Sequence[RoofArea],
    length_m: float,
    width_m: float,
    gap_m: float = 0.0,
    edge_m: float = 0.0,
    wanted: int | None = None,
) -> Packed:
    """The most panels of one size that lie flat on roof areas, each either way round.

    Parameters
    ----------
    areas : sequence of RoofArea
        With what stands in them.
    length_m, width_m : float
        Sides of a panel. [m]
    gap_m : float
        Kept free between panels, and between a panel and what stands in an area. [m]
    edge_m : float
        Kept free along the edge of an area. [m]
    wanted : int, optional
        So many are enough; without it, as many as fit.

    Returns
    -------
    Packed
        Places in metres. On one area alone where it holds all that are wanted, else the largest areas first.

    Raises
    ------
    SizingError
        If a side is not positive or a gap is negative.

    Examples
    --------
    >>> roof = RoofArea(key="r", name="Roof", length_m=2.4, width_m=1.4)
    >>> most_on([roof], length_m=1.2, width_m=0.55).count
    4
    """
    piece = tuple(
        _up(require(name, value, minimum=0.001, maximum=100, unit="m") + gap_m, TENTHS_PER_M)
        for name, value in (("length_m", length_m), ("width_m", width_m))
    )
    gap, edge = _up(require("gap_m", gap_m, minimum=0, unit="m"), TENTHS_PER_M), _up(edge_m, TENTHS_PER_M)
    floors = tuple(
        (
            area.key,
            _down(area.length_m, TENTHS_PER_M) - 2 * edge + gap,
            _down(area.width_m, TENTHS_PER_M) - 2 * edge + gap,
            tuple(_stands(t, gap, edge) for t in area.taken),
        )
        for area in areas
    )
    return _named(floors, (piece[0], piece[1]), gap, edge, wanted, TENTHS_PER_M)


def batteries_fit(
    spaces: Sequence[BatterySpace],
    length_mm: float,
    width_mm: float,
    height_mm: float,
    count: int | None = None,
    gap_mm: float = 0.0,
) -> Packed:
    """Batteries of one size that stand upright beside one another in spaces, each either way round in plan.

    Parameters
    ----------
    spaces : sequence of BatterySpace
        Boxes into which they may go.
    length_mm, width_mm, height_mm : float
        Of a battery, upright. [mm]
    count : int, optional
        So many are enough; without it, as many as fit.
    gap_mm : float
        Kept free round each: between batteries, to the walls, and above. [mm]

    Returns
    -------
    Packed
        Places in millimetres. None is laid on its side or stood on another.

    Raises
    ------
    SizingError
        If a side is not positive or the gap is negative.
    """
    for name, value in (("length_mm", length_mm), ("width_mm", width_mm), ("height_mm", height_mm)):
        require(name, value, minimum=1, maximum=10_000, unit="mm")
    gap = _up(require("gap_mm", gap_mm, minimum=0, unit="mm"), TENTHS_PER_MM)
    piece = (_up(length_mm + gap_mm, TENTHS_PER_MM), _up(width_mm + gap_mm, TENTHS_PER_MM))
    floors = tuple(
        (s.key, _down(s.length_mm, TENTHS_PER_MM) - gap, _down(s.width_mm, TENTHS_PER_MM) - gap, ())
        for s in spaces
        if height_mm + gap_mm <= s.height_mm + SLACK
    )
    return _named(floors, piece, gap, gap, count, TENTHS_PER_MM)


Floor = tuple[str, int, int, tuple[Box, ...]]


@lru_cache(maxsize=8192)
def _named(
    floors: tuple[Floor, ...], piece: tuple[int, int], gap: int, edge: int, wanted: int | None, tenths: int
) -> Packed:
    """Places over several floors, named and without their gaps."""
    sides = (max(piece), min(piece))
    got = [_packed(length, width, sides, taken, wanted) for _, length, width, taken in floors]
    count = sum(len(places) for places, _ in got)
    proved = all(p for _, p in got)
    order = sorted(range(len(floors)), key=lambda i: (-len(got[i][0]), i))
    if wanted is not None:
        proved = proved or count >= wanted
        count = min(count, wanted)
        order = [i for i in range(len(floors)) if len(got[i][0]) >= wanted][:1] or order
    places = [
        Place(floors[i][0], *((value / tenths) for value in (x + edge, y + edge, ln - gap, w - gap)))
        for i in order
        for x, y, ln, w in sorted(got[i][0])
    ]
    return Packed(count, tuple(places[:count]), proved)


@lru_cache(maxsize=8192)
def _packed(
    length: int, width: int, piece: tuple[int, int], taken: tuple[Box, ...], wanted: int | None
) -> tuple[tuple[Box, ...], bool]:
    """The most pieces in one place, and whether that is proved: rows, blocks, bound, then the whole search."""
    taken = tuple(box for box in (_inside(t, length, width) for t in taken) if box)
    if min(length, width) < piece[1] or max(length, width) < piece[0] or wanted == 0:
        return (), True
    best = [] if taken else rows_of(length, width, piece)
    if wanted is not None and len(best) >= wanted:
        return tuple(sorted(best)[:wanted]), True
    most = most_by_slices(length, width, piece, taken)
    if wanted is not None:
        most = min(most, wanted)
    for better in _ways(length, width, piece, taken, len(best)):
        best = max(best, better, key=len)
        if len(best) >= most:
            return tuple(sorted(best)[:wanted]), True
    if most > MOST_EXACT:
        return tuple(best), False
    best, proved = search(length, width, piece, taken, best, most)
    return tuple(best), proved


def _ways(
    length: int, width: int, piece: tuple[int, int], taken: tuple[Box, ...], at_least: int
) -> Iterable[list[Box]]:
    """Packings by blocks, the quick ones first."""
    if length * width > 4 * MOST_EXACT * piece[0] * piece[1]:
        return
    blocks = Blocks(piece, max(length, width))
    if taken:
        yield round_what_is_taken(blocks, length, width, taken)
        return
    best = blocks.places(0, 0, length, width)
    yield best
    yield blocks.round_a_middle(length, width, max(at_least, len(best)))


def _stands(taken: Taken, gap: int, edge: int) -> Box:
    """What stands in an area, with the gap that a piece keeps beyond it, from where pieces may begin."""
    x, y = _down(taken.x_m, TENTHS_PER_M), _down(taken.y_m, TENTHS_PER_M)
    right, low = _up(taken.x_m + taken.length_m, TENTHS_PER_M), _up(taken.y_m + taken.width_m, TENTHS_PER_M)
    return x - edge, y - edge, right - x + gap, low - y + gap


def _inside(box: Box, length: int, width: int) -> Box | None:
    """The part of a rectangle that lies in a place; ``None`` where none does."""
    x, y, ln, w = box
    left, low, right, high = max(0, x), max(0, y), min(length, x + ln), min(width, y + w)
    return (left, low, right - left, high - low) if right > left and high > low else None


def _up(value: float, tenths: int) -> int:
    return math.ceil(value * tenths - SLACK)


def _down(value: float, tenths: int) -> int:
    return math.floor(value * tenths + SLACK)
