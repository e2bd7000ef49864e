"""Jobs: the list, a new one, the page, its details, stage and package."""

from __future__ import annotations

from typing import Any, ClassVar

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe
from django_filters.views import FilterView
from django_tables2 import SingleTableMixin

from catalog.models import Component
from catalog.paging import LongListPaginator
from fitouts.models import Fitout, Stage
from fitouts.rules import can_survey
from fitouts.services import fitouts
from fitouts.views.access import RuleRequired, needs
from fitouts.views.posting import key_in, words_in
from quoting import rules
from quoting.filters import JobFilter
from quoting.forms.jobs import DetailsForm, NewJobForm
from quoting.models import Design, OfferName
from quoting.paper_list import paper_list
from quoting.queries import fleets, found, proof
from quoting.queries import jobs as queries
from quoting.queries.designs import design_page
from quoting.services import designs
from quoting.tables import JobTable
from quoting.views.assembly_part import assembly_context
from quoting.views.diagram import diagram_of
from quoting.views.outlook import hours_context
from quoting.views.packages import ask_for_next
from quoting.views.page import audit_context, job_url, person, state_context, the_job, trip_context
from quoting.views.quotes import quote_context
from quoting.views.steering import steering_context


class JobList(RuleRequired, SingleTableMixin, FilterView):  # type: ignore[misc]
    """Every job, the newest first."""

    table_class = JobTable
    filterset_class = JobFilter
    template_name = "quoting/job_list.html"
    table_pagination: ClassVar[dict[str, Any]] = {"per_page": 50, "paginator_class": LongListPaginator}

    def get_queryset(self) -> Any:
        return queries.for_list(self.request.user)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        context: dict[str, Any] = super().get_context_data(**kwargs)
        return context | {"can_open": rules.can_open_job(self.request.user)}


@require_http_methods(["GET", "HEAD", "POST"])
@needs(rules.can_open_job)
def job_add(request: HttpRequest) -> HttpResponse:
    """A new job; ``?vehicle=`` and ``?source=`` fill in what is known."""
    initial = {name: request.GET[name] for name in ("vehicle", "source", "title", "package") if name in request.GET}
    form = NewJobForm(request.POST or None, initial={"assigned_to": request.user.pk, **initial})
    if request.method == "POST" and form.is_valid() and (fitout := form.save(by=person(request))):
        messages.success(request, _("Job %(number)s was opened.") % {"number": fitout.number})
        return redirect(job_url(fitout))
    return render(request, "quoting/job_add.html", {"form": form}, status=422 if form.errors else 200)


@require_safe
@needs()
def job(request: HttpRequest, pk: int) -> HttpResponse:
    return job_page(request, the_job(request, pk))


def job_page(
    request: HttpRequest, fitout: Fitout, extra: dict[str, Any] | None = None, *, status: int = 200
) -> HttpResponse:
    """The whole page of a job; ``extra`` puts an open row or a refused form in its place."""
    latest = designs.latest_of(fitout)
    context = audit_context(request, fitout, latest) | trip_context(request, fitout)
    context |= state_context(request, fitout, latest) | _stage_context(request, fitout)
    context |= _design_context(latest) | {
        "papers": paper_list(fitout, person(request)),
        "proof_panel": proof.panel(fitout),
    }
    context |= {"sees_money": rules.can_see_money(request.user), "wished": _wished(fitout)}
    context["fleets"] = fleets.runs_with(fitout)
    context |= _found_context(request, fitout) | steering_context(request, fitout)
    if rules.can_see_money(request.user):
        context |= quote_context(request, fitout)
    context |= assembly_context(request, fitout, latest, context["page"], extra or {})
    return render(request, "quoting/job.html", context | (extra or {}), status=status)


def _design_context(design: Design | None) -> dict[str, Any]:
    if design is None:
        return {"page": None}
    page = design_page(design)
    room = page.appraisal.room
    offer = OfferName(room.offer).label if room is not None else ""
    return {
        "page": page,
        "of_offer": offer,
        "diagram": diagram_of(design, page.appraisal),
        **hours_context(design, page),
    }


