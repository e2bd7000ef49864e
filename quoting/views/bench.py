"""The bench: the page one starts from."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_safe

from fitouts.views.access import needs
from quoting.queries.bench import bench as parts_of_bench


@require_safe
@needs()
def bench(request: HttpRequest) -> HttpResponse:
    today = timezone.localdate()
    return render(request, "quoting/bench.html", {"parts": parts_of_bench(request.user, today), "today": today})


bench_urls = [path("", bench, name="bench")]
