"""Workbooks that are small on the disk and hard on who reads them are refused before they do harm."""

from __future__ import annotations

import tracemalloc

import pytest

from catalog import sheets
from catalog.sheets import reading
from tests.catalog.bad_sheets import GOOD, HEADS, SHEET, book, repacked

STYLES, WORKBOOK = "xl/styles.xml", "xl/workbook.xml"


def with_rows(rows: bytes) -> bytes:
    """A sheet whose rows are these."""
    return repacked(book(HEADS, GOOD), SHEET, lambda inside: inside.replace(b"<sheetData>", b"<sheetData>" + rows))


def with_more(part: str, end: bytes, more: bytes) -> bytes:
    return repacked(book(HEADS, GOOD), part, lambda inside: inside.replace(end, more + end))


HARD = {
    "one row of very many cells": with_rows(b'<row r="1">' + b"<c/>" * 250_000 + b"</row>"),
    "rows inside a row": with_rows(b"<row>" * 200),
    "a row number with twelve digits": with_rows(b'<row r="999999999999"><c r="A1"/></row>'),
    "a row number with an exponent": with_rows(b'<row r="1e12"><c r="A1"/></row>'),
    "elements deep inside each other": with_rows(b"<a>" * 300_000),
    "elements outside all rows": with_more(SHEET, b"<sheetData>", b"<a/>" * 400_000),
    "very many styles": with_more(STYLES, b"</cellXfs>", b"<xf/>" * 400_000),
    "very many names": with_more(WORKBOOK, b"</workbook>", b'<x a="1"/>' * 400_000),
    "one endless text": with_rows(b'<row r="1"><c t="inlineStr"><is><t>' + b"x" * 3_000_000 + b"</t></is></c></row>"),
}


@pytest.mark.parametrize("content", HARD.values(), ids=HARD)
def test_a_hard_workbook_is_refused_in_little_memory(content, tmp_path):
    path = tmp_path / "t.xlsx"
    path.write_bytes(content)
    tracemalloc.start()
    try:
        with pytest.raises(sheets.SheetRefused, match=r"holds more than can be read|as no real table does"):
            list(reading.rows(path, sheets.guess_reading(path, "t.xlsx")))
        peak_mb = tracemalloc.get_traced_memory()[1] / 1e6
    finally:
        tracemalloc.stop()
    assert peak_mb < 150


def test_a_real_workbook_with_far_rows_and_many_styles_is_read(tmp_path):
    path = tmp_path / "t.xlsx"
    rows = b'<row r="1048576"><c r="A1048576" t="inlineStr"><is><t>last</t></is></c></row>'
    content = repacked(book(HEADS, GOOD), SHEET, lambda inside: inside.replace(b"</sheetData>", rows + b"</sheetData>"))
    path.write_bytes(content)

    found = list(reading.rows(path, sheets.guess_reading(path, "t.xlsx")))

    assert found[0][1][: len(HEADS)] == list(HEADS)
    assert found[-1] == (1_048_576, ["last"])


def test_a_text_table_of_very_many_empty_rows_is_not_read_to_its_end(tmp_path):
    path = tmp_path / "t.csv"
    path.write_bytes(b"name,cost\n" + b"\n" * 1_100_000)

    with pytest.raises(sheets.SheetRefused, match="Take out its empty rows"):
        sheets.sample(path, sheets.guess_reading(path, "t.csv"))
