"""What choosing says of itself as data, made into sentences: why, what is lacking, what was raised, what was proved."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy
from django.utils.translation import ngettext

from catalog.quantities import format_number
from catalog.templatetags.quantities import money
from fitouts.models import Fitout, Workshop
from quoting import words
from quoting.models import OfferName
from quoting.queries.offers_facts import count_words
from quoting.queries.offers_rows import row_label
from quoting.services.easing import Ease, ease_of, stands
from quoting.sizing.brief_choosing import Room
from quoting.sizing.selecting.records import Miss, OfferMade, Said, Solved, Steer
from quoting.sizing.trace import Finding, Scalar
from quoting.wording.roles import role_words
from quoting.wording.selecting import SAID
from quoting.wording.selecting_wishes import CHEMISTRY, WISH
from quoting.wording.shortfalls import SUBJECT

OBJECTIVE = {
    "price": lazy("least price"),
    "cost_per_year": lazy("least cost per year of life"),
    "mass": lazy("least mass"),
}
"""What an offer has least of."""


TEXT = {**SAID, **WISH}
"""Everything that choosing says, by code."""

MONEY = frozenset({"price", "saves", "over", "budget", "yearly", "amount"})
"""Parameters that are amounts without tax."""


def said_words(said: Said, currency: Workshop | str, **worded: str) -> str:
    """One sentence that choosing says of itself; a code without words shows itself; ``worded`` stand as they are."""
    if said.code not in TEXT:
        return said.code
    params = {name: _param(name, value, currency) for name, value in said.params.items()}
    if said.params.get("finding") in words.FINDING:
        params["finding"] = words.fill(words.FINDING[str(said.params["finding"])][0], said.params)
    return words.fill(TEXT[said.code], {**params, **worded})


def _param(name: str, value: Scalar, currency: Workshop | str) -> Scalar:
    """Amounts with their sign, offers, roles and needs by name; numbers stay for ``words.fill``."""
    if name in MONEY and value is not None:
        amount = money(Decimal(str(value)), currency)
        if name == "saves":
            return _("%(amount)s of parts and labour without tax") % {"amount": amount}
        return _("%(amount)s without tax") % {"amount": amount} if name == "amount" else amount
    if name == "offer" and value in OfferName.values:
        return str(OfferName(str(value)).label)
    if name == "role":
        return role_words(str(value)).lower()
    if name == "chemistries":
        return ", ".join(str(CHEMISTRY.get(one, one)) for one in str(value).split(", "))
    if name == "need":
        return str(words.NEED.get(str(value), value))
    if name == "subject":
        return str(SUBJECT.get(str(value), value))
    return value


def named_finding(finding: Finding) -> Finding:
    """A finding of a selection with the names of its offers in place of their codes."""
    offer = finding.params.get("offer")
    if offer not in OfferName.values:
        return finding
    params = {**finding.params, "offer": str(OfferName(str(offer)).label)}
    return finding.model_copy(update={"params": params})


def why_words(made: OfferMade, currency: Workshop | str) -> str:
    return said_words(made.why, currency)


def lacks_words(made: OfferMade, currency: Workshop | str, totals: Mapping[str, Decimal]) -> tuple[str, ...]:
    """What the next cheaper lacks; what an offer saves is between what is to pay, ``totals`` by offer, tax included."""
    return tuple(said_words(one, currency, **_saved(one, made.offer, currency, totals)) for one in made.lacks)


def _saved(said: Said, own: str, currency: Workshop | str, totals: Mapping[str, Decimal]) -> dict[str, str]:
    other = str(said.params.get("offer"))
    if "saves" not in said.params or own not in totals or other not in totals:
        return {}
    amount = money(totals[own] - totals[other], currency)
    return {"saves": _("%(amount)s, tax included") % {"amount": amount}}


def fails_words(fails: Iterable[Said], currency: Workshop | str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(said_words(one, currency) for one in fails))


def wish_words(wish: Said, currency: Workshop | str) -> str:
    return said_words(wish, currency)


# --- The room ----------------------------------------------------------------------------------------

RAISED = (
    ("battery_ratio", lazy("the battery")),
    ("array_ratio", lazy("the solar array")),
    ("charging_ratio", lazy("charging from engine and mains")),
)


def room_words(start: Room, room: Room) -> tuple[str, ...]:
    """What the offer asks over the bare need, and by how much the proof raised it."""
    said = []
    for name, what in RAISED:
        first, now = getattr(start, name), getattr(room, name)
        asked = _("%(what)s %(share)s of the need") % {"what": what, "share": words.number_words(100 * now, "%")}
        if abs(now / first - 1) > 0.004:
            by = words.number_words(round(100 * (now / first - 1)), "%")
            said.append(_("%(asked)s, raised by %(by)s until the proof held") % {"asked": asked, "by": by})
        elif now != 1:
            said.append(asked)
    spare = ngettext("%(n)d spare output", "%(n)d spare outputs", room.spare_outputs) % {"n": room.spare_outputs}
    dark = _("dark at most in %(share)s") % {"share": words.number_words(100 * room.dark_chance_ratio, "%")}
    return (*said, spare, dark)


# --- The solver --------------------------------------------------------------------------------------


def solved_words(solved: Solved, raised: bool = False) -> str:
    """What is proved of an answer, in a sentence; ``raised``: more was asked, in steps, until a proof held."""
    count = count_words(solved.options)
    if solved.optimal and raised:
        return _(
            "Proved best of all systems that %(count)s make, for what was asked in the end. More was asked in steps "
            "after a system fell short, so a size between two steps was not tried."
        ) % {"count": count}
    if solved.optimal:
        return _("Proved best of all systems that %(count)s make: no better one meets what is asked.") % {
            "count": count
        }
    return _(
        "The best found of %(count)s in the time there was; a better one may exist, but by no more than %(gap)s."
    ) % {"count": count, "gap": words.number_words(100 * solved.gap_ratio, "%")}


def solved_rows(made: OfferMade) -> tuple[tuple[str, str], ...]:
    solved = made.solved
    return (
        (_("Chosen for"), str(OBJECTIVE[made.objective])),
        (_("Sum over the options chosen"), _amount(made, solved.objective)),
        (_("No choice can be below"), _amount(made, solved.bound)),
        (_("Gap"), words.number_words(100 * solved.gap_ratio, "%")),
        (_("Options, rows"), f"{format_number(solved.options)}, {format_number(solved.rows)}"),
        (_("Rounds of the solver"), format_number(solved.rounds)),
        (_("Systems worked through"), format_number(made.proofs)),
    )


def _amount(made: OfferMade, value: float) -> str:
    return words.number_words(value, "kg") if made.objective == "mass" else format_number(value, 2)


# --- What cannot be had together ---------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Fix:
    """Where somebody could let it give way."""

    words: str
    url: str = ""
    """Page where it is changed; empty where one press does it."""


def miss_label(one: Miss, currency: Workshop | str = "") -> str:
    return wish_words(one.wish, currency) if one.wish is not None else row_label(one)


_WISHES = ("job", "wishes", lazy("Change the wishes"))
_TRIP = ("job", "trip", lazy("Change the trip"))
_AUDIT = ("job", "audit", lazy("Change what runs"))
_CHOICE = ("offers", "choice", lazy("Change what to choose from"))
_SURVEY = ("vehicle", "", lazy("Change the survey"))
WHERE: Mapping[str, tuple[str, str, Any]] = {
    "capacity_ah": ("job", "wishes", lazy("Ask for fewer days of autonomy")),
    "array_w": ("job", "wishes", lazy("Ask for a smaller share from the sun")),
    "engine_a": _TRIP,
    "mains_a": _TRIP,
    "discharge_a": _AUDIT,
    "peak_a": _AUDIT,
    "inverter_w": _AUDIT,
    "inverter_va": _AUDIT,
    "inverter_surge_w": _AUDIT,
    "budget": _CHOICE,
    "mass_kg": _CHOICE,
    "roof_m2": _SURVEY,
    "battery_space_m2": _SURVEY,
    "pinned": _WISHES,
    "banned": _WISHES,
    "chemistries": _WISHES,
    "swapped": ("offers", "three", lazy("Let the part go")),
    "kept": ("job", "found", lazy("Change what is kept")),
    "suppliers_wanted": _CHOICE,
    "supplier_banned": _CHOICE,
    "mass": _CHOICE,
    "roof": _SURVEY,
    "battery_spaces": _SURVEY,
}
"""By the name of a row or the code of a wish: page, part of it, and what leads there."""


def fix_of(one: Miss, fitout: Fitout, currency: Workshop | str, asked: Steer | None = None) -> Fix | None:
    """Where it can give way: by one press where it is a wish of the choice, else on the page it was entered on.

    A limit that is another by now than was ``asked`` has no press: what was lacking was lacking to the old one.
    """
    eased = ease_of(one, fitout)
    if eased is not None and (asked is None or stands(eased, fitout, asked)):
        return Fix(_press_words(eased, currency))
    found = WHERE.get(one.wish.code if one.wish is not None else one.code.partition(":")[0])
    if found is None:
        return None
    page, part, said = found
    url = reverse(page, args=[fitout.vehicle_id if page == "vehicle" else fitout.pk])
    return Fix(str(said), f"{url}#{part}" if part else url)


def _press_words(eased: Ease, currency: Workshop | str) -> str:
    if eased.name == "budget":
        return _("Raise the budget to %(amount)s, tax included") % {"amount": money(eased.value, currency)}
    if eased.name == "most_mass_kg":
        return _("Let it weigh %(mass)s") % {"mass": words.number_words(eased.value, "kg")}
    if eased.name == "most_lead_days":
        return _("Wait as long as it takes")
    return _("Take what is not on the shelf too")
