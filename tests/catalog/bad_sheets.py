"""Wrong tables of fuses, and the sentence each of them meets. Each row: what it is called, the file, what is said.

The catalogue they meet has one fuse (Ambry HF-200 by Ambry), one battery (Larkham LF-100, LF-100), a retired fuse
(Ambry HF-80) and two fuses called “Twin”.
"""

from __future__ import annotations

import io
import struct
import zipfile
from collections.abc import Callable
from datetime import date
from typing import Any

from openpyxl import Workbook

from tests.catalog.sheet_files import table

HEADS = ("Name", "Maker", "Part number", "Cost", "Mass", "Rating", "Breaking capacity", "Series", "Highest voltage")
HEADS += ("Cold resistance", "min_opening_s_at_2x", "Supplier", "On the shelf", "Lead time", "Notes")
GOOD = ("Ambry HF-100", "Ambry", "HF-100", "41.80", "180 g", "100 A", "20 kA", "class_t", "125", "0.2 mΩ", "1")
GOOD += ("", "3", "2", "")
PLACE = {head: place for place, head in enumerate(HEADS)}


def csv_of(*rows: tuple[Any, ...], heads: tuple[Any, ...] = HEADS) -> bytes:
    return table(heads, *rows).encode()


def with_cell(head: str, cell: Any, row: tuple[Any, ...] = GOOD) -> tuple[Any, ...]:
    changed = list(row)
    changed[PLACE[head]] = cell
    return tuple(changed)


def cell(head: str, text: str) -> bytes:
    return csv_of(with_cell(head, text))


def book(*rows: Any, title: str = "Parts", change: Callable[[Any], None] | None = None) -> bytes:
    made = Workbook()
    made.active.title = title
    for row in rows:
        made.active.append(list(row))
    if change:
        change(made.active)
    out = io.BytesIO()
    made.save(out)
    return out.getvalue()


def in_book(head: str, value: Any, number_format: str = "") -> bytes:
    def change(sheet: Any) -> None:
        one = sheet.cell(2, PLACE[head] + 1, value)
        if number_format:
            one.number_format = number_format

    return book(HEADS, GOOD, change=change)


