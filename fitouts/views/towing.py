"""Joining a trailer to the vehicle that tows it, and parting the two again."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from fitouts import queries
from fitouts.forms.towing import HitchForm
from fitouts.models import Hitch, Vehicle
from fitouts.rules import can_survey
from fitouts.services import towing
from fitouts.views.access import StaffRequest, needs
from fitouts.views.posting import carry_out


@require_http_methods(["GET", "HEAD", "POST"])
@needs(can_survey)
def hitch_add(request: StaffRequest, pk: int) -> HttpResponse:
    """A joint with a trailer of the same customer."""
    vehicle = get_object_or_404(queries.vehicles_for(request.user), pk=pk)
    form = HitchForm(request.POST or None, instance=Hitch(tow=vehicle))
    if (
        request.method == "POST"
        and form.is_valid()
        and carry_out(form, towing.join, vehicle, by=request.user, **form.cleaned_data)
    ):
        messages.success(request, _("The two are joined. A job of this vehicle can now take the trailer with it."))
        return redirect(_at(vehicle.pk))
    return _page(request, vehicle, form, None)


@require_http_methods(["GET", "HEAD", "POST"])
@needs(can_survey)
def hitch_edit(request: StaffRequest, pk: int, hitch: int) -> HttpResponse:
    vehicle = get_object_or_404(queries.vehicles_for(request.user), pk=pk)
    found = get_object_or_404(Hitch.objects.select_related("tow", "trailer", "coupling"), pk=hitch, tow=vehicle)
    form = HitchForm(request.POST or None, instance=found)
    if (
        request.method == "POST"
        and form.is_valid()
        and carry_out(form, towing.change_join, found, by=request.user, **form.cleaned_data)
    ):
        messages.success(request, _("Saved. Designs keep their figures until they are worked out again."))
        return redirect(_at(vehicle.pk))
    return _page(request, vehicle, form, found)


@require_POST
@needs(can_survey)
def hitch_part(request: StaffRequest, pk: int, hitch: int) -> HttpResponse:
    vehicle = get_object_or_404(queries.vehicles_for(request.user), pk=pk)
    towing.part(get_object_or_404(Hitch, pk=hitch, tow=vehicle), by=request.user)
    messages.success(request, _("The two are parted. Their history stays."))
    return redirect(_at(vehicle.pk))


def _at(pk: int) -> str:
    return f"{reverse('vehicle', args=[pk])}#towing"


def _page(request: StaffRequest, vehicle: Vehicle, form: HitchForm, hitch: Hitch | None) -> HttpResponse:
    context = {
        "vehicle": vehicle,
        "form": form,
        "hitch": hitch,
        "back": _at(vehicle.pk),
        "couplings": [component.name for component in towing.couplings()],
    }
    return render(request, "fitouts/hitch_form.html", context)
