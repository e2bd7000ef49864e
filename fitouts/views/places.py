"""Positions and cable runs, edited in place: a fragment for htmx, the whole page without it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from fitouts import queries
from fitouts.forms.vehicles import PositionForm, RunForm
from fitouts.models import Vehicle, VehiclePosition, VehicleRun
from fitouts.rules import can_survey
from fitouts.services import vehicles
from fitouts.starter_sets import BY_KEY
from fitouts.views.access import StaffRequest, needs
from fitouts.views.posting import carry_out
from fitouts.views.vehicles import places_context, vehicle_page


def _vehicle(request: StaffRequest, pk: int) -> Vehicle:
    return get_object_or_404(queries.vehicles_for(request.user), pk=pk)


def _show(request: StaffRequest, vehicle: Vehicle, **writing: Any) -> HttpResponse:
    if request.htmx:
        context = places_context(vehicle, request.user, oob=True, **writing)
        return render(request, "fitouts/_places.html", context)
    return vehicle_page(request, vehicle, **writing)


def _done(request: StaffRequest, vehicle: Vehicle) -> HttpResponse:
    if request.htmx:
        return _show(request, vehicle)
    return redirect(f"{reverse('vehicle', args=[vehicle.pk])}#places")


def _write(
    request: StaffRequest, vehicle: Vehicle, record: Any, form_class: type[Any], what: str, keep: Callable[..., Any]
) -> HttpResponse:
    form = form_class(request.POST or None, instance=record, prefix=what)
    if request.method == "POST" and form.is_valid() and carry_out(form, keep, by=request.user, **form.cleaned_data):
        return _done(request, vehicle)
    return _show(request, vehicle, writing=what, writing_pk=record.pk, form=form)


@needs(can_survey)
def position_add(request: StaffRequest, pk: int) -> HttpResponse:
    vehicle = _vehicle(request, pk)

    def keep(**values: Any) -> VehiclePosition:
        return vehicles.add_position(vehicle, **values)

    return _write(request, vehicle, VehiclePosition(vehicle=vehicle), PositionForm, "position", keep)


@needs(can_survey)
def position_edit(request: StaffRequest, pk: int, position: int) -> HttpResponse:
    vehicle = _vehicle(request, pk)
    record = get_object_or_404(VehiclePosition, pk=position, vehicle=vehicle)

    def keep(**values: Any) -> VehiclePosition:
        return vehicles.change_position(record, **values)

    return _write(request, vehicle, record, PositionForm, "position", keep)


@require_POST
@needs(can_survey)
def position_remove(request: StaffRequest, pk: int, position: int) -> HttpResponse:
    vehicle = _vehicle(request, pk)
    record = get_object_or_404(VehiclePosition, pk=position, vehicle=vehicle)
    try:
        vehicles.remove_position(record, by=request.user)
    except vehicles.PositionInUse as refused:
        messages.error(request, str(refused))
    return _done(request, vehicle)


@needs(can_survey)
def run_add(request: StaffRequest, pk: int) -> HttpResponse:
    vehicle = _vehicle(request, pk)

    def keep(**values: Any) -> VehicleRun:
        return vehicles.add_run(vehicle, **values)

    return _write(request, vehicle, VehicleRun(vehicle=vehicle), RunForm, "run", keep)


@needs(can_survey)
def run_edit(request: StaffRequest, pk: int, run: int) -> HttpResponse:
    vehicle = _vehicle(request, pk)
    record = get_object_or_404(VehicleRun, pk=run, vehicle=vehicle)

    def keep(**values: Any) -> VehicleRun:
        return vehicles.change_run(record, **values)

    return _write(request, vehicle, record, RunForm, "run", keep)


@require_POST
@needs(can_survey)
def run_remove(request: StaffRequest, pk: int, run: int) -> HttpResponse:
    vehicle = _vehicle(request, pk)
    vehicles.remove_run(get_object_or_404(VehicleRun, pk=run, vehicle=vehicle), by=request.user)
    return _done(request, vehicle)


@require_POST
@needs(can_survey)
def starter_set(request: StaffRequest, pk: int, key: str) -> HttpResponse:
    vehicle = _vehicle(request, pk)
    chosen = BY_KEY.get(key)
    if chosen is None:
        return redirect("vehicle", pk)
    try:
        vehicles.apply_starter_set(vehicle, chosen, by=request.user)
    except vehicles.SetNotApplicable as refused:
        messages.error(request, str(refused))
    return _done(request, vehicle)
