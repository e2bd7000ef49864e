"""One proved system as its page shows it, beside the one that it was made from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from catalog.models import Component
from fitouts.models import Workshop
from quoting.models import OfferName, Proposal
from quoting.queries.findings import FindingRow, finding_rows
from quoting.queries.offers import proposals_of, system_of, totals_of
from quoting.queries.offers_facts import PartRow, Row, System, fact_rows, part_rows, pieces
from quoting.queries.offers_misses import signed_mass, signed_money
from quoting.queries.offers_words import lacks_words, why_words
from quoting.queries.shown import Shown
from quoting.services import proposals, selections
from quoting.services.proposals import SwapOption
from quoting.sizing.selecting.records import OfferMade


@dataclass(frozen=True, slots=True)
class ProposalPage:
    """A system, and before it the one it came from."""

    name: str
    systems: tuple[System, ...]
    facts: tuple[Row, ...]
    parts: tuple[PartRow, ...]
    worse: tuple[str, ...]
    """What got worse by the swap."""
    findings: tuple[FindingRow, ...]
    """Warnings; what is graver refuses it."""
    refusals: tuple[str, ...]
    """Why it cannot be taken."""
    is_held: bool
    is_swap: bool
    why: str = ""
    lacks: tuple[str, ...] = ()
    """Of what the programme chose: why, and what the next cheaper lacks."""

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(system.name for system in self.systems)


def proposal_page(one: Proposal, currency: Workshop | str) -> ProposalPage:
    """Read a system and what it was made from in a fixed number of queries."""
    rows = {row.pk: row for row in proposals_of(one.selection)}
    this = rows[one.pk]
    before = rows.get(one.swapped_from_id or 0)
    systems = ([system_of(before, _name(before))] if before else []) + [system_of(this, _name(this))]
    appraisal = proposals.appraisal_of(one)
    held = proposals.held(one.selection.fitout)
    made = None if one.number else _made(one)
    return ProposalPage(
        name=_name(this),
        systems=tuple(systems),
        facts=fact_rows(systems),
        parts=part_rows(systems),
        worse=tuple(proposals.worse_than(one)) if before else (),
        findings=tuple(row for row in finding_rows(appraisal) if row.level == "warning"),
        refusals=tuple(proposals.refusals_of(appraisal)),
        is_held=held is not None and held.proposal_id == one.pk,
        is_swap=bool(one.number),
        why=why_words(made, currency) if made else "",
        lacks=lacks_words(made, currency, totals_of(rows.values())) if made else (),
    )


def _made(one: Proposal) -> OfferMade | None:
    record = selections.record_of(one.selection)
    return next((offer for offer in record.offers if offer.offer == one.offer), None) if record else None


def _name(one: Proposal) -> str:
    name = str(OfferName(one.offer).label)
    return _("%(name)s, by hand %(number)d") % {"name": name, "number": one.number} if one.number else name


@dataclass(frozen=True, slots=True)
class OptionRow:
    """A part that could stand in the role."""

    part: str
    name: str
    quantity: int
    more: Shown | None
    more_mass: Shown | None
    fits: bool
    rating: str = ""
    """Its one-line rating: what tells one part from another by more than a number."""


@dataclass(frozen=True, slots=True)
class SwapPage:
    name: str
    has: str
    """What is there now."""
    fitting: tuple[OptionRow, ...]
    others: tuple[OptionRow, ...]
    """Parts that do not meet what is asked, or may not be connected."""
    asks_other: bool = False
    """The part that the page was opened for is one of the others."""


def swap_page(one: Proposal, role: str, options: Sequence[SwapOption], asked: str = "") -> SwapPage:
    chosen = [row for row in one.appraisal.get("chosen", ()) if row["role"] == role]
    ratings = _ratings([option.part for option in options])
    rows = [_option(option, ratings.get(option.part, "")) for option in options]
    return SwapPage(
        name=_name(one),
        has=", ".join(pieces(row["name"], row["quantity"]) for row in chosen) or _("nothing"),
        fitting=tuple(row for row in rows if row.fits),
        others=tuple(row for row in rows if not row.fits),
        asks_other=any(row.part == asked for row in rows if not row.fits),
    )


def _ratings(parts: Sequence[str]) -> dict[str, str]:
    keys = [int(part) for part in parts if part.isdigit()]
    return {str(key): rating for key, rating in Component.objects.filter(pk__in=keys).values_list("pk", "rating")}


def _option(option: SwapOption, rating: str) -> OptionRow:
    return OptionRow(
        part=option.part,
        name=pieces(option.name, option.quantity),
        quantity=option.quantity,
        more=None if option.more is None else signed_money(option.more),
        more_mass=None if option.more_mass_kg is None else signed_mass(option.more_mass_kg),
        fits=option.fits,
        rating=rating,
    )
