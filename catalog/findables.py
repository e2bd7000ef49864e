"""What of the catalogue can be found by typing words. No line holds money: technicians find everything too."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from django.urls import NoReverseMatch, reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog import kinds
from catalog.finding import Hit, findable
from catalog.models import Appliance, Assembly, Component, LabourOperation, Site, Supplier
from catalog.words import labour_time


def address(name: str, *args: object, otherwise: str = "") -> str:
    """Where a record is opened; ``otherwise`` while it has no page of its own."""
    try:
        return reverse(name, args=args)
    except NoReverseMatch:
        return otherwise


def joined(*words: object) -> str:
    """What is there of these, in one line."""
    return ", ".join(str(word) for word in words if word)


def _kind_words(component: Component) -> str:
    try:
        return str(_(component.declaration.label))
    except kinds.UnknownKind:
        return component.kind


def _readable(model: Any) -> Any:
    def rows(user: Any) -> QuerySet[Any]:
        return model.objects.visible_to(user)

    return rows


def _line(section: str, sub: Any) -> Any:
    def line(row: Any, user: Any) -> Hit:
        return Hit(row.name, sub(row), address(f"catalog:{section}_detail", row.pk), row.is_retired)

    return line


def declare() -> None:
    """Called once, when the app is ready."""
    findable(
        "component",
        Component,
        label=gettext_lazy("Component"),
        texts=lambda row: (row.name, row.maker, _kind_words(row), row.rating),
        keys=lambda row: (row.part_number,),
        line=_line("component", lambda row: joined(_kind_words(row), row.maker, row.part_number)),
        visible=_readable(Component),
        page="catalog:component_detail",
    )
    findable(
        "assembly",
        Assembly,
        label=gettext_lazy("Assembly"),
        texts=lambda row: (row.name, row.what_for),
        line=_line("assembly", lambda row: row.what_for),
        visible=_readable(Assembly),
        page="catalog:assembly_detail",
    )
    findable(
        "appliance",
        Appliance,
        label=gettext_lazy("Appliance"),
        texts=lambda row: (row.name, row.get_group_display()),
        line=_line("appliance", lambda row: joined(row.get_group_display(), row.get_bus_display())),
        visible=_readable(Appliance),
        page="catalog:appliance_detail",
    )
    findable(
        "labour",
        LabourOperation,
        label=gettext_lazy("Labour"),
        texts=lambda row: (row.name, row.code),
        line=_line("labour", lambda row: labour_time(row.minutes_per_unit, row.unit)),
        visible=_readable(LabourOperation),
        page="catalog:labour_detail",
    )
    findable(
        "supplier",
        Supplier,
        label=gettext_lazy("Supplier"),
        texts=lambda row: (row.name, row.contact, row.email),
        keys=lambda row: (row.phone, row.account_no),
        line=_line("supplier", lambda row: joined(row.contact, row.phone)),
        visible=_readable(Supplier),
        page="catalog:supplier_detail",
    )
    findable(
        "site",
        Site,
        label=gettext_lazy("Place"),
        texts=lambda row: (row.name, row.country),
        line=_line("site", lambda row: row.country),
        visible=_readable(Site),
        page="catalog:site_detail",
    )
