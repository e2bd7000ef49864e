"""Circuits that lie in the vehicle already: taken over from our own records, or written down as found."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from catalog import conflicts
from fitouts.models import Fitout
from fitouts.rules import can_survey
from fitouts.views.access import needs
from fitouts.views.posting import carry_out, words_in
from quoting.forms.existing import ExistingForm
from quoting.models import ExistingCircuit
from quoting.queries.existing import existing_page
from quoting.services import designs, existing
from quoting.views.outlook import design_context
from quoting.views.page import person, the_job


@require_safe
@needs()
def existing_circuits(request: HttpRequest, pk: int) -> HttpResponse:
    fitout = the_job(request, pk)
    design = designs.latest_of(fitout)
    context = design_context(request, fitout, design) | {"page": existing_page(fitout, design)}
    return render(request, "quoting/existing.html", context | {"may_record": can_survey(request.user)})


@require_POST
@needs(can_survey)
def existing_take_over(request: HttpRequest, pk: int) -> HttpResponse:
    """Every circuit of our own that the design has too."""
    fitout = the_job(request, pk)
    try:
        count = existing.take_over(fitout, existing.circuits_of(designs.latest_of(fitout)), by=person(request))
    except existing.ExistingRefused as refused:
        messages.error(request, str(refused))
        return redirect(existing_url(fitout))
    words = ngettext("%(n)d circuit was taken over.", "%(n)d circuits were taken over.", count) % {"n": count}
    messages.success(request, words if count else _("Every circuit that matches is on the list already."))
    return redirect(existing_url(fitout))


@require_http_methods(["GET", "HEAD", "POST"])
@needs(can_survey)
def existing_add(request: HttpRequest, pk: int) -> HttpResponse:
    """A circuit as found; ``?built=`` begins with one of an as-built record that nothing matched."""
    fitout = the_job(request, pk)
    built = existing.built_circuit(fitout, words_in(request.GET, "built")) if "built" in request.GET else None
    title = _("A circuit that is in the vehicle") if built is None else f"{built.tag} {built.name}"
    values = dict(built.values) if built else {}
    return _form(request, fitout, ExistingCircuit(fitout=fitout, **values), title, values)


@require_http_methods(["GET", "HEAD", "POST"])
@needs(can_survey)
def existing_edit(request: HttpRequest, pk: int, existing_pk: int) -> HttpResponse:
    fitout = the_job(request, pk)
    row = get_object_or_404(fitout.existing_circuits, pk=existing_pk)
    return _form(request, fitout, row, row.name, {})


@require_POST
@needs(can_survey)
def existing_drop(request: HttpRequest, pk: int, existing_pk: int) -> HttpResponse:
    """Count on it no longer."""
    fitout = the_job(request, pk)
    row = get_object_or_404(fitout.existing_circuits, pk=existing_pk)
    existing.drop(row, by=person(request))
    messages.success(request, _("“%(name)s” is off the list; the circuit is made new.") % {"name": row.name})
    return redirect(existing_url(fitout))


def existing_url(fitout: Fitout) -> str:
    return reverse("existing", args=[fitout.pk])


def _form(
    request: HttpRequest, fitout: Fitout, row: ExistingCircuit, title: str, initial: dict[str, Any]
) -> HttpResponse:
    appraisal = existing.circuits_of(designs.latest_of(fitout))
    if appraisal is None and row.pk is None:
        messages.error(request, _("Work the job out first: then its circuits are known."))
        return redirect(existing_url(fitout))
    taken = fitout.existing_circuits.values_list("circuit", flat=True)
    circuits = appraisal.circuits if appraisal else ()
    form = ExistingForm(request.POST or None, circuits=circuits, taken=taken, row=row, initial=initial)
    meanwhile = row.pk is not None and conflicts.watch(form, row, request.POST, reader=request.user)
    if request.method == "POST" and not meanwhile and form.is_valid() and _kept(request, form, row):
        messages.success(request, _("“%(name)s” was saved.") % {"name": row.name})
        return redirect(existing_url(fitout))
    context = {"form": form, "fitout": fitout, "title": title, "back": existing_url(fitout), "row": row}
    return render(request, "quoting/existing_form.html", context, status=422 if form.errors else 200)


def _kept(request: HttpRequest, form: ExistingForm, row: ExistingCircuit) -> Any:
    try:
        return carry_out(form, existing.write_down, row, form.values(), by=person(request))
    except existing.ExistingRefused as refused:
        form.add_error(None, str(refused))
        return None


existing_urls = [
    path("jobs/<int:pk>/existing/", existing_circuits, name="existing"),
    path("jobs/<int:pk>/existing/take-over/", existing_take_over, name="existing_take_over"),
    path("jobs/<int:pk>/existing/add/", existing_add, name="existing_add"),
    path("jobs/<int:pk>/existing/<int:existing_pk>/", existing_edit, name="existing_edit"),
    path("jobs/<int:pk>/existing/<int:existing_pk>/drop/", existing_drop, name="existing_drop"),
]
