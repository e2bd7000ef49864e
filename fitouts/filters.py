"""What the lists can be narrowed by."""

from __future__ import annotations

from typing import Any

import django_filters
from django import forms
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from catalog.finding import matching
from fitouts.models import Customer, Vehicle
from fitouts.queries import search_customers

SEARCH = forms.TextInput(attrs={"type": "search", "autocomplete": "off", "maxlength": 120})


def _retired() -> django_filters.BooleanFilter:
    return django_filters.BooleanFilter(label=_("Retired too"), method="any_row", widget=forms.CheckboxInput)


class _Living(django_filters.FilterSet):
    """Retired rows only when asked for, and so also when nothing is asked for."""

    def __init__(self, data: Any = None, *args: Any, **kwargs: Any) -> None:
        super().__init__({} if data is None else data, *args, **kwargs)

    def any_row(self, rows: QuerySet[Any], name: str, value: bool | None) -> QuerySet[Any]:
        return rows

    def filter_queryset(self, queryset: QuerySet[Any]) -> QuerySet[Any]:
        rows = super().filter_queryset(queryset)
        return rows if self.form.cleaned_data.get("retired") else rows.filter(retired_at=None)


class CustomerFilter(_Living):
    q = django_filters.CharFilter(
        label=_("Name, phone, e-mail or contact"), method="words", max_length=120, widget=SEARCH
    )
    kind = django_filters.ChoiceFilter(label=_("Kind"), choices=Customer.Kind.choices, empty_label=_("both kinds"))
    retired = _retired()

    class Meta:
        model = Customer
        fields: list[str] = []

    def words(self, rows: QuerySet[Customer], name: str, value: str) -> QuerySet[Customer]:
        return search_customers(rows, value)


class VehicleFilter(_Living):
    q = django_filters.CharFilter(
        label=_("Registration, VIN, make or owner"), method="words", max_length=120, widget=SEARCH
    )
    nominal_v = django_filters.ChoiceFilter(
        label=_("System"), choices=[(12, "12 V"), (24, "24 V")], empty_label=_("12 and 24 V")
    )
    retired = _retired()

    class Meta:
        model = Vehicle
        fields: list[str] = []

    def words(self, rows: QuerySet[Vehicle], name: str, value: str) -> QuerySet[Vehicle]:
        return matching(rows, "vehicle", value)
