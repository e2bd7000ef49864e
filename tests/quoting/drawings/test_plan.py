from __future__ import annotations

from types import SimpleNamespace

from quoting.drawings.reading import read

from .samples import circuit, node, system


def test_a_housing_with_three_inputs_takes_engine_then_sun_then_mains():
    plan = read(system(3))

    (unit,) = plan.units
    assert [supply.node.tag for supply in unit.supplies] == ["G1", "PV1", "X0"]
    assert unit.supplies[0].starter.tag == "B0"
    assert unit.supplies[2].circuit is None
    assert [output.tag for output in unit.outputs] == ["L14"]


def test_units_of_their_own_stand_in_the_same_order():
    plan = read(system(3, separate=True))

    assert [(u.node.tag, u.supplies[0].node.tag) for u in plan.units] == [("U1", "G1"), ("U2", "PV1"), ("U3", "X0")]


def test_an_inlet_goes_to_the_unit_it_says_it_feeds():
    made = system(1, separate=True)
    nodes = [n.model_copy(update={"params": {**n.params, "feeds": "U1"}}) if n.tag == "X0" else n for n in made.nodes]
    circuits = [c for c in made.circuits if c.source != "X0"]

    plan = read(SimpleNamespace(nodes=tuple(nodes), circuits=tuple(circuits)))

    assert [s.node.tag for s in plan.units[0].supplies] == ["G1", "X0"]


def test_the_main_bus_is_the_one_that_sources_and_boards_meet():
    plan = read(system(40, batteries=4))

    assert plan.bus.tag == "W1"
    assert (plan.link.tag, plan.main.tag) == ("W5", "L29")
    assert [store.node.tag for store in plan.stores] == ["B1", "B2", "B3", "B4"]
    assert (plan.negative.tag, plan.bond.tag, plan.body.tag) == ("N1", "L90", "W0")


def test_a_board_behind_a_converter_keeps_both_ways():
    plan = read(system(6, converter=True))

    board = next(b for b in plan.boards if b.node.tag == "W4")
    assert (board.feeder.tag, board.through.tag, board.onward.tag) == ("L33", "U8", "L34")
    assert [row.circuit.tag for row in board.rows] == ["C5", "C6"]


def test_an_appliance_on_the_main_bus_is_a_row_of_the_bus():
    made = system(1)
    winch = node("C70", "load", "Winch")
    way = circuit("C70", "load", "W1", "C70", name="Winch")

    plan = read(SimpleNamespace(nodes=(*made.nodes, winch), circuits=(*made.circuits, way)))

    direct = next(b for b in plan.boards if b.is_bus)
    assert [(row.circuit.tag, row.load.tag) for row in direct.rows] == [("C70", "C70")]


def test_each_node_and_circuit_has_exactly_one_place():
    made = system(20, batteries=3, separate=True, converter=True, strings=2)

    plan = read(made)

    nodes = [plan.bus, plan.monitor, plan.body, plan.negative, plan.link, *plan.others]
    nodes += [store.node for store in plan.stores] + [i.node for i in plan.inversions]
    nodes += [outlet for i in plan.inversions for outlet in i.outlets]
    circuits = [plan.main, plan.bond, *plan.notes, *(store.circuit for store in plan.stores)]
    for unit in plan.units:
        nodes += [unit.node] + [n for s in unit.supplies for n in (s.node, s.starter) if n]
        circuits += [*unit.outputs, *(s.circuit for s in unit.supplies if s.circuit)]
    for board in plan.boards:
        nodes += [board.node, *([board.through] if board.through else []), *(r.load for r in board.rows)]
        circuits += [board.feeder, *([board.onward] if board.onward else []), *(r.circuit for r in board.rows)]
    for inversion in plan.inversions:
        nodes += [row.load for row in inversion.rows]
        circuits += [inversion.feed, *(row.circuit for row in inversion.rows)]
    assert sorted(n.tag for n in nodes) == sorted(n.tag for n in made.nodes)
    assert sorted(c.tag for c in circuits) == sorted(c.tag for c in made.circuits)
    assert plan.others == ()
    assert plan.notes == ()
