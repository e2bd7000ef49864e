"""Changes by hand: taken where policy leaves it open, refused where section 7 does, and never a broken rule."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from quoting import sizing as package
from quoting.sizing.appraise import appraise, wiring_of
from quoting.sizing.brief import Brief, read
from quoting.sizing.brief_wiring import HandChange
from quoting.sizing.circuits import Wiring
from quoting.sizing.hand import try_change
from quoting.sizing.needs import BatteryNeed
from quoting.sizing.runs_hand import CHANGEABLE
from quoting.wording.hand import REFUSED, refused_words
from tests.quoting.sizing.systems_case import caravan, coupling, truck
from tests.quoting.sizing.test_circuits import faults_of, wired
from tests.quoting.sizing.wiring_case import case
from tests.quoting.sizing.worded import assert_worded

sizing = Path(package.__file__).parent
NOT_CODES = {"warning"}
WHY = "as the owner's own cable runs"
SUN = {"ghi_kwh_m2_day": [4.0] * 12}


def changed(*changes: dict[str, Any], body: str = "unknown", **policy: Any) -> Wiring:
    raw = case()
    raw["changes"] = [{"reason": WHY, "by": "Orla Penn", **one} for one in changes]
    raw["vehicle"]["body"] = body
    raw["policy"] = policy
    return wired(raw)


def circuit(wiring: Wiring, key: str):
    return next(c for c in wiring.circuits if c.key == key)


def refused(wiring: Wiring) -> list[tuple[str, str]]:
    return [(r.field, r.code) for r in wiring.refused]


TAKEN = (
    ("load:fridge", {"area_mm2": 6.0}, {"area_mm2": 4.0}),
    ("load:fridge", {"area_mm2": 2.5, "drop_limit_ratio": 0.06}, {"area_mm2": 4.0, "drop_limit_ratio": 0.03}),
    ("load:fridge", {"run_m": 9.0}, {"run_m": 3.0}),
    ("load:fridge", {"form": "breaker"}, {"form": "breaker"}),
    ("engine_feed", {"rating_a": 100.0}, {"rating_a": 80.0}),
    ("battery_main", {"run_m": 0.8}, {"run_m": 0.5}),
)


@pytest.mark.parametrize(("key", "values", "before"), TAKEN)
def test_what_policy_leaves_open_is_taken_with_value_before_after_and_reason(key, values, before):
    wiring = changed({"circuit": key, **values})
    now = circuit(wiring, key)

    assert wiring.refused == ()
    assert {c.field: c.after for c in now.changed} == values
    assert {c.field: c.before for c in now.changed} == before
    assert {(c.reason, c.by) for c in now.changed} == {(WHY, "Orla Penn")}
    assert all(not c.changed for c in wiring.circuits if c.key != key)


def test_a_conductor_that_a_person_chose_says_so_and_the_rest_follows_from_it():
    plain, wiring = circuit(wired(), "load:fridge"), changed({"circuit": "load:fridge", "area_mm2": 6.0})
    now = circuit(wiring, "load:fridge")

    assert (now.area_mm2, now.decided_by, now.conductor, now.negative) == (6.0, "hand", "cable_6_red", "cable_6_black")
    assert now.drop_v < plain.drop_v
    assert now.ampacity_a > plain.ampacity_a
    assert now.fault_end_a > plain.fault_end_a


def test_a_larger_device_takes_a_larger_conductor_with_it():
    now = circuit(changed({"circuit": "load:control", "rating_a": 30.0}), "load:control")

    assert now.devices[0].rating_a == 30.0
    assert now.ampacity_a >= 30.0


NEVER = (
    ("load:fridge", {"rating_a": 40.0, "area_mm2": 2.5, "drop_limit_ratio": 0.1}, "rating_a", "device_over_cable"),
    ("load:fridge", {"area_mm2": 2.5}, "area_mm2", "drop"),
    ("load:fridge", {"rating_a": 3.0}, "rating_a", "under_current"),
    ("load:fridge", {"area_mm2": 3.0}, "area_mm2", "cable_not_in_catalogue"),
    ("load:fridge", {"rating_a": 12.0}, "rating_a", "device_not_in_catalogue"),
    ("load:fridge", {"rating_a": 20.0, "form": "fuse"}, "rating_a", "breaking"),
    ("load:fridge", {"return_by": "chassis"}, "return_by", "return_not_allowed"),
    ("solar_array_1", {"rating_a": 20.0}, "rating_a", "maker_maximum"),
    ("battery_main", {"rating_a": 400.0, "area_mm2": 120.0}, "rating_a", "device_over_cable"),
    ("engine_feed", {"area_mm2": 2.5, "drop_limit_ratio": 0.15}, "area_mm2", "ampacity"),
)


@pytest.mark.parametrize(("key", "values", "field", "code"), NEVER)
def test_what_section_7_says_nothing_overrides_is_refused_and_the_circuit_stands(key, values, field, code):
    wiring = changed({"circuit": key, **values})

    assert refused(wiring) == [(field, code)]
    assert circuit(wiring, key) == circuit(wired(), key)
    told = [f for f in wiring.findings if f.code == "change_refused"]
    assert [(f.level, f.subject, f.params["rule"]) for f in told] == [("warning", circuit(wiring, key).tag, code)]


def test_a_refusal_says_rule_and_numbers():
    """D: 2.5 mm² at 50 °C carries 35 A x sqrt(55/75) by 33 CFR table 5 at 14 AWG (P): 30.0 A."""
    wiring = changed({"circuit": "load:fridge", "rating_a": 40.0, "area_mm2": 2.5, "drop_limit_ratio": 0.1})

    said = refused_words(wiring.refused[0]).replace("\u00a0", " ")
    assert said == "A device of 40 A on a conductor that carries 30 A where it lies."


@pytest.mark.parametrize("key", ["load:gone", "negative_bond"])
def test_a_circuit_that_is_not_there_or_has_nothing_to_settle_is_said(key):
    wiring = changed({"circuit": key, "run_m": 3.0})

    assert [r.code for r in wiring.refused] == ["no_such_circuit" if key == "load:gone" else "not_changeable"]


def test_no_drop_limit_takes_an_appliance_under_its_lowest_voltage():
    raw = case()
    raw["loads"][0]["min_voltage_v"] = 11.4
    raw["changes"] = [{"circuit": "load:fridge", "area_mm2": 1.5, "drop_limit_ratio": 0.15, "reason": WHY}]
    wiring = wired(raw)

    assert refused(wiring) == [("area_mm2", "cutout")]
    assert wiring.refused[0].params["limit_v"] == pytest.approx(11.7)


def test_a_device_under_the_policy_s_margin_is_kept_and_said():
    """1.5 x the current is asked by policy; the heat leaves 0.8 of a rating, so 1.25 x is what nothing overrides."""
    wiring = changed({"circuit": "engine_feed", "rating_a": 80.0}, fuse_continuous_ratio=1.6)

    assert wiring.refused == ()
    assert circuit(wiring, "engine_feed").devices[0].rating_a == 80.0
    told = next(f for f in wiring.findings if f.code == "device_under_margin")
    assert told.level == "info"
    assert told.params["margin_a"] == pytest.approx(1.6 * circuit(wiring, "engine_feed").current_a, abs=0.01)


def test_one_lead_of_batteries_side_by_side_that_is_unlike_the_others_is_warned_of():
    raw = case()
    one = {**raw, "changes": [{"circuit": "battery_lead_1", "run_m": 1.5, "reason": WHY}]}
    every = [{"circuit": f"battery_lead_{i}", "run_m": 1.5, "reason": WHY} for i in (1, 2)]

    def told(brief: dict[str, Any]) -> list[str]:
        found = wired(brief, battery=BatteryNeed({"lifepo4": 400.0}, 140.0, 170.0, 1.0))
        assert found.refused == ()
        assert sum(c.key.startswith("battery_lead") for c in found.circuits) == 2
        return [f.level for f in found.findings if f.code == "leads_unequal"]

    assert (told(raw), told(one), told({**raw, "changes": every})) == ([], ["warning"], [])


# what a part's maker states


def stated(part: str, *changes: dict[str, Any], **limits: float) -> Wiring:
    raw = case()
    next(p for p in raw["catalogue"] if p["key"] == part)["spec"] |= limits
    raw["changes"] = [{**change, "reason": WHY} for change in changes]
    return wired(raw)


@pytest.mark.parametrize(
    ("part", "key"),
    [
        ("pellow_2000", "inverter_feed"),
        ("corrie_mains_30", "mains_output_U3"),
        ("harrowell_mppt_30", "controller_output_U2"),
    ],
)
def test_the_maker_s_largest_and_smallest_device_win(part, key):
    plain = circuit(wired(), key)
    rating = plain.devices[0].rating_a
    more = circuit(stated(part, min_device_a=rating + 1), key)

    assert all(d.rating_a > rating for d in more.devices)
    assert more.ampacity_a >= more.devices[0].rating_a
    assert next(s.value for s in more.steps if s.code == "maker_minimum") == rating + 1
    assert circuit(stated(part, max_device_a=rating), key).devices == plain.devices
    short = stated(part, max_device_a=rating - 1)
    assert key not in [c.key for c in short.circuits]
    assert [s.need.code for s in short.shortfalls] == ["protecting"]


def test_no_change_by_hand_passes_what_the_maker_states():
    rating = circuit(wired(), "mains_output_U3").devices[0].rating_a
    over = stated("corrie_mains_30", {"circuit": "mains_output_U3", "rating_a": 80.0}, max_device_a=rating)
    under = stated("corrie_mains_30", {"circuit": "mains_output_U3", "rating_a": rating}, min_device_a=60.0)

    assert refused(over) == [("rating_a", "maker_maximum")]
    assert refused(under) == [("rating_a", "maker_minimum")]
    assert circuit(under, "mains_output_U3").devices[0].rating_a >= 60


# return through the body


def test_a_body_of_steel_may_be_the_return_where_policy_allows_and_its_resistance_is_counted():
    wiring = changed(
        {"circuit": "load:fridge", "return_by": "chassis"}, body="steel", chassis_return_allowed=True, chassis_ohm=0.02
    )
    now = circuit(wiring, "load:fridge")
    sums = {s.code: s.value for s in now.steps}

    assert wiring.refused == ()
    assert (now.return_by, now.negative) == ("chassis", "")
    # one conductor, and 20 mOhm of body
    assert sums["feed_length"] == now.run_m
    assert sums["chassis_drop"] == pytest.approx(0.02 * now.current_a, abs=1e-4)
    assert sums["total_drop"] == pytest.approx(
        sums["conductor_drop"] + sums["joints_drop"] + sums["chassis_drop"] + sums["feeders_drop"]
    )


@pytest.mark.parametrize(
    ("key", "body", "code"),
    [
        ("load:fridge", "aluminium", "return_body"),
        ("load:fridge", "composite", "return_body"),
        ("load:fridge", "unknown", "return_body"),
        ("battery_main", "steel", "return_of_feed"),
        ("engine_feed", "steel", "return_of_feed"),
        ("inverter_feed", "steel", "return_of_feed"),
        ("feed_W3", "steel", "return_of_feed"),
    ],
)
def test_no_feed_and_no_other_body_returns_current(key, body, code):
    wiring = changed({"circuit": key, "return_by": "chassis"}, body=body, chassis_return_allowed=True)

    assert refused(wiring) == [("return_by", code)]
    assert circuit(wiring, key).return_by == "conductor"


def test_no_current_returns_through_a_towball():
    raw = case()
    raw["vehicle"]["body"] = raw["vehicle"]["trailer_body"] = "steel"
    raw["vehicle"]["positions"] += [
        {"key": "towbar", "name": "Tow bar", "ambient_c": 50},
        {"key": "drawbar", "name": "Drawbar", "ambient_c": 50, "on_trailer": True},
        {"key": "trailer", "name": "Trailer", "ambient_c": 50, "on_trailer": True},
    ]
    raw["vehicle"]["runs"] += [
        {"a": "canopy", "b": "towbar", "length_m": 1.0},
        {"a": "drawbar", "b": "trailer", "length_m": 1.0},
    ]
    raw["vehicle"]["hitch"] = {"tow": "towbar", "trailer": "drawbar", "length_m": 1.0}
    raw["loads"][3] |= {"position": "trailer", "start_multiple": 1.0, "start_s": 0.0}
    raw["policy"] = {"chassis_return_allowed": True}
    raw["changes"] = [{"circuit": "load:pump", "return_by": "chassis", "reason": WHY}]

    assert refused(wired(raw)) == [("return_by", "return_over_hitch")]


@pytest.mark.parametrize("place", ["battery", "board"])
def test_the_body_is_no_return_where_the_bond_is_on_the_other_side_of_the_hitch(place):
    """Board and load lie on one side and nothing of their circuit crosses: the body's current would, by the towball."""
    raw = caravan()
    raw["vehicle"]["body"] = raw["vehicle"]["trailer_body"] = "steel"
    raw["vehicle"]["places"] |= {"battery": "bench", "board": "bench"} | {place: "cab"}
    raw["loads"] = [raw["loads"][3] | {"position": raw["vehicle"]["places"]["board"], "start_multiple": 1.0}]
    raw["catalogue"].append(coupling("brindle_wide", 6, 300, 300, pin_ohm=0.0001, largest_mm2=120))
    raw["policy"] = {"chassis_return_allowed": True}
    raw["changes"] = [{"circuit": "load:pump", "return_by": "chassis", "reason": WHY}]

    wiring = wired(raw)

    assert not circuit(wiring, "load:pump").crosses_hitch
    assert refused(wiring) == [("return_by", "return_over_hitch")]


