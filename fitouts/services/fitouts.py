"""Opening jobs, from nothing, from an earlier one or from a package, and moving them from stage to stage."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from catalog.models import AssemblyVersion, Site
from catalog.models.appliance import LINE_VALUES
from fitouts.models import (
    COURSE,
    Customer,
    Fitout,
    FitoutAssembly,
    JobPackage,
    Placement,
    Requirement,
    Stage,
    StageEvent,
    TripStop,
    User,
    Vehicle,
    VehiclePosition,
)
from fitouts.services import senses, towing
from fitouts.services.numbers import next_number

LINE_FIELDS = ("place", "appliance_id", "name", "quantity", "way", "use", *LINE_VALUES, "circuit")
STOP_VALUES = (
    "month",
    "days",
    "driving_h_per_day",
    "driving_start_h",
    "mains_h_per_day",
    "mains_start_h",
    "shade_ratio",
    "hitched",
)
STOP_FIELDS = ("place", *STOP_VALUES)
WISH_VALUES = (
    "system_v",
    "autonomy_days",
    "chemistries",
    "engine_charging",
    "mains_charging",
    "solar_charging",
    "solar_share_ratio",
    "shore_inlet",
    "panel_tilt_deg",
    "panel_azimuth_deg",
)
WISH_FIELDS = (*WISH_VALUES, "pinned", "banned")
STEERING_ALONG = ("prefer_stock", "most_lead_days", "suppliers_wanted", "suppliers_banned")
"""What is wished of the choice of components and holds for another job too."""
STEERING_FIELDS = ("budget", "most_mass_kg", *STEERING_ALONG)
"""All of it: what may be spent, and what this vehicle may carry, are this job's alone."""
COPIED_WISHES = (*WISH_FIELDS, *STEERING_ALONG)
DETAIL_FIELDS = ("title", "enquiry", "assigned_to", "booked_from", "booked_to", "travellers", "reused", "trailer")

ELECTRIC_VALUES = (
    "nominal_v",
    "alternator_control",
    "alternator_a",
    "hot_idle_a",
    "hot_idle_v",
    "own_draw_a",
    "standing_draw_a",
    "starter_ah",
    "starter_ohm",
    "cranking_v",
    "idle_stop",
    "hybrid",
)
"""A vehicle's own electrics, as the survey found them and the Brief wants them."""
PLAN_VALUES = ("length_m", "width_m", "body_material")
SURVEY_VALUES = (*ELECTRIC_VALUES, "roof_length_m", "roof_width_m", "payload_left_kg", *PLAN_VALUES)
"""What a survey says of a vehicle beside its places and ways."""
POSITION_VALUES = ("name", "ambient_c", "engine_space", "aired", "x_m", "y_m", "is_measured")

ASIDE = (Stage.ON_HOLD, Stage.CANCELLED, Stage.LOST)
NEXT: dict[str, tuple[str, ...]] = {
    Stage.ENQUIRY: (Stage.SURVEYED,),
    Stage.SURVEYED: (Stage.QUOTED,),
    Stage.QUOTED: (Stage.ACCEPTED, Stage.SURVEYED),
    Stage.ACCEPTED: (Stage.BOOKED, Stage.IN_BUILD),
    Stage.BOOKED: (Stage.IN_BUILD, Stage.ACCEPTED),
    Stage.IN_BUILD: (Stage.TESTED,),
    Stage.TESTED: (Stage.DELIVERED, Stage.IN_BUILD),
    Stage.DELIVERED: (Stage.CLOSED,),
    Stage.CLOSED: (),
}
"""Where a job may go from each stage, besides being set aside. The first is the way forward."""
LOSABLE = (Stage.ENQUIRY, Stage.SURVEYED, Stage.QUOTED)
OWN_SERVICE = (Stage.QUOTED, Stage.ACCEPTED, Stage.IN_BUILD, Stage.TESTED, Stage.DELIVERED)
"""Stages reached by issuing, accepting, taking into build, proving and delivering, never by a button of their own."""


class StageNotAllowed(Exception):
    """The job cannot go there; the text says where it can."""


class JobNotOpened(Exception):
    """The job cannot be opened as asked; the text says why, ``field`` what it is about when it is one entry."""

    def __init__(self, words: str, field: str = "") -> None:
        self.field = field
        super().__init__(words)


