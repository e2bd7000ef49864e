"""What a list shows, as tables to take out: the same filter, the rows parted by the kind of table they fit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import django_filters
from django.db.models import Count, QuerySet

from catalog import sheets
from catalog.filters import ApplianceFilter, ComponentFilter, LabourFilter, SiteFilter, SupplierFilter
from catalog.queries import appliances_for, components_for, labour_for, sites_for, suppliers_for
from fitouts.filters import CustomerFilter, VehicleFilter
from fitouts.queries import customers_for, vehicles_for

FORMATS = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


@dataclass(frozen=True, slots=True)
class Source:
    """A list: its filter, its rows, and the field by which its rows are of several kinds of table."""

    rows: Callable[[Any], QuerySet[Any]]
    filterset: type[django_filters.FilterSet]
    parted_by: str = ""
    common: str = ""
    """A kind of table that holds all of them, though with fewer columns."""


LISTS = {
    "component": Source(components_for, ComponentFilter, parted_by="kind", common="prices"),
    "appliance": Source(appliances_for, ApplianceFilter, parted_by="way"),
    "labour": Source(labour_for, LabourFilter),
    "supplier": Source(suppliers_for, SupplierFilter),
    "site": Source(sites_for, SiteFilter),
    "customer": Source(customers_for, CustomerFilter),
    "vehicle": Source(vehicles_for, VehicleFilter),
}


@dataclass(frozen=True, slots=True)
class Part:
    """Rows of a list that one kind of table holds."""

    table: Any
    """A kind of table from ``catalog.sheets``."""
    rows: QuerySet[Any]
    count: int


def shown(about: str, request: Any) -> QuerySet[Any]:
    """The rows that the list shows to this person for these filters; none when a filter makes no sense."""
    source = LISTS[about]
    rows = source.rows(request.user)
    filterset = source.filterset(data=request.GET, queryset=rows, request=request)
    return filterset.qs if filterset.is_valid() else rows.none()


def parts(about: str, request: Any) -> list[Part]:
    """What the list shows, by kind of table. Two queries."""
    source, rows = LISTS[about], shown(about, request)
    if not source.parted_by:
        return _known(about, rows, rows.count(), request.user)
    counts = rows.order_by().values_list(source.parted_by).annotate(n=Count("pk")).order_by(source.parted_by)
    found: list[Part] = []
    for value, count in counts:
        found += _known(f"{about}:{value}", rows.filter(**{source.parted_by: value}), count, request.user)
    if source.common and len(found) != 1:
        found = _known(source.common, rows, sum(part.count for part in found), request.user) + found
    return found


def _known(code: str, rows: QuerySet[Any], count: int, user: Any) -> list[Part]:
    try:
        table = sheets.get(code)
    except LookupError:
        return []
    if not table.can_export(user):
        return []
    # the kind of table knows what it reads beside each record; the list knows which records, and in which order
    order = rows.query.order_by or rows.model._meta.ordering
    records = table.records().filter(pk__in=rows.order_by().values("pk")).order_by(*order)
    return [Part(table, records, count)]
