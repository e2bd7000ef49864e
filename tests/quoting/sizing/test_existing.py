"""What lies in the vehicle already: it stays where it passes every rule, and is replaced, and said why, where not."""

from __future__ import annotations

from typing import Any

import pytest

from quoting.sizing.appraise import appraise
from quoting.sizing.brief import read
from quoting.sizing.circuits import Wiring
from quoting.sizing.runs_existing import class_5_ohm_per_km
from quoting.words import finding_words
from tests.quoting.sizing.systems_case import truck
from tests.quoting.sizing.test_circuits import wired
from tests.quoting.sizing.wiring_case import case
from tests.quoting.sizing.worded import assert_worded

FRIDGE = {
    "circuit": "load:fridge", "name": "Refrigerator, as found", "area_mm2": 6.0, "insulation_c": 105.0, "form": "fuse",
    "series": "blade_c", "rating_a": 10.0, "breaking_a": 2000.0, "max_v": 58.0, "distance_m": 0.1,
    "source": "job 12 as built",
}  # fmt: skip
ENGINE = {
    **FRIDGE, "circuit": "engine_feed", "name": "Engine feed, as found", "area_mm2": 50.0, "series": "bolt_b",
    "rating_a": 80.0, "breaking_a": 3000.0, "both_ends": True,
}  # fmt: skip


def lying(*existing: dict[str, Any], changes: tuple[dict[str, Any], ...] = ()) -> Wiring:
    raw = case()
    raw["existing"], raw["changes"] = list(existing), list(changes)
    return wired(raw)


def circuit(wiring: Wiring, key: str):
    return next(c for c in wiring.circuits if c.key == key)


def replaced(wiring: Wiring) -> list[Any]:
    return [f.params["rule"] for f in wiring.findings if f.code == "existing_replaced"]


@pytest.mark.parametrize("existing", [FRIDGE, ENGINE])
def test_what_passes_every_rule_stays_and_nothing_of_it_is_bought(existing):
    wiring = lying(existing)
    now = circuit(wiring, existing["circuit"])
    devices = [d for d in now.devices if d.what in ("fuse", "breaker")]

    assert (now.stays, now.stays_source, now.decided_by) == (True, "job 12 as built", "existing")
    assert (now.area_mm2, now.conductor, now.negative) == (existing["area_mm2"], "", "")
    assert {(d.stays, d.part, d.rating_a, d.distance_m) for d in devices} == {(True, "", existing["rating_a"], 0.1)}
    assert len(devices) == (2 if existing.get("both_ends") else 1)
    assert replaced(wiring) == []
    assert not [p for p in wiring.pieces if p.circuit == now.tag and not p.stays]


@pytest.mark.parametrize(
    ("base", "change", "rule"),
    [
        (FRIDGE, {"breaking_a": None}, "breaking_unknown"),
        (FRIDGE, {"breaking_a": 500.0}, "breaking"),
        (FRIDGE, {"max_v": None}, "voltage_unknown"),
        (FRIDGE, {"max_v": 12.0}, "voltage"),
        (FRIDGE, {"distance_m": None}, "place_unknown"),
        (FRIDGE, {"distance_m": 1.2}, "place"),
        (FRIDGE, {"area_mm2": 0.5}, "least_area"),
        (FRIDGE, {"area_mm2": 2.5}, "drop"),
        (FRIDGE, {"area_mm2": 2.5, "rating_a": 40.0}, "device_over_cable"),
        (FRIDGE, {"rating_a": 3.0}, "under_current"),
        (ENGINE, {"both_ends": False}, "both_ends"),
        (ENGINE, {"insulation_c": 70.0}, "heat"),
        (ENGINE, {"area_mm2": 10.0}, "ampacity"),
    ],
)
def test_what_fails_a_rule_is_replaced_and_the_rule_is_said(base, change, rule):
    wiring = lying({**base, **change})
    now = circuit(wiring, base["circuit"])

    assert not now.stays
    assert replaced(wiring) == [rule]
    assert now == circuit(wired(), base["circuit"])
    title, sentence = finding_words(next(f for f in wiring.findings if f.code == "existing_replaced"))
    assert now.name in title
    assert sentence.endswith("The circuit is designed new.")
    assert "(" not in sentence.replace("(ISO 10133)", "")


