"""How full a conduit may be, how thick a conductor is outside, and the fewest conduits that take a bundle."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from quoting.sizing.errors import SizingError

FILL_LIMITS = {1: 0.53, 2: 0.31}
"""Conductors -> share of a conduit's inside they may fill; more than two: ``FILL_MORE``. NEC chapter 9 table 1 (M)."""
FILL_MORE = 0.40

OUTSIDE_MM: dict[float, float] = {
    0.35: 1.4, 0.5: 1.6, 0.75: 1.9, 1.0: 2.1, 1.5: 2.4, 2.0: 2.8, 2.5: 3.0, 3.0: 3.4, 4.0: 3.7, 5.0: 4.2, 6.0: 4.3,
    8.0: 5.0, 10.0: 6.0, 12.0: 6.5, 16.0: 7.2, 20.0: 7.8, 25.0: 8.7, 30.0: 9.6, 35.0: 10.4, 40.0: 11.1, 50.0: 12.2,
    60.0: 13.3, 70.0: 14.4, 95.0: 16.7, 120.0: 18.7,
}  # fmt: skip
"""Area [mm²] -> largest outside diameter with a thin wall. [mm] ISO 6722-1:2011 dimensions, from memory (M)."""

MOST_TRIES = 4000
"""Steps of the search for fewer conduits before the one found is taken. House practice: a few milliseconds."""


def fill_limit_ratio(conductors: int) -> float:
    """Share of a conduit's inside that so many conductors may fill.

    Parameters
    ----------
    conductors : int
        In one conduit, loaded or not.

    Returns
    -------
    float
        0.53 for one, 0.31 for two, 0.40 for more.

    Raises
    ------
    SizingError
        If there is none.

    References
    ----------
    .. [1] NFPA 70, National Electrical Code, chapter 9 table 1.

    Examples
    --------
    >>> [fill_limit_ratio(n) for n in (1, 2, 3, 9)]
    [0.53, 0.31, 0.4, 0.4]
    """
    if conductors < 1:
        raise SizingError("conductors", value=conductors, minimum=1)
    return FILL_LIMITS.get(conductors, FILL_MORE)


def estimated_outside_mm(area_mm2: float) -> float:
    """Outside diameter of a conductor whose maker states none.

    Parameters
    ----------
    area_mm2 : float
        Copper. [mm²]

    Returns
    -------
    float
        The largest of the next area that the standard lists; over it, grown with the diameter of the copper. [mm]

    Raises
    ------
    SizingError
        If the area is not positive.

    References
    ----------
    .. [1] ISO 6722-1:2011, thin-wall dimensions.

    Examples
    --------
    >>> estimated_outside_mm(6), estimated_outside_mm(7), round(estimated_outside_mm(150), 1)
    (4.3, 5.0, 20.9)
    """
    if not area_mm2 > 0:
        raise SizingError("area_mm2", value=area_mm2, minimum=0, unit="mm²")
    largest = max(OUTSIDE_MM)
    if area_mm2 > largest:
        return OUTSIDE_MM[largest] * math.sqrt(area_mm2 / largest)
    return OUTSIDE_MM[min(listed for listed in OUTSIDE_MM if listed >= area_mm2)]


def disc_mm2(diameter_mm: float) -> float:
    """Area of a circle. [mm²]"""
    return math.pi * diameter_mm**2 / 4


@dataclass(frozen=True, slots=True)
class Strand:
    """What stays together: a circuit's two conductors, or one of them."""

    circuit: str
    discs_mm2: tuple[float, ...]
    """Over the insulation, each. [mm²]"""

    @property
    def mm2(self) -> float:
        return math.fsum(self.discs_mm2)


Bundle = tuple[Strand, ...]


def fill_ratio(bundle: Sequence[Strand], inner_mm: float) -> float:
    """Share of a conduit's inside that a bundle fills."""
    return math.fsum(strand.mm2 for strand in bundle) / disc_mm2(inner_mm)


def limit_ratio(bundle: Sequence[Strand]) -> float:
    """What that bundle may fill."""
    return fill_limit_ratio(sum(len(strand.discs_mm2) for strand in bundle))


def goes_in(bundle: Sequence[Strand], inner_mm: float) -> bool:
    """Whether a bundle stays within the limit."""
    return fill_ratio(bundle, inner_mm) <= limit_ratio(bundle) + 1e-9


def fewest(strands: Sequence[Strand], inner_mm: float) -> tuple[Bundle, ...] | None:
    """Share strands out over the fewest conduits of one size.

    Parameters
    ----------
    strands : sequence of Strand
        None is parted.
    inner_mm : float
        Inside diameter. [mm]

    Returns
    -------
    tuple of tuple of Strand or None
        A bundle for each conduit; ``None`` where no number of conduits takes them.

    Notes
    -----
    Packing into bins is hard in general; a vehicle's ways are short lists. First the sum's lower bound, then a search
    with the largest first that never tries two empty conduits; after ``MOST_TRIES`` steps one more conduit is tried.
    Two conductors alone may fill less than three, so a strand that may not lie alone may do so beside another.
    """
    order = sorted(strands, key=lambda strand: (-strand.mm2, strand.circuit))
    room = disc_mm2(inner_mm)
    most = max(FILL_MORE, *(FILL_LIMITS[1] if len(s.discs_mm2) == 1 else FILL_MORE for s in order)) if order else 1.0
    least = max(1, math.ceil(math.fsum(s.mm2 for s in order) / (most * room) - 1e-9))
    for count in range(least, len(order) + 1):
        found = _share_out(order, inner_mm, count)
        if found is not None:
            return found
    return None


def _share_out(order: Sequence[Strand], inner_mm: float, count: int) -> tuple[Bundle, ...] | None:
    bins: list[list[Strand]] = [[] for _ in range(count)]
    room = disc_mm2(inner_mm)
    tries = 0

    def put(index: int) -> bool:
        nonlocal tries
        tries += 1
        if tries > MOST_TRIES:
            return False
        if index == len(order):
            return all(goes_in(each, inner_mm) for each in bins if each)
        strand, empty = order[index], False
        for each in bins:
            if not each:
                if empty:
                    continue
                empty = True
            alone = not each and len(strand.discs_mm2) == 1
            if math.fsum(s.mm2 for s in (*each, strand)) <= (FILL_LIMITS[1] if alone else FILL_MORE) * room + 1e-9:
                each.append(strand)
                if put(index + 1):
                    return True
                each.pop()
        return False

    return tuple(tuple(each) for each in bins if each) if put(0) else None
