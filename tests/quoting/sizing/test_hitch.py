"""A tow vehicle and its trailer as one system, hitched and unhitched."""

from __future__ import annotations

import copy

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from quoting.sizing import hitch
from quoting.sizing.appraisal import Appraisal, Circuit
from quoting.sizing.appraise import appraise
from quoting.sizing.errors import SizingError
from quoting.sizing.topology import way
from tests.quoting.sizing.systems_case import caravan, coupling, read
from tests.quoting.sizing.worded import assert_sums_follow, assert_worded

SLOW = settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def feed(found: Appraisal) -> Circuit:
    return next(c for c in found.circuits if c.role == "engine_feed")


def codes(found: Appraisal) -> set[str]:
    return {f.code for f in found.findings}


def towing() -> dict:
    """The same pair with battery, board and charger in the tow vehicle; the loads stay on the trailer."""
    raw = caravan(coupling("brindle_many", 8, 30, 90, form="plug", contacts=20, pin_ohm=0.001))
    places = raw["vehicle"]["places"]
    places |= {"battery": "cab", "board": "cab", "charger": "cab", "inverter": "cab", "inlet": "cab"}
    return raw


@pytest.fixture(scope="module")
def example() -> Appraisal:
    return appraise(read(caravan()))


def test_the_way_over_the_hitch_is_found_and_counted():
    vehicle = read(caravan()).vehicle

    over = way(vehicle, "engine", "bench")

    assert over.positions == ("engine", "towbar", "drawbar", "bench")
    assert over.run_m == pytest.approx(6.0 + 1.5 + 2.5)
    assert (over.crossings, way(vehicle, "bench", "rear").crossings) == (1, 0)


def test_the_engine_feed_takes_the_cheapest_coupling_that_carries_current_and_device(example):
    (chosen,) = [c for c in example.chosen if c.role == "coupling"]
    line = feed(example)

    assert chosen.part == "brindle_50"  # the plug of 20 A is cheaper and too small
    assert (line.crosses_hitch, line.pin_pairs, line.pins_a) == (True, 1, 50)
    assert line.current_a <= line.pins_a
    assert all(d.rating_a <= line.pins_a for d in line.devices)
    assert {d.end for d in line.devices} == {"source", "load"}  # a battery on each side
    assert [c.tag for c in example.circuits if c.crosses_hitch] == [line.tag]
    assert_worded(example)
    assert_sums_follow(example)


def test_the_pins_contacts_are_in_the_drop(example):
    line = feed(example)

    # two contacts of 0.4 mΩ  [D]
    assert line.coupling_v == pytest.approx(line.current_a * 2 * 0.0004, abs=1e-4)
    steps = {s.code: s.value for s in line.steps}
    lost = steps["conductor_drop"] + steps["joints_drop"] + steps["coupling_drop"]
    assert line.drop_v == pytest.approx(lost, abs=1e-3)


def test_the_drop_over_the_coupling_is_a_reading(example):
    line = feed(example)
    (reading,) = [e for e in example.expectations if e.code == "coupling_drop"]

    assert reading.maximum == pytest.approx(max(1.1 * line.coupling_v, 0.02), abs=0.001)
    assert (reading.key, reading.safety) == (f"coupling_drop:{line.tag}", True)


def test_a_coupling_that_is_named_but_too_small_is_refused_with_both_numbers():
    raw = caravan()
    raw["vehicle"]["hitch"]["coupling"] = "brindle_plug"

    found = appraise(read(raw))

    (lack,) = [s for s in found.shortfalls if s.need.code == "coupling"]
    assert (lack.code, lack.params["best_value"]) == ("too_small", 20.0)
    assert lack.params["asked"] > 30
    assert all(c.role != "engine_feed" for c in found.circuits)
    assert_worded(found)


def test_a_conductor_thicker_than_the_contacts_take_is_said(example):
    line = feed(example)

    told = [f for f in example.findings if f.code == "coupling_takes_less"]

    assert line.area_mm2 > 16  # what a contact of the chosen one takes
    assert [(f.subject, f.params["largest_mm2"]) for f in told] == [(line.tag, 16.0)]


