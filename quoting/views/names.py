"""Names offered while somebody types one, as options of a datalist."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.views.decorators.http import require_safe

from catalog.queries import components_for
from catalog.typed import offers
from fitouts.queries import vehicles_for
from fitouts.views.access import needs


@require_safe
@needs()
def component_names(request: HttpRequest) -> HttpResponse:
    return _names(request, "component", components_for(request.user).filter(retired_at=None))


@require_safe
@needs()
def vehicle_names(request: HttpRequest) -> HttpResponse:
    rows = vehicles_for(request.user).filter(retired_at=None, customer__retired_at=None)
    return _names(request, "vehicle", rows.order_by("registration", "pk"))


def _names(request: HttpRequest, about: str, rows: QuerySet[Any]) -> HttpResponse:
    """Answer with names for the one value that is asked with, under whatever name its entry has."""
    text = next(iter(request.GET.values()), "")[:120]
    return render(request, "components/names.html", {"names": offers(about, rows, text, request.user)})


name_urls = [
    path("names/components/", component_names, name="component_names"),
    path("names/vehicles/", vehicle_names, name="vehicle_names"),
]
