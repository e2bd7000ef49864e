"""One proved system as its page shows it, beside the one that it was made from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from quoting.models import OfferName, Proposal
from quoting.queries.findings import FindingRow, finding_rows
from quoting.queries.offers import proposals_of, system_of
from quoting.queries.offers_facts import PartRow, Row, System, fact_rows, part_rows, pieces
from quoting.queries.offers_misses import signed_mass, signed_money
from quoting.queries.shown import Shown
from quoting.services import proposals
from quoting.services.proposals import SwapOption


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
    refusals: tuple[str, ...]
    """Why it cannot be taken."""
    is_held: bool
    is_swap: bool

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(system.name for system in self.systems)


def proposal_page(one: Proposal, currency: str) -> ProposalPage:
    """Read a system and what it was made from in a fixed number of queries."""
    rows = {row.pk: row for row in proposals_of(one.selection)}
    this = rows[one.pk]
    before = rows.get(one.swapped_from_id or 0)
    systems = ([system_of(before, _name(before))] if before else []) + [system_of(this, _name(this))]
    appraisal = proposals.appraisal_of(one)
    held = proposals.held(one.selection.fitout)
    return ProposalPage(
        name=_name(this),
        systems=tuple(systems),
        facts=fact_rows(systems),
        parts=part_rows(systems),
        worse=tuple(proposals.worse_than(one)) if before else (),
        findings=tuple(row for row in finding_rows(appraisal) if row.level != "info"),
        refusals=tuple(proposals.refusals_of(appraisal)),
        is_held=held is not None and held.proposal_id == one.pk,
        is_swap=bool(one.number),
    )


def _name(one: Proposal) -> str:
    name = str(OfferName(one.offer).label)
    return _("%(name)s, by hand %(number)d") % {"name": name, "number": one.number} if one.number else name


@dataclass(frozen=True, slots=True)
class OptionRow:
    """A part that could stand in the role."""

    part: str
    name: str
    more: Shown | None
    more_mass: Shown | None
    fits: bool


@dataclass(frozen=True, slots=True)
class SwapPage:
    name: str
    has: str
    """What is there now."""
    rows: tuple[OptionRow, ...]


def swap_page(one: Proposal, role: str, options: Sequence[SwapOption]) -> SwapPage:
    chosen = [row for row in one.appraisal.get("chosen", ()) if row["role"] == role]
    return SwapPage(
        name=_name(one),
        has=", ".join(pieces(row["name"], row["quantity"]) for row in chosen) or _("nothing"),
        rows=tuple(
            OptionRow(
                part=option.part,
                name=pieces(option.name, option.quantity),
                more=None if option.more is None else signed_money(option.more),
                more_mass=None if option.more_mass_kg is None else signed_mass(option.more_mass_kg),
                fits=option.fits,
            )
            for option in options
        ),
    )
