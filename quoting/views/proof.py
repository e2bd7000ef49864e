"""Building and proving a job, delivering it, and finding what is installed where."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.forms import Form
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from fitouts.models import BuildTick, Fitout, FittedPart, InstalledSystem
from fitouts.services.fitouts import StageNotAllowed
from fitouts.views.access import StaffRequest, needs
from quoting.forms.proof import CommissioningForm, DeliverForm, PartForm, ReadingForm
from quoting.models import Snapshot
from quoting.queries import proof as queries
from quoting.services import delivery, proof, snapshots

COMMISSIONING_FIELDS = ("air_c", "battery_c", "charge_ratio", "rested_h", "odometer_km", "certificate_no", "found")


def _act(request: StaffRequest, fitout_id: int, act: Callable[[], Any], done: str, at: str = "") -> HttpResponse:
    try:
        act()
    except (proof.NotReady, StageNotAllowed) as error:
        messages.error(request, str(error))
    else:
        messages.success(request, done)
    return redirect(f"{reverse('build', args=[fitout_id])}{at}")


def _again(request: StaffRequest, fitout: Fitout, form: Form, title: str) -> HttpResponse:
    return render(request, "quoting/entry.html", {"form": form, "title": title, "fitout": fitout}, status=422)


def _fitout(pk: int) -> Fitout:
    return get_object_or_404(Fitout.objects.select_related("customer", "vehicle"), pk=pk)


@require_safe
@needs()
def build(request: StaffRequest, pk: int) -> HttpResponse:
    """The technician's page: steps, parts, readings, delivery."""
    fitout = _fitout(pk)
    panel = queries.panel(fitout)
    commissioning = panel.commissioning
    initial = {f: getattr(commissioning, f) for f in COMMISSIONING_FIELDS} if commissioning else {}
    if commissioning:
        initial["instruments"] = list(commissioning.instruments.all())
    context = {
        "fitout": fitout,
        "panel": panel,
        "parts": [(part, PartForm(part, prefix=f"part-{part.pk}")) for part in panel.parts],
        "groups": [(g, [(r, _reading_form(r)) for r in g.rows]) for g in panel.groups],
        "commissioning_form": CommissioningForm(initial=initial, prefix="test"),
        "deliver_form": DeliverForm(initial={"delivered_on": timezone.localdate()}, prefix="deliver"),
    }
    return render(request, "quoting/build.html", context)


def _reading_form(row: proof.Row, data: Any = None) -> ReadingForm:
    prefix = f"r-{row.expectation.key}"
    licence = {"licence_no": row.reading.licence_no} if row.reading else {}
    return ReadingForm(row.expectation, data, prefix=prefix, initial=licence)


@require_POST
@needs()
def build_start(request: StaffRequest, pk: int) -> HttpResponse:
    fitout = _fitout(pk)
    return _act(request, pk, lambda: proof.start_build(fitout, by=request.user), _("In build. The steps are laid out."))


