"""Roof areas and battery spaces of a vehicle: measured, changed, taken out."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from catalog.conflicts import watch
from fitouts import queries
from fitouts.forms.space import BatterySpaceForm, RoofAreaForm
from fitouts.models import BatterySpace, RoofArea, Vehicle
from fitouts.rules import can_survey
from fitouts.services import space
from fitouts.views.access import StaffRequest, needs
from fitouts.views.posting import carry_out


def _vehicle(request: StaffRequest, pk: int) -> Vehicle:
    return get_object_or_404(queries.vehicles_for(request.user), pk=pk)


def _back(vehicle: Vehicle) -> str:
    return f"{reverse('vehicle', args=[vehicle.pk])}#room"


def _write(
    request: StaffRequest, record: Any, form_class: type[Any], template: str, keep: Callable[..., Any]
) -> HttpResponse:
    """One form on a page of its own; what somebody else changed meanwhile is told first."""
    vehicle, title = record.vehicle, record.name
    form = form_class(request.POST or None, instance=record)
    if record.pk:
        watch(form, record, request.POST, reader=request.user)
    if request.method == "POST" and form.is_valid() and carry_out(form, keep, by=request.user, **form.cleaned_data):
        messages.success(request, _("Saved. Designs keep their figures until they are worked out again."))
        return redirect(_back(vehicle))
    context = {"vehicle": vehicle, "form": form, "record": record, "title": title, "back": _back(vehicle)}
    return render(request, template, context, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
@needs(can_survey)
def roof_add(request: StaffRequest, pk: int) -> HttpResponse:
    vehicle = _vehicle(request, pk)

    def keep(**values: Any) -> RoofArea:
        return space.add_area(vehicle, **values)

    return _write(request, RoofArea(vehicle=vehicle), RoofAreaForm, "fitouts/roof_area_form.html", keep)


@require_http_methods(["GET", "HEAD", "POST"])
@needs(can_survey)
def roof_edit(request: StaffRequest, pk: int, area: int) -> HttpResponse:
    record = get_object_or_404(RoofArea, pk=area, vehicle=_vehicle(request, pk))

    def keep(**values: Any) -> RoofArea:
        return space.change_area(record, **values)

    return _write(request, record, RoofAreaForm, "fitouts/roof_area_form.html", keep)


@require_POST
@needs(can_survey)
def roof_remove(request: StaffRequest, pk: int, area: int) -> HttpResponse:
    vehicle = _vehicle(request, pk)
    space.remove_area(get_object_or_404(RoofArea, pk=area, vehicle=vehicle), by=request.user)
    messages.success(request, _("The roof area is taken out. Its history stays."))
    return redirect(_back(vehicle))


@require_http_methods(["GET", "HEAD", "POST"])
@needs(can_survey)
def battery_space_add(request: StaffRequest, pk: int) -> HttpResponse:
    vehicle = _vehicle(request, pk)

    def keep(**values: Any) -> BatterySpace:
        return space.add_space(vehicle, **values)

    return _write(request, BatterySpace(vehicle=vehicle), BatterySpaceForm, "fitouts/battery_space_form.html", keep)


@require_http_methods(["GET", "HEAD", "POST"])
@needs(can_survey)
def battery_space_edit(request: StaffRequest, pk: int, space_pk: int) -> HttpResponse:
    record = get_object_or_404(BatterySpace, pk=space_pk, vehicle=_vehicle(request, pk))

    def keep(**values: Any) -> BatterySpace:
        return space.change_space(record, **values)

    return _write(request, record, BatterySpaceForm, "fitouts/battery_space_form.html", keep)


@require_POST
@needs(can_survey)
def battery_space_remove(request: StaffRequest, pk: int, space_pk: int) -> HttpResponse:
    vehicle = _vehicle(request, pk)
    space.remove_space(get_object_or_404(BatterySpace, pk=space_pk, vehicle=vehicle), by=request.user)
    messages.success(request, _("The battery space is taken out. Its history stays."))
    return redirect(_back(vehicle))
