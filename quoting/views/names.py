"""Names offered while somebody types one, as options of a datalist."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.views.decorators.http import require_safe

from catalog.typed import offers
from fitouts.views.access import needs


@require_safe
@needs()
def component_names(request: HttpRequest) -> HttpResponse:
    return _names(request, "component")


@require_safe
@needs()
def vehicle_names(request: HttpRequest) -> HttpResponse:
    return _names(request, "vehicle")


@require_safe
@needs()
def appliance_names(request: HttpRequest) -> HttpResponse:
    return _names(request, "appliance")


def _names(request: HttpRequest, about: str) -> HttpResponse:
    """Answer with names for the one value that is asked with, under whatever name its entry has."""
    text = str(next(iter(request.GET.values()), ""))[:120]
    return render(request, "components/names.html", {"names": offers(about, text, request.user)})


name_urls = [
    path("names/components/", component_names, name="component_names"),
    path("names/appliances/", appliance_names, name="appliance_names"),
    path("names/vehicles/", vehicle_names, name="vehicle_names"),
]
