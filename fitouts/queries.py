"""Which rows, with what beside them."""

from __future__ import annotations

from typing import Any

from django.db.models import Count, OuterRef, Q, QuerySet, Subquery, Value
from django.db.models.functions import Coalesce

from catalog.finding import keys_with
from catalog.finding_words import asked_words
from fitouts.models import (
    Contact,
    Customer,
    Fitout,
    InstalledComponent,
    InstalledSystem,
    Instrument,
    User,
    Vehicle,
    VehiclePhoto,
    VehiclePosition,
    VehicleRun,
)
from fitouts.rules import is_staff_member


def customers_for(user: Any) -> QuerySet[Customer]:
    """Customers this person may see: all, for anybody of the workshop; none for anybody else."""
    return Customer.objects.all() if is_staff_member(user) else Customer.objects.none()


def customer_list(user: Any) -> QuerySet[Customer]:
    """Customers with how many vehicles and open jobs they have, counted only for the rows that are read."""
    vehicles = Vehicle.objects.filter(customer=OuterRef("pk"), retired_at=None)
    open_jobs = Fitout.objects.filter(customer=OuterRef("pk")).exclude(stage__in=["closed", "cancelled", "lost"])
    return (
        customers_for(user)
        .annotate(vehicle_count=_how_many(vehicles), job_count=_how_many(open_jobs))
        .order_by("name", "pk")
    )


def _how_many(rows: QuerySet[Any]) -> Coalesce:
    counted = rows.order_by().annotate(one=Value(1)).values("one").annotate(n=Count("pk")).values("n")
    return Coalesce(Subquery(counted), 0)


def contacts_for(user: Any) -> QuerySet[Contact]:
    return Contact.objects.filter(customer__in=customers_for(user)).select_related("customer")


def vehicles_for(user: Any) -> QuerySet[Vehicle]:
    """Vehicles this person may see, with their owner."""
    rows = Vehicle.objects.all() if is_staff_member(user) else Vehicle.objects.none()
    return rows.select_related("customer")


def vehicle_list(user: Any) -> QuerySet[Vehicle]:
    """Vehicles with their owner and what was last delivered in them."""
    last = InstalledSystem.objects.filter(vehicle=OuterRef("pk"), removed_on=None).order_by("-delivered_on", "-pk")
    return vehicles_for(user).annotate(installed_title=Subquery(last.values("title")[:1]))


def search_customers(rows: QuerySet[Customer], text: str) -> QuerySet[Customer]:
    """Customers with a word beginning so for each word of ``text``, in their own record or a contact's."""
    words = asked_words(text)
    if not words:
        return rows.none() if text.strip() else rows
    for word in words:
        talks = Contact.objects.filter(pk__in=keys_with("contact", word)).values("customer")
        rows = rows.filter(Q(pk__in=keys_with("customer", word)) | Q(pk__in=talks))
    return rows


def positions_of(vehicle: Vehicle) -> QuerySet[VehiclePosition]:
    return VehiclePosition.objects.filter(vehicle=vehicle)


def runs_of(vehicle: Vehicle) -> QuerySet[VehicleRun]:
    return VehicleRun.objects.filter(vehicle=vehicle).select_related("start", "end")


def photos_of(vehicle: Vehicle) -> QuerySet[VehiclePhoto]:
    return VehiclePhoto.objects.filter(vehicle=vehicle).select_related("added_by")


def photos_for(user: Any) -> QuerySet[VehiclePhoto]:
    return VehiclePhoto.objects.filter(vehicle__in=vehicles_for(user)).select_related("vehicle")


def jobs_of(**owner: Any) -> QuerySet[Fitout]:
    """Jobs of a customer or a vehicle, with both."""
    return Fitout.objects.filter(**owner).select_related("customer", "vehicle")


def installed_in(**owner: Any) -> QuerySet[InstalledComponent]:
    """Components in a customer's or a vehicle's systems, by serial, those removed left out."""
    return (
        InstalledComponent.objects.filter(removed_on=None, system__removed_on=None)
        .filter(**{f"system__{key}": value for key, value in owner.items()})
        .select_related("system", "system__vehicle", "system__fitout")
        .order_by("-system__delivered_on", "system", "pk")
    )


def people_for(user: Any) -> QuerySet[User]:
    """Accounts, the active first."""
    return User.objects.order_by("-is_active", "display_name", "username")


def instruments() -> QuerySet[Instrument]:
    return Instrument.objects.all()
