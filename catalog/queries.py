"""Which rows, with what beside them."""

from __future__ import annotations

from typing import Any

from django.contrib.auth import get_user_model
from django.db.models import Count, Q, QuerySet

from catalog.finding import matching
from catalog.models import Appliance, Component, LabourOperation, PriceChange, Site, Supplier
from catalog.models.base import CatalogueQuerySet


def components_for(user: Any) -> CatalogueQuerySet:
    """Components with their supplier, for lists and pages."""
    return Component.objects.visible_to(user).select_related("supplier")


def search_components(rows: QuerySet[Component], text: str) -> QuerySet[Component]:
    """Rows with a word beginning so, for each word of ``text``, in name, maker, part number, kind or rating.

    "12 V" stays together. The index answers; nothing is read through.
    """
    return matching(rows, "component", text)


def suppliers_for(user: Any) -> QuerySet[Supplier]:
    return (
        Supplier.objects.visible_to(user)
        .annotate(component_count=Count("components", filter=Q(components__retired_at=None)))
        .order_by("name")
    )


def appliances_for(user: Any) -> QuerySet[Appliance]:
    return Appliance.objects.visible_to(user)


def labour_for(user: Any) -> QuerySet[LabourOperation]:
    return LabourOperation.objects.visible_to(user)


def sites_for(user: Any) -> QuerySet[Site]:
    return Site.objects.visible_to(user)


def price_changes_of(component: Component) -> QuerySet[PriceChange]:
    return component.price_changes.all()


def people_by_id(ids: set[int | None]) -> dict[int | None, str]:
    """Names of the people behind history rows, in one query."""
    return {
        person.pk: str(person)
        for person in get_user_model().objects.filter(pk__in=[pk for pk in ids if pk is not None])
    }
