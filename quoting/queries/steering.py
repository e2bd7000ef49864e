"""What a job wishes of the choice of components, as its page shows it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.text import capfirst
from django.utils.translation import gettext as _

from catalog.models import Component, Supplier
from catalog.quantities import format_number
from fitouts.models import Fitout
from quoting import words
from quoting.wording.steering import STEERING_WORDS


@dataclass(frozen=True, slots=True)
class SupplierWished:
    """A supplier that is preferred, or ruled out."""

    pk: int
    name: str
    is_banned: bool


@dataclass(frozen=True, slots=True)
class Steering:
    """Wishes of the choice: what is said of them, and the suppliers one by one."""

    said: tuple[tuple[str, str], ...]
    suppliers: tuple[SupplierWished, ...]


def steering_of(fitout: Fitout, *, with_money: bool) -> Steering:
    """What a job wishes of the choice; the budget only for those who see money."""
    said: list[tuple[str, str]] = []
    if with_money and fitout.budget is not None:
        said.append((_label("budget"), format_number(fitout.budget, 2)))
    if fitout.most_mass_kg is not None:
        said.append((_label("most_mass_kg"), words.number_words(fitout.most_mass_kg, "kg")))
    if fitout.most_lead_days is not None:
        said.append((_label("most_lead_days"), words.number_words(fitout.most_lead_days, "d")))
    if fitout.prefer_stock:
        said.append((_label("prefer_stock"), _("yes")))
    return Steering(tuple(said), tuple(suppliers_of(fitout)))


def suppliers_of(fitout: Fitout) -> list[SupplierWished]:
    """Suppliers preferred, then those ruled out, by name."""
    names = names_in(fitout)
    return [
        SupplierWished(key, names[column].get(key, f"#{key}"), column == "suppliers_banned")
        for column in ("suppliers_wanted", "suppliers_banned")
        for key in sorted(getattr(fitout, column), key=lambda key: names[column].get(key, ""))
    ]


def names_in(fitout: Fitout) -> dict[str, Mapping[int, str]]:
    """By column of a job: names of the components and suppliers that its wishes hold by key."""
    parts, firms = [*fitout.pinned, *fitout.banned], [*fitout.suppliers_wanted, *fitout.suppliers_banned]
    of_parts = dict(Component.objects.filter(pk__in=parts).values_list("pk", "name")) if parts else {}
    of_firms = dict(Supplier.objects.filter(pk__in=firms).values_list("pk", "name")) if firms else {}
    return {
        "pinned": of_parts,
        "banned": of_parts,
        "suppliers_wanted": of_firms,
        "suppliers_banned": of_firms,
    }


def _label(name: str) -> str:
    return capfirst(STEERING_WORDS[name]())
