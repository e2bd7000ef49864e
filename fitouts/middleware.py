"""Puts the workshop and its time zone on every request."""

from __future__ import annotations

import zoneinfo
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
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
        zone = zoneinfo.ZoneInfo(workshop.time_zone) if workshop else zoneinfo.ZoneInfo("UTC")
        with timezone.override(zone):
            return self.get_response(request)
