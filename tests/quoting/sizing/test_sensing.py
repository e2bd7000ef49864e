"""What is watched: inputs counted and given, sensors chosen, leads and pairs designed."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting import words
from quoting.sizing.appraisal import Appraisal, Circuit
from quoting.sizing.appraise import appraise
from quoting.sizing.brief import Brief, read
from quoting.sizing.brief_wiring import INPUT_OF
from quoting.sizing.choice_sensing import Unit
from quoting.sizing.errors import SizingError
from quoting.sizing.inputs import give_inputs
from tests.quoting.sizing.library_case import catalogue
from tests.quoting.sizing.systems_case import caravan, part, sunny
from tests.quoting.sizing.worded import assert_worded

SENDER = part("level_240", "tank_sender", 30, fluid="any", level_curve_ohm=[[0, 240], [1, 33]], depth_mm=300)
FRESH = part("level_fresh", "tank_sender", 20, fluid="fresh", level_curve_ohm=[[0, 240], [1, 33]], depth_mm=300)
WARM = part("warm_ntc", "temperature_sender", 15, signal="resistance", min_c=-30, max_c=60,
            temperature_curve_ohm=[[0, 32650], [25, 10000], [50, 3603]])  # fmt: skip
HOT = part("hot_ntc", "temperature_sender", 25, signal="resistance", min_c=-30, max_c=120,
           temperature_curve_ohm=[[0, 32650], [25, 10000], [50, 3603]])  # fmt: skip
DIGITAL = part("warm_digital", "temperature_sender", 5, signal="digital", min_c=-30, max_c=120)
SMALL_SHUNT = part("shunt_50", "shunt", 20, most_a=50, ohm=0.001, max_v=70)
SHUNT = part("shunt_500", "shunt", 50, most_a=500, ohm=0.0001, max_v=70)
READER = part("reader_2", "sensing_module", 100, voltage_inputs=1, resistance_inputs=2, temperature_inputs=1)
READER_8 = part("reader_8", "sensing_module", 150, voltage_inputs=2, resistance_inputs=8, temperature_inputs=4,
                current_inputs=2, digital_inputs=2)  # fmt: skip
SHELF = (SENDER, FRESH, WARM, HOT, DIGITAL, SMALL_SHUNT, SHUNT, READER_8)


def sense(key: str, what: str, position: str = "rear", **more: Any) -> dict[str, Any]:
    return {"key": key, "name": key.capitalize(), "what": what, "position": position, **more}


def watching(*senses: dict[str, Any], shelf: tuple[dict[str, Any], ...] = SHELF, **more: Any) -> dict[str, Any]:
    raw = sunny()
    return {**raw, "senses": list(senses), "catalogue": [*raw["catalogue"], *shelf], **more}


def made(raw: dict[str, Any]) -> Appraisal:
    found = appraise(read(raw))
    assert_worded(found)
    return found


def circuit_of(found: Appraisal, key: str) -> Circuit:
    return next(c for c in found.circuits if c.key == f"sense:{key}")


def sensors(found: Appraisal) -> dict[str, int]:
    return {c.part: c.quantity for c in found.chosen if c.role == "sensor"}


def codes(found: Appraisal) -> set[str]:
    return {f.code for f in found.findings}


def test_nothing_watched_buys_nothing_and_lists_what_is_there() -> None:
    raw = sunny()
    raw["catalogue"][-1:] = [raw["catalogue"][-1], *SHELF]
    for p in raw["catalogue"]:
        if p["kind"] == "battery_monitor":
            p["spec"] |= {"voltage_inputs": 1, "temperature_inputs": 1}
    found = made(raw)

    assert not {c.role for c in found.chosen} & {"sensing", "sensor"}
    assert [(u.sense, u.channel, u.key) for u in found.inputs] == [("voltage", 1, ""), ("temperature", 1, "")]


def test_a_tank_gets_a_sender_an_input_and_a_pair_without_a_device() -> None:
    found = made(watching(sense("water", "tank")))
    circuit = circuit_of(found, "water")
    node = next(n for n in found.nodes if n.tag == circuit.source)

    assert sensors(found) == {"level_240": 1}  # nobody said which fluid: the one for any of them, though dearer
    assert (node.what, node.params["part"], node.position) == ("sensor", "level_240", "rear")
    assert (circuit.role, circuit.devices, circuit.tag) == ("sense", (), "T1")
    assert circuit.run_m == 3.0
    assert circuit.negative
    (used,) = [u for u in found.inputs if u.key]
    assert used.watched == "Water"
    assert (used.part, used.sense, used.channel, used.tag, used.circuit) == ("reader_8", "resistance", 1, "S1", "T1")
    assert "sensor_to_check_tank" in codes(found)


def test_a_named_sensor_is_taken_as_named() -> None:
    found = made(watching(sense("water", "tank", part="level_fresh")))

    assert sensors(found) == {"level_fresh": 1}
    assert "sensor_to_check_tank" not in codes(found)


@pytest.mark.parametrize(
    ("what", "named", "code"),
    [("tank", "warm_ntc", "conflict"), ("tank", "nothing", "not_a_choice"), ("voltage", "level_240", "conflict")],
)
def test_a_named_sensor_that_cannot_tell_it_is_refused(what: str, named: str, code: str) -> None:
    with pytest.raises(SizingError) as caught:
        appraise(read(watching(sense("it", what, part=named))))

    assert (caught.value.field, caught.value.code) == ("senses[0].part", code)


def test_a_temperature_sensor_stands_the_air_where_it_sits() -> None:
    found = made(watching(sense("bay", "temperature", "engine"), sense("bed", "temperature", "rear")))

    assert sensors(found) == {"hot_ntc": 1, "warm_ntc": 1}  # 70 °C and 50 °C; the digital one is not read by resistance


def test_a_sensor_of_another_signal_is_told() -> None:
    assert "sensor_other_signal" in codes(made(watching(sense("bed", "temperature", part="warm_digital"))))


def test_a_shunt_that_nobody_named_carries_the_main_current() -> None:
    assert sensors(made(watching(sense("feed", "current")))) == {"shunt_500": 1}


def test_inputs_of_the_chosen_parts_come_before_a_further_part() -> None:
    raw = watching(sense("water", "tank"), sense("waste", "tank"))
    for p in raw["catalogue"]:
        if p["kind"] == "switched_output_module":
            p["spec"]["resistance_inputs"] = 2
    found = made(raw)

    assert "sensing" not in {c.role for c in found.chosen}
    assert [u.key for u in found.inputs] == ["water", "waste"]
    module = next(n for n in found.nodes if n.what == "module")
    assert {c.target for c in found.circuits if c.role == "sense"} == {module.tag}


def test_as_many_pieces_as_the_inputs_ask() -> None:
    senses = [sense(f"tank_{i}", "tank") for i in range(5)]
    found = made(watching(*senses, shelf=(SENDER, READER)))

    assert [(c.part, c.quantity) for c in found.chosen if c.role == "sensing"] == [("reader_2", 3)]
    assert not [s for s in found.shortfalls if s.need.code == "sensing"]


def test_spare_inputs_are_kept_of_each_kind_that_is_used() -> None:
    raw = watching(sense("a", "tank"), sense("b", "tank"), shelf=(SENDER, READER), policy={"spare_inputs": 1})
    found = made(raw)

    assert [(c.part, c.quantity) for c in found.chosen if c.role == "sensing"] == [("reader_2", 2)]
    assert sum(not u.key for u in found.inputs if u.sense == "resistance") == 2


def test_too_few_inputs_are_told_by_kind_and_number() -> None:
    senses = [sense("a", "digital"), sense("b", "digital"), sense("c", "tank")]
    found = made(watching(*senses, shelf=(SENDER, READER)))
    (lack,) = [s for s in found.shortfalls if s.need.code == "sensing"]

    assert (lack.subject, lack.params["asked"], lack.params["best_value"]) == ("inputs_digital", 2.0, 0.0)
    assert "2" in words.shortfall_words(lack)
    assert [u.key for u in found.inputs if u.key] == ["c"]


def test_no_sensor_is_a_shortfall_that_names_what_it_was_for() -> None:
    found = made(watching(sense("water", "tank"), shelf=(READER,)))
    (lack,) = [s for s in found.shortfalls if s.need.code == "sensor"]

    assert (lack.code, lack.params["names"]) == ("none_of_kind", "Water")


def test_a_voltage_lead_is_fused_where_it_is_taken_against_what_feeds_it() -> None:
    found = made(watching(sense("starter", "voltage", "engine"), sense("bank", "voltage", "canopy")))
    for key, source, at in (("starter", "B0", "engine"), ("bank", "B1", "canopy")):
        circuit = circuit_of(found, key)
        (device,) = circuit.devices

        assert (circuit.source, device.position, device.end) == (source, at, "source")
        assert device.rating_a <= circuit.ampacity_a
        assert circuit.fault_a is not None
        assert (device.breaking_a or 0) >= circuit.fault_a
        # one conductor: a return of its own would lie beside the negatives, past the shunt, and carry what it cannot
        assert circuit.negative == ""
        ends = {end.at for p in found.pieces if p.circuit == circuit.tag for end in p.ends}
        assert ends == {source, device.tag, circuit.target}
        assert len([p for p in found.pieces if p.circuit == circuit.tag]) == 2
    # the starter battery's post, with 14.4 V behind 6 mΩ and 150 A beside
    assert circuit_of(found, "starter").fault_a == pytest.approx(2550, rel=1e-3)


def test_the_starter_battery_is_read_without_an_engine_charger_too() -> None:
    raw = watching(sense("starter", "voltage", "engine"))
    raw["wishes"] = {"system_v": 12, "engine_charging": False}
    found = made(raw)

    assert circuit_of(found, "starter").source == "B0"
    assert "B0" in {n.tag for n in found.nodes}


def test_a_voltage_read_where_nothing_sits_is_read_at_the_main_bus_and_told() -> None:
    found = made(watching(sense("nowhere", "voltage", "roof")))

    assert circuit_of(found, "nowhere").source == "W1"
    assert "sense_nothing_there" in codes(found)


def test_a_signal_over_the_hitch_takes_no_charging_contact() -> None:
    raw = caravan(*SHELF)
    raw["senses"] = [sense("cab", "temperature", "cab")]
    found = made(raw)
    bare = appraise(read(caravan(*SHELF)))

    assert circuit_of(found, "cab").crosses_hitch
    assert circuit_of(found, "cab").pin_pairs == 0
    assert [c.part for c in found.chosen if c.role == "coupling"] == [
        c.part for c in bare.chosen if c.role == "coupling"
    ]
    assert "signal_over_hitch" in codes(found)


def laid(*rows: tuple[str, int, int], senses: int = 3) -> Appraisal:
    many = [sense(f"tank_{i}", "tank") for i in range(senses)]
    inputs = [{"sense": key, "unit": unit, "channel": channel} for key, unit, channel in rows]
    return made(watching(*many, inputs=inputs))


def test_an_input_given_by_a_person_is_kept_and_the_rest_go_round_it() -> None:
    found = laid(("tank_0", 1, 2), ("tank_2", 1, 8))
    by_key = {u.key: (u.channel, u.laid) for u in found.inputs if u.key}

    assert by_key == {"tank_0": (2, True), "tank_1": (1, False), "tank_2": (8, True)}


@pytest.mark.parametrize(
    ("rows", "code"),
    [
        ((("tank_0", 1, 9),), "input_not_there"),
        ((("tank_0", 2, 1),), "input_not_there"),
        ((("tank_0", 1, 1), ("tank_1", 1, 1)), "input_taken"),
        ((("gone", 1, 1),), "input_for_nothing"),
    ],
)
def test_an_input_that_does_not_fit_is_told_and_every_sense_still_has_one(rows: Any, code: str) -> None:
    found = laid(*rows)

    assert code in codes(found)
    assert {u.key for u in found.inputs if u.key} == {"tank_0", "tank_1", "tank_2"}


WATCHED = st.sampled_from(sorted(INPUT_OF))


@given(
    st.lists(WATCHED, max_size=9),
    st.lists(st.dictionaries(st.sampled_from(sorted(INPUT_OF.values())), st.integers(1, 3)), max_size=3),
    st.lists(st.tuples(st.integers(0, 9), st.integers(1, 3), st.integers(1, 4)), max_size=4, unique_by=lambda r: r[0]),
)
@settings(max_examples=60, deadline=None)
def test_inputs_are_given_once_to_their_kind_and_none_is_left_while_one_waits(
    watched: list[str], parts: list[dict[str, int]], rows: list[tuple[int, int, int]]
) -> None:
    raw = sunny() | {
        "senses": [sense(f"s{i}", what) for i, what in enumerate(watched)],
        "inputs": [{"sense": f"s{i}", "unit": u, "channel": c} for i, u, c in rows],
    }
    brief = BARE.model_copy(update={name: getattr(read(raw), name) for name in ("senses", "inputs")})
    units = [Unit(i, CHOSEN, 0, inputs) for i, inputs in enumerate(parts, start=1)]
    found, _ = give_inputs(brief, units, lambda unit, _: (0.0, float(unit.number)))

    assert len(found) == sum(sum(p.values()) for p in parts)
    assert len({(g.unit.number, g.kind, g.channel) for g in found}) == len(found)
    used = [g.sense for g in found if g.sense]
    assert len({s.key for s in used}) == len(used)
    assert all(g.kind == INPUT_OF[g.sense.what] for g in found if g.sense)
    for kind in set(INPUT_OF.values()):
        asked = sum(INPUT_OF[w] == kind for w in watched)  # type: ignore[index]
        have = sum(p.get(kind, 0) for p in parts)
        assert sum(INPUT_OF[s.what] == kind for s in used) == min(asked, have)


BARE: Brief = read(sunny())
CHOSEN = next(c for c in appraise(BARE).chosen if c.role == "monitor")


def test_the_library_watches_four_tanks_two_temperatures_and_three_voltages() -> None:
    raw = sunny()
    senses = [sense(f"tank_{i}", "tank") for i in range(4)] + [sense(f"t_{i}", "temperature") for i in range(2)]
    senses += [sense("starter", "voltage", "engine"), sense("bank", "voltage", "canopy"), sense("end", "voltage")]
    found = made({**raw, "catalogue": catalogue(), "senses": senses})

    assert not [s for s in found.shortfalls if s.need.code in ("sensing", "sensor")]
    assert {u.key for u in found.inputs if u.key} == {s["key"] for s in senses}
    assert all(circuit_of(found, s["key"]) for s in senses)


def test_a_pair_has_no_colour_that_means_a_pole_or_earth_while_there_is_another() -> None:
    raw = {**sunny(), "senses": [sense("water", "tank")], "catalogue": catalogue()}
    circuit = circuit_of(made(raw), "water")

    assert circuit.area_mm2 == 0.75
    assert {circuit.colour, circuit.negative_colour} <= {"white", "grey", "green", "violet"}
    assert circuit.colour != circuit.negative_colour
    few = circuit_of(made(watching(sense("water", "tank"))), "water")  # that shelf has red and black alone
    assert (few.area_mm2, few.colour, few.negative_colour) == (1.5, "red", "black")


def test_a_board_is_read_before_an_appliance_beside_it() -> None:
    raw = watching(sense("board", "voltage", "rear"), sense("lamp", "voltage", "roof"))
    raw["vehicle"]["places"] |= {"board": "rear"}
    raw["loads"][1]["position"] = raw["loads"][2]["position"] = "roof"
    found = made(raw)
    whats = {n.tag: n.what for n in found.nodes}

    assert whats[circuit_of(found, "board").source] == "board"
    assert whats[circuit_of(found, "lamp").source] == "load"
