"""The reference table: every row holds, and there are enough of them over enough topics."""

import pytest

from tests.reference.table import Check, collect

ROWS = collect()


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_row_holds(row: Check) -> None:
    assert row.ours() == pytest.approx(row.value, rel=row.within)


def test_there_are_enough_rows_from_outside() -> None:
    assert len(ROWS) >= 30
    assert len({row.topic for row in ROWS}) >= 7
    assert len([row for row in ROWS if row.mark in ("P", "L")]) >= 10
    assert {row.mark for row in ROWS} <= {"P", "L", "M", "D", "C"}
    assert all(row.source for row in ROWS)
    assert len({str(row) for row in ROWS}) == len(ROWS), "two rows check the same thing"
