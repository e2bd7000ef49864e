"""What the pages of tables show: kinds of tables, tables brought in, and what was found in one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from itertools import groupby
from typing import Any

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from catalog import sheets
from catalog.models import BulkAction
from quoting.models import BackgroundJob, SheetImport
from quoting.services import sheet_files
from quoting.services.sheets import KEPT_DAYS, standing, type_of

PER_PAGE = 50
SHOWN = ("wrong", "changed", "added", "same", "left_out")


def groups_for(user: Any) -> list[tuple[str, list[Any]]]:
    """Kinds of tables that this person may take out or bring in, under their group's name, the short groups first."""
    seen = [kind for kind in sheets.types() if kind.can_export(user) or kind.can_import(user)]
    order = {group: place for place, group in reversed(list(enumerate(str(kind.group) for kind in seen)))}
    seen.sort(key=lambda kind: order[str(kind.group)])
    groups = [(group, list(members)) for group, members in groupby(seen, key=lambda kind: str(kind.group))]
    return sorted(groups, key=lambda group: len(group[1]))


def brought_in() -> QuerySet[SheetImport]:
    """Tables brought in, the newest first, with what a list says of them."""
    return SheetImport.objects.select_related("job", "asked_by").order_by("-pk")


@dataclass(frozen=True, slots=True)
class Row:
    """One table brought in, in words."""

    sheet: SheetImport
    label: str
    standing: str
    words: str


def row_of(sheet: SheetImport) -> Row:
    try:
        label = str(sheets.get(sheet.sheet).label)
    except LookupError:
        label = sheet.sheet
    state = standing(sheet)
    words = {"check_failed": _("not checked"), "save_failed": _("not saved")}.get(state)
    return Row(sheet, label, state, words or str(sheet.get_state_display()))


def keeps_until(sheet: SheetImport) -> Any:
    """When its file goes, if nobody goes on with it."""
    return sheet.asked_at + timedelta(days=KEPT_DAYS)


def place_in_queue(job: BackgroundJob | None) -> int:
    """Its place among what waits, from 1; 0 when it does not wait."""
    if job is None or job.state != BackgroundJob.State.QUEUED:
        return 0
    waiting = BackgroundJob.objects.filter(queue=job.queue, state=BackgroundJob.State.QUEUED)
    return waiting.filter(queued_at__lte=job.queued_at).exclude(pk=job.pk).count() + 1


def action_of(sheet: SheetImport) -> BulkAction | None:
    """The deed by which it can be undone."""
    return BulkAction.objects.filter(pk=sheet.action_id).first() if sheet.action_id else None


# --- What was found ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Found:
    """One page of what a check found: rows of the table, or for ``wrong`` each problem and what its cell may hold."""

    kind: str
    entries: list[Any]
    page: int
    has_next: bool


def found(sheet: SheetImport, kind: str, page: int) -> Found:
    """One page of what was found. Raises ``OSError`` when its file is gone."""
    first = (page - 1) * PER_PAGE
    with sheet_files.path_of(sheet.plan).open(encoding="utf-8") as file:
        plan = sheets.Plan.read(file)
        if kind == "wrong":
            allowed = allowed_by_head(sheet)
            entries: list[Any] = [(cell, allowed.get(cell.column, "")) for cell in plan.problems(first, PER_PAGE + 1)]
        else:
            entries = list(plan.rows(first, PER_PAGE + 1, kind=kind))
    return Found(kind, entries[:PER_PAGE], page, len(entries) > PER_PAGE)


def allowed_by_head(sheet: SheetImport) -> dict[str, str]:
    """What may stand in the cells of a column, by its head in the file, or by its label when the file lacks it."""
    columns = {column.name: column for column in type_of(sheet).columns}
    allowed = {column.label: column.allowed for column in columns.values()}
    matched = {sheet.columns[int(number)]: name for number, name in sheet.mapping.items()}
    return allowed | {head: columns[name].allowed for head, name in matched.items() if name in columns}


def kind_to_show(sheet: SheetImport, asked: str) -> str:
    """Which rows to show: those asked for, otherwise what needs a look most."""
    if asked in SHOWN:
        return asked
    return next((kind for kind in SHOWN if sheet.counts.get(kind)), "wrong")


def problem_rows(sheet: SheetImport) -> Iterator[tuple[str, ...]]:
    """Every wrong cell: row, column, what stands there, what is allowed; read as they are asked for."""
    yield _("Row"), _("Column"), _("What stands there"), _("What is wrong"), _("Allowed")
    allowed = allowed_by_head(sheet)
    with sheet_files.path_of(sheet.plan).open(encoding="utf-8") as file:
        plan = sheets.Plan.read(file)
        first = 0
        while problems := list(plan.problems(first, 500)):
            for problem in problems:
                words = (problem.value, problem.words, allowed.get(problem.column, ""))
                yield str(problem.row), problem.column, *words
            first += len(problems)
