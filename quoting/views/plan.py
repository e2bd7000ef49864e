"""The vehicle from above: of a job's design with its cables, and of a vehicle whose positions are set on it."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_safe

from fitouts import queries
from fitouts.rules import can_survey
from fitouts.services import vehicles
from fitouts.views.access import StaffRequest, needs
from fitouts.views.posting import carry_out, words_in
from quoting.forms.vehicle_plan import PlacesOnPlanForm
from quoting.queries.plan import plan_page, survey_plan
from quoting.services import designs
from quoting.views.outlook import design_context
from quoting.views.page import the_job


@require_safe
@needs()
def plan(request: HttpRequest, pk: int) -> HttpResponse:
    """``?circuit=`` names a circuit whose way is drawn out."""
    fitout = the_job(request, pk)
    design = designs.latest_of(fitout)
    context: dict[str, Any] = design_context(request, fitout, design)
    if design is not None:
        context["vehicles"] = [each for each in (fitout.vehicle, fitout.trailer) if each is not None]
        context["forms"] = (("a4", _("A4")), ("a3", _("A3")))
        context["page"] = plan_page(design, words_in(request.GET, "circuit"))
    return render(request, "quoting/plan.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@needs(can_survey)
def vehicle_plan(request: StaffRequest, pk: int) -> HttpResponse:
    """Every position of a vehicle on its plan: set with a script, typed without."""
    vehicle = get_object_or_404(queries.vehicles_for(request.user), pk=pk)
    positions, runs = list(queries.positions_of(vehicle)), list(queries.runs_of(vehicle))
    form = PlacesOnPlanForm(request.POST if request.method == "POST" else None, vehicle=vehicle, positions=positions)
    if request.method == "POST" and form.is_valid():
        moved = carry_out(form, vehicles.place_positions, vehicle, form.places, by=request.user)
        if moved is not None:
            words = ngettext("One place saved.", "%(count)d places saved.", len(moved)) % {"count": len(moved)}
            messages.success(request, words if moved else _("Every place is as it was."))
            return redirect("vehicle_plan", pk)
    page = survey_plan(vehicle, positions, runs)
    drawn = {spot.key: spot.at_m for spot in page.spots} if page else {}
    rows = [(position, x, y, drawn.get(str(position.pk))) for position, x, y in form.rows]
    context = {"vehicle": vehicle, "form": form, "page": page, "rows": rows}
    return render(request, "quoting/vehicle_plan.html", context, status=422 if form.errors else 200)


plan_urls = [
    path("jobs/<int:pk>/plan/", plan, name="plan"),
    path("vehicles/<int:pk>/plan/", vehicle_plan, name="vehicle_plan"),
]
