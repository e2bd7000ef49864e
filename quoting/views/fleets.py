"""Fleets: their list, a new one, its page with progress, going on, stopping, and its table to take out."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from catalog import bulk, sheets
from catalog.views.bulk import Selection
from fitouts.models import Fitout, JobPackage, Vehicle
from fitouts.queries import vehicles_for
from fitouts.services.fitouts import contents
from fitouts.views.access import StaffRequest, needs
from fitouts.views.posting import key_in, words_in
from quoting import rules
from quoting.forms.fleets import FleetForm
from quoting.models import FleetRun
from quoting.queries import fleet_candidates, fleets_out
from quoting.queries import fleets as queries
from quoting.queries.sheets import place_in_queue
from quoting.queries.taking_out import FORMATS
from quoting.services import fleet_parts, fleets
from quoting.views.page import person
from quoting.views.tables import as_file

PER_PAGE = 40


@require_safe
@needs()
def fleet_list(request: HttpRequest) -> HttpResponse:
    """Every run, the newest first."""
    page = Paginator(queries.for_list(request.user), PER_PAGE).get_page(request.GET.get("page"))
    context = {"page": page, "can_open": rules.can_open_job(request.user)}
    return render(request, "quoting/fleet_list.html", context)


# --- A new one ---------------------------------------------------------------------------------------


@require_http_methods(["GET", "HEAD", "POST"])
@needs(rules.can_open_job)
def fleet_new(request: StaffRequest) -> HttpResponse:
    """Which vehicles, by which brief. ``?source=`` and ``?package=`` offer the vehicles that are like theirs."""
    if request.method != "POST":
        form = FleetForm(initial=_initial(request.GET))
        shown, picked = _offered(request, form.initial)
        return _new_page(request, form, shown, picked)
    form = FleetForm(request.POST)
    shown = _named(request, "offered")
    picked = {vehicle.pk for vehicle in _named(request, "row")}
    if not form.is_valid():
        return _new_page(request, form, shown, picked, status=422)
    if "look" in request.POST:
        return _new_page(request, form, shown, picked)
    try:
        vehicles = [vehicle for vehicle in shown if vehicle.pk in picked]
        run = fleets.start(vehicles, by=person(request), **form.cleaned_data)
    except fleets.FleetRefused as refused:
        form.add_error(refused.field if refused.field in form.fields else None, str(refused))
        return _new_page(request, form, shown, picked, status=422)
    words = ngettext("%(n)d vehicle is being sized.", "%(n)d vehicles are being sized.", len(vehicles))
    messages.success(request, words % {"n": len(vehicles)})
    return redirect("fleet", run.pk)


def _initial(entries: QueryDict) -> dict[str, Any]:
    """What the address says of the brief: a job's number or key, a package's key."""
    source = words_in(entries, "source")
    job = Fitout.objects.filter(number=source).first() if source else None
    package = JobPackage.objects.filter(pk=key_in(words_in(entries, "package")) or 0).first()
    if job is not None:
        is_settled = fleet_parts.held_of(job) is not None
        parts = FleetRun.Parts.SAME if is_settled else FleetRun.Parts.CHOSEN
        return {"name": job.title, "source": job.number, "parts": parts}
    if package is not None:
        return {"name": package.name, "package": package.pk, "parts": FleetRun.Parts.CHOSEN}
    return {}


def _offered(request: StaffRequest, initial: Mapping[str, Any]) -> tuple[list[Vehicle], set[int]]:
    """Those that were picked in the list of vehicles; else those like the job's or the package's.

    Which of them are ticked: what was picked; of what is like the job's vehicle those without a job under way.
    """
    picked = Selection.read(bulk.get("vehicle"), request.GET, request).rows
    if picked:
        in_use = [vehicle for vehicle in picked if not vehicle.retired_at]
        _say_what_is_left_out(request, len(picked), len(in_use))
        rows = in_use[: fleets.MOST_VEHICLES]
        return rows, {vehicle.pk for vehicle in rows}
    if "source" in initial:
        job = Fitout.objects.select_related("vehicle").get(number=initial["source"])
        rows = list(fleet_candidates.like(job.vehicle, request.user)[: fleets.MOST_VEHICLES])
        return rows, {vehicle.pk for vehicle in rows} - set(fleet_candidates.jobs_under_way(rows))
    if "package" in initial:
        package = JobPackage.objects.get(pk=initial["package"])
        of_model = vehicles_for(request.user).filter(make=package.make, model=package.model)
        of_model = of_model.filter(retired_at=None, customer__retired_at=None).order_by("registration", "pk")
        return list(of_model[: fleets.MOST_VEHICLES]), set()
    return [], set()


def _say_what_is_left_out(request: HttpRequest, picked: int, in_use: int) -> None:
    if in_use < picked:
        words = ngettext("%(n)d retired vehicle is left out.", "%(n)d retired vehicles are left out.", picked - in_use)
        messages.warning(request, words % {"n": picked - in_use})
    if in_use > fleets.MOST_VEHICLES:
        words = _("One run takes at most %(most)d vehicles: the first %(most)d stand here. Size the others in another.")
        messages.warning(request, words % {"most": fleets.MOST_VEHICLES})


def _named(request: StaffRequest, name: str) -> list[Vehicle]:
    """The vehicles that the page sent under a name, in its order."""
    asked = (key_in(text) for text in request.POST.getlist(name)[: 2 * fleets.MOST_VEHICLES])
    keys = list(dict.fromkeys(key for key in asked if key is not None))
    found = vehicles_for(request.user).in_bulk(keys)
    return [found[key] for key in keys if key in found]


def _new_page(
    request: StaffRequest, form: FleetForm, shown: list[Vehicle], picked: set[int], *, status: int = 200
) -> HttpResponse:
    content = _content(form)
    context = {
        "form": form,
        "candidates": fleet_candidates.candidates(shown, picked, content),
        "is_known": content is not None,
        "positions": fleet_candidates.positions_of(content) if content else (),
    }
    return render(request, "quoting/fleet_new.html", context, status=status)


def _content(form: FleetForm) -> dict[str, Any] | None:
    """The brief that is asked for, while the entries name one."""
    if form.is_bound:
        source, package = (getattr(form, "cleaned_data", {}).get(name) for name in ("source", "package"))
    else:
        source = Fitout.objects.filter(number=form.initial.get("source", "")).first()
        package = JobPackage.objects.filter(pk=form.initial.get("package", 0)).first()
    if source is not None:
        return contents(source)
    return package.content if package is not None else None


# --- One ---------------------------------------------------------------------------------------------


def _found(request: HttpRequest, pk: int) -> FleetRun:
    return get_object_or_404(queries.visible_to(request.user), pk=pk)


@never_cache
@require_safe
@needs()
def fleet(request: HttpRequest, pk: int) -> HttpResponse:
    return _page(request, _found(request, pk))


def _page(request: HttpRequest, run: FleetRun, problem: str = "", *, status: int = 200) -> HttpResponse:
    summary = queries.summary(run)
    context = {
        "summary": summary,
        "lines": [(row, queries.shown_of(row)) for row in summary.rows],
        "sees_money": rules.can_see_money(request.user),
        "problem": problem,
        **_progress(request, run, summary.counts),
    }
    return render(request, "quoting/fleet.html", context, status=status)


def _progress(request: HttpRequest, run: FleetRun, counts: dict[str, int]) -> dict[str, Any]:
    of = sum(counts.values())
    return {
        "run": run,
        "job": run.job,
        "counts": counts,
        "of": of,
        "ended": of - counts["waiting"],
        "todo": of - counts["done"],
        "is_live": fleets.is_live(run),
        "place": place_in_queue(run.job),
        "can_open": rules.can_open_job(request.user),
    }


@never_cache
@require_safe
@needs()
def fleet_progress(request: StaffRequest, pk: int) -> HttpResponse:
    """How far it is, for htmx, which asks again while it goes on; then the page comes anew."""
    run = _found(request, pk)
    if not request.htmx:
        return redirect("fleet", pk)
    counts = dict(fleets.counts(list(run.items.only("state"))))
    response = render(request, "quoting/_fleet_progress.html", _progress(request, run, counts))
    if not fleets.is_live(run):
        response["HX-Refresh"] = "true"
    return response


@require_POST
@needs(rules.can_open_job)
def fleet_stop(request: HttpRequest, pk: int) -> HttpResponse:
    if not fleets.stop(_found(request, pk)):
        messages.error(request, _("Too late to stop it: it has ended."))
    return redirect("fleet", pk)


@require_POST
@needs(rules.can_open_job)
def fleet_go_on(request: HttpRequest, pk: int) -> HttpResponse:
    """Do what is left, and try again what failed."""
    try:
        todo = fleets.go_on(_found(request, pk), by=person(request))
    except fleets.FleetRefused as refused:
        messages.error(request, str(refused))
    else:
        words = ngettext("%(n)d vehicle is being sized.", "%(n)d vehicles are being sized.", todo)
        messages.success(request, words % {"n": todo})
    return redirect("fleet", pk)


@require_safe
@needs()
def fleet_out(request: StaffRequest, pk: int, form: str) -> HttpResponseBase:
    """The summary as a table; money only for those who see it."""
    if form not in FORMATS:
        raise Http404
    run = _found(request, pk)
    heads, lines = fleets_out.table(queries.summary(run), with_money=rules.can_see_money(request.user))
    return as_file(sheets.streamed(form, _("Fleet"), heads, lines), form, run.name)


fleet_urls = [
    path("jobs/fleets/", fleet_list, name="fleet_list"),
    path("jobs/fleets/new/", fleet_new, name="fleet_new"),
    path("jobs/fleets/<int:pk>/", fleet, name="fleet"),
    path("jobs/fleets/<int:pk>/progress/", fleet_progress, name="fleet_progress"),
    path("jobs/fleets/<int:pk>/stop/", fleet_stop, name="fleet_stop"),
    path("jobs/fleets/<int:pk>/go-on/", fleet_go_on, name="fleet_go_on"),
    path("jobs/fleets/<int:pk>/vehicles.<slug:form>", fleet_out, name="fleet_out"),
]
