"""The offers of a revision: which there are, which one leads, and the system that each prices."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.utils.translation import gettext as _

from fitouts.models import User
from quoting.models import Design, Line, Offer, OfferName, Proposal, Revision
from quoting.services import designs, plans
from quoting.sizing.appraisal import Appraisal

ORDER = {name: place for place, name in enumerate(OfferName.values)}


class OffersNotTogether(Exception):
    """Proposals that cannot stand in one quote, in a sentence."""


def offers_of(revision: Revision) -> list[Offer]:
    """The offers of a revision from Lean to Roomy."""
    return sorted(revision.offers.select_related("proposal"), key=lambda offer: (ORDER.get(offer.name, 9), offer.pk))


def lead_of(revision: Revision) -> Offer:
    """The offer that was taken; before that the one of the revision's own design, which its papers are drawn from."""
    offers = offers_of(revision)
    if revision.accepted_offer_id is not None:
        return next(offer for offer in offers if offer.pk == revision.accepted_offer_id)
    key = revision.design.key if revision.design else ""
    return next((o for o in offers if o.proposal is None or o.proposal.key == key), offers[0])


def plan_of(offer: Offer, revision: Revision) -> Appraisal:
    """What an offer prices: its proposal's system, or the revision's own."""
    if offer.proposal is None or (revision.design is not None and offer.proposal.key == revision.design.key):
        return plans.plan_of(revision)
    return designs.appraisal_from(offer.proposal.appraisal)


def set_offers(revision: Revision, proposals: Sequence[Proposal]) -> None:
    """Make a draft's offers these and no others; what was added by hand stays in every one of them.

    Without proposals it has one offer, that of its design. Raises :class:`OffersNotTogether`.
    """
    names = [proposal.offer for proposal in proposals]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        words = _("Two of them are the %(name)s offer. Quote one of each name.")
        raise OffersNotTogether(words % {"name": OfferName(twice).label})
    if any(proposal.selection.fitout_id != revision.quote.fitout_id for proposal in proposals):
        raise OffersNotTogether(_("A system was chosen for another job."))
    keys = {proposal.pk for proposal in proposals}
    if Proposal.objects.filter(pk__in=keys).count() != len(keys):
        raise OffersNotTogether(_("Somebody has thrown one of the systems away meanwhile."))
    held = getattr(revision.quote.fitout, "held_to", None)
    wanted: list[tuple[str, Proposal | None]] = [(p.offer, p) for p in proposals]
    wanted = wanted or [(held.offer if held is not None else OfferName.STEADY, None)]
    there = {(offer.name, offer.proposal_id): offer for offer in offers_of(revision)}
    keep = {(name, proposal.pk if proposal else None) for name, proposal in wanted}
    by_hand = _by_hand(revision) if there else []
    revision.offers.exclude(pk__in=[offer.pk for mark, offer in there.items() if mark in keep]).delete()
    for name, proposal in sorted(wanted, key=lambda each: ORDER[each[0]]):
        if (name, proposal.pk if proposal else None) not in there:
            offer = Offer.objects.create(revision=revision, name=name, proposal=proposal)
            Line.objects.bulk_create(Line(offer=offer, **values) for values in by_hand)


def proposals_of(revision: Revision) -> list[Proposal]:
    """The proposals that a revision's offers price; empty where it has the one offer of its design."""
    return [offer.proposal for offer in offers_of(revision) if offer.proposal is not None]


HAND_VALUES = (
    "place", "group", "component_id", "labour_code", "name", "quantity", "unit", "unit_price", "amount",
    "unit_cost", "mass_kg", "rule", "by_hand",
)  # fmt: skip


def _by_hand(revision: Revision) -> list[dict[str, Any]]:
    """What was added by hand to the offer that leads."""
    return list(lead_of(revision).lines.filter(by_hand=True).values(*HAND_VALUES))


def alike(line: Line) -> list[Line]:
    """The same line added by hand in every offer of its draft: they were added together, and go together."""
    same = {name: getattr(line, name) for name in ("name", "rule", "quantity", "unit_price", "component_id")}
    found: dict[int, Line] = {line.offer_id: line}
    for other in Line.objects.filter(offer__revision=line.offer.revision_id, by_hand=True, **same).order_by("pk"):
        found.setdefault(other.offer_id, other)
    return list(found.values())


def as_design(proposal: Proposal, *, by: User | None) -> Design:
    """The system of a proposal as its job's newest design, as it was proved: nothing is worked out again.

    The newest design is returned where it is this very system already.
    """
    selection = proposal.selection
    return designs.keep(
        selection.fitout,
        {
            "brief": {**(selection.brief or {}), "picks": proposal.picks, "room": proposal.room},
            "appraisal": proposal.appraisal,
            "key": proposal.key,
            "method_version": selection.method_version,
            "took_ms": selection.took_ms,
        },
        by=by,
    )