class PackageNameTaken(JobNotOpened):
    """There is a package of that name; the job may be kept as its next version."""

    def __init__(self, package: JobPackage) -> None:
        self.package = package
        words = _(
            "There is a package called “%(name)s”. Keep this job as version %(number)d of it, or choose another name."
        )
        super().__init__(words % {"name": package.name, "number": package.version + 1})


@transaction.atomic
def open_job(customer: Customer, vehicle: Vehicle, title: str, *, by: User | None, **details: Any) -> Fitout:
    """Open a job at Enquiry with the next number and its first stage event.

    ``details`` are fields of the job (``enquiry``, ``assigned_to``, ``travellers``, wishes such as ``system_v``).
    Raises JobNotOpened when the vehicle is somebody else's, either is retired, or there is no title.
    """
    if vehicle.customer_id != customer.pk:
        raise JobNotOpened(_("This vehicle does not belong to %(name)s.") % {"name": customer.name})
    if customer.retired_at or vehicle.retired_at:
        raise JobNotOpened(_("Customer or vehicle is retired. Take it back into use first."))
    if not title.strip():
        raise JobNotOpened(_("Give the job a title, as “Touring wagon, two weeks in the desert”."))
    refusal = towing.check_trailer(vehicle, details.get("trailer"))
    if refusal:
        raise JobNotOpened(refusal, "trailer")
    unknown = set(details) - set(DETAIL_FIELDS) - set(WISH_FIELDS) - {"kind"}
    if unknown:
        raise TypeError(f"open_job() has no field {sorted(unknown)[0]!r}")
    fitout = Fitout(
        number=next_number("job"), customer=customer, vehicle=vehicle, title=title.strip(), created_by=by, **details
    )
    if "system_v" not in details:
        fitout.system_v = vehicle.nominal_v
    if vehicle.is_trailer and "engine_charging" not in details:
        fitout.engine_charging = False  # a trailer alone: no engine in front of it is known
    if not fitout.chemistries:
        fitout.chemistries = ["lifepo4"]
    _keep(fitout, by)
    StageEvent.objects.create(fitout=fitout, from_stage="", to_stage=Stage.ENQUIRY, by=by)
    return fitout


@transaction.atomic
def open_from(job: Fitout, vehicle: Vehicle, *, by: User | None, title: str = "", **details: Any) -> Fitout:
    """Open a job for ``vehicle`` with audit, trip, wishes and places of an earlier one."""
    details.setdefault("travellers", job.travellers)
    if vehicle.pk == job.vehicle_id and not details.get("trailer"):
        details["trailer"] = job.trailer
    fitout = open_job(vehicle.customer, vehicle, title or job.title, by=by, **details)
    fill(fitout, contents(job), by=by)
    return fitout


@transaction.atomic
def keep_as_package(job: Fitout, name: str, *, by: User | None, as_next: int = 0) -> JobPackage:
    """Keep audit, trip, wishes, places and assemblies of a job for vehicles of its model.

    Raises PackageNameTaken for a name in use, unless ``as_next`` is the number of the version that comes next.
    """
    name = name.strip()
    if not name:
        raise JobNotOpened(_("Give the package a name."))
    if len(name) > 80:
        raise JobNotOpened(_("The name has %(length)s characters; at most 80.") % {"length": len(name)})
    before = JobPackage.objects.select_for_update().filter(name=name, replaced_at=None).first()
    if before is not None and as_next != before.version + 1:
        raise PackageNameTaken(before)
    if before is not None:
        before.replaced_at = timezone.now()
        _keep(before, by)
    package = JobPackage(
        name=name,
        version=before.version + 1 if before else 1,
        make=job.vehicle.make,
        model=job.vehicle.model,
        body=job.vehicle.body,
        content=contents(job) | {"survey": survey_of(job.vehicle)},
        kept_by=by,
    )
    try:
        with transaction.atomic():
            _keep(package, by)
    except IntegrityError:
        raise JobNotOpened(
            _("“%(name)s” was kept by somebody else just now. Look at it first.") % {"name": name}
        ) from None
    return package


