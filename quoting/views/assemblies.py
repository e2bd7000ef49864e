"""Assemblies of a job: in, how many, the newest version, out."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from fitouts.models import Fitout, FitoutAssembly
from fitouts.services import assemblies
from fitouts.views.access import needs
from quoting import rules
from quoting.forms.assemblies import TakeForm, UseForm
from quoting.views.jobs import job_page
from quoting.views.page import job_url, person, the_job


def _use_of(fitout: Fitout, pk: int) -> FitoutAssembly:
    return get_object_or_404(fitout.assemblies.select_related("version__assembly", "fitout"), pk=pk)


def _back(request: HttpRequest, fitout: Fitout, act: Any, done: str) -> HttpResponse:
    try:
        act()
    except assemblies.AssemblyRefused as error:
        messages.error(request, str(error))
    else:
        messages.success(request, done)
    return redirect(job_url(fitout, "#assemblies"))


@require_POST
@needs(rules.can_edit_audit)
def assembly_take(request: HttpRequest, pk: int) -> HttpResponse:
    """Take an assembly into the job."""
    fitout = the_job(request, pk)
    form = TakeForm(request.POST, fitout=fitout)
    use = form.save(by=person(request)) if form.is_valid() else None
    if use is None:
        return job_page(request, fitout, {"take_form": form}, status=422)
    messages.success(request, _("“%(name)s” is in the job.") % {"name": use.version.assembly})
    return redirect(job_url(fitout, "#assemblies"))


@require_POST
@needs(rules.can_edit_audit)
def assembly_use_edit(request: HttpRequest, pk: int, use_pk: int) -> HttpResponse:
    """Say how many of it."""
    fitout = the_job(request, pk)
    form = UseForm(request.POST, use=_use_of(fitout, use_pk))
    if not form.is_valid() or not form.save(by=person(request)):
        return job_page(request, fitout, {"use_form": form}, status=422)
    messages.success(request, _("The number was saved."))
    return redirect(job_url(fitout, "#assemblies"))


@require_POST
@needs(rules.can_edit_audit)
def assembly_use_newest(request: HttpRequest, pk: int, use_pk: int) -> HttpResponse:
    """Take the newest version of it."""
    fitout = the_job(request, pk)
    use, by = _use_of(fitout, use_pk), person(request)
    done = _("“%(name)s” is in the job at its newest version.") % {"name": use.version.assembly}
    return _back(request, fitout, lambda: assemblies.take_newest(use, by=by), done)


@require_POST
@needs(rules.can_edit_audit)
def assembly_use_remove(request: HttpRequest, pk: int, use_pk: int) -> HttpResponse:
    """Leave it out again."""
    fitout = the_job(request, pk)
    use, by = _use_of(fitout, use_pk), person(request)
    done = _("“%(name)s” is out of the job.") % {"name": use.version.assembly}
    return _back(request, fitout, lambda: assemblies.remove(use, by=by), done)


assembly_urls = [
    path("jobs/<int:pk>/assemblies/", assembly_take, name="assembly_take"),
    path("jobs/<int:pk>/assemblies/<int:use_pk>/", assembly_use_edit, name="assembly_use_edit"),
    path("jobs/<int:pk>/assemblies/<int:use_pk>/newest/", assembly_use_newest, name="assembly_use_newest"),
    path("jobs/<int:pk>/assemblies/<int:use_pk>/remove/", assembly_use_remove, name="assembly_use_remove"),
]