@pytest.mark.parametrize("isolated", [False, True])
def test_behind_a_converter_that_parts_the_negatives_the_body_is_no_return(isolated):
    raw = truck()
    next(p for p in raw["catalogue"] if p["kind"] == "voltage_converter")["spec"]["isolated"] = isolated
    key = next(c.key for c in appraise(read(raw)).circuits if c.name == "Lights")
    raw["vehicle"]["body"] = "steel"
    raw["policy"] = {"chassis_return_allowed": True}
    raw["changes"] = [{"circuit": key, "return_by": "chassis", "reason": WHY}]
    made = appraise(read(raw))

    assert [r.code for r in made.refused] == (["return_not_bonded"] if isolated else [])


def test_the_bond_carries_what_returns_through_the_body():
    """Its conductor carries the devices of all such circuits together, by the same tables as every conductor."""
    keys = ("load:fridge", "load:pump", "load:Rear", "load:control")
    raw = case()
    raw["vehicle"]["body"] = "steel"
    raw["policy"] = {"chassis_return_allowed": True}
    plain = wired(raw)
    raw["changes"] = [
        {"circuit": key, "return_by": "chassis", "rating_a": 30.0, "reason": WHY} for key in keys
    ]  # fmt: skip
    wiring = wired(raw)
    bond = circuit(wiring, "negative_bond")
    own = [circuit(wiring, key) for key in keys]

    assert refused(wiring) == []
    assert circuit(plain, "negative_bond").current_a == 0
    assert bond.current_a == pytest.approx(sum(c.current_a for c in own), abs=0.01)
    assert bond.ampacity_a >= sum(c.devices[0].rating_a for c in own) == 120


