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
    meets_ratio,
    roof_takes,
)
from quoting.sizing.needs import SolarNeed
from quoting.sizing.parts import Able
from quoting.sizing.selecting.options_ask import MOST_PIECES, Ask
from quoting.sizing.selecting.options_charging import Charger
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
    by_method: dict[str, list[_Sort]] = {}
    for name, controls in sorts_of(ask, chargers).items():
        least_v = min(asked_v_of(ask.brief, c) for c in controls)
        most_v, most_a = max(c.max_voc_v for c in controls), max(c.max_isc_a for c in controls)
        by_method.setdefault(controls[0].method, []).append(_Sort(name, controls[0], least_v, most_v, most_a))
    found: list[Panels] = []
    for able, kept in ask.of_role("panel", Panel):
        for method, sorts in by_method.items():
            for array, met, suits in _arrays(ask, need, able, sorts, kept):
                note = method if len(suits) == len(sorts) else ",".join(suits)
                gives = _gives(ask, need, array, met, area_m2 if kept is None else None)
                pick = Pick(role="panel", part=able.part.key, quantity=array.count, series=array.series)
                option = ask.option(("array",), (pick,), gives, kept=kept is not None, note=note)
                found.append(Panels(option, gives, array, frozenset(suits), sorts[0].control))
    return found, rows


@dataclass(frozen=True, slots=True)
class _Sort:
    """Controllers of one sort, by the widest limits that any of them has."""

    name: str
    control: SolarControl
    least_v: float
    most_voc_v: float
    most_isc_a: float


def _arrays(
    ask: Ask, need: SolarNeed, panel: Able[Panel], sorts: list[_Sort], kept: int | None
) -> Iterator[tuple[Array, float, tuple[str, ...]]]:
    """Layouts that some controller of a method takes: strings of every length, side by side up to what is asked.

    Each with the share of what is asked that it gives, and the sorts of controllers with which it gives that.
    """
    p = panel.can
    most_voc_v = min(max(sort.most_voc_v for sort in sorts), p.max_system_v)
    most_strings = math.floor(max(sort.most_isc_a for sort in sorts) / p.isc_a + 1e-9)
    for series in range(1, MOST_SERIES + 1):
        if cold_voc_v(p, series, need.cold_c) > most_voc_v:
            break
        hot_v = string_v(p, series, need.hot_cell_c)
        start = tuple(sort for sort in sorts if hot_v >= sort.least_v)
        strings: Sequence[int] = range(1, min(most_strings, MOST_PIECES // series) + 1)
        if kept is not None:
            strings = [kept // series] if kept % series == 0 and kept // series <= most_strings else []
        for count in strings if start else ():
            array = Array(panel, series, count)
            mets = [(sort, meets_ratio(array, sort.control, need, ask.brief)) for sort in start]
            for met in sorted({met for _, met in mets}):
                yield array, met, tuple(sort.name for sort, its in mets if its == met)
            start = tuple(sort for sort, met in mets if met < MET)
            if not start:
                break


def _gives(ask: Ask, need: SolarNeed, array: Array, met: float, area_m2: float | None) -> dict[str, float]:
    p = array.panel.can
    gives = {
        "array_w": met * need.array_w,
        "string_cold_v": cold_voc_v(p, array.series, need.cold_c),
        "string_hot_v": string_v(p, array.series, need.hot_cell_c),
        "string_isc_a": p.isc_a * array.parallel,
    }
    if area_m2 is not None:
        takes = roof_takes(ask.brief, need, p, array.count)
        gives["roof_m2"] = taken_of(area_m2, p.length_m * p.width_m, array.count, takes)
    return gives


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
