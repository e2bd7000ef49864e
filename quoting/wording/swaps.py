"""A part swapped by hand, in words: what was changed, and what got worse by it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal

from django.utils.translation import gettext as _

from catalog.quantities import format_number
from quoting import words
from quoting.sizing.brief_choosing import Pick, Room
from quoting.sizing.selecting.records import Facts
from quoting.wording.roles import role_words


def swap_words(before: Iterable[Pick], after: Iterable[Pick], names: Mapping[str, str]) -> str:
    """What stands in each role in place of what the programme chose."""
    old = {pick.role: pick for pick in before}
    changed = [pick for pick in after if _differs(pick, old.get(pick.role))]
    return "; ".join(_one(pick, old.get(pick.role), names) for pick in changed)


def _differs(pick: Pick, old: Pick | None) -> bool:
    return old is None or (pick.part, pick.quantity, pick.series) != (old.part, old.quantity, old.series)


def _one(pick: Pick, old: Pick | None, names: Mapping[str, str]) -> str:
    said = {"role": role_words(pick.role), "now": _pieces(pick, names)}
    if old is None:
        return _("%(role)s: %(now)s") % said
    return _("%(role)s: %(now)s in place of %(before)s") % {**said, "before": _pieces(old, names)}


def _pieces(pick: Pick, names: Mapping[str, str]) -> str:
    name = names.get(pick.part, pick.part)
    return name if pick.quantity == 1 else f"{pick.quantity} × {name}"


def worse_words(before: Facts, after: Facts) -> list[str]:
    """What a system has worse than another, each a sentence with both numbers."""
    return [*_worse_of_money(before, after), *_worse_of_trip(before, after), *_worse_of_parts(before, after)]


def limit_words(facts: Facts, room: Room, total: Decimal, budget: Decimal | None, most_kg: float | None) -> list[str]:
    """What a system made by hand goes beyond: the chance of its offer, the budget, what may be carried."""
    said = []
    dark = facts.dark_chance_ratio
    if dark is not None and dark > room.dark_chance_ratio:
        sentence = _("It goes dark in %(now)s of the weathers; its offer allows %(most)s.")
        shown = {
            "now": words.number_words(100 * dark, "%"),
            "most": words.number_words(100 * room.dark_chance_ratio, "%"),
        }
        said.append(sentence % shown)
    if budget is not None and total > budget:
        sentence = _("It comes to %(total)s with tax, over the budget of %(budget)s.")
        said.append(sentence % {"total": format_number(total, 2), "budget": format_number(budget, 2)})
    if most_kg is not None and facts.mass_kg > most_kg:
        sentence = _("It weighs %(over)s more than the %(most)s that may be carried.")
        over = words.number_words(facts.mass_kg - most_kg, "kg")
        said.append(sentence % {"over": over, "most": words.number_words(most_kg, "kg")})
    return said


def _worse_of_money(before: Facts, after: Facts) -> Iterator[str]:
    if Decimal(after.price) > Decimal(before.price):
        more = format_number(Decimal(after.price) - Decimal(before.price), 2)
        yield _("It costs %(more)s more, without tax.") % {"more": more}
    if before.cost_per_year and after.cost_per_year and Decimal(after.cost_per_year) > Decimal(before.cost_per_year):
        more = format_number(Decimal(after.cost_per_year) - Decimal(before.cost_per_year), 2)
        yield _("It costs %(more)s more a year.") % {"more": more}


def _worse_of_trip(before: Facts, after: Facts) -> Iterator[str]:
    for old, new, said in (
        (
            before.days_without_charging,
            after.days_without_charging,
            _("It lasts %(now)s without charging instead of %(old)s."),
        ),
        (before.flat_days, after.flat_days, _("It is flat after %(now)s in the hardest place instead of %(old)s.")),
    ):
        if new is not None and (old is None or round(new, 2) < round(old, 2)):
            was = _("over a year") if old is None else words.number_words(old, "days")
            yield said % {"now": words.number_words(new, "days"), "old": was}
    dark = before.dark_chance_ratio, after.dark_chance_ratio
    if dark[0] is not None and dark[1] is not None and dark[1] > dark[0]:
        yield _("An essential load goes dark in %(now)s of the weathers instead of %(old)s.") % {
            "now": words.number_words(100 * dark[1], "%"),
            "old": words.number_words(100 * dark[0], "%"),
        }
    years = before.battery_years, after.battery_years
    if years[0] is not None and years[1] is not None and round(years[1], 1) < round(years[0], 1):
        yield _("The battery lasts %(now)s years instead of %(old)s.") % {
            "now": format_number(round(years[1], 1)),
            "old": format_number(round(years[0], 1)),
        }


def _worse_of_parts(before: Facts, after: Facts) -> Iterator[str]:
    if round(after.mass_kg - before.mass_kg, 2) > 0:
        yield _("It weighs %(more)s more.") % {"more": words.number_words(after.mass_kg - before.mass_kg, "kg")}
    if after.spare_outputs < before.spare_outputs:
        yield _("It leaves %(now)d outputs free instead of %(old)d.") % {
            "now": after.spare_outputs,
            "old": before.spare_outputs,
        }
    if after.lead_days > before.lead_days:
        yield _("It waits %(now)d days for %(name)s instead of %(old)d.") % {
            "now": after.lead_days,
            "old": before.lead_days,
            "name": after.waits_for or _("its parts"),
        }
