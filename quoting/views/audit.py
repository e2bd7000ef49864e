"""The power audit: lines opened in place, added up while somebody types, saved whole or not at all."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from catalog.models import Appliance
from fitouts.models import Fitout, Requirement
from fitouts.services import audit
from fitouts.views.access import needs
from fitouts.views.posting import key_in, words_in
from quoting import rules
from quoting.forms.lines import LineForm
from quoting.models import Design
from quoting.queries import jobs as queries
from quoting.services import designs
from quoting.views.jobs import job_page
from quoting.views.page import after_change, audit_context, job_url, line_of, person, the_job


@require_http_methods(["GET", "HEAD", "POST"])
@needs(rules.can_edit_audit)
def line_add(request: HttpRequest, pk: int) -> HttpResponse:
    """A new line, empty or begun from the appliance library."""
    fitout = the_job(request, pk)
    if "leave" in request.GET:
        return after_change(request, fitout, "audit", "#audit")
    line = _begun(request, fitout)
    if request.method == "POST":
        form = LineForm(request.POST, fitout=fitout, way=request.POST.get("way", ""), line=line)
        if form.is_valid() and (saved := form.save(by=person(request))):
            done = _("“%(name)s” was added.") % {"name": saved.name}
            return after_change(request, fitout, "audit", f"#line-{saved.pk}", done)
        return _form_answer(request, fitout, form, line)
    way = request.GET.get("way") or (line.way if line else "steady")
    form = LineForm(fitout=fitout, way=way, line=line, initial=_typed(request))
    return _form_answer(request, fitout, form, line)


@require_http_methods(["GET", "HEAD", "POST"])
@needs(rules.can_edit_audit)
def line_edit(request: HttpRequest, pk: int, line_pk: int) -> HttpResponse:
    """A line opened in place. ``?leave`` closes it as it was."""
    fitout = the_job(request, pk)
    line = line_of(fitout, line_pk)
    if request.method == "POST":
        form = LineForm(request.POST, fitout=fitout, way=request.POST.get("way", ""), line=line)
        if form.is_valid() and form.save(by=person(request)):
            return _saved(request, fitout, line)
        return _form_answer(request, fitout, form, line)
    if "leave" in request.GET:
        if not request.htmx:  # type: ignore[attr-defined]
            return redirect(job_url(fitout, f"#line-{line.pk}"))
        return _saved(request, fitout, line)
    form = LineForm(fitout=fitout, way=request.GET.get("way") or line.way, line=line, initial=_typed(request))
    return _form_answer(request, fitout, form, line)


@require_POST
@needs(rules.can_edit_audit)
def line_preview(request: HttpRequest, pk: int) -> HttpResponse:
    """Totals with the line as it stands in the open row; nothing is saved. A row with a fault keeps the saved ones."""
    fitout = the_job(request, pk)
    design = designs.latest_of(fitout)
    lines = queries.lines_of(fitout)
    key = request.POST.get("line", "")
    old = next((x for x in lines if str(x.pk) == key), None)
    before = _energy(request, fitout, design, old)
    form = LineForm(request.POST, fitout=fitout, way=request.POST.get("way", ""), line=old)
    draft = form.draft()
    if draft is not None:
        lines = [draft if x is old else x for x in lines] if old else [*lines, draft]
    context = audit_context(request, fitout, design, lines)
    now = context["day"].energies().get(str(draft.pk or "new")) if draft and context["day"] else None
    context |= {"is_preview": draft is not None, "kept": draft is None, "before": before, "now": now, "key": key}
    return render(request, "quoting/_audit_preview.html", context)


@require_POST
@needs(rules.can_edit_audit)
def line_remove(request: HttpRequest, pk: int, line_pk: int) -> HttpResponse:
    fitout = the_job(request, pk)
    line = line_of(fitout, line_pk)
    audit.remove_line(line, by=person(request))
    return after_change(request, fitout, "audit", "#audit", _("“%(name)s” was taken out.") % {"name": line.name})


@require_POST
@needs(rules.can_edit_audit)
def line_move(request: HttpRequest, pk: int, line_pk: int) -> HttpResponse:
    """One place up or down."""
    fitout = the_job(request, pk)
    line = line_of(fitout, line_pk)
    keys = swapped([x.pk for x in queries.lines_of(fitout)], line.pk, request.POST.get("way_to", ""))
    audit.order_lines(fitout, keys, by=person(request))
    return after_change(request, fitout, "audit", f"#line-{line.pk}")


@require_safe
@needs(rules.can_edit_audit)
def line_find(request: HttpRequest, pk: int) -> HttpResponse:
    """Appliances of the library to begin a line from."""
    fitout = the_job(request, pk)
    text = words_in(request.GET, "find")[:80]
    rows = Appliance.objects.in_use()
    for word in text.split()[:6]:
        rows = rows.filter(Q(name__icontains=word) | Q(group__icontains=word))
    context = {"fitout": fitout, "find": text, "appliances": rows[:12], "more": rows.count() > 12}
    if not request.htmx:  # type: ignore[attr-defined]
        return job_page(request, fitout, context)
    return render(request, "quoting/_audit_library.html", context)


@require_POST
@needs(rules.can_edit_audit)
def lines_copy(request: HttpRequest, pk: int) -> HttpResponse:
    """The lines of another job, behind this one's."""
    fitout = the_job(request, pk)
    number = words_in(request.POST, "number")
    source = queries.visible_to(request.user).filter(number=number).first()
    if source is None:
        return _refused(request, fitout, _("There is no job “%(number)s”.") % {"number": number[:20]})
    try:
        count = audit.copy_lines(fitout, source, by=person(request))
    except audit.LineRefused as error:
        return _refused(request, fitout, str(error))
    done = _("%(count)d lines were copied from job %(number)s.") % {"count": count, "number": source.number}
    return after_change(request, fitout, "audit", "#audit", done)


