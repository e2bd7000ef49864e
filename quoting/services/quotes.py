"""Quotes: draft, price, issue, revise, withdraw, accept. Nothing issued is ever computed again."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from catalog.money_field import LIMIT
from catalog.quantities import format_number
from fitouts.models import Fitout, Stage, User, Workshop
from fitouts.services import fitouts as jobs
from fitouts.services.numbers import next_number
from quoting.models import Design, Document, Line, Offer, Proposal, Quote, Revision, Snapshot
from quoting.services import assemblies, documents, frozen, hand_prices, offered, pricing, proposals, snapshots
from quoting.services.obstacles import obstacles

MOST_REVISIONS = 26 * 27
HOURS_A_BAY_DAY = 8
"""Labour done on a vehicle in a day. Workshop practice."""


class QuoteNotReady(Exception):
    """A step a quote cannot take now, in a sentence the person can act on."""


@transaction.atomic
def draft(fitout: Fitout, *, by: User, systems: Sequence[Proposal] | None = None) -> Revision:
    """Return the job's draft revision, made from its newest design and priced; starts revision A, B, ...

    ``systems``: proposals to quote side by side, one of them the job's own design, which leads. ``None``: those that
    were quoted before as long as the design is still one of them; else, as with none, the design by itself. A fault
    job has no design: its draft begins empty, and its lines are put in by hand.
    Raises :class:`QuoteNotReady` while a job of another kind has no design, or where proposals do not go together.
    """
    Fitout.objects.select_for_update().get(pk=fitout.pk)
    design = None if fitout.kind == Fitout.Kind.FAULT else fitout.designs.first()
    if design is None and fitout.kind != Fitout.Kind.FAULT:
        raise QuoteNotReady(_("Work the design out first; a quote is made from it."))
    quote = Quote.objects.filter(fitout=fitout).first()
    if quote is None:
        quote = Quote.objects.create(fitout=fitout, number=next_number("quote", "Q-"))
    revision = quote.revisions.filter(state=Revision.State.DRAFT).first()
    if revision is None:
        before = quote.revisions.last()
        revision = Revision(quote=quote, letter=_letter(quote.revisions.count()), design=design)
        if before is not None:
            revision.discount_ratio = before.discount_ratio
            revision.note = before.note
            revision.days_off_road = before.days_off_road
    is_first = revision.pk is None and revision.letter == "A"
    if systems is None:
        before = quote.revisions.last()
        systems = offered.proposals_of(before) if before is not None else []
        systems = systems if design is not None and design.key in {p.key for p in systems} else []
    elif systems and (design is None or design.key not in {p.key for p in systems}):
        raise QuoteNotReady(_("Take one of them as the job’s design first: its drawings and papers lead the quote."))
    revision.design = design
    revision.save()
    try:
        offered.set_offers(revision, systems)
    except offered.OffersNotTogether as error:
        raise QuoteNotReady(str(error)) from None
    offer = reprice(revision)
    if is_first:
        revision.days_off_road = _days(offer)
        revision.save(update_fields=["days_off_road"])
    return revision


def _days(offer: Offer) -> int:
    """Days in the bay that the labour of an offer takes, one technician at it; the estimator may say otherwise."""
    hours = sum((x.quantity for x in offer.lines.all() if x.group == pricing.LABOUR), Decimal(0))
    return max(1, math.ceil(hours / HOURS_A_BAY_DAY))


@transaction.atomic
def reprice(revision: Revision) -> Offer:
    """Write the draft's offers anew from design, assemblies and today's prices; return the one that leads.

    Lines added by hand are kept.
    """
    locked_draft(revision)
    workshop, fitout = Workshop.objects.get(), revision.quote.fitout
    for offer in offered.offers_of(revision):
        by_hand = list(offer.lines.filter(by_hand=True))
        try:
            plan = offered.plan_of(offer, revision)
            priced = pricing.price_bill(plan, workshop, assemblies.bill_of(fitout, plan, revision.design))
        except (pricing.NoPrice, assemblies.TooMany) as error:
            raise QuoteNotReady(str(error)) from None
        offer.lines.filter(by_hand=False).delete()
        Line.objects.bulk_create(_line(offer, place, one) for place, one in enumerate(priced))
        hand_prices.at_todays_prices(by_hand, workshop)
        for place, line in enumerate(by_hand, start=len(priced)):
            line.place = place
            line.save(update_fields=["place"])
        total(offer, workshop)
    revision.assemblies = assemblies.stamp(fitout)
    revision.save(update_fields=["assemblies"])
    return offered.lead_of(revision)


def _line(offer: Offer, place: int, priced: pricing.Priced) -> Line:
    return Line(
        offer=offer,
        place=place,
        group=priced.group,
        component_id=priced.component_id,
        labour_code=priced.labour_code,
        name=priced.name,
        quantity=priced.quantity,
        unit=priced.unit,
        unit_price=priced.unit_price,
        amount=priced.amount,
        unit_cost=priced.unit_cost,
        mass_kg=priced.mass_kg,
        rule=priced.rule,
    )


def total(offer: Offer, workshop: Workshop) -> Offer:
    """Add an offer up by the workshop's rules, and save it."""
    try:
        return _added_up(offer, workshop)
    except ValidationError as error:  # an amount that no column can hold
        raise QuoteNotReady(_("The sums grow too large: %(why)s") % {"why": " ".join(error.messages)}) from None


