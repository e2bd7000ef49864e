"""Lists of the catalogue."""

from __future__ import annotations

from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog import kinds
from catalog.kinds.uses import WAYS
from catalog.models import Appliance, Component, LabourOperation, Site, Supplier
from catalog.quantities import UNIT_SPACE, format_number, format_quantity
from catalog.rules import can_edit_catalogue, can_see_money
from catalog.specs import rating
from catalog.templatetags.quantities import NOTHING


def _attrs(classes: str) -> dict[str, dict[str, str]]:
    return {"th": {"class": classes}, "td": {"class": classes}}


def _head(words: str, unit: str) -> SafeString:
    return format_html('{} <span class="u">{}{}</span>', words, UNIT_SPACE, unit)


class CatalogueTable(tables.Table):
    """Retired rows are dimmed; the first column leads to the record."""

    caption: Any = ""
    empty_words: Any = gettext_lazy("Show all, or add what is missing.")
    add_url = ""
    add_words: Any = ""

    def __init__(self, *args: Any, reader: Any, currency: str = "", **kwargs: Any) -> None:
        super().__init__(*args, row_attrs={"class": lambda record: "off" if record.is_retired else ""}, **kwargs)
        if can_edit_catalogue(reader) and self.add_url:
            self.empty_url, self.empty_press = reverse(self.add_url), self.add_words

    def link(self, record: Any, url: str, sub: Any) -> SafeString:
        retired = format_html(" {}", _("retired")) if record.is_retired else ""
        sub_html = format_html(' <span class="sub">{}</span>', sub) if sub else ""
        return format_html('<a href="{}">{}</a>{}{}', reverse(url, args=[record.pk]), record.name, retired, sub_html)


def _kind_and_rating(record: Component) -> tuple[str, Any]:
    """Three cells of a row read these; they are made once."""
    kept: tuple[str, Any] | None = record.__dict__.get("_kind_and_rating")
    if kept is None:
        try:
            kind = record.declaration
            kept = str(_(kind.label)), rating(kind, record.specification)
        except kinds.UnknownKind:
            kept = record.kind, record.rating
        record.__dict__["_kind_and_rating"] = kept
    return kept


class ComponentTable(CatalogueTable):
    name = tables.Column(verbose_name=gettext_lazy("Part"), order_by=("sort_key", "pk"))
    kind = tables.Column(verbose_name=gettext_lazy("Kind"), attrs=_attrs("lo"))
    rating = tables.Column(verbose_name=gettext_lazy("Rating"), orderable=False, attrs=_attrs("lo"), empty_values=())
    mass_kg = tables.Column(verbose_name="", attrs=_attrs("n lo"))
    cost = tables.Column(verbose_name="", attrs=_attrs("n"))
    stock = tables.Column(verbose_name=gettext_lazy("Shelf"), attrs=_attrs("n"))
    lead_days = tables.Column(verbose_name="", attrs=_attrs("n last"))
    supplier = tables.Column(verbose_name=gettext_lazy("Supplier"), attrs=_attrs("last"), orderable=False)

    caption = gettext_lazy("Components")
    add_url, add_words = "catalog:component_add", gettext_lazy("Add a component")

    class Meta:
        order_by = ("name",)
        empty_text = gettext_lazy("No component is like that.")

    def __init__(self, *args: Any, reader: Any, currency: str = "", **kwargs: Any) -> None:
        sees_money = can_see_money(reader)
        super().__init__(*args, reader=reader, exclude=() if sees_money else ("cost",), **kwargs)
        self.columns["mass_kg"].column.verbose_name = _head(_("Mass"), "kg")
        self.columns["lead_days"].column.verbose_name = _head(_("Lead"), _("days"))
        if sees_money:
            self.columns["cost"].column.verbose_name = _head(_("Cost"), currency)

    def render_name(self, record: Component) -> SafeString:
        kind, words = _kind_and_rating(record)
        return self.link(record, "catalog:component_detail", format_html("{}, {}", kind, words))

    def render_kind(self, record: Component) -> str:
        return _kind_and_rating(record)[0]

    def render_rating(self, record: Component) -> Any:
        return _kind_and_rating(record)[1] or NOTHING

    def render_mass_kg(self, value: float) -> str:
        return f"<{UNIT_SPACE}0.01" if 0 < value < 0.005 else format_number(value, 2)

    def render_cost(self, value: Any) -> str:
        return format_number(value, 2)

    def render_stock(self, value: int) -> str:
        return format_number(value)

    def render_lead_days(self, record: Component, value: int) -> str:
        return NOTHING if record.is_retired else format_number(value)


class ApplianceTable(CatalogueTable):
    name = tables.Column(verbose_name=gettext_lazy("Appliance"))
    group = tables.Column(verbose_name=gettext_lazy("Group"), attrs=_attrs("lo"))
    bus = tables.Column(verbose_name=gettext_lazy("Fed from"), attrs=_attrs("lo"))
    use = tables.Column(verbose_name=gettext_lazy("Use"), orderable=False)
    start_multiple = tables.Column(verbose_name="", attrs=_attrs("n last"))
    source = tables.Column(verbose_name=gettext_lazy("Source"), attrs=_attrs("last"))

    caption = gettext_lazy("Appliances")
    add_url, add_words = "catalog:appliance_add", gettext_lazy("Add an appliance")

    class Meta:
        order_by = ("name",)
        empty_text = gettext_lazy("No appliance is like that.")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.columns["start_multiple"].column.verbose_name = _head(_("Starts at"), _("× running"))

    def render_name(self, record: Appliance) -> SafeString:
        return self.link(record, "catalog:appliance_detail", record.get_bus_display())

    def render_use(self, record: Appliance) -> SafeString:
        way = WAYS[record.way]
        return format_html("{}: {}", _(way.label), rating(way, record.use))

    def render_start_multiple(self, value: float) -> str:
        return format_number(value, 1)


