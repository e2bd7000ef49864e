"""The bill of a job: as the workshop buys it, and as the technician builds."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.urls import path
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from catalog import sheets
from fitouts.models import Fitout
from fitouts.views.access import StaffRequest, needs
from quoting import rules
from quoting.models import Design, Revision
from quoting.queries import bill as queries
from quoting.queries import bill_out
from quoting.queries.taking_out import FORMATS
from quoting.services import designs, quotes
from quoting.views.outlook import design_context, why_none
from quoting.views.page import the_job
from quoting.views.tables import as_file


@require_safe
@needs()
def bill(request: HttpRequest, pk: int) -> HttpResponse:
    """One of the two ways to read it, the other a press away; cost only for those who see money."""
    fitout = the_job(request, pk)
    design, accepted = _stands_on(fitout)
    context = design_context(request, fitout, designs.latest_of(fitout))
    if design is None or not design.appraisal["bill"]:
        return render(request, "quoting/bill.html", context | {"page": None, "why": why_none(design, fitout)})
    view = request.GET.get("view", "")
    context |= {
        "page": queries.bill_page(fitout, design, accepted, timezone.localdate()),
        "view": view if view in queries.VIEWS else _usual(request),
        "sees_money": rules.can_see_money(request.user),
    }
    return render(request, "quoting/bill.html", context)


def _usual(request: HttpRequest) -> str:
    return "bought" if rules.can_see_money(request.user) else "built"


def _stands_on(fitout: Fitout) -> tuple[Design | None, Revision | None]:
    """What is bought and built by: the accepted quote, else the newest design."""
    accepted = quotes.accepted_revision(fitout)
    if accepted is not None and accepted.built_design is not None:
        return accepted.built_design, accepted
    return designs.latest_of(fitout), None


@require_safe
@needs(rules.can_take_out)
def bill_out_of(request: StaffRequest, pk: int, form: str) -> HttpResponseBase:
    """What is to be bought as a table; money only for those who see it."""
    fitout = the_job(request, pk)
    design, accepted = _stands_on(fitout)
    if form not in FORMATS or design is None:
        raise Http404
    page = queries.bill_page(fitout, design, accepted, timezone.localdate())
    heads, lines = bill_out.table(page, with_money=rules.can_see_money(request.user))
    return as_file(sheets.streamed(form, _("Bill"), heads, lines), form, f"{fitout.number} {_('bill')}")


bill_urls = [
    path("jobs/<int:pk>/bill/", bill, name="bill"),
    path("jobs/<int:pk>/bill.<slug:form>", bill_out_of, name="bill_out"),
]