def _added_up(offer: Offer, workshop: Workshop) -> Offer:
    lines = list(offer.lines.all())
    today = timezone.localdate()
    totals = pricing.total_up([line.amount for line in lines], offer.revision.discount_ratio, workshop, today)
    rate = pricing.tax_rate_on(today)
    offer.labour = sum((x.amount for x in lines if x.group == pricing.LABOUR), Decimal(0))
    offer.sundries = sum((x.amount for x in lines if x.group == pricing.SUNDRIES), Decimal(0))
    offer.parts = totals.lines - offer.labour - offer.sundries
    offer.discount, offer.net, offer.tax = totals.discount, totals.net, totals.tax
    offer.rounding, offer.total, offer.deposit = totals.rounding, totals.total, totals.deposit
    offer.tax_name = rate.name if rate else ""
    offer.tax_ratio = rate.ratio if rate else Decimal(0)
    offer.cost = sum((x.unit_cost * x.quantity for x in lines), Decimal(0)).quantize(Decimal("0.0001"))
    offer.save()
    return offer


@transaction.atomic
def set_terms(revision: Revision, *, discount_ratio: Decimal, note: str, days_off_road: int) -> Revision:
    """Set what the estimator decides about a draft, and add it up again."""
    locked_draft(revision)
    revision.discount_ratio, revision.note, revision.days_off_road = discount_ratio, note, days_off_road
    revision.save(update_fields=["discount_ratio", "note", "days_off_road"])
    for offer in revision.offers.all():
        total(offer, Workshop.objects.get())
    return revision


@transaction.atomic
def add_line(revision: Revision, *, name: str, quantity: Decimal, unit_price: Decimal, unit_cost: Decimal) -> Line:
    """Add a line by hand to a draft; it is kept when the draft is priced again."""
    locked_draft(revision)
    amount = pricing.money.line_amount(quantity, unit_price)
    if amount > LIMIT:
        raise QuoteNotReady(
            _("%(quantity)s × %(price)s is more than %(limit)s, the most that one line can hold.")
            % {"quantity": f"{quantity:f}", "price": f"{unit_price:f}", "limit": f"{LIMIT:f}"}
        )
    return put_in(
        revision,
        {
            "group": "other",
            "name": name,
            "quantity": quantity,
            "unit": "each",
            "unit_price": unit_price,
            "unit_cost": unit_cost,
            "amount": amount,
            "rule": "by_hand",
        },
    )


def put_in(revision: Revision, values: Mapping[str, Any]) -> Line:
    """Put the same line by hand into every offer of a draft; return that of the one that leads."""
    workshop, lead = Workshop.objects.get(), offered.lead_of(revision)
    lines = {}
    for offer in offered.offers_of(revision):
        line = Line(offer=offer, place=offer.lines.count(), by_hand=True, **values)
        line.save()
        lines[offer.pk] = line
        total(offer, workshop)
    return lines[lead.pk]


