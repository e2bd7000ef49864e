"""Erase a person: nothing personal is left in rows, histories or papers; what was built stays known by its parts."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.db.models import Model, Q, QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _

from catalog.models import BulkChange, RecentItem
from fitouts.models import (
    COURSE,
    BuildTick,
    Commissioning,
    Contact,
    Customer,
    Defect,
    Fitout,
    FoundPart,
    InstalledSystem,
    Reading,
    Stage,
    StageEvent,
    User,
    Vehicle,
    VehiclePhoto,
)
from fitouts.services.keeping import signed
from fitouts.services.photos import remove_photo
from quoting.models import CircuitChange, Design, ExistingCircuit, FleetItem, FleetRun, Proposal, Revision, Selection
from quoting.services import snapshots

ERASED = "Erased"
UNDER_WAY = (*COURSE[: COURSE.index(Stage.DELIVERED)], Stage.ON_HOLD)
CUSTOMER = {"address": "", "phone": "", "email": "", "business_no": "", "notes": ""}
CONTACT = {"name": ERASED, "job_title": "", "phone": "", "email": ""}
VEHICLE = {"registration": "", "vin": "", "survey_notes": ""}
JOB = {"enquiry": "", "travellers": "", "reused": ""}


class NotErased(Exception):
    """A person cannot be erased yet, with the reason."""


def obstacle(customer: Customer) -> str:
    """Why a person cannot be erased now, or nothing."""
    if customer.erased_at:
        return _("This customer was erased already.")
    jobs = list(Fitout.objects.filter(customer=customer, stage__in=UNDER_WAY).values_list("number", flat=True)[:5])
    if jobs:
        return _("Jobs are under way: %(numbers)s. Deliver, cancel or lose them first.") % {"numbers": ", ".join(jobs)}
    return ""


@transaction.atomic
def erase(customer: Customer, *, by: User | None) -> Customer:
    """Take everything that tells who a customer is out of rows, histories, frozen records and papers. For good.

    What is in which vehicle, by serial number, stays: a faulty batch must still be found. Vehicles lose plate, VIN,
    notes and photos. Raises :class:`NotErased` while a job is under way.
    """
    customer = Customer.objects.select_for_update().get(pk=customer.pk)
    why_not = obstacle(customer)
    if why_not:
        raise NotErased(why_not)
    return wipe(customer, by=by)


@transaction.atomic
def wipe(customer: Customer, *, by: User | None) -> Customer:
    """The same, whatever the jobs are at: for somebody who was erased before and came back with an old archive."""
    vehicles = Vehicle.objects.filter(customer=customer)
    jobs = Fitout.objects.filter(customer=customer)
    for photo in VehiclePhoto.objects.filter(vehicle__in=vehicles):
        remove_photo(photo)
    snapshots.erase_personal(customer.pk)
    named = {"name": _nobody(customer.pk), **CUSTOMER}
    _everywhere(Contact.objects.filter(customer=customer), Contact.history.filter(customer_id=customer.pk), CONTACT)
    ids = list(vehicles.values_list("pk", flat=True))
    _everywhere(vehicles, Vehicle.history.filter(id__in=ids), VEHICLE)
    for job in jobs:
        values = {"title": _("Job %(number)s") % {"number": job.number}, **JOB}
        _everywhere(Fitout.objects.filter(pk=job.pk), Fitout.history.filter(id=job.pk), values)
        _everywhere(
            InstalledSystem.objects.filter(fitout=job),
            InstalledSystem.history.filter(fitout_id=job.pk),
            {"title": values["title"]},
        )
    _papers_of(jobs)
    _told_of(jobs)
    _fleets_of(ids, jobs)
    Contact.objects.filter(customer=customer).delete()
    Contact.history.filter(customer_id=customer.pk).delete()
    _everywhere(Customer.objects.filter(pk=customer.pk), Customer.history.filter(id=customer.pk), named)
    _traces(customer.pk, ids)
    customer.refresh_from_db()
    customer.erased_at = customer.retired_at = timezone.now()
    signed(customer, by).save()  # the one change its history still tells: erased, by whom, when
    for vehicle in vehicles.filter(retired_at=None):
        vehicle.retired_at = timezone.now()
        signed(vehicle, by).save()
    return customer


def _nobody(pk: int) -> str:
    return _("Erased customer %(number)d") % {"number": pk}


def _everywhere(rows: QuerySet[Any], history: QuerySet[Any], values: dict[str, str]) -> None:
    rows.update(**values)
    history.update(**values)


def _papers_of(jobs: QuerySet[Fitout]) -> None:
    quotes = Revision.objects.filter(quote__fitout__in=jobs)
    quotes.exclude(accepted_by="").update(accepted_by=ERASED)
    quotes.update(acceptance_note="", note="")
    StageEvent.objects.filter(fitout__in=jobs).exclude(reason="").update(reason=ERASED)
    for design in Design.objects.filter(fitout__in=jobs).select_related("fitout").iterator(chunk_size=20):
        _untell_brief(design.brief, design.fitout)
        _untell_circuits(design.appraisal)
        design.save(update_fields=["brief", "appraisal"])
    chosen = Selection.objects.filter(fitout__in=jobs, brief__isnull=False).select_related("fitout")
    for selection in chosen.iterator(chunk_size=20):
        assert selection.brief is not None
        _untell_brief(selection.brief, selection.fitout)
        selection.save(update_fields=["brief"])
    for proposal in Proposal.objects.filter(selection__fitout__in=jobs).iterator(chunk_size=20):
        _untell_circuits(proposal.appraisal)
        proposal.save(update_fields=["appraisal"])


def _untell_brief(brief: dict[str, Any], fitout: Fitout) -> None:
    """The title, why circuits were settled by hand and where what lies there is known from, out of a kept Brief."""
    brief["title"] = _("Job %(number)s") % {"number": fitout.number}
    for told in brief.get("changes", []):
        told["reason"] = ERASED if told.get("reason") else ""
    for told in brief.get("existing", []):
        told["source"] = ""


def _untell_circuits(appraisal: dict[str, Any]) -> None:
    """The same, out of what was worked out."""
    circuits = appraisal.get("circuits", [])
    for told in [*appraisal.get("refused", []), *(one for circuit in circuits for one in circuit.get("changed", []))]:
        told["reason"] = ERASED if told.get("reason") else ""
    for circuit in circuits:
        if circuit.get("stays_source"):
            circuit["stays_source"] = ""


def _told_of(jobs: QuerySet[Fitout]) -> None:
    """What people wrote about a vehicle on the way. That a danger was settled stays known, not what was said of it."""
    ids = list(jobs.values_list("pk", flat=True))
    for name in ("words", "remedy", "mended_words", "left_because"):
        for rows in (Defect.objects.filter(fitout__in=ids), Defect.history.filter(fitout_id__in=ids)):
            rows.exclude(**{name: ""}).update(**{name: ERASED})
    _everywhere(FoundPart.objects.filter(fitout__in=ids), FoundPart.history.filter(fitout_id__in=ids), {"notes": ""})
    for settled in (CircuitChange.objects.filter(fitout__in=ids), CircuitChange.history.filter(fitout_id__in=ids)):
        settled.update(reason=ERASED)
    lying = ExistingCircuit.objects.filter(fitout__in=ids), ExistingCircuit.history.filter(fitout_id__in=ids)
    _everywhere(*lying, {"source": ""})
    BuildTick.objects.filter(fitout__in=ids).update(note="")
    BuildTick.objects.filter(fitout__in=ids, key__startswith="mend:").update(words=ERASED)
    Reading.objects.filter(fitout__in=ids).update(note="")
    _everywhere(
        Commissioning.objects.filter(fitout__in=ids), Commissioning.history.filter(fitout_id__in=ids), {"found": ""}
    )


def _fleets_of(vehicle_ids: list[int], jobs: QuerySet[Fitout]) -> None:
    """What runs over many vehicles are called, and what they say of these. What each came to holds no name."""
    theirs = Q(items__vehicle__in=vehicle_ids) | Q(source__in=jobs)  # it is named after the job it follows
    for run in FleetRun.objects.filter(theirs).distinct():
        run.name = _("Fleet %(number)d") % {"number": run.pk}
        run.save(update_fields=["name"])
    FleetItem.objects.filter(vehicle__in=vehicle_ids).exclude(reason="").update(reason=ERASED)


def _traces(customer_id: int, vehicle_ids: list[int]) -> None:
    """What lists and undo remember of a person."""
    BulkChange.objects.filter(action__about="customer", row_id=customer_id).delete()
    BulkChange.objects.filter(action__about="vehicle", row_id__in=vehicle_ids).delete()
    RecentItem.objects.filter(about="customer", row_id=customer_id).delete()
    from catalog import finding

    for about, model, ids in (("customer", Customer, [customer_id]), ("vehicle", Vehicle, vehicle_ids)):
        rows: list[Model] = list(model._base_manager.filter(pk__in=ids))
        finding.index_rows(about, rows)
