"""Where the parts of a fleet's vehicles come from: the same in all, chosen anew for each, or taken need by need."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, cast, get_args

from django.utils.translation import gettext as _

from fitouts.models import Fitout, User
from fitouts.services.keeping import signed
from quoting.models import FleetRun, JobPicks
from quoting.services import designs, selections
from quoting.sizing.brief_choosing import KeptRole, OfferName, Pick, Room
from quoting.sizing.selecting.select import select


class NotDone(Exception):
    """This vehicle cannot be done as it is; the text says what to mend."""


ROLES = frozenset(get_args(KeptRole))
"""What a part can be settled for."""


def held_of(source: Fitout) -> dict[str, Any] | None:
    """The parts of a job that others are to have as well: what it is held to, else what its newest design chose."""
    picks = JobPicks.objects.filter(fitout=source).first()
    if picks is not None:
        return {"offer": picks.offer, "room": picks.room, "picks": picks.picks}
    design = designs.latest_of(source)
    if design is None:
        return None
    appraisal, policy = designs.appraisal_of(design), designs.brief_of(design).policy
    chosen = [part for part in appraisal.chosen if part.role in ROLES and not part.kept]
    if not chosen:
        return None
    room = Room(offer="steady", spare_outputs=policy.spare_outputs, dark_chance_ratio=policy.dark_chance_ratio)
    picks_of = [Pick(role=c.role, part=c.part, quantity=c.quantity, series=c.series) for c in chosen]  # type: ignore[arg-type]
    return {
        "offer": room.offer,
        "room": room.model_dump(mode="json"),
        "picks": [pick.model_dump(mode="json") for pick in picks_of],
    }


def hold(run: FleetRun, fitout: Fitout, *, by: User, alive: Callable[[], None]) -> None:
    """Hold a job to the parts that its run says; nothing where it takes them need by need."""
    HOLDING[run.parts](run, fitout, by, alive)


def _same(run: FleetRun, fitout: Fitout, by: User, alive: Callable[[], None]) -> None:
    held = run.content["held"]
    signed(JobPicks(fitout=fitout, taken_by=by, **held), by).save()


def _chosen(run: FleetRun, fitout: Fitout, by: User, alive: Callable[[], None]) -> None:
    """The programme chooses for this vehicle, by its own survey, and the proof has to hold."""
    asked = selections.asked_of(fitout)
    wanted = cast(OfferName, run.offer)
    made = select(asked.brief, asked.market, asked.steer, lambda done, of: alive(), offers=(wanted,)).record.offers
    if not made:
        words = _(
            "No %(offer)s system could be chosen and proved for it. Work out the offers on the page of job %(number)s: "
            "there stands what cannot be had together."
        )
        raise NotDone(words % {"offer": run.get_offer_display(), "number": fitout.number})
    offer = made[0]
    signed(
        JobPicks(
            fitout=fitout,
            offer=offer.offer,
            room=offer.room.model_dump(mode="json"),
            picks=[pick.model_dump(mode="json") for pick in offer.picks],
            taken_by=by,
        ),
        by,
    ).save()


def _free(run: FleetRun, fitout: Fitout, by: User, alive: Callable[[], None]) -> None:
    """Nothing is settled."""


HOLDING: dict[str, Callable[[FleetRun, Fitout, User, Callable[[], None]], None]] = {
    FleetRun.Parts.SAME: _same,
    FleetRun.Parts.CHOSEN: _chosen,
    FleetRun.Parts.FREE: _free,
}
