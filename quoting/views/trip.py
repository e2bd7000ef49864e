"""Stops of the trip, what sits where, and what the owner wishes."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from catalog.models import Component
from catalog.typed import NotOne, resolve
from fitouts.models import Fitout, TripStop
from fitouts.services import trip
from fitouts.views.access import needs
from fitouts.views.posting import words_in
from quoting import rules
from quoting.forms.trip import PlacesForm, StopForm, WishesForm
from quoting.queries import jobs as queries
from quoting.services import briefs
from quoting.views.audit import swapped
from quoting.views.jobs import job_page
from quoting.views.page import after_change, job_url, person, stop_of, the_job


@require_http_methods(["GET", "HEAD", "POST"])
@needs(rules.can_edit_audit)
def stop_add(request: HttpRequest, pk: int) -> HttpResponse:
    fitout = the_job(request, pk)
    if "leave" in request.GET:
        return after_change(request, fitout, "trip", "#trip")
    form = StopForm(request.POST or None, fitout=fitout, site=request.GET.get("site", ""))
    if request.method == "POST" and form.is_valid() and form.save(by=person(request)):
        return after_change(request, fitout, "trip", "#trip")
    return _form_answer(request, fitout, form, None)


@require_http_methods(["GET", "HEAD", "POST"])
@needs(rules.can_edit_audit)
def stop_edit(request: HttpRequest, pk: int, stop_pk: int) -> HttpResponse:
    """A stop opened in place. ``?leave`` closes it as it was."""
    fitout = the_job(request, pk)
    stop = stop_of(fitout, stop_pk)
    if request.method == "POST":
        form = StopForm(request.POST, fitout=fitout, stop=stop)
        if form.is_valid() and form.save(by=person(request)):
            return after_change(request, fitout, "trip", f"#stop-{stop.pk}")
        return _form_answer(request, fitout, form, stop)
    if "leave" in request.GET:
        return after_change(request, fitout, "trip", f"#stop-{stop.pk}")
    return _form_answer(request, fitout, StopForm(fitout=fitout, stop=stop), stop)


@require_POST
@needs(rules.can_edit_audit)
def stop_remove(request: HttpRequest, pk: int, stop_pk: int) -> HttpResponse:
    fitout = the_job(request, pk)
    trip.remove_stop(stop_of(fitout, stop_pk), by=person(request))
    return after_change(request, fitout, "trip", "#trip")


@require_POST
@needs(rules.can_edit_audit)
def stop_move(request: HttpRequest, pk: int, stop_pk: int) -> HttpResponse:
    """One place earlier or later."""
    fitout = the_job(request, pk)
    stop = stop_of(fitout, stop_pk)
    keys = swapped([x.pk for x in queries.stops_of(fitout)], stop.pk, request.POST.get("way_to", ""))
    trip.order_stops(fitout, keys, by=person(request))
    return after_change(request, fitout, "trip", f"#stop-{stop.pk}")


@require_POST
@needs(rules.can_edit_places)
def places_set(request: HttpRequest, pk: int) -> HttpResponse:
    fitout = the_job(request, pk)
    needed = briefs.roles_needed(fitout, list(fitout.requirements.all()))
    form = PlacesForm(request.POST, fitout=fitout, needed=needed)
    if not form.is_valid():
        return job_page(request, fitout, {"places_form": form}, status=422)
    form.save()
    messages.success(request, _("What sits where was saved."))
    return redirect(job_url(fitout, "#places"))


@require_POST
@needs(rules.can_edit_audit)
def wishes_set(request: HttpRequest, pk: int) -> HttpResponse:
    fitout = the_job(request, pk)
    form = WishesForm(request.POST, fitout=fitout)
    if not form.is_valid() or not form.save(by=person(request)):
        fitout.refresh_from_db()
        return job_page(request, fitout, {"wishes_form": form}, status=422)
    messages.success(request, _("The wishes were saved."))
    return redirect(job_url(fitout, "#wishes"))


@require_POST
@needs(rules.can_edit_audit)
def component_wish(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask for a component, rule it out, or take either back."""
    fitout = the_job(request, pk)
    how, text = request.POST.get("how", ""), words_in(request.POST, "component")
    rows = Component.objects.all() if how == "free" else Component.objects.in_use()
    try:
        component = resolve("component", rows, text)
    except NotOne as error:
        messages.error(request, str(error))
        return redirect(job_url(fitout, "#wishes"))
    if how not in ("pinned", "banned", "free"):
        messages.error(request, _("Say whether the component is asked for or ruled out."))
        return redirect(job_url(fitout, "#wishes"))
    lists = {name: [k for k in getattr(fitout, name) if k != component.pk] for name in ("pinned", "banned")}
    if how in lists:
        lists[how].append(component.pk)
    trip.set_wishes(fitout, lists, by=person(request), check=briefs.check_wishes)
    return redirect(job_url(fitout, "#wishes"))


def _form_answer(request: HttpRequest, fitout: Fitout, form: StopForm, stop: TripStop | None) -> HttpResponse:
    context = {"fitout": fitout, "stop_form": form, "open_stop": stop.pk if stop else None}
    if request.htmx:  # type: ignore[attr-defined]
        return render(request, "quoting/_trip_form.html", context)
    return job_page(request, fitout, context | {"is_stop_open": True}, status=422 if form.errors else 200)


trip_urls = [
    path("jobs/<int:pk>/stops/add/", stop_add, name="stop_add"),
    path("jobs/<int:pk>/stops/<int:stop_pk>/", stop_edit, name="stop_edit"),
    path("jobs/<int:pk>/stops/<int:stop_pk>/remove/", stop_remove, name="stop_remove"),
    path("jobs/<int:pk>/stops/<int:stop_pk>/move/", stop_move, name="stop_move"),
    path("jobs/<int:pk>/places/", places_set, name="places_set"),
    path("jobs/<int:pk>/wishes/", wishes_set, name="wishes_set"),
    path("jobs/<int:pk>/wishes/component/", component_wish, name="component_wish"),
]
