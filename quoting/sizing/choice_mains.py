"""The mains side as far as it is chosen here: shore inlet and residual-current protection."""

from __future__ import annotations

from catalog.kinds.capabilities import Inlet, Inverting, MainsCharging, ResidualProtection
from quoting.sizing.appraisal import Chosen, Shortfall
from quoting.sizing.brief import Brief
from quoting.sizing.choice_charging import ChargingSet
from quoting.sizing.kept import settle
from quoting.sizing.parts import Able, Catalogue, chosen_of, first_fit, short
from quoting.sizing.trace import Finding

PEOPLE_MA = 30.0
"""Residual current that protects people. [mA] IEC 60364-4-41."""


def mains_side(
    brief: Brief, parts: Catalogue, chargers: ChargingSet, inverter: Chosen | None
) -> tuple[list[Chosen | Shortfall], list[Finding]]:
    """Shore inlet and residual-current protection. What the licensed person decides is asked, not chosen."""
    found: list[Chosen | Shortfall] = []
    said: list[Finding] = []
    mains = [c for c in chargers.chosen if parts.has(c.part, MainsCharging) and "mains_charging" in c.serves]
    circuits = 0
    current_a = 0.0
    if mains and brief.wishes.shore_inlet:
        can = parts.can(mains[0].part, MainsCharging)
        current_a = can.output_a * can_v(brief) / (can.efficiency_ratio * can.power_factor * can.mains_v)
        asked_a, mains_v = current_a, can.mains_v
        found, said = settle(brief, parts, "inlet", "inlet", lambda p: _inlet(p, asked_a, mains_v))
        circuits += 1
    if inverter is not None:
        inv = parts.can(inverter.part, Inverting)
        current_a = max(current_a, inv.continuous_va / inv.output_v)
        circuits += 1
    if circuits:
        more, noted = settle(brief, parts, "residual", "residual", lambda p: _residual(p, current_a, circuits))
        found, said = [*found, *more], [*said, *noted]
    return found, said


def _inlet(parts: Catalogue, current_a: float, mains_v: float) -> Chosen | Shortfall:
    inlets = parts.having(Inlet)
    best, second = first_fit(inlets, lambda a: a.can.rated_a >= current_a and a.can.rated_v >= mains_v)
    if best is not None:
        return chosen_of("inlet", ("inlet",), best, second)
    near = max(inlets, key=lambda a: (a.can.rated_a, a.part.key)) if inlets else None
    code = "none_of_kind" if near is None else "too_small" if near.can.rated_a < current_a else "wrong_voltage"
    value = near.can.rated_a if near else None
    return short(code, "inlet", "inlet", best=near, best_value=value, asked=current_a, unit="A")


def _residual(parts: Catalogue, current_a: float, circuits: int) -> Chosen | Shortfall:
    devices = parts.having(ResidualProtection)

    def fits(a: Able[ResidualProtection]) -> bool:
        can = a.can
        return can.sensitivity_ma <= PEOPLE_MA and can.rated_a >= current_a and can.poles >= 2 and can.type != "ac"

    best, after = first_fit(devices, fits)
    if best is not None:
        return chosen_of("residual", ("residual",), best, after, quantity=circuits)
    close = max(devices, key=lambda a: (a.can.rated_a, a.part.key)) if devices else None
    code = "none_of_kind" if close is None else "too_small" if close.can.rated_a < current_a else "no_match"
    value = close.can.rated_a if close else None
    return short(code, "residual", "residual", best=close, best_value=value, asked=current_a, unit="A")


def can_v(brief: Brief) -> float:
    """Highest voltage of the house bus, by policy. [V]"""
    return brief.policy.charging_v_per_12 * brief.wishes.system_v / 12
