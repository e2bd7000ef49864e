"""A vehicle as it came: parts found, defects, what was done about them. Everybody of the workshop writes them down."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.forms import Form, ModelForm
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST

from fitouts.models import Defect, Fitout, FoundPart, VehiclePhoto
from fitouts.rules import can_survey
from fitouts.services import fitouts, found
from fitouts.views.access import needs
from fitouts.views.posting import carry_out, key_in
from quoting import rules
from quoting.forms.found import DefectForm, FoundPartForm, SettleForm
from quoting.views.page import job_url, person, the_job

FORM = require_http_methods(["GET", "HEAD", "POST"])
AT = "#found"


@FORM
@needs(can_survey)
def found_add(request: HttpRequest, pk: int) -> HttpResponse:
    fitout = the_job(request, pk)
    form = FoundPartForm(request.POST or None, instance=FoundPart(fitout=fitout, vehicle=fitout.vehicle))
    if request.method == "POST" and form.is_valid() and _done(request, form, found.add_part, fitout):
        return _back(request, fitout, _("The part is written down."))
    return _form(request, fitout, form, _("A part that is in the vehicle"), hint=_read_off())


@FORM
@needs(can_survey)
def found_edit(request: HttpRequest, pk: int, part_pk: int) -> HttpResponse:
    fitout = the_job(request, pk)
    part = _part(fitout, part_pk)
    form = FoundPartForm(request.POST or None, instance=part)
    if request.method == "POST" and form.is_valid() and _done(request, form, found.change_part, part):
        return _back(request, fitout, _("“%(name)s” was saved.") % {"name": part.name})
    return _form(request, fitout, form, part.name, hint=_read_off(), remove=("found_remove", part.pk))


@require_POST
@needs(can_survey)
def found_remove(request: HttpRequest, pk: int, part_pk: int) -> HttpResponse:
    fitout = the_job(request, pk)
    part = _part(fitout, part_pk)
    return _act(request, fitout, lambda: found.remove_part(part, by=person(request)), _("The part is off the list."))


@require_POST
@needs(can_survey)
def found_take_over(request: HttpRequest, pk: int) -> HttpResponse:
    """Every component of our own systems in the vehicle, as found."""
    fitout = the_job(request, pk)
    try:
        count = found.take_over(fitout, by=person(request))
    except found.FoundRefused as refused:
        messages.error(request, str(refused))
        return redirect(job_url(fitout, AT))
    words = ngettext("%(n)d part was taken over.", "%(n)d parts were taken over.", count) % {"n": count}
    return _back(request, fitout, words if count else _("Every part of our own systems is on the list already."))


@FORM
@needs(can_survey)
def defect_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Something wrong; ``?part=`` and ``?photo=`` say what it is about."""
    fitout = the_job(request, pk)
    form = DefectForm(request.POST or None, instance=Defect(fitout=fitout), initial=_about(request, fitout))
    if request.method == "POST" and form.is_valid() and _done(request, form, found.add_defect, fitout):
        return _back(request, fitout, _("The defect is written down."))
    return _form(request, fitout, form, _("Something that is wrong"), hint=_seen())


@FORM
@needs(can_survey)
def defect_edit(request: HttpRequest, pk: int, defect_pk: int) -> HttpResponse:
    fitout = the_job(request, pk)
    defect = _defect(fitout, defect_pk)
    form = DefectForm(request.POST or None, instance=defect)
    if request.method == "POST" and form.is_valid() and _done(request, form, found.change_defect, defect):
        return _back(request, fitout, _("The defect was saved."))
    return _form(request, fitout, form, defect.words, hint=_seen(), remove=("defect_remove", defect.pk))


@require_POST
@needs(can_survey)
def defect_remove(request: HttpRequest, pk: int, defect_pk: int) -> HttpResponse:
    fitout = the_job(request, pk)
    defect = _defect(fitout, defect_pk)
    act = found.remove_defect
    return _act(request, fitout, lambda: act(defect, by=person(request)), _("The defect is off the list."))