def _found_context(request: HttpRequest, fitout: Fitout) -> dict[str, Any]:
    """The vehicle as it came, and which other kind the job could be."""
    return {
        "found": found.panel(fitout),
        "is_fault": fitout.kind == Fitout.Kind.FAULT,
        "may_record": can_survey(request.user),
        "can_change_kind": fitout.stage in fitouts.LOSABLE,
        "other_kinds": [(code, words) for code, words in Fitout.Kind.choices if code != fitout.kind],
    }


def _press(stage: str, *, back: bool) -> str:
    """What a button that moves a job says."""
    aside = {Stage.ON_HOLD: _("Put on hold"), Stage.CANCELLED: _("Mark as cancelled"), Stage.LOST: _("Mark as lost")}
    onward = _("Back to %s") if back else _("Move to %s")
    return str(aside.get(Stage(stage)) or onward % Stage(stage).label)


def _stage_context(request: HttpRequest, fitout: Fitout) -> dict[str, Any]:
    events = list(fitout.events.select_related("by"))
    moves = [
        {"stage": s, "press": _press(s, back=reason), "reason": reason, "aside": s in fitouts.ASIDE}
        for s in rules.moves_for(request.user, fitout)
        for reason in [fitouts.needs_reason(fitout, s)]
    ]
    return {
        "studs": queries.stage_bar(fitout, events),
        "events": events,
        "moves": moves,
        "is_aside": fitout.stage in fitouts.ASIDE,
        "last_event": events[-1] if events else None,
    }


def _wished(fitout: Fitout) -> list[dict[str, Any]]:
    """Components asked for or ruled out, by name."""
    keys = [*fitout.pinned, *fitout.banned]
    names = dict(Component.objects.filter(pk__in=keys).values_list("pk", "name")) if keys else {}
    return [{"pk": k, "name": names.get(k, str(k)), "is_banned": k in fitout.banned} for k in keys]


@require_http_methods(["GET", "HEAD", "POST"])
@needs(rules.can_edit_audit)
def job_edit(request: HttpRequest, pk: int) -> HttpResponse:
    fitout = the_job(request, pk)
    form = DetailsForm(request.POST or None, fitout=fitout)
    if request.method == "POST" and form.is_valid() and form.save(by=person(request)):
        messages.success(request, _("The job was saved."))
        return redirect(job_url(fitout))
    context = {"form": form, "fitout": fitout}
    return render(request, "quoting/job_edit.html", context, status=422 if form.errors else 200)


@require_POST
@needs()
def job_move(request: HttpRequest, pk: int) -> HttpResponse:
    """Move the job to a stage; what has its own service is refused here."""
    fitout = the_job(request, pk)
    stage = request.POST.get("stage", "")
    if stage not in rules.moves_for(request.user, fitout):
        messages.error(request, _("Job %(number)s cannot go there from here.") % {"number": fitout.number})
        return redirect(job_url(fitout))
    try:
        fitouts.move(fitout, stage, by=person(request), reason=words_in(request.POST, "reason"))
    except fitouts.StageNotAllowed as error:
        messages.error(request, str(error))
    else:
        messages.success(request, _("The job is now at %(stage)s.") % {"stage": fitout.get_stage_display()})
    return redirect(job_url(fitout))


@require_POST
@needs(rules.can_edit_audit)
def package_keep(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep what the job holds for vehicles of this model; under a name in use, as its next version if so said."""
    fitout = the_job(request, pk)
    as_next = key_in(words_in(request.POST, "as_next")) or 0
    try:
        package = fitouts.keep_as_package(fitout, words_in(request.POST, "name"), by=person(request), as_next=as_next)
    except fitouts.PackageNameTaken as taken:
        return ask_for_next(request, fitout, taken)
    except fitouts.JobNotOpened as error:
        messages.error(request, str(error))
    else:
        done = _("“%(name)s” is kept as version %(number)d. Choose it when you open a job for the same model.")
        messages.success(request, done % {"name": package.name, "number": package.version})
    return redirect(job_url(fitout, "#aside"))


job_urls = [
    path("jobs/", JobList.as_view(), name="job_list"),
    path("jobs/add/", job_add, name="job_add"),
    path("jobs/<int:pk>/", job, name="job"),
    path("jobs/<int:pk>/edit/", job_edit, name="job_edit"),
    path("jobs/<int:pk>/move/", job_move, name="job_move"),
    path("jobs/<int:pk>/package/", package_keep, name="package_keep"),
]
