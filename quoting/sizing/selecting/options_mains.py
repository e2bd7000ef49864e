"""The AC side: inverters, shore inlets and residual-current protection. Licensed people settle the rest."""

from __future__ import annotations

from dataclasses import dataclass

from catalog.kinds.capabilities import Inlet, Inverting, MainsCharging, ResidualProtection, at
from quoting.sizing.choice_mains import PEOPLE_MA, can_v
from quoting.sizing.selecting.options_ask import Ask
from quoting.sizing.selecting.options_charging import Charger, wanted_sources
from quoting.sizing.selecting.problem import Option, Row


@dataclass(frozen=True, slots=True)
class Inverter:
    """An inverter as an option, with what rows that join it to other parts ask."""

    option: Option
    gives: dict[str, float]
    can: Inverting


def inverters_of(ask: Ask) -> tuple[list[Inverter], list[Row]]:
    """Inverters for the bus, with what they give in the heat."""
    need = ask.needs.inverter
    if need is None:
        return [], []
    found = []
    for able, kept in ask.of_role("inverter", Inverting):
        can, left = able.can, at(able.can.derating, need.compartment_c)
        if can.nominal_v != ask.system_v:
            continue
        gives = {
            "inverter_w": can.continuous_w * left,
            "inverter_va": can.continuous_va * left,
            "inverter_surge_w": can.surge_w if can.surge_s >= need.surge_s else can.continuous_w * left,
        }
        pick = ask.pick("inverter", able.part.key)
        option = ask.option(("inverter",), (pick,), gives, kept=kept is not None)
        found.append(Inverter(option, gives, can))
    rows = [
        Row("inverter_w", "need", need.continuous_w, unit="W", scale=max(need.continuous_w, 1.0)),
        Row("inverter_va", "need", need.continuous_va, unit="VA", scale=max(need.continuous_va, 1.0)),
        Row("inverter_surge_w", "need", need.surge_w, unit="W", scale=max(need.surge_w, 1.0)),
    ]
    return found, rows


def is_inlet_wanted(ask: Ask) -> bool:
    return "mains" in wanted_sources(ask) and ask.brief.wishes.shore_inlet


def residual_count(ask: Ask) -> int:
    """AC circuits that a device protects: that of the inlet, that of the inverter."""
    return int(is_inlet_wanted(ask)) + int(ask.needs.inverter is not None)


def mains_options(ask: Ask, chargers: list[Charger], inverters: list[Inverter]) -> tuple[list[Option], list[Row]]:
    """Inlets and residual devices; each carries what charger and inverter take from the mains."""
    found: list[Option] = []
    rows: list[Row] = []
    inlet, count = is_inlet_wanted(ask), residual_count(ask)
    if inlet:
        for able, kept in ask.of_role("inlet", Inlet):
            gives = {"inlet_a": able.can.rated_a, "inlet_v": able.can.rated_v}
            pick = ask.pick("inlet", able.part.key)
            found.append(ask.option(("inlet",), (pick,), gives, kept=kept is not None))
        rows.append(Row("inlet_a", "fit", least=0.0, unit="A", scale=10.0))
        rows.append(Row("inlet_v", "fit", least=0.0, unit="V", scale=100.0))
        rows.append(Row("residual_inlet_a", "fit", least=0.0, unit="A", scale=10.0))
        for charger in chargers:
            can = charger.cans.get("mains")
            if isinstance(can, MainsCharging):
                amps = mains_a(ask, can)
                charger.gives.update({"inlet_a": -amps, "inlet_v": -can.mains_v, "residual_inlet_a": -amps})
    if inverters:
        rows.append(Row("residual_inverter_a", "fit", least=0.0, unit="A", scale=10.0))
        for inverter in inverters:
            inverter.gives["residual_inverter_a"] = -inverter.can.continuous_va / inverter.can.output_v
    if count:
        found += _residuals(ask, count)
    return found, rows


def mains_a(ask: Ask, can: MainsCharging) -> float:
    """Current that a charger takes from the mains at its rating. [A]"""
    return can.output_a * can_v(ask.brief) / (can.efficiency_ratio * can.power_factor * can.mains_v)


def _residuals(ask: Ask, count: int) -> list[Option]:
    found = []
    for able, kept in ask.of_role("residual", ResidualProtection):
        can = able.can
        if can.sensitivity_ma > PEOPLE_MA or can.poles < 2 or can.type == "ac" or (kept is not None and kept < count):
            continue
        gives = {"residual_inlet_a": can.rated_a, "residual_inverter_a": can.rated_a}
        pick = ask.pick("residual", able.part.key, count)
        found.append(ask.option(("residual",), (pick,), gives, kept=kept is not None))
    return found
