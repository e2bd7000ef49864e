"""Chargers: each for one source, or one with several inputs for any two or three of them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations

from catalog.kinds.capabilities import EngineCharging, MainsCharging, SolarControl, at
from quoting.sizing.brief import Part
from quoting.sizing.brief_choosing import KeptRole
from quoting.sizing.choice_charging import CAN, ROLE, is_wanted, limited
from quoting.sizing.selecting.options_ask import Ask
from quoting.sizing.selecting.problem import Option, Row

Charging = EngineCharging | MainsCharging | SolarControl

SOURCES = ("engine", "mains", "solar")


@dataclass(frozen=True, slots=True)
class Charger:
    """A charger as an option, with what rows that join it to other parts ask."""

    option: Option
    gives: dict[str, float]
    cans: dict[str, Charging]
    """By source that it serves."""
    outs: dict[str, float]
    """Most current from each source: of engine and mains as it is set and in the heat, of the sun its rating. [A]"""
    whole_a: float | None
    """Most that a shared output gives; ``None`` where its inputs give no more together than the largest alone. [A]"""
    held: bool = False
    """Its engine input is set under its rating, or the alternator's headroom is under what is asked."""


def wanted_sources(ask: Ask) -> tuple[str, ...]:
    """Sources that a charger is asked for."""
    return tuple(source for source in SOURCES if is_wanted(ask.needs, source))


def chargers_of(ask: Ask) -> tuple[list[Charger], list[Row]]:
    """Chargers of every source that is wanted, and the currents that are asked of them."""
    wanted = wanted_sources(ask)
    found: list[Charger] = []
    for source in wanted:
        role: KeptRole = ROLE[source]  # type: ignore[assignment]
        for able, kept in ask.of_role(role, CAN[source]):
            if kept is not None or not able.can.shares_output:
                found += _charger(ask, able.part, role, (source,), kept is not None)
    found += _several(ask, wanted)
    return found, [*_engine_rows(ask, wanted), *_mains_rows(ask, wanted)]


def _engine_rows(ask: Ask, wanted: tuple[str, ...]) -> list[Row]:
    """By chemistry where there are several: where the alternator limits, the most that one of each gives is asked."""
    if "engine" not in wanted:
        return []
    asked = engine_a(ask)
    names = dict.fromkeys(engine_names(ask).values())
    return [Row(name, "need", asked, unit="A", scale=max(asked, 1.0)) for name in names]


def engine_names(ask: Ask) -> dict[str, str]:
    """Row of what is asked of the engine's charger, by the chemistry of the bank."""
    chemistries = sorted(ask.chemistries)
    return {c: "engine_a" if len(chemistries) == 1 else f"engine_a:{c}" for c in chemistries}


def _mains_rows(ask: Ask, wanted: tuple[str, ...]) -> list[Row]:
    asked = ask.needs.mains_a or 0.0
    return [Row("mains_a", "need", asked, unit="A", scale=max(asked, 1.0))] if "mains" in wanted else []


def engine_a(ask: Ask) -> float:
    """Asked of the engine's charger, no more than the alternator spares. [A]"""
    return min(ask.needs.engine_a or 0.0, _most_a(ask))


def _several(ask: Ask, wanted: tuple[str, ...]) -> list[Charger]:
    """Chargers with several inputs: bought for any two or more of the sources, kept for all that they can serve."""
    found: list[Charger] = []
    for part, cans in sorted(ask.parts, key=lambda entry: entry[0].key):
        if sum(isinstance(can, Charging) for can in cans) < 2:
            continue
        able = [s for s in wanted if ask.parts.has(part.key, CAN[s])]
        for count in range(2, len(able) + 1):
            for sources in combinations(able, count):
                found += _charger(ask, part, "multi_charger", sources, False)
    one = ask.kept("multi_charger")
    if one is not None:
        free = tuple(s for s in wanted if ask.parts.has(one.part, CAN[s]) and ask.kept(ROLE[s]) is None)
        found += _charger(ask, ask.parts.part(one.part), "multi_charger", free, True) if free else []
    return found


def _charger(ask: Ask, part: Part, role: KeptRole, sources: tuple[str, ...], kept: bool) -> list[Charger]:
    """One option, or none where the part does not suit one of the sources."""
    cans: dict[str, Charging] = {s: ask.parts.can(part.key, CAN[s]) for s in sources}
    if not all(suits(ask, s, can) for s, can in cans.items()):
        return []
    outs = {s: output_a(ask, can) for s, can in cans.items()}
    if any(out <= 0 for out in outs.values()):
        return []
    engine = cans.get("engine")
    held = isinstance(engine, EngineCharging) and (
        (ask.needs.engine_a or 0.0) > _most_a(ask) or limited(engine, _most_a(ask), 0.0)[1] < engine.output_a
    )
    gives = {"mains_a": outs["mains"]} if "mains" in outs else {}
    if engine is not None:
        gives |= {name: outs["engine"] for c, name in engine_names(ask).items() if c in engine.profiles}
    note = "-".join(sources) if role == "multi_charger" else ""
    option = ask.option(sources, (ask.pick(role, part.key),), gives, kept=kept, note=note)
    whole = part.spec.get("output_a") if role == "multi_charger" else None
    whole_a = float(whole) if isinstance(whole, int | float) else None
    return [Charger(option, gives, cans, outs, whole_a, held)]


def suits(ask: Ask, source: str, can: Charging) -> bool:
    """Voltages, a profile for some battery, and an alternator that the vehicle's own computer controls."""
    if not ask.chemistries & set(can.profiles):
        return False
    if isinstance(can, SolarControl):
        return ask.system_v in can.output_nominal_v
    if can.output_nominal_v != ask.system_v:
        return False
    if isinstance(can, EngineCharging):
        smart = ask.brief.vehicle.alternator_control == "smart"
        return can.input_nominal_v == ask.brief.vehicle.nominal_v and (can.smart_alternator or not smart)
    return True


def output_a(ask: Ask, can: Charging) -> float:
    """Most current into the battery, as it would be set, in the heat where it sits. [A]"""
    if isinstance(can, EngineCharging):
        return limited(can, _most_a(ask), ask.needs.compartment_c)[0]
    return can.output_a * at(can.derating, ask.needs.compartment_c)


def _most_a(ask: Ask) -> float:
    return math.inf if ask.needs.engine_most_a is None else ask.needs.engine_most_a
