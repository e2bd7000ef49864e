"""Switched outputs laid out: picked up and put down, by drag, by keys or by pressing; and what a job watches."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from catalog import conflicts
from fitouts.models import Fitout, SensePoint
from fitouts.services import senses
from fitouts.views.access import needs
from fitouts.views.posting import carry_out, key_in, words_in
from quoting import rules
from quoting.forms.outputs import SenseForm
from quoting.models import Design
from quoting.queries.outputs import input_rows, outputs_page, spare_by_kind
from quoting.services import designs, layouts, sense_inputs
from quoting.sizing.wiring_records import InputUse
from quoting.views.outlook import design_context
from quoting.views.page import person, the_job

UNDO = "outputs_undo"
"""Of the session: the job, where circuits hung before the last move, and the state it led to."""
FORM = require_http_methods(["GET", "HEAD", "POST"])


@require_safe
@needs()
def outputs(request: HttpRequest, pk: int) -> HttpResponse:
    """``?held=`` names a circuit that was picked up: each output then offers to take it, or says why not."""
    fitout = the_job(request, pk)
    return render(request, "quoting/outputs.html", _context(request, fitout, words_in(request.GET, "held")))


@require_POST
@needs(rules.can_lay_out)
def output_move(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a circuit on an output. Refused in words; what was on screen stays."""
    fitout = the_job(request, pk)
    design = designs.latest_of(fitout)
    circuit = words_in(request.POST, "circuit")
    to = tuple(key_in(words_in(request.POST, name)) for name in ("module", "channel"))

    def move() -> layouts.Moved:
        if design is None or not all(to):
            raise layouts.LayoutRefused(_("Choose a circuit and an output."))
        seen, by = words_in(request.POST, "seen"), person(request)
        return layouts.move(fitout, design, circuit, (int(to[0] or 0), int(to[1] or 0)), seen=seen, by=by)

    return _moved(request, fitout, move)


@require_POST
@needs(rules.can_lay_out)
def outputs_clear(request: HttpRequest, pk: int) -> HttpResponse:
    """Lay everything out by itself again."""
    fitout = the_job(request, pk)
    seen, by = words_in(request.POST, "seen"), person(request)
    return _moved(request, fitout, lambda: layouts.by_itself(fitout, seen=seen, by=by))


def _moved(request: HttpRequest, fitout: Fitout, move: Callable[[], layouts.Moved]) -> HttpResponse:
    """Make a move and say so, or say why not."""
    try:
        moved = move()
    except layouts.LayoutRefused as refused:
        messages.error(request, str(refused))
    else:
        _keep_undo(request, fitout, moved)
        messages.success(request, moved.words)
    return _back(request, fitout)


@require_POST
@needs(rules.can_lay_out)
def outputs_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Take this person's last move back."""
    fitout = the_job(request, pk)
    kept = _undo_of(request, fitout)
    if kept is None:
        messages.error(request, _("There is no move of yours to take back."))
        return _back(request, fitout)
    try:
        before = [(str(c), int(m), int(n)) for c, m, n in kept["before"]]
        messages.success(request, layouts.put_back(fitout, before, after=kept["after"], by=person(request)))
    except layouts.LayoutRefused as refused:
        messages.error(request, str(refused))
    request.session.pop(UNDO, None)
    return _back(request, fitout)


@FORM
@needs(rules.can_lay_out)
def sense_add(request: HttpRequest, pk: int) -> HttpResponse:
    fitout = the_job(request, pk)
    form = SenseForm(request.POST or None, instance=SensePoint(fitout=fitout), inputs=_inputs(fitout))
    if request.method == "POST" and form.is_valid() and _kept(request, form, sense_inputs.add, fitout):
        messages.success(request, _("“%(name)s” is watched.") % {"name": form.cleaned_data["name"]})
        return _to_senses(fitout)
    return _form(request, fitout, form, _("Something to watch"))


@FORM
@needs(rules.can_lay_out)
def sense_edit(request: HttpRequest, pk: int, sense_pk: int) -> HttpResponse:
    fitout = the_job(request, pk)
    point = _sense(fitout, sense_pk)
    form = SenseForm(request.POST or None, instance=point, inputs=_inputs(fitout))
    meanwhile = conflicts.watch(form, point, request.POST, reader=request.user)
    sent = request.method == "POST" and not meanwhile and form.is_valid()
    if sent and _kept(request, form, sense_inputs.change, point):
        messages.success(request, _("“%(name)s” was saved.") % {"name": point.name})
        return _to_senses(fitout)
    return _form(request, fitout, form, point.name, remove=point)


