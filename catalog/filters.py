"""What lists can be narrowed by."""

from __future__ import annotations

from typing import Any

import django_filters
from django import forms
from django.db.models import Q, QuerySet
from django.utils.translation import gettext_lazy as _

from catalog import kinds
from catalog.form_fields import AmountField
from catalog.models import Appliance, Component, Site, Supplier
from catalog.queries import search_components
from catalog.rules import can_see_money
from catalog.templatetags.quantities import currency_symbol

SEARCH = forms.SearchInput(attrs={"autocomplete": "off"})


class AmountFilter(django_filters.Filter):
    field_class = AmountField


def kind_choices() -> list[tuple[str, str]]:
    return [(kind.code, str(_(kind.label))) for kind in kinds.all_kinds()]


class ComponentFilter(django_filters.FilterSet):
    q = django_filters.CharFilter(label=_("Part, maker or rating"), method="search", max_length=120, widget=SEARCH)
    kind = django_filters.ChoiceFilter(label=_("Kind"), choices=kind_choices, empty_label=_("all kinds"))
    supplier = django_filters.ModelChoiceFilter(
        label=_("Supplier"), queryset=Supplier.objects.all(), empty_label=_("any")
    )
    cost_up_to = AmountFilter(label=_("Cost up to"), field_name="cost", lookup_expr="lte")
    on_shelf = django_filters.BooleanFilter(label=_("On the shelf"), method="shelf", widget=forms.CheckboxInput)
    retired = django_filters.BooleanFilter(label=_("Retired too"), method="with_retired", widget=forms.CheckboxInput)

    class Meta:
        model = Component
        fields: list[str] = []

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not can_see_money(self.request.user):
            del self.filters["cost_up_to"]
        else:
            self.form.fields["cost_up_to"].unit = currency_symbol(getattr(self.request, "workshop", None))

    def filter_queryset(self, queryset: QuerySet[Component]) -> QuerySet[Component]:
        rows = super().filter_queryset(queryset)
        return rows if self.form.cleaned_data.get("retired") else rows.filter(retired_at=None)

    def search(self, rows: QuerySet[Component], name: str, value: str) -> QuerySet[Component]:
        return search_components(rows, value)

    def shelf(self, rows: QuerySet[Component], name: str, value: bool | None) -> QuerySet[Component]:
        return rows.filter(stock__gt=0) if value else rows

    def with_retired(self, rows: QuerySet[Component], name: str, value: bool | None) -> QuerySet[Component]:
        return rows


class _NamedFilter(django_filters.FilterSet):
    """Search by name, and retired ones on request."""

    q = django_filters.CharFilter(label=_("Name"), method="search", max_length=120, widget=SEARCH)
    retired = django_filters.BooleanFilter(label=_("Retired too"), method="with_retired", widget=forms.CheckboxInput)
    searched: tuple[str, ...] = ("name",)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.filters.move_to_end("retired")

    def filter_queryset(self, queryset: QuerySet[Any]) -> QuerySet[Any]:
        rows = super().filter_queryset(queryset)
        return rows if self.form.cleaned_data.get("retired") else rows.filter(retired_at=None)

    def search(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        for word in value.split()[:12]:
            found = Q()
            for field in self.searched:
                found |= Q(**{f"{field}__icontains": word})
            rows = rows.filter(found)
        return rows

    def with_retired(self, rows: QuerySet[Any], name: str, value: bool | None) -> QuerySet[Any]:
        return rows


class ApplianceFilter(_NamedFilter):
    group = django_filters.ChoiceFilter(label=_("Group"), choices=Appliance.Group.choices, empty_label=_("all groups"))
    bus = django_filters.ChoiceFilter(label=_("Fed from"), choices=Appliance.Bus.choices, empty_label=_("any bus"))
    way = django_filters.ChoiceFilter(label=_("Way of use"), choices=Appliance.Way.choices, empty_label=_("any way"))


class LabourFilter(_NamedFilter):
    searched = ("name", "code")


class AssemblyFilter(_NamedFilter):
    searched = ("name", "what_for")


class SupplierFilter(_NamedFilter):
    searched = ("name", "contact")


class SiteFilter(_NamedFilter):
    country = django_filters.ChoiceFilter(
        label=_("Country"), choices=lambda: _countries(), empty_label=_("any country")
    )


def _countries() -> list[tuple[str, str]]:
    codes = Site.objects.order_by("country").values_list("country", flat=True).distinct()
    return [(code, code) for code in codes]
