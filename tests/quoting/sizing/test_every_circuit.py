"""Every circuit there is: one for each load, reachable, named once, protected at each end that can feed."""

from __future__ import annotations

from collections import Counter, defaultdict
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from quoting.sizing import shunt
from quoting.sizing.appraisal import Appraisal, Circuit, Node
from quoting.sizing.appraise import appraise
from quoting.sizing.brief import Brief, read
from quoting.sizing.circuits_ac import AC_QUESTIONS
from quoting.wording.questions import QUESTION
from tests.quoting.sizing.many_circuits import many, many_made
from tests.quoting.sizing.systems_case import caravan, dcdc, keeping, sunny
from tests.quoting.sizing.worded import assert_worded

SYSTEMS: dict[str, dict[str, Any]] = {
    "one battery": {},
    "two batteries": {"batteries": 2},
    "four batteries": {"batteries": 4, "strings": 3},
    "24 V of pairs": {"volts": 24, "series": True, "converters": 1},
    "24 V, two of pairs, three converters": {"volts": 24, "series": True, "batteries": 2, "converters": 3},
    "24 V, three batteries, two converters": {"volts": 24, "batteries": 3, "converters": 2},
    "a trailer": {"trailer": True, "batteries": 2, "senses": 6, "starter_loads": 3},
    "starter loads and senses": {"senses": 12, "starter_loads": 5},
    "no AC": {"ac": False, "starter_loads": 1},
}


@pytest.fixture(scope="module", params=SYSTEMS, ids=str)
def system(request: pytest.FixtureRequest) -> tuple[Brief, Appraisal]:
    return many_made(14, **SYSTEMS[request.param])


def check_circuits(brief: Brief, found: Appraisal) -> None:
    """Tags and keys once; every load with a place on one circuit, or named as lacking; every node on some way."""
    tags = [c.tag for c in found.circuits] + [d.tag for c in found.circuits for d in c.devices]
    tags += [n.tag for n in found.nodes if n.what != "load"] + [x.tag for x in found.ac]
    assert [tag for tag, times in Counter(tags).items() if times > 1] == []
    assert [key for key, times in Counter(c.key for c in found.circuits).items() if times > 1] == []
    assert all(c.key and c.passes[0] == c.from_position and c.passes[-1] == c.to_position for c in found.circuits)

    on = Counter(load for c in found.circuits for load in c.loads)
    lacking = " ".join(s.subject for s in found.shortfalls)
    for load in brief.loads:
        if load.bus != "ac" and load.position:
            assert on[load.key] == 1 or (load.circuit or load.name) in lacking, load.key
    nodes = {n.tag for n in found.nodes}
    ends = {end for c in found.circuits for end in (c.source, c.target)}
    assert ends <= nodes
    assert {end for x in found.ac for end in (x.source, x.target)} <= nodes
    # the monitor counts in the negative, and the negative bar is everywhere; alternator and starter battery are one
    lonely = nodes - ends - {end for x in found.ac for end in (x.source, x.target)} - {"P1", "G1", "W0", "N1"}
    assert not lonely or found.shortfalls, lonely


def test_systems_of_every_make_have_every_circuit_once(system: tuple[Brief, Appraisal]) -> None:
    brief, found = system

    assert not found.shortfalls
    check_circuits(brief, found)
    assert_worded(found)


ONE_WAY = ("charger", "controller", "mains_charger", "converter", "monitor", "module")
"""What lets nothing back through: only what is joined by copper is one."""


def feeding_ends(circuit: Circuit, circuits: tuple[Circuit, ...], nodes: dict[str, Node]) -> set[str]:
    """Ends that a battery or an unlimited bus can feed, with this circuit cut out: written for reading."""
    joined: dict[str, set[str]] = defaultdict(set)
    for c in circuits:
        if c is not circuit:
            joined[c.source].add(c.target)
            joined[c.target].add(c.source)
    fed = set()
    for end, start in (("source", circuit.source), ("load", circuit.target)):
        seen, queue = {start}, [start]
        while queue:
            here = queue.pop()
            if nodes[here].what in ONE_WAY:
                continue
            for there in joined[here] - seen:
                seen.add(there)
                queue.append(there)
        if any(nodes[tag].what in ("battery", "starter_battery") for tag in seen):
            fed.add(end)
    return fed