def test_pairs_of_pins_side_by_side_share_the_current():
    raw = caravan(coupling("brindle_four", 4, 20, 30, form="plug", pin_ohm=0.002))
    raw["vehicle"]["hitch"]["coupling"] = "brindle_four"

    line = feed(appraise(read(raw)))

    assert (line.pin_pairs, line.pins_a) == (3, 60)
    assert line.coupling_v == pytest.approx(line.current_a * 2 * 0.002 / 3, abs=1e-4)


def test_without_a_coupling_in_the_catalogue_the_need_is_a_shortfall():
    raw = caravan()
    raw["catalogue"] = [p for p in raw["catalogue"] if p["kind"] != "trailer_coupling"]

    found = appraise(read(raw))

    assert [s.code for s in found.shortfalls if s.need.code == "coupling"] == ["none_of_kind"]
    assert feed(found).crosses_hitch
    assert_worded(found)


def test_when_unhitched_the_engine_gives_a_trailer_battery_nothing(example):
    hitched, alone = example.stops

    assert hitched.engine_wh > 100
    assert alone.engine_wh == 0
    assert alone.load_wh == pytest.approx(hitched.load_wh, rel=0.01)
    (said,) = [f for f in example.findings if f.code == "unhitched_no_engine"]
    assert (said.level, said.subject) == ("warning", "stop:1")
    assert [(d.what, d.key) for d in example.dead_unhitched] == [("source", "engine")]


def test_charging_over_the_hitch_opens_with_the_engine_off(example):
    assert "hitch_opens_engine_off" in codes(example)
    raw = caravan()
    raw["loads"][1] |= {"bus": "starter", "circuit": None}

    found = appraise(read(raw))

    assert [f.subject for f in found.findings if f.code == "starter_load_over_hitch"] == ["lights"]
    assert_worded(found)


def test_with_the_battery_in_the_tow_vehicle_the_trailers_loads_are_dead_alone():
    found = appraise(read(towing()))

    dead = {d.key for d in found.dead_unhitched if d.what == "load"}
    assert dead == {"fridge", "lights", "fan", "pump", "kettle"}
    assert {d.key for d in found.dead_unhitched if d.what == "source"} == {"sun"}
    hitched, alone = found.stops
    assert alone.engine_wh == pytest.approx(hitched.engine_wh)
    assert alone.sun_wh == 0
    assert alone.load_wh < hitched.load_wh / 1.5
    (said,) = [f for f in found.findings if f.code == "unhitched_essential_dead"]
    assert (said.level, said.subject) == ("warning", "fridge")
    assert_worded(found)
    assert_sums_follow(found)


def test_circuits_to_the_trailer_share_the_pins_of_one_coupling():
    found = appraise(read(towing()))
    over = [c for c in found.circuits if c.crosses_hitch]

    assert {c.name for c in over if c.role == "load"} == {"Refrigerator", "Rear", "Water pump"}
    assert 0 < sum(c.pin_pairs for c in over) <= 8
    for c in over:
        assert c.current_a <= (c.pins_a or 0)
        assert all(d.rating_a <= (c.pins_a or 0) for d in c.devices if d.what in ("fuse", "breaker"))


def test_circuits_keep_their_size_when_every_stop_is_unhitched():
    always, never = towing(), towing()
    for stop in always["trip"]:
        stop["hitched"] = True
    for stop in never["trip"]:
        stop["hitched"] = False

    sizes = [
        {c.name: (c.current_a, c.area_mm2) for c in appraise(read(raw)).circuits if c.role == "load"}
        for raw in (always, never)
    ]

    assert sizes[0] == sizes[1]


@pytest.mark.parametrize(("change", "said"), [
    ({"tow": "drawbar"}, "'drawbar' is not a position on the tow vehicle"),
    ({"trailer": "towbar"}, "'towbar' is not a position on the trailer"),
    ({"trailer": "attic"}, "'attic' is not a position"),
    ({"length_m": 40.0}, "at most 15 m"),
])  # fmt: skip
def test_a_hitch_that_cannot_be_is_refused(change, said):
    raw = caravan()
    raw["vehicle"]["hitch"] |= change

    with pytest.raises(SizingError, match=said):
        read(raw)


