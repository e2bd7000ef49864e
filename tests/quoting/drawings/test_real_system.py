"""A system as the sizing really designs it, from Brief to sheet."""

from __future__ import annotations

import pytest

from quoting.drawings import single_line
from quoting.sizing.appraise import appraise
from tests.quoting.sizing import systems_case, wiring_case

from .looking import outside, overlaps, struck, words_of


@pytest.fixture(scope="module")
def appraisal():
    raw = wiring_case.case()
    for stop in raw["trip"]:
        stop["site"]["ghi_kwh_m2_day"] = [4.0] * 12
    return appraise(wiring_case.brief_of(raw))


def test_a_designed_system_is_drawn_whole(appraisal):
    sheets = single_line.sheets(appraisal)

    assert [sheet.unplaced for sheet in sheets] == [()] * len(sheets)
    for sheet in sheets:
        assert (overlaps(sheet.drawing), outside(sheet.drawing), struck(sheet.drawing)) == ([], [], [])
    asked = {each.tag for each in (*appraisal.nodes, *appraisal.circuits)}
    asked |= {device.tag for circuit in appraisal.circuits for device in circuit.devices}
    assert len(asked) > 30
    assert asked - words_of(sheets) == set()


def test_each_circuit_says_its_size_length_and_ratings(appraisal):
    texts = {box.text for sheet in single_line.sheets(appraisal) for box in sheet.texts}

    for circuit in appraisal.circuits:
        size, length = f"{circuit.area_mm2:g}mm²", f"{circuit.run_m:.1f}m"
        named = f"{circuit.tag} {size} {length}"
        assert f"{size} {length}" in texts or named in texts or any(t.endswith(named) for t in texts), circuit.tag
        for device in circuit.devices:
            breaks = f" {device.breaking_a / 1000:g}kA" if device.breaking_a else ""
            assert f"{device.tag} {device.rating_a:g}A{breaks}" in texts


@pytest.mark.parametrize("case", ["truck", "two converters", "caravan"])
def test_converters_and_couplings_are_drawn_in_the_line(case):
    raw = systems_case.caravan() if case == "caravan" else systems_case.truck()
    if case == "two converters":
        raw["catalogue"] = [p for p in raw["catalogue"] if p["key"] != "tarn_20"]
        raw["catalogue"].append(systems_case.converter("tarn_9", 9, 50, peak_a=16))
    found = appraise(systems_case.read(raw))

    sheets = single_line.sheets(found)

    for sheet in sheets:
        assert sheet.unplaced == ()
        assert (overlaps(sheet.drawing), outside(sheet.drawing), struck(sheet.drawing)) == ([], [], [])
    asked = {each.tag for each in (*found.nodes, *found.circuits)}
    asked |= {device.tag for circuit in found.circuits for device in circuit.devices}
    said = words_of(sheets)
    assert asked - said == set()
    assert "drawn" not in said  # nothing is left to the list of what is not drawn as a line
    key = {box.text for sheet in sheets for box in sheet.texts}
    assert ("trailer coupling" in key) == (case == "caravan")
