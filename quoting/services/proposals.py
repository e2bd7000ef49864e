"""Systems of a selection: taken as a job's own, let go again, and swapped part by part."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from fitouts.models import Fitout, User, Workshop
from fitouts.services.keeping import signed
from quoting import words
from quoting.models import Design, JobPicks, Offer, Proposal, Selection
from quoting.services import assemblies, designs, offered, pricing
from quoting.services.briefs import BriefIncomplete, held_to, make_brief
from quoting.sizing.appraisal import Appraisal
from quoting.sizing.appraise import brief_sha256
from quoting.sizing.brief import Brief
from quoting.sizing.brief_choosing import Pick, Room
from quoting.sizing.errors import SizingError
from quoting.sizing.selecting.records import Facts


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

    @property
    def words(self) -> str:
        if self.as_proved:
            return _("The job’s design is now number %(number)d: the system as it was proved.") % {
                "number": self.design.number
            }
        return _(
            "The job has changed since these offers were worked out. Its parts are settled, and design %(number)d "
            "was worked out anew with them. Look at it before you quote."
        ) % {"number": self.design.number}


# --- Reading ---------------------------------------------------------------------------------------------


def picks_of(proposal: Proposal) -> tuple[Pick, ...]:
    return tuple(Pick.model_validate(pick) for pick in proposal.picks)


def room_of(proposal: Proposal) -> Room:
    return Room.model_validate(proposal.room)


def facts_of(proposal: Proposal) -> Facts:
    return Facts.model_validate_json(json.dumps(proposal.facts))


def appraisal_of(proposal: Proposal) -> Appraisal:
    """The Appraisal that proves it."""
    return designs.appraisal_from(proposal.appraisal)


def brief_of(proposal: Proposal) -> Brief:
    """The Brief that it was proved for, its picks and room in it."""
    whole = {**(proposal.selection.brief or {}), "picks": proposal.picks, "room": proposal.room}
    return Brief.model_validate_json(json.dumps(whole))


def held(fitout: Fitout) -> JobPicks | None:
    """The parts that a job is held to; ``None`` where it chooses freely."""
    return JobPicks.objects.filter(fitout=fitout).select_related("proposal", "taken_by").first()


def refusals_of(appraisal: Appraisal) -> list[str]:
    """Why a system cannot be taken or quoted, each a sentence: dangers, and needs that it leaves open."""
    dangers = [words.finding_words(found)[1] for found in appraisal.findings if found.level == "danger"]
    return [*dangers, *(words.shortfall_words(one) for one in appraisal.shortfalls)]


# --- Taking ----------------------------------------------------------------------------------------------


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
    Fitout.objects.select_for_update().get(pk=fitout.pk)
    hold(fitout, proposal, by=by)
    if brief_sha256(make_brief(fitout)) == proposal.key:
        return Taken(offered.as_design(proposal, by=by), as_proved=True)
    return Taken(designs.work_out(fitout, by=by), as_proved=False)


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
    """Let the job choose freely again; False where it did already."""
    row = JobPicks.objects.select_for_update().filter(fitout=fitout).first()
    if row is None:
        return False
    signed(row, by).delete()
    return True


# --- Quoting ---------------------------------------------------------------------------------------------


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


@dataclass(frozen=True, slots=True)
class Quoted:
    """What a quote of a system would be: its bill, the job's assemblies, sundries, discount, tax."""

    net: Decimal
    total: Decimal
    mass_kg: float


def quoted(fitout: Fitout, appraisal: Appraisal, load_count: int, discount_ratio: Decimal = Decimal(0)) -> Quoted:
    """Price a system as a quote of the job would. Raises :class:`pricing.NoPrice` or :class:`assemblies.TooMany`."""
    workshop = Workshop.objects.get()
    uses = assemblies.uses_of(assemblies.rows_of(fitout), assemblies.counts_of(appraisal, load_count))
    bill = assemblies.with_assemblies(appraisal.bill, assemblies.bill_lines(uses))
    amounts = [line.amount for line in pricing.price_bill(appraisal, workshop, bill)]
    totals = pricing.total_up(amounts, discount_ratio, workshop, timezone.localdate())
    return Quoted(totals.net, totals.total, sum(line.mass_kg for line in bill))


# --- Swapping --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class SwapOption:
    """A part that could stand in a role instead."""

    part: str
    name: str
    quantity: int
    series: int
    more: Decimal | None
    """What the chosen parts would come to more; ``None``: it does not meet what is asked."""
    more_mass_kg: float | None
    fits: bool
    """It may be connected and meets what is asked with the other parts as they are."""


class NotSwapped(Exception):
    """A part that cannot be put there, in a sentence; nothing is kept."""


def swap_options(proposal: Proposal, role: str) -> list[SwapOption]:
    """Parts that could fill a role of a system, those that fit first, the cheapest first."""
    raise NotImplementedError


def swap(proposal: Proposal, role: str, part: str, quantity: int | None = None, *, by: User | None) -> Proposal:
    """Put another part in one role, prove the whole system again, and keep it as the next of its offer.

    ``quantity``: empty for as many as it takes. What it lacks is in its Appraisal; a system with a danger or an open
    need is kept to be looked at and cannot be taken. Raises :class:`NotSwapped`.
    """
    raise NotImplementedError


def worse_than(proposal: Proposal) -> list[str]:
    """What got worse by a swap, each a sentence; empty for the programme's own."""
    raise NotImplementedError


def throw_away(proposal: Proposal) -> bool:
    """Forget a system swapped by hand that no quote prices and no job is held to; False for any other."""
    raise NotImplementedError


def next_number(selection: Selection, offer: str) -> int:
    last = selection.proposals.filter(offer=offer).order_by("-number").values_list("number", flat=True).first()
    return 0 if last is None else last + 1
