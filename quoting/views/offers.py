"""A job's three offers: asked for, looked at side by side, taken as the job's own or put into its quote."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST, require_safe

from fitouts.models import Fitout, User
from fitouts.services.fitouts import ASIDE
from fitouts.views.access import StaffRequest, needs
from fitouts.views.posting import key_in, words_in
from quoting.models import OfferName, Proposal, Selection
from quoting.queries.offers import held_words, made_words, offers_page, standing_of
from quoting.rules import can_choose_parts
from quoting.services import briefs, designs, easing, proposals, quotes, selections
from quoting.sizing.errors import SizingError
from quoting.views.page import the_job
from quoting.views.proposals import proposal_urls
from quoting.views.steering import steering_context


@require_safe
@needs(can_choose_parts)
def offers(request: StaffRequest, pk: int) -> HttpResponse:
    fitout = the_job(request, pk)
    return render(request, "quoting/offers.html", offers_context(request, fitout))


def offers_context(request: StaffRequest, fitout: Fitout) -> dict[str, Any]:
    """The page as it stands: what is under way, what was made, what has changed since, what is missing first."""
    made = selections.made_of(fitout)
    page = offers_page(made, request.workshop) if made else None
    held = proposals.held(fitout)
    return {
        "fitout": fitout,
        "page": page,
        "made_words": made_words(made, page.tried) if made and page else "",
        "held": held,
        "held_words": held_words(held),
        **progress_context(request, fitout),
        **_asking(fitout, made),
        **steering_context(request, fitout),
        "steering_back": "offers",
    }


def progress_context(request: HttpRequest, fitout: Fitout) -> dict[str, Any]:
    return {"fitout": fitout, "standing": standing_of(fitout)}


def _asking(fitout: Fitout, made: Selection | None) -> dict[str, Any]:
    """Whether offers can be asked for now, and what the newest ones do not know yet."""
    missing: tuple[briefs.Missing, ...] = ()
    changes: tuple[designs.Change, ...] = ()
    problem = ""
    try:
        changes = selections.changes_since(fitout, made) if made else ()
        if not made and fitout.kind != Fitout.Kind.FAULT:
            briefs.make_brief(fitout, held=False)
    except briefs.BriefIncomplete as error:
        missing = error.missing
    except SizingError as error:
        problem = str(error)
    can_ask = not (missing or problem or fitout.stage in ASIDE or fitout.kind == Fitout.Kind.FAULT)
    return {"missing": missing, "problem": problem, "changes": changes, "can_ask": can_ask}


@never_cache
@require_GET
@needs(can_choose_parts)
def offers_progress(request: StaffRequest, pk: int) -> HttpResponse:
    """How far it is, for htmx, which asks again while it is under way; without it, the page."""
    fitout = the_job(request, pk)
    if not request.htmx:
        return redirect("offers", pk)
    context = progress_context(request, fitout)
    response = render(request, "quoting/_offers_progress.html", context)
    if not context["standing"].is_live:
        response["HX-Redirect"] = reverse("offers", args=[pk])
    return response


@require_POST
@needs(can_choose_parts)
def offers_ask(request: StaffRequest, pk: int) -> HttpResponse:
    """Queue three offers; those under way, and those that nothing has changed since, stand."""
    fitout = the_job(request, pk)
    before = selections.made_of(fitout)
    try:
        selection = selections.ask(fitout, by=request.user)
    except (selections.NotPossible, briefs.BriefIncomplete) as error:
        messages.error(request, str(error))
    except SizingError as error:
        messages.error(request, _("It cannot be worked out: %(why)s") % {"why": error})
    else:
        if before is not None and before.pk == selection.pk:
            messages.info(request, _("Nothing has changed: these offers stand."))
    return redirect("offers", pk)


@require_POST
@needs(can_choose_parts)
def offers_cancel(request: StaffRequest, pk: int) -> HttpResponse:
    fitout = the_job(request, pk)
    newest = selections.latest_of(fitout)
    if newest is None or newest.result is not None or not selections.cancel(newest):
        messages.info(request, _("Too late to cancel: it had ended."))
    return redirect("offers", pk)


@require_POST
@needs(can_choose_parts)
def offers_ease(request: StaffRequest, pk: int) -> HttpResponse:
    """Let the wish give way that keeps an offer from being had, as far as the smallest change says."""
    fitout = the_job(request, pk)
    made, offer, at = (
        selections.made_of(fitout),
        words_in(request.POST, "offer"),
        key_in(request.POST.get("change", "")),
    )
    record = selections.record_of(made) if made else None
    clash = record.clashes.get(offer) if record else None
    try:
        eased = None
        if made is not None and clash is not None and at is not None:
            eased = easing.ease(clash, at, fitout, selections.steer_of(made), by=request.user)
    except ValidationError as refused:
        messages.error(request, " ".join(refused.messages))
        return redirect(reverse("offers", args=[pk]) + "#clash")
    if eased is None:
        messages.error(request, _("That is no wish of this choice any more. Work the offers out again."))
        return redirect(reverse("offers", args=[pk]) + "#clash")
    messages.success(request, _("The wish is changed. Work the offers out again to see what comes of it."))
    return redirect(reverse("offers", args=[pk]) + "#state")


@require_POST
@needs(can_choose_parts)
def offers_let_go(request: StaffRequest, pk: int) -> HttpResponse:
    """Let the job choose its parts freely again."""
    fitout = the_job(request, pk)
    try:
        if proposals.let_go(fitout, by=request.user):
            messages.success(request, _("The job chooses its parts freely again, once it is worked out."))
    except proposals.NotTaken as error:
        messages.error(request, str(error))
    return redirect("offers", pk)


@require_POST
@needs(can_choose_parts)
def offers_quote(request: StaffRequest, pk: int) -> HttpResponse:
    """Put the ticked systems into the draft of the job's quote, one offer of each name."""
    fitout = the_job(request, pk)
    ticked = [int(one) for one in request.POST.getlist("proposal")[:50] if one.isdecimal() and len(one) < 16]
    made = selections.made_of(fitout)
    rows = list(made.proposals.filter(pk__in=ticked).select_related("selection__fitout")) if made else []
    if not rows:
        messages.error(request, _("Tick the offers to be quoted first."))
        return redirect(reverse("offers", args=[pk]) + "#three")
    try:
        leads = _draft(fitout, rows, request.user)
    except (quotes.QuoteNotReady, proposals.NotTaken, briefs.BriefIncomplete, SizingError) as error:
        messages.error(request, str(error))
        return redirect(reverse("offers", args=[pk]) + "#three")
    said = ngettext("The draft has %(n)d offer.", "The draft has %(n)d offers.", len(rows)) % {"n": len(rows)}
    if leads is not None:
        name = leads.get_offer_display()
        said += " " + _("%(name)s is the job’s design now, from which papers are drawn.") % {"name": name}
    messages.success(request, said)
    return redirect(reverse("job", args=[pk]) + "#quote")