# trying one before it is kept


@pytest.fixture(scope="module")
def brief() -> Brief:
    raw = case()
    raw["trip"][0]["site"] |= SUN
    return read(raw)


def change(circuit: str, **values: Any) -> HandChange:
    return HandChange(circuit=circuit, reason=WHY, **values)


def test_a_change_is_tried_without_being_kept(brief):
    assert try_change(brief, change("load:fridge", area_mm2=6.0)) == ()
    assert [r.code for r in try_change(brief, change("load:fridge", rating_a=40.0, area_mm2=1.5))] == [
        "device_over_cable"
    ]
    assert brief.changes == ()


def test_a_change_takes_the_place_of_an_earlier_one_for_its_circuit(brief):
    earlier = brief.model_copy(update={"changes": (change("load:fridge", rating_a=40.0, area_mm2=1.5),)})

    assert try_change(earlier, change("load:fridge", area_mm2=6.0)) == ()


def test_a_change_that_leaves_a_part_lacking_is_refused_before_it_is_kept(brief):
    """The device stands before a switched output, whose limit must not be under its rating."""
    found = try_change(brief, change("load:fridge", rating_a=40.0))

    assert [r.code for r in found] == ["leaves_short"]
    assert "C2 Refrigerator" in refused_words(found[0])


def test_what_is_tried_is_what_the_design_does(brief):
    for key, values, _field, code in NEVER:
        made = wiring_of(brief.model_copy(update={"changes": (change(key, **values),)}))
        assert [r.code for r in made.refused] == [code], key


