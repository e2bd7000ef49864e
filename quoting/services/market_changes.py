"""In what prices, stock and wishes of the choice differ from those that offers were worked out by, in words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from django.utils.translation import gettext as _

from quoting.services.designs import Change
from quoting.sizing.brief import Brief
from quoting.sizing.selecting.records import Market, MarketPart, Steer
from quoting.wording.steering import STEERING_WORDS

NAMED = 5
"""Parts that a sentence names; of the rest it says how many."""


def of_prices(before: Market, now: Market, brief: Brief) -> Iterator[Change]:
    """Parts with another price, lead time or supplier, and labour with another price."""
    names = {part.key: part.name for part in brief.catalogue}
    both = [key for key in names if key in before.parts and key in now.parts]

    def differing(field: str) -> list[str]:
        return [names[key] for key in both if getattr(before.parts[key], field) != getattr(now.parts[key], field)]

    if found := differing("price"):
        yield Change("prices", _("Sold at another price: %(names)s.") % {"names": some(found)})
    if found := differing("supplier"):
        yield Change("prices", _("From another supplier: %(names)s.") % {"names": some(found)})
    if before.operations != now.operations:
        yield Change("prices", _("What labour takes or costs was changed."))
    if before.sundries_ratio != now.sundries_ratio or before.half != now.half:
        yield Change("prices", _("How quotes are reckoned was changed."))


def of_stock(before: Market, now: Market, brief: Brief, needed: Mapping[str, float], steer: Steer) -> Iterator[Change]:
    """Parts of the offers that are on the shelf no longer, or again; others only where the choice goes by it."""
    by_shelf = steer.prefer_stock or steer.most_lead_days is not None
    gone, back = [], []
    for part in brief.catalogue:
        wanted = needed.get(part.key, 1.0 if by_shelf else 0.0)
        there, was = _enough(now.parts.get(part.key), wanted), _enough(before.parts.get(part.key), wanted)
        if was and not there:
            gone.append(part.name)
        elif there and not was:
            back.append(part.name)
    if gone:
        yield Change("stock", _("No longer on the shelf, or not enough of it: %(names)s.") % {"names": some(gone)})
    if back:
        yield Change("stock", _("On the shelf now: %(names)s.") % {"names": some(back)})


def of_steer(before: Steer, now: Steer) -> Iterator[Change]:
    """Wishes of the choice that are others now. Parts settled by hand are left out: taking a system settles them."""
    told = [name for name in STEERING_WORDS if name != "swaps" and _of(before, name) != _of(now, name)]
    if told:
        names = ", ".join(STEERING_WORDS[name]() for name in told)
        yield Change("steer", _("Changed in what to choose from: %(names)s.") % {"names": names})


def some(names: Iterable[str]) -> str:
    """The first few of some names, and how many more there are."""
    listed = list(names)
    more = _(" and %(n)d more") % {"n": len(listed) - NAMED} if len(listed) > NAMED else ""
    return ", ".join(listed[:NAMED]) + more


def _enough(one: MarketPart | None, wanted: float) -> bool:
    return one is None or wanted == 0 or one.stock >= wanted


def _of(steer: Steer, name: str) -> Any:
    return getattr(steer, name)
