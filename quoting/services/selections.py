"""Three offers for a job: asked for, worked out in the background, kept with every system that was proved."""

from __future__ import annotations

import hashlib
import time
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from fitouts.models import Fitout, User
from fitouts.services.fitouts import ASIDE
from quoting.models import BackgroundJob, Proposal, Selection
from quoting.services import assemblies, background, designs, market, market_changes, pricing, proposed, steering
from quoting.services.background import JobFailed
from quoting.services.briefs import BriefIncomplete, make_brief
from quoting.services.designs import Change
from quoting.services.proposed import market_of, record_of, steer_of
from quoting.sizing.appraisal import METHOD_VERSION, Appraisal
from quoting.sizing.appraise import brief_sha256
from quoting.sizing.brief import Brief
from quoting.sizing.errors import SizingError
from quoting.sizing.selecting import records
from quoting.sizing.selecting.select import Selected, select

__all__ = [
    "Asked", "NotPossible", "ask", "asked_of", "cancel", "changes_since", "latest_of", "made_of", "market_of",
    "record_of", "steer_of",
]  # fmt: skip

UNDER_WAY = (BackgroundJob.State.QUEUED, BackgroundJob.State.RUNNING)
MOST_TRIES = 3
"""Times that choosing begins again because what the quote holds besides took the offers over the budget."""


class NotPossible(Exception):
    """Offers cannot be asked for now, in a sentence the person can act on."""


@dataclass(frozen=True, slots=True)
class Asked:
    """Everything that three offers are worked out from."""

    brief: Brief
    """Without picks and room."""
    market: records.Market
    steer: records.Steer

    @property
    def key(self) -> str:
        """Under what the result is kept: Brief and method, prices of today, wishes of the choice."""
        said = (brief_sha256(self.brief), market.stamp_of(self.market), self.steer.model_dump_json())
        return hashlib.sha256("\n".join(said).encode()).hexdigest()


def asked_of(fitout: Fitout) -> Asked:
    """Read a job as choosing takes it. Raises BriefIncomplete, or SizingError for a value that cannot be."""
    brief = make_brief(fitout, held=False)
    return Asked(brief, market.market_of(brief), steering.steer_of(fitout, brief))


def ask(fitout: Fitout, *, by: User | None) -> Selection:
    """Queue three offers for a job.

    Those under way are returned instead of a second lot; so are the newest, where nothing they follow from has moved.
    Raises :class:`NotPossible`, BriefIncomplete with everything that is missing, or SizingError.
    """
    if fitout.kind == Fitout.Kind.FAULT:
        raise NotPossible(_("A fault is mended without a design; there is nothing to choose."))
    if fitout.stage in ASIDE:
        raise NotPossible(_("The job is set aside. Take it up again first."))
    key = asked_of(fitout).key
    with transaction.atomic():
        Fitout.objects.select_for_update().get(pk=fitout.pk)  # two presses at once ask once
        running = fitout.selections.filter(job__state__in=UNDER_WAY).first()
        if running is not None:
            return running
        newest = latest_of(fitout)
        if newest is not None and newest.result is not None and newest.key == key:
            return newest
        if newest is None or newest.result is not None:
            newest = Selection(fitout=fitout, number=1 + (newest.number if newest else 0))
        newest.key, newest.method_version, newest.made_by = key, METHOD_VERSION, by
        newest.save()
        newest.job = background.enqueue(
            kind="select", payload={"selection": newest.pk}, by=by, queue=BackgroundJob.Queue.HEAVY
        )
        newest.save(update_fields=["job"])
        return newest


def cancel(selection: Selection) -> bool:
    """Stop working it out; False if it had ended."""
    return selection.job is not None and background.cancel(selection.job)


def latest_of(fitout: Fitout) -> Selection | None:
    """The newest, made or not."""
    return fitout.selections.select_related("job", "made_by").first()


def made_of(fitout: Fitout) -> Selection | None:
    """The newest that was made."""
    return fitout.selections.filter(result__isnull=False).select_related("job", "made_by").first()


def changes_since(fitout: Fitout, selection: Selection | None = None) -> tuple[Change, ...]:
    """What has changed since offers were worked out, the newest if none are named; empty when nothing has.

    Raises BriefIncomplete or SizingError where they could not be asked for now.
    """
    selection = selection or made_of(fitout)
    if selection is None or selection.brief is None:
        return ()
    asked = asked_of(fitout)
    if asked.key == selection.key:
        return ()
    today = asked.brief.model_dump(mode="json")
    before = designs.in_todays_fields(selection.brief, today)
    changes = [
        *designs.compare(before, today, selection.method_version),
        *market_changes.of_prices(market_of(selection), asked.market, asked.brief),
        *market_changes.of_stock(market_of(selection), asked.market, asked.brief, _needed(selection), asked.steer),
        *market_changes.of_steer(steer_of(selection), asked.steer),
    ]
    return tuple(changes)


