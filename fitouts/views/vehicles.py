"""Vehicles: list, page, identity, survey."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.db.models import Q, prefetch_related_objects
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST
from django_filters.views import FilterView
from django_tables2 import SingleTableMixin

from catalog.changes import changes
from catalog.conflicts import watch
from catalog.paging import LongListPaginator
from catalog.views.picking import PickRows
from fitouts import queries, queries_joined
from fitouts.filters import VehicleFilter
from fitouts.forms.vehicles import PhotoForm, SurveyForm, VehicleForm
from fitouts.models import BatterySpace, Hitch, RoofArea, Vehicle, VehiclePosition, VehicleRun
from fitouts.rules import can_edit_customers, can_edit_vehicles, can_survey, is_staff_member
from fitouts.services import vehicles
from fitouts.starter_sets import SETS, suggested
from fitouts.tables import VehicleTable
from fitouts.views.access import RuleRequired, StaffRequest, needs
from fitouts.views.posting import carry_out
from fitouts.vin import NORTH_AMERICA


class VehicleList(RuleRequired, PickRows, SingleTableMixin, FilterView):
    pick_about = "vehicle"
    rule = staticmethod(is_staff_member)
    template_name = "fitouts/vehicle_list.html"
    table_class = VehicleTable
    filterset_class = VehicleFilter
    table_pagination = {"per_page": 40, "paginator_class": LongListPaginator}
    strict = False

    def get_queryset(self) -> Any:
        return queries.vehicle_list(self.request.user)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        context = super().get_context_data(**kwargs)
        context["may_edit"] = can_edit_customers(self.request.user)
        context["table"].empty_text = _("No vehicle like that. Look for less, or tick “Retired too”.")
        return context


def places_context(vehicle: Vehicle, user: Any, **more: Any) -> dict[str, Any]:
    """Positions and cable runs with the row being written, for the page and for its fragment."""
    return {
        "vehicle": vehicle,
        "positions": list(queries.positions_of(vehicle)),
        "runs": list(queries.runs_of(vehicle)),
        "sets": SETS,
        "suggested": suggested(vehicle.body),
        "may_survey": can_survey(user),
        **more,
    }


def vehicle_page(request: StaffRequest, vehicle: Vehicle, *, status: int = 200, **more: Any) -> HttpResponse:
    """The whole page of a vehicle."""
    history = vehicle.history.all()
    prefetch_related_objects([vehicle], "roof_areas", "battery_spaces")
    context = places_context(vehicle, request.user)
    names = {position.pk: position.name for position in context["positions"]}

    def run_words(row: Any) -> str:
        ends = (names.get(key, _("a removed position")) for key in (row.start_id, row.end_id))
        return _("Cable run {start} to {end}").format(**dict(zip(("start", "end"), ends, strict=True)))

    context |= {
        "vin_unverified": bool(vehicle.vin) and vehicle.vin[0] not in NORTH_AMERICA,
        "areas": list(vehicle.roof_areas.all()),
        "spaces": list(vehicle.battery_spaces.all()),
        "jobs": queries_joined.jobs_with(vehicle),
        "systems": queries_joined.systems_in(vehicle),
        "installed": queries_joined.installed_with(vehicle),
        "hitches": [] if vehicle.is_trailer else queries_joined.hitches_of(tow=vehicle),
        "towed_by": queries_joined.hitches_of(trailer=vehicle) if vehicle.is_trailer else [],
        "mended": queries_joined.defects_of(vehicle),
        "photos": queries.photos_of(vehicle),
        "photo_form": PhotoForm(),
        "changes": changes(
            (_("Vehicle"), history),
            (_("Position"), VehiclePosition.history.filter(vehicle_id=vehicle.pk)),
            (_("Joint with a trailer"), Hitch.history.filter(Q(tow_id=vehicle.pk) | Q(trailer_id=vehicle.pk))),
            (run_words, VehicleRun.history.filter(vehicle_id=vehicle.pk)),
            (_("Roof area"), RoofArea.history.filter(vehicle_id=vehicle.pk)),
            (_("Battery space"), BatterySpace.history.filter(vehicle_id=vehicle.pk)),
        ),
        "may_edit": can_edit_vehicles(request.user),
        **more,
    }
    return render(request, "fitouts/vehicle.html", context, status=status)


@needs(is_staff_member)
def vehicle(request: StaffRequest, pk: int) -> HttpResponse:
    return vehicle_page(request, get_object_or_404(queries.vehicles_for(request.user), pk=pk))


@needs(can_edit_vehicles)
def vehicle_add(request: StaffRequest, pk: int) -> HttpResponse:
    """A vehicle for a customer."""
    owner = get_object_or_404(queries.customers_for(request.user), pk=pk)
    towed = "trailer" in request.GET
    form = VehicleForm(request.POST or None, instance=Vehicle(customer=owner, is_trailer=towed))
    if request.method == "POST" and form.is_valid():
        made = carry_out(form, vehicles.add_vehicle, owner, by=request.user, **form.cleaned_data)
        if made:
            messages.success(request, _("Vehicle added. Now its survey: positions, cable runs, measured values."))
            return redirect("vehicle", made.pk)
    context = {"form": form, "customer": owner, "back": reverse("customer", args=[pk])}
    return render(request, "fitouts/vehicle_form.html", context)


@needs(can_edit_vehicles)
def vehicle_edit(request: StaffRequest, pk: int) -> HttpResponse:
    return _change(request, pk, VehicleForm, "fitouts/vehicle_form.html")


@needs(can_survey)
def vehicle_survey(request: StaffRequest, pk: int) -> HttpResponse:
    return _change(request, pk, SurveyForm, "fitouts/survey_form.html")


def _change(request: StaffRequest, pk: int, form_class: type[Any], template: str) -> HttpResponse:
    found = get_object_or_404(queries.vehicles_for(request.user), pk=pk)
    title = str(found)
    form = form_class(request.POST or None, instance=found)
    watch(form, found, request.POST, reader=request.user)
    if (
        request.method == "POST"
        and form.is_valid()
        and carry_out(form, vehicles.change_vehicle, found, by=request.user, **form.cleaned_data)
    ):
        messages.success(request, _("Saved. Designs keep their figures until they are worked out again."))
        return redirect("vehicle", found.pk)
    context = {"form": form, "title": title, "customer": found.customer, "back": reverse("vehicle", args=[pk])}
    return render(request, template, {**context, "vehicle": found})


@require_POST
@needs(can_edit_vehicles)
def vehicle_retire(request: StaffRequest, pk: int) -> HttpResponse:
    """Retire a vehicle, or bring one back."""
    found = get_object_or_404(queries.vehicles_for(request.user), pk=pk)
    if found.retired_at:
        vehicles.restore_vehicle(found, by=request.user)
        messages.success(request, _("The vehicle is back in the lists."))
    else:
        vehicles.retire_vehicle(found, by=request.user)
        messages.success(request, _("Retired. Nothing was deleted; “Retired too” in the list finds the vehicle again."))
    return redirect("vehicle", pk)
