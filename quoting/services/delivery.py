"""Handing over: what was fitted is frozen as the vehicle's installed system, and the owner's sheet is queued."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from catalog import finding
from fitouts.models import (
    BuildTick,
    Commissioning,
    Fitout,
    FittedPart,
    InstalledComponent,
    InstalledSystem,
    Stage,
    User,
    Workshop,
)
from fitouts.services import fitouts as jobs
from fitouts.services import found
from quoting.models import Document, Revision, Snapshot
from quoting.services import documents, found_facts, frozen, mend_steps, plans, proof, snapshots

RETORQUE_AFTER = timedelta(days=182)
"""Re-torque about half a year on, or after the first 1000 km. Common practice."""


@transaction.atomic
def deliver(fitout: Fitout, *, by: User, delivered_on: date | None = None) -> Document:
    """Freeze the as-built record, make it the vehicle's installed system, queue the handover sheet.

    Raises :class:`~quoting.services.proof.NotReady` with everything that is open: no reason overrides a safety
    reading that is missing or fails.
    """
    fitout = Fitout.objects.select_for_update().select_related("vehicle", "customer").get(pk=fitout.pk)
    if fitout.stage != Stage.TESTED:
        raise proof.NotReady(_("Only a tested job can be delivered."))
    points = proof.open_points(fitout, for_delivery=True)
    if points:
        raise proof.NotReady(" ".join(points))
    revision = proof.accepted(fitout)
    day = delivered_on or timezone.localdate()
    if day > timezone.localdate():
        raise proof.NotReady(_("The day of delivery is in the future."))
    snapshot = snapshots.freeze(
        kind=Snapshot.Kind.AS_BUILT,
        body=as_built_body(fitout, revision, day),
        personal=frozen.personal(fitout),
        customer_id=fitout.customer_id,
        by=by,
    )
    if fitout.kind != Fitout.Kind.FAULT or fitout.fitted.exists():
        _install(fitout, snapshot.sha256, day, by)
    jobs.move(fitout, Stage.DELIVERED, by=by)
    return documents.ask(
        kind=Document.Kind.HANDOVER,
        snapshot=snapshot,
        fitout=fitout,
        title=_("Handover sheet, job %(number)s") % {"number": fitout.number},
        by=by,
    )


def _install(fitout: Fitout, sha256: str, day: date, by: User) -> None:
    """Write down what is in the vehicle now: what was fitted, and what was kept; earlier systems give up theirs.

    A fault job makes no system of its own unless parts were fitted: what it mended stays where it was.
    """
    system = InstalledSystem.objects.create(
        vehicle=fitout.vehicle,
        fitout=fitout,
        snapshot_sha256=sha256,
        title=fitout.title,
        delivered_on=day,
        retorque_due_on=day + RETORQUE_AFTER,
    )
    InstalledComponent.objects.bulk_create(
        InstalledComponent(
            system=system,
            component_id=part.component_id,
            role=part.role,
            name=part.name,
            part_number=part.part_number,
            serial=part.serial,
            batch=part.batch,
            settings_entered=part.settings_entered,
        )
        for part in fitout.fitted.all()
    )
    InstalledComponent.objects.bulk_create(
        InstalledComponent(
            system=system,
            component_id=part.component_id,
            role=part.role or "other",
            name=part.name,
            part_number=part.component.part_number if part.component else "",
            serial=part.serial,
        )
        for part in mend_steps.kept_besides(fitout)
    )
    finding.index_rows("installed", system.components.all())
    found.end_earlier(fitout, system, day, by=by)


def as_built_body(fitout: Fitout, revision: Revision, day: date) -> dict[str, Any]:
    """Everything the test and handover sheets print, as it was on the day."""
    record = Commissioning.objects.get(fitout=fitout)
    return {
        "schema": frozen.AS_BUILT_SCHEMA,
        **frozen.common(fitout, revision.built_design, Workshop.objects.get()),
        "quote": {"number": revision.quote.number, "revision": revision.letter},
        "design": plans.design_facts(revision.built_design),
        "fitted": [
            {
                "key": part.key,
                "name": part.name,
                "part_number": part.part_number,
                "role": part.role,
                "serial": part.serial,
                "batch": part.batch,
                "settings_asked": part.settings_asked,
                "settings_entered": part.settings_entered,
            }
            for part in FittedPart.objects.filter(fitout=fitout)
        ],
        "readings": [_reading(row) for row in proof.rows(fitout) if row.reading is not None],
        "instruments": [
            {
                "name": i.name,
                "serial": i.serial,
                "calibrated_until": i.calibrated_until.isoformat() if i.calibrated_until else None,
            }
            for i in record.instruments.all()
        ],
        "ticks": [
            {
                "words": t.words,
                "done_at": t.done_at.isoformat() if t.done_at else None,
                "done_by": str(t.done_by or ""),
                "hold_point": t.hold_point,
                "licensed": t.licensed,
                "note": t.note,
            }
            for t in BuildTick.objects.filter(fitout=fitout).select_related("done_by")
        ],
        "as_found": found_facts.found_facts(fitout),
        "delivered_on": day.isoformat(),
        "retorque_due_on": (day + RETORQUE_AFTER).isoformat(),
        "odometer_km": record.odometer_km,
        "certificate_no": record.certificate_no,
        "found": record.found,
        "test_conditions": {
            "air_c": record.air_c,
            "battery_c": record.battery_c,
            "charge_ratio": record.charge_ratio,
            "rested_h": record.rested_h,
        },
    }


def _reading(row: proof.Row) -> dict[str, Any]:
    reading, expected = row.reading, row.expectation
    assert reading is not None
    return {
        "key": reading.key,
        "code": expected.code,
        "params": dict(expected.params),
        "group": expected.group,
        "unit": reading.unit,
        "minimum": reading.minimum,
        "maximum": reading.maximum,
        "value": reading.value,
        "answer": reading.answer,
        "passed": reading.passed,
        "safety": reading.safety,
        "licensed": reading.licensed,
        "licence_no": reading.licence_no,
        "by": str(reading.by or ""),
        "at": _local_day(reading.at),
        "instrument": str(reading.instrument or ""),
    }


def _local_day(moment: Any) -> str:
    return timezone.localtime(moment).date().isoformat()
