"""The trip hour by hour, over many weathers, as the latest design has it."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from fitouts.models import Fitout
from fitouts.views.access import needs
from quoting.forms.what_if import WhatIfForm
from quoting.models import Design
from quoting.queries.designs import DesignPage
from quoting.queries.outlook_page import about_words, outlook_page
from quoting.queries.outlook_words import lead_figures
from quoting.queries.trip_chart import trip_chart
from quoting.services import designs
from quoting.views.page import state_context, the_job


@require_safe
@needs()
def outlook(request: HttpRequest, pk: int) -> HttpResponse:
    fitout = the_job(request, pk)
    design = designs.latest_of(fitout)
    page = outlook_page(design) if design else None
    context = design_context(request, fitout, design) | {"page": page}
    if page is None:
        context["why"] = why_none(design, fitout)
    return render(request, "quoting/outlook.html", context)


def design_context(request: HttpRequest, fitout: Fitout, design: Design | None) -> dict[str, Any]:
    """Which design is looked at, what has changed since, and whether it can be worked out again."""
    state = state_context(request, fitout, design)
    return {name: state[name] for name in ("fitout", "design", "built_by", "changes", "can_work_out")}


def why_none(design: Design | None, fitout: Fitout | None = None) -> tuple[str, str]:
    """A title and a sentence for a job whose trip was not simulated."""
    if design is None and fitout is not None and fitout.kind == Fitout.Kind.FAULT:
        return _("A fault has no trip"), _("It is found and mended without a design, so nothing is simulated.")
    if design is None:
        return _("Not worked out yet"), _("The trip is simulated when the job is worked out.")
    if design.appraisal.get("shortfalls") and not design.appraisal.get("chosen"):
        return _("No battery was chosen"), _(
            "Without one there is no trip to simulate. See the findings of the design."
        )
    return (
        _("This design has no trip in it"),
        _("It was made by an older method, or no battery could be chosen. Worked out again, it shows the trip."),
    )


def hours_context(design: Design, page: DesignPage) -> dict[str, Any]:
    """The trip and the sliders as they stand on the page of a job; why not, for a design without."""
    outlook = page.appraisal.outlook
    if outlook is None:
        return {"hours": None, "why_no_hours": why_none(design)}
    hours = {
        "about": about_words(outlook),
        "chart": trip_chart(outlook, page.brief, "trip"),
        "leads": lead_figures(outlook, page.brief, page.appraisal.lasting),
    }
    return {"hours": hours, "form": WhatIfForm({}, brief=page.brief)}


outlook_urls = [path("jobs/<int:pk>/hours/", outlook, name="outlook")]
