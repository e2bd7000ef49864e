"""Fleet runs: one brief for many vehicles, a job, a design and a draft quote for each, in the background.

A run works in turns. A turn ends after some time and puts the run back into the queue, so that no job runs too long
and others who wait for the same worker get theirs between. A vehicle that is done stays done, whatever happens next.
"""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from fitouts.models import Fitout, JobPackage, User, Vehicle
from fitouts.services import fitouts
from fitouts.services.keeping import as_typed
from quoting import rules
from quoting.models import BackgroundJob, FleetItem, FleetRun
from quoting.services import background, fleet_parts, fleet_work
from quoting.services.background import JobFailed

MOST_VEHICLES = 300
TURN_S = 60.0
"""After so long the run goes to the end of the queue. [s]"""
State = FleetItem.State
LIVE = (BackgroundJob.State.QUEUED, BackgroundJob.State.RUNNING)


class FleetRefused(Exception):
    """The run cannot be made or go on as asked; the text says why, ``field`` which entry it is about."""

    def __init__(self, words: str, field: str = "") -> None:
        self.field = field
        super().__init__(words)


# --- Beginning ---------------------------------------------------------------------------------------


@transaction.atomic
def start(
    vehicles: Sequence[Vehicle],
    *,
    name: str,
    by: User,
    source: Fitout | None = None,
    package: JobPackage | None = None,
    parts: str = FleetRun.Parts.FREE,
    offer: str = "steady",
) -> FleetRun:
    """Write down what every vehicle gets, and queue the work. Raises :class:`FleetRefused`; nothing is half begun."""
    name = as_typed(name.strip())
    if not name:
        raise FleetRefused(_("Give it a name: it is the title of every job that is opened."), "name")
    if len(name) > 120:
        raise FleetRefused(_("The name has %(n)d characters; at most 120.") % {"n": len(name)}, "name")
    _hold(source, package)
    _check_vehicles(vehicles)
    content = _content(source, package)
    if parts == FleetRun.Parts.SAME:
        content["held"] = _held(source)
    run = FleetRun.objects.create(
        name=name, source=source, package=package, parts=parts, offer=offer, content=content, made_by=by
    )
    FleetItem.objects.bulk_create(FleetItem(run=run, vehicle=v, place=at) for at, v in enumerate(vehicles))
    return _queue(run, by)


def _check_vehicles(vehicles: Sequence[Vehicle]) -> None:
    if not vehicles:
        raise FleetRefused(_("Pick at least one vehicle."), "vehicles")
    if len(vehicles) > MOST_VEHICLES:
        words = _("%(n)d vehicles are picked; one run takes at most %(most)d.")
        raise FleetRefused(words % {"n": len(vehicles), "most": MOST_VEHICLES}, "vehicles")
    for vehicle in vehicles:
        if vehicle.retired_at or vehicle.customer.retired_at:
            words = _("%(name)s is retired. Take it back into use first, or leave it out.")
            raise FleetRefused(words % {"name": vehicle.registration or vehicle}, "vehicles")
    waiting = FleetItem.objects.filter(vehicle__in=vehicles, state=State.WAITING, run__job__state__in=LIVE)
    item = waiting.select_related("vehicle", "run").first()
    if item is not None:
        words = _("%(name)s is being sized already, in the fleet “%(run)s”.")
        raise FleetRefused(words % {"name": item.vehicle.registration or item.vehicle, "run": item.run}, "vehicles")


def _hold(source: Fitout | None, package: JobPackage | None) -> None:
    """Two presses of one button follow one another, so that the second finds what the first has begun."""
    for row in (source, package):
        if row is not None:
            type(row)._base_manager.select_for_update().get(pk=row.pk)


