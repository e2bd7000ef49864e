"""A proposal as the sizing made it, why it cannot be taken, and what a quote of it would be."""

from __future__ import annotations

import json
from dataclasses import dataclass
from decimal import Decimal

from django.utils import timezone
from django.utils.translation import gettext as _

from fitouts.models import Fitout, Workshop
from quoting import words
from quoting.models import Proposal, Revision, Selection
from quoting.services import assemblies, designs, pricing
from quoting.sizing.appraisal import Appraisal
from quoting.sizing.brief import Brief
from quoting.sizing.brief_choosing import Pick, Room
from quoting.sizing.selecting import records
from quoting.sizing.selecting.records import Facts


def record_of(selection: Selection) -> records.Selection | None:
    """What choosing came to; ``None`` until it is made."""
    if selection.result is None:
        return None
    return records.Selection.model_validate_json(json.dumps(selection.result))


def market_of(selection: Selection) -> records.Market:
    """The prices that a selection went by."""
    return records.Market.model_validate_json(json.dumps(selection.market))


def steer_of(selection: Selection) -> records.Steer:
    """The wishes that a selection went by."""
    return records.Steer.model_validate_json(json.dumps(selection.steer))


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


def refusals_of(appraisal: Appraisal) -> list[str]:
    """Why a system cannot be taken or quoted, each a sentence: dangers, and needs that it leaves open."""
    dangers = [words.finding_words(found)[1] for found in appraisal.findings if found.level == "danger"]
    return [*dangers, *(words.shortfall_words(one) for one in appraisal.shortfalls)]


def discount_of(fitout: Fitout) -> Decimal:
    """The discount that the job's next quote begins with: that of its last revision."""
    last = Revision.objects.filter(quote__fitout=fitout).order_by("-pk").values_list("discount_ratio", flat=True)
    return last.first() or Decimal(0)


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
    bill = assemblies.with_uses(appraisal.bill, uses)
    amounts = [line.amount for line in pricing.price_bill(appraisal, workshop, bill)]
    totals = pricing.total_up(amounts, discount_ratio, workshop, timezone.localdate())
    pricing.must_be_held(_("The whole quote"), totals.total)
    return Quoted(totals.net, totals.total, sum(line.mass_kg for line in bill))
