"""The list of packages."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.formats import date_format
from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.quantities import format_number
from catalog.templatetags.quantities import NOTHING, currency_symbol
from fitouts.models import JobPackage


def _attrs(classes: str) -> dict[str, dict[str, str]]:
    return {"th": {"class": classes}, "td": {"class": classes}}


class PackageTable(tables.Table):  # type: ignore[misc]
    """Packages: for which vehicle, which version, what it came to when it was last priced."""

    name = tables.Column(verbose_name=gettext_lazy("Package"))
    vehicle = tables.Column(
        verbose_name=gettext_lazy("For"), accessor="model", order_by=("make", "model"), attrs=_attrs("lo")
    )
    version = tables.Column(verbose_name=gettext_lazy("Version"), attrs=_attrs("n"))
    kept_at = tables.DateColumn(verbose_name=gettext_lazy("Kept"), format="j M Y", attrs=_attrs("n lo"))
    last_price = tables.Column(verbose_name="", empty_values=(), accessor="price", orderable=False, attrs=_attrs("n"))

    class Meta:
        order_by = ("name",)

    caption = gettext_lazy("Packages")
    empty_text = gettext_lazy("No package here")
    empty_words = gettext_lazy(
        "Keep a job as a package at the foot of its page; the next one of its model starts from it."
    )
    empty_press = gettext_lazy("Show the jobs")

    def __init__(self, *args: Any, sees_money: bool, currency: Any = None, **kwargs: Any) -> None:
        row_attrs = {"class": lambda record: "off" if record.retired_at else ""}
        super().__init__(*args, exclude=() if sees_money else ("last_price",), row_attrs=row_attrs, **kwargs)
        if sees_money:
            head = format_html('{} <span class="u">{}</span>', _("To pay, last priced"), currency_symbol(currency))
            self.columns["last_price"].column.verbose_name = head

    @property
    def empty_url(self) -> str:
        return reverse("job_list")

    def render_name(self, record: JobPackage, value: str) -> str:
        retired = format_html(" {}", _("retired")) if record.retired_at else ""
        sub = format_html(' <span class="sub">{} {}</span>', record.make, record.model)
        return format_html('<a href="{}">{}</a>{}{}', reverse("package_detail", args=[record.pk]), value, retired, sub)

    def render_vehicle(self, record: JobPackage) -> str:
        return f"{record.make} {record.model}"

    def render_last_price(self, record: JobPackage) -> str:
        kept = getattr(record, "price", None)
        if kept is None:
            return NOTHING
        amount = format_number(Decimal(kept.result["money"]["total"]), 2)
        return format_html('{}<br><small class="quiet">{}</small>', amount, date_format(kept.made_at, "j M Y"))