def _needed(selection: Selection) -> dict[str, float]:
    """Of each part, the most that any of its systems buys."""
    most: dict[str, float] = {}
    for bill in selection.proposals.values_list("appraisal__bill", flat=True):
        bought: dict[str, float] = {}
        for line in bill or ():
            if line["part"] and not line["kept"]:
                bought[line["part"]] = bought.get(line["part"], 0.0) + line["quantity"]
        most |= {part: max(quantity, most.get(part, 0.0)) for part, quantity in bought.items()}
    return most


@background.handler("select")
def make(job: BackgroundJob) -> None:
    """The worker's part: choose and prove, and keep offers and systems with the end of the job, all or nothing."""
    found = Selection.objects.select_related("fitout__vehicle", "fitout__trailer")
    selection = found.filter(pk=job.payload["selection"]).first()
    if selection is None:
        raise JobFailed(_("The job is no longer there; nothing was chosen."))
    if selection.result is not None:
        return
    began = time.perf_counter()
    try:
        asked = asked_of(selection.fitout)
        chosen = _choose(asked, selection.fitout, job)
    except BriefIncomplete as error:
        raise JobFailed(str(error)) from None
    except SizingError as error:
        raise JobFailed(_("It cannot be worked out: %s") % error) from None
    with transaction.atomic():
        background.finish(job)
        if Fitout.objects.filter(pk=selection.fitout_id, customer__erased_at__isnull=False).exists():
            raise JobFailed(_("The customer was erased meanwhile; nothing is kept."))  # its Brief still has the title
        selection.key, selection.method_version = asked.key, METHOD_VERSION
        selection.brief = asked.brief.model_dump(mode="json")
        selection.market = asked.market.model_dump(mode="json")
        selection.steer = asked.steer.model_dump(mode="json")
        selection.result = chosen.selected.record.model_dump(mode="json")
        selection.took_ms = round(1000 * (time.perf_counter() - began))
        selection.made_at = timezone.now()
        selection.save()
        Proposal.objects.bulk_create(chosen.proposals(selection, job.by))


@dataclass(frozen=True, slots=True)
class _Chosen:
    """What choosing came to, and what a quote of each offer would be."""

    selected: Selected
    quoted: dict[str, proposed.Quoted]
    """By offer."""

    def proposals(self, selection: Selection, by: User | None) -> list[Proposal]:
        """A row for each offer: the system that proved it, whole."""
        return [
            Proposal(
                selection=selection,
                offer=offer.offer,
                room=offer.room.model_dump(mode="json"),
                picks=[pick.model_dump(mode="json") for pick in offer.picks],
                facts=offer.facts.model_dump(mode="json"),
                appraisal=appraisal.model_dump(mode="json"),
                key=appraisal.brief_sha256,
                net=self.quoted[offer.offer].net,
                total=self.quoted[offer.offer].total,
                made_by=by,
            )
            for offer in self.selected.record.offers
            for appraisal in [proof_of(self.selected, offer)]
        ]


def proof_of(selected: Selected, offer: records.OfferMade) -> Appraisal:
    """The Appraisal that proves an offer: the candidate with its picks and its room."""
    tried = selected.record.candidates
    key = next(one.key for one in tried if one.picks == offer.picks and one.room == offer.room and one.holds)
    return selected.appraisals[key]


def _choose(asked: Asked, fitout: Fitout, job: BackgroundJob) -> _Chosen:
    """Choose and prove; again with less to spend or to carry where what a quote holds besides makes an offer too much.

    What assemblies come to follows from each system, and is known once there is one.
    """
    discount_ratio = proposed.discount_of(fitout)
    most_kg = steering.most_kg_of(fitout, asked.brief)
    steer = asked.steer
    for _try in range(MOST_TRIES):
        selected = select(asked.brief, asked.market, steer, lambda done, of: background.progress(job, done, of))
        chosen = _Chosen(selected, _quoted(selected, asked.brief, fitout, discount_ratio))
        over = _over(max((one.total for one in chosen.quoted.values()), default=Decimal(0)), fitout.budget)
        over_kg = _over(max((one.mass_kg for one in chosen.quoted.values()), default=0.0), most_kg)
        if not over and not over_kg:
            break
        steer = steering.tightened(steer, over, over_kg)
    return chosen


def _over(most: Any, limit: Any) -> Any:
    """By how much the most is above a limit, if there is one."""
    return max(most - limit, type(most)(0)) if limit is not None else type(most)(0)


def _quoted(selected: Selected, brief: Brief, fitout: Fitout, discount_ratio: Decimal) -> dict[str, proposed.Quoted]:
    loads = sum(load.quantity for load in brief.loads)
    try:
        return {
            offer.offer: proposed.quoted(fitout, proof_of(selected, offer), loads, discount_ratio)
            for offer in selected.record.offers
        }
    except (pricing.NoPrice, assemblies.TooMany) as error:
        raise JobFailed(str(error)) from None