def test_every_end_that_a_battery_can_feed_has_a_device(system: tuple[Brief, Appraisal]) -> None:
    brief, found = system
    nodes = {n.tag: n for n in found.nodes}

    for c in found.circuits:
        if c.role in ("negative_bond",) or (c.role == "sense" and nodes[c.source].what == "sensor"):
            continue
        have = {d.end for d in c.devices if d.what in ("fuse", "breaker")}
        if c.role in ("solar_array",):
            assert have == {"load"}, c.tag
            continue
        if c.role == "battery_main" and c.target == "W1" and len(have) == 1:
            assert have == {"source"}, c.tag  # what chargers feed back into it, it carries for good
            charge_a = sum(x.current_a for x in found.circuits if x.role in CHARGING)
            assert c.ampacity_a >= charge_a
            continue
        assert have >= feeding_ends(c, found.circuits, nodes) - ({"load"} if c.role == "load" else set()), c.tag
        assert all(d.distance_m <= brief.policy.place_m for d in c.devices)


CHARGING = ("charger_output", "controller_output", "mains_output")


def test_a_charger_output_has_a_device_at_both_ends(system: tuple[Brief, Appraisal]) -> None:
    _, found = system

    for c in found.circuits:
        if c.role in (*CHARGING, "engine_feed") or (c.role == "battery_main" and c.target == "W4"):
            assert {d.end for d in c.devices if d.what in ("fuse", "breaker")} == {"source", "load"}, c.tag


def test_parallel_batteries_have_equal_leads_and_a_link_that_carries_them_all() -> None:
    _, found = many_made(14, batteries=4, strings=3)
    leads = [c for c in found.circuits if c.target == "W4"]
    link = next(n for n in found.nodes if n.tag == "W4")
    main = next(c for c in found.circuits if c.source == "W4")

    assert len(leads) == 4
    assert len({(c.area_mm2, c.run_m, c.conductor, c.drop_v, c.devices[0].part) for c in leads}) == 1
    assert link.params["rating_a"] >= main.current_a  # type: ignore[operator]
    assert all(3 * c.current_a >= main.current_a - 0.01 for c in leads)  # one battery less, and the rest carry it
    assert "leads_of_equal_length" in {f.code for f in found.findings}
    assert "leads_differ" in {e.code for e in found.expectations}


def test_links_between_batteries_in_series_are_told_to_be_bare_of_devices() -> None:
    _, found = many_made(14, volts=24, series=True, converters=1)

    (said,) = [f for f in found.findings if f.code == "links_without_device"]
    assert said.params["links"] == 1


def test_loads_and_chargers_are_on_the_system_side_of_the_shunt(system: tuple[Brief, Appraisal]) -> None:
    _, found = system
    bank = shunt.posts(found.nodes, found.circuits)

    assert "past_the_shunt" not in {f.code for f in found.findings}
    assert {c.role for c in found.circuits if {c.source, c.target} & bank} <= {"battery_main", "sense"}
    assert "only_shunt_on_negative" in {e.code for e in found.expectations}


def test_a_circuit_on_the_batterys_own_post_is_told() -> None:
    _, found = many_made(14, batteries=2)
    load = next(c for c in found.circuits if c.role == "load")
    moved = tuple(c.model_copy(update={"source": "W4"}) if c is load else c for c in found.circuits)
    bonded = tuple(c.model_copy(update={"source": "B1"}) if c.role == "negative_bond" else c for c in found.circuits)

    assert [f.params["tag"] for f in shunt.past_the_shunt(moved, found.nodes)] == [load.tag]
    assert [f.params["name"] for f in shunt.past_the_shunt(bonded, found.nodes)] == ["Negative to body"]
    unwatched = tuple(n for n in found.nodes if n.what != "monitor")
    assert shunt.past_the_shunt(moved, unwatched) == ()


def test_kept_chargers_come_to_the_system_side_of_a_new_monitor() -> None:
    found = appraise(read(keeping(sunny(), ("corrie_40", 1, "engine_charger"))))
    both = appraise(read(keeping(sunny(), ("corrie_40", 1, "engine_charger"), ("quoin_monitor", 1, "monitor"))))

    assert [f.params["names"] for f in found.findings if f.code == "kept_to_system_side"] == ["corrie 40"]
    assert "kept_to_system_side" not in {f.code for f in both.findings}