def test_an_appraisal_carries_changes_and_refusals_in_words(brief):
    tried = brief.model_copy(
        update={"changes": (change("load:fridge", area_mm2=6.0), change("load:pump", rating_a=40.0, area_mm2=1.5))}
    )
    made = appraise(tried)

    assert [c.key for c in made.circuits if c.changed] == ["load:fridge"]
    assert [r.circuit for r in made.refused] == ["load:pump"]
    assert_worded(made)
    assert faults_of(tried, wiring_of(tried)) == []


def test_every_code_of_a_refusal_has_its_words():
    """Rules are named where a run is refused; those of a trial are the rules that decide a conductor."""
    said = {"ampacity", "isolator", "drop", "cutout", "adiabatic", "disconnection", "pins", "not_possible"}
    files = (sizing / f"{name}.py" for name in ("runs_refused", "runs_existing", "runs_hand", "told", "hand"))
    for text in (file.read_text() for file in files):
        said |= set(re.findall(r'refused\(\s*ask, "(\w+)"', text))
        said |= set(re.findall(r'(?:return|code =|change,|else) "(\w+)"', text)) - NOT_CODES

    assert said <= set(REFUSED)
    assert len(said) > 25
    assert set(CHANGEABLE) == set(HandChange.model_fields) - {"circuit", "reason", "by"}
