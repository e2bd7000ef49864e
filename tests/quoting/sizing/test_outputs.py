"""Switched outputs of a design: who hangs where, what a layout changes, what goes off when and with what."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from catalog.kinds.capabilities import Switching
from quoting.sizing.appraisal import Appraisal
from quoting.sizing.appraise import appraise
from quoting.sizing.brief import Brief, read
from quoting.sizing.choice import choose
from quoting.sizing.circuits import Wiring, design_circuits
from quoting.sizing.outputs import bench_of
from quoting.sizing.parts import Catalogue
from quoting.sizing.sharing import circuits_shared, goes_off
from quoting.wording.findings import FINDING
from quoting.wording.outputs import WHY
from tests.quoting.sizing.many_circuits import many_made
from tests.quoting.sizing.wiring_case import brief_of, case, loads, needs, part

SLOW = settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])
MODULE = Switching((30.0, 10.0), 40.0, (12.0,), sheds=True, protects=False)


def wired(raw: dict[str, Any]) -> Wiring:
    brief = brief_of(raw)
    return design_circuits(brief, choose(brief, needs()), loads(brief), needs())


def load(key: str, **change: Any) -> dict[str, Any]:
    use = {"way": "steady", "power_w": change.pop("power_w", 24.0), "hours_per_day": 2.0}
    return {"key": key, "name": key.capitalize(), "position": "rear", "use": use} | change


def audit(*rows: dict[str, Any], **more: Any) -> dict[str, Any]:
    return case(loads=list(rows), **more)


def brief(*rows: dict[str, Any]) -> Brief:
    return read(audit(*rows))


def on(wiring: Wiring) -> dict[str, tuple[int, int]]:
    return {c["circuit_name"]: (c["module"], c["channel"]) for c in wiring.channels}


def codes(wiring: Wiring) -> list[str]:
    return [f.code for f in wiring.findings]


# --- Circuits and groups -----------------------------------------------------------------------------


def test_a_circuit_named_for_both_groups_becomes_two_and_neither_is_both() -> None:
    wiring = wired(audit(load("alarm", circuit="Rear", always_live=True), load("lamp", circuit="Rear"), load("fan")))

    mine = {c.key: (c.group, c.loads) for c in wiring.circuits if c.role == "load" and c.loads}
    assert mine == {
        "load:Rear+live": ("always_live", ("alarm",)),
        "load:Rear": ("away", ("lamp",)),
        "load:fan": ("away", ("fan",)),
    }
    said = next(f for f in wiring.findings if f.code == "circuit_mixes_groups")
    assert (said.level, said.params) == ("warning", {"name": "Rear", "live": "Alarm", "away": "Lamp"})
    assert set(on(wiring)) == {"Lamp", "Fan"}


def test_an_always_live_circuit_is_on_an_output_only_to_be_shed() -> None:
    wiring = wired(audit(load("alarm", always_live=True), load("fridge", always_live=True, shed_below_ratio=0.2)))

    assert set(on(wiring)) == {"Fridge"}


def test_a_circuit_is_on_no_output_when_one_of_its_loads_may_not_be() -> None:
    wiring = wired(audit(load("lamp", circuit="Rear"), load("pump", circuit="Rear", channel=False), load("fan")))

    assert set(on(wiring)) == {"Fan"}


LEVELS = st.none() | st.sampled_from([0.2, 0.3, 0.4])
AUDITS = st.lists(
    st.fixed_dictionaries({
        "always_live": st.booleans(), "shed_below_ratio": LEVELS, "channel": st.booleans(),
        "circuit": st.sampled_from([None, "Rear", "Side"]), "power_w": st.sampled_from([6.0, 24.0, 120.0, 400.0]),
        "bus": st.sampled_from(["house", "house", "usb", "ac", "starter"]),
    }),
    min_size=1, max_size=10,
).map(lambda rows: [load(f"k{i}", **row) for i, row in enumerate(rows)])  # fmt: skip


@given(AUDITS)
@SLOW
def test_nothing_in_the_away_set_is_always_live_and_no_limit_is_passed(rows: list[dict[str, Any]]) -> None:
    asked = read(audit(*rows))
    wiring = design_circuits(asked, choose(asked, needs()), loads(asked), needs())
    by_key = {x.key: x for x in asked.loads}

    circuits = {c.tag: c for c in wiring.circuits if c.role == "load" and c.group != "none"}
    for circuit in circuits.values():
        live = {by_key[key].always_live for key in circuit.loads}
        assert len(live) <= 1
        assert not live or circuit.group == ("always_live" if True in live else "away")
    seen = {(c["module"], c["channel"]) for c in wiring.channels}
    assert len(seen) == len(wiring.channels)
    for row in wiring.channels:
        circuit = circuits[row["circuit"]]
        device_a = max(d.rating_a for d in circuit.devices if d.what != "channel")
        assert max(circuit.current_a, device_a) <= row["limit_a"] + 1e-9
        assert circuit.group == "away" or row["shed_below_ratio"] is not None
    for module in wiring.modules:
        mine = [c["load_a"] for c in wiring.channels if c["module"] == module.number]
        assert sum(mine) == pytest.approx(module.load_a, abs=0.01)
        assert module.load_a <= module.total_a
        assert len(mine) + len(module.free) == len(module.limits_a)
    hanging = {c["circuit"] for c in wiring.channels}
    lacking = {s.subject.split()[0] for s in wiring.shortfalls if s.need.code == "switching"}
    wanting = {tag for tag, c in circuits.items() if c.group == "away" and all(by_key[k].channel for k in c.loads)}
    assert not wiring.modules or wanting <= hanging | lacking
    shed = {tag for group in wiring.shed_groups for tag in group.circuits}
    assert shed == {c["circuit"] for c in wiring.channels if c["shed_below_ratio"] is not None}


# --- Shedding ----------------------------------------------------------------------------------------


def test_a_threshold_counts_only_on_an_output_that_sheds() -> None:
    asked = brief(
        load("fan", shed_below_ratio=0.3), load("kettle", bus="ac", shed_below_ratio=0.3),
        load("radio", bus="starter", shed_below_ratio=0.3), load("pump", channel=False, shed_below_ratio=0.3),
        load("winch", power_w=400, shed_below_ratio=0.3),
    )  # fmt: skip

    assert goes_off(asked, MODULE) == {"fan": 0.3}  # 400 W at 12 V are 33 A, over every output
    assert goes_off(asked, None) == {}
    assert goes_off(asked, Switching((30.0,), 30.0, (12.0,), sheds=False, protects=False)) == {}


def test_loads_of_one_circuit_go_off_together_at_the_first_of_their_thresholds() -> None:
    asked = brief(
        load("fan", circuit="Rear", shed_below_ratio=0.2), load("lamp", circuit="Rear", essential=True),
        load("heater", circuit="Rear", shed_below_ratio=0.4), load("alarm", circuit="Rear", always_live=True),
    )  # fmt: skip

    assert goes_off(asked, MODULE) == {"fan": 0.4, "lamp": 0.4, "heater": 0.4}
    assert [c.key for c in circuits_shared(asked, {})] == ["Rear", "Rear+live"]


def test_what_sheds_nothing_and_what_goes_off_with_others_is_said() -> None:
    wiring = wired(
        audit(
            load("kettle", bus="ac", shed_below_ratio=0.3), load("radio", bus="starter", shed_below_ratio=0.3),
            load("pump", channel=False, shed_below_ratio=0.3), load("fan", circuit="Rear", shed_below_ratio=0.2),
            load("lamp", circuit="Rear", essential=True),
        )
    )  # fmt: skip

    said = {(f.code, f.subject, f.level) for f in wiring.findings}
    assert said >= {
        ("sheds_nothing_inverter", "kettle", "warning"), ("sheds_nothing_starter", "radio", "warning"),
        ("sheds_nothing_output", "pump", "warning"), ("goes_off_with_circuit", "lamp", "warning"),
    }  # fmt: skip


@pytest.mark.parametrize("more", [{}, {"volts": 24, "converters": 2}, {"trailer": True, "starter_loads": 3}])
def test_shed_groups_agree_with_the_simulation_and_the_settings(more: dict[str, Any]) -> None:
    asked, found = many_made(20, **more)
    policy, per_12 = asked.policy, asked.wishes.system_v / 12

    loads_of = {c.tag: set(c.loads) for c in found.circuits}
    ours = [
        (g.below_ratio, g.restore_ratio, set().union(*(loads_of[t] for t in g.circuits))) for g in found.shed_groups
    ]
    simulated = [(s.below_ratio, s.restore_ratio, set(s.keys)) for s in found.outlook.sheds]
    assert ours == sorted(simulated, key=lambda s: -s[0])
    assert ours
    assert [g.order for g in found.shed_groups] == list(range(1, len(ours) + 1))

    module = next(c for c in found.chosen if c.role == "switching")
    entered = {v for k, v in module.setting.items() if k.startswith("shed_")}
    assert entered == {below for below, _, _ in ours}
    assert module.setting["back_over_ratio"] == policy.shed_restore_ratio
    for group in found.shed_groups:
        assert group.backstop_v == pytest.approx(policy.backstop_v_per_12 * per_12)
        assert module.setting["backstop_v"] == pytest.approx(group.backstop_v)
        assert module.setting["backstop_restore_v"] == pytest.approx(group.backstop_restore_v)
        assert module.setting["backstop_delay_min"] == group.backstop_delay_min
        assert set(group.outputs) == {c["tag"] for c in found.channels if c["circuit"] in group.circuits}


# --- A person's layout -------------------------------------------------------------------------------


def laid(*places: tuple[str, int, int], **more: Any) -> dict[str, Any]:
    return case(layout=[{"circuit": c, "module": m, "channel": n} for c, m, n in places], **more)


def test_a_layout_stands_where_it_fits() -> None:
    before, wiring = on(wired(case())), wired(laid(("load:pump", 1, 2)))

    assert on(wiring)["Water pump"] == (1, 2) != before["Water pump"]
    assert set(on(wiring)) == set(before)
    assert [c["circuit_name"] for c in wiring.channels if c["laid"]] == ["Water pump"]
    assert not [code for code in codes(wiring) if code.startswith("laid_")]


def test_a_place_that_does_not_fit_is_said_and_another_given() -> None:
    # 160 W and 18 W at 12 V are 14.8 A, over an output of 10 A
    raw = laid(("load:Rear", 1, 5), ("load:gone", 1, 1), ("load:fridge", 1, 60))
    raw["loads"][1]["use"]["power_w"] = 160.0
    wiring = wired(raw)

    said = {f.subject: f for f in wiring.findings if f.code.startswith("laid_")}
    assert {key: f.code for key, f in said.items()} == {
        "load:Rear": "laid_over_output", "load:gone": "laid_no_such_circuit", "load:fridge": "laid_no_such_output",
    }  # fmt: skip
    assert said["load:Rear"].params["limit_a"] == 10.0
    assert said["load:Rear"].params["over_a"] == pytest.approx(said["load:Rear"].params["current_a"] - 10.0, abs=0.001)
    assert on(wiring)["Rear"] != (1, 5)


def test_spares_that_a_layout_leaves_small_are_said() -> None:
    # by itself the 25 A outputs stay free
    keys = [("load:pump", 1, 1), ("load:Rear", 1, 2), ("load:fridge", 1, 3)]
    raw = laid(*keys)
    raw["catalogue"] = [p for p in raw["catalogue"] if p["key"] != "quoin_switch_8"]
    raw["catalogue"].append(
        part("quoin_switch_4", "switched_output_module", 200, channel_limits_a=[25, 25, 15, 10], total_a=60,
             nominal_v=["12"], sheds=True, protects=False)
    )  # fmt: skip
    wiring = wired(raw)

    said = next(f for f in wiring.findings if f.code == "outputs_spare_smaller")
    assert (said.level, said.params) == ("info", {"left_a": 10.0, "by_itself_a": 25.0})


def test_modules_that_are_kept_and_too_few_name_the_circuit_and_by_how_much() -> None:
    rows = [load(f"lamp{i}", power_w=60.0 + i) for i in range(9)]
    raw = audit(*rows, kept=[{"part": "quoin_switch_8", "quantity": 1, "role": "switching"}])
    wiring = wired(raw)

    short = [s for s in wiring.shortfalls if s.need.code == "switching"]
    assert [s.subject.split(" ", 1)[1] for s in short] == ["Lamp8"]
    assert (short[0].params["best_value"], short[0].params["short_by"]) == (0.0, short[0].params["asked"])
    assert codes(wiring).count("outputs_no_spare") == 1


def test_a_module_serves_one_bus() -> None:
    """12 V behind a converter and 24 V of the house: a module has one supply."""
    _, found = many_made(20, volts=24, converters=2)
    source = {c.tag: c.source if c.source not in ("W2", "W3") else "house" for c in found.circuits}
    by_module: dict[int, set[str]] = {}
    for row in found.channels:
        by_module.setdefault(row["module"], set()).add(source[row["circuit"]])

    assert all(len(buses) == 1 for buses in by_module.values())
    assert len({bus for buses in by_module.values() for bus in buses}) == 3


# --- A kept design -----------------------------------------------------------------------------------


@pytest.mark.parametrize("more", [{}, {"volts": 24, "converters": 2}, {"trailer": True}])
def test_a_kept_design_is_laid_out_as_it_was_without_working_it_out(more: dict[str, Any]) -> None:
    asked, found = many_made(20, **more)
    again = Appraisal.model_validate_json(found.model_dump_json())

    bench = bench_of(asked, again)

    places = {key: (m + 1, c + 1) for key, (m, c) in bench.try_layout(()).places.items()}
    assert places == {c["key"]: (c["module"], c["channel"]) for c in found.channels}


def test_a_design_from_before_outputs_could_be_laid_has_no_bench() -> None:
    asked, found = many_made(5)
    old = [c.model_copy(update={"key": ""}) for c in found.circuits]

    assert bench_of(asked, found.model_copy(update={"circuits": tuple(old)})) is None


def test_the_whole_design_takes_a_layout() -> None:
    asked, found = many_made(5)
    row = found.channels[0]
    module = found.modules[0]
    free = next(c for c in reversed(module.free) if module.limits_a[c - 1] >= row["limit_a"])
    layout = [{"circuit": row["key"], "module": 1, "channel": free}]

    again = appraise(read({**asked.model_dump(mode="json"), "layout": layout}))

    mine = next(c for c in again.channels if c["key"] == row["key"])
    assert (mine["module"], mine["channel"], mine["laid"]) == (1, free, True)
    assert Catalogue.of(asked).can(mine["part"], Switching).channel_limits_a[free - 1] == mine["limit_a"]


def test_every_refusal_and_finding_has_its_words() -> None:
    assert {f"laid_{code}" for code in WHY} <= set(FINDING)
    for code in ("outputs_no_spare", "outputs_spare_smaller", "goes_off_with_circuit", "circuit_mixes_groups"):
        assert code in FINDING