def signalled(control: str) -> Appraisal:
    raw = sunny()
    raw["vehicle"]["alternator_control"] = control
    raw["catalogue"] = [p for p in raw["catalogue"] if p["kind"] != "dcdc_charger"]
    raw["catalogue"].append(dcdc("corrie_signal", running_signal=True))
    return appraise(read(raw))


def test_a_charger_that_takes_an_engine_running_signal_gets_one_where_the_voltage_does_not_tell() -> None:
    (circuit,) = [c for c in signalled("smart").circuits if c.role == "control"]

    assert (circuit.source, circuit.key, circuit.tag) == ("G1", "running_signal_U1", "T1")
    assert circuit.devices[0].position == "engine"
    assert not [c for c in signalled("fixed").circuits if c.role == "control"]
    assert not [c for c in appraise(read(sunny())).circuits if c.role == "control"]


def test_shore_and_inverter_meet_at_a_changeover_behind_a_residual_device_each() -> None:
    _, found = many_made(14)
    ways = {(x.source, x.target) for x in found.ac}
    charger = next(n.tag for n in found.nodes if n.what == "mains_charger")
    inverter = next(n.tag for n in found.nodes if n.what == "inverter")

    assert ways == {("X0", "X1"), ("X1", charger), ("X1", "X3"), (inverter, "X2"), ("X2", "X3"), ("X3", "AC1")}
    assert all(x.conductors == 3 and set(x.questions) <= set(found.questions) for x in found.ac)
    assert found.questions == AC_QUESTIONS
    assert set(AC_QUESTIONS) <= set(QUESTION)
    devices = [n for n in found.nodes if n.what == "residual"]
    chosen = next(c for c in found.chosen if c.role == "residual")
    assert [(n.params["part"], n.params["licensed"]) for n in devices] == [(chosen.part, True)] * chosen.quantity
    assert not any(d.what == "residual" for c in found.circuits for d in c.devices)


def test_an_inverter_without_shore_power_has_nothing_to_change_over() -> None:
    raw = many(14)
    raw["wishes"] |= {"mains_charging": False, "shore_inlet": False}
    found = appraise(read(raw))

    assert [x.target for x in found.ac] == ["X2", "AC1"]
    assert {n.tag for n in found.nodes if n.what in ("residual", "changeover", "inlet")} == {"X2"}


def test_no_rating_is_said_of_a_residual_device_that_is_not_chosen() -> None:
    raw = many(14)
    raw["catalogue"] = [p for p in raw["catalogue"] if p["kind"] != "residual_current_device"]
    found = appraise(read(raw))

    assert [n.params for n in found.nodes if n.what == "residual"] == [{"licensed": True}] * 2


def test_unhitched_the_tow_side_is_dead_but_for_what_its_own_battery_feeds() -> None:
    raw = caravan()
    raw["loads"][3]["position"] = "cab"  # the pump, on the tow vehicle, fed from the trailer's board
    found = appraise(read(raw))
    dead = {c.key for c in found.circuits if c.dead_unhitched}

    assert dead == {"engine_feed", "load:pump"}
    said = {
        f.code: f.params["names"] for f in found.findings if f.code.startswith("unhitched_") and "names" in f.params
    }
    assert said["unhitched_dead"] == "Engine feed, Water pump"
    assert "Always live" in str(said["unhitched_live"])
    readings = {e.code: e for e in found.expectations}
    assert readings["unhitched_dead"].params["names"] == "Engine feed, Water pump"
    assert readings["pins_covered"].safety


def test_boards_behind_the_hitch_are_dead_with_all_their_circuits() -> None:
    raw = caravan()
    raw["vehicle"]["places"] |= {"battery": "cab", "charger": "cab"}
    found = appraise(read(raw))

    dead = {c.role for c in found.circuits if c.dead_unhitched}
    assert {"distribution", "load"} <= dead
    assert not {c.key for c in found.circuits if c.dead_unhitched and c.role in ("engine_feed", "battery_main")}


def test_without_a_hitch_nothing_is_dead() -> None:
    assert not [c for c in many_made(14)[1].circuits if c.dead_unhitched]