def swapped(keys: list[int], key: int, way_to: str) -> list[int]:
    """Keys with one of them a place up or down; unchanged at the ends."""
    at = keys.index(key)
    other = at - 1 if way_to == "up" else at + 1 if way_to == "down" else at
    if 0 <= other < len(keys):
        keys[at], keys[other] = keys[other], keys[at]
    return keys


def _begun(request: HttpRequest, fitout: Fitout) -> Requirement | None:
    """An unsaved line with the values of an appliance, when one was picked."""
    picked = request.POST.get("appliance") or request.GET.get("appliance") or ""
    key = key_in(picked)
    if key is None:
        return None
    appliance = get_object_or_404(Appliance.objects.in_use(), pk=key)
    return Requirement(fitout=fitout, appliance=appliance, **appliance.line())


def _typed(request: HttpRequest) -> dict[str, Any]:
    """What was typed before the way of use was changed."""
    if "way" not in request.GET:
        return {}
    flags = ("always_live", "essential", "critical", "at_once")
    typed: dict[str, Any] = {name: request.GET[name] for name in request.GET if name not in flags}
    if "name" in request.GET:
        typed |= {name: name in request.GET for name in flags}
    return typed


def _energy(request: HttpRequest, fitout: Fitout, design: Design | None, line: Requirement | None) -> float | None:
    if line is None:
        return None
    day = audit_context(request, fitout, design)["day"]
    return day.energies().get(str(line.pk)) if day else None


def _form_answer(request: HttpRequest, fitout: Fitout, form: LineForm, line: Requirement | None) -> HttpResponse:
    context = {"fitout": fitout, "audit_form": form, "open_line": line, "open_key": line.pk if line else None}
    if request.htmx:  # type: ignore[attr-defined]
        return render(request, "quoting/_audit_form.html", context)
    return job_page(request, fitout, context | {"is_open": True}, status=422 if form.errors else 200)


def _saved(request: HttpRequest, fitout: Fitout, line: Requirement) -> HttpResponse:
    if not request.htmx:  # type: ignore[attr-defined]
        return redirect(job_url(fitout, f"#line-{line.pk}"))
    return after_change(request, fitout, "audit", line=line)


def _refused(request: HttpRequest, fitout: Fitout, words: str) -> HttpResponse:
    messages.error(request, words)
    return after_change(request, fitout, "audit", "#audit")


audit_urls = [
    path("jobs/<int:pk>/loads/add/", line_add, name="line_add"),
    path("jobs/<int:pk>/loads/find/", line_find, name="line_find"),
    path("jobs/<int:pk>/loads/preview/", line_preview, name="line_preview"),
    path("jobs/<int:pk>/loads/copy/", lines_copy, name="lines_copy"),
    path("jobs/<int:pk>/loads/<int:line_pk>/", line_edit, name="line_edit"),
    path("jobs/<int:pk>/loads/<int:line_pk>/remove/", line_remove, name="line_remove"),
    path("jobs/<int:pk>/loads/<int:line_pk>/move/", line_move, name="line_move"),
]
