"""Tables as rows of cells, whatever file they come in. Nothing is taken on trust: not the name, not the size."""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Iterator, Mapping
from itertools import islice
from pathlib import Path
from typing import Any

from django.utils.translation import gettext as _

from catalog.sheets import workbook
from catalog.sheets.cells import column_letters, shortened, unguarded
from catalog.sheets.decimals import DECIMALS
from catalog.sheets.limits import LIMITS, MEGABYTE, SheetRefused

Reading = Mapping[str, Any]
Row = tuple[int, list[str]]

ENCODINGS = ("utf-8", "utf-16", "windows-1252")
DELIMITERS = (",", ";", "\t", "|")
LOOKED_AT = 200_000
"""Characters of a file from which its delimiter is guessed."""
_MARKS = ((codecs.BOM_UTF32_LE, ""), (codecs.BOM_UTF32_BE, ""), (codecs.BOM_UTF8, "utf-8"))
_MARKS_16 = ((codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))
_CODECS = {"utf-8": "utf-8-sig", "utf-16": "utf-16", "windows-1252": "cp1252"}
_TEXT_ENDINGS = frozenset({".csv", ".txt", ".tsv"})


def guess_reading(path: Any, file_name: str) -> dict[str, Any]:
    """How a file is best read: ``format``, ``encoding``, ``delimiter``, ``decimal``, ``sheet``, ``doubt``.

    Text that is not UTF-8 is never read by a guess: ``encoding`` is then empty, ``offered`` names what it might be
    and ``doubt`` is the sentence to ask the person with. Raises :class:`SheetRefused` for a file that is no table.
    """
    path = Path(path)
    ending = Path(file_name).suffix.lower()
    size = path.stat().st_size
    if not size:
        raise SheetRefused(_("The file is empty."))
    if size > LIMITS.file_bytes:
        words = _("The file has %(size).1f MB; a table may have at most %(most)d MB. Part it in several.")
        raise SheetRefused(words % {"size": size / MEGABYTE, "most": LIMITS.file_bytes // MEGABYTE})
    with path.open("rb") as file:
        start = file.read(8)
    if workbook.is_zip(start):
        workbook.inspect(path)
        if ending in _TEXT_ENDINGS:
            words = _("“%(name)s” is called a text table, but is a workbook inside. Name it .xlsx and bring it again.")
            raise SheetRefused(words % {"name": file_name})
        reading = {"format": "xlsx", "encoding": "", "delimiter": "", "decimal": "either", "doubt": ""}
        return {**reading, "sheet": next(iter(workbook.names(path)))}
    workbook.refuse_foreign(path, start)
    if ending in (".xlsx", ".xlsm"):
        words = _("“%(name)s” is called a workbook, but is none inside. If it is a text table, name it .csv.")
        raise SheetRefused(words % {"name": file_name})
    return _guess_text(path)


def _guess_text(path: Path) -> dict[str, Any]:
    raw = path.read_bytes()
    encoding, doubt, offered = _guess_encoding(raw)
    text = _decoded_start(raw, encoding or offered)
    return {
        "format": "csv",
        "encoding": encoding,
        "offered": offered,
        "delimiter": _guess_delimiter(text),
        "decimal": "either",
        "sheet": "",
        "doubt": doubt,
    }


def _guess_encoding(raw: bytes) -> tuple[str, str, str]:
    for mark, name in _MARKS + _MARKS_16:
        if raw.startswith(mark):
            if not name:
                raise SheetRefused(_("The file is UTF-32 text. Save it as CSV in UTF-8."))
            return name, "", ""
    if b"\0" in raw:
        raise SheetRefused(_NULS())
    try:
        raw.decode("utf-8")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        begin = raw.rfind(b"\n", 0, error.start) + 1
        around = raw[max(begin, error.start - 20) : error.start + 20].split(b"\n")[0].decode("cp1252", "replace")
        words = _("Line %(line)d is not UTF-8. Read as Windows-1252 it says “%(around)s”. Is that right?")
        return "", words % {"line": line, "around": around.strip()}, "windows-1252"
    return "utf-8", "", ""


def _NULS() -> str:  # noqa: N802  (a sentence, translated when it is said)
    return _("The file holds zero bytes, as text never does. Save it as CSV in UTF-8, or as XLSX.")


def _decoded_start(raw: bytes, encoding: str) -> str:
    return raw[: LOOKED_AT * 2].decode(_CODECS[encoding], "replace")[:LOOKED_AT]


def _guess_delimiter(text: str) -> str:
    """What parts the heads, and the rows below them into as many cells."""
    best, best_score = ",", (0.0, 0)
    for delimiter in DELIMITERS:
        try:
            rows = [row for row in islice(csv.reader(io.StringIO(text), delimiter=delimiter), 25) if any(row)]
        except csv.Error:
            continue
        if not rows or len(rows[0]) < 2:
            continue
        alike = sum(1 for row in rows if len(row) == len(rows[0])) / len(rows)
        if (alike, len(rows[0])) > best_score:
            best, best_score = delimiter, (alike, len(rows[0]))
    return best


def sheet_names(path: Any, reading: Reading) -> list[str]:
    """Names of the sheets of a workbook; none for a text table."""
    return list(workbook.names(Path(path))) if reading.get("format") == "xlsx" else []


def heads(path: Any, reading: Reading) -> list[str]:
    """The heads as they stand in the file's first row that is not empty. :class:`SheetRefused` when there are none."""
    return head_row(path, reading)[1]


def head_row(path: Any, reading: Reading) -> Row:
    """The same with the number of that row."""
    number, row = next(rows(path, reading), (0, []))
    found = [" ".join(cell.split()) for cell in row]
    while found and not found[-1]:
        found.pop()
    if not found:
        raise SheetRefused(_("The table is empty: its first row must hold the heads of the columns."))
    places: dict[str, int] = {}
    for place, head in enumerate(found):
        if len(head) > LIMITS.head_characters:
            words = _("The head of column %(letters)s has %(length)d characters. Is the first row the row of heads?")
            raise SheetRefused(words % {"letters": column_letters(place + 1), "length": len(head)})
        if head and head.casefold() in places:
            words = _("The head “%(head)s” stands twice, in columns %(first)s and %(second)s. Give each its own.")
            letters = (column_letters(places[head.casefold()] + 1), column_letters(place + 1))
            raise SheetRefused(words % {"head": head, "first": letters[0], "second": letters[1]})
        places[head.casefold()] = place
    return number, found


def sample(path: Any, reading: Reading, rows: int = 5) -> list[list[str]]:
    """The first rows below the heads."""
    width = len(heads(path, reading))
    found = []
    for _number, row in islice(body(path, reading), rows):
        found.append([shortened(str(cell), LIMITS.head_characters) for cell in row[:width]] + [""] * (width - len(row)))
    return found


def body(path: Any, reading: Reading) -> Iterator[Row]:
    """Every row below the heads that is not empty, with its number in the file."""
    return islice(rows(path, reading), 1, None)


def rows(path: Any, reading: Reading) -> Iterator[Row]:
    """Every row that is not empty, with its number in the file. Raises :class:`SheetRefused` on the way."""
    count = 0
    for number, row in _source(Path(path), reading):
        if number > LIMITS.lines:
            words = _("The table goes on behind row %(most)s. Take out its empty rows.")
            raise SheetRefused(words % {"most": f"{LIMITS.lines:,}".replace(",", "\u202f")})
        if not any(row):
            continue
        if len(row) > LIMITS.columns and any(row[LIMITS.columns :]):
            words = _("Row %(row)d has cells beyond column %(letters)s; a table may have at most %(most)d columns.")
            params = {"row": number, "letters": column_letters(LIMITS.columns), "most": LIMITS.columns}
            raise SheetRefused(words % params)
        count += 1
        if count > LIMITS.rows + 1:
            words = _("The table has more than %(most)s rows. Part it in several.")
            raise SheetRefused(words % {"most": f"{LIMITS.rows:,}".replace(",", "\u202f")})
        yield number, row


def _source(path: Path, reading: Reading) -> Iterator[Row]:
    if reading.get("decimal", "either") not in DECIMALS:
        raise SheetRefused(_("Choose how the table writes decimals."))
    if path.stat().st_size > LIMITS.file_bytes:
        raise SheetRefused(_("The file is too large: at most %(most)d MB.") % {"most": LIMITS.file_bytes // MEGABYTE})
    if reading.get("format") == "xlsx":
        return workbook.rows(path, str(reading.get("sheet") or ""))
    if reading.get("format") == "csv":
        return _text_rows(path, reading)
    raise SheetRefused(_("Choose how the file is read: as a text table or as a workbook."))


def _text_rows(path: Path, reading: Reading) -> Iterator[Row]:
    encoding, delimiter = reading.get("encoding"), reading.get("delimiter")
    if encoding not in _CODECS:
        raise SheetRefused(str(reading.get("doubt") or _("Choose the encoding of the text.")))
    if delimiter not in DELIMITERS:
        raise SheetRefused(_("Choose what parts the cells: comma, semicolon, tab or bar."))
    number = 0
    try:
        with path.open(encoding=_CODECS[encoding], errors="strict", newline="") as file:
            for number, row in enumerate(csv.reader(_without_nuls(file), delimiter=delimiter), start=1):
                yield number, [unguarded(cell.strip()) for cell in row]
    except UnicodeError:
        words = _("Behind row %(row)d the text is not %(encoding)s. Choose another encoding, or save it as UTF-8.")
        raise SheetRefused(words % {"row": number, "encoding": encoding.upper()}) from None
    except csv.Error as error:
        words = _("Row %(row)d cannot be read as text in cells. Open the table and save it again as CSV.")
        if "limit" in str(error):
            words = _(
                "Row %(row)d cannot be read: a cell has more than %(most)s characters. "
                "Mostly a quotation mark has lost its partner."
            )
        most = f"{csv.field_size_limit():,}".replace(",", "\u202f")
        raise SheetRefused(words % {"row": number + 1, "most": most}) from None


def _without_nuls(lines: Iterator[str]) -> Iterator[str]:
    for line in lines:
        if "\0" in line:
            raise SheetRefused(_NULS())
        yield line
