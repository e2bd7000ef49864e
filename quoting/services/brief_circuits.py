"""What a Brief says of circuits beside the loads: what is watched, what a person settled, what is there already."""

from __future__ import annotations

from typing import Any

from fitouts.models import Fitout, SensePoint
from quoting.models import CircuitChange, ExistingCircuit, InputPlace

EXISTING_VALUES = (
    "circuit",
    "name",
    "area_mm2",
    "insulation_c",
    "run_m",
    "form",
    "series",
    "rating_a",
    "breaking_a",
    "max_v",
    "distance_m",
    "both_ends",
    "device_ohm",
    "melting_s_at_2x",
    "ohm_per_km_20c",
    "source",
)


def circuit_values(fitout: Fitout) -> dict[str, list[dict[str, Any]]]:
    """Senses, hand changes, outputs, inputs and existing circuits of a job as the Brief wants them."""
    inputs = InputPlace.objects.filter(sense_point__fitout=fitout)
    return {
        "senses": [sense_values(each) for each in fitout.sense_points.all()],
        "changes": [change_values(each) for each in fitout.circuit_changes.select_related("changed_by")],
        "layout": [dict(each) for each in fitout.output_places.values("circuit", "module", "channel")],
        "inputs": [{"sense": str(each.sense_point_id), "unit": each.unit, "channel": each.channel} for each in inputs],
        "existing": [existing_values(each) for each in fitout.existing_circuits.all()],
    }


def sense_values(point: SensePoint) -> dict[str, Any]:
    return {
        "key": str(point.pk),
        "name": point.name,
        "what": point.what,
        "position": str(point.position_id),
        "part": str(point.component_id) if point.component_id else None,
    }


def change_values(change: CircuitChange) -> dict[str, Any]:
    by = str(change.changed_by) if change.changed_by else ""
    return {"circuit": change.circuit, **change.values, "reason": change.reason, "by": by[:120]}


def existing_values(circuit: ExistingCircuit) -> dict[str, Any]:
    return {name: getattr(circuit, name) for name in EXISTING_VALUES}