@transaction.atomic
def open_from_package(
    package: JobPackage, vehicle: Vehicle, *, by: User | None, title: str = "", **details: Any
) -> Fitout:
    """Open a job for ``vehicle`` with what the package holds. Refused for a retired package."""
    if package.retired_at:
        raise JobNotOpened(_("The package “%(name)s” is retired.") % {"name": package.name})
    fitout = open_job(vehicle.customer, vehicle, title or package.name, by=by, **details)
    fill(fitout, package.content, by=by)
    return fitout


def contents(job: Fitout) -> dict[str, Any]:
    """What of a job can be used again: lines, stops, wishes, and positions by name."""
    lines = [
        {**{f: getattr(line, f) for f in LINE_FIELDS}, **_where(job, line.position)}
        for line in job.requirements.select_related("position")
    ]
    stops = [
        {**{f: getattr(stop, f) for f in STOP_FIELDS}, "site_id": stop.site_id, "site": str(stop.site)}
        for stop in job.stops.select_related("site")
    ]
    places = {p.role: towing.named(job, p.position) for p in job.placements.select_related("position")}
    return {
        "lines": lines,
        "stops": stops,
        "wishes": {f: getattr(job, f) for f in COPIED_WISHES},
        "assemblies": [
            {"version_id": use.version_id, "name": str(use.version.assembly), "quantity": use.quantity}
            for use in job.assemblies.select_related("version__assembly")
        ],
        "places": {role: name for role, (on_trailer, name) in places.items() if not on_trailer},
        "trailer_places": {role: name for role, (on_trailer, name) in places.items() if on_trailer},
        "senses": senses.contents(job),
    }


def survey_of(vehicle: Vehicle) -> dict[str, Any]:
    """Electrics, positions by name and runs of a vehicle, with nothing of whose it is."""
    return {
        "values": {name: getattr(vehicle, name) for name in SURVEY_VALUES},
        "positions": list(vehicle.positions.values(*POSITION_VALUES)),
        "runs": [
            {"a": run.start.name, "b": run.end.name, "length_m": run.length_m, "bundled": run.bundled}
            for run in vehicle.runs.select_related("start", "end")
        ],
    }


def _where(job: Fitout, position: VehiclePosition | None) -> dict[str, Any]:
    if position is None:
        return {"position": None, "on_trailer": False}
    on_trailer, name = towing.named(job, position)
    return {"position": name, "on_trailer": on_trailer}


@transaction.atomic
def fill(fitout: Fitout, content: dict[str, Any], *, by: User | None) -> None:
    """Put contents into a job. A position that this vehicle lacks is left open; it is asked for before sizing."""
    positions = towing.by_name(fitout)
    for values in content["lines"]:
        own = {f: values[f] for f in LINE_FIELDS}
        at = (values.get("on_trailer", False), values.get("position") or "")
        _keep(Requirement(fitout=fitout, position=positions.get(at), **own), by)
    known = set(Site.objects.filter(pk__in=[s["site_id"] for s in content["stops"]]).values_list("pk", flat=True))
    for values in content["stops"]:
        if values["site_id"] not in known:
            raise JobNotOpened(_("The site “%(name)s” is no longer in the list.") % {"name": values["site"]})
        _keep(
            TripStop(fitout=fitout, site_id=values["site_id"], **{f: values[f] for f in STOP_FIELDS if f in values}), by
        )
    for on_trailer, places in ((False, content["places"]), (True, content.get("trailer_places", {}))):
        for role, name in places.items():
            if (on_trailer, name) in positions:
                Placement.objects.create(fitout=fitout, role=role, position=positions[on_trailer, name])
    _take_assemblies(fitout, content.get("assemblies", ()), by)
    senses.put(fitout, content.get("senses", ()), by=by)
    for field, value in content["wishes"].items():
        if field in COPIED_WISHES:
            setattr(fitout, field, value)
    _keep(fitout, by)


def _take_assemblies(fitout: Fitout, taken: Sequence[Mapping[str, Any]], by: User | None) -> None:
    """Each at the version it was kept in; what is newer is offered on the job's page."""
    known = AssemblyVersion.objects.in_bulk([values["version_id"] for values in taken])
    for values in taken:
        if values["version_id"] not in known:
            raise JobNotOpened(_("The assembly “%(name)s” is no longer in the catalogue.") % {"name": values["name"]})
        _keep(FitoutAssembly(fitout=fitout, version=known[values["version_id"]], quantity=values["quantity"]), by)


