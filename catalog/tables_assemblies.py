"""The list of assemblies."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.models import Assembly
from catalog.quantities import UNIT_SPACE, format_number
from catalog.rules import can_see_money
from catalog.tables import CatalogueTable
from catalog.templatetags.quantities import NOTHING


@dataclass(frozen=True, slots=True)
class RowSum:
    """What an assembly comes to for one of everything that is counted."""

    line_count: int
    mass_kg: float
    amount: Decimal | None
    has_retired: bool


def _attrs(classes: str) -> dict[str, dict[str, str]]:
    return {"th": {"class": classes}, "td": {"class": classes}}


def _head(words: str, unit: str) -> SafeString:
    return format_html('{} <span class="u">{}{}</span>', words, UNIT_SPACE, unit)


class AssemblyTable(CatalogueTable):
    name = tables.Column(verbose_name=gettext_lazy("Assembly"))
    newest = tables.Column(verbose_name=gettext_lazy("Version"), attrs=_attrs("n lo"))
    line_count = tables.Column(
        verbose_name=gettext_lazy("Lines"), empty_values=(), orderable=False, attrs=_attrs("n lo")
    )
    mass = tables.Column(verbose_name="", empty_values=(), orderable=False, attrs=_attrs("n lo"))
    price = tables.Column(verbose_name="", empty_values=(), orderable=False, attrs=_attrs("n"))
    job_count = tables.Column(verbose_name=gettext_lazy("Jobs"), attrs=_attrs("n"))

    caption = gettext_lazy("Assemblies")
    add_url, add_words = "catalog:assembly_add", gettext_lazy("Add an assembly")
    sums: dict[int, RowSum] = {}

    class Meta:
        order_by = ("name",)
        empty_text = gettext_lazy("No assembly is like that.")

    def __init__(self, *args: Any, reader: Any, currency: str = "", **kwargs: Any) -> None:
        sees_money = can_see_money(reader)
        super().__init__(*args, reader=reader, exclude=() if sees_money else ("price",), **kwargs)
        self.columns["mass"].column.verbose_name = _head(_("Mass"), "kg")
        if sees_money:
            self.columns["price"].column.verbose_name = _head(_("Price"), currency)

    def render_name(self, record: Assembly) -> SafeString:
        found = self.sums.get(record.pk)
        warning = _("A part of it is retired.") if found and found.has_retired else ""
        return self.link(record, "catalog:assembly_detail", warning or record.what_for)

    def render_newest(self, value: int | None) -> str:
        return NOTHING if value is None else format_number(value)

    def render_line_count(self, record: Assembly) -> str:
        found = self.sums.get(record.pk)
        return format_number(found.line_count) if found else NOTHING

    def render_mass(self, record: Assembly) -> str:
        found = self.sums.get(record.pk)
        return format_number(found.mass_kg, 2) if found else NOTHING

    def render_price(self, record: Assembly) -> str:
        found = self.sums.get(record.pk)
        return NOTHING if found is None or found.amount is None else format_number(found.amount, 2)

    def render_job_count(self, value: int) -> str:
        return format_number(value)