@transaction.atomic
def remove_line(line: Line) -> None:
    """Take a line that was added by hand off a draft again, out of each of its offers."""
    locked_draft(line.offer.revision)
    if not line.by_hand:
        raise QuoteNotReady(_("“%(name)s” comes from the design; change the design instead.") % {"name": line.name})
    for one in offered.alike(line):
        offer = one.offer
        one.delete()
        total(offer, Workshop.objects.get())


@transaction.atomic
def issue(revision: Revision, *, by: User) -> Document:
    """Freeze a draft and queue its paper.

    Later edits to customer, vehicle, catalogue or policy never reach an issued revision. The revision issued
    before it counts as replaced; the job moves to Quoted. Raises :class:`QuoteNotReady` with every obstacle.
    """
    _hold(revision)
    revision = Revision.objects.select_related("quote__fitout").get(pk=revision.pk)
    _must_be_draft(revision)
    reasons = obstacles(revision)
    if reasons:
        raise QuoteNotReady(" ".join(reasons))
    workshop = Workshop.objects.get()
    fitout = revision.quote.fitout
    replaces = revision.quote.revisions.filter(state=Revision.State.ISSUED).last()
    revision.valid_until = timezone.localdate() + timedelta(days=workshop.quote_days)
    revision.snapshot = snapshots.freeze(
        kind=Snapshot.Kind.QUOTE,
        body=frozen.quote_body(revision, offered.lead_of(revision), workshop, replaces),
        personal=frozen.personal(fitout),
        customer_id=fitout.customer_id,
        by=by,
    )
    revision.state = Revision.State.ISSUED
    revision.issued_at, revision.issued_by = timezone.now(), by
    revision.save()
    if replaces is not None:
        replaces.state = Revision.State.REPLACED
        replaces.save(update_fields=["state"])
    if fitout.stage == Stage.SURVEYED:
        jobs.move(fitout, Stage.QUOTED, by=by, reason=_("revision %(letter)s issued") % {"letter": revision.letter})
    return documents.ask(
        kind=Document.Kind.QUOTE,
        snapshot=revision.snapshot,
        fitout=fitout,
        title=_("Quote %(number)s, revision %(letter)s") % {"number": revision.quote.number, "letter": revision.letter},
        by=by,
    )


@transaction.atomic
def withdraw(revision: Revision) -> Revision:
    """Take an issued revision back. Its snapshot and paper stay."""
    _hold(revision)
    revision = Revision.objects.get(pk=revision.pk)
    if revision.state != Revision.State.ISSUED:
        raise QuoteNotReady(_("Only an issued revision can be withdrawn."))
    revision.state = Revision.State.WITHDRAWN
    revision.save(update_fields=["state"])
    return revision


@transaction.atomic
def accept(revision: Revision, *, accepted_by: str, note: str, by: User, offer_name: str | None = None) -> Revision:
    """Record that the customer took an issued revision, and which of its offers; the job moves to Accepted.

    The system of that offer becomes the job's design as it was issued: nothing is worked out again.
    """
    _hold(revision)
    revision = Revision.objects.select_related("quote__fitout").get(pk=revision.pk)
    if revision.state != Revision.State.ISSUED:
        raise QuoteNotReady(
            _("Only an issued revision can be accepted; this one is %(state)s.")
            % {"state": revision.get_state_display()}
        )
    if revision.valid_until and revision.valid_until < timezone.localdate():
        raise QuoteNotReady(
            _("Revision %(letter)s ran out on %(day)s. Issue a new revision.")
            % {"letter": revision.letter, "day": revision.valid_until.isoformat()}
        )
    if not accepted_by.strip():
        raise QuoteNotReady(_("Say who accepted it."))
    taken = _taken(revision, offer_name)
    if taken is not None:
        revision.accepted_offer = taken
        lead = offered.lead_of(Revision.objects.get(pk=revision.pk))
        if taken.proposal is not None and taken.pk != lead.pk:
            revision.accepted_design = offered.as_design(taken.proposal, by=by)
    _held_to_accepted(taken or offered.lead_of(revision), by)
    revision.state = Revision.State.ACCEPTED
    revision.accepted_at, revision.accepted_by, revision.acceptance_note = timezone.now(), accepted_by.strip(), note
    revision.save(
        update_fields=[
            "state", "accepted_at", "accepted_by", "acceptance_note", "accepted_offer", "accepted_design",
        ]
    )  # fmt: skip
    revision.quote.revisions.filter(state=Revision.State.DRAFT).delete()
    jobs.move(revision.quote.fitout, Stage.ACCEPTED, by=by, reason=accepted_by.strip())
    return revision