def can_go(fitout: Fitout) -> tuple[str, ...]:
    """Stages this job may go to now; the way forward first."""
    if fitout.stage in ASIDE:
        back = (fitout.held_from or Stage.ENQUIRY,)
        aside = tuple(s for s in (Stage.CANCELLED, Stage.LOST) if _may_set_aside(back[0], s))
        return back + aside if fitout.stage == Stage.ON_HOLD else back
    return NEXT[fitout.stage] + tuple(s for s in ASIDE if _may_set_aside(fitout.stage, s))


def needs_reason(fitout: Fitout, stage: str) -> bool:
    """Setting a job aside, or taking it back a stage, is explained."""
    if stage in ASIDE:
        return True
    return fitout.stage in COURSE and COURSE.index(Stage(stage)) < COURSE.index(Stage(fitout.stage))


@transaction.atomic
def move(fitout: Fitout, stage: str, *, by: User | None, reason: str = "") -> StageEvent:
    """Move a job to a stage and write the one event that says so.

    Raises StageNotAllowed when the stage does not follow from the one it is at, or a reason is wanted and missing.
    """
    locked = Fitout.objects.select_for_update().get(pk=fitout.pk)
    reason = reason.strip()
    if stage not in can_go(locked):
        ways = ", ".join(str(Stage(s).label) for s in can_go(locked)) or _("nowhere")
        raise StageNotAllowed(
            _("Job %(number)s is at %(now)s; from there it can go to: %(ways)s.")
            % {"number": locked.number, "now": locked.get_stage_display(), "ways": ways}
        )
    if needs_reason(locked, stage) and not reason:
        raise StageNotAllowed(_("Say why; the reason is kept with the job."))
    if len(reason) > 300:
        raise StageNotAllowed(_("The reason has %(length)s characters; at most 300.") % {"length": len(reason)})
    event = StageEvent.objects.create(fitout=locked, from_stage=locked.stage, to_stage=stage, reason=reason, by=by)
    if stage in ASIDE:
        locked.held_from = locked.held_from if locked.stage in ASIDE else locked.stage
    else:
        locked.held_from = ""
    locked.stage = stage
    locked._history_user = by  # type: ignore[attr-defined]
    locked.save(update_fields=["stage", "held_from", "changed_at"])
    fitout.stage, fitout.held_from = locked.stage, locked.held_from
    return event


@transaction.atomic
def change_details(fitout: Fitout, values: dict[str, Any], *, by: User | None) -> None:
    """Save title, enquiry, trailer, who looks after it, bay days, travellers, reused parts."""
    if "trailer" in values and values["trailer"] != fitout.trailer:
        refusal = towing.check_trailer(fitout.vehicle, values["trailer"])
        if not refusal and towing.uses_trailer(fitout):
            refusal = _("Lines or places of this job sit on the trailer. Move them to the vehicle first.")
        if refusal:
            raise JobNotOpened(refusal, "trailer")
    for field in DETAIL_FIELDS:
        if field in values:
            setattr(fitout, field, values[field])
    if fitout.booked_from and fitout.booked_to and fitout.booked_to < fitout.booked_from:
        raise JobNotOpened(_("The bay days end before they begin."), "booked_to")
    _keep(fitout, by)


@transaction.atomic
def turn_into(fitout: Fitout, kind: str, *, by: User | None) -> None:
    """Make a job another kind. Refused once its quote is accepted: what was agreed stays what it is."""
    if kind not in Fitout.Kind.values:
        raise JobNotOpened(_("There is no kind of job “%(kind)s”.") % {"kind": kind[:20]})
    if fitout.stage not in LOSABLE:
        raise JobNotOpened(
            _("Job %(number)s is %(stage)s; its kind stays. Open another job for what is more.")
            % {"number": fitout.number, "stage": fitout.get_stage_display().lower()}
        )
    fitout.kind = kind
    _keep(fitout, by)


def _may_set_aside(stage: str, aside: str) -> bool:
    if stage in (Stage.DELIVERED, Stage.CLOSED):
        return False
    return aside != Stage.LOST or stage in LOSABLE


def _keep(row: Any, by: User | None) -> None:
    row._history_user = by
    row.save()
