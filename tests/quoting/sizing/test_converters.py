"""Converters of the 12 V loads of a 24 V system: which, how many, what they take, what protects behind them."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from catalog.kinds.capabilities import Converting
from quoting.sizing.appraisal import Appraisal
from quoting.sizing.appraise import appraise
from quoting.sizing.conductors import ampacity_a
from quoting.sizing.converters import carries, circuits_behind, continuous_a, input_a, shared_out
from quoting.sizing.needs import Behind, ConverterNeed
from tests.quoting.sizing.systems_case import converter, read, truck
from tests.quoting.sizing.worded import assert_sums_follow, assert_worded

SLOW = settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def without_converters(raw):
    return {**raw, "catalogue": [p for p in raw["catalogue"] if p["kind"] != "voltage_converter"]}


def codes(found: Appraisal) -> set[str]:
    return {f.code for f in found.findings}


def circuit(found: Appraisal, name: str):
    return next(c for c in found.circuits if c.name == name)


@pytest.fixture(scope="module")
def example() -> Appraisal:
    return appraise(read(truck()))


def test_loads_of_12_v_hang_on_a_board_behind_the_converter(example):
    (chosen,) = [c for c in example.chosen if c.role == "converter"]

    assert (chosen.part, chosen.quantity) == ("tarn_20", 1)
    feed, out = circuit(example, "Converter input"), circuit(example, "Converter output")
    assert (feed.source, feed.target, out.source) == ("W1", "U4", "U4")
    assert {c.name for c in example.circuits if c.source == out.target} == {"Lights", "Radio"}
    assert "converter_needed" not in codes(example)
    assert [s for s in example.shortfalls if s.need.code == "converting"] == []
    assert_worded(example)
    assert_sums_follow(example)


def test_current_is_counted_at_12_v_and_the_input_at_the_lowest_bus_voltage(example):
    # 48 W + 96 W at 12 V; the radio starts at twice its 8 A; 144 W / 0.92 / (24.0 V less 5 %)  [D]
    assert example.value("converter.asked_a") == pytest.approx(12.0)
    assert example.value("converter.peak_a") == pytest.approx(20.0)
    assert circuit(example, "Lights").current_a == pytest.approx(4.0)
    assert circuit(example, "Converter input").current_a == pytest.approx(144 / 0.92 / (24.0 * 0.95), abs=0.001)


def test_the_chosen_efficiency_replaces_the_policys_and_the_no_load_draw_is_a_line():
    good = appraise(read(truck()))
    poor = appraise(read({**truck(), "catalogue": [*without_converters(truck())["catalogue"],
                                                   converter(efficiency_ratio=0.8)]}))  # fmt: skip
    none = appraise(read(without_converters(truck())))

    by = [{x.key: x for x in found.loads} for found in (good, poor, none)]
    assert by[0]["radio"].energy_wh == pytest.approx(192 / 0.92)
    assert by[1]["radio"].energy_wh == pytest.approx(192 / 0.8)
    assert by[2]["radio"].energy_wh == pytest.approx(192 / 0.9)  # the policy's
    assert by[0]["pump"].energy_wh == by[1]["pump"].energy_wh
    assert by[0]["own:converter"].energy_wh == pytest.approx(0.6 * 24)
    assert "own:converter" not in by[2]


def test_without_a_converter_in_the_catalogue_the_need_is_said_twice_over():
    found = appraise(read(without_converters(truck())))

    assert [s.code for s in found.shortfalls if s.need.code == "converting"] == ["none_of_kind"]
    (said,) = [f for f in found.findings if f.code == "converter_needed"]
    assert said.params["current_a"] == pytest.approx(12.0)
    assert_worded(found)


@pytest.mark.parametrize(("change", "code"), [
    ({"input_max_v": 28.0}, "wrong_voltage"),  # charging reaches 28.8 V
    ({"output_v": 5.0}, "wrong_voltage"),
    ({"continuous_a": 4.0, "peak_a": 6.0}, "too_small"),
    ({"derating_ratio": [[25, 1.0], [45, 0.3]]}, "too_small"),  # the heat of the place
])  # fmt: skip
def test_a_converter_that_does_not_suit_is_a_shortfall(change, code):
    raw = without_converters(truck())
    raw["catalogue"].append(converter(**change))

    found = appraise(read(raw))

    (lack,) = [s for s in found.shortfalls if s.need.code == "converting"]
    assert lack.code == code
    assert all(c.role != "converter" for c in found.chosen)
    assert_worded(found)


def test_loads_are_shared_out_over_converters_by_first_fit():
    raw = without_converters(truck())
    raw["catalogue"].append(converter("tarn_9", 9, 50, peak_a=16))

    found = appraise(read(raw))

    (chosen,) = [c for c in found.chosen if c.role == "converter"]
    assert chosen.quantity == 2  # 8 A and 4 A are more than 9 A together
    boards = [n for n in found.nodes if n.name.startswith("12 V board")]
    assert len(boards) == 2
    assert all(len([c for c in found.circuits if c.source == b.tag]) == 1 for b in boards)
    assert len({n.tag for n in found.nodes}) == len(found.nodes)


def test_the_cheapest_whole_is_taken_not_the_cheapest_piece():
    raw = without_converters(truck())
    raw["catalogue"] += [converter("tarn_9", 9, 70, peak_a=16), converter("tarn_20", 20, 120)]

    found = appraise(read(raw))

    assert next(c for c in found.chosen if c.role == "converter").part == "tarn_20"


def test_where_the_converter_cannot_blow_the_device_its_own_limit_protects(example):
    told = {f.subject: f for f in example.findings if f.code == "converter_limits_fault"}
    radio = circuit(example, "Radio")

    assert radio.tag in told
    carries_a = ampacity_a(radio.area_mm2, radio.insulation_c, radio.ambient_c, radio.bundled, False)
    assert carries_a >= told[radio.tag].params["limit_a"]
    assert circuit(example, "Lights").tag not in told
    out = circuit(example, "Converter output")
    assert out.ampacity_a >= told["converter_output_U4"].params["limit_a"]


def test_no_device_behind_a_converter_is_over_its_conductor_or_fails_to_protect(example):
    for c in example.circuits:
        for d in c.devices:
            if d.what in ("fuse", "breaker"):
                assert d.rating_a <= c.ampacity_a + 0.01, c.tag
    protected = {f.subject for f in example.findings if f.code == "converter_limits_fault"}
    for c in example.circuits:
        if c.source == "W5" and c.tag not in protected:
            assert c.clears_s is not None
            assert c.clears_s <= 5, c.tag


def test_a_converter_sits_with_the_board_or_in_its_own_place(example):
    raw = truck()
    raw["vehicle"]["places"]["converter"] = "rear"

    moved = appraise(read(raw))

    assert circuit(example, "Converter input").to_position == "canopy"
    assert circuit(moved, "Converter input").to_position == "rear"
    assert circuit(moved, "Radio").from_position == "rear"


def test_bill_and_mass_have_the_converter(example):
    (line,) = [x for x in example.bill if x.part == "tarn_20"]

    assert (line.quantity, line.mass_kg, line.rule) == (1, 0.9, "need_converting")
    assert next(e for e in example.expectations if e.key == "converter_output_v").maximum == pytest.approx(13.1)


def test_on_12_v_the_house_bus_feeds_12_v_loads_itself():
    raw = truck()
    raw |= {"wishes": {"system_v": 12}}
    raw["vehicle"] |= {"nominal_v": 12, "hot_idle_v": 13.2, "cranking_v": 10.0}

    found = appraise(read(raw))

    assert all(c.role != "converter" for c in found.chosen)
    assert {c.source for c in found.circuits if c.name in ("Lights", "Radio")} == {"W2", "W3"}


def test_input_current_falls_as_the_bus_rises():
    assert input_a(240, 0.9, 24) > input_a(240, 0.9, 28)
    assert input_a(240, 1.0, 24) == pytest.approx(10.0)


CIRCUITS = st.lists(
    st.builds(
        Behind, key=st.just(""), name=st.just("x"), running_a=st.floats(0.1, 12), at_once_a=st.just(0.0),
        start_a=st.floats(0, 20), start_s=st.floats(0, 4),
    ),
    min_size=1, max_size=9,
).map(lambda found: tuple(
    Behind(f"k{i}", c.name, c.running_a, c.running_a, c.start_a, c.start_s) for i, c in enumerate(found)
))  # fmt: skip


@given(CIRCUITS, st.floats(2, 40), st.floats(1, 3), st.floats(0, 5), st.floats(20, 80))
@settings(deadline=None)
def test_a_converter_always_carries_its_loads(circuits, continuous, peak, seconds, air_c):
    can = Converting(24, 20, 32, 12.5, continuous, peak * continuous, seconds, 0.9, 1.0, False, ((40, 1.0), (80, 0.4)))
    need = ConverterNeed(circuits, continuous_a(circuits), 0.0, 0.0, 24.0, 28.8, air_c)

    shares = shared_out(can, need)

    assert len(shares) <= 6
    assert all(carries(can, air_c, mine) for mine in shares)
    keys = [c.key for mine in shares for c in mine]
    assert len(keys) == len(set(keys))


@given(st.lists(st.tuples(st.floats(5, 200), st.booleans()), min_size=1, max_size=5))
@SLOW
def test_every_12_v_load_is_on_one_circuit_behind_a_converter_or_named(powers):
    raw = truck()
    raw["loads"] = [
        {"key": f"k{i}", "name": f"Load {i}", "position": "rear", "bus": "house12", "at_once": at_once,
         "use": {"way": "steady", "power_w": power, "hours_per_day": 1}}
        for i, (power, at_once) in enumerate(powers)
    ]  # fmt: skip
    brief = read(raw)

    found = appraise(brief)

    behind = {key for c in found.circuits if c.source.startswith("W") and c.source[1:] >= "5" for key in c.loads}
    missing = {s.subject for s in found.shortfalls} | codes(found)
    assert (
        behind == {c.key for c in circuits_behind(brief)}
        or missing & {"converter", "converter_needed"}
        or (any(s.need.code in ("conducting", "protecting") for s in found.shortfalls))
    )


def test_a_converter_of_loads_that_are_let_go_is_awake_with_them():
    raw = truck()
    raw["loads"][2]["always_live"] = False
    raw["loads"][2]["essential"] = False

    asleep, awake = ({x.key: x for x in appraise(read(x)).loads}["own:converter"] for x in (raw, truck()))

    # lights 4 h and radio 2 h, both any time of the day: 6 h of 24 with one of them on  [D]
    assert asleep.energy_wh == pytest.approx(0.6 * 6)
    assert not asleep.always_live
    assert awake.energy_wh == pytest.approx(0.6 * 24)
    assert awake.always_live


def test_each_of_two_converters_is_awake_for_its_own_loads():
    raw = truck()
    raw["catalogue"] = [*without_converters(raw)["catalogue"], converter("tarn_9", 9, peak_a=17)]

    found = appraise(read(raw))

    (chosen,) = [c for c in found.chosen if c.role == "converter"]
    mine = [x for x in found.loads if x.key.startswith("own:converter")]
    assert chosen.quantity == 2
    assert sorted(x.energy_wh for x in mine) == pytest.approx([2.4, 14.4])  # lights 4 h; the radio is always live
    assert_sums_follow(found)
