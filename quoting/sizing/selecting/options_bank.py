"""Banks: each model in strings that make the bus voltage, from one string to as many as its maker allows."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from catalog.kinds.capabilities import Storage
from quoting.sizing import cells
from quoting.sizing.choice_bank import series_of
from quoting.sizing.needs import BatteryNeed
from quoting.sizing.packing import batteries_fit
from quoting.sizing.parts import Able
from quoting.sizing.selecting.options_array import taken_of
from quoting.sizing.selecting.options_ask import MOST_PIECES, Ask
from quoting.sizing.selecting.options_strings import beside_strings
from quoting.sizing.selecting.problem import Option, Row
from quoting.sizing.topology import position


@dataclass(frozen=True, slots=True)
class Bank:
    """A bank as an option, with what rows that join it to other parts ask."""

    option: Option
    gives: dict[str, float]
    can: Storage
    series: int
    takes_a: float
    """Most charging current. [A]"""


def banks_of(ask: Ask) -> tuple[list[Bank], list[Row]]:
    """Banks of every chemistry that is wished, and the sizes that are asked of them."""
    need, reference_ah = ask.needs.battery, reference_of(ask)
    rows = [
        Row("capacity_ah", "need", reference_ah, unit="Ah", scale=max(reference_ah, 1.0)),
        Row("discharge_a", "need", need.discharge_a, unit="A", scale=max(need.discharge_a, 1.0)),
        Row("peak_a", "need", need.peak_a, unit="A", scale=max(need.peak_a, 1.0)),
    ]
    if ask.brief.vehicle.battery_spaces:
        floor_m2 = spaces_m2(ask)
        rows.append(Row("battery_space_m2", "limit", most=floor_m2, unit="m²", scale=max(floor_m2, 0.01)))
    place = ask.brief.vehicle.places.get("battery")
    hot = place is not None and position(ask.brief.vehicle, place).engine_space
    shortest = _shortest_lives(ask)

    def is_left(gives: dict[str, float], kept: int | None) -> bool:
        """Neither too small by itself, nor what is there anyway."""
        return ask.short or kept is not None or all(row.holds(gives[row.name]) for row in rows[:3])

    banks = []
    for able, kept in ask.of_role("battery", Storage):
        can, series = able.can, series_of(ask.brief, able.can)
        asked = can.chemistry in ask.brief.wishes.chemistries and can.chemistry in need.capacity_ah
        wished = kept is not None or asked
        if wished and series is not None and (can.engine_bay_allowed or not hot):
            made = ((n, _gives(ask, can, n)) for n in _strings(can, series, kept))
            left = ((n, gives) for n, gives in made if is_left(gives, kept))
            banks += [_bank(ask, able, series, n, gives, kept is not None, shortest) for n, gives in left]
    return banks, rows


def _strings(can: Storage, series: int, kept: int | None) -> Sequence[int]:
    """Strings side by side that are allowed; of what is kept, exactly those that are there."""
    if kept is not None:
        strings, over = divmod(kept, series)
        return (strings,) if not over and strings <= can.max_parallel else ()
    return range(1, min(can.max_parallel, MOST_PIECES // series) + 1)


def _gives(ask: Ask, can: Storage, strings: int) -> dict[str, float]:
    """What so many strings give to the sizes that are asked."""
    need = ask.needs.battery
    asked_ah, reference_ah = need.capacity_ah.get(can.chemistry), reference_of(ask)
    return {
        "capacity_ah": can.capacity_ah * strings * reference_ah / asked_ah if asked_ah else reference_ah,
        "discharge_a": can.max_discharge_a * strings,
        "peak_a": peak_each_a(can, need) * strings,
    }


def _bank(
    ask: Ask,
    able: Able[Storage],
    series: int,
    strings: int,
    gives: dict[str, float],
    kept: bool,
    shortest: dict[str, float],
) -> Bank:
    can = able.can
    if not kept:
        gives.update(_floor(ask, can, series * strings))
    pick = ask.pick("battery", able.part.key, series * strings, series)
    years = _years(ask, can, series, strings) or shortest.get(can.chemistry) or ask.brief.policy.battery_most_years
    years = min(years, ask.brief.policy.battery_most_years)
    beside = beside_strings(ask, can, series, strings)
    option = ask.option(("battery",), (pick,), gives, kept=kept, years=years, beside=beside)
    return Bank(option, gives, can, series, can.max_charge_a * strings)


def _floor(ask: Ask, can: Storage, count: int) -> dict[str, float]:
    """Floor that so many batteries take in the spaces; nothing where there is none, or their size is not stated."""
    spaces = ask.brief.vehicle.battery_spaces
    if not spaces or can.length_mm is None or can.width_mm is None or can.height_mm is None:
        return {}
    gap_mm = ask.brief.policy.battery_gap_mm
    takes = batteries_fit(spaces, can.length_mm, can.width_mm, can.height_mm, count, gap_mm).count
    return {"battery_space_m2": taken_of(spaces_m2(ask), can.length_mm * can.width_mm / 1e6, count, takes)}


def spaces_m2(ask: Ask) -> float:
    """Floor of all battery spaces. [m²]"""
    return math.fsum(s.length_mm * s.width_mm for s in ask.brief.vehicle.battery_spaces) / 1e6


def peak_each_a(can: Storage, need: BatteryNeed) -> float:
    """Current of one string in the worst start: its peak where that lasts long enough. [A]"""
    return can.peak_a if can.peak_s >= need.peak_s else can.max_discharge_a


def reference_of(ask: Ask) -> float:
    """Capacity asked of the chemistry that is wished first; others count in its ampere-hours. [Ah]"""
    asked = ask.needs.battery.capacity_ah
    first = next((c for c in ask.brief.wishes.chemistries if c in asked), None)
    return asked[first] if first is not None else max(asked.values(), default=0.0)


def _years(ask: Ask, can: Storage, series: int, strings: int) -> float | None:
    """Years that a bank lasts where every day is as the most demanding one; ``None``: its maker states no cycles."""
    if ask.use is None or not can.cycles or ask.use.day_wh <= 0:
        return None
    depth = ask.use.day_wh / (can.nominal_v * series) / (can.capacity_ah * strings)
    left = cells.heat_left(can.chemistry, ask.use.cells_c, ask.brief.policy.life_halved_per_k)
    return max(cells.life_years(can.cycles, depth, left), 1e-3)


def _shortest_lives(ask: Ask) -> dict[str, float]:
    """By chemistry, the shortest life of a single string: what a battery counts as whose maker states no cycles."""
    found: dict[str, float] = {}
    unknown = {able.can.chemistry for able in ask.parts.having(Storage) if not able.can.cycles}
    for able in ask.parts.having(Storage) if unknown else ():
        series = series_of(ask.brief, able.can)
        years = _years(ask, able.can, series, 1) if series is not None else None
        if years is not None:
            found[able.can.chemistry] = min(years, found.get(able.can.chemistry, years))
    return found