LOADS = st.lists(
    st.fixed_dictionaries(
        {
            "bus": st.sampled_from(["house", "house", "usb", "starter", "ac"]),
            "power_w": st.floats(1, 180),
            "position": st.sampled_from(["canopy", "rear", "roof", "engine", None]),
            "circuit": st.sampled_from([None, None, "Rear", "Front"]),
            "always_live": st.booleans(),
            "shed_below_ratio": st.none() | st.floats(0.1, 0.5),
            "at_once": st.booleans(),
            "channel": st.booleans(),
        }
    ),
    min_size=1,
    max_size=9,
)
SENSES = st.lists(
    st.tuples(
        st.sampled_from(["tank", "temperature", "voltage", "current", "digital"]),
        st.sampled_from(["canopy", "rear", "roof", "engine"]),
    ),
    max_size=5,
)


@given(LOADS, SENSES, st.sampled_from(["fixed", "smart", "none"]))
@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_any_brief_has_every_circuit_once(loads: list[dict[str, Any]], senses: list[Any], control: str) -> None:
    raw = sunny()
    raw["vehicle"]["alternator_control"] = control
    raw["loads"] = [
        {**{k: v for k, v in x.items() if k != "power_w"}, "key": f"k{i}", "name": f"Load {i}",
         "use": {"way": "steady", "power_w": x["power_w"], "hours_per_day": 1}}
        for i, x in enumerate(loads)
    ]  # fmt: skip
    raw["senses"] = [
        {"key": f"s{i}", "name": f"Sense {i}", "what": what, "position": at} for i, (what, at) in enumerate(senses)
    ]
    raw["catalogue"] += EXTRAS
    brief = read(raw)
    found = appraise(brief)

    check_circuits(brief, found)
    for circuit in found.circuits:
        for device in circuit.devices:
            if device.what in ("fuse", "breaker"):
                assert device.rating_a <= circuit.ampacity_a + 1e-9
                assert circuit.fault_a is None or (device.breaking_a or 0) >= circuit.fault_a - 0.1
    wired = {c.key for c in found.circuits if c.role == "sense"}
    lacking = any(s.need.code in ("sensing", "conducting", "protecting") for s in found.shortfalls)
    assert lacking or wired == {f"sense:s{i}" for i in range(len(senses))}


def _extras() -> list[dict[str, Any]]:
    kinds = ("tank_sender", "temperature_sender", "sensing_module", "shunt")
    return [p for p in many(1)["catalogue"] if p["kind"] in kinds]


EXTRAS = _extras()


@pytest.mark.parametrize("places", [{}, {"board": "cab"}, {"battery": "cab", "charger": "cab"}, {"charger": "cab"}])
def test_a_circuit_is_dead_when_its_load_is_said_to_be(places: dict[str, str]) -> None:
    raw = caravan()
    raw["vehicle"]["places"] |= places
    raw["loads"][1]["position"] = raw["loads"][2]["position"] = "cab"
    raw["loads"].append({**raw["loads"][3], "key": "horn", "name": "Horn", "bus": "starter", "position": "cab"})
    found = appraise(read(raw))

    dead = {d.key for d in found.dead_unhitched if d.what == "load"}
    told = {key: c.dead_unhitched for c in found.circuits for key in c.loads}
    assert told
    assert {key for key, is_dead in told.items() if is_dead} == dead & set(told)


def test_a_part_that_reads_and_stays_is_counted_on_before_another_is_bought() -> None:
    raw = keeping(sunny(), ("reader", 1, "sensing"))
    spec = {"resistance_inputs": 2, "voltage_inputs": 0}
    raw["catalogue"] += [*EXTRAS, {**EXTRAS_BY_KIND["sensing_module"], "key": "reader", "name": "Reader", "spec": spec}]
    raw["senses"] = [{"key": f"t{i}", "name": f"Tank {i}", "what": "tank", "position": "rear"} for i in range(2)]
    found = appraise(read(raw))

    (reader,) = [c for c in found.chosen if c.role == "sensing"]
    assert (reader.part, reader.kept, reader.quantity) == ("reader", True, 1)
    assert {u.key for u in found.inputs if u.part == "reader"} == {"t0", "t1"}


EXTRAS_BY_KIND = {p["kind"]: p for p in EXTRAS}
