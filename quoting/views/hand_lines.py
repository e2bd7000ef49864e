"""Lines of a draft chosen by hand from the catalogue: a part, or an operation of labour."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from fitouts.views.access import needs
from quoting.forms.hand_lines import PartLineForm, WorkLineForm
from quoting.models import Revision
from quoting.rules import can_see_money
from quoting.services import hand_lines, quotes


def hand_context() -> dict[str, Any]:
    """The two forms beside a draft, and the names that may be typed."""
    return {
        "part_form": PartLineForm(prefix="part"),
        "work_form": WorkLineForm(prefix="work"),
        "offers_parts": True,
    }


@require_POST
@needs(can_see_money)
def quote_part_add(request: HttpRequest, pk: int) -> HttpResponse:
    """A part of the catalogue into a draft, priced as a bill prices it."""
    form = PartLineForm(request.POST, prefix="part")
    return _add(request, pk, form, hand_lines.add_part, "component", _("A part of the catalogue"))


@require_POST
@needs(can_see_money)
def quote_work_add(request: HttpRequest, pk: int) -> HttpResponse:
    """An operation of labour into a draft."""
    form = WorkLineForm(request.POST, prefix="work")
    return _add(request, pk, form, hand_lines.add_labour, "operation", _("Work"))


def _add(request: HttpRequest, pk: int, form: Form, service: Any, name: str, title: str) -> HttpResponse:
    revision = get_object_or_404(Revision.objects.select_related("quote__fitout__customer"), pk=pk)
    fitout = revision.quote.fitout
    if not form.is_valid():
        context = {**hand_context(), "form": form, "title": title, "fitout": fitout}
        return render(request, "quoting/entry.html", context, status=422)
    try:
        service(revision, form.cleaned_data[name], form.cleaned_data["quantity"])
    except quotes.QuoteNotReady as error:
        messages.error(request, str(error))
    except ValidationError as error:  # a price on which no column can hold the amount
        messages.error(request, " ".join(error.messages))
    else:
        messages.success(request, _("The line is in."))
    return redirect(f"{reverse('job', args=[fitout.pk])}#quote")


hand_line_urls = [
    path("revisions/<int:pk>/parts/", quote_part_add, name="quote_part_add"),
    path("revisions/<int:pk>/work/", quote_work_add, name="quote_work_add"),
]
