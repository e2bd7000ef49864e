"""Accounts, for managers."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from fitouts import queries
from fitouts.forms.people import PersonChangeForm, PersonForm
from fitouts.models import User
from fitouts.rules import can_manage_people
from fitouts.services import people as service
from fitouts.views.access import StaffRequest, needs
from fitouts.views.posting import carry_out


@needs(can_manage_people)
def people(request: StaffRequest) -> HttpResponse:
    return render(request, "fitouts/people.html", {"people": queries.people_for(request.user)})


def _hand_over(request: StaffRequest, person: User, password: str) -> HttpResponse:
    return render(request, "fitouts/password_once.html", {"person": person, "password": password})


@never_cache
@needs(can_manage_people)
def person_add(request: StaffRequest) -> HttpResponse:
    form = PersonForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = carry_out(form, service.add_person, **form.cleaned_data)
        if made:
            return _hand_over(request, *made)
    return render(request, "fitouts/person_form.html", {"form": form, "back": reverse("people")})


@needs(can_manage_people)
def person_edit(request: StaffRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(queries.people_for(request.user), pk=pk)
    title = str(found)
    form = PersonChangeForm(request.POST or None, instance=found)
    if request.method == "POST" and form.is_valid():
        try:
            if carry_out(form, service.change_person, found, **form.cleaned_data):
                messages.success(request, _("Saved."))
                return redirect("people")
        except service.LastManager as refused:
            form.add_error("role", str(refused))
    context = {"form": form, "person": found, "title": title, "back": reverse("people")}
    return render(request, "fitouts/person_form.html", context)


@require_POST
@needs(can_manage_people)
def person_switch(request: StaffRequest, pk: int) -> HttpResponse:
    """Close an account, or open it again."""
    found = get_object_or_404(queries.people_for(request.user), pk=pk)
    try:
        if found.is_active:
            service.deactivate(found)
            messages.success(request, _("{name} can no longer sign in.").format(name=found))
        else:
            service.reactivate(found)
            messages.success(request, _("{name} can sign in again.").format(name=found))
    except service.LastManager as refused:
        messages.error(request, str(refused))
    return redirect("people")


@never_cache
@require_POST
@needs(can_manage_people)
def person_password(request: StaffRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(queries.people_for(request.user), pk=pk)
    return _hand_over(request, found, service.reset_password(found))
