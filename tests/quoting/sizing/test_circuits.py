"""Circuits: every rule of conductors and protection on whole systems, and what happens when a part is not there."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from catalog.kinds.capabilities import Protecting
from quoting.sizing import circuits_feeds
from quoting.sizing.appraisal import Circuit
from quoting.sizing.appraise import wiring_of
from quoting.sizing.brief import Brief
from quoting.sizing.choice import choose
from quoting.sizing.circuits import Wiring, design_circuits
from quoting.sizing.circuits_ac import AC_QUESTIONS
from quoting.sizing.conductors import ampacity_a
from quoting.sizing.errors import SizingError
from quoting.sizing.needs import BatteryNeed
from quoting.sizing.parts import Catalogue
from quoting.sizing.trace import Finding
from quoting.wording.findings import FINDING
from tests.quoting.sizing.many_circuits import many_made
from tests.quoting.sizing.wagon import wagon
from tests.quoting.sizing.wiring_case import battery, brief_of, case, loads, needs, part, without

BOTH_ENDS = {"engine_feed", "charger_output", "controller_output", "mains_output"}


def wired(raw: dict[str, Any] | None = None, **change: Any) -> Wiring:
    brief = brief_of(raw)
    asked = needs(**change)
    return design_circuits(brief, choose(brief, asked), loads(brief), asked)


def found(wiring: Wiring) -> list[Finding]:
    """Findings but for what is told of every wiring whose devices follow one another closely."""
    return [f for f in wiring.findings if f.code != "not_selective"]


def role(wiring: Wiring, name: str) -> list[Circuit]:
    return [c for c in wiring.circuits if c.role == name]


def named(wiring: Wiring, name: str) -> Circuit:
    return next(c for c in wiring.circuits if c.name == name)


def lengthened(raw: dict[str, Any], a: str, b: str, by: float) -> dict[str, Any]:
    raw = copy.deepcopy(raw)
    for run in raw["vehicle"]["runs"]:
        if (run["a"], run["b"]) == (a, b):
            run["length_m"] *= by
    return raw


def parallel_bank(**spec: Any) -> dict[str, Any]:
    raw = without(case(), "battery")
    raw["catalogue"].append(battery("larkham_100", 600, **spec))
    return raw


def faults_of(brief: Brief, wiring: Wiring) -> list[str]:
    """Every rule that nothing overrides, broken; empty when the wiring is right."""
    parts, bad = Catalogue(brief), []
    for c in wiring.circuits:
        spots = {p.key: p for p in brief.vehicle.positions}
        engine = spots[c.from_position].engine_space or spots[c.to_position].engine_space
        carries = ampacity_a(c.area_mm2, c.insulation_c, c.ambient_c, c.bundled, engine)
        protecting = [d for d in c.devices if d.what in ("fuse", "breaker")]
        for d in protecting:
            if d.rating_a > carries + 0.01:
                bad.append(f"{c.tag}: {d.tag} {d.rating_a} A over its conductor's {carries:.1f} A")
            if c.role != "solar_array" and d.rating_a < brief.policy.fuse_continuous_ratio * c.current_a - 0.01:
                bad.append(f"{c.tag}: {d.tag} under 1.25 times the current")
            if (d.breaking_a or 0) < (brief.policy.unknown_battery_breaking_a if d.fault_a is None else d.fault_a):
                bad.append(f"{c.tag}: {d.tag} does not break {d.fault_a} A")
            if not parts.has(d.part, Protecting):
                bad.append(f"{c.tag}: {d.tag} is not a device")
        ends = {d.end for d in protecting}
        battery_lead = c.role == "battery_main" and c.target == "W4"
        if (c.role in BOTH_ENDS or battery_lead) and ends != {"source", "load"}:
            bad.append(f"{c.tag}: a source at each end, devices at {sorted(ends)}")
        if c.role not in ("negative_bond",) and not protecting:
            bad.append(f"{c.tag}: no device")
        if c.drop_ratio > c.drop_limit_ratio + 1e-6:
            bad.append(f"{c.tag}: drop over its limit")
        if c.clears_s is not None and c.clears_s > 5:
            bad.append(f"{c.tag}: a far-end fault lasts {c.clears_s} s")
        for d in c.devices:
            if d.what == "isolator" and d.rating_a < max((x.rating_a for x in protecting), default=0.0):
                bad.append(f"{c.tag}: {d.tag} is not protected by its device")
        if any(d.distance_m > brief.policy.place_m for d in protecting):
            bad.append(f"{c.tag}: a device too far from its source")
    return bad


def test_the_wagon_is_wired_without_a_fault() -> None:
    wiring = wired()

    assert wiring.shortfalls == ()
    assert found(wiring) == []
    assert faults_of(brief_of(), wiring) == []
    assert [c.role for c in wiring.circuits] == [
        "engine_feed", "solar_array", "solar_array", "charger_output", "controller_output", "mains_output",
        "battery_main", "negative_bond", "distribution", "distribution", "inverter_feed", *(["load"] * 4),
    ]  # fmt: skip
    tags = [n.tag for n in wiring.nodes]
    assert len(tags) == len(set(tags))
    assert {c.source for c in wiring.circuits} | {c.target for c in wiring.circuits} <= set(tags)
    device_tags = [d.tag for c in wiring.circuits for d in c.devices]
    assert len(device_tags) == len(set(device_tags))


def test_loads_of_one_circuit_share_it() -> None:
    rear = named(wired(), "Rear")

    assert rear.loads == ("lights", "fan")
    assert rear.current_a == pytest.approx((24 + 18) / 12, abs=0.001)
    assert rear.group == "away"


def test_drop_is_counted_from_the_battery_post_through_the_shared_feeders() -> None:
    wiring = wired()
    fridge = named(wiring, "Refrigerator")
    main, feed = role(wiring, "battery_main")[0], named(wiring, "Feed to Always live")

    # the main's resistance at the coincident 140 A, and the feed's own drop at its design current
    upstream = main.drop_v / main.current_a * 140 + feed.drop_v
    assert fridge.drop_total_v == pytest.approx(fridge.drop_v + upstream, abs=0.001)
    assert fridge.drop_total_v > fridge.drop_v
    assert fridge.voltage_v == pytest.approx(12.0 - fridge.drop_total_v, abs=0.001)


def test_the_drop_of_a_circuit_can_be_followed_with_a_calculator() -> None:
    pump = named(wired(), "Water pump")
    sums = {s.code: s.value for s in pump.steps}

    by_hand = sums["loop_length"] * sums["ohm_per_m_warm"] * sums["design_current"]
    assert sums["conductor_drop"] == pytest.approx(by_hand)
    assert sums["total_drop"] == pytest.approx(sums["conductor_drop"] + sums["joints_drop"] + sums["feeders_drop"])
    assert sums["ampacity"] == pytest.approx(
        min(sums["iso_table"], sums["cfr_table"]) * sums["ambient_factor"] * sums["bundling_counted"]
    )
    assert sums["fault"] == pytest.approx(
        sums["charging_voltage"] / sums["source_resistance"] + sums["other_sources"], rel=1e-6
    )


def test_the_engine_feed_is_solved_with_its_own_drop() -> None:
    feed = role(wired(), "engine_feed")[0]

    # C: an ECU-controlled alternator falls to 12.3 V on a steady drive, whatever hot idle gave
    # D: 40 A × 14.4 V = 0.9 × I × (12.3 V - drop)
    assert feed.current_a * (12.3 - feed.drop_v) * 0.9 == pytest.approx(40 * 14.4, rel=0.02)
    fixed = copy.deepcopy(case())
    fixed["vehicle"]["alternator_control"] = "fixed"
    feed = role(wired(fixed), "engine_feed")[0]
    # D: a fixed regulator is lowest at hot idle, measured 13.2 V
    assert feed.current_a * (13.2 - feed.drop_v) * 0.9 == pytest.approx(40 * 14.4, rel=0.02)
    assert feed.fault_a == pytest.approx(14.4 / 0.006 + 150, abs=1)


def test_the_array_is_designed_for_156_percent_and_never_over_the_series_fuse() -> None:
    for string in role(wired(), "solar_array"):
        assert string.current_a == pytest.approx(1.56 * 6.3, abs=0.001)
        assert 1.56 * 6.3 <= string.devices[0].rating_a <= 15

    raw = case()
    panel = next(p for p in raw["catalogue"] if p["kind"] == "solar_panel")
    panel["spec"]["max_series_fuse_a"] = 9  # under 1.56 × 6.3 A = 9.8 A: no device can serve
    assert ("protecting", "too_large") in {(s.need.code, s.code) for s in wired(raw).shortfalls}


def test_parallel_batteries_have_a_device_at_both_ends_rated_for_the_others() -> None:
    raw = parallel_bank()
    wiring = wired(raw)
    leads = [c for c in role(wiring, "battery_main") if c.target == "W4"]

    assert [c.source for c in leads] == ["B1", "B2"]
    assert faults_of(brief_of(raw), wiring) == []
    # into a short at one battery the other feeds 14.4 V / 3 mΩ, and the chargers 40 + 30 + 30 A
    assert [c.fault_a for c in leads] == pytest.approx([14.4 / 0.003 + 100] * 2, abs=1)
    assert len({(c.area_mm2, c.run_m, c.devices[0].rating_a) for c in leads}) == 1
    # when one opens the other carries everything: the whole main current each
    main = next(c for c in role(wiring, "battery_main") if c.target == "W1")
    assert leads[0].current_a == main.current_a


def test_two_batteries_make_about_twice_the_fault_of_one() -> None:
    one = role(wired(), "battery_main")[0]
    two = next(c for c in role(wired(parallel_bank()), "battery_main") if c.target == "W1")

    assert one.fault_a == pytest.approx(14.4 / 0.003 + 100, abs=1)
    assert two.fault_a is not None
    assert one.fault_a * 1.5 < two.fault_a < 2 * one.fault_a


def test_the_rest_of_a_bank_that_cannot_carry_the_loads_is_said() -> None:
    raw = parallel_bank(max_discharge_a=100, peak_a=300)

    assert "rest_of_bank_too_small" in [f.code for f in wired(raw).findings]


def test_an_unknown_battery_resistance_leaves_only_the_highest_breaking_capacity() -> None:
    raw = case()
    for p in raw["catalogue"]:
        if p["kind"] == "battery":
            p["spec"]["resistance_ohm"] = None
    wiring = wired(raw)

    # devices of 50 A and more are over every output, so the refrigerator hangs on none and is not shed
    assert [f.code for f in found(wiring)] == ["battery_resistance_unknown", "sheds_nothing_output"]
    house = [d for c in wiring.circuits if c.role not in ("engine_feed", "solar_array") for d in c.devices]
    assert {d.breaking_a for d in house if d.what in ("fuse", "breaker")} <= {20000.0}
    # the smallest 20 kA fuse is 50 A: small circuits get a conductor that it protects, or a named shortfall
    assert all(d.rating_a <= c.ampacity_a for c in wiring.circuits for d in c.devices if d.what == "fuse")


def test_an_unmeasured_starter_battery_wants_the_highest_breaking_capacity() -> None:
    raw = case()
    raw["vehicle"] = {**raw["vehicle"], "starter_ohm": None}
    wiring = wired(raw)

    assert [f.code for f in found(wiring)] == ["starter_resistance_unknown"]
    assert {d.breaking_a for d in role(wiring, "engine_feed")[0].devices} == {20000.0}


@pytest.mark.parametrize(
    ("gone", "need"),
    [
        (("fuse", "circuit_breaker"), "protecting"),
        (("fuse_holder",), "holding"),
        (("isolator", "circuit_breaker"), "isolating"),
        (("cable",), "conducting"),
        (("busbar",), "distributing"),
        (("terminal",), "terminating"),
        (tuple(f"cable_{area}_black" for area in (35, 50, 70, 95, 120)), "conducting"),
        (("lug_35_5", "lug_35_6", "lug_35_8"), "terminating"),
    ],
)
def test_taking_a_part_away_is_a_named_shortfall_and_never_a_substitute(gone: tuple[str, ...], need: str) -> None:
    wiring = wired(without(case(), *gone))

    found = [s for s in wiring.shortfalls if s.need.code == need]
    assert found
    assert all(s.subject for s in found)
    used = {d.part for c in wiring.circuits for d in c.devices} | {c.conductor for c in wiring.circuits}
    assert used.isdisjoint(gone)
    assert faults_of(brief_of(without(case(), *gone)), wiring) == []


def test_low_breaking_capacity_is_named_with_the_amperes_short() -> None:
    raw = case()
    raw["catalogue"] = [p for p in raw["catalogue"] if p["kind"] != "circuit_breaker" and "class_t" not in p["key"]]
    found = {s.subject: s for s in wired(raw).shortfalls if s.need.params.get("rule") == "breaking"}

    # no main device can be had either, so nothing of the main lowers 14.4 V / 3 mΩ + 100 A = 4900 A
    assert found["C4 Water pump"].params["best_value"] == 2000
    assert found["C4 Water pump"].params["short_by"] == pytest.approx(2900, abs=1)


MULTI = {
    "output_a": 40, "output_nominal_v": 12, "has_engine_input": True, "engine_a": 40, "input_nominal_v": 12,
    "stop_below_v": 11.5, "engine_efficiency_ratio": 0.9, "smart_alternator": True, "has_mains_input": True,
    "mains_a": 40, "mains_v": 230, "power_factor": 0.95, "mains_efficiency_ratio": 0.9, "has_solar_input": True,
    "solar_method": "mppt", "solar_a": 30, "max_voc_v": 60, "max_isc_a": 20, "start_margin_v": 1.0,
    "solar_efficiency_ratio": 0.97, "profiles": ["lifepo4"],
}  # fmt: skip


def test_a_multi_input_charger_is_one_node_with_one_output() -> None:
    raw = case()
    raw["catalogue"].append(part("pellow_multi", "multi_charger", 500, 4, **MULTI))
    wiring = wired(raw)

    assert wiring.shortfalls == ()
    assert faults_of(brief_of(raw), wiring) == []
    assert {(c.role, c.source, c.target) for c in wiring.circuits if "U1" in (c.source, c.target)} == {
        ("engine_feed", "B0", "U1"), ("solar_array", "PV1", "U1"), ("solar_array", "PV2", "U1"),
        ("charger_output", "U1", "W1"),
    }  # fmt: skip
    assert next(n for n in wiring.nodes if n.tag == "X0").params["feeds"] == "U1"
    # one shared output: 40 A whatever feeds it
    assert role(wiring, "charger_output")[0].current_a == 40


def test_a_24_v_system_on_a_24_v_truck() -> None:
    raw = case()
    raw["vehicle"] = {**raw["vehicle"], "nominal_v": 24, "hot_idle_v": 27.0}
    raw["wishes"] = {"system_v": 24}
    raw["loads"][0]["min_voltage_v"] = 21.0
    for p in raw["catalogue"]:
        if p["kind"] == "dcdc_charger":
            p["spec"].update(input_nominal_v=24, output_nominal_v=24, stop_below_v=23)
        elif p["kind"] == "mains_charger":
            p["spec"]["output_nominal_v"] = 24
        elif p["kind"] == "inverter":
            p["spec"].update(nominal_v=24, cutoff_v=21.6)
    wiring, twelve = wired(raw), wired()

    assert wiring.shortfalls == ()
    assert faults_of(brief_of(raw), wiring) == []
    assert role(wiring, "inverter_feed")[0].area_mm2 < role(twelve, "inverter_feed")[0].area_mm2
    # two in series double voltage and resistance: the fault of the battery stays, 28.8 V / 6 mΩ
    assert role(wiring, "battery_main")[0].fault_a == pytest.approx(28.8 / 0.006 + 100, abs=1)


def test_every_finding_has_its_words() -> None:
    unknown, mixed = parallel_bank(resistance_ohm=None, max_discharge_a=100), case()
    unknown["vehicle"]["starter_ohm"] = None
    mixed["loads"][1]["always_live"] = True
    del mixed["loads"][3]["position"]
    codes = {f.code for raw in (unknown, mixed, without(case(), "battery")) for f in wired(raw).findings}

    assert codes >= {
        "battery_resistance_unknown", "starter_resistance_unknown", "rest_of_bank_too_small", "circuit_mixes_groups",
        "load_without_position", "no_battery_no_circuits",
    }  # fmt: skip
    assert codes <= set(FINDING)


def test_a_device_of_less_resistance_is_tried_before_more_copper() -> None:
    raw = without(case(), "circuit_breaker")
    for rating, ohm in ((10, 0.060), (15, 0.004)):
        raw["catalogue"].append(
            part(f"breaker_{rating}", "circuit_breaker", 18, 0.2, rating_a=rating, breaking_a=6000, max_v=100,
                 poles=1, resistance_ohm=ohm, isolates=True)
        )  # fmt: skip
    fridge = named(wired(raw), "Refrigerator")

    # 4.17 A through 60 mΩ would take 0.25 V of the 0.36 V
    assert [d.part for d in fridge.devices if d.what == "breaker"] == ["breaker_15"]
    assert fridge.devices[0].rating_a <= fridge.ampacity_a


def test_a_load_without_a_place_stops_the_quote_and_the_rest_is_designed() -> None:
    raw = case()
    del raw["loads"][3]["position"]
    wiring = wired(raw)

    assert [(f.level, f.code, f.subject) for f in found(wiring)] == [("danger", "load_without_position", "pump")]
    assert [c.name for c in role(wiring, "load")] == ["Monitor and control", "Refrigerator", "Rear"]


def test_missing_place_and_missing_run_are_refused_by_name() -> None:
    raw = case()
    raw["vehicle"] = {**raw["vehicle"], "runs": raw["vehicle"]["runs"][1:]}

    with pytest.raises(SizingError, match=r"'Engine bay' \(engine\) to 'Canopy front' \(canopy\)"):
        wired(raw)


def test_without_a_battery_there_is_nothing_to_design_from() -> None:
    wiring = wired(without(case(), "battery"))

    assert wiring.circuits == ()
    assert [(f.level, f.code) for f in found(wiring)] == [("danger", "no_battery_no_circuits")]


def test_the_ac_side_is_asked_and_never_decided() -> None:
    wiring = wired()

    assert wiring.questions == AC_QUESTIONS
    ac = {n.tag for n in wiring.nodes if n.params.get("licensed")}
    assert ac == {"X0", "X1", "X2", "X3", "AC1"}
    assert not [c for c in wiring.circuits if {c.source, c.target} & ac]


def test_switched_outputs_are_within_their_limits_and_shed_in_order() -> None:
    wiring = wired()

    assert [(c["circuit_name"], c["shed_order"]) for c in wiring.channels] == [
        ("Refrigerator", 1), ("Rear", None), ("Water pump", None),
    ]  # fmt: skip
    assert all(c["load_a"] <= c["limit_a"] for c in wiring.channels)
    tagged = {d.tag for c in wiring.circuits for d in c.devices if d.what == "channel"}
    assert tagged == {c["tag"] for c in wiring.channels}


def test_a_load_over_every_channel_is_a_named_shortfall() -> None:
    raw = case()
    raw["loads"][3]["use"]["power_w"] = 400.0
    wiring = wired(raw)

    assert ("switching", "C4 Water pump", 25.0) in {
        (s.need.code, s.subject, s.params.get("best_value")) for s in wiring.shortfalls
    }


def test_a_starting_motor_is_kept_above_its_cut_out() -> None:
    easy, stubborn = case(), case()
    stubborn["loads"][0]["min_voltage_v"] = 11.0
    stubborn["loads"][0]["start_multiple"] = 4.0

    # 17 A of start may take 12.0 - 11.3 V from the posts on: more copper than the running drop asks
    assert named(wired(stubborn), "Refrigerator").area_mm2 > named(wired(easy), "Refrigerator").area_mm2
    assert named(wired(stubborn), "Refrigerator").decided_by == "cutout"


def test_a_thicker_main_than_wished_would_thin_no_circuit_behind_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """130 A over half a metre, behind 200 A: 70 mm² (330 A by ISO 10133 A.1, M), as is laid for it in the trade (C)."""

    def areas(*roles: str) -> list[float]:
        return [c.area_mm2 for c in wiring_of(wagon()).circuits if c.role in roles]

    behind = ("load", "distribution", "inverter_feed")
    main, others = areas("battery_main"), areas(*behind)
    monkeypatch.setattr(circuits_feeds, "MAIN_TARGET_RATIO", 0.003)

    assert main == [25.0] * 4 + [70.0]
    assert areas("battery_main") == [35.0] * 4 + [95.0]
    assert areas(*behind) == others


@pytest.mark.parametrize(("count", "more"), [(8, {"starter_loads": 4}), (20, {"batteries": 3}), (20, {"volts": 24})])
def test_every_bar_carries_what_its_device_lets_through(count: int, more: dict[str, Any]) -> None:
    """A bar of 150 A behind a fuse of 175 A is not protected by it; one that joins batteries stands before the main."""
    _, made = many_made(count, **more)
    rating = {c.key: c.devices[0].rating_a for c in made.circuits if c.devices}
    before = {
        "W1": "battery_main", "N1": "battery_main", "W4": "battery_main", "W2": "feed_W2", "W3": "feed_W3",
        "W5": "starter_feed",
    }  # fmt: skip
    bars = {n.tag: n.params["rating_a"] for n in made.nodes if n.what in ("busbar", "board")}

    assert len(bars) >= 4
    assert {tag: rated for tag, rated in bars.items() if rated < rating[before[tag]]} == {}


def test_a_start_is_counted_through_the_shared_feeders_too() -> None:
    """The fridge starts at three times its 4.17 A: 8.33 A more pass feed and main, which lose what they are of ohms."""
    wiring = wired()
    fridge, feed, main = (
        named(wiring, "Refrigerator"),
        named(wiring, "Feed to Always live"),
        role(wiring, "battery_main")[0],
    )
    more_a = 2 * 50 / 12
    own_ohm = fridge.drop_v / fridge.current_a
    lost_v = fridge.drop_total_v + more_a * (own_ohm + feed.drop_v / feed.current_a + main.drop_v / main.current_a)

    assert fridge.peak_a == pytest.approx(3 * 50 / 12, abs=0.001)
    assert next(s.value for s in fridge.steps if s.code == "voltage_at_load") == pytest.approx(12.0 - lost_v, abs=0.003)


def test_devices_of_shared_feeders_hold_the_starts_behind_them() -> None:
    """Nothing on the shelf holds 5 s but a device of the start over 1.35, where none may open (ISO 8820-3, M)."""
    raw = case()
    raw["loads"][0] |= {"start_multiple": 12, "start_s": 5.0, "min_voltage_v": None}
    wiring, plain = wired(raw), wired()
    feed, before = (named(w, "Feed to Always live") for w in (wiring, plain))

    assert feed.peak_a == pytest.approx(feed.current_a + 11 * 50 / 12, abs=0.01)
    assert before.devices[0].rating_a < feed.peak_a / 1.35 <= feed.devices[0].rating_a
    main = role(wiring, "battery_main")[0]
    assert main.peak_a >= main.current_a
    assert main.devices[0].rating_a >= main.peak_a / 1.35


def test_the_shunt_and_the_isolator_are_in_the_battery_main() -> None:
    main = role(wired(), "battery_main")[0]
    bare = role(wired(without(case(), "battery_monitor")), "battery_main")[0]

    assert [d.what for d in main.devices] == ["fuse", "isolator"]
    # 0.1 mΩ of shunt
    assert main.drop_v - bare.drop_v == pytest.approx(0.0001 * main.current_a, rel=0.05)


def test_the_isolator_is_rated_for_the_device_before_it() -> None:
    """The device lets its own rating through for ever, so what lies behind must carry that, not the design current."""
    raw = without(case(), "isolator")
    carried_a = role(wired(), "battery_main")[0].current_a
    raw["catalogue"] += [
        part("ambry_small", "isolator", 30, 0.2, rating_a=carried_a + 1, max_v=60),
        part("ambry_large", "isolator", 60, 0.4, rating_a=300, max_v=60),
    ]

    fuse, isolator = role(wired(raw), "battery_main")[0].devices
    raw["catalogue"].pop()
    short = next(s for s in wired(raw).shortfalls if s.need.code == "isolating")

    assert (isolator.part, isolator.rating_a >= fuse.rating_a) == ("ambry_large", True)
    assert (short.code, short.params["asked"]) == ("too_small", fuse.rating_a)


def test_the_inverter_is_fed_for_its_rating_at_its_lowest_voltage() -> None:
    feed = role(wired(), "inverter_feed")[0]

    assert feed.current_a == pytest.approx(2000 / (0.9 * 10.8), abs=0.01)
    assert feed.devices[0].rating_a >= 1.25 * feed.current_a


def test_a_hotter_way_never_wants_a_thinner_conductor() -> None:
    cool, hot = case(), copy.deepcopy(case())
    for p in hot["vehicle"]["positions"]:
        p["ambient_c"] = 70
    before = {c.name: c.area_mm2 for c in wired(cool).circuits}
    after = {c.name: c.area_mm2 for c in wired(hot).circuits}
    assert after.keys() == before.keys()
    assert all(after[name] >= before[name] for name in before)
    assert sum(after.values()) > sum(before.values())


def with_board_at(place: str) -> dict[str, Any]:
    raw = case()
    raw["vehicle"]["places"]["board"] = place
    return raw


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    run=st.sampled_from([("engine", "canopy"), ("canopy", "rear"), ("canopy", "roof")]), by=st.floats(1, 2.5),
    board=st.sampled_from(["canopy", "rear"]),
)  # fmt: skip
def test_a_longer_run_never_wants_a_thinner_conductor(run: tuple[str, str], by: float, board: str) -> None:
    before = {c.name: c for c in wired(with_board_at(board)).circuits}
    longer = wired(lengthened(with_board_at(board), *run, by))

    for circuit in longer.circuits:
        if circuit.run_m > before[circuit.name].run_m:
            assert circuit.area_mm2 >= before[circuit.name].area_mm2, circuit.name


def test_a_longer_run_is_dearer_in_the_end() -> None:
    near, far = wired(), wired(lengthened(case(), "canopy", "rear", 2.5))

    assert named(far, "Refrigerator").area_mm2 > named(near, "Refrigerator").area_mm2
    assert named(far, "Refrigerator").decided_by == "drop"


def test_volts_are_shared_between_feed_and_circuit_by_length() -> None:
    far_board = wired(with_board_at("rear"))
    fridge = named(far_board, "Refrigerator")
    sums = {s.code: s.value for s in fridge.steps}

    kept = sums.get("feeders_reserve", 0.0)
    assert fridge.drop_total_v + kept <= 0.03 * 12 + 1e-6


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    air=st.integers(20, 80), bundled=st.integers(1, 12), length=st.floats(0.3, 9), watts=st.floats(5, 280),
    ohm=st.one_of(st.none(), st.floats(0.0006, 0.02)), starter=st.one_of(st.none(), st.floats(0.002, 0.02)),
    banks=st.integers(1, 4), discharge=st.floats(20, 280),
)  # fmt: skip
def test_whatever_the_vehicle_no_rule_of_safety_is_broken(
    air: int, bundled: int, length: float, watts: float, ohm: float | None, starter: float | None, banks: int,
    discharge: float,
) -> None:  # fmt: skip
    raw = parallel_bank(resistance_ohm=ohm, max_discharge_a=150.0)
    raw["vehicle"]["starter_ohm"] = starter
    for p in raw["vehicle"]["positions"]:
        p["ambient_c"] = air
    for r in raw["vehicle"]["runs"]:
        r["length_m"], r["bundled"] = length, bundled
    raw["loads"][3]["use"]["power_w"] = watts
    asked = BatteryNeed({"lifepo4": 100.0 * banks}, min(discharge, 150.0 * banks), min(discharge, 150.0 * banks), 1.0)
    wiring = wired(raw, battery=asked)

    assert faults_of(brief_of(raw), wiring) == []