def archive(**members: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
        for name, content in members.items():
            made.writestr(name.replace("__", "/"), content)
    return out.getvalue()


def repacked(content: bytes, name: str, change: Callable[[bytes], bytes]) -> bytes:
    """The workbook with one of its parts changed."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for member in old.namelist():
            inside = old.read(member)
            new.writestr(member, change(inside) if member == name else inside)
    return out.getvalue()


SHEET = "xl/worksheets/sheet1.xml"
LAUGHS = b'<?xml version="1.0"?><!DOCTYPE l [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
OUTSIDE = b'<?xml version="1.0"?><!DOCTYPE l [<!ENTITY x SYSTEM "file:///etc/hostname">]>'


def with_entities(declaration: bytes) -> bytes:
    def change(inside: bytes) -> bytes:
        body = inside.split(b"?>", 1)[1] if inside.startswith(b"<?xml") else inside
        return declaration + body

    return repacked(book(HEADS, GOOD), SHEET, change)


def lying() -> bytes:
    """A workbook whose directory says that its sheet unpacks to little, while it unpacks to 60 MB."""
    content = bytearray(repacked(book(HEADS, GOOD), SHEET, lambda inside: inside + b" " * 60_000_000))
    at = content.rfind(SHEET.encode()) - 46
    struct.pack_into("<I", content, at + 24, 900)
    return bytes(content)


def huge_dimension(inside: bytes) -> bytes:
    return inside.replace(b'ref="A1:O2"', b'ref="A1:XFD1048576"')


def far_column(sheet: Any) -> None:
    sheet.cell(2, 16384, "x")


def many_rows() -> bytes:
    return b"Name,Cost\r\n" + b"a,1\r\n" * 60_001


REFUSED: tuple[tuple[str, str, bytes, str], ...] = (
    ("empty file", "t.csv", b"", "The file is empty."),
    ("only blanks", "t.csv", b"\r\n,,\r\n", "The table is empty: its first row must hold the heads of the columns."),
    ("only heads", "t.csv", csv_of(), "The table has heads, but no rows below them."),
    ("a head too long", "t.csv", b"Name," + b"x" * 201, "The head of column B has 201 characters."),
    (
        "heads twice",
        "t.csv",
        b"Name,Cost,cost\r\na,1,2\r\n",
        "The head “cost” stands twice, in columns B and C. Give each its own.",
    ),
    ("zero bytes", "t.csv", b"Name,Cost\r\nA\0B,1\r\n", "The file holds zero bytes, as text never does."),
    (
        "not UTF-8",
        "t.csv",
        "Name,Cost\r\nSicherung für Kühlbox,1\r\n".encode("cp1252"),
        "Line 2 is not UTF-8. Read as Windows-1252 it says “Sicherung für Kühlbox,1”. Is that right?",
    ),
    ("UTF-32", "t.csv", "Name".encode("utf-32"), "The file is UTF-32 text. Save it as CSV in UTF-8."),
    ("half of UTF-16", "t.csv", "Name,Cost\r\nA,1".encode("utf-16")[:-1], "the text is not UTF-16"),
    (
        "a lost quotation mark",
        "t.csv",
        b'Name,Cost\r\n"A,1\r\n' + b"B,2\r\n" * 40_000,
        "a cell has more than 131\u202f072 characters. Mostly a quotation mark has lost its partner.",
    ),
    ("a cell of 20 MB", "t.csv", b"Name,Cost\r\n" + b"x" * 20_000_000 + b",1\r\n", "a cell has more than 131\u202f072"),
    ("too large a file", "t.csv", b"Name\r\n" + b"abcdefgh\r\n" * 2_700_000, "a table may have at most 25 MB"),
    ("too many rows", "t.csv", many_rows(), "The table has more than 60\u202f000 rows."),
    (
        "too many columns",
        "t.csv",
        b",".join(b"h%d" % n for n in range(301)) + b"\r\n",
        "a table may have at most 300 columns.",
    ),
    ("no column that finds", "t.csv", b"Cost,Mass\r\n1,2\r\n", "Match a column that says which record is meant"),
    ("nothing known", "t.csv", b"zzz,qqq\r\n1,2\r\n", "No column of the table is matched yet."),
    ("a workbook called CSV", "t.csv", book(HEADS, GOOD), "“t.csv” is called a text table, but is a workbook inside."),
    ("text called XLSX", "t.xlsx", csv_of(GOOD), "“t.xlsx” is called a workbook, but is none inside."),
    ("PDF", "t.csv", b"%PDF-1.7 ...", "This is a PDF file, no table."),
    ("old workbook", "t.xls", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "a workbook of the old kind (.xls)"),
    (
        "locked workbook",
        "t.xlsx",
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600 + "EncryptedPackage".encode("utf-16-le"),
        "The workbook is locked with a password.",
    ),
    ("OpenDocument", "t.ods", archive(mimetype=b"application/vnd.oasis", **{"content.xml": b"<x/>"}), "OpenDocument"),
    ("a ZIP archive", "t.xlsx", archive(**{"photo.png": b"x"}), "This is a ZIP archive, not a workbook."),
    ("binary workbook", "t.xlsb", archive(**{"xl/workbook.bin": b"x"}), "This is a binary workbook (.xlsb)."),
    ("half a workbook", "t.xlsx", book(HEADS, GOOD)[:3000], "The workbook is damaged and cannot be read."),
    ("a workbook without parts", "t.xlsx", archive(**{"xl/workbook.xml": b"<x/>"}), "The workbook is damaged"),
    (
        "packed hard",
        "t.xlsx",
        repacked(book(HEADS, GOOD), SHEET, lambda inside: inside + b" " * 30_000_000),
        "unpacks to 28 MB, as no real table does.",
    ),
    (
        "packed into 210 MB",
        "t.xlsx",
        archive(**{"xl/workbook.xml": b"<x/>", "xl/a.xml": b" " * 110_000_000, "xl/b.xml": b" " * 110_000_000}),
        "Unpacked the workbook would have 209 MB; at most 200 MB are read.",
    ),
    ("a lying directory", "t.xlsx", lying(), "The workbook is damaged and cannot be read."),
    ("a billion laughs", "t.xlsx", with_entities(LAUGHS), "The workbook is damaged and cannot be read."),
    ("an outside entity", "t.xlsx", with_entities(OUTSIDE), "The workbook is damaged and cannot be read."),
    ("a cell far out", "t.xlsx", book(HEADS, GOOD, change=far_column), "Row 2 reaches to column XFD"),
    ("an empty workbook", "t.xlsx", book(), "The table is empty"),
)
"""Whole files that are refused."""

WRONG: tuple[tuple[str, str, bytes, tuple[tuple[int, str, str], ...]], ...] = (
    ("words for money", "t.csv", cell("Cost", "dear"), ((2, "Cost", "“dear” is not a number."),)),
    ("money below nothing", "t.csv", cell("Cost", "-3"), ((2, "Cost", "It is −3.00; it must be at least 0.00."),)),
    ("five decimals", "t.csv", cell("Cost", "3.12345"), ((2, "Cost", "“3.12345” has more than 4 decimals."),)),
    (
        "two readings",
        "t.csv",
        cell("Cost", "1,500"),
        ((2, "Cost", "“1,500” can mean 1.5 or 1500. Write one of these."),),
    ),
    ("a currency", "t.csv", cell("Cost", "12 AUD"), ((2, "Cost", "“AUD” has a unit, but this is a plain number."),)),
    ("no cost", "t.csv", cell("Cost", ""), ((2, "Cost", "Cost is missing; a new record needs it"),)),
    ("too heavy", "t.csv", cell("Mass", "3 t"), ((2, "Mass", "at least 0\u00a0kg and at most 2\u202f000\u00a0kg."),)),
    (
        "volts for amperes",
        "t.csv",
        cell("Rating", "100 V"),
        ((2, "Rating", "“V” is not a unit of this field; use A."),),
    ),
    ("unknown unit", "t.csv", cell("Rating", "100 blip"), ((2, "Rating", "“blip” is not a unit known here; use A."),)),
    (
        "out of range",
        "t.csv",
        cell("Rating", "5 kA"),
        ((2, "Rating", "Rating is 5\u202f000\u00a0A; it must be at least"),),
    ),
    ("not finite", "t.csv", cell("Rating", "1e999"), ((2, "Rating", "too large a number"),)),
    ("an error value as text", "t.csv", cell("Rating", "#N/A"), ((2, "Rating", "“#N/A” is not a number."),)),
    ("no choice", "t.csv", cell("Series", "brass"), ((2, "Series", "It must be one of: "),)),
    ("no supplier", "t.csv", cell("Supplier", "Nobody"), ((2, "Supplier", "No supplier is called “Nobody”."),)),
    ("half a part", "t.csv", cell("On the shelf", "2.5"), ((2, "On the shelf", "It must be a whole number."),)),
    ("a name too long", "t.csv", cell("Name", "x" * 121), ((2, "Name", "at most 120 characters"),)),
    (
        "a name in two lines",
        "t.csv",
        cell("Name", "a\nb"),
        ((2, "Name", "It holds a line break; write it in one line."),),
    ),
    ("unseen characters", "t.csv", cell("Name", "a\x07b"), ((2, "Name", "It holds characters that cannot be seen."),)),
    ("notes too long", "t.csv", cell("Notes", "x" * 2001), ((2, "Notes", "at most 2000 characters"),)),
    (
        "far too long",
        "t.csv",
        cell("Notes", "x" * 4001),
        ((2, "Notes", "It has 4001 characters; at most 4000 are read."),),
    ),
    ("emptied name", "t.csv", cell("Name", "-"), ((2, "Name", "Name cannot be emptied."),)),
    (
        "a row too long",
        "t.csv",
        csv_of((*GOOD, "more")),
        ((2, "", "The row has 16 cells, but there are 15 heads: a separator too many?"),),
    ),
    (
        "the same key twice",
        "t.csv",
        csv_of(GOOD, with_cell("Part number", "HF-101"), GOOD),
        ((4, "", "Rows 2 and 4 mean the same record. Leave one out."),),
    ),
    (
        "two rows for one record",
        "t.csv",
        csv_of(with_cell("Part number", "HF-200"), with_cell("Part number", "hf-200")),
        ((3, "", "Rows 2 and 3 mean the same record. Leave one out."),),
    ),
    (
        "another kind's part number",
        "t.csv",
        csv_of(with_cell("Part number", "LF-100", with_cell("Maker", "Larkham"))),
        ((2, "Part number", "This part number is in the catalogue as another kind: “Larkham LF-100”, battery."),),
    ),
    (
        "a retired record",
        "t.csv",
        csv_of(with_cell("Part number", "HF-80")),
        ((2, "", "“Ambry HF-80” is retired. Take it back into use first, or leave this row out."),),
    ),
    (
        "a name that is not one record's",
        "t.csv",
        b"Name,Cost\r\nTwin,3\r\n",
        ((2, "Name", "2 of this kind are called “Twin”; say which by maker and part number."),),
    ),
    (
        "everything at once",
        "t.csv",
        csv_of(with_cell("Cost", "x", with_cell("Rating", "y", with_cell("Series", "z")))),
        ((2, "Cost", "not a number"), (2, "Rating", "not a number"), (2, "Series", "one of")),
    ),
    ("a formula", "t.xlsx", in_book("Cost", "=3*4"), ((2, "Cost", "D2 holds a formula (=3*4); put its value in."),)),
    (
        "an error value",
        "t.xlsx",
        in_book("Cost", "#N/A"),
        ((2, "Cost", "D2 holds the error #N/A of your spreadsheet"),),
    ),
    ("true for a number", "t.xlsx", in_book("Cost", True), ((2, "Cost", "It holds true or false, where a number"),)),
    ("true for a name", "t.xlsx", in_book("Name", True), ((2, "Name", "It holds true or false, where text"),)),
    ("a day for a number", "t.xlsx", in_book("Cost", date(2026, 3, 5)), ((2, "Cost", "It holds a day or a time"),)),
    (
        "a part number turned day",
        "t.xlsx",
        in_book("Part number", date(2026, 3, 5)),
        ((2, "Part number", "It holds a day (2026-03-05). If it is meant as text, give the cell the format of text."),),
    ),
    (
        "a part number rounded",
        "t.xlsx",
        in_book("Part number", 12345678901234567890),
        ((2, "Part number", "It is a number of more than 15 digits, which a spreadsheet rounds."),),
    ),
    (
        "per cent for amperes",
        "t.xlsx",
        in_book("Rating", 0.5, "0%"),
        ((2, "Rating", "“%” is not a unit of this field"),),
    ),
)
"""Tables with wrong cells: row, head, and words of each problem."""
HUGE = repacked(book(HEADS, GOOD), SHEET, huge_dimension)
"""A workbook that claims 17 thousand million cells and has thirty; it is read as what it is."""
