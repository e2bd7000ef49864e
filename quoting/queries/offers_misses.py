"""What came near: runners-up of each part, what each wish costs, and what could not be had together."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _

from catalog.quantities import format_number
from fitouts.models import Fitout, Workshop
from quoting import words
from quoting.models import OfferName
from quoting.queries.offers_facts import pieces
from quoting.queries.offers_rows import asked_words, best_words, short_of
from quoting.queries.offers_words import Fix, fix_of, miss_label, wish_words
from quoting.queries.shown import Shown
from quoting.sizing.selecting.records import Clash, Miss, NearMiss, OfferMade, Steer, WishPrice
from quoting.wording.roles import role_words


@dataclass(frozen=True, slots=True)
class MissRow:
    """A part of an offer and what the system would be made with instead."""

    role: str
    label: str
    has: str
    instead: str
    """Empty: nothing else in the catalogue would do."""
    part: str
    """Key of the runner-up."""
    quantity: int
    more: Shown | None
    more_mass: Shown | None
    moves: tuple[str, ...]


def miss_rows(found: Iterable[NearMiss]) -> tuple[MissRow, ...]:
    return tuple(
        MissRow(
            role=one.role,
            label=role_words(one.role),
            has=pieces(one.name, one.quantity),
            instead=pieces(one.instead_name, one.instead_quantity) if one.instead else "",
            part=one.instead,
            quantity=one.instead_quantity,
            more=signed_money(Decimal(one.more)) if one.instead else None,
            more_mass=signed_mass(one.more_mass_kg) if one.instead else None,
            moves=tuple(role_words(role).lower() for role in one.moves),
        )
        for one in found
    )


def signed_money(amount: Decimal) -> Shown:
    """A difference of prices with its sign."""
    return Shown(format_number(abs(amount), 2), "", "+" if amount > 0 else "−" if amount < 0 else "")


def signed_mass(mass_kg: float) -> Shown:
    value = round(mass_kg, 1)
    return Shown(format_number(abs(value)), "kg", "+" if value > 0 else "−" if value < 0 else "")


# --- Wishes ------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class WishRow:
    """A wish in force, and what it costs in each offer."""

    words: str
    costs: tuple[tuple[str, str], ...]
    """Name of the offer and what the wish costs in it, in words; one entry without a name where all are alike."""


def wish_rows(offers: Sequence[OfferMade], currency: Workshop | str) -> tuple[WishRow, ...]:
    """Each wish once, in the order of the first offer that knows it."""
    found: dict[str, list[tuple[str, str]]] = {}
    for offer in offers:
        for price in offer.wish_prices:
            name = str(OfferName(offer.offer).label)
            found.setdefault(wish_words(price.wish, currency), []).append((name, cost_words(price)))
    rows = []
    for wish, costs in found.items():
        said = {cost for _name, cost in costs}
        alike = len(said) == 1 and len(costs) == len(offers)
        rows.append(WishRow(wish, (("", costs[0][1]),) if alike else tuple(costs)))
    return tuple(rows)


def cost_words(price: WishPrice) -> str:
    """“640.00 more”, “costs nothing”, or that nothing would be had without it either."""
    if price.more is None:
        return _("without it there would be no answer either")
    more = Decimal(price.more)
    if more == 0:
        return _("costs nothing")
    amount = format_number(abs(more), 2)
    return _("%(amount)s more") % {"amount": amount} if more > 0 else _("saves %(amount)s") % {"amount": amount}


# --- What could not be had ---------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class ClashRow:
    """A need, limit or wish that cannot be met together with the others."""

    label: str
    asked: str
    best: str
    short: Shown | None
    fix: Fix | None = None
    """Where it can be changed."""


@dataclass(frozen=True, slots=True)
class ClashView:
    """Why there is no such offer, and the smallest change that would do."""

    together: tuple[ClashRow, ...]
    change: tuple[ClashRow, ...]
    lacking: tuple[str, ...]
    """Needs that the catalogue has no part for at all, each a sentence."""
    limits: tuple[ClashRow, ...] = ()
    """The smallest change of limits and wishes alone, where it is another."""


def clash_view(clash: Clash | None, fitout: Fitout, currency: Workshop | str, asked: Steer) -> ClashView:
    if clash is None:
        return ClashView((), (), ())
    of = (clash.together, clash.change, clash.limits)
    together, change, limits = (tuple(_row(one, fitout, currency, asked) for one in each) for each in of)
    return ClashView(together, change, tuple(words.shortfall_words(one) for one in clash.lacking), limits)


def _row(one: Miss, fitout: Fitout, currency: Workshop | str, asked: Steer) -> ClashRow:
    return ClashRow(
        label=miss_label(one, currency),
        asked=asked_words(one),
        best=best_words(one),
        short=short_of(one),
        fix=fix_of(one, fitout, currency, asked),
    )
