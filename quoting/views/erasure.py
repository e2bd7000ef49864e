"""Erase a customer: what goes, what stays, and the name typed before it is done. For managers."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from fitouts import queries
from fitouts.rules import can_run_workshop
from fitouts.views.access import StaffRequest, needs
from fitouts.views.posting import words_in
from quoting.services import erasure


@require_http_methods(["GET", "HEAD", "POST"])
@needs(can_run_workshop)
def customer_erase(request: StaffRequest, pk: int) -> HttpResponse:
    customer = get_object_or_404(queries.customers_for(request.user), pk=pk)
    problem, typed = erasure.obstacle(customer), words_in(request.POST, "name")
    if request.method == "POST" and not problem:
        if typed != customer.name:
            problem = _("Type the name exactly: %(name)s. Nothing was erased.") % {"name": customer.name}
        else:
            erased = erasure.erase(customer, by=request.user)
            messages.success(request, _("The customer is erased; this is now “%(name)s”.") % {"name": erased.name})
            return redirect("customer", pk)
    context = {"customer": customer, "problem": problem, "typed": typed}
    status = 422 if problem and request.method == "POST" else 200
    return render(request, "quoting/customer_erase.html", context, status=status)


erasure_urls = [path("customers/<int:pk>/erase/", customer_erase, name="customer_erase")]
