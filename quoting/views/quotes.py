"""The quote of a job: draft, terms, lines by hand, issue, withdraw, accept, and a revision's own page."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from fitouts.models import Fitout, Stage
from fitouts.services.fitouts import StageNotAllowed
from fitouts.views.access import StaffRequest, needs
from quoting.forms.quotes import AcceptForm, HandLineForm, TermsForm
from quoting.models import Line, Revision
from quoting.queries import quotes as queries
from quoting.rules import can_see_money
from quoting.services import quotes
from quoting.views.hand_lines import hand_context, hand_line_urls

ENDED = (Stage.DELIVERED, Stage.CLOSED, Stage.CANCELLED, Stage.LOST)


def quote_context(request: HttpRequest, fitout: Fitout) -> dict[str, Any]:
    """What ``quoting/_quote.html`` needs, for those who see money."""
    panel = queries.panel(fitout)
    is_fault = fitout.kind == Fitout.Kind.FAULT
    initial = {}
    if panel.draft:
        initial = {
            "discount_ratio": panel.draft.discount_ratio,
            "days_off_road": panel.draft.days_off_road,
            "note": panel.draft.note,
        }
    return {
        "quote_panel": panel,
        "terms_form": TermsForm(initial=initial, prefix="terms"),
        "line_form": HandLineForm(prefix="line"),
        "closed_stages": ENDED,
        "can_draft": is_fault or fitout.designs.exists(),
        "no_quote_words": _("Draft it, then add the parts and the work that mending takes.")
        if is_fault
        else _("Work the design out, then draft a quote from it."),
        **(hand_context() if panel.draft else {}),
    }


def _back(request: StaffRequest, fitout_id: int, act: Callable[[], Any], done: str) -> HttpResponse:
    """Do one thing; say how it went on the job's page."""
    try:
        act()
    except (quotes.QuoteNotReady, StageNotAllowed) as error:
        messages.error(request, str(error))
    except ValidationError as error:  # a price on which no column can hold the amount
        messages.error(request, " ".join(error.messages))
    else:
        messages.success(request, done)
    return redirect(f"{reverse('job', args=[fitout_id])}#quote")


def _again(request: StaffRequest, revision: Revision, form: Form, title: str) -> HttpResponse:
    """The same entries once more, with what is wrong; nothing typed is lost."""
    context = {"form": form, "title": title, "fitout": revision.quote.fitout}
    return render(request, "quoting/entry.html", context, status=422)


def _revision(pk: int) -> Revision:
    return get_object_or_404(Revision.objects.select_related("quote__fitout__customer", "design", "snapshot"), pk=pk)


@require_POST
@needs(can_see_money)
def quote_draft(request: StaffRequest, pk: int) -> HttpResponse:
    fitout = get_object_or_404(Fitout, pk=pk)
    return _back(request, pk, lambda: quotes.draft(fitout, by=request.user), _("The draft is priced."))


@require_POST
@needs(can_see_money)
def quote_terms(request: StaffRequest, pk: int) -> HttpResponse:
    revision = _revision(pk)
    form = TermsForm(request.POST, prefix="terms")
    if not form.is_valid():
        return _again(request, revision, form, _("Discount, days off the road, note"))
    return _back(
        request, revision.quote.fitout_id, lambda: quotes.set_terms(revision, **form.cleaned_data), _("Added up anew.")
    )


@require_POST
@needs(can_see_money)
def quote_line_add(request: StaffRequest, pk: int) -> HttpResponse:
    revision = _revision(pk)
    form = HandLineForm(request.POST, prefix="line")
    if not form.is_valid():
        return _again(request, revision, form, _("Add a line by hand"))
    return _back(
        request, revision.quote.fitout_id, lambda: quotes.add_line(revision, **form.cleaned_data), _("The line is in.")
    )


@require_POST
@needs(can_see_money)
def quote_line_remove(request: StaffRequest, pk: int) -> HttpResponse:
    line = get_object_or_404(Line.objects.select_related("offer__revision__quote"), pk=pk)
    fitout_id = line.offer.revision.quote.fitout_id
    return _back(request, fitout_id, lambda: quotes.remove_line(line), _("The line is out."))


@require_POST
@needs(can_see_money)
def quote_issue(request: StaffRequest, pk: int) -> HttpResponse:
    revision = _revision(pk)
    return _back(
        request,
        revision.quote.fitout_id,
        lambda: quotes.issue(revision, by=request.user),
        _("Revision %(letter)s is issued and frozen. Its paper is queued.") % {"letter": revision.letter},
    )


@require_POST
@needs(can_see_money)
def quote_withdraw(request: StaffRequest, pk: int) -> HttpResponse:
    revision = _revision(pk)
    return _back(request, revision.quote.fitout_id, lambda: quotes.withdraw(revision), _("Withdrawn."))


@require_POST
@needs(can_see_money)
def quote_accept(request: StaffRequest, pk: int) -> HttpResponse:
    revision = _revision(pk)
    form = AcceptForm(request.POST, prefix="accept", offers=queries.offer_choices(revision))
    if not form.is_valid():
        return _again(request, revision, form, _("Record the acceptance"))
    return _back(
        request,
        revision.quote.fitout_id,
        lambda: quotes.accept(revision, by=request.user, **form.cleaned_data),
        _("The acceptance is recorded."),
    )


@require_safe
@needs(can_see_money)
def revision(request: StaffRequest, pk: int) -> HttpResponse:
    """An issued revision as it is frozen, and what is different from the one before. A draft is on its job's page."""
    found = get_object_or_404(
        Revision.objects.select_related("quote__fitout__customer", "design", "snapshot", "issued_by"), pk=pk
    )
    if found.state == Revision.State.DRAFT:
        return redirect(f"{reverse('job', args=[found.quote.fitout_id])}#quote")
    previous = found.quote.revisions.exclude(state=Revision.State.DRAFT).filter(pk__lt=found.pk).order_by("-pk").first()
    row = queries.revision_row(found)
    context = {
        "revision": found,
        "fitout": found.quote.fitout,
        "views": queries.offer_views(found),
        "facts": queries.revision_facts(row),
        "intact": queries.is_intact(found),
        "previous": previous,
        "changes": quotes.difference(previous, found) if previous else [],
        "is_open": row.is_open,
        "can_edit": True,
        "accept_form": AcceptForm(prefix="accept", offers=queries.offer_choices(found)),
    }
    return render(request, "quoting/revision.html", context)


quote_urls = [
    path("jobs/<int:pk>/quote/draft/", quote_draft, name="quote_draft"),
    path("revisions/<int:pk>/", revision, name="revision"),
    path("revisions/<int:pk>/terms/", quote_terms, name="quote_terms"),
    path("revisions/<int:pk>/lines/", quote_line_add, name="quote_line_add"),
    path("revisions/lines/<int:pk>/remove/", quote_line_remove, name="quote_line_remove"),
    *hand_line_urls,
    path("revisions/<int:pk>/issue/", quote_issue, name="quote_issue"),
    path("revisions/<int:pk>/withdraw/", quote_withdraw, name="quote_withdraw"),
    path("revisions/<int:pk>/accept/", quote_accept, name="quote_accept"),
]
