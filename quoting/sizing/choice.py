"""Choosing components: for each need the cheapest single model, whole numbers, that meets it.

Nothing stands in for what is missing: a need that nothing meets becomes a :class:`Shortfall` with the nearest part.
Ties are settled by cost, mass and key.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TypeVar

from catalog.kinds.capabilities import (
    Capability,
    Converting,
    Inverting,
    Monitoring,
    Storage,
    at,
)
from quoting.sizing.appraisal import Chosen, Shortfall
from quoting.sizing.battery_volts import highest_charging_v
from quoting.sizing.brief import Brief
from quoting.sizing.choice_bank import choose_bank
from quoting.sizing.choice_mains import mains_side
from quoting.sizing.choice_sensing import choose_sensing, choose_sensors, shortfalls_of
from quoting.sizing.choice_switching import choose_switching
from quoting.sizing.converters import Shares, choose_converter, shared_out
from quoting.sizing.kept import settle
from quoting.sizing.needs import Needs
from quoting.sizing.one_piece import shared
from quoting.sizing.parts import Able, Catalogue, chosen_of, first_fit, short
from quoting.sizing.trace import Finding, Scalar

__all__ = ["Choice", "capability", "choose", "inverter_dc_a"]

AnyCapability = TypeVar("AnyCapability", bound=Capability)


@dataclass(frozen=True, slots=True)
class Choice:
    """The components of a system and what the catalogue could not meet."""

    chosen: tuple[Chosen, ...]
    shortfalls: tuple[Shortfall, ...] = ()
    findings: tuple[Finding, ...] = ()
    sensors: Mapping[str, str] = field(default_factory=dict)
    """Key of the sensor's part by the key of what it watches."""

    def role(self, *roles: str) -> Chosen | None:
        """The first chosen component of those roles."""
        return next((c for c in self.chosen if c.role in roles), None)


def capability(brief: Brief, chosen: Chosen, wanted: type[AnyCapability]) -> AnyCapability:
    """The capability of a chosen part; KeyError when it has none of that class."""
    return Catalogue.of(brief).can(chosen.part, wanted)


def choose(brief: Brief, needs: Needs) -> Choice:
    """Choose components for every need.

    Parameters
    ----------
    brief : Brief
        With catalogue, wishes and policy.
    needs : Needs
        What loads and trip ask.

    Returns
    -------
    Choice
        Components, shortfalls and findings; batteries and chargers are chosen together, as their profiles must agree.
    """
    parts = Catalogue.of(brief)
    bank = choose_bank(brief, parts, needs)
    chosen: list[Chosen] = [bank.chosen] if bank.chosen else []
    missing = [bank.shortfall] if bank.shortfall else []
    chosen += bank.chargers.chosen
    missing += bank.chargers.shortfalls
    findings = list(bank.chargers.findings)

    def take(said: tuple[list[Chosen | Shortfall], list[Finding]]) -> Chosen | None:
        chosen.extend(x for x in said[0] if isinstance(x, Chosen))
        missing.extend(x for x in said[0] if isinstance(x, Shortfall))
        findings.extend(said[1])
        return next((x for x in said[0] if isinstance(x, Chosen)), None)

    inverter = take(settle(brief, parts, "inverter", "inverting", lambda p: _inverter(brief, p, needs)))
    converter = settle(brief, parts, "converter", "converting", lambda p: choose_converter(p, needs.converter))
    shares = _shares(parts, needs, next((x for x in converter[0] if isinstance(x, Chosen)), None))
    take(settle(brief, parts, "monitor", "monitoring", lambda p: _monitor(brief, p, needs, inverter, bank.chosen)))
    take(settle(brief, parts, "switching", "switching", lambda p: choose_switching(brief, p, shares)))
    take(converter)
    take(mains_side(brief, parts, bank.chargers, inverter))
    so_far = tuple(chosen)
    take(settle(brief, parts, "sensing", "sensing", lambda p: choose_sensing(brief, p, so_far)))
    missing += shortfalls_of(brief, parts, chosen)
    sensors, said, told_by = choose_sensors(brief, parts, _main_a(parts, needs, inverter))
    take((sensors, said))
    return Choice(shared(chosen), tuple(missing), tuple(findings), told_by)


