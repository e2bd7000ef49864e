"""Every rule of a circuit over systems of 5 to 60 circuits, over the library's, over random ones; and that each check
finds what is wrong when something is."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from functools import lru_cache
from typing import Any

import networkx
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from quoting.sizing.appraisal import Appraisal, Circuit, Device
from quoting.sizing.appraise import appraise
from quoting.sizing.brief import Brief, read
from quoting.wording.rules import RULE
from tests.quoting.sizing import library_case
from tests.quoting.sizing.many_circuits import many, many_made
from tests.quoting.sizing.systems_case import caravan, truck
from tests.quoting.sizing.systems_case import read as read_case
from tests.quoting.sizing.wagon import wagon
from tests.quoting.sizing.wiring_props import checks
from tests.quoting.sizing.wiring_props.checks import CHECKS
from tests.quoting.sizing.wiring_props.drop import drops
from tests.quoting.sizing.wiring_props.network import Network, cold_network

Check = Callable[[Brief, Appraisal], Iterator[str]]


def made_of(brief: Brief) -> tuple[Brief, Appraisal]:
    return brief, appraise(brief)


SYSTEMS: dict[str, Callable[[], tuple[Brief, Appraisal]]] = {
    "5 circuits": lambda: many_made(5, ac=False),
    "20 circuits, 4 batteries, 3 strings": lambda: many_made(20, batteries=4, strings=3),
    "20 circuits, 24 V of pairs, 3 converters": lambda: many_made(
        20, volts=24, series=True, batteries=2, converters=3, senses=4
    ),
    "12 circuits, trailer, senses, starter loads": lambda: many_made(12, trailer=True, senses=6, starter_loads=4),
    "60 circuits": lambda: many_made(60, batteries=2, senses=6, starter_loads=2),
    "the example": lambda: made_of(wagon()),
    "library, 24 V flooded": lambda: made_of(library_case.brief(24, "flooded", "medium")),
    "caravan": lambda: made_of(read_case(caravan())),
    "truck": lambda: made_of(read_case(truck())),
}


@lru_cache(maxsize=len(SYSTEMS))
def system(name: str) -> tuple[Brief, Appraisal]:
    return SYSTEMS[name]()


@pytest.mark.parametrize("check", CHECKS, ids=lambda c: c.__name__)
@pytest.mark.parametrize("name", SYSTEMS)
def test_rule_holds(name: str, check: Check) -> None:
    brief, made = system(name)

    assert made.circuits
    assert list(check(brief, made)) == []


@pytest.mark.parametrize("name", SYSTEMS)
def test_every_line_of_the_bill_says_in_words_why_it_is_there(name: str) -> None:
    _, made = system(name)

    assert {b.rule for b in made.bill} - set(RULE) == set()
    assert {c.decided_by for c in made.circuits} - set(RULE) == set()


ANY_SYSTEM = st.fixed_dictionaries(
    {
        "circuits": st.integers(3, 16),
        "volts": st.sampled_from([12, 24]),
        "batteries": st.integers(1, 4),
        "series": st.booleans(),
        "strings": st.integers(1, 4),
        "trailer": st.booleans(),
        "senses": st.integers(0, 6),
        "converters": st.integers(0, 2),
        "starter_loads": st.integers(0, 4),
        "ac": st.booleans(),
    }
)


def shaken(system: dict[str, Any], seed: int) -> Brief:
    """A system with other lengths, bundles, air and powers."""
    at_24 = system["volts"] == 24
    raw = many(**{**system, "series": at_24 and system["series"], "converters": at_24 * system["converters"]})
    chance = random.Random(seed)
    for run in raw["vehicle"]["runs"]:
        run["length_m"] = round(run["length_m"] * chance.uniform(0.3, 1.8), 2)
        run["bundled"] = chance.randint(1, 8)
    for place in raw["vehicle"]["positions"]:
        place["ambient_c"] += chance.randint(-10, 15)
    for load in raw["loads"]:
        load["use"]["power_w"] *= chance.choice([0.3, 1.0, 1.0, 1.6])
    return read(raw)


@given(ANY_SYSTEM, st.integers(0, 9999))
@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_every_rule_holds_for_random_systems(system: dict[str, Any], seed: int) -> None:
    brief = shaken(system, seed)
    made = appraise(brief)
    assume(not any(s.subject.startswith("Battery") for s in made.shortfalls))  # a bank without its leads is no system

    wrong = {check.__name__: found for check in CHECKS if (found := list(check(brief, made)))}
    assert wrong == {}


def changed(made: Appraisal, tag: str, **values: Any) -> Appraisal:
    circuits = tuple(c.model_copy(update=values) if c.tag == tag else c for c in made.circuits)
    return made.model_copy(update={"circuits": circuits})


def first(made: Appraisal, role: str) -> Circuit:
    return next(c for c in made.circuits if c.role == role and checks.opening(c))


def with_device(made: Appraisal, circuit: Circuit, **values: Any) -> Appraisal:
    device = checks.opening(circuit)[0]
    other = tuple(d.model_copy(update=values) if d.tag == device.tag else d for d in circuit.devices)
    return changed(made, circuit.tag, devices=other)


def without_device(made: Appraisal, circuit: Circuit) -> Appraisal:
    """The same with a device taken out of the circuit, its two lengths joined into one."""
    gone: Device = checks.opening(circuit)[0]
    pieces = list(made.pieces)
    i = next(n for n, p in enumerate(pieces) if p.circuit == circuit.tag and p.ends[1].at == gone.tag)
    one, two = pieces[i], pieces[i + 1]
    ends = (one.ends[0], two.ends[1])
    pieces[i : i + 2] = [one.model_copy(update={"length_m": one.length_m + two.length_m, "ends": ends})]
    left = tuple(d for d in circuit.devices if d.tag != gone.tag)
    return changed(made, circuit.tag, devices=left).model_copy(update={"pieces": tuple(pieces)})


WRONGS: dict[Check, Callable[[Appraisal], Appraisal]] = {
    checks.fuse_under_ampacity_under_table: lambda m: with_device(m, first(m, "load"), rating_a=500.0),
    checks.breaks_the_fault: lambda m: with_device(m, first(m, "distribution"), breaking_a=100.0),
    checks.protected_at_each_end: lambda m: without_device(m, first(m, "charger_output")),
    checks.reduced_conductors_have_their_own_device: lambda m: without_device(m, first(m, "battery_main")),
    checks.outputs_within_their_module: lambda m: changed(m, m.channels[0]["circuit"], current_a=400.0),
    checks.nothing_away_is_always_live: lambda m: changed(
        m, next(c.tag for c in m.circuits if c.group == "away" and c.loads), group="always_live"
    ),
    checks.parallel_leads_are_alike: lambda m: changed(m, first(m, "battery_main").tag, run_m=2.0),
    checks.pieces_add_up_to_their_runs: lambda m: changed(m, first(m, "load").tag, run_m=99.0),
    checks.ends_fit: lambda m: m.model_copy(
        update={
            "pieces": tuple(
                p.model_copy(update={"ends": tuple(e.model_copy(update={"terminal": ""}) for e in p.ends)})
                for p in m.pieces
            )
        }
    ),
    checks.bill_is_counted_from_pieces: lambda m: m.model_copy(update={"pieces": m.pieces[:-3]}),
    checks.every_node_is_on_schedule_and_bill: lambda m: m.model_copy(update={"circuits": m.circuits[:-1]}),
    checks.every_line_of_the_bill_is_somewhere: lambda m: m.model_copy(update={"chosen": (), "nodes": ()}),
    checks.every_device_has_its_holder_and_spare: lambda m: m.model_copy(
        update={"bill": tuple(b for b in m.bill if b.rule != "holder")}
    ),
    checks.bars_have_studs_enough: lambda m: m.model_copy(
        update={
            "nodes": tuple(
                n.model_copy(update={"params": {**n.params, "studs": 2}}) if "studs" in n.params else n for n in m.nodes
            )
        }
    ),
}


@pytest.mark.parametrize("check", CHECKS, ids=lambda c: c.__name__)
def test_check_finds_what_is_wrong(check: Check) -> None:
    brief, made = system("20 circuits, 4 batteries, 3 strings")

    assert list(check(brief, WRONGS[check](made)))


def test_a_fault_by_hand_is_what_the_network_gives() -> None:
    """D: 12.8 V behind 4 mΩ, then 2.716 mΩ to the short: 1906 A."""
    net = Network(batteries=[(("B1", "+"), ("B1", "-"), 12.8, 0.004)], resistors=[(("B1", "+"), ("W1", "+"), 0.002716)])

    (amps,) = net.solve().added_a([(("W1", "+"), ("B1", "-"), 0.0)])
    assert amps == pytest.approx(1906, abs=0.5)


@pytest.mark.parametrize("name", ["5 circuits", "60 circuits", "12 circuits, trailer, senses, starter loads"])
def test_drop_to_each_appliance_is_what_the_network_loses(name: str) -> None:
    """Nodal analysis with coincident currents, warm: within 0.1 % of what is said, from the post to the appliance."""
    found = list(drops(*system(name)))

    assert found
    for tag, network_v, said_v in found:
        assert said_v == pytest.approx(network_v, rel=1e-3, abs=2e-4), tag


def test_network_agrees_with_a_general_graph_library() -> None:
    """L: NetworkX's resistance distance between two spots is what a short between them sees; one battery, I = E / R."""
    brief, made = system("5 circuits")
    wired = cold_network(brief, made)
    emf_v, ohm = 14.2, 0.003
    wired.network.batteries = [(("B1", "+"), ("B1", "-"), emf_v, ohm)]
    graph = networkx.Graph()
    for a, b, r in [*wired.network.resistors, (("B1", "+"), ("B1", "-"), ohm)]:
        before = graph.edges[a, b]["s"] if graph.has_edge(a, b) else 0.0
        graph.add_edge(a, b, s=before + 1 / r)
    house = graph.subgraph(networkx.node_connected_component(graph, ("B1", "+")))
    solved = wired.network.solve()

    compared = 0
    for tag, (_, _, beside) in wired.devices.items():
        spot = (tag, "out")
        if spot in house and beside in house and compared < 6:
            seen_ohm = networkx.resistance_distance(house, spot, beside, weight="s", invert_weight=False)
            (amps,) = solved.added_a([(spot, beside, 0.0)])
            assert amps == pytest.approx(emf_v / seen_ohm, rel=1e-3), tag
            compared += 1
    assert compared == 6
