"""The pages for what went wrong."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template import loader


def forbidden(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return render(request, "403.html", status=403)


def not_found(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return render(request, "404.html", status=404)


def broken(request: HttpRequest) -> HttpResponse:
    """Drawn without a request: whatever broke may break the frame too."""
    return HttpResponse(loader.get_template("500.html").render({}), status=500)
