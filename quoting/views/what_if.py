"""What if: something tried on the latest design. Nothing is saved, and the address says all of it."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.views.decorators.http import require_safe

from fitouts.views.access import needs
from quoting import rules
from quoting.forms.what_if import WhatIfForm
from quoting.models import Design
from quoting.queries.trial_rows import TrialPage, trial_page
from quoting.queries.trip_chart import trip_chart
from quoting.services import designs, trials
from quoting.sizing.errors import SizingError
from quoting.views.outlook import design_context, why_none
from quoting.views.page import the_job

ANSWER, WHOLE = "what-if-answer", "what-if-matter"
"""Parts of the page that a script asks for: what came of it, or all of it with the sliders of another stop."""


@require_safe
@needs()
def what_if(request: HttpRequest, pk: int) -> HttpResponse:
    fitout = the_job(request, pk)
    design = designs.latest_of(fitout)
    if design is None or not design.appraisal.get("outlook"):
        context = design_context(request, fitout, design) | {"why": why_none(design, fitout)}
        return render(request, "quoting/what_if.html", context)
    form = WhatIfForm(request.GET, brief=trials.records_of(design)[0])
    answer = _answer(design, form)
    context = {
        "fitout": fitout,
        "design": design,
        "form": form,
        "answer": answer,
        "can_edit": rules.can_edit_audit(request.user),
    }
    part = getattr(request.htmx, "target", None) if request.htmx else None  # type: ignore[attr-defined]
    if part == ANSWER:
        return render(request, "quoting/_what_if_answer.html", context | {"oob": True})
    if part == WHOLE:
        return render(request, "quoting/_what_if.html", context | {"alone": "alone" in request.GET})
    context |= design_context(request, fitout, design) | what_if_context(design, form) | {"alone": True}
    return render(request, "quoting/what_if.html", context, status=422 if form.errors else 200)


def _answer(design: Design, form: WhatIfForm) -> TrialPage | None:
    """What came of the trial; ``None`` when nothing was moved, or with the reasons in the form's errors."""
    if not form.is_moved:
        return None
    trial = form.trial()
    if trial is None:
        return None
    try:
        tried = trials.try_on(design, trial)
    except SizingError as error:
        form.refuse(error)
        return None
    return trial_page(tried) if tried else None


def what_if_context(design: Design, form: WhatIfForm | None = None) -> dict[str, Any]:
    """The form at rest over the design's own chart, for a page that has tried nothing yet."""
    brief, appraisal = trials.records_of(design)
    if appraisal.outlook is None:
        return {}
    form = form or WhatIfForm({}, brief=brief)
    return {"form": form, "at_rest": trip_chart(appraisal.outlook, brief, "rest", stop=form.chosen)}


what_if_urls = [path("jobs/<int:pk>/what-if/", what_if, name="what_if")]