class LabourTable(CatalogueTable):
    name = tables.Column(verbose_name=gettext_lazy("Operation"))
    code = tables.Column(verbose_name=gettext_lazy("Code"), attrs=_attrs("lo"))
    minutes_per_unit = tables.Column(verbose_name="", attrs=_attrs("n"))
    unit = tables.Column(verbose_name=gettext_lazy("Per"))
    is_licensed = tables.Column(verbose_name=gettext_lazy("By"), attrs=_attrs("lo"))
    source = tables.Column(verbose_name=gettext_lazy("Source"), attrs=_attrs("last"))

    caption = gettext_lazy("Labour operations")
    add_url, add_words = "catalog:labour_add", gettext_lazy("Add an operation")

    class Meta:
        order_by = ("name",)
        empty_text = gettext_lazy("No operation is like that.")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.columns["minutes_per_unit"].column.verbose_name = _head(_("Time"), "min")

    def render_name(self, record: LabourOperation) -> SafeString:
        return self.link(record, "catalog:labour_detail", self.render_is_licensed(record.is_licensed))

    def render_minutes_per_unit(self, value: float) -> str:
        return format_number(value, 1)

    def render_is_licensed(self, value: bool) -> str:
        return _("licensed person") if value else _("technician")


class SupplierTable(CatalogueTable):
    name = tables.Column(verbose_name=gettext_lazy("Supplier"))
    contact = tables.Column(verbose_name=gettext_lazy("Contact"), attrs=_attrs("lo"))
    phone = tables.Column(verbose_name=gettext_lazy("Phone"), orderable=False)
    email = tables.Column(verbose_name=gettext_lazy("E-mail"), orderable=False, attrs=_attrs("lo"))
    closes_at = tables.Column(verbose_name=gettext_lazy("Orders until"), attrs=_attrs("last"))
    component_count = tables.Column(verbose_name=gettext_lazy("Components"), attrs=_attrs("n"))

    caption = gettext_lazy("Suppliers")
    add_url, add_words = "catalog:supplier_add", gettext_lazy("Add a supplier")

    class Meta:
        order_by = ("name",)
        empty_text = gettext_lazy("No supplier is like that.")

    def render_name(self, record: Supplier) -> SafeString:
        return self.link(record, "catalog:supplier_detail", record.contact)


class SiteTable(CatalogueTable):
    name = tables.Column(verbose_name=gettext_lazy("Place"))
    country = tables.Column(verbose_name=gettext_lazy("Country"), attrs=_attrs("lo"))
    latitude_deg = tables.Column(verbose_name="", attrs=_attrs("n lo"))
    longitude_deg = tables.Column(verbose_name="", attrs=_attrs("n lo"))
    least = tables.Column(verbose_name="", accessor="ghi_kwh_m2_day", orderable=False, attrs=_attrs("n"))
    most = tables.Column(verbose_name="", accessor="ghi_kwh_m2_day", orderable=False, attrs=_attrs("n lo"))
    coldest = tables.Column(verbose_name="", accessor="tmin_c", orderable=False, attrs=_attrs("n last"))
    source = tables.Column(verbose_name=gettext_lazy("Source"), attrs=_attrs("last"))

    caption = gettext_lazy("Places and their monthly climate")
    add_url, add_words = "catalog:site_add", gettext_lazy("Add a place")

    class Meta:
        order_by = ("country", "name")
        empty_text = gettext_lazy("No place is like that.")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        heads = {
            "latitude_deg": _head(_("Latitude"), "°"),
            "longitude_deg": _head(_("Longitude"), "°"),
            "least": _head(_("Least sun"), "kWh/m²/day"),
            "most": _head(_("Most sun"), "kWh/m²/day"),
            "coldest": _head(_("Coldest mean"), "°C"),
        }
        for name, words in heads.items():
            self.columns[name].column.verbose_name = words

    def render_name(self, record: Site) -> SafeString:
        link = self.link(record, "catalog:site_detail", record.country)
        if record.likely_error_ratio is None:
            return link
        likely = format_quantity(round(100 * record.likely_error_ratio), "%")
        return format_html(
            '{} <span class="u">{}</span>', link, _("estimate, ±%(likely)s a month") % {"likely": likely}
        )

    def render_latitude_deg(self, value: float) -> str:
        return format_number(value, 2)

    def render_longitude_deg(self, value: float) -> str:
        return format_number(value, 2)

    def render_least(self, value: list[float]) -> str:
        return format_number(min(value), 2)

    def render_most(self, value: list[float]) -> str:
        return format_number(max(value), 2)

    def render_coldest(self, value: list[float]) -> str:
        return format_number(min(value), 1)
