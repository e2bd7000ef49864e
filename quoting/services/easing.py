"""The smallest change that would do, where it is a wish of the choice: what the wish would have to be instead."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from typing import Any

from django.db import transaction

from fitouts.models import Fitout, User
from fitouts.services import steering as wishes
from quoting.services import steering
from quoting.sizing.selecting.records import Clash, Miss, Steer

FREED: dict[str, tuple[str, Any]] = {
    "prefer_stock": ("prefer_stock", False),
    "most_lead_days": ("most_lead_days", None),
}
"""Wishes that are given up whole: by their code, column of the job and its value without the wish."""


@dataclass(frozen=True, slots=True)
class Ease:
    """One wish of a job, and the value that would do."""

    name: str
    """Column of the job."""
    value: Any


def ease_of(one: Miss, fitout: Fitout) -> Ease | None:
    """What a wish would have to be so that this gives way; ``None`` for what is no wish of the choice."""
    if one.wish is not None:
        freed = FREED.get(one.wish.code)
        return Ease(*freed) if freed else None
    if one.code == "budget" and fitout.budget is not None:
        return Ease("budget", _budget(one, fitout.budget, steering.beside_of(fitout).price))
    if one.code == "mass_kg" and fitout.most_mass_kg is not None:
        return Ease("most_mass_kg", math.ceil(10 * (fitout.most_mass_kg + one.short_by) - 1e-6) / 10)
    return None


@transaction.atomic
def ease(clash: Clash, index: int, fitout: Fitout, asked: Steer, *, by: User | None) -> Ease | None:
    """Set the wish that a clash names as ``index`` of its smallest change; ``None`` where there is none such.

    Those of the change of limits alone are counted on from those of the smallest of all. ``asked``: the wishes that
    the clash was found under. A limit that is another by now is left as it is: what was lacking was lacking to the old
    one, and a second press would add it a second time.

    Raises ``ValidationError`` for a value that a job cannot have.
    """
    every = (*clash.change, *clash.limits)
    now = Fitout.objects.select_for_update().get(pk=fitout.pk)
    one = ease_of(every[index], now) if 0 <= index < len(every) else None
    if one is None or not stands(one, now, asked):
        return None
    wishes.set_steering(fitout, {one.name: one.value}, by=by)
    return one


def stands(one: Ease, now: Fitout, asked: Steer) -> bool:
    """Whether the limit is the one that was asked; what is given up whole is given up but once anyway."""
    if one.name == "budget":
        return steering.budget_for(now, steering.beside_of(now)) == asked.budget
    if one.name == "most_mass_kg":
        return steering.mass_for(now.most_mass_kg, steering.beside_of(now)) == asked.most_mass_kg
    return True


def _budget(one: Miss, budget: Decimal, beside: Decimal) -> Decimal:
    """The budget with tax that as much more as is lacking without tax comes to, in whole units of the currency.

    Tax and discount are shares, so it grows as the sum without tax does, what the quote holds besides in it.
    """
    asked, best = (Decimal(str(amount)) + beside for amount in (one.asked, one.best))
    if asked <= 0:  # nothing was left for the system itself
        return (budget + Decimal(str(one.short_by)) * 2).quantize(Decimal(1), ROUND_CEILING)
    return (budget * best / asked + 1).quantize(Decimal(1), ROUND_CEILING)
