"""Systems of a selection: taken as a job's own, let go again, quoted; and swapped part by part (``swaps``)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.db import transaction
from django.utils.translation import gettext as _

from fitouts.models import Fitout, Stage, User
from fitouts.services.fitouts import ASIDE
from fitouts.services.keeping import signed
from quoting.models import Design, JobPicks, Offer, Proposal, Revision
from quoting.services import designs, offered
from quoting.services.briefs import BriefIncomplete, held_to, make_brief
from quoting.services.proposed import (
    Quoted,
    appraisal_of,
    brief_of,
    facts_of,
    picks_of,
    quoted,
    refusals_of,
    room_of,
)
from quoting.services.swaps import NotSwapped, SwapOption, swap, swap_options, throw_away, worse_than
from quoting.sizing.appraise import brief_sha256
from quoting.sizing.brief import Brief
from quoting.sizing.errors import SizingError

__all__ = [
    "NotSwapped", "NotTaken", "Quoted", "SwapOption", "Taken", "appraisal_of", "brief_of", "built_by", "facts_of",
    "held", "hold", "is_current", "let_go", "must_be_open", "obstacles_of", "picks_of", "quoted", "refusals_of",
    "room_of", "swap", "swap_options", "take", "throw_away", "worse_than",
]  # fmt: skip


OVER = (Stage.DELIVERED, Stage.CLOSED)
"""Stages at which the vehicle is away with what was built."""


class NotTaken(Exception):
    """A system that cannot become the job's own, with every reason, each a sentence."""

    def __init__(self, reasons: Sequence[str]) -> None:
        self.reasons = tuple(reasons)
        super().__init__(" ".join(reasons))


@dataclass(frozen=True, slots=True)
class Taken:
    """The design that a proposal became."""

    design: Design
    as_proved: bool
    """It is the very system that was proved; else the job has moved since, and it was worked out anew."""
    built_by: Design | None = None
    """Another design, of the quote that was accepted: whoever builds still goes by it."""

    @property
    def words(self) -> str:
        if self.as_proved:
            said = _("The job’s design is now number %(number)d: the system as it was proved.")
        else:
            said = _(
                "The job has changed since these offers were worked out. Its parts are settled, and design %(number)d "
                "was worked out anew with them. Look at it before you quote."
            )
        said %= {"number": self.design.number}
        if self.built_by is None:
            return said
        still = _("The vehicle is built by design %(number)d, which was accepted, until another quote is.")
        return f"{said} {still % {'number': self.built_by.number}}"


def held(fitout: Fitout) -> JobPicks | None:
    """The parts that a job is held to; ``None`` where it chooses freely."""
    return JobPicks.objects.filter(fitout=fitout).select_related("proposal", "taken_by").first()


@transaction.atomic
def take(proposal: Proposal, *, by: User | None) -> Taken:
    """Hold the job to a system, and make it the job's design.

    The design is the proposal's Appraisal itself where the job still says what it said; else it is worked out anew
    with the same parts. Raises :class:`NotTaken` for a system with a danger or an open need, BriefIncomplete or
    SizingError where the job cannot be worked out any more. Then nothing is kept.
    """
    reasons = refusals_of(appraisal_of(proposal))
    if reasons:
        raise NotTaken(reasons)
    fitout = proposal.selection.fitout
    must_be_open(fitout)
    if not Proposal.objects.filter(pk=proposal.pk).exists():
        raise NotTaken([_("Somebody has thrown it away meanwhile.")])
    hold(fitout, proposal, by=by)
    if brief_sha256(make_brief(fitout)) == proposal.key:
        return _taken(offered.as_design(proposal, by=by), as_proved=True)
    return _taken(designs.work_out(fitout, by=by), as_proved=False)


def _taken(design: Design, *, as_proved: bool) -> Taken:
    return Taken(design, as_proved, built_by(design))


def built_by(newest: Design) -> Design | None:
    """The design that was accepted, where it is another than the job's newest; whoever builds still goes by it."""
    accepted = Revision.objects.filter(quote__fitout=newest.fitout_id, state=Revision.State.ACCEPTED)
    last = accepted.select_related("design", "accepted_design").last()
    found = last.built_design if last is not None else None
    return None if found is None or found.pk == newest.pk else found


def must_be_open(fitout: Fitout) -> None:
    """Hold the job's row and see that its parts may still be settled: not set aside, and not delivered.

    Raises :class:`NotTaken`. Call it inside a transaction.
    """
    now = Fitout.objects.select_for_update().get(pk=fitout.pk)
    if now.stage in ASIDE:
        raise NotTaken([_("The job is set aside. Take it up again first.")])
    if now.stage in OVER:
        words = _("Job %(number)s is %(stage)s; what is in the vehicle stays. Open another job for what is to change.")
        raise NotTaken([words % {"number": now.number, "stage": now.get_stage_display().lower()}])


@transaction.atomic
def hold(fitout: Fitout, proposal: Proposal, *, by: User | None) -> JobPicks:
    """Hold a job to the parts of a proposal; who did so stays in the history."""
    row = JobPicks.objects.select_for_update().filter(fitout=fitout).first() or JobPicks(fitout=fitout)
    row.offer, row.room, row.picks = proposal.offer, proposal.room, proposal.picks
    row.proposal, row.taken_by = proposal, by
    signed(row, by).save()
    return row


@transaction.atomic
def let_go(fitout: Fitout, *, by: User | None) -> bool:
    """Let the job choose freely again; False where it did already. Raises :class:`NotTaken` as :func:`take`."""
    must_be_open(fitout)
    row = JobPicks.objects.select_for_update().filter(fitout=fitout).first()
    if row is None:
        return False
    signed(row, by).delete()
    return True


def obstacles_of(offer: Offer, now: Brief | None = None) -> list[str]:
    """Why an offer of a draft cannot be issued, each a sentence; empty where it prices the design alone.

    ``now``: the job's Brief of today without picks, where it is at hand.
    """
    proposal = offer.proposal
    if proposal is None:
        return []
    name = offer.get_name_display()
    said = [_("%(offer)s: %(what)s") % {"offer": name, "what": why} for why in refusals_of(appraisal_of(proposal))]
    if not is_current(proposal, now):
        changed = _("%(offer)s: the job has changed since it was worked out. Work the offers out again.")
        said.append(changed % {"offer": name})
    return said


def is_current(proposal: Proposal, now: Brief | None = None) -> bool:
    """Would proving it now start from the same inputs and method?"""
    try:
        now = now or make_brief(proposal.selection.fitout, held=False)
        return brief_sha256(held_to(now, picks_of(proposal), room_of(proposal))) == proposal.key
    except (BriefIncomplete, SizingError):
        return False
