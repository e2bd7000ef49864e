"""Lists of records."""

from __future__ import annotations

from typing import Any

import django_tables2 as tables
from django.db.models import F, QuerySet
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitouts.models import Customer, Vehicle

LO = {"th": {"class": "lo"}, "td": {"class": "lo"}}
LAST = {"th": {"class": "last lo"}, "td": {"class": "last lo"}}
FIGURE = {"th": {"class": "n"}, "td": {"class": "n"}}
LO_FIGURE = {"th": {"class": "n lo"}, "td": {"class": "n lo"}}


def _off(record: Any) -> str:
    return "off" if record.retired_at else ""


class CustomerTable(tables.Table):
    name = tables.Column(verbose_name=gettext_lazy("Customer"))
    kind = tables.Column(verbose_name=gettext_lazy("Kind"), attrs=LO)
    phone = tables.Column(verbose_name=gettext_lazy("Phone"), orderable=False, attrs=LO)
    email = tables.Column(verbose_name=gettext_lazy("E-mail"), orderable=False, attrs=LAST)
    vehicle_count = tables.Column(verbose_name=gettext_lazy("Vehicles"), attrs=FIGURE)
    job_count = tables.Column(verbose_name=gettext_lazy("Open jobs"), attrs=FIGURE)

    class Meta:
        row_attrs = {"class": _off}
        order_by = "name"
        caption = gettext_lazy("Customers")

    def render_name(self, record: Customer) -> SafeString:
        return format_html(
            '<a href="{}">{}</a>{} <span class="sub">{}</span>',
            reverse("customer", args=[record.pk]),
            record.name,
            f" {_('retired')}" if record.retired_at else "",
            record.phone or record.get_kind_display(),
        )


class VehicleTable(tables.Table):
    registration = tables.Column(verbose_name=gettext_lazy("Registration"), empty_values=())
    vehicle = tables.Column(
        verbose_name=gettext_lazy("Vehicle"), accessor="make", order_by=("make", "model", "pk"), attrs=LO
    )
    customer = tables.Column(verbose_name=gettext_lazy("Owner"), accessor="customer__name")
    nominal_v = tables.Column(verbose_name=gettext_lazy("System"), attrs=LO_FIGURE)
    surveyed_on = tables.DateColumn(verbose_name=gettext_lazy("Surveyed"), format="j M Y", attrs=LO)
    installed_title = tables.Column(verbose_name=gettext_lazy("Installed"), orderable=False, attrs=LAST)

    class Meta:
        row_attrs = {"class": _off}
        order_by = "registration"

    def render_registration(self, record: Vehicle) -> SafeString:
        return format_html(
            '<a href="{}">{}</a>{} <span class="sub">{}</span>',
            reverse("vehicle", args=[record.pk]),
            record.registration or _("no plate"),
            f" {_('retired')}" if record.retired_at else "",
            record,
        )

    def render_vehicle(self, record: Vehicle) -> str:
        return f"{record}, {record.year}" if record.year else str(record)

    def render_nominal_v(self, value: int) -> SafeString:
        return format_html('{}&nbsp;<span class="u">V</span>', value)

    def order_surveyed_on(self, rows: QuerySet[Vehicle], is_descending: bool) -> tuple[QuerySet[Vehicle], bool]:
        key = F("surveyed_on").desc(nulls_last=True) if is_descending else F("surveyed_on").asc(nulls_last=True)
        return rows.order_by(key, "pk"), True
