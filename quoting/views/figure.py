"""A figure of a job's design, opened: its sum, and what it is most sensitive to."""

from __future__ import annotations

from django.core.cache import cache
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.views.decorators.http import require_safe

from fitouts.views.access import needs
from quoting import words
from quoting.models import Design
from quoting.queries.designs import value_of
from quoting.queries.shown import sum_of
from quoting.queries.tornado import tornado_table
from quoting.services import designs
from quoting.sizing.outlook import Tornado
from quoting.sizing.sensitivity import of_figure
from quoting.sizing.sensitivity_trip import READS, of_trip
from quoting.sizing.trace import Figure
from quoting.views.page import the_job

KEPT_S = 24 * 3600


@require_safe
@needs()
def job_figure(request: HttpRequest, pk: int, code: str) -> HttpResponse:
    """The figure as a page; for htmx, which opens it in the job's page, what it is most sensitive to alone."""
    fitout = the_job(request, pk)
    design = designs.latest_of(fitout)
    if design is None or code not in design.appraisal["figures"]:
        raise Http404
    figure = designs.figures_of(design)[code]
    names = {load.key: load.name for load in designs.brief_of(design).loads}
    context = {"tornado": tornado_table(_tornado(design, figure)), "title": words.figure_words(figure, names)}
    if getattr(request, "htmx", False):
        return render(request, "quoting/_tornado.html", context)
    context |= {"fitout": fitout, "design": design, "value": value_of(figure), "sum": sum_of(figure, names)}
    return render(request, "quoting/figure.html", context)


def _tornado(design: Design, figure: Figure) -> Tornado:
    """From the figure's own sum; what only the simulation gives is simulated again, and the answer kept."""
    if figure.code not in READS:
        return of_figure(figure, designs.figures_of(design))
    key = f"tornado:{design.pk}:{design.key}:{figure.code}"
    kept = cache.get(key)
    if kept is None:
        kept = of_trip(designs.brief_of(design), designs.appraisal_of(design), figure.code).model_dump_json()
        cache.set(key, kept, KEPT_S)
    return Tornado.model_validate_json(kept)


figure_urls = [path("jobs/<int:pk>/figures/<path:code>/", job_figure, name="job_figure")]
