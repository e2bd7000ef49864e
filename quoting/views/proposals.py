"""One proved system: looked at, taken as the job's own, swapped part by part, thrown away."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fitouts.views.access import StaffRequest, needs
from fitouts.views.posting import words_in
from quoting.forms.offers import SwapForm
from quoting.models import Proposal
from quoting.queries.proposals import proposal_page, swap_page
from quoting.rules import can_choose_parts
from quoting.services import briefs, proposals
from quoting.sizing.errors import SizingError
from quoting.wording.roles import ROLES, role_words


def _proposal(pk: int) -> Proposal:
    rows = Proposal.objects.select_related("selection__fitout__customer", "swapped_from", "made_by")
    return get_object_or_404(rows, pk=pk)


def _offers(one: Proposal, at: str = "") -> HttpResponse:
    return redirect(reverse("offers", args=[one.selection.fitout_id]) + at)


@require_safe
@needs(can_choose_parts)
def proposal(request: StaffRequest, pk: int) -> HttpResponse:
    """A system beside the one that it was made from by hand, with everything that must be known of it."""
    one = _proposal(pk)
    context = {"page": proposal_page(one, request.workshop), "fitout": one.selection.fitout, "proposal": one}
    return render(request, "quoting/proposal.html", context)


@require_POST
@needs(can_choose_parts)
def proposal_take(request: StaffRequest, pk: int) -> HttpResponse:
    """Make a system the job's own design."""
    one = _proposal(pk)
    try:
        taken = proposals.take(one, by=request.user)
    except (proposals.NotTaken, briefs.BriefIncomplete) as error:
        messages.error(request, _("It cannot be taken. %(why)s") % {"why": error})
    except SizingError as error:
        messages.error(request, _("It cannot be worked out: %(why)s") % {"why": error})
    else:
        tell = messages.success if taken.as_proved and taken.built_by is None else messages.warning
        tell(request, taken.words)
    return _offers(one, "#three")


@require_POST
@needs(can_choose_parts)
def proposal_drop(request: StaffRequest, pk: int) -> HttpResponse:
    """Throw a system away that was made by hand; one that a quote or the job itself goes by stays."""
    one = _proposal(pk)
    if proposals.throw_away(one):
        messages.success(request, _("Thrown away."))
        return _offers(one, "#three")
    messages.error(request, _("It stays: the job is held to it, a quote prices it, or it was not made by hand."))
    return redirect("proposal", pk)


@require_http_methods(["GET", "HEAD", "POST"])
@needs(can_choose_parts)
def proposal_swap(request: StaffRequest, pk: int, role: str) -> HttpResponse:
    """Another part for one role: from the list or by name, and proved at once."""
    one = _proposal(pk)
    if role not in ROLES:
        raise Http404
    form = SwapForm(request.POST or None, options=proposals.swap_options(one, role))
    if request.method == "POST" and form.is_valid():
        made = _swap(request, one, role, form)
        if made is not None:
            return redirect("proposal", made.pk)
    asked = words_in(request.GET, "part")
    context = {
        "page": swap_page(one, role, form.listed, asked),
        "form": form,
        "fitout": one.selection.fitout,
        "proposal": one,
        "role": role,
        "role_words": role_words(role),
        "asked": asked,
    }
    return render(request, "quoting/proposal_swap.html", context, status=422 if form.errors else 200)


def _swap(request: StaffRequest, one: Proposal, role: str, form: SwapForm) -> Proposal | None:
    values: dict[str, Any] = form.cleaned_data
    try:
        return proposals.swap(one, role, values["key"], values["quantity"], by=request.user)
    except (proposals.NotSwapped, briefs.BriefIncomplete) as error:
        form.add_error(None, str(error))
    except SizingError as error:
        form.add_error(None, _("It cannot be worked out: %(why)s") % {"why": error})
    return None


proposal_urls = [
    path("proposals/<int:pk>/", proposal, name="proposal"),
    path("proposals/<int:pk>/take/", proposal_take, name="proposal_take"),
    path("proposals/<int:pk>/drop/", proposal_drop, name="proposal_drop"),
    path("proposals/<int:pk>/swap/<str:role>/", proposal_swap, name="proposal_swap"),
]
