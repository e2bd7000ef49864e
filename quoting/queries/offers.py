"""The page of a job's three offers: what each is, how they came about, what each wish costs, and what came near."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import F
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from catalog.quantities import format_number
from fitouts.models import Fitout, Workshop
from quoting.models import BackgroundJob, JobPicks, OfferName, Proposal, Selection
from quoting.queries.findings import FindingRow, finding_row
from quoting.queries.offers_chart import FrontierPicture, frontier_picture
from quoting.queries.offers_facts import PartRow, Row, System, fact_rows, part_rows
from quoting.queries.offers_misses import ClashView, MissRow, WishRow, clash_view, miss_rows, wish_rows
from quoting.queries.offers_words import (
    fails_words,
    lacks_words,
    named_finding,
    room_words,
    solved_rows,
    solved_words,
    why_words,
)
from quoting.services import selections
from quoting.sizing.brief_choosing import OFFERS, Room
from quoting.sizing.policy import Policy
from quoting.sizing.selecting.records import Candidate, Facts, OfferMade, Steer
from quoting.sizing.selecting.records import Selection as Record
from quoting.sizing.trace import Finding


@dataclass(frozen=True, slots=True)
class Swapped:
    """A system that somebody made of an offer by taking another part by hand."""

    proposal: Proposal
    words: str
    more: Decimal
    """Dearer than the offer it came from, with tax. [currency]"""
    is_held: bool
    is_refused: bool
    """It has a danger or leaves a need open: to be looked at, not to be taken or quoted."""


@dataclass(frozen=True, slots=True)
class Tried:
    """A system that was worked through for an offer and fell short."""

    price: str
    fails: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Card:
    """One of the three offers, or why there is none."""

    offer: str
    name: str
    proposal: Proposal | None = None
    made: OfferMade | None = None
    why: str = ""
    lacks: tuple[str, ...] = ()
    room: tuple[str, ...] = ()
    same_as: str = ""
    findings: tuple[FindingRow, ...] = ()
    is_held: bool = False
    """The job is held to its parts."""
    clash: ClashView | None = None
    misses: tuple[MissRow, ...] = ()
    wishes: tuple[WishRow, ...] = ()
    swapped: tuple[Swapped, ...] = ()
    tried: tuple[Tried, ...] = ()
    solved: tuple[tuple[str, str], ...] = ()
    """What the solver says: a label and a value each."""
    proved: str = ""
    """What is proved of it, in a sentence."""

    @property
    def is_ticked(self) -> bool:
        """Whether it is to be quoted unless somebody says otherwise: each system once, as the job is held to it."""
        return not self.same_as and not any(one.is_held for one in self.swapped)


@dataclass(frozen=True, slots=True)
class OffersPage:
    """Everything of a selection that was made."""

    selection: Selection
    cards: tuple[Card, ...]
    facts: tuple[Row, ...]
    parts: tuple[PartRow, ...]
    picture: FrontierPicture | None
    wishes: tuple[WishRow, ...]
    """Wishes in force, each with what it costs in every offer."""
    findings: tuple[FindingRow, ...]
    tried: int
    """Systems that were worked through."""

    @property
    def offered(self) -> tuple[Card, ...]:
        return tuple(card for card in self.cards if card.made)

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(card.name for card in self.offered)

    @property
    def lacking(self) -> tuple[Card, ...]:
        return tuple(card for card in self.cards if card.clash)


def offers_page(selection: Selection, currency: Workshop | str) -> OffersPage | None:
    """Read a selection in a fixed number of queries; ``None`` until it is made."""
    record = selections.record_of(selection)
    if record is None:
        return None
    proposals = proposals_of(selection)
    held = JobPicks.objects.filter(fitout_id=selection.fitout_id).first()
    policy = Policy.model_validate(selection.brief["policy"]) if selection.brief else Policy()
    asked = selections.steer_of(selection)
    made = {one.offer: one for one in record.offers}
    cards = tuple(
        _card(selection.fitout, offer, made.get(offer), record, proposals, policy, held, currency, asked)
        for offer in OFFERS
        if offer in made or offer in record.clashes
    )
    systems = [system_of(card.proposal, card.name) for card in cards if card.proposal]
    return OffersPage(
        selection=selection,
        cards=cards,
        facts=fact_rows(systems),
        parts=part_rows(systems),
        picture=_picture(record, cards),
        wishes=wish_rows(record.offers, currency),
        findings=tuple(finding_row(named_finding(one)) for one in record.findings),
        tried=len(record.candidates),
    )


def proposals_of(selection: Selection) -> list[Proposal]:
    """The systems of a selection with what pages show of their Appraisals; the rest stays in the database."""
    rows = Proposal.objects.filter(selection=selection).defer("appraisal").select_related("made_by")
    return list(
        rows.annotate(chosen=F("appraisal__chosen"), found=F("appraisal__findings"), short=F("appraisal__shortfalls"))
    )


def totals_of(proposals: Iterable[Proposal]) -> dict[str, Decimal]:
    """What is to be paid for each offer as it was chosen, tax included."""
    return {one.offer: one.total for one in proposals if one.number == 0}


def system_of(proposal: Proposal, name: str) -> System:
    """A proposal, read by :func:`proposals_of`, as a column of the comparison."""
    return System(
        name=name,
        facts=Facts.model_validate(proposal.facts, strict=False),
        total=proposal.total,
        net=proposal.net,
        chosen=tuple(proposal.chosen or ()),  # type: ignore[attr-defined]
    )


def findings_of(proposal: Proposal) -> tuple[FindingRow, ...]:
    """Warnings and dangers of a system, the gravest first."""
    found = [Finding.model_validate(one, strict=False) for one in proposal.found or ()]  # type: ignore[attr-defined]
    grave = sorted((one for one in found if one.level != "info"), key=lambda one: one.level != "danger")
    return tuple(dict.fromkeys(finding_row(one) for one in grave))


def _card(
    fitout: Fitout,
    offer: str,
    made: OfferMade | None,
    record: Record,
    proposals: Sequence[Proposal],
    policy: Policy,
    held: JobPicks | None,
    currency: Workshop | str,
    asked: Steer,
) -> Card:
    name = str(OfferName(offer).label)
    own = [one for one in proposals if one.offer == offer]
    proposal = next((one for one in own if one.number == 0), None)
    tried = tuple(
        Tried(format_number(Decimal(one.facts.price), 2), fails_words(one.fails, currency))
        for one in record.candidates
        if one.offer == offer and not one.holds
    )
    if made is None or proposal is None:
        return Card(offer, name, clash=clash_view(record.clashes.get(offer), fitout, currency, asked), tried=tried)
    start: Room = policy.offers[offer].room(made.offer)
    return Card(
        offer=offer,
        name=name,
        proposal=proposal,
        made=made,
        why=why_words(made, currency),
        lacks=lacks_words(made, currency, totals_of(proposals)),
        room=room_words(start, made.room),
        same_as=str(OfferName(made.same_as).label) if made.same_as else "",
        findings=findings_of(proposal),
        is_held=_is_held(held, proposal),
        misses=miss_rows(made.near_misses),
        wishes=wish_rows((made,), currency),
        swapped=tuple(_swapped(one, proposal, held) for one in own if one.number),
        tried=tried,
        solved=solved_rows(made),
        proved=solved_words(made.solved, made.proofs > 1),
    )


def _swapped(one: Proposal, first: Proposal, held: JobPicks | None) -> Swapped:
    is_refused = bool(one.short) or any(found["level"] == "danger" for found in one.found or ())  # type: ignore[attr-defined]
    return Swapped(one, one.swapped, one.total - first.total, _is_held(held, one), is_refused)


def _is_held(held: JobPicks | None, proposal: Proposal) -> bool:
    return held is not None and held.picks == proposal.picks and held.room == proposal.room


# --- The picture -------------------------------------------------------------------------------------


def _picture(record: Record, cards: Iterable[Card]) -> FrontierPicture | None:
    """Every candidate once; an offer goes by its own facts, also where it shares a system with another."""
    by_picks = {(_parts(one), one.facts.price): one for one in record.candidates}
    drawn: dict[str, Candidate] = {one.key: one for one in record.candidates}
    named: dict[str, list[str]] = {}
    for card in cards:
        if card.made is None:
            continue
        there = by_picks.get((_parts(card.made), card.made.facts.price))
        if there is None:
            there = Candidate(
                key=f"offer:{card.offer}",
                offer=card.made.offer,
                picks=card.made.picks,
                room=card.made.room,
                facts=card.made.facts,
                holds=True,
                frontier=True,
            )
            drawn[there.key] = there
        named.setdefault(there.key, []).append(card.name)
    return frontier_picture(drawn.values(), {key: ", ".join(names) for key, names in named.items()})


def _parts(one: Candidate | OfferMade) -> frozenset[tuple[str, str, int, int]]:
    return frozenset((pick.role, pick.part, pick.quantity, pick.series) for pick in one.picks)


# --- Where it stands ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Standing:
    """How far working out the newest selection is: ``queued``, ``running``, ``failed``, ``cancelled`` or nothing."""

    selection: Selection | None
    state: str = ""
    place: int = 0
    """Its place in the queue, from 1; 0 when it is not queued."""

    @property
    def job(self) -> BackgroundJob | None:
        return self.selection.job if self.selection else None

    @property
    def is_live(self) -> bool:
        return self.state in ("queued", "running")


def standing_of(fitout: Fitout) -> Standing:
    """The newest selection of a job while it is not made."""
    newest = selections.latest_of(fitout)
    if newest is None or newest.result is not None or newest.job is None:
        return Standing(newest)
    job = newest.job
    if job.state == BackgroundJob.State.QUEUED:
        ahead = BackgroundJob.objects.filter(queue=job.queue, state=job.state, pk__lt=job.pk).count()
        return Standing(newest, "queued", 1 + ahead)
    if job.state == BackgroundJob.State.FAILED:
        return Standing(newest, "cancelled" if job.cancel_asked else "failed")
    return Standing(newest, "running" if job.state == BackgroundJob.State.RUNNING else "")


def made_words(selection: Selection, tried: int) -> str:
    """Who had it worked out, when, of how many systems and how long that took."""
    return ngettext(
        "%(n)d system was worked through, in %(s)s s.",
        "%(n)d systems were worked through, in %(s)s s.",
        tried,
    ) % {"n": tried, "s": format_number(round(selection.took_ms / 1000, 1))}


def held_words(held: JobPicks | None) -> str:
    """What the job is held to, in a sentence."""
    if held is None:
        return ""
    name = OfferName(held.offer).label
    return _("The job is held to the parts of %(name)s.") % {"name": name}


def by_offer(cards: Iterable[Card]) -> Mapping[str, Card]:
    return {card.offer: card for card in cards}
