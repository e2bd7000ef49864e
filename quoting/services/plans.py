"""What a job is built and proved by: its design, or for a fault job the readings that need none."""

from __future__ import annotations

from django.utils import timezone

from fitouts.models import Fitout
from quoting.models import Design, Revision
from quoting.services import designs, fault_readings
from quoting.sizing.appraisal import Appraisal


def plan_of(revision: Revision) -> Appraisal:
    """The Appraisal that a revision stands on; without a design it holds readings and nothing else."""
    if revision.built_design is None:
        return without_design(revision.quote.fitout)
    return designs.appraisal_of(revision.built_design)


def without_design(fitout: Fitout) -> Appraisal:
    """Nothing chosen, wired or billed: only the readings of a vehicle that is mended."""
    return Appraisal(
        brief_sha256="",
        system_v=24 if fitout.vehicle.nominal_v == 24 else 12,
        figures={},
        loads=(),
        profile_w=(0.0,) * 24,
        stops=(),
        expectations=fault_readings.readings(fitout),
    )


def brief_without_design(fitout: Fitout) -> dict[str, object]:
    """What a frozen record says of the vehicle where nothing was designed: positions, and nothing worked out."""
    vehicle = fitout.vehicle
    return {
        "title": fitout.title,
        "vehicle": {
            "name": str(vehicle)[:120],
            "nominal_v": vehicle.nominal_v,
            "alternator_control": vehicle.alternator_control,
            "payload_left_kg": vehicle.payload_left_kg,
            "positions": [{"key": str(p.pk), "name": p.name} for p in vehicle.positions.all()],
        },
        "loads": [],
        "trip": [],
        "policy": {},
        "catalogue": [],
    }


def design_facts(design: Design | None) -> dict[str, object] | None:
    """Number and day of a design as a frozen record keeps them; ``None`` where there is none."""
    if design is None:
        return None
    return {"number": design.number, "made_on": timezone.localtime(design.made_at).date().isoformat()}
