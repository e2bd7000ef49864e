"""A table on its way in: matched, checked, looked at, saved, or dropped. One page that is what its state makes it."""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterator
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from catalog import sheets
from catalog.models import BulkAction
from catalog.services_undo import can_undo
from catalog.sheets.cells import guarded
from fitouts.views.access import StaffRequest, needs
from fitouts.views.posting import key_in
from quoting import rules
from quoting.forms.sheets import TO, MatchForm, ReadingForm, missing_words, sample_columns
from quoting.models import SheetImport
from quoting.queries import sheets as queries
from quoting.services import sheet_files
from quoting.services import sheets as service
from quoting.services.sheets import SheetRefused
from quoting.views.tables import content_disposition

PER_PAGE = 40


@require_safe
@needs(rules.can_bring_in)
def sheet_list(request: StaffRequest) -> HttpResponse:
    """Every table brought in, the newest first."""
    page = Paginator(queries.brought_in(), PER_PAGE).get_page(request.GET.get("page"))
    context = {"page": page, "rows": [queries.row_of(sheet) for sheet in page], "kept_days": service.KEPT_DAYS}
    return render(request, "quoting/sheets/sheet_list.html", context)


@never_cache
@require_safe
@needs(rules.can_bring_in)
def sheet(request: StaffRequest, pk: int) -> HttpResponse:
    return _page(request, _found(request, pk))


@never_cache
@require_safe
@needs(rules.can_bring_in)
def sheet_progress(request: StaffRequest, pk: int) -> HttpResponse:
    """How far the work is, for htmx, which asks again while it goes on; then the page comes anew."""
    found = _found(request, pk)
    if not getattr(request, "htmx", False):
        return redirect("sheet", pk)
    response = render(request, "quoting/sheets/_progress.html", _progress_context(found))
    if not service.is_live(found):
        response["HX-Refresh"] = "true"
    return response


@require_POST
@needs(rules.can_bring_in)
def sheet_reading(request: StaffRequest, pk: int) -> HttpResponse:
    """Read the file another way, and show its columns anew."""
    found = _found(request, pk)
    return _answer(request, found, lambda: _read_again(request, found))


@require_POST
@needs(rules.can_bring_in)
def sheet_check(request: StaffRequest, pk: int) -> HttpResponse:
    """Match the columns as chosen, and have every cell checked; with nothing chosen, check again as before."""
    found = _found(request, pk)

    def check() -> None:
        if not _is_matched(request):
            return service.ask_check(found, by=request.user)
        heads = list(found.columns)
        _read_again(request, found)
        if heads != found.columns:
            raise SheetRefused(_("Read so, the file has other heads. See how they match, then check."))
        service.ask_check(found, by=request.user)
        return None

    return _answer(request, found, check)


@require_POST
@needs(rules.can_bring_in)
def sheet_reopen(request: StaffRequest, pk: int) -> HttpResponse:
    """Back to the matching of columns."""
    found = _found(request, pk)
    return _answer(request, found, lambda: service.reopen(found))


@require_POST
@needs(rules.can_bring_in)
def sheet_stop(request: StaffRequest, pk: int) -> HttpResponse:
    found = _found(request, pk)
    if not service.stop(found):
        messages.error(request, _("Too late to stop it."))
    return redirect("sheet", pk)


@require_POST
@needs(rules.can_bring_in)
def sheet_save(request: StaffRequest, pk: int) -> HttpResponse:
    found = _found(request, pk)
    return _answer(request, found, lambda: service.ask_save(found, by=request.user))


@require_POST
@needs(rules.can_bring_in)
def sheet_drop(request: StaffRequest, pk: int) -> HttpResponse:
    found = _found(request, pk, or_unknown=True)
    try:
        service.drop(found)
    except SheetRefused as refused:
        messages.error(request, str(refused))
        return redirect("sheet", pk)
    messages.success(request, _("“%(name)s” is dropped and its file erased.") % {"name": found.file_name})
    return redirect("sheet_list")


@require_safe
@needs(rules.can_bring_in)
def sheet_problems(request: StaffRequest, pk: int) -> HttpResponseBase:
    """Every wrong cell, as CSV to correct the file by."""
    found = _found(request, pk)
    try:
        queries.found(found, "wrong", 1)  # before the answer begins: that it can be read at all
    except (SheetRefused, OSError):
        raise Http404 from None
    writer = csv.writer(_Echo())
    lines: Iterator[Any] = (writer.writerow([guarded(cell) for cell in row]) for row in queries.problem_rows(found))
    response = StreamingHttpResponse(_with_mark(lines), content_type="text/csv; charset=utf-8")
    title = _("Wrong cells of %(name)s") % {"name": found.file_name}
    response["Content-Disposition"] = content_disposition(f"{title}.csv")
    response["Cache-Control"] = "private, no-store"
    return response


class _Echo:
    """A file that hands back what is written to it."""

    def write(self, line: str) -> bytes:
        return line.encode()


def _with_mark(lines: Iterator[bytes]) -> Iterator[bytes]:
    """Spreadsheets take text for UTF-8 when it begins with this mark."""
    yield b"\xef\xbb\xbf"
    yield from lines


# --- What the page is made of ------------------------------------------------------------------------


def _found(request: StaffRequest, pk: int, *, or_unknown: bool = False) -> SheetImport:
    found = get_object_or_404(queries.brought_in(), pk=pk)
    try:
        if not service.type_of(found).can_import(request.user):
            raise PermissionDenied
    except SheetRefused:
        if not or_unknown and request.method == "POST":
            raise Http404 from None
    return found