def _shares(parts: Catalogue, needs: Needs, converter: Chosen | None) -> Shares:
    """Circuits by converter, as they will hang."""
    if converter is None or needs.converter is None:
        return ()
    return shared_out(parts.can(converter.part, Converting), needs.converter, converter.quantity)


def _inverter(brief: Brief, parts: Catalogue, needs: Needs) -> Chosen | Shortfall | None:
    need = needs.inverter
    if need is None:
        return None
    models = parts.having(Inverting)
    right = [a for a in models if a.can.nominal_v == brief.wishes.system_v]
    if not right:
        code = "wrong_voltage" if models else "none_of_kind"
        near = models[0] if models else None
        return short(code, "inverting", "inverter", best=near, asked=need.continuous_w, unit="W")

    def fits(a: Able[Inverting]) -> bool:
        left = at(a.can.derating, need.compartment_c)
        surge_w = a.can.surge_w if a.can.surge_s >= need.surge_s else a.can.continuous_w * left
        enough = a.can.continuous_w * left >= need.continuous_w and a.can.continuous_va * left >= need.continuous_va
        return enough and surge_w >= need.surge_w

    best, second = first_fit(right, fits)
    if best is None:
        near = max(right, key=lambda a: (a.can.continuous_w, a.part.key))
        left = at(near.can.derating, need.compartment_c)
        rows = [
            (near.can.continuous_w * left, need.continuous_w, "W"),
            (near.can.continuous_va * left, need.continuous_va, "VA"),
            (near.can.surge_w if near.can.surge_s >= need.surge_s else near.can.continuous_w * left, need.surge_w, "W"),
        ]
        value, asked, unit = min(rows, key=lambda r: r[0] / r[1] if r[1] else math.inf)
        return short("too_small", "inverting", "inverter", best=near, best_value=value, asked=asked, unit=unit)
    return chosen_of("inverter", ("inverting",), best, second, setting={"low_cutoff_v": best.can.cutoff_v})


def _monitor(
    brief: Brief, parts: Catalogue, needs: Needs, inverter: Chosen | None, battery: Chosen | None
) -> Chosen | Shortfall:
    current_a = _main_a(parts, needs, inverter)
    top_v = brief.policy.charging_v_per_12 * brief.wishes.system_v / 12
    if battery is not None:
        top_v = max(top_v, highest_charging_v(parts.can(battery.part, Storage), battery.series))
    models = parts.having(Monitoring)
    best, second = first_fit(models, lambda a: a.can.shunt_a >= current_a and a.can.max_v >= top_v)
    if best is None:
        near = max(models, key=lambda a: (a.can.shunt_a, a.part.key)) if models else None
        small = near is not None and near.can.shunt_a < current_a
        code = "none_of_kind" if near is None else "too_small" if small else "wrong_voltage"
        value = near.can.shunt_a if near else None
        return short(code, "monitoring", "monitor", best=near, best_value=value, asked=current_a, unit="A")
    setting: dict[str, Scalar] = {}
    if battery is not None:
        can = parts.can(battery.part, Storage)
        setting = {
            "capacity_ah": round(can.capacity_ah * battery.parallel, 1),
            "peukert": can.peukert,
            "full_v": round(can.absorption_v * battery.series - 0.2, 2),
        }
    return chosen_of("monitor", ("monitoring",), best, second, setting=setting)


def _main_a(parts: Catalogue, needs: Needs, inverter: Chosen | None) -> float:
    """Most that the battery's conductor carries for long. [A]"""
    alone_a = inverter_dc_a(parts.can(inverter.part, Inverting)) if inverter is not None else 0.0
    return max(needs.battery.discharge_a, alone_a)


def inverter_dc_a(can: Inverting) -> float:
    """Direct current at the inverter's rating and its low-voltage limit: it sizes cable, device and battery. [A]"""
    return can.continuous_w / (can.efficiency_full_ratio * can.cutoff_v)
