"""The reference table: every row holds, and there are enough of them over enough topics."""

import pytest

from tests.reference.table import Check, collect

ROWS = collect()
TOPICS = {
    "sun": {"above the air", "clear sky", "hour shape", "clear and grey days", "days in sequence", "daylight"},
    "array": {"cell", "array", "cold voltage", "losses", "shade", "tilted", "chain"},
    "places": {"estimated places", "files"},
    "battery": {"rate", "two wells", "temperature", "bank", "voltage", "voltage under load", "resistance", "cut-out"},
    "charging": {"charge time", "set-point", "alternator", "mains", "crank", "cold cells"},
    "keeping": {"life", "sleeping", "ventilation", "heat"},
    "loads": {"refrigeration", "inverter", "converter"},
    "conductors": {"gauge", "conductor resistance", "ampacity", "ampacity of a second body", "ambient factor",
                   "bundling", "voltage drop", "drop by handbook", "drop table of a second body", "conduit fill"},
    "protection": {"cable withstand", "device rating", "short circuit", "time-current", "trailer coupling",
                   "solar factors", "bond"},
    "money": {"tax"},
}  # fmt: skip
"""What the sizing must be held to; the stand-alone worksheet and a year of battery energy are tests of their own."""


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_row_holds(row: Check) -> None:
    assert row.ours() == pytest.approx(row.value, rel=row.within)


@pytest.mark.parametrize("part", TOPICS)
def test_every_topic_is_held_to_something_outside(part: str) -> None:
    assert TOPICS[part] - {row.topic for row in ROWS} == set()


def test_no_topic_is_left_out_of_the_list() -> None:
    assert {row.topic for row in ROWS} - set().union(*TOPICS.values()) == set()


def test_there_are_enough_rows_from_outside() -> None:
    assert len(ROWS) >= 30
    assert len([row for row in ROWS if row.mark in ("P", "L")]) >= 10
    assert {row.mark for row in ROWS} <= {"P", "L", "M", "D", "C"}
    assert all(row.source for row in ROWS)
    assert len({str(row) for row in ROWS}) == len(ROWS), "two rows check the same thing"
