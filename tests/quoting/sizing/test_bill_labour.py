"""Labour of a design: the operation of each part, and how a workshop books it that has no time for some of them."""

from __future__ import annotations

import pytest

from catalog.library import LABOUR
from quoting.sizing.appraisal import BillLine
from quoting.sizing.bill_labour import FITTING, INSTEAD, WITHIN, booked, with_stand_ins
from quoting.wording.rules_labour import LABOUR_RULE
from tests.quoting.sizing.many_circuits import many_made

BEFORE = {
    "survey", "fit_battery", "fit_charger", "fit_panel", "fit_inverter", "run_cable_m", "terminate", "fit_device",
    "fit_board", "program_settings", "test_and_handover", "licensed_ac", "check_kept_part",
}  # fmt: skip
"""Operations that a bill booked before there were others."""


def line(code: str, quantity: float) -> BillLine:
    return BillLine(group="labour", labour=code, name=code, quantity=quantity, unit="each", rule=f"labour_{code}")


def labour(circuits: int = 20, **more: object) -> dict[str, float]:
    return {b.labour: b.quantity for b in many_made(circuits, **more)[1].bill if b.labour}


def test_every_operation_is_in_the_library_and_stands_in_for_one_of_before() -> None:
    known = {str(entry["code"]) for entry in LABOUR}

    assert set(FITTING.values()) | set(INSTEAD) | set(WITHIN) | BEFORE <= known
    assert set(INSTEAD.values()) | set(WITHIN.values()) <= BEFORE
    assert {code.removeprefix("labour_") for code in LABOUR_RULE} <= known


@pytest.mark.parametrize("system", [{}, {"trailer": True, "senses": 6}, {"volts": 24, "converters": 2}])
def test_a_workshop_of_before_can_book_every_line(system: dict[str, object]) -> None:
    bill = many_made(12, **system)[1].bill

    lines = booked(bill, BEFORE)

    codes = [b.labour for b in lines if b.labour]
    assert set(codes) <= BEFORE
    assert len(codes) == len(set(codes))
    assert [b for b in lines if b.part] == [b for b in bill if b.part]


def test_what_stands_in_is_booked_as_often() -> None:
    lines = booked([line("fit_monitor", 1), line("fit_device", 4), line("test_circuit", 9)], BEFORE | {"fit_converter"})

    # 9 circuits are within "test_and_handover"; the monitor is one more device
    assert [(b.labour, b.quantity, b.rule) for b in lines] == [("fit_device", 5, "labour_fit_device")]


def test_an_operation_that_nothing_stands_in_for_is_left_to_whoever_prices_it() -> None:
    assert [b.labour for b in booked([line("survey", 1)], ())] == ["survey"]


def test_prices_of_a_workshop_are_those_of_what_stands_in() -> None:
    found = with_stand_ins({"fit_charger": "60", "fit_converter": "40"})

    assert (found["fit_multi_charger"], found["fit_converter"]) == ("60", "40")
    assert "fit_monitor" not in found


def test_a_coupling_takes_the_time_of_a_coupling() -> None:
    work = labour(12, trailer=True, senses=6, starter_loads=4)

    assert work.get("fit_high_current_coupling", 0) + work.get("fit_trailer_plug", 0) == 1


def test_more_circuits_take_more_testing() -> None:
    assert labour(20)["test_circuit"] - labour(5)["test_circuit"] == 15
