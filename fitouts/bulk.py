"""Customers and vehicles are retired and taken back many at once; and what of them uses the catalogue."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.db.models import Q
from django.utils.translation import gettext_lazy, ngettext

from catalog import forms_bulk
from catalog.bulk import BulkType, declare, used_by
from catalog.bulk_types import phrase
from fitouts import queries
from fitouts.filters import CustomerFilter, VehicleFilter
from fitouts.models import Customer, Fitout, InstalledSystem, Stage, Vehicle
from fitouts.rules import can_edit_customers

OVER = (Stage.CLOSED, Stage.CANCELLED, Stage.LOST)
OPEN_JOBS = ("%(n)d job under way", "%(n)d jobs under way")


def _open_jobs(condition: Q) -> Any:
    return Fitout.objects.exclude(stage__in=OVER).filter(condition)


def _asked_for(keys: Sequence[int]) -> str:
    """Jobs under way whose wishes name one of these components. A list in JSON is looked through here, not asked of
    the database: not every database can."""
    wanted = set(keys)
    pinned = _open_jobs(~Q(pinned=[])).values_list("pinned", flat=True)
    count = sum(bool(wanted.intersection(map(int, each))) for each in pinned)
    words = ngettext("%(n)d job that asks for it by name", "%(n)d jobs that ask for it by name", count)
    return words % {"n": count} if count else ""


def declare_all() -> None:
    """Called once, when the app is ready."""
    for about, plural, model, rows, filterset in (
        ("customer", gettext_lazy("Customers"), Customer, queries.customers_for, CustomerFilter),
        ("vehicle", gettext_lazy("Vehicles"), Vehicle, queries.vehicles_for, VehicleFilter),
    ):
        declare(
            BulkType(
                about=about,
                section="",
                plural=plural,
                model=model,
                rows=rows,
                filterset=filterset,
                list_name=f"{about}_list",
                page_name=about,
                may=can_edit_customers,
                forms=forms_bulk.STATE_FORMS,
            )
        )
    used_by("customer", phrase(*OPEN_JOBS, lambda keys: _open_jobs(Q(customer__in=keys))))
    vehicles_in_use = ("%(n)d vehicle in use", "%(n)d vehicles in use")
    used_by(
        "customer", phrase(*vehicles_in_use, lambda keys: Vehicle.objects.filter(customer__in=keys, retired_at=None))
    )
    used_by("vehicle", phrase(*OPEN_JOBS, lambda keys: _open_jobs(Q(vehicle__in=keys) | Q(trailer__in=keys))))
    systems = ("%(n)d system in a vehicle", "%(n)d systems in vehicles")
    used_by(
        "component",
        phrase(
            *systems,
            lambda keys: InstalledSystem.objects.filter(
                removed_on=None, components__component__in=keys, components__removed_on=None
            ),
        ),
    )
    used_by("component", _asked_for)