@transaction.atomic
def _draft(fitout: Fitout, rows: Sequence[Proposal], by: User) -> Proposal | None:
    """Draft a quote of several systems; where the job is held to none of them, it is to one, which is returned."""
    proposals.must_be_open(fitout)
    design, held = designs.latest_of(fitout), proposals.held(fitout)
    leads = next((row for row in rows if design is not None and row.key == design.key), None)
    is_held = leads is not None and held is not None and (held.picks, held.room) == (leads.picks, leads.room)
    if is_held:
        quotes.draft(fitout, by=by, systems=rows)
        return None
    leads = leads or next((row for row in rows if row.offer == OfferName.STEADY), rows[0])
    if not proposals.take(leads, by=by).as_proved:
        raise quotes.QuoteNotReady(
            _("The job has changed since these offers were worked out. Work them out again, then quote them.")
        )
    quotes.draft(fitout, by=by, systems=rows)
    return leads


offer_urls = [
    path("jobs/<int:pk>/offers/", offers, name="offers"),
    path("jobs/<int:pk>/offers/progress/", offers_progress, name="offers_progress"),
    path("jobs/<int:pk>/offers/ask/", offers_ask, name="offers_ask"),
    path("jobs/<int:pk>/offers/cancel/", offers_cancel, name="offers_cancel"),
    path("jobs/<int:pk>/offers/ease/", offers_ease, name="offers_ease"),
    path("jobs/<int:pk>/offers/let-go/", offers_let_go, name="offers_let_go"),
    path("jobs/<int:pk>/offers/quote/", offers_quote, name="offers_quote"),
    *proposal_urls,
]
