"""The engineering policy, for managers."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from catalog.conflicts import watch
from fitouts.models import Workshop
from fitouts.rules import can_run_workshop
from fitouts.views.access import StaffRequest, needs
from quoting.forms.policy import PolicyForm
from quoting.queries.policy import differing_words, jobs_to_look_at, policy_changes
from quoting.services.policy import flat


@require_http_methods(["GET", "HEAD", "POST"])
@needs(can_run_workshop)
def workshop_engineering(request: StaffRequest) -> HttpResponse:
    """Every margin, limit and assumption, with default, source and what it changes."""
    form = PolicyForm(request.POST or None)
    watch(form, Workshop.objects.get(), request.POST, reader=request.user)
    if request.method == "POST" and form.is_valid() and form.save(by=request.user):
        messages.success(request, _("Saved. New designs follow it; what is issued keeps the policy it was made under."))
        return redirect("workshop_engineering")
    stored = Workshop.objects.values_list("engineering", flat=True).get()
    usual, set_here = flat({}), flat(stored or {})
    differing = sum(1 for name in usual if usual[name] != set_here[name])
    designed, issued = jobs_to_look_at()
    context = {
        "form": form,
        "differing": differing_words(differing),
        "designed": designed,
        "issued": issued,
        "changes": policy_changes(),
    }
    return render(request, "quoting/engineering.html", context, status=422 if form.errors else 200)


policy_urls = [path("workshop/engineering/", workshop_engineering, name="workshop_engineering")]
