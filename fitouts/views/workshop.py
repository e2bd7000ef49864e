"""The workshop's own pages, for managers."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from catalog.changes import changes
from catalog.conflicts import watch
from catalog.kinds.base import GROUPS
from fitouts import queries
from fitouts.forms.workshop import InstrumentForm, MarkupForm, MoneyRulesForm, TaxRateForm, WorkshopForm
from fitouts.models import Instrument, Markup, TaxRate, Workshop
from fitouts.rules import can_run_workshop
from fitouts.services import workshop as service
from fitouts.views.access import StaffRequest, needs
from fitouts.views.posting import carry_out


def _edit(request: StaffRequest, form_class: type[Any], template: str, to: str, **more: Any) -> HttpResponse:
    record = Workshop.objects.get(pk=1)
    form = form_class(request.POST or None, instance=record)
    watch(form, record, request.POST, reader=request.user)
    if (
        request.method == "POST"
        and form.is_valid()
        and carry_out(form, service.change_workshop, record, by=request.user, **form.cleaned_data)
    ):
        messages.success(request, _("Saved. New work follows it; what is issued keeps the rules it was made by."))
        return redirect(to)
    return render(request, template, {"form": form, **more})


@needs(can_run_workshop)
def workshop(request: StaffRequest) -> HttpResponse:
    history = Workshop.history.all()
    return _edit(
        request, WorkshopForm, "fitouts/workshop.html", "workshop", changes=changes((_("Workshop"), history), limit=15)
    )


def _markup_words(row: Any) -> str:
    """What a markup is called: its group, as the bill has it."""
    return _("Markup on %(group)s") % {"group": str(_(dict(GROUPS).get(row.group, row.group))).lower()}


@needs(can_run_workshop)
def workshop_money(request: StaffRequest) -> HttpResponse:
    today = timezone.localdate()
    rates = list(TaxRate.objects.all())
    in_force = next((rate for rate in rates if rate.valid_from <= today), None)
    ratios = service.markups()
    more = {
        "rates": rates,
        "in_force": in_force,
        "today": today,
        "changes": changes(
            (_("Money rules"), Workshop.history.all()),
            (_("Tax"), TaxRate.history.all()),
            (_markup_words, Markup.history.all()),
            limit=30,
        ),
        "markups": [(_(words), ratios.get(group)) for group, words in GROUPS],
    }
    return _edit(request, MoneyRulesForm, "fitouts/workshop_money.html", "workshop_money", **more)


@needs(can_run_workshop)
def markups(request: StaffRequest) -> HttpResponse:
    form = MarkupForm(request.POST or None, ratios=service.markups())
    if request.method == "POST" and form.is_valid():
        service.set_markups(form.cleaned_data, by=request.user)
        messages.success(request, _("Saved. Drafts follow it when they are priced again."))
        return redirect("workshop_money")
    return render(request, "fitouts/markups.html", {"form": form, "back": reverse("workshop_money")})


@needs(can_run_workshop)
def tax_add(request: StaffRequest) -> HttpResponse:
    form = TaxRateForm(request.POST or None)
    if (
        request.method == "POST"
        and form.is_valid()
        and carry_out(form, service.add_tax_rate, by=request.user, **form.cleaned_data)
    ):
        return redirect("workshop_money")
    return render(request, "fitouts/tax_form.html", {"form": form, "back": reverse("workshop_money")})


@require_POST
@needs(can_run_workshop)
def tax_remove(request: StaffRequest, pk: int) -> HttpResponse:
    rate = get_object_or_404(TaxRate, pk=pk)
    try:
        service.remove_tax_rate(rate, by=request.user)
    except service.TaxInForce as refused:
        messages.error(request, str(refused))
    return redirect("workshop_money")


@needs(can_run_workshop)
def instruments(request: StaffRequest) -> HttpResponse:
    context = {"instruments": queries.instruments(), "today": timezone.localdate()}
    return render(request, "fitouts/instruments.html", context)


@needs(can_run_workshop)
def instrument_add(request: StaffRequest) -> HttpResponse:
    form = InstrumentForm(request.POST or None)
    if (
        request.method == "POST"
        and form.is_valid()
        and carry_out(form, service.add_instrument, by=request.user, **form.cleaned_data)
    ):
        return redirect("instruments")
    return render(request, "fitouts/instrument_form.html", {"form": form, "back": reverse("instruments")})


@needs(can_run_workshop)
def instrument_edit(request: StaffRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Instrument, pk=pk)
    form = InstrumentForm(request.POST or None, instance=found)
    watch(form, found, request.POST, reader=request.user)
    if (
        request.method == "POST"
        and form.is_valid()
        and carry_out(form, service.change_instrument, found, by=request.user, **form.cleaned_data)
    ):
        return redirect("instruments")
    context = {"form": form, "instrument": found, "back": reverse("instruments")}
    return render(request, "fitouts/instrument_form.html", context)


@require_POST
@needs(can_run_workshop)
def instrument_retire(request: StaffRequest, pk: int) -> HttpResponse:
    """Take an instrument out of use, or back."""
    found = get_object_or_404(Instrument, pk=pk)
    service.change_instrument(found, by=request.user, retired_at=None if found.retired_at else timezone.now())
    return redirect("instruments")
