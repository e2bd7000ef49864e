"""What the page of a job and its parts are made of. Not a view itself."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from catalog.models import Site
from fitouts.models import COURSE, Fitout, Requirement, Stage, TripStop, User
from fitouts.services.fitouts import ASIDE
from quoting import rules, words
from quoting.forms.trip import PlacesForm, WishesForm
from quoting.models import Design
from quoting.queries import assemblies
from quoting.queries import jobs as queries
from quoting.queries.shown import shown
from quoting.services import audit_day, brief_catalogue, briefs, designs, proposals
from quoting.sizing.errors import SizingError

ACCEPTED = COURSE[COURSE.index(Stage.ACCEPTED) :]
"""Stages from which on a vehicle is built by the quote that was accepted."""


def the_job(request: HttpRequest, pk: int) -> Fitout:
    """The job, if this person may see it; else 404."""
    return get_object_or_404(queries.for_page(request.user), pk=pk)


def person(request: HttpRequest) -> User:
    """Who asks; views behind a rule are never reached by nobody."""
    assert isinstance(request.user, User)
    return request.user


def job_url(fitout: Fitout, at: str = "") -> str:
    return f"{reverse('job', args=[fitout.pk])}{at}"


def audit_context(
    request: HttpRequest, fitout: Fitout, design: Design | None, lines: list[Requirement] | None = None
) -> dict[str, Any]:
    """Lines, totals and what may be done with them. ``lines`` are shown instead of the saved ones."""
    saved = queries.lines_of(fitout) if lines is None else lines
    day, problem = None, ""
    try:
        day = audit_day.add_up(fitout, saved, queries.stops_of(fitout), design)
    except SizingError as error:
        problem = str(error)
    return {
        "fitout": fitout,
        "rows": queries.line_rows(fitout, saved, day),
        "own": queries.own_row(day),
        "day": day,
        "day_problem": problem,
        "peak": shown(day.peak_a, "A") if day else None,
        "can_edit": rules.can_edit_audit(request.user),
    }


def trip_context(request: HttpRequest, fitout: Fitout) -> dict[str, Any]:
    lines, stops = list(fitout.requirements.all()), queries.stops_of(fitout)
    can_edit = rules.can_edit_audit(request.user)
    return {
        "fitout": fitout,
        "stops": stops,
        "stop_rows": [(stop, words.MONTHS[stop.month - 1]) for stop in stops],
        "sites": Site.objects.in_use().values_list("name", flat=True) if can_edit else (),
        "places_form": PlacesForm(fitout=fitout, needed=briefs.roles_needed(fitout, lines)),
        "wishes_form": WishesForm(fitout=fitout),
        "can_edit": can_edit,
        "can_place": rules.can_edit_places(request.user),
    }


def state_context(request: HttpRequest, fitout: Fitout, design: Design | None) -> dict[str, Any]:
    """Whether the job can be worked out, and what has changed since it was."""
    missing: tuple[briefs.Missing, ...] = ()
    changes: tuple[designs.Change, ...] = ()
    problem = ""
    try:
        brief = briefs.make_brief(fitout)
        if design is not None:
            changes = designs.changes_since(design, fitout, brief)
    except briefs.BriefIncomplete as error:
        missing = error.missing
    except SizingError as error:
        problem = str(error)
    return {
        "fitout": fitout,
        "design": design,
        "missing": missing,
        "changes": changes,
        "built_by": proposals.built_by(design) if design is not None and fitout.stage in ACCEPTED else None,
        "problem": problem,
        "cuts": [] if missing else brief_catalogue.cuts(fitout),
        "can_work_out": rules.can_edit_audit(request.user) and not missing and fitout.stage not in ASIDE,
        "can_edit": rules.can_edit_audit(request.user),
        **totals_context(design),
        **_mass_with_assemblies(fitout, design),
    }


def _mass_with_assemblies(fitout: Fitout, design: Design | None) -> dict[str, Any]:
    """The mass at the foot, with what assemblies add to the design's own; nothing where they add nothing."""
    if design is None or not design.appraisal["bill"]:
        return {}
    mass_kg = assemblies.mass_of(fitout, design)
    return {"mass": shown(design.appraisal["mass_kg"] + mass_kg, "kg")} if mass_kg else {}


def totals_context(design: Design | None) -> dict[str, Any]:
    """What the latest design adds to the totals at the foot of the page."""
    if design is None:
        return {"battery": None, "lasts": None, "mass": None, "dangers": 0}
    figures, appraisal = design.appraisal["figures"], design.appraisal

    def figure(*codes: str) -> Any:
        found = next((figures[code] for code in codes if code in figures), None)
        return shown(found["value"], found["unit"]) if found else None

    return {
        "battery": figure("battery.got_ah", "battery.asked_ah"),
        "lasts": figure("battery.days"),
        "mass": shown(appraisal["mass_kg"], "kg") if appraisal["bill"] else None,
        "dangers": sum(1 for f in appraisal["findings"] if f["level"] == "danger") + len(appraisal["shortfalls"]),
    }


def after_change(
    request: HttpRequest, fitout: Fitout, part: str, at: str = "", done: str = "", line: Requirement | None = None
) -> HttpResponse:
    """Answer a saved change: for htmx its part anew (``audit``, ``trip``, or one ``line``) and what moved with it."""
    if done:
        messages.success(request, done)
    if not getattr(request, "htmx", False):
        return redirect(job_url(fitout, at))
    design = designs.latest_of(fitout)
    context = audit_context(request, fitout, design) | trip_context(request, fitout)
    context |= state_context(request, fitout, design) | {"part": part}
    if line is not None:
        context["row"] = next((row for row in context["rows"] if row.line.pk == line.pk), None)
    response = render(request, "quoting/_job_answer.html", context)
    if line is None:
        response["HX-Retarget"], response["HX-Reswap"] = f"#{part}-matter", "outerHTML"
    return response


def stop_of(fitout: Fitout, pk: int) -> TripStop:
    return get_object_or_404(fitout.stops.select_related("site"), pk=pk)


def line_of(fitout: Fitout, pk: int) -> Requirement:
    return get_object_or_404(fitout.requirements.select_related("position", "appliance"), pk=pk)