def test_its_resistance_is_that_of_the_next_smaller_size_of_class_5():
    """IEC 60228 class 5: 6 mm² 3.30, 0.5 mm² 39.0 Ω/km (M)."""
    assert [class_5_ohm_per_km(a) for a in (6, 7.5, 300)] == [3.3, 3.3, 0.129]
    assert class_5_ohm_per_km(0.35) == pytest.approx(39.0 * 0.5 / 0.35)


def test_a_measured_length_counts_and_a_limit_settled_by_hand_leaves_it_lying():
    long = lying({**FRIDGE, "run_m": 8.0})
    kept = lying(
        {**FRIDGE, "run_m": 8.0}, changes=({"circuit": "load:fridge", "drop_limit_ratio": 0.08, "reason": "kept"},)
    )

    assert replaced(long) == ["drop"]
    now = circuit(kept, "load:fridge")
    assert (now.stays, now.run_m, now.drop_limit_ratio) == (True, 8.0, 0.08)
    assert [c.field for c in now.changed] == ["drop_limit_ratio"]


def test_other_material_settled_by_hand_takes_its_place():
    wiring = lying(FRIDGE, changes=({"circuit": "load:fridge", "area_mm2": 10.0, "reason": "thicker"},))
    now = circuit(wiring, "load:fridge")

    assert (now.stays, now.area_mm2, now.conductor) == (False, 10.0, "cable_10_red")
    assert replaced(wiring) == ["by_hand"]


def test_an_appraisal_of_an_upgrade_buys_nothing_that_stays_and_says_the_rest_in_words():
    raw = case()
    raw["trip"][0]["site"]["ghi_kwh_m2_day"] = [4.0] * 12
    fresh = appraise(read(raw))
    raw["existing"] = [FRIDGE, ENGINE, {**FRIDGE, "circuit": "load:pump", "breaking_a": None}]
    made = appraise(read(raw))

    assert [c.key for c in made.circuits if c.stays] == ["engine_feed", "load:fridge"]
    assert [f.params["rule"] for f in made.findings if f.code == "existing_replaced"] == ["breaking_unknown"]
    assert_worded(made)
    bought, before = (sum(x.quantity for x in a.bill if x.unit == "m" and x.part) for a in (made, fresh))
    assert bought < before


def test_what_no_circuit_uses_is_said():
    wiring = lying({**FRIDGE, "circuit": "load:gone"})

    assert [(f.code, f.subject) for f in wiring.findings if f.code == "existing_unused"] == [
        ("existing_unused", "load:gone")
    ]


@pytest.mark.parametrize(("form", "series"), [("breaker", "blade_c"), ("fuse", "breaker")])
def test_a_device_opens_by_the_times_of_its_own_form_whatever_series_is_said(form, series):
    """A breaker lets a large fault through for 20 ms (C), a blade link for far less: no name makes one the other."""
    said = lying({**FRIDGE, "form": form, "series": series, "area_mm2": 10.0})
    honest = lying({**FRIDGE, "form": form, "series": "", "area_mm2": 10.0})

    assert circuit(said, "load:fridge") == circuit(honest, "load:fridge")
    assert replaced(said) == replaced(honest)


@pytest.mark.parametrize("ohm_per_km", [0.5, 40.0])
def test_a_resistance_that_no_copper_has_is_not_believed(ohm_per_km):
    """6 mm² is 2.87 Ω/km of pure copper (IEC 60028: 17.241 over the area, D), 3.30 by class 5."""
    assert replaced(lying({**FRIDGE, "ohm_per_km_20c": ohm_per_km})) == ["not_of_copper"]
    assert replaced(lying({**FRIDGE, "ohm_per_km_20c": 3.1})) == []


def test_a_circuit_behind_a_converter_may_stay_too():
    fresh = appraise(read(truck()))
    lights = next(c for c in fresh.circuits if c.name == "Lights")
    raw = truck()
    raw["existing"] = [
        {**FRIDGE, "circuit": lights.key, "area_mm2": lights.area_mm2, "rating_a": lights.devices[0].rating_a}
    ]
    made = appraise(read(raw))

    assert [c.name for c in made.circuits if c.stays] == ["Lights"]
