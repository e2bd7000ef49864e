"""Every circuit of a job's design, and what people settle about them."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.views.decorators.http import require_safe

from fitouts.views.access import needs
from quoting.services import designs
from quoting.views.page import the_job


@require_safe
@needs()
def circuits(request: HttpRequest, pk: int) -> HttpResponse:
    fitout = the_job(request, pk)
    return render(request, "quoting/circuits.html", {"fitout": fitout, "design": designs.latest_of(fitout)})


circuit_urls = [path("jobs/<int:pk>/circuits/", circuits, name="circuits")]