def _content(source: Fitout | None, package: JobPackage | None) -> dict[str, Any]:
    if (source is None) == (package is None):
        raise FleetRefused(_("Begin with a job or with a package: one of them, not both."), "source")
    if source is not None:
        if source.kind == Fitout.Kind.FAULT:
            words = _("Job %(number)s mends a fault; there is nothing in it to size others by.")
            raise FleetRefused(words % {"number": source.number}, "source")
        content = fitouts.contents(source)
    else:
        assert package is not None
        if package.retired_at:
            raise FleetRefused(_("The package “%(name)s” is retired.") % {"name": package.name}, "package")
        content = dict(package.content)
    content.pop("survey", None)  # each vehicle has its own
    if not content["lines"] or not content["stops"]:
        words = _("It has no line in its audit, or no stop in its trip. There is nothing to work out.")
        raise FleetRefused(words, "source" if source else "package")
    return content


def _held(source: Fitout | None) -> dict[str, Any]:
    held = fleet_parts.held_of(source) if source else None
    if held is None:
        words = _("The same parts in all want a job that is worked out. Work it out first, or have them chosen anew.")
        raise FleetRefused(words, "parts")
    return held


def _queue(run: FleetRun, by: User | None) -> FleetRun:
    run.job = background.enqueue(kind="fleet", payload={"fleet": run.pk}, by=by, queue=BackgroundJob.Queue.HEAVY)
    run.save(update_fields=["job"])
    return run


# --- While it goes on --------------------------------------------------------------------------------


def is_live(run: FleetRun) -> bool:
    """Whether a worker has it, or will."""
    return run.job is not None and run.job.state in LIVE


def stop(run: FleetRun) -> bool:
    """Stop after the vehicle that is under way; what is done stays. False when it had ended."""
    with transaction.atomic():
        held = FleetRun.objects.select_for_update(of=("self",)).select_related("job").get(pk=run.pk)
        return held.job is not None and background.cancel(held.job)


@transaction.atomic
def go_on(run: FleetRun, *, by: User) -> int:
    """Do what still waits, and try what failed again. Returns how many; raises :class:`FleetRefused`."""
    held = FleetRun.objects.select_for_update(of=("self",)).select_related("job").get(pk=run.pk)
    if is_live(held):
        raise FleetRefused(_("It is under way already."))
    todo = held.items.exclude(state=State.DONE).update(state=State.WAITING, reason="", tries=0, ended_at=None)
    if not todo:
        raise FleetRefused(_("Every vehicle of it is done."))
    _queue(held, by)
    return int(todo)


# --- The worker's part -------------------------------------------------------------------------------


@background.handler("fleet")
def do_fleet(job: BackgroundJob) -> None:
    """One turn: vehicle after vehicle, then the end, or the end of the queue."""
    run = FleetRun.objects.filter(pk=job.payload["fleet"], job=job).first()
    if run is None:
        return  # somebody has gone on with it under another job
    if job.by is None or not rules.can_open_job(job.by):
        raise JobFailed(_("Whoever asked for this may not open jobs any more. Somebody else can go on with it."))
    began, of = time.monotonic(), run.items.count()
    while item := _next(run):
        background.progress(job, run.items.exclude(state=State.WAITING).count(), of)
        if time.monotonic() - began > TURN_S:
            _to_the_end_of_the_queue(job, run)
            return
        fleet_work.do(item, job, job.by)
    background.progress(job, of, of)


def _next(run: FleetRun) -> FleetItem | None:
    waiting = run.items.filter(state=State.WAITING).select_related("run__source", "vehicle__customer")
    return waiting.order_by("place", "pk").first()


def _to_the_end_of_the_queue(job: BackgroundJob, run: FleetRun) -> None:
    with transaction.atomic():
        background.finish(job)
        if BackgroundJob.objects.filter(pk=job.pk, cancel_asked=True).exists():
            raise background.Cancelled
        _queue(run, job.by)


def counts(items: Sequence[FleetItem]) -> Mapping[str, int]:
    """Vehicles by state."""
    return {state: sum(item.state == state for item in items) for state in State.values}
