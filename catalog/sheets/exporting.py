"""Tables going out: streamed, safe to open, and read back equal."""

from __future__ import annotations

import csv
import io
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from typing import Any, Protocol

from django.core.exceptions import PermissionDenied
from django.utils.translation import gettext as _

from catalog.quantities import typed
from catalog.sheets.batches import batches
from catalog.sheets.cells import Figure, guarded
from catalog.sheets.columns import Column
from catalog.sheets.sheet_type import SheetType

FORMATS = ("csv", "xlsx")
AT_ONCE = 200
CHUNK = 64 * 1024


def export(type: SheetType, user: Any, format: str, rows: Iterable[Any] | None = None) -> Iterator[bytes]:
    """The records as a file, piece by piece; those in use, or the ``rows`` given.

    Money is left out for whom it is not shown. Raises ``PermissionDenied``, ``ValueError`` for an unknown format.
    """
    if not type.can_export(user):
        raise PermissionDenied
    columns = type.columns_for(user)
    records: Any = type.rows_for(user) if rows is None else rows
    if hasattr(records, "iterator"):
        records = records.iterator(chunk_size=AT_ONCE)
    lines = (_cells(type, columns, record) for record in records)
    return streamed(format, type.label, columns, lines)


class Headed(Protocol):
    """A column, as far as a table going out has to know it."""

    @property
    def head(self) -> str: ...

    @property
    def required(self) -> bool: ...


def streamed(format: str, title: str, columns: Sequence[Headed], lines: Iterable[list[Any]]) -> Iterator[bytes]:
    """Lines of text and numbers under their heads as a file, piece by piece. ``ValueError`` for an unknown format."""
    if format == "csv":
        return _csv(columns, lines)
    if format == "xlsx":
        return _xlsx(title, columns, lines)
    raise ValueError(format)


def _cells(type: SheetType, columns: Sequence[Column], record: Any) -> list[Any]:
    values = {**type.current(record), **type.stands_apart(record)}
    return [column.entry.write(values.get(column.name)) for column in columns]


def _csv(columns: Sequence[Headed], lines: Iterable[list[Any]]) -> Iterator[bytes]:
    buffer = io.StringIO()
    write = csv.writer(buffer).writerow
    write([column.head for column in columns])
    yield b"\xef\xbb\xbf" + _emptied(buffer)
    for batch in batches(lines, AT_ONCE):
        for line in batch:
            write([guarded(_text(cell)) for cell in line])
        yield _emptied(buffer)


def _emptied(buffer: io.StringIO) -> bytes:
    text = buffer.getvalue()
    buffer.seek(0)
    buffer.truncate()
    return text.encode()


def _text(cell: Any) -> str:
    return typed(cell) if isinstance(cell, int | float | Decimal) else str(cell)


def _xlsx(title: str, columns: Sequence[Headed], lines: Iterable[list[Any]]) -> Iterator[bytes]:
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    sheet = _table(book, title, columns)
    for line in lines:
        sheet.append([_workbook_cell(cell) for cell in line])
    return _saved(book)


def _table(book: Any, title: str, columns: Sequence[Headed]) -> Any:
    """A sheet with its heads, which stay in sight."""
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    sheet = book.create_sheet("".join(c if c not in "[]:*?/\\" else " " for c in title)[:31])
    sheet.freeze_panes = "A2"
    heads = []
    for place, column in enumerate(columns, start=1):
        cell = WriteOnlyCell(sheet, value=column.head)
        cell.font = Font(bold=column.required)
        heads.append(cell)
        sheet.column_dimensions[get_column_letter(place)].width = min(max(len(column.head) + 2, 10), 40)
    sheet.append(heads)
    return sheet


def _workbook_cell(cell: Any) -> Any:
    """A number as a number; text as text that no program runs, without what XML cannot hold."""
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    if isinstance(cell, Figure):
        cell = Decimal(cell)
    if isinstance(cell, Decimal | int | float):
        return cell
    return guarded(ILLEGAL_CHARACTERS_RE.sub("", str(cell))) or None


def _saved(book: Any) -> Iterator[bytes]:
    file = tempfile.TemporaryFile()  # noqa: SIM115  (closed when the last piece is gone)
    book.save(file)
    file.seek(0)
    return _pieces(file)


def _pieces(file: Any) -> Iterator[bytes]:
    with file:
        while piece := file.read(CHUNK):
            yield piece


def template(type: SheetType, user: Any, format: str) -> bytes:
    """An empty table to fill in: heads, and in a workbook a second sheet that says what may stand where."""
    if not type.can_import(user):
        raise PermissionDenied
    columns = type.columns_for(user)
    if format == "csv":
        return b"".join(_csv(columns, ()))
    if format != "xlsx":
        raise ValueError(format)
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    _table(book, type.label, columns)
    _explain(book, columns)
    return b"".join(_saved(book))


def _explain(book: Any, columns: Sequence[Column]) -> None:
    sheet = book.create_sheet(_("How to fill it in"))
    for letter, width in zip("ABCD", (32, 16, 48, 70), strict=True):
        sheet.column_dimensions[letter].width = width
    sheet.append([_("Column"), _("Needed"), _("What may stand there"), _("What it is")])
    for column in columns:
        needed = _("for a new record") if column.required else ""
        sheet.append([_workbook_cell(text) for text in (column.head, needed, column.allowed, column.help)])
    sheet.append([])
    for words in NOTES():
        sheet.append([words])


def NOTES() -> tuple[str, ...]:  # noqa: N802  (sentences, translated when they are said)
    """What holds for every column."""
    return (
        _("An empty cell leaves what a record has; a new record gets the usual value."),
        _("A cell with only - empties what a record has, where it may be empty."),
        _("A unit may stand behind a number: 35 mm2, 200 mA, 0.6 mΩ. Without one the column's unit holds."),
        _("Columns may stand in any order, and those that are not needed may be left out."),
        _("Nothing is saved while one cell is wrong."),
    )
