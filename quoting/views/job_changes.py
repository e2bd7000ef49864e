"""Everything that was changed in a job: who, when, before, after."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from catalog.changes import Change, changes
from fitouts.models import Defect, Fitout, FitoutAssembly, FittedPart, FoundPart, Requirement, SensePoint, TripStop
from fitouts.views.access import needs
from quoting.models import CircuitChange, ExistingCircuit, JobPicks, OutputPlace
from quoting.rules import can_see_money
from quoting.views.page import the_job

UNTOLD = frozenset(
    {
        *("pinned", "banned", "settings_asked", "settings_entered", "place", "key"),
        *("room", "taken_by", "taken_at", "proposal"),
    }
)
"""Values that mean nothing as they are stored; the job's page shows what they stand for."""


@require_safe
@needs()
def job_changes(request: HttpRequest, pk: int) -> HttpResponse:
    fitout = the_job(request, pk)
    hidden = UNTOLD if can_see_money(request.user) else UNTOLD | {"budget"}
    return render(request, "quoting/job_changes.html", {"fitout": fitout, "changes": _changes(fitout, hidden)})


def _changes(fitout: Fitout, hidden: frozenset[str]) -> list[Change]:
    pk = fitout.pk
    return changes(
        (_("Job"), fitout.history.all()),
        (_("Load"), Requirement.history.filter(fitout_id=pk)),
        (_("Stop of the trip"), TripStop.history.filter(fitout_id=pk)),
        (_("Assembly"), FitoutAssembly.history.filter(fitout_id=pk)),
        (_("Part as found"), FoundPart.history.filter(fitout_id=pk)),
        (_("Defect"), Defect.history.filter(fitout_id=pk)),
        (_("Fitted part"), FittedPart.history.filter(fitout_id=pk)),
        (_("Circuit by hand"), CircuitChange.history.filter(fitout_id=pk)),
        (_("Circuit in the vehicle already"), ExistingCircuit.history.filter(fitout_id=pk)),
        (_("Circuit on an output"), OutputPlace.history.filter(fitout_id=pk)),
        (_("Watched"), SensePoint.history.filter(fitout_id=pk)),
        (_("System the job is held to"), JobPicks.history.filter(fitout_id=pk)),
        hidden=hidden,
        limit=200,
    )


job_change_urls = [path("jobs/<int:pk>/changes/", job_changes, name="job_changes")]
