"""What goes along about circuits when a job is begun from an earlier one of the same vehicle.

Measured lengths and what lies in the vehicle are facts of the vehicle and go along. Sizes, devices and limits that were
settled were settled for the earlier job's currents, and are settled anew.
"""

from __future__ import annotations

from django.db import transaction

from fitouts.models import Fitout, User
from fitouts.services.keeping import keep
from quoting.models import CircuitChange, ExistingCircuit
from quoting.services.brief_circuits import EXISTING_VALUES


@transaction.atomic
def carry_over(job: Fitout, fitout: Fitout, *, by: User | None) -> int:
    """Copy lengths and existing circuits of ``job`` into ``fitout``; nothing for another vehicle. Returns how many."""
    if (job.vehicle_id, job.trailer_id) != (fitout.vehicle_id, fitout.trailer_id):
        return 0
    lines = _lines(job, fitout)
    count = 0
    for change in job.circuit_changes.all():
        key = _key(change.circuit, lines)
        if key and "run_m" in change.values:
            row = CircuitChange(fitout=fitout, circuit=key, name=change.name, changed_by_id=change.changed_by_id)
            keep(row, {"values": {"run_m": change.values["run_m"]}, "reason": change.reason}, by)
            count += 1
    for lying in job.existing_circuits.all():
        key = _key(lying.circuit, lines)
        if key:
            values = {name: getattr(lying, name) for name in EXISTING_VALUES}
            keep(ExistingCircuit(fitout=fitout), {**values, "circuit": key}, by)
            count += 1
    return count


def _lines(job: Fitout, fitout: Fitout) -> dict[str, str]:
    """Keys of the earlier job's audit lines -> of the new one's, which were copied in their order."""
    pairs = zip(job.requirements.all(), fitout.requirements.all(), strict=False)
    return {str(old.pk): str(new.pk) for old, new in pairs if old.name == new.name}


def _key(circuit: str, lines: dict[str, str]) -> str:
    """The circuit's key in the new job; nothing for one of a line that did not come along."""
    plain, at, converter = circuit.removeprefix("load:").partition("@")
    if not circuit.startswith("load:") or not plain.isdigit():
        return circuit
    return f"load:{lines[plain]}{at}{converter}" if plain in lines else ""
