"""Puts the workshop and its time zone on every request; before the first run there is only one page."""

from __future__ import annotations

import zoneinfo
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone

from fitouts.models import Workshop


class WorkshopMiddleware:
    """``request.workshop`` is the workshop, or ``None`` before its first run."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.path.startswith("/static/"):
            return self.get_response(request)
        workshop = Workshop.objects.filter(pk=1).first()
        request.workshop = workshop  # type: ignore[attr-defined]
        first_run = reverse("first_run")
        if workshop is None and request.path != first_run:
            return redirect(first_run)
        zone = zoneinfo.ZoneInfo(workshop.time_zone) if workshop else zoneinfo.ZoneInfo("UTC")
        with timezone.override(zone):
            return self.get_response(request)
