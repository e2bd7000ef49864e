"""One part of a system changed by hand: tried, proved whole, kept beside the offer that it came from."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from fitouts.models import Fitout, User
from quoting.models import JobPicks, Offer, Proposal, Selection
from quoting.services import assemblies, pricing, proposed
from quoting.services.briefs import held_to
from quoting.sizing.appraise import appraise, brief_sha256
from quoting.sizing.brief import Brief
from quoting.sizing.brief_choosing import Pick
from quoting.sizing.errors import SizingError
from quoting.sizing.kept import ALONE, CAN
from quoting.sizing.parts import Catalogue
from quoting.sizing.selecting.facts import facts_of
from quoting.sizing.selecting.options_ask import MOST_PIECES
from quoting.sizing.selecting.swapping import instead_in, pick_of, swapped
from quoting.wording.roles import role_words
from quoting.wording.swaps import limit_words, swap_words, worse_words


class NotSwapped(Exception):
    """A part that cannot be put there, in a sentence; nothing is kept."""


@dataclass(frozen=True, slots=True)
class SwapOption:
    """A part that could stand in a role instead."""

    part: str
    name: str
    quantity: int
    series: int
    more: Decimal | None
    """What it costs more with its fitting than what is there; ``None`` for one that does not fit."""
    more_mass_kg: float | None
    fits: bool
    """It may be connected and meets what is asked with the other parts as they are."""


def swap_options(proposal: Proposal, role: str) -> list[SwapOption]:
    """Parts that could fill a role of a system, those that fit first, the cheapest first; none for what is kept."""
    brief = proposed.brief_of(proposal)
    if _why_not(brief, role):
        return []
    found = instead_in(brief, role, proposed.market_of(proposal.selection))  # type: ignore[arg-type]
    return [
        SwapOption(
            part=one.part,
            name=one.name,
            quantity=one.quantity,
            series=one.series,
            more=None if one.more is None else Decimal(f"{one.more:.2f}"),
            more_mass_kg=one.more_mass_kg,
            fits=one.fits,
        )
        for one in found
    ]


def swap(proposal: Proposal, role: str, part: str, quantity: int | None = None, *, by: User | None) -> Proposal:
    """Put another part in one role, prove the whole system again, and keep it as the next of its offer.

    ``quantity``: empty for as many as it takes. What it lacks is in its Appraisal; a system with a danger or an open
    need is kept to be looked at and cannot be taken. The same swap twice gives the same system.
    Raises :class:`NotSwapped`; then nothing is kept.
    """
    selection, brief = proposal.selection, proposed.brief_of(proposal)
    market = proposed.market_of(selection)
    pick = _pick(brief, role, part, quantity, proposal)
    picks = swapped(brief.picks, pick)
    try:
        whole = held_to(brief, picks, proposed.room_of(proposal))
        key = brief_sha256(whole)
        before = selection.proposals.filter(offer=proposal.offer, key=key).first()
        if before is not None:
            return before
        appraisal = appraise(whole)
        loads = sum(load.quantity for load in brief.loads)
        quote = proposed.quoted(selection.fitout, appraisal, loads, proposed.discount_of(selection.fitout))
    except (SizingError, pricing.NoPrice, assemblies.TooMany) as error:
        raise NotSwapped(str(error)) from None
    made = Proposal(
        selection=selection,
        offer=proposal.offer,
        room=proposal.room,
        picks=[one.model_dump(mode="json") for one in picks],
        facts=facts_of(whole, appraisal, market).model_dump(mode="json"),
        appraisal=appraisal.model_dump(mode="json"),
        key=key,
        swapped=_words(proposal, brief, picks)[:300],
        swapped_from=proposal,
        net=quote.net,
        total=quote.total,
        made_by=by,
    )
    return _keep(made)


@transaction.atomic
def _keep(made: Proposal) -> Proposal:
    """Number a system after the last of its offer; one that somebody else made meanwhile stands."""
    Fitout.objects.select_for_update().get(selections=made.selection_id)  # as throwing away does
    if made.swapped_from_id and not Proposal.objects.filter(pk=made.swapped_from_id).exists():
        made.swapped_from = None
    selection = Selection.objects.select_for_update().get(pk=made.selection_id)
    same = selection.proposals.filter(offer=made.offer)
    before = same.filter(key=made.key).first()
    if before is not None:
        return before
    last = same.order_by("-number").values_list("number", flat=True).first()
    made.number = 1 + (last or 0)
    made.save()
    return made


def _pick(brief: Brief, role: str, part: str, quantity: int | None, proposal: Proposal) -> Pick:
    why_not = _why_not(brief, role)
    if why_not:
        raise NotSwapped(why_not)
    if quantity is not None and not 1 <= quantity <= MOST_PIECES:
        raise NotSwapped(_("How many is %(n)d; it must be from 1 to %(most)d.") % {"n": quantity, "most": MOST_PIECES})
    if quantity is not None and quantity > 1 and role in ALONE:
        words = _("A design counts on one piece of this: %(role)s. Several side by side are not designed.")
        raise NotSwapped(words % {"role": role_words(role)})
    parts = Catalogue.of(brief)
    if all(one.key != part for one in brief.catalogue):
        raise NotSwapped(
            _("That part was not looked at for these offers. Ask for it by name and work the offers out again.")
        )
    if not any(parts.has(part, can) for can in CAN[role]):
        words = _("“%(name)s” does nothing of the sort: %(role)s.")
        raise NotSwapped(words % {"name": parts.part(part).name, "role": role_words(role)})
    return pick_of(brief, role, part, quantity, proposed.market_of(proposal.selection))  # type: ignore[arg-type]


def _why_not(brief: Brief, role: str) -> str:
    """Why nothing can be swapped in a role, or nothing."""
    if role not in CAN:
        return _("Nothing is chosen for “%(role)s” that could be swapped.") % {"role": role[:20]}
    if any(kept.role == role for kept in brief.kept):
        return _("That part stays in the vehicle. Say what becomes of it under “As found” first.")
    if all(pick.role != role for pick in brief.picks):
        return _("The system has no part for this: %(role)s.") % {"role": role_words(role)}
    return ""


def _words(proposal: Proposal, brief: Brief, picks: tuple[Pick, ...]) -> str:
    """What a person changed, against what the programme chose."""
    first = proposal.selection.proposals.filter(offer=proposal.offer, number=0).first() or proposal
    names = {part.key: part.name for part in brief.catalogue}
    return swap_words(proposed.picks_of(first), picks, names)


def worse_than(proposal: Proposal) -> list[str]:
    """What got worse by a swap, and which limits it goes beyond, each a sentence; empty for the programme's own."""
    if not proposal.number:
        return []
    first = proposal.selection.proposals.filter(offer=proposal.offer, number=0).first()
    before, facts = proposal.swapped_from or first, proposed.facts_of(proposal)
    worse = [] if before is None else worse_words(proposed.facts_of(before), facts)
    fitout, steer = proposal.selection.fitout, proposed.steer_of(proposal.selection)
    room, most_kg = proposed.room_of(proposal), steer.most_mass_kg
    return [*worse, *limit_words(facts, room, proposal.total, fitout.budget, most_kg)]


@transaction.atomic
def throw_away(proposal: Proposal) -> bool:
    """Forget a system swapped by hand that no quote prices and no job is held to; False for any other."""
    Fitout.objects.select_for_update().get(pk=proposal.selection.fitout_id)
    is_used = Offer.objects.filter(proposal=proposal).exists() or JobPicks.objects.filter(proposal=proposal).exists()
    if not proposal.number or is_used:
        return False
    Proposal.objects.filter(pk=proposal.pk).delete()
    return True
