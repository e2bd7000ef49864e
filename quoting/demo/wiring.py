"""What the demo's people settle about circuits: what is watched, what a hand changed and why, an upgrade of our own."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fitouts.models import Fitout, FoundPart, User
from fitouts.services import found, senses
from quoting.demo.jobs import cools, event, steady
from quoting.models import ExistingCircuit
from quoting.services import circuit_changes, designs, existing, kept

SENSES: dict[str, tuple[dict[str, str], ...]] = {
    "wagon": (
        {"name": "Fresh water, 45 L", "what": "tank", "at": "Tailgate"},
        {"name": "Refrigerator-freezer, inside", "what": "temperature", "at": "Tailgate"},
        {"name": "Starter battery", "what": "voltage", "at": "Starter battery"},
    ),
    "van": (
        {"name": "Wash water, 120 L", "what": "tank", "at": "Rear"},
        {"name": "Waste water, 120 L", "what": "tank", "at": "Rear"},
    ),
}
"""By vehicle."""

CHANGES: dict[str, tuple[dict[str, Any], ...]] = {
    "wagon": (
        {
            "name": "Camp and cargo lights",
            "values": {"area_mm2": 2.5},
            "reason": "A second strip is to go on the awning next season; the cable is hard to reach later.",
        },
        {
            "name": "Satellite terminal",
            "values": {"run_m": 4.6},
            "reason": "Measured with a draw wire: the way round the wheel arch is longer than the survey's.",
        },
    ),
}

AGAIN: dict[str, Any] = {
    "vehicle": "trailer",
    "title": "Coffee van, second refrigerator",
    "enquiry": "Trade has grown. A second refrigerator and more light behind the counter, on what is there.",
    "travellers": "two people",
    "kind": "upgrade",
    "until": "surveyed",
    "wishes": {"autonomy_days": 1.0, "solar_share_ratio": 0.35},
    "lines": (
        cools("Milk refrigerator, 60 L", 55, 0.32, at="Kitchen"),
        cools("Second refrigerator, 40 L", 45, 0.3, at="Kitchen"),
        event("Water pump", 60, 2, 30, at="Kitchen", start_multiple=3.0, start_s=0.3, bus="house"),
        event("Grinder", 280, 0.5, 80, bus="ac", at="Kitchen", power_factor=0.8, start_multiple=2.5, start_s=0.5),
        steady("Counter lights", 40, 6, at="Rear", window_start_h=6.0, window_end_h=14.0),
        steady("Card terminal and router", 14, 9, at="Kitchen", window_start_h=5.0, window_end_h=15.0),
    ),
    "stops": ({"like": "Birchip", "month": 7, "days": 2, "driving_h_per_day": 0.7, "mains_h_per_day": 10.0},),
}

OUTGROWN = ("battery", "mains_charger")
"""Roles whose parts are too small for the van's new loads."""

AS_FOUND: dict[str, dict[str, Any]] = {
    "ute": {
        "name": "Work lights",
        "area_mm2": 4.0,
        "insulation_c": 70.0,
        "form": "fuse",
        "series": "blade_c",
        "rating_a": 10.0,
        "breaking_a": 1000.0,
        "max_v": 32.0,
        "distance_m": 0.15,
        "source": "Read off the cable and the fuse at check-in",
    },
}
"""A circuit of somebody else's that is sound, by vehicle."""


def watch(fitout: Fitout, vehicle: str, by: User) -> None:
    """Write down what is to be watched."""
    spots = {p.name: p for p in fitout.vehicle.positions.all()}
    for values in SENSES.get(vehicle, ()):
        own = {name: value for name, value in values.items() if name != "at"}
        senses.add(fitout, by=by, position=spots[values["at"]], **own)


def take_over(fitout: Fitout, by: User) -> None:
    """Count on what we built into the vehicle ourselves: its parts and its circuits stay."""
    found.take_over(fitout, by=by)
    filled: dict[str, int | None] = {}
    for part in fitout.found_parts.select_related("component"):
        free = (r for r in kept.roles_of(part.component) if filled.get(r, part.component_id) == part.component_id)
        role = next(free, "")
        if role:
            filled[role] = part.component_id
            plan = FoundPart.Plan.REPLACE if role in OUTGROWN else FoundPart.Plan.KEEP
            found.change_part(part, by=by, plan=plan, role=role)
        else:
            found.change_part(part, by=by, plan=FoundPart.Plan.REMOVE)


def settle(fitout: Fitout, vehicle: str, by: User) -> None:
    """What is done with the first design in hand: circuits that lie there, changes by hand. Then the next design."""
    design = designs.latest_of(fitout)
    if design is None:
        return
    appraisal = designs.appraisal_of(design)
    keys = {circuit.name: circuit.key for circuit in appraisal.circuits}
    touched = _lies_there(fitout, vehicle, keys, by)
    if fitout.kind == Fitout.Kind.UPGRADE and existing.systems_before(fitout):
        touched = existing.take_over(fitout, appraisal, by=by) > 0 or touched
    for change in CHANGES.get(vehicle, ()):
        name = change["name"]
        circuit_changes.settle(fitout, keys[name], name, change["values"], change["reason"], by=by)
        touched = True
    if touched:
        designs.work_out(fitout, by=by)


def _lies_there(fitout: Fitout, vehicle: str, keys: Mapping[str, str], by: User) -> bool:
    values = AS_FOUND.get(vehicle)
    if values is None or fitout.kind != Fitout.Kind.UPGRADE:
        return False
    row = ExistingCircuit(fitout=fitout, circuit=keys[values["name"]])
    existing.write_down(row, values, by=by)
    return True


__all__ = ["AGAIN", "settle", "take_over", "watch"]