@require_POST
@needs()
def build_tick(request: StaffRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(BuildTick.objects.select_related("fitout"), pk=pk)
    error = ""
    try:
        if row.done_at is None:
            proof.tick(row, by=request.user, at=timezone.now())
        else:
            proof.untick(row)
    except proof.NotReady as refused:
        error = str(refused)
    if getattr(request, "htmx", False):
        return render(request, "quoting/_tick.html", {"tick": row, "error": error, "fitout": row.fitout})
    if error:
        messages.error(request, error)
    return redirect(f"{reverse('build', args=[row.fitout_id])}#tick-{row.pk}")


@require_POST
@needs()
def part_record(request: StaffRequest, pk: int) -> HttpResponse:
    part = get_object_or_404(FittedPart.objects.select_related("fitout"), pk=pk)
    form = PartForm(part, request.POST, prefix=f"part-{part.pk}")
    if not form.is_valid():
        return _again(request, part.fitout, form, part.name)
    serial, batch = form.cleaned_data["serial"], form.cleaned_data["batch"]
    return _act(
        request,
        part.fitout_id,
        lambda: proof.record_part(part, serial=serial, batch=batch, entered=form.entered(), by=request.user),
        _("%(name)s is written down.") % {"name": part.name},
        "#parts",
    )


@require_POST
@needs()
def reading_take(request: StaffRequest, pk: int) -> HttpResponse:
    fitout = _fitout(pk)
    key = request.POST.get("key", "")
    row = next((r for r in queries.panel_rows(fitout) if r.expectation.key == key), None)
    if row is None:
        messages.error(request, _("The accepted design expects no such reading."))
        return redirect(f"{reverse('build', args=[pk])}#readings")
    form, error = _reading_form(row, request.POST), ""
    if form.is_valid():
        try:
            proof.take_reading(fitout, key, by=request.user, **form.cleaned_data)
            row = next(r for r in proof.rows(fitout) if r.expectation.key == key)
            form = _reading_form(row)
        except proof.NotReady as refused:
            error = str(refused)
    if getattr(request, "htmx", False):
        return render(request, "quoting/_reading.html", {"row": row, "form": form, "error": error, "fitout": fitout})
    if error or form.errors:
        messages.error(request, error or " ".join(str(e) for errors in form.errors.values() for e in errors))
    return redirect(f"{reverse('build', args=[pk])}#readings")


@require_POST
@needs()
def commissioning(request: StaffRequest, pk: int) -> HttpResponse:
    fitout = _fitout(pk)
    form = CommissioningForm(request.POST, prefix="test")
    if not form.is_valid():
        return _again(request, fitout, form, _("Test conditions"))
    values = {f: form.cleaned_data[f] for f in COMMISSIONING_FIELDS}
    return _act(
        request,
        pk,
        lambda: proof.set_commissioning(fitout, values, form.cleaned_data["instruments"], by=request.user),
        _("The conditions are written down."),
        "#conditions",
    )


@require_POST
@needs()
def build_tested(request: StaffRequest, pk: int) -> HttpResponse:
    fitout = _fitout(pk)
    return _act(request, pk, lambda: proof.mark_tested(fitout, by=request.user), _("Tested."), "#result")


@require_POST
@needs()
def deliver(request: StaffRequest, pk: int) -> HttpResponse:
    fitout = _fitout(pk)
    form = DeliverForm(request.POST, prefix="deliver")
    if not form.is_valid():
        return _again(request, fitout, form, _("Deliver"))
    day = form.cleaned_data["delivered_on"]
    return _act(
        request,
        pk,
        lambda: delivery.deliver(fitout, by=request.user, delivered_on=day),
        _("Delivered. What was fitted is frozen, and the handover sheet is queued."),
        "#result",
    )


@require_safe
@needs()
def system(request: StaffRequest, pk: int) -> HttpResponse:
    """One installed system: its parts by serial, its readings, its papers."""
    found = get_object_or_404(InstalledSystem.objects.select_related("vehicle__customer", "fitout"), pk=pk)
    snapshot = Snapshot.objects.filter(sha256=found.snapshot_sha256).first()
    body = snapshots.read(snapshot)[0] if snapshot else {}
    context = {
        "system": found,
        "components": found.components.select_related("component"),
        "readings": body.get("readings", []),
        "intact": snapshot is not None and snapshots.verify(snapshot),
        "facts": queries.system_facts(found, body),
    }
    return render(request, "quoting/system.html", context)


proof_urls = [
    path("jobs/<int:pk>/build/", build, name="build"),
    path("jobs/<int:pk>/build/start/", build_start, name="build_start"),
    path("jobs/<int:pk>/build/reading/", reading_take, name="reading_take"),
    path("jobs/<int:pk>/build/conditions/", commissioning, name="commissioning"),
    path("jobs/<int:pk>/build/tested/", build_tested, name="build_tested"),
    path("jobs/<int:pk>/build/deliver/", deliver, name="deliver"),
    path("ticks/<int:pk>/", build_tick, name="build_tick"),
    path("parts/<int:pk>/", part_record, name="part_record"),
    path("systems/<int:pk>/", system, name="system"),
]
