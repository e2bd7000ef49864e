"""Whatever is brought in: a sentence comes out, and no row is written."""

from __future__ import annotations

from decimal import Decimal
from itertools import product

import pytest

from catalog import services, sheets
from catalog.models import BulkAction, Component, PriceChange
from catalog.models import SearchWord as Word
from tests.catalog.bad_sheets import GOOD, HEADS, HUGE, REFUSED, WRONG, csv_of, with_cell
from tests.catalog.conftest import add_component
from tests.catalog.sheet_files import bring, check_file, table, write

FUSES = "component:fuse"
SPEC = {
    "rating_a": 200.0,
    "breaking_a": 20000.0,
    "series": "class_t",
    "max_v": 125.0,
    "resistance_ohm": 0.0002,
    "min_opening_s_at_2x": 1.0,
}


def add_fuse(name: str, number: str, by) -> Component:
    values = {"name": name, "maker": "Ambry" if number else "", "part_number": number, "cost": Decimal(30)}
    return services.save_component("fuse", SPEC, by=by, mass_kg=0.18, **values)


@pytest.fixture
def stock(estimator):
    """What the bad tables meet."""
    add_fuse("Ambry HF-200", "HF-200", estimator)
    services.retire(add_fuse("Ambry HF-80", "HF-80", estimator), by=estimator)
    add_fuse("Twin", "", estimator)
    add_fuse("Twin", "", estimator)
    add_component("Larkham LF-100", by=estimator)
    return estimator


def counts() -> list[int]:
    return [model.objects.count() for model in (Component, Component.history.model, PriceChange, BulkAction, Word)]


@pytest.mark.parametrize(("what", "name", "content", "words"), REFUSED, ids=[row[0] for row in REFUSED])
def test_a_table_that_is_refused(what, name, content, words, stock, tmp_path):
    before = counts()

    with pytest.raises(sheets.SheetRefused) as refused:
        check_file(sheets.get(FUSES), write(tmp_path, name, content), stock)

    assert words in str(refused.value)
    assert counts() == before


@pytest.mark.parametrize(("what", "name", "content", "problems"), WRONG, ids=[row[0] for row in WRONG])
def test_a_table_with_wrong_cells(what, name, content, problems, stock, tmp_path):
    before = counts()

    plan = check_file(sheets.get(FUSES), write(tmp_path, name, content), stock)

    found = plan.problems(0, 20)
    assert [(one.row, one.column) for one in found] == [(row, column) for row, column, _words in problems]
    for one, (_row, _column, words) in zip(found, problems, strict=True):
        assert words in one.words
    assert plan.wrong == len({one.row for one in found})
    with pytest.raises(sheets.SheetRefused, match="Nothing is saved while a cell is wrong"):
        bring(sheets.get(FUSES), plan, stock)
    assert counts() == before


def test_there_are_enough_bad_tables():
    assert len(REFUSED) + len(WRONG) >= 60


def test_the_good_row_is_good(stock, tmp_path):
    for name, content in (("t.csv", csv_of(GOOD)), ("t.xlsx", HUGE)):
        plan = check_file(sheets.get(FUSES), write(tmp_path, name, content), stock)
        assert plan.problems(0, 3) == []
        assert plan.added == 1


def test_a_guess_of_the_encoding_is_offered_and_never_used(stock, tmp_path):
    row = with_cell("Notes", "für Kühlbox", with_cell("Cold resistance", "0.2 mohm"))
    path = write(tmp_path, "t.csv", csv_of(row).decode().encode("cp1252"))
    reading = sheets.guess_reading(path, path.name)

    assert (reading["encoding"], reading["offered"]) == ("", "windows-1252")
    with pytest.raises(sheets.SheetRefused, match="is not UTF-8"):
        sheets.heads(path, reading)
    plan = check_file(sheets.get(FUSES), path, stock, encoding="windows-1252")
    bring(sheets.get(FUSES), plan, stock)
    assert Component.objects.get(part_number="HF-100").notes == "für Kühlbox"


def test_encodings_and_delimiters_are_seen(estimator, tmp_path):
    type = sheets.get(FUSES)
    for encoding, delimiter in product(("utf-8", "utf-8-sig", "utf-16-le", "utf-16-be"), sheets.DELIMITERS):
        text = table(HEADS, with_cell("Notes", 'one "two"; three, four\tfive|six\nseven'), delimiter=delimiter)
        mark = "\ufeff" if "16" in encoding else ""
        path = write(tmp_path, "t.csv", (mark + text).encode(encoding))

        reading = sheets.guess_reading(path, path.name)
        plan = check_file(type, path, estimator)

        assert reading["delimiter"] == delimiter
        assert sheets.heads(path, reading) == list(HEADS)
        assert plan.problems(0, 3) == []
        assert next(plan.entries())["after"]["notes"] == 'one "two"; three, four\tfive|six\nseven'