def _held_to_accepted(offer: Offer, by: User) -> None:
    """Hold the job to the parts that were accepted, whatever it was let go to or held to since they were quoted."""
    if offer.proposal is None:
        return
    fitout = offer.revision.quote.fitout
    held, proposal = proposals.held(fitout), offer.proposal
    if held is None or (held.picks, held.room) != (proposal.picks, proposal.room):
        proposals.hold(fitout, proposal, by=by)


def _taken(revision: Revision, offer_name: str | None) -> Offer | None:
    """The offer that was accepted; ``None`` where there is only one to accept."""
    offers = offered.offers_of(revision)
    if len(offers) < 2:
        return None
    taken = next((offer for offer in offers if offer.name == offer_name), None)
    if taken is None:
        names = ", ".join(str(offer.get_name_display()) for offer in offers)
        raise QuoteNotReady(_("Say which offer was accepted: %(names)s.") % {"names": names})
    return taken


def accepted_revision(fitout: Fitout) -> Revision | None:
    return (
        Revision.objects.filter(quote__fitout=fitout, state=Revision.State.ACCEPTED)
        .select_related("quote", "design", "snapshot")
        .first()
    )


@dataclass(frozen=True, slots=True)
class Change:
    """One difference between two revisions."""

    what: str
    before: str
    after: str


def difference(old: Revision, new: Revision) -> list[Change]:
    """What is different between two revisions: lines by name, then the totals."""
    before, after = _by_name(old), _by_name(new)
    changes = []
    for name in [*before, *(n for n in after if n not in before)]:
        left, right = before.get(name), after.get(name)
        if left != right:
            changes.append(Change(name, left or _("not in it"), right or _("not in it")))
    for field, label in (("net", _("Without tax")), ("tax", _("Tax")), ("total", _("To pay"))):
        a, b = (getattr(offered.lead_of(r), field) for r in (old, new))
        if a != b:
            changes.append(Change(label, format_number(a, 2), format_number(b, 2)))
    return changes


def _by_name(revision: Revision) -> dict[str, str]:
    found: dict[str, list[Line]] = {}
    for line in offered.lead_of(revision).lines.all():
        found.setdefault(line.name, []).append(line)
    return {
        name: f"{sum((x.quantity for x in lines), Decimal(0)).normalize():f} {lines[0].unit}, "
        f"{format_number(sum((x.amount for x in lines), Decimal(0)), 2)}"
        for name, lines in found.items()
    }


def locked_draft(revision: Revision) -> None:
    """Hold the job and look at the draft as it is now: it may have been issued since its page was read."""
    _hold(revision)
    _must_be_draft(Revision.objects.get(pk=revision.pk))


def _hold(revision: Revision) -> None:
    """Whatever changes the quote of a job holds the job's row first, so that two of them follow one another."""
    Fitout.objects.select_for_update(of=("self",)).get(quote__revisions=revision)


def _must_be_draft(revision: Revision) -> None:
    if revision.state != Revision.State.DRAFT:
        raise QuoteNotReady(
            _("Revision %(letter)s was already issued. Start a new revision to change it.")
            % {"letter": revision.letter}
        )


def _letter(index: int) -> str:
    if index >= MOST_REVISIONS:
        raise QuoteNotReady(_("This quote has run out of revision letters."))
    first, last = divmod(index, 26)
    return ("" if first == 0 else chr(64 + first)) + chr(65 + last)


__all__ = [
    "Change",
    "Design",
    "QuoteNotReady",
    "accept",
    "accepted_revision",
    "add_line",
    "difference",
    "draft",
    "issue",
    "obstacles",
    "remove_line",
    "reprice",
    "set_terms",
    "withdraw",
]
