"""One vehicle of a fleet run: its job opened, held to the parts, worked out, priced into a draft.

Opening and ending are a transaction each, with the vehicle's own row in it; between them the sizing works without
holding the database. Whatever it is broken off at, beginning again goes on from there and makes nothing twice.
"""

from __future__ import annotations

import logging
from collections.abc import Mapping
from typing import Any

from django.core.exceptions import ValidationError
from django.db import DatabaseError, transaction
from django.db.models import F
from django.utils import timezone
from django.utils.translation import gettext as _

from fitouts.models import Fitout, Placement, Stage, User, Vehicle
from fitouts.services import fitouts, senses, towing
from fitouts.services.keeping import signed
from quoting.models import BackgroundJob, Design, FleetItem, FleetRun, JobPicks, Revision
from quoting.services import background, designs, fleet_facts, fleet_parts, quotes
from quoting.services.briefs import BriefIncomplete
from quoting.services.fleet_parts import NotDone
from quoting.sizing.errors import SizingError

logger = logging.getLogger("loomwright.fleets")

MOST_TRIES = 2
"""After so many times begun and never ended a vehicle is passed over, so that it does not end every worker."""
ADDRESSED = (background.LeaseLost, background.Cancelled, background.JobFailed, DatabaseError)
"""What is not about one vehicle."""


FORESEEN = (NotDone, fitouts.JobNotOpened, BriefIncomplete, SizingError, quotes.QuoteNotReady, ValidationError)


def do(item: FleetItem, job: BackgroundJob, by: User) -> None:
    """Do one vehicle. What stops it is kept as its reason, and the run goes on with the next."""
    if item.tries >= MOST_TRIES:
        _fail(
            item,
            job,
            _("The work on it was broken off %(n)d times. Look at its job, then try again.") % {"n": item.tries},
        )
        return
    FleetItem.objects.filter(pk=item.pk, state=FleetItem.State.WAITING).update(tries=F("tries") + 1)
    try:
        fitout = opened(item, job, by)
        design = _worked_out(item.run, fitout, job, by)
        _priced(item, job, fitout, design, by)
    except ADDRESSED:
        raise
    except FORESEEN as error:
        _fail(item, job, _words(error))
    except Exception:
        logger.exception("Vehicle %s of fleet run %s failed.", item.vehicle_id, item.run_id)
        _fail(item, job, _("A fault in Loomwright stopped this vehicle; the server's log tells why (job %d).") % job.pk)


def _words(error: Exception) -> str:
    if isinstance(error, ValidationError):
        return " ".join(error.messages)
    if isinstance(error, SizingError):
        return _("It cannot be worked out: %(why)s") % {"why": error}
    return str(error)


def _held(item: FleetItem, job: BackgroundJob) -> FleetItem:
    """The vehicle's row, held to the end of the transaction. Raises LeaseLost when it is no longer this worker's."""
    row = FleetItem.objects.select_for_update(of=("self",)).select_related("run", "vehicle__customer").get(pk=item.pk)
    if row.state != FleetItem.State.WAITING:
        raise background.LeaseLost(f"job {job.pk}")
    background.must_hold(job)
    return row


def _fail(item: FleetItem, job: BackgroundJob, reason: str) -> None:
    with transaction.atomic():
        row = _held(item, job)
        row.state, row.reason, row.ended_at = FleetItem.State.FAILED, reason, timezone.now()
        row.save(update_fields=["state", "reason", "ended_at"])


# --- Opening -----------------------------------------------------------------------------------------


