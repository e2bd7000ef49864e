"""Lists of quoting."""

from __future__ import annotations

from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext_lazy as _

from fitouts.models import Fitout


class JobTable(tables.Table):  # type: ignore[misc]
    """Jobs: number and title, whose, at which stage."""

    number = tables.Column(verbose_name=_("Job"), attrs={"td": {"class": "q"}})
    title = tables.Column(verbose_name=_("Title"))
    customer = tables.Column(
        accessor="customer__name", verbose_name=_("Customer"), attrs={"th": {"class": "lo"}, "td": {"class": "lo"}}
    )
    vehicle = tables.Column(
        accessor="vehicle__registration",
        verbose_name=_("Vehicle"),
        attrs={"th": {"class": "last"}, "td": {"class": "last"}},
    )
    stage = tables.Column(verbose_name=_("Stage"))
    assigned_to = tables.Column(
        accessor="assigned_to__display_name",
        verbose_name=_("Looked after by"),
        attrs={"th": {"class": "last"}, "td": {"class": "last"}},
    )
    moved_at = tables.DateColumn(
        verbose_name=_("Since"), format="j M Y", attrs={"th": {"class": "n lo"}, "td": {"class": "n lo"}}
    )

    class Meta:
        model = Fitout
        fields = ("number", "title", "customer", "vehicle", "stage", "assigned_to", "moved_at")
        order_by = "-number"

    caption = _("Jobs")
    empty_text = _("No jobs here")
    empty_words = _("A job begins with an enquiry: whose vehicle it is and what it must run.")
    empty_press = _("Open a job")

    @property
    def empty_url(self) -> str:
        return reverse("job_add") if getattr(self, "can_open", False) else ""

    def render_number(self, record: Any, value: str) -> str:
        return format_html('<a href="{}">{}</a>', reverse("job", args=[record.pk]), value)

    def render_title(self, record: Any, value: str) -> str:
        return format_html('{} <span class="sub">{}</span>', value, record.customer.name)

    def render_vehicle(self, record: Any) -> str:
        return format_html('{} <span class="quiet q">{}</span>', record.vehicle, record.vehicle.registration)

    def render_assigned_to(self, record: Any) -> str:
        return str(record.assigned_to)
