"""Whether a system that was worked through does what its offer asks, and what to tighten where it does not."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from quoting.sizing.appraisal import Appraisal, Shortfall
from quoting.sizing.brief import Brief
from quoting.sizing.brief_choosing import KeptRole
from quoting.sizing.selecting.facts import text
from quoting.sizing.selecting.records import Facts, Market, Said, Steer
from quoting.sizing.trace import Finding, Scalar

Raised = Literal["battery", "array", "charging"]
CHARGERS: tuple[KeptRole, ...] = ("engine_charger", "multi_charger", "mains_charger", "solar_controller")

OF_NEED: dict[str, tuple[KeptRole, ...]] = {
    "storage": ("battery",),
    "engine_charging": ("engine_charger", "multi_charger"),
    "mains_charging": ("mains_charger", "multi_charger"),
    "solar_control": ("solar_controller", "multi_charger"),
    "panel": ("panel",),
    "inverting": ("inverter",),
    "switching": ("switching",),
    "monitoring": ("monitor",),
    "converting": ("converter",),
    "inlet": ("inlet",),
    "residual": ("residual",),
    "sensing": ("sensing",),
}
"""Need -> roles whose part led there when it is not met."""

OF_CIRCUIT: dict[str, tuple[KeptRole, ...]] = {
    "battery_main": ("inverter", "battery"),
    "negative_bond": ("inverter", "battery"),
    "engine_feed": ("engine_charger", "multi_charger"),
    "charger_output": ("engine_charger", "multi_charger"),
    "solar_array": ("panel", "solar_controller", "multi_charger"),
    "controller_output": ("solar_controller", "multi_charger"),
    "mains_output": ("mains_charger", "multi_charger"),
    "inverter_feed": ("inverter",),
    "converter_input": ("converter",),
    "converter_output": ("converter",),
    "sense": ("battery", "inverter"),
}
"""Role of a circuit that cannot be made -> roles whose part led there."""

OF_SUBJECT: dict[str, tuple[KeptRole, ...]] = {
    "battery": ("battery",),
    "inverter": ("inverter",),
    "engine": ("engine_charger", "multi_charger"),
    "mains": ("mains_charger", "multi_charger"),
    "sun": ("panel", "solar_controller", "multi_charger"),
    "switching": ("switching",),
    "monitor": ("monitor",),
    "house12": ("converter",),
}
"""Subject of a finding -> roles whose part it is about."""


@dataclass(frozen=True, slots=True)
class Failed:
    """One reason why a system does not do, and what may help."""

    said: Said
    raises: tuple[Raised, ...] = ()
    """More of any of these may."""
    rules_out: tuple[KeptRole, ...] = ()
    """Another part in any of these roles may."""
    counts_rest: bool = False
    """A system that leaves as much for the rest of the bill as this one needs may."""


def failures(brief: Brief, appraisal: Appraisal, facts: Facts, market: Market, steer: Steer) -> tuple[Failed, ...]:
    """Say why a system does not do for the offer whose room its Brief has; empty where it does.

    It has no shortfall and no danger, goes dark no more often than the room allows, keeps its spare outputs, and its
    whole bill (sundries too) is within the budget and its whole mass within what may be carried.
    """
    found = [_short(one) for one in appraisal.shortfalls]
    found += [_danger(one, appraisal) for one in appraisal.findings if one.level == "danger"]
    found += _sums(brief, appraisal, facts, market, steer)
    return tuple(found)


def _short(one: Shortfall) -> Failed:
    roles = OF_CIRCUIT.get(one.circuit_role, ()) or OF_NEED.get(one.need.code, ())
    said = _said("fails_shortfall", need=one.need.code, subject=one.subject)
    return Failed(said, rules_out=roles)


def _danger(one: Finding, appraisal: Appraisal) -> Failed:
    circuit = next((c for c in appraisal.circuits if c.tag == one.subject), None)
    roles = OF_CIRCUIT.get(circuit.role, ()) if circuit else OF_SUBJECT.get(one.subject, ())
    return Failed(Said(code="fails_danger", params={**one.params, "finding": one.code}), rules_out=roles)


def _sums(brief: Brief, appraisal: Appraisal, facts: Facts, market: Market, steer: Steer) -> Iterator[Failed]:
    allowed = brief.dark_chance_ratio
    chance, outlook = facts.dark_chance_ratio, appraisal.outlook
    if chance is not None and outlook is not None and chance > allowed + 1e-12:
        said = _said(
            "fails_dark", chance_ratio=chance, allowed_ratio=allowed, draws_dark=outlook.dark.draws_dark,
            draws=outlook.draws,
        )  # fmt: skip
        yield Failed(said, raises=raised_by(brief))
    bill = Decimal(facts.price) + market.sundries(appraisal.bill)
    if steer.budget is not None and bill > Decimal(steer.budget):
        over = text(bill - Decimal(steer.budget))
        yield Failed(_said("fails_budget", price=text(bill), budget=steer.budget, over=over), counts_rest=True)
    if steer.most_mass_kg is not None and appraisal.mass_kg > steer.most_mass_kg + 1e-9:
        said = _said("fails_mass", mass_kg=round(appraisal.mass_kg, 2), most_kg=steer.most_mass_kg)
        yield Failed(said, counts_rest=True)
    short = next((f for f in appraisal.findings if f.code == "outputs_no_spare"), None)
    if short is not None:
        yield Failed(_said("fails_spares", **short.params), rules_out=("switching",))


def raised_by(brief: Brief) -> tuple[Raised, ...]:
    """What may be raised so that a system goes dark less often, of what the job is charged by."""
    wishes = brief.wishes
    found: list[Raised] = ["battery"]
    if wishes.solar_charging and wishes.solar_share_ratio > 0:
        found.append("array")
    if wishes.engine_charging or wishes.mains_charging:
        found.append("charging")
    return tuple(found)


def _said(code: str, **params: Scalar) -> Said:
    return Said(code=code, params=params)
