"""What goes out as a table comes in again as it was: every type, both formats."""

from __future__ import annotations

import pytest

from catalog import services, sheets
from tests.catalog.sheet_files import check_file, write


@pytest.fixture
def full(estimator):
    services.load_starter(estimator)
    return estimator


def test_what_goes_out_comes_in_the_same(full, tmp_path):
    seen = set()
    for type in sheets.types():
        rows = type.rows_for(full).count()
        for format in sheets.FORMATS if rows else ():
            path = write(tmp_path, f"out.{format}", b"".join(sheets.export(type, full, format)))

            plan = check_file(type, path, full)

            assert plan.problems(0, 5) == [], type.code
            assert plan.counts == {"added": 0, "changed": 0, "same": rows, "wrong": 0, "left_out": 0}, type.code
            seen.add(type.code)

    assert len(seen) >= 25