def test_a_run_over_the_hitch_and_a_coupling_that_does_not_couple_are_refused():
    raw = caravan()
    raw["vehicle"]["runs"].append({"a": "towbar", "b": "drawbar", "length_m": 1.0})
    with pytest.raises(SizingError, match="leads over the hitch"):
        read(raw)

    raw = caravan()
    raw["vehicle"]["hitch"]["coupling"] = "corrie_25"
    with pytest.raises(SizingError, match="no part of the catalogue that couples"):
        appraise(read(raw))


def test_without_a_hitch_the_trailer_is_out_of_reach():
    raw = caravan()
    del raw["vehicle"]["hitch"]

    with pytest.raises(SizingError, match="no cable way from"):
        appraise(read(raw))


def test_hitched_or_not_is_nothing_to_a_vehicle_without_a_trailer():
    raw = caravan()
    raw["vehicle"]["hitch"] = None
    for position in raw["vehicle"]["positions"]:
        position["on_trailer"] = False
    raw["vehicle"]["runs"].append({"a": "towbar", "b": "drawbar", "length_m": 1.5, "bundled": 1})
    apart = copy.deepcopy(raw)
    for stop in raw["trip"]:
        stop["hitched"] = True

    one, other = (appraise(read(x)).model_dump(exclude={"brief_sha256"}) for x in (raw, apart))

    assert one == other


@given(st.floats(0.0001, 0.003), st.floats(0.3, 6))
@SLOW
def test_a_hitch_never_lowers_a_drop(pin_ohm, length_m):
    """The same run with nothing in it, against the hitch with its contacts: by the same conductor and device, more."""
    raw, plain = caravan(), caravan()
    raw["vehicle"]["hitch"]["coupling"] = "brindle_175"
    raw["vehicle"]["hitch"]["length_m"] = length_m
    part = next(p for p in raw["catalogue"] if p["key"] == "brindle_175")
    part["spec"] |= {"pin_ohm": min(pin_ohm, 0.0003)}
    plain["vehicle"] |= {"hitch": None}
    plain["vehicle"]["runs"].append({"a": "towbar", "b": "drawbar", "length_m": length_m, "bundled": 1})
    for position in plain["vehicle"]["positions"]:
        position["on_trailer"] = False

    over, bare = feed(appraise(read(raw))), feed(appraise(read(plain)))

    assert over.run_m == pytest.approx(bare.run_m)
    assert over.area_mm2 >= bare.area_mm2
    same = over.area_mm2 == bare.area_mm2 and over.devices[0].part == bare.devices[0].part
    assert over.drop_v >= bare.drop_v - 1e-6 or not same


@given(st.floats(0, 10), st.floats(0, 24), st.sampled_from(["bench", "cab"]))
@SLOW
def test_unhitched_never_charges_more(driving_h, mains_h, inlet):
    raw = caravan()
    raw["vehicle"]["places"]["inlet"] = inlet
    for stop in raw["trip"]:
        stop |= {"driving_h_per_day": driving_h, "mains_h_per_day": mains_h}

    hitched, alone = appraise(read(raw)).stops

    assert alone.engine_wh <= hitched.engine_wh
    assert alone.mains_wh <= hitched.mains_wh + 1e-9
    assert alone.sun_wh <= hitched.sun_wh + 1e-9


@given(st.floats(0, 400), st.floats(0.0001, 0.05), st.integers(1, 8))
def test_more_pairs_lose_less_and_no_current_loses_nothing(amps, pin_ohm, pairs):
    assert hitch.coupling_drop_v(amps, pin_ohm, pairs) >= hitch.coupling_drop_v(amps, pin_ohm, pairs + 1)
    assert hitch.coupling_drop_v(0, pin_ohm, pairs) == 0
