"""How many wrong inputs are held against the program: entries of forms, tables brought in, archives."""

from __future__ import annotations

from tests.catalog import bad_sheets
from tests.quoting.archive.test_archive import WRONG as ARCHIVES
from tests.test_wrong_entries import ENTRIES


def test_the_corpus_of_wrong_inputs_has_a_hundred_and_more():
    tables = [name for name, *_ in (*bad_sheets.REFUSED, *bad_sheets.WRONG)]

    assert len(set(tables)) == len(tables)
    assert len(ENTRIES) + len(tables) + len(ARCHIVES) >= 100
    assert len(tables) >= 50
