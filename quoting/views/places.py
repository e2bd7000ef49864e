"""A place that is not in the list: by its coordinates, or from a file of hourly weather. Seen before it is saved."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from catalog.models import Site
from catalog.rules import can_edit_catalogue
from catalog.site_chart import SiteChart, site_chart
from fitouts.models import Fitout
from fitouts.views.access import needs
from quoting import words
from quoting.forms.places import EstimateForm, FileForm, FileSaveForm, WhereForm, refused_words
from quoting.queries import jobs
from quoting.services import places
from quoting.services.places import PlaceRefused
from quoting.sizing.climate_files import ClimateFile, too_big
from quoting.sizing.places import Estimate
from quoting.views.page import person
from quoting.wording.places import FILE_KIND


@require_http_methods(["GET", "HEAD", "POST"])
@needs(can_edit_catalogue)
def place_estimate(request: HttpRequest) -> HttpResponse:
    """Coordinates in the address show the estimate; posted with a name, it is saved."""
    job = _job(request)
    is_saving = request.method == "POST"
    where = WhereForm(request.POST) if is_saving else WhereForm.asked(request.GET)
    context: dict[str, Any] = {"where": where, "job": job}
    if not where.is_bound or not where.is_valid():
        return _page(request, "place_estimate", context, bool(where.errors))
    try:
        found = places.estimate(**where.cleaned_data)
    except PlaceRefused as refused:
        return _page(request, "place_estimate", {**context, "refused": str(refused)}, True)
    form = EstimateForm(request.POST if is_saving else None, found=found)
    if is_saving and form.is_valid():
        saved = form.save(by=person(request))
        if saved is not None:
            return _saved(request, saved, job)
    context |= {
        "found": found,
        "form": form,
        "near": places.near_row(found),
        "chart": _chart(found),
        "findings": [(finding.level, *words.finding_words(finding)) for finding in found.findings],
    }
    return _page(request, "place_estimate", context, bool(form.errors))


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@needs(can_edit_catalogue)
def place_file(request: HttpRequest) -> HttpResponse:
    """A file given is read and shown; what it said, posted with a name, is saved. The file is not kept."""
    job = _job(request)
    if request.method != "POST":
        return _page(request, "place_file", {"file_form": FileForm(), "job": job}, False)
    if "sealed" in request.POST:
        return _save_file(request, job)
    file_form = FileForm(request.POST, request.FILES)
    if not_taken := _not_taken(request):
        file_form.refuse(not_taken)
    found = file_form.read() if file_form.is_valid() else None
    if found is None:
        return _page(request, "place_file", {"file_form": file_form, "job": job}, True)
    return _look(request, found, FileSaveForm(found=found), job)


def _not_taken(request: HttpRequest) -> str:
    """Why the file did not get as far as being read; nothing when it did."""
    if getattr(request, "file_too_large", False):
        return refused_words(too_big(int(request.META.get("CONTENT_LENGTH") or 0)))
    if getattr(request, "too_many_files", False):
        return _("Give one file at a time.")
    if getattr(request, "disk_full", False):
        return _("The server's disk is full, and the file could not be read. Make room, then try again.")
    return ""


def _save_file(request: HttpRequest, job: Fitout | None) -> HttpResponse:
    try:
        found = places.opened(request.POST["sealed"])
    except PlaceRefused as refused:
        return _page(request, "place_file", {"file_form": FileForm(), "job": job, "refused": str(refused)}, True)
    form = FileSaveForm(request.POST, found=found)
    if form.is_valid():
        saved = form.save(by=person(request))
        if saved is not None:
            return _saved(request, saved, job)
    return _look(request, found, form, job)


def _look(request: HttpRequest, found: ClimateFile, form: FileSaveForm, job: Fitout | None) -> HttpResponse:
    """What was read, before it is saved."""
    kind = FILE_KIND[found.kind]
    context = {"found": found, "form": form, "job": job, "kind": kind, "chart": _chart(found)}
    return _page(request, "place_file", context, bool(form.errors))


def _chart(found: Estimate | ClimateFile) -> SiteChart:
    error = getattr(found, "likely_error_ratio", None)
    return site_chart(found.ghi_kwh_m2_day, found.tmin_c, found.tmax_c, error)


def _page(request: HttpRequest, name: str, context: dict[str, Any], is_refused: bool) -> HttpResponse:
    context |= {"section": "site", "can_edit": True}
    return render(request, f"quoting/{name}.html", context, status=422 if is_refused else 200)


def _job(request: HttpRequest) -> Fitout | None:
    """The job whose trip wants the place, if there is one."""
    asked = request.POST.get("job") or request.GET.get("job")
    if not asked:
        return None
    return get_object_or_404(jobs.for_page(request.user), pk=asked if asked.isdecimal() and len(asked) < 12 else 0)


def _saved(request: HttpRequest, saved: Site, job: Fitout | None) -> HttpResponse:
    """On to the place's page, or back to the trip with its name filled in."""
    messages.success(request, _("%(name)s is saved.") % {"name": saved})
    if job is None:
        return redirect("catalog:site_detail", pk=saved.pk)
    return redirect(f"{reverse('stop_add', args=[job.pk])}?{urlencode({'site': saved.name})}#stop-new")


place_urls = [
    path("catalogue/sites/estimate/", place_estimate, name="place_estimate"),
    path("catalogue/sites/file/", place_file, name="place_file"),
]