@FORM
@needs(can_survey)
def defect_settle(request: HttpRequest, pk: int, defect_pk: int) -> HttpResponse:
    """What became of a defect: mended, left with a reason, or open again."""
    fitout = the_job(request, pk)
    defect = _defect(fitout, defect_pk)
    now = "mended" if defect.mended_at else "left" if defect.left_because else "mended"
    said = defect.mended_words or defect.left_because
    form = SettleForm(request.POST or None, initial={"what": now, "words": said})
    if request.method == "POST" and form.is_valid():
        what, words = form.cleaned_data["what"], form.cleaned_data["words"]
        services: dict[str, tuple[Any, ...]] = {
            "mended": (found.mend, defect, words),
            "left": (found.leave, defect, words),
            "open": (found.open_again, defect),
        }
        if _tried(form, *services[what], by=person(request)):
            return _back(request, fitout, _("Written down."))
    return _form(request, fitout, form, defect.words)


@require_POST
@needs(rules.can_edit_audit)
def job_kind(request: HttpRequest, pk: int) -> HttpResponse:
    """Make a job another kind: what began as a fault becomes an upgrade, and the other way about."""
    fitout = the_job(request, pk)
    try:
        fitouts.turn_into(fitout, request.POST.get("kind", ""), by=person(request))
    except fitouts.JobNotOpened as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, _("The job is now: %(kind)s.") % {"kind": fitout.get_kind_display().lower()})
    return redirect(job_url(fitout))


def _part(fitout: Fitout, pk: int) -> FoundPart:
    return get_object_or_404(fitout.found_parts.select_related("component", "position", "fitout"), pk=pk)


def _defect(fitout: Fitout, pk: int) -> Defect:
    return get_object_or_404(fitout.defects.select_related("part", "position", "photo", "fitout"), pk=pk)


def _about(request: HttpRequest, fitout: Fitout) -> dict[str, Any]:
    part, photo = (key_in(request.GET.get(name, "")) for name in ("part", "photo"))
    initial: dict[str, Any] = {}
    if part is not None and fitout.found_parts.filter(pk=part).exists():
        initial["part"] = part
    if photo is not None and VehiclePhoto.objects.filter(pk=photo, vehicle=fitout.vehicle_id).exists():
        initial["photo"] = photo
    return initial


def _done(request: HttpRequest, form: ModelForm, service: Any, row: Any) -> Any:  # type: ignore[type-arg]
    return _tried(form, service, row, by=person(request), **form.cleaned_data)


def _tried(form: Form | ModelForm, service: Any, *args: Any, **kwargs: Any) -> Any:  # type: ignore[type-arg]
    try:
        return carry_out(form, service, *args, **kwargs)
    except found.FoundRefused as refused:
        form.add_error(None, str(refused))
        return None


def _act(request: HttpRequest, fitout: Fitout, act: Any, done: str) -> HttpResponse:
    try:
        act()
    except found.FoundRefused as refused:
        messages.error(request, str(refused))
        return redirect(job_url(fitout, AT))
    return _back(request, fitout, done)


def _back(request: HttpRequest, fitout: Fitout, words: str) -> HttpResponse:
    messages.success(request, words)
    return redirect(job_url(fitout, AT))


def _read_off() -> str:
    return _("What nobody can read off the part stays empty.")


def _seen() -> str:
    return _("One sentence is enough; a danger also says what to do.")


def _form(
    request: HttpRequest,
    fitout: Fitout,
    form: Form | ModelForm,  # type: ignore[type-arg]
    title: str,
    *,
    hint: str = "",
    remove: tuple[str, int] | None = None,
) -> HttpResponse:
    context: dict[str, Any] = {"form": form, "fitout": fitout, "title": title, "hint": hint}
    context["back"] = job_url(fitout, AT)
    if remove is not None:
        context |= {"remove_name": remove[0], "remove_pk": remove[1]}
    return render(request, "quoting/found_form.html", context, status=422 if form.errors else 200)


found_urls = [
    path("jobs/<int:pk>/kind/", job_kind, name="job_kind"),
    path("jobs/<int:pk>/found/add/", found_add, name="found_add"),
    path("jobs/<int:pk>/found/take-over/", found_take_over, name="found_take_over"),
    path("jobs/<int:pk>/found/<int:part_pk>/", found_edit, name="found_edit"),
    path("jobs/<int:pk>/found/<int:part_pk>/remove/", found_remove, name="found_remove"),
    path("jobs/<int:pk>/defects/add/", defect_add, name="defect_add"),
    path("jobs/<int:pk>/defects/<int:defect_pk>/", defect_edit, name="defect_edit"),
    path("jobs/<int:pk>/defects/<int:defect_pk>/remove/", defect_remove, name="defect_remove"),
    path("jobs/<int:pk>/defects/<int:defect_pk>/settle/", defect_settle, name="defect_settle"),
]
