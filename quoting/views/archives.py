"""Backups: make one, bring one, take one away, restore. For managers."""

from __future__ import annotations

from typing import Any, cast

from django.contrib import messages
from django.http import FileResponse, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fitouts.rules import can_run_workshop
from fitouts.uploads import LargeUpload
from fitouts.views.access import StaffRequest, needs
from fitouts.views.posting import words_in
from quoting.archive import ArchiveRefused
from quoting.models import Archive, BackgroundJob
from quoting.services import archives as service
from quoting.services import background


def _context(request: StaffRequest, problem: str = "") -> dict[str, Any]:
    rows = list(Archive.objects.select_related("job", "asked_by")[:40])
    restore = BackgroundJob.objects.filter(kind="restore").last()
    moving = {BackgroundJob.State.QUEUED, BackgroundJob.State.RUNNING}
    live = any(row.job and row.job.state in moving for row in rows) or bool(restore and restore.state in moving)
    free = service.free_bytes()
    return {"archives": rows, "restore": restore, "live": live, "free_gb": free / 1e9, "problem": problem}


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
@needs(can_run_workshop)
def archives(request: StaffRequest) -> HttpResponse:
    """The list; POST makes a backup. htmx gets the list alone while something is under way."""
    if request.method == "POST":
        service.ask_backup(by=request.user)
        return redirect("archives")
    template = "quoting/_archives.html" if request.htmx else "quoting/archives.html"
    return render(request, template, _context(request))


@require_POST
@needs(can_run_workshop)
def archive_bring(request: StaffRequest) -> HttpResponse:
    """Take an archive in from elsewhere."""
    problem = _not_taken(request)
    if not problem:
        try:
            service.bring(cast(LargeUpload, request.FILES["file"]), by=request.user)
        except ArchiveRefused as refused:
            problem = str(refused)
    if problem:
        return render(request, "quoting/archives.html", _context(request, problem), status=422)
    return redirect("archives")


def _not_taken(request: StaffRequest) -> str:
    if getattr(request, "file_too_large", False):
        return _("The file is larger than %(gb)d GB. Put it on the server and use the command: manage.py restore.") % {
            "gb": service.MOST_BYTES // 10**9
        }
    if getattr(request, "disk_full", False):
        return _("The server's disk is full; nothing was kept. Make room, then try again.")
    return "" if request.FILES.get("file") else _("Choose the file of an archive.")


@require_safe
@needs(can_run_workshop)
def archive_open(request: StaffRequest, pk: int) -> HttpResponseBase:
    """The file itself."""
    archive = get_object_or_404(Archive, pk=pk)
    try:
        file = service.path_of(archive).open("rb")
    except OSError:
        problem = _("The file of this archive is no longer in the folder.")
        return render(request, "quoting/archives.html", _context(request, problem), status=409)
    response = FileResponse(file, as_attachment=True, filename=archive.name, content_type="application/zip")
    response["Cache-Control"] = "private, no-store"
    return response


@require_POST
@needs(can_run_workshop)
def archive_remove(request: StaffRequest, pk: int) -> HttpResponse:
    archive = get_object_or_404(Archive.objects.select_related("job"), pk=pk)
    if archive.job is not None:
        background.cancel(archive.job)
    service.forget(archive)
    messages.success(request, _("%(name)s is removed.") % {"name": archive.name})
    return redirect("archives")


@require_http_methods(["GET", "HEAD", "POST"])
@needs(can_run_workshop)
def archive_restore(request: StaffRequest, pk: int) -> HttpResponse:
    """What would come and what would go; POST with the workshop's name does it."""
    archive = get_object_or_404(Archive, pk=pk)
    typed = words_in(request.POST, "name")
    problem = ""
    if request.method == "POST":
        try:
            service.ask_restore(archive, replace=typed, by=request.user)
        except ArchiveRefused as refused:
            problem = str(refused)
        else:
            messages.success(
                request, _("The restore is under way. Everybody is signed out when it is done; sign in again then.")
            )
            return redirect("archives")
    context = {"archive": archive, "typed": typed, "problem": problem, "here": request.workshop}
    return render(request, "quoting/archive_restore.html", context, status=422 if problem else 200)


archive_urls = [
    path("workshop/archives/", archives, name="archives"),
    path("workshop/archives/bring/", archive_bring, name="archive_bring"),
    path("workshop/archives/<int:pk>/", archive_open, name="archive_open"),
    path("workshop/archives/<int:pk>/remove/", archive_remove, name="archive_remove"),
    path("workshop/archives/<int:pk>/restore/", archive_restore, name="archive_restore"),
]