@transaction.atomic
def opened(item: FleetItem, job: BackgroundJob, by: User) -> Fitout:
    """The vehicle's job: opened now, or the one that an earlier try opened, with what it has got places for since."""
    row = _held(item, job)
    if row.fitout is not None:
        _place_again(row.fitout, row.run.content, by)
        return row.fitout
    vehicle, run = row.vehicle, row.run
    details: dict[str, Any] = {"assigned_to": by, "trailer": _trailer(run, vehicle)}
    if run.source is not None:
        details["travellers"] = run.source.travellers
    fitout = fitouts.open_job(vehicle.customer, vehicle, run.name, by=by, **details)
    fitouts.fill(fitout, run.content, by=by)
    if vehicle.surveyed_on:
        why = _("surveyed on %(day)s") % {"day": vehicle.surveyed_on.isoformat()}
        fitouts.move(fitout, Stage.SURVEYED, by=by, reason=why)
    row.fitout = fitout
    row.save(update_fields=["fitout"])
    return fitout


def _trailer(run: FleetRun, vehicle: Vehicle) -> Vehicle | None:
    """The one trailer behind a vehicle, where something of the brief sits on a trailer."""
    if not on_trailer(run.content):
        return None
    behind = list(towing.trailers_behind(vehicle)[:2])
    if len(behind) != 1:
        words = _("Some of it sits on a trailer, and the vehicle must have exactly one joined to it; it has %(n)s.")
        raise NotDone(words % {"n": _("more") if behind else _("none")})
    return behind[0]


def on_trailer(content: Mapping[str, Any]) -> bool:
    """Whether something of a brief sits on a trailer."""
    rows = [*content["lines"], *content.get("senses", ())]
    return bool(content.get("trailer_places")) or any(row.get("on_trailer") for row in rows)


def _place_again(fitout: Fitout, content: Mapping[str, Any], by: User) -> None:
    """What was left open for want of a position, where the vehicle has one of that name by now."""
    positions = towing.by_name(fitout)
    named = {
        (row["place"], row["name"]): (row.get("on_trailer", False), row.get("position")) for row in content["lines"]
    }
    for line in fitout.requirements.filter(position=None):
        position = positions.get(named.get((line.place, line.name), (False, None)))
        if position is not None:
            line.position = position
            signed(line, by).save()
    placed = set(fitout.placements.values_list("role", flat=True))
    for at, places in ((False, content["places"]), (True, content.get("trailer_places", {}))):
        for role, name in places.items():
            if role not in placed and (at, name) in positions:
                Placement.objects.create(fitout=fitout, role=role, position=positions[at, name])
    watched = set(fitout.sense_points.values_list("name", flat=True))
    senses.put(fitout, [row for row in content.get("senses", ()) if row["name"] not in watched], by=by)


# --- Working out and pricing ---------------------------------------------------------------------------


def _worked_out(run: FleetRun, fitout: Fitout, job: BackgroundJob, by: User) -> Design:
    """The job's design: made now, unless somebody has taken the job further meanwhile."""
    if fitout.stage in fitouts.ASIDE:
        raise NotDone(_("Job %(number)s is set aside. Take it up again first.") % {"number": fitout.number})
    latest = designs.latest_of(fitout)
    if fitout.stage not in fitouts.LOSABLE and latest is not None:
        return latest
    if not JobPicks.objects.filter(fitout=fitout).exists():
        fleet_parts.hold(run, fitout, by=by, alive=lambda: background.heartbeat(job))
    return designs.work_out(fitout, by=by)


def _priced(item: FleetItem, job: BackgroundJob, fitout: Fitout, design: Design, by: User) -> None:
    """Price it into the job's draft and end the vehicle, both or neither. What was issued stays as it is."""
    facts = fleet_facts.facts_of(design)
    with transaction.atomic():
        row = _held(item, job)
        newest = Revision.objects.filter(quote__fitout=fitout).order_by("-pk").first()
        is_out = newest is not None and newest.state != Revision.State.DRAFT
        row.revision = newest if is_out else quotes.draft(fitout, by=by)
        row.design, row.facts = design, facts
        row.state, row.reason, row.ended_at = FleetItem.State.DONE, "", timezone.now()
        row.save(update_fields=["revision", "design", "facts", "state", "reason", "ended_at"])
