"""A figure of a job's design, opened: its sum, and what it is most sensitive to."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

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
from quoting.sizing.errors import SizingError
from quoting.sizing.outlook import Tornado
from quoting.sizing.sensitivity import of_figure
from quoting.sizing.sensitivity_trip import READS, all_of_trip
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
    figures = designs.figures_of(design)
    figure = figures[code]
    names = {load["key"]: load["name"] for load in design.brief["loads"]}
    tornado = _tornado(design, figure, figures)
    context: dict[str, Any] = {
        "tornado": tornado and tornado_table(tornado),
        "title": words.figure_words(figure, names),
    }
    if getattr(request, "htmx", False):
        return render(request, "quoting/_tornado.html", context)
    context |= {"fitout": fitout, "design": design, "value": value_of(figure), "sum": sum_of(figure, names)}
    return render(request, "quoting/figure.html", context)


def _tornado(design: Design, figure: Figure, figures: Mapping[str, Figure]) -> Tornado | None:
    """From the figure's own sum; what only the simulation gives is simulated again, and the answer kept.

    ``None`` for a design of an older method that today's simulation does not take.
    """
    if figure.code not in READS:
        return of_figure(figure, figures)
    kept = cache.get(_key(design, figure.code))
    if kept is not None:
        return Tornado.model_validate_json(kept)
    try:
        found = all_of_trip(designs.brief_of(design), designs.appraisal_of(design))
    except SizingError:
        return None
    cache.set_many({_key(design, code): tornado.model_dump_json() for code, tornado in found.items()}, KEPT_S)
    return found[figure.code]


def _key(design: Design, code: str) -> str:
    return f"tornado:{design.pk}:{design.key}:{code}"


figure_urls = [path("jobs/<int:pk>/figures/<path:code>/", job_figure, name="job_figure")]