@require_POST
@needs(rules.can_lay_out)
def sense_remove(request: HttpRequest, pk: int, sense_pk: int) -> HttpResponse:
    fitout = the_job(request, pk)
    point = _sense(fitout, sense_pk)
    senses.remove(point, by=person(request))
    messages.success(request, _("“%(name)s” is watched no more.") % {"name": point.name})
    return _to_senses(fitout)


def _context(request: HttpRequest, fitout: Fitout, held: str = "") -> dict[str, Any]:
    design = designs.latest_of(fitout)
    can_lay_out = rules.can_lay_out(request.user)
    context = design_context(request, fitout, design) | {"can_lay_out": can_lay_out}
    rows = layouts.rows_of(fitout)
    page = outputs_page(design, rows, held if can_lay_out else "") if design is not None else None
    undo = _undo_of(request, fitout)
    points = fitout.sense_points.select_related("position", "component")
    inputs = input_rows(designs.appraisal_of(design)) if design is not None else ()
    return context | {
        "page": page,
        "rows": rows,
        "can_undo": can_lay_out and undo is not None and undo["after"] == layouts.state_of(rows),
        "inputs": inputs,
        "spare_inputs": spare_by_kind(inputs),
        "senses": points,
    }


def _back(request: HttpRequest, fitout: Fitout) -> HttpResponse:
    """The page again; for htmx its outputs anew, and what was said."""
    if not getattr(request, "htmx", False):
        return redirect(reverse("outputs", args=[fitout.pk]))
    return render(request, "quoting/_outputs_answer.html", _context(request, fitout))


def _keep_undo(request: HttpRequest, fitout: Fitout, moved: layouts.Moved) -> None:
    request.session[UNDO] = {"job": fitout.pk, "before": json.loads(json.dumps(moved.before)), "after": moved.after}


def _undo_of(request: HttpRequest, fitout: Fitout) -> dict[str, Any] | None:
    kept = request.session.get(UNDO)
    return kept if kept and kept["job"] == fitout.pk else None


def _inputs(fitout: Fitout) -> tuple[InputUse, ...]:
    design: Design | None = designs.latest_of(fitout)
    return designs.appraisal_of(design).inputs if design is not None else ()


def _sense(fitout: Fitout, pk: int) -> SensePoint:
    return get_object_or_404(fitout.sense_points.select_related("position", "component", "fitout"), pk=pk)


def _kept(request: HttpRequest, form: SenseForm, service: Any, row: Any) -> Any:
    values = {name: form.cleaned_data[name] for name in ("name", "what", "position", "component")}
    return carry_out(form, service, row, place=form.place, by=person(request), **values)


def _to_senses(fitout: Fitout) -> HttpResponse:
    return redirect(reverse("outputs", args=[fitout.pk]) + "#inputs")


def _form(
    request: HttpRequest, fitout: Fitout, form: SenseForm, title: str, remove: SensePoint | None = None
) -> HttpResponse:
    context: dict[str, Any] = {"form": form, "fitout": fitout, "title": title}
    context["back"] = reverse("outputs", args=[fitout.pk]) + "#inputs"
    if remove is not None:
        context["remove_pk"] = remove.pk
    return render(request, "quoting/sense_form.html", context, status=422 if form.errors else 200)


output_urls = [
    path("jobs/<int:pk>/outputs/", outputs, name="outputs"),
    path("jobs/<int:pk>/outputs/move/", output_move, name="output_move"),
    path("jobs/<int:pk>/outputs/clear/", outputs_clear, name="outputs_clear"),
    path("jobs/<int:pk>/outputs/undo/", outputs_undo, name="outputs_undo"),
    path("jobs/<int:pk>/senses/add/", sense_add, name="sense_add"),
    path("jobs/<int:pk>/senses/<int:sense_pk>/", sense_edit, name="sense_edit"),
    path("jobs/<int:pk>/senses/<int:sense_pk>/remove/", sense_remove, name="sense_remove"),
]
