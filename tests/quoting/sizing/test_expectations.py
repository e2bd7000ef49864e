"""Readings: each computed from the design, in the order of the sheet, with words for every one."""

from __future__ import annotations

from typing import Any

import pytest

from quoting.sizing.appraisal import Circuit, Expectation
from quoting.sizing.choice import choose
from quoting.sizing.circuits import design_circuits
from quoting.sizing.expectations import expect
from quoting.sizing.trace import Figure
from quoting.wording.findings_wiring import FINDING_WIRING
from quoting.wording.questions import QUESTION
from quoting.wording.readings import READING
from quoting.wording.steps import STEP
from tests.quoting.sizing.wiring_case import brief_of, case, loads, needs


def expected(raw: dict[str, Any] | None = None, figures: dict[str, Figure] | None = None, **change: Any):
    brief, asked = brief_of(raw), needs(**change)
    choice = choose(brief, asked)
    wiring = design_circuits(brief, choice, loads(brief), asked)
    return {e.key: e for e in expect(brief, choice, wiring, figures or {})}, wiring


def circuit(wiring: Any, role: str) -> Circuit:
    return next(c for c in wiring.circuits if c.role == role)


def test_the_sheet_is_in_its_order_and_has_no_key_twice() -> None:
    found, wiring = expected()
    groups = [e.group for e in found.values()]
    order = ["vehicle", "drop", "circuits", "sources", "mains"]

    assert sorted(groups, key=order.index) == groups
    assert set(groups) == set(order)
    brief, asked = brief_of(), needs()
    choice = choose(brief, asked)
    assert len(expect(brief, choice, wiring, {})) == len(found)


def test_positive_and_negative_together_are_the_circuits_drop_and_a_tenth() -> None:
    found, wiring = expected()

    for c in wiring.circuits:
        if c.role in ("battery_main", "engine_feed", "inverter_feed"):
            both = found[f"drop_positive:{c.tag}"].maximum + found[f"drop_negative:{c.tag}"].maximum
            assert both == pytest.approx(1.1 * c.drop_v, abs=0.002)
            assert found[f"drop_positive:{c.tag}"].maximum > found[f"drop_negative:{c.tag}"].maximum


def test_every_appliance_circuit_is_read_under_load() -> None:
    found, wiring = expected()
    tags = [c.tag for c in wiring.circuits if c.role == "load"]

    assert [k.split(":")[1] for k in found if k.startswith("circuit_positive")] == tags


def test_every_device_is_counted() -> None:
    found, wiring = expected()
    devices = sum(d.what != "channel" for c in wiring.circuits for d in c.devices)

    assert found["devices_seen"].minimum == found["devices_seen"].maximum == devices


def test_sources_are_held_to_what_they_were_set_to() -> None:
    full, _ = expected()
    held, _ = expected(engine_a=45.0, engine_most_a=33.0)  # set to 30 A

    assert (full["engine_output_a"].minimum, full["engine_output_a"].maximum) == (38.0, 42.0)
    assert (held["engine_output_a"].minimum, held["engine_output_a"].maximum) == (28.5, 31.5)
    # 2 × 120 W at 800 W/m²: 65 to 110 % of 192 W
    assert (full["solar_w"].minimum, full["solar_w"].maximum) == (124.8, 211.2)
    # 13.2 V measured, smart: half a volt under it
    assert full["starter_charging_v"].minimum == 12.7


def test_heat_lowers_the_least_output_that_is_expected() -> None:
    figure = Figure(code="engine.output_a", value=32.0, unit="A")
    hot, _ = expected(figures={"engine.output_a": figure})

    assert (hot["engine_output_a"].minimum, hot["engine_output_a"].maximum) == (30.4, 42.0)


def test_sleeping_draw_follows_the_survey() -> None:
    raw = case()
    raw["vehicle"]["standing_draw_a"] = 0.06

    assert expected()[0]["sleeping_vehicle_a"].maximum == 0.05
    assert expected(raw)[0]["sleeping_vehicle_a"].maximum == pytest.approx(0.072)
    assert expected()[0]["sleeping_added_a"].maximum == 0.005


def test_the_licensed_persons_readings_are_marked_and_of_the_standard() -> None:
    found, _ = expected()
    mains = [e for e in found.values() if e.group == "mains"]

    assert all(e.licensed and e.safety for e in mains)
    assert not [e for e in found.values() if e.licensed and e.group != "mains"]
    # IEC 61008-1: 300 ms at the rated residual current, 40 ms at five times, for two devices at 0° and 180°
    trips = {(e.params["device"], e.params["times"], e.params["degrees"]): e.maximum for e in mains
             if e.code == "rcd_trip_ms"}  # fmt: skip
    assert trips == {(n, t, d): 300.0 if t == 1 else 40.0 for n in (1, 2) for t in (1, 5) for d in (0, 180)}
    assert found["insulation_mohm"].minimum == 1.0
    assert found["earth_continuity_ohm"].maximum == 0.5


def test_without_an_ac_side_nobody_is_asked_to_measure_it() -> None:
    found, wiring = expected(mains_a=None, inverter=None)

    assert wiring.questions == ()
    assert not [e for e in found.values() if e.group == "mains"]


def test_shedding_is_seen_only_where_something_sheds() -> None:
    raw = case()
    del raw["loads"][0]["shed_below_ratio"]

    assert expected()[0]["shedding"].params["levels"] == "20"
    assert "shedding" not in expected(raw)[0]


def test_a_24_v_vehicle_cranks_at_twice_the_volts() -> None:
    raw = case()
    raw["vehicle"] = {**raw["vehicle"], "nominal_v": 24, "hot_idle_v": 27.0}
    raw["wishes"] = {"system_v": 24}

    assert expected(raw, engine_a=None, inverter=None, mains_a=None)[0]["cranking_v"].minimum == 19.2


def test_safety_readings_hold_up_delivery() -> None:
    found, wiring = expected()
    tag = circuit(wiring, "battery_main").tag
    safety = {k for k, e in found.items() if e.safety and not e.licensed}

    assert {
        "fault_codes",
        "devices_seen",
        "hot_spot_k",
        "protection_wakes",
        "isolator",
        f"drop_positive:{tag}",
    } <= safety
    assert isinstance(found["devices_seen"], Expectation)


def test_every_code_has_its_words() -> None:
    found, wiring = expected()

    assert {e.code for e in found.values()} <= set(READING)
    assert set(wiring.questions) <= set(QUESTION)
    assert {s.code for c in wiring.circuits for s in c.steps} <= set(STEP)
    assert all(title and sentence for title, sentence in FINDING_WIRING.values())
