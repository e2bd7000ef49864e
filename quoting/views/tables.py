"""Tables in and out: the kinds there are, empty ones, whole ones, what a list shows, and bringing one in."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import path
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from catalog import sheets
from fitouts.views.access import StaffRequest, needs
from quoting import rules
from quoting.forms.sheets import UploadForm, too_large_words
from quoting.queries import sheets as queries
from quoting.queries.taking_out import FORMATS, LISTS, Part, parts
from quoting.services import sheets as service

LATEST = 8


@require_safe
@needs(rules.can_take_out)
def tables(request: StaffRequest) -> HttpResponse:
    """Every kind of table, and what was brought in last."""
    may = rules.can_bring_in(request.user)
    context = {
        "groups": queries.groups_for(request.user),
        "can_bring_in": may,
        "rows": [queries.row_of(sheet) for sheet in queries.brought_in()[:LATEST]] if may else [],
    }
    return render(request, "quoting/sheets/tables.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@needs(rules.can_take_out)
def table_kind(request: StaffRequest, code: str) -> HttpResponse:
    """One kind of table: its columns, ways out, and the way in."""
    kind = _kind(code)
    may = rules.can_bring_in(request.user) and kind.can_import(request.user)
    if not (may or kind.can_export(request.user)) or (request.method == "POST" and not may):
        raise PermissionDenied
    form = UploadForm(request.POST, request.FILES) if request.method == "POST" else UploadForm()
    status = 200
    if request.method == "POST":
        if sheet := _brought(request, kind, form):
            return redirect("sheet", sheet.pk)
        status = 422
    context = {
        "kind": kind,
        "columns": kind.columns_for(request.user),
        "form": form,
        "can_bring_in": may,
        "kept_days": service.KEPT_DAYS,
    }
    return render(request, "quoting/sheets/kind.html", context, status=status)


def _brought(request: StaffRequest, kind: Any, form: UploadForm) -> Any:
    """The table brought in, or ``None`` with the reason on the form."""
    refused = ""
    if getattr(request, "file_too_large", False):
        refused = too_large_words(int(request.META.get("CONTENT_LENGTH") or 0))
    elif getattr(request, "too_many_files", False):
        refused = _("Bring in one file at a time.")
    elif getattr(request, "disk_full", False):
        refused = _("The server's disk is full; nothing was kept. Make room, then bring it in again.")
    elif form.is_valid():
        try:
            return service.start(kind.code, form.cleaned_data["table"], by=request.user)
        except service.SheetRefused as error:
            refused = str(error)
    if refused:
        form.errors.pop("table", None)
        form.add_error("table", refused)
    return None


@require_safe
@needs(rules.can_take_out)
def table_empty(request: StaffRequest, code: str, form: str) -> HttpResponseBase:
    """An empty table of a kind, with what may stand in each column."""
    kind = _kind(code)
    if not kind.can_import(request.user):
        raise PermissionDenied
    content = sheets.template(kind, request.user, _known(form))
    return as_file([content], form, _("%(kind)s, empty") % {"kind": kind.label})


@require_safe
@needs(rules.can_take_out)
def table_whole(request: StaffRequest, code: str, form: str) -> HttpResponseBase:
    """Every record of a kind, as a table."""
    kind = _kind(code)
    if not kind.can_export(request.user):
        raise PermissionDenied
    return as_file(sheets.export(kind, request.user, _known(form)), form, str(kind.label))


@require_safe
@needs(rules.can_take_out)
def list_out(request: StaffRequest, about: str, form: str) -> HttpResponseBase:
    """What a list shows for its filters, as a table; the choice of one when the rows are of several kinds."""
    if about not in LISTS:
        raise Http404
    found = parts(about, request)
    wanted = request.GET.get("table")
    chosen = next((part for part in found if part.table.code == wanted), found[0] if len(found) == 1 else None)
    if chosen is not None:
        return _out(request, chosen, _known(form))
    query = request.GET.copy()
    for name in ("table", "page"):
        query.pop(name, None)
    context = {"parts": found, "about": about, "query": query.urlencode(), "section": about, "formats": list(FORMATS)}
    return render(request, "quoting/sheets/list_out.html", context)


def _out(request: StaffRequest, part: Part, form: str) -> HttpResponseBase:
    return as_file(sheets.export(part.table, request.user, form, rows=part.rows), form, str(part.table.label))


def _kind(code: str) -> Any:
    try:
        return sheets.get(code)
    except LookupError:
        raise Http404 from None


def _known(form: str) -> str:
    if form not in FORMATS:
        raise Http404
    return form


def as_file(content: Iterable[bytes], form: str, title: str) -> HttpResponseBase:
    """A table as a file under its title and today's day; it is private, and never kept on the way."""
    response = StreamingHttpResponse(content, content_type=FORMATS[form])
    day = timezone.localdate().isoformat()
    response["Content-Disposition"] = content_disposition(f"{title} {day}.{form}")
    response["Cache-Control"] = "private, no-store"
    response["X-Content-Type-Options"] = "nosniff"
    return response


def content_disposition(name: str) -> str:
    """What gives a download its name, whatever letters it has."""
    from django.utils.http import content_disposition_header

    return content_disposition_header(True, name.replace("/", "-")) or "attachment"


table_urls = [
    path("catalogue/tables/", tables, name="tables"),
    path("catalogue/tables/<str:code>/", table_kind, name="table_kind"),
    path("catalogue/tables/<str:code>/empty.<slug:form>", table_empty, name="table_empty"),
    path("catalogue/tables/<str:code>/all.<slug:form>", table_whole, name="table_whole"),
    path("catalogue/lists/<slug:about>.<slug:form>", list_out, name="list_out"),
]
