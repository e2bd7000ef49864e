"""Vehicles like another one, and a worker that does a fleet run to its end."""

from __future__ import annotations

from typing import Any

from fitouts.models import Vehicle
from quoting.models import BackgroundJob, FleetItem, FleetRun
from quoting.services import background


def another(vehicle: Vehicle, registration: str, **changes: Any) -> Vehicle:
    """A vehicle like ``vehicle`` with a survey of its own."""
    columns = {f.name: getattr(vehicle, f.name) for f in Vehicle._meta.concrete_fields if f.name != "id"}
    made = Vehicle.objects.create(**{**columns, "registration": registration, **changes})
    spots = {}
    for position in vehicle.positions.all():
        old, position.pk = position.pk, None
        position.vehicle = made
        position.save()
        spots[old] = position
    for run in vehicle.runs.all():
        run.pk, run.vehicle = None, made
        run.start, run.end = spots[run.start_id], spots[run.end_id]
        run.save()
    return made


def work(run: FleetRun) -> BackgroundJob:
    """What a worker does when the message comes, until nothing is queued any more."""
    while True:
        run.refresh_from_db()
        if run.job.state != BackgroundJob.State.QUEUED:
            return run.job
        background.run(run.job_id)


def items(run: FleetRun) -> list[FleetItem]:
    return list(run.items.select_related("fitout", "design", "revision", "vehicle").order_by("place"))