def _read_again(request: StaffRequest, found: SheetImport) -> None:
    """Take over how the file is to be read, and what was chosen for its columns."""
    reading = ReadingForm(request.POST, reading=found.reading, sheet_names=_sheet_names(found))
    match = MatchForm(request.POST, sheet=found, user=request.user)
    if not reading.is_valid():
        label, words = next((reading[name].label, errors[0]) for name, errors in reading.errors.items())
        raise SheetRefused(f"{label}: {words}")
    service.set_reading(found, reading.cleaned_data, match.mapping())


def _answer(request: StaffRequest, found: SheetImport, deed: Callable[[], None]) -> HttpResponse:
    """Do it and show the page; what is refused is said on the page, with what was chosen."""
    heads = list(found.columns)
    try:
        deed()
    except SheetRefused as refused:
        fresh = _found(request, found.pk)
        same = service.standing(fresh) == "mapping" and fresh.columns == heads
        return _page(request, fresh, str(refused), posted=same and _is_matched(request), status=422)
    return redirect("sheet", found.pk)


def _is_matched(request: StaffRequest) -> bool:
    return any(name.startswith(TO) for name in request.POST)


def _page(
    request: StaffRequest, found: SheetImport, problem: str = "", *, posted: bool = False, status: int = 200
) -> HttpResponse:
    standing = service.standing(found)
    context: dict[str, Any] = {
        "sheet": found,
        "row": queries.row_of(found),
        "standing": standing,
        "problem": problem,
        "steps": _steps(standing),
        "keeps_until": queries.keeps_until(found),
        "can_drop": found.state not in service.ENDED and standing != "saving",
    }
    try:
        if standing == "mapping":
            context |= _match_context(request, found, request.POST if posted else None)
        elif standing in ("checking", "saving"):
            context |= _progress_context(found)
        elif standing in ("checked", "save_failed"):
            context |= _plan_context(request, found)
        elif standing == "saved":
            action = queries.action_of(found)
            context |= {"action": action, "can_undo": _can_undo(request, action)}
    except (SheetRefused, OSError) as error:
        context["broken"] = str(error) if isinstance(error, SheetRefused) else _gone()
    return render(request, "quoting/sheets/sheet.html", context, status=status)


def _can_undo(request: StaffRequest, action: BulkAction | None) -> bool:
    return action is not None and action.undone_at is None and can_undo(request.user, action)


def _gone() -> str:
    return _("Its file is no longer on the server. Drop this one, and bring the table in again.")


def _steps(standing: str) -> list[dict[str, Any]]:
    """The way of a table, for the bar of stages."""
    words = (_("Match the columns"), _("Check every cell"), _("Look at what changes"), _("Saved"))
    here = {"mapping": 0, "checking": 1, "check_failed": 1, "checked": 2, "saving": 2, "save_failed": 2, "saved": 3}
    now = here.get(standing)
    if now is None:
        return []
    return [
        {"state": "done" if place < now else "now" if place == now else "later", "words": text}
        for place, text in enumerate(words)
    ]


def _sheet_names(found: SheetImport) -> list[str]:
    if found.reading.get("format") != "xlsx" or not sheet_files.is_there(found.file):
        return []
    return sheets.sheet_names(sheet_files.path_of(found.file), found.reading)


def _match_context(request: StaffRequest, found: SheetImport, posted: Any) -> dict[str, Any]:
    kind = service.type_of(found)
    match = MatchForm(posted, sheet=found, user=request.user)
    if not sheet_files.is_there(found.file):
        raise FileNotFoundError(str(found.file))
    rows = sheets.sample(sheet_files.path_of(found.file), service.tentative(found.reading))
    chosen = match.mapping() if posted else found.mapping
    return {
        "kind": kind,
        "reading_form": ReadingForm(posted, reading=found.reading, sheet_names=_sheet_names(found)),
        "matches": list(zip(match, sample_columns(found, rows), strict=True)),
        "missing": missing_words(match.columns, chosen),
        "doubt": "" if found.reading.get("encoding") else found.reading.get("doubt", ""),
    }


def _progress_context(found: SheetImport) -> dict[str, Any]:
    return {
        "sheet": found,
        "job": found.job,
        "standing": service.standing(found),
        "is_live": service.is_live(found),
        "place": queries.place_in_queue(found.job),
        "can_stop": service.can_stop(found),
    }


def _plan_context(request: StaffRequest, found: SheetImport) -> dict[str, Any]:
    kind = queries.kind_to_show(found, request.GET.get("show", ""))
    page = max(1, min(key_in(request.GET.get("page", "")) or 1, 100_000))
    return {
        "shown": kind,
        "found": queries.found(found, kind, page),
        "to_save": service.rows_to_save(found),
        "can_save": not found.counts.get("wrong") and service.rows_to_save(found) > 0,
    }


sheet_urls = [
    path("catalogue/brought-in/", sheet_list, name="sheet_list"),
    path("catalogue/brought-in/<int:pk>/", sheet, name="sheet"),
    path("catalogue/brought-in/<int:pk>/progress/", sheet_progress, name="sheet_progress"),
    path("catalogue/brought-in/<int:pk>/reading/", sheet_reading, name="sheet_reading"),
    path("catalogue/brought-in/<int:pk>/check/", sheet_check, name="sheet_check"),
    path("catalogue/brought-in/<int:pk>/columns/", sheet_reopen, name="sheet_reopen"),
    path("catalogue/brought-in/<int:pk>/stop/", sheet_stop, name="sheet_stop"),
    path("catalogue/brought-in/<int:pk>/save/", sheet_save, name="sheet_save"),
    path("catalogue/brought-in/<int:pk>/drop/", sheet_drop, name="sheet_drop"),
    path("catalogue/brought-in/<int:pk>/wrong.csv", sheet_problems, name="sheet_problems"),
]
