"""What a job wishes of the choice of components."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from catalog.conflicts import watch
from catalog.models import Supplier
from catalog.typed import NotOne, resolve
from fitouts.models import Fitout
from fitouts.services import steering
from fitouts.views.access import needs
from fitouts.views.posting import words_in
from quoting import rules
from quoting.forms.steering import SteeringForm
from quoting.queries.steering import steering_of
from quoting.views.page import person, the_job

BACK = {"offers": "offers", "job": "job"}
"""Pages that the form may stand on, by what it says of itself."""


def steering_context(request: HttpRequest, fitout: Fitout, form: SteeringForm | None = None) -> dict[str, Any]:
    """What ``quoting/_steering.html`` shows; without a form for those who see no money."""
    sees_money = rules.can_choose_parts(request.user)
    if form is None and sees_money:
        form = SteeringForm(fitout=fitout)
        watch(form, fitout, {}, reader=request.user)
    return {
        "fitout": fitout,
        "steering": steering_of(fitout, with_money=sees_money),
        "steering_form": form,
        "steering_back": "job",
        "suppliers": Supplier.objects.in_use().values_list("name", flat=True)[:300] if sees_money else (),
    }


@require_http_methods(["GET", "HEAD", "POST"])
@needs(rules.can_choose_parts)
def steering_set(request: HttpRequest, pk: int) -> HttpResponse:
    """The wishes by themselves, and what saves them from wherever they stand."""
    fitout = the_job(request, pk)
    form = SteeringForm(request.POST if request.method == "POST" else None, fitout=fitout)
    watch(form, fitout, request.POST, reader=request.user)
    if request.method == "POST" and form.is_valid() and form.save(by=person(request)):
        messages.success(request, _("What to choose from was saved."))
        return redirect(_back(request, fitout))
    context = {**steering_context(request, fitout, form), "steering_back": words_in(request.POST, "back")}
    return render(request, "quoting/steering.html", context, status=422 if form.errors else 200)


@require_POST
@needs(rules.can_choose_parts)
def supplier_wish(request: HttpRequest, pk: int) -> HttpResponse:
    """Prefer a supplier, rule one out, or take either back."""
    fitout = the_job(request, pk)
    how, text = request.POST.get("how", ""), words_in(request.POST, "supplier")
    rows = Supplier.objects.all() if how == "free" else Supplier.objects.in_use()
    try:
        if how not in ("wanted", "banned", "free"):
            raise NotOne(_("Say whether the supplier is preferred or ruled out."))
        steering.set_supplier(fitout, resolve("supplier", rows, text), how, by=person(request))  # type: ignore[arg-type]
    except NotOne as error:
        messages.error(request, str(error))
    except ValidationError as refused:
        messages.error(request, " ".join(refused.messages))
    return redirect(_back(request, fitout))


def _back(request: HttpRequest, fitout: Fitout) -> str:
    return f"{reverse(BACK.get(request.POST.get('back', ''), 'job'), args=[fitout.pk])}#choice"


steering_urls = [
    path("jobs/<int:pk>/steering/", steering_set, name="steering"),
    path("jobs/<int:pk>/steering/supplier/", supplier_wish, name="supplier_wish"),
]
