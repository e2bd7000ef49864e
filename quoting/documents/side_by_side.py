"""The offers of a quote side by side: what each costs, does, weighs and is made of."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from quoting.documents.common import Frozen
from quoting.documents.content import Compared
from quoting.documents.speech import day_count, figure, percent, quantity
from quoting.wording.roles import role_words
from quoting.wording.steps_choosing import OFFER

NOTHING = "–"


def name_of(offer: dict[str, Any]) -> str:
    """What an offer is called."""
    return str(OFFER.get(offer["name"], offer["name"]))


def all_of(frozen: Frozen) -> list[dict[str, Any]]:
    """The offers of a quote from Lean to Roomy; empty where there is only one."""
    return list(frozen.body.get("offers") or ())


def others(frozen: Frozen) -> list[dict[str, Any]]:
    """The offers beside the one that leads."""
    return [one for one in all_of(frozen) if not one["leads"]]


def choices(frozen: Frozen) -> tuple[str, ...]:
    """What is ticked on acceptance: each offer with its sum to pay."""
    money = frozen.locality
    words = _("%(name)s, %(total)s, deposit %(deposit)s")
    bare = _("%(name)s, %(total)s")
    return tuple(
        (words if float(one.get("deposit") or 0) else bare)
        % {"name": name_of(one), "total": money.money(one["total"]), "deposit": money.money(one.get("deposit") or 0)}
        for one in all_of(frozen)
    )


def names(frozen: Frozen) -> str:
    """The offers by name, in a sentence."""
    said = [name_of(one) for one in all_of(frozen)]
    return _("%(some)s or %(last)s") % {"some": ", ".join(said[:-1]), "last": said[-1]}


def compared(frozen: Frozen) -> Compared | None:
    """Offers side by side; ``None`` where there is only one."""
    offers = all_of(frozen)
    if not offers:
        return None
    rows = tuple((label, tuple(said(frozen, one) for one in offers)) for label, said in _rows())
    return Compared(
        names=tuple(name_of(one) for one in offers),
        rows=tuple(row for row in rows if any(value != NOTHING for value in row[1])),
        parts=_parts(offers),
    )


def _rows() -> list[tuple[str, Callable[[Frozen, dict[str, Any]], str]]]:
    return [
        (_("To pay, tax included"), lambda frozen, one: frozen.locality.money(one["total"])),
        (_("Adds to the vehicle"), lambda frozen, one: quantity(float(one["mass_kg"]), "kg", 1)),
        (_("Battery"), lambda frozen, one: _fact(one, "capacity_ah", lambda v: quantity(v, "Ah"))),
        (_("Solar panels"), lambda frozen, one: _fact(one, "array_w", lambda v: quantity(v, "W"))),
        (_("Runs without any charging"), lambda frozen, one: _fact(one, "days_without_charging", day_count)),
        (_("Trips on which something essential goes dark"), _dark),
        (_("Battery lasts about"), lambda frozen, one: _fact(one, "battery_years", _years)),
        (_("Cost for each year of its life"), _per_year),
        (_("Switched outputs to spare"), lambda frozen, one: _fact(one, "spare_outputs", lambda v: figure(v, 0))),
        (_("Waits for parts"), lambda frozen, one: _fact(one, "lead_days", _lead)),
    ]


def _fact(one: dict[str, Any], name: str, said: Callable[[float], str]) -> str:
    value = (one.get("facts") or {}).get(name)
    return NOTHING if value is None else said(float(value))


def _dark(frozen: Frozen, one: dict[str, Any]) -> str:
    """Of the weathers that were drawn, and how high the chance may be: none of 200 is no promise."""
    drawn, high = _fact(one, "dark_chance_ratio", percent), _fact(one, "dark_high_ratio", _tenths)
    if NOTHING in (drawn, high):
        return drawn
    return _("%(drawn)s, at most %(high)s") % {"drawn": drawn, "high": high}


def _tenths(ratio: float) -> str:
    return percent(round(ratio, 3))


def _years(years: float) -> str:
    value = figure(years, 0 if years >= 10 else 1)
    return ngettext("%(n)s year", "%(n)s years", 1 if value == "1" else 2) % {"n": value}


def _per_year(frozen: Frozen, one: dict[str, Any]) -> str:
    value = (one.get("facts") or {}).get("cost_per_year")
    return NOTHING if value is None else frozen.locality.money(value)


def _lead(days: float) -> str:
    return day_count(days) if days else _("nothing; it is on the shelf")


def _parts(offers: list[dict[str, Any]]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """What each offer is made of: one row for each role that any of them fills."""
    roles = list(dict.fromkeys(chosen["role"] for one in offers for chosen in one["chosen"]))
    return tuple((role_words(role), tuple(_made_of(one, role) for one in offers)) for role in roles)


def _made_of(one: dict[str, Any], role: str) -> str:
    words = []
    for chosen in one["chosen"]:
        if chosen["role"] == role:
            many = f"{figure(chosen['quantity'], 0)} × " if chosen["quantity"] > 1 else ""
            words.append(f"{many}{chosen['name']}")
    return ", ".join(words) or NOTHING
