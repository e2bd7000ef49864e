"""Workbooks (XLSX): looked over from outside before anything in them is unpacked, then read row by row."""

from __future__ import annotations

import zipfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.utils.translation import gettext as _

from catalog.sheets.cells import Fault, column_letters, from_value, shortened
from catalog.sheets.limits import LIMITS, MEGABYTE, SheetRefused
from catalog.sheets.workbook_guard import GuardedArchive

WIDEST = 1000
"""Columns of a row that are looked at at all."""
_ZIP = b"PK\x03\x04"
_COMPOUND = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_OTHERS = ((b"%PDF", "PDF"), (b"\x89PNG", "PNG"), (b"\xff\xd8\xff", "JPEG"), (b"\x1f\x8b", "GZIP"), (b"{\\rtf", "RTF"))


def is_zip(start: bytes) -> bool:
    return start.startswith((_ZIP, b"PK\x05\x06"))


def refuse_foreign(path: Path, start: bytes) -> None:
    """Raise :class:`SheetRefused` for files that people take for tables and that are read in no other way."""
    if start.startswith(_COMPOUND):
        if "EncryptedPackage".encode("utf-16-le") in path.read_bytes():
            raise SheetRefused(_("The workbook is locked with a password. Save it without one."))
        raise SheetRefused(_("This is a workbook of the old kind (.xls). Save it as XLSX or as CSV."))
    for mark, name in _OTHERS:
        if start.startswith(mark):
            raise SheetRefused(_("This is a %(name)s file, no table. Save the table as XLSX or CSV.") % {"name": name})


def inspect(path: Path) -> None:
    """Raise :class:`SheetRefused` for an archive that is no workbook or would unpack into too much."""
    try:
        with zipfile.ZipFile(path) as archive:
            members = archive.infolist()
            names = {member.filename for member in members}
            if "xl/workbook.xml" not in names:
                if "content.xml" in names or "mimetype" in names:
                    raise SheetRefused(_("This is an OpenDocument file. Save it as XLSX or as CSV."))
                if "xl/workbook.bin" in names:
                    raise SheetRefused(_("This is a binary workbook (.xlsb). Save it as XLSX or as CSV."))
                raise SheetRefused(_("This is a ZIP archive, not a workbook. Save the table as XLSX or CSV."))
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError):
        raise SheetRefused(_DAMAGED()) from None
    if any(member.flag_bits & 0x1 for member in members):
        raise SheetRefused(_("The workbook is locked with a password. Save it without one."))
    _refuse_bombs(members)


def _DAMAGED() -> str:  # noqa: N802  (a sentence, translated when it is said)
    return _("The workbook is damaged and cannot be read. Open it in your spreadsheet program and save it again.")


def _refuse_bombs(members: list[zipfile.ZipInfo]) -> None:
    total = sum(member.file_size for member in members)
    if total > LIMITS.unpacked_bytes or len(members) > LIMITS.members:
        words = _("Unpacked the workbook would have %(size)d MB; at most %(most)d MB are read.")
        sizes = {"size": total // MEGABYTE, "most": LIMITS.unpacked_bytes // MEGABYTE}
        raise SheetRefused(words % sizes)
    for member in members:
        is_sheet = member.filename.startswith("xl/worksheets/")
        packed_hard = member.file_size > MEGABYTE and member.file_size > LIMITS.packed_ratio * member.compress_size
        if packed_hard or (not is_sheet and member.file_size > LIMITS.member_bytes):
            words = _("A part of the workbook (%(name)s) unpacks to %(size)d MB, as no real table does.")
            raise SheetRefused(words % {"name": shortened(member.filename), "size": member.file_size // MEGABYTE})


@contextmanager
def _opened(path: Path) -> Iterator[Any]:
    """The workbook for reading; whatever is wrong inside comes out as :class:`SheetRefused`.

    The XML is read through defusedxml, which refuses entities; whatever a damaged part makes the reader raise, of the
    many things that can be, means the same to the person.
    """
    from openpyxl.reader.excel import ExcelReader  # slow to import, and only needed here

    inspect(path)
    book, file = None, path.open("rb")  # opened here, so that it is closed whatever the reader meets
    try:
        reader = ExcelReader(file, read_only=True, data_only=False, keep_links=False)
        reader.archive.close()
        reader.archive = GuardedArchive(file)
        reader.read()
        book = reader.wb
        yield book
    except (SheetRefused, GeneratorExit):
        raise
    except MemoryError:
        raise SheetRefused(_("The workbook is too large to be read.")) from None
    except Exception:
        raise SheetRefused(_DAMAGED()) from None
    finally:
        if book is not None:
            book.close()
        file.close()


def names(path: Path) -> tuple[str, ...]:
    """Names of the sheets, those that are shown first."""
    with _opened(path) as book:
        sheets = sorted(book.worksheets, key=lambda sheet: sheet.sheet_state != "visible")
        found = tuple(sheet.title for sheet in sheets)
    if not found:
        raise SheetRefused(_("The workbook has no sheet with cells."))
    return found


def rows(path: Path, name: str) -> Iterator[tuple[int, list[str]]]:
    """Every row of one sheet with its number; what its dimensions claim is not believed."""
    with _opened(path) as book:
        sheet = next((sheet for sheet in book.worksheets if sheet.title == name), None)
        if sheet is None:
            raise SheetRefused(_("The workbook has no sheet “%(name)s”.") % {"name": shortened(name)})
        sheet.reset_dimensions()
        lines = sheet.iter_rows()
        try:
            yield from _lines(lines)
        finally:
            if hasattr(lines, "close"):
                lines.close()  # or the part it reads stays open as long as the refusal is looked at


def _lines(lines: Iterable[Any]) -> Iterator[tuple[int, list[str]]]:
    for number, row in enumerate(lines, start=1):
        if len(row) > WIDEST:
            words = _("Row %(row)d reaches to column %(letters)s; a table may have at most %(most)d columns.")
            params = {"row": number, "letters": column_letters(len(row)), "most": LIMITS.columns}
            raise SheetRefused(words % params)
        yield number, [_cell(cell, number, place) for place, cell in enumerate(row, start=1)]


def _cell(cell: Any, row: int, place: int) -> str:
    value = cell.value
    if value is None:
        return ""
    where = f"{column_letters(place)}{row}"
    if cell.data_type == "f":
        text = shortened(value if isinstance(value, str) else str(getattr(value, "text", "") or "="))
        words = _("%(cell)s holds a formula (%(text)s); put its value in.")
        return Fault(text, words % {"cell": where, "text": text})
    if cell.data_type == "e":
        words = _("%(cell)s holds the error %(text)s of your spreadsheet program.")
        return Fault(str(value), words % {"cell": where, "text": value})
    made = from_value(value, cell.number_format if isinstance(value, int | float) else "")
    return made.strip() if type(made) is str else made
