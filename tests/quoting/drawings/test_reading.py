"""What is read out of nodes and circuits that older pictures had no place for."""

from __future__ import annotations

from types import SimpleNamespace

from quoting.drawings.reading import read

from .samples import circuit, device, node, system, whole


def test_each_node_and_circuit_of_everything_has_exactly_one_place():
    made = whole(20, batteries=3, separate=True, converter=True, strings=2, senses=7)

    plan = read(made)

    nodes = [plan.bus, plan.monitor, plan.body, plan.negative, plan.link, *plan.others, *plan.zone.nodes]
    nodes += [store.node for store in plan.stores] + [i.node for i in plan.inversions]
    circuits = [plan.main, plan.bond, *plan.notes, *(store.circuit for store in plan.stores)]
    for unit in plan.units:
        nodes += [unit.node, *(n for s in unit.supplies if not s.interrupted for n in (s.node, s.starter) if n)]
        circuits += [*unit.outputs, *(s.circuit for s in unit.supplies if s.circuit)]
    for board in plan.boards:
        nodes += [] if board.refers else [board.node]
        nodes += [*([board.through] if board.through else []), *(row.load for row in board.rows if row.load)]
        circuits += [c for c in (board.feeder, board.onward) if c] + [row.circuit for row in board.rows]
    circuits += [inversion.feed for inversion in plan.inversions]
    assert sorted(n.tag for n in nodes) == sorted(n.tag for n in made.nodes)
    assert sorted(c.tag for c in circuits) == sorted(c.tag for c in made.circuits)


def test_the_ac_side_is_a_zone_with_charger_and_inverter_as_guests():
    plan = read(whole(3, separate=True))

    assert {n.tag for n in plan.zone.nodes} == {"X0", "RC1", "RC2", "CO1", "AC1", "AC2"}
    assert {n.tag for n in plan.zone.guests} == {"U3", "U9"}
    charger = next(u for u in plan.units if u.node.tag == "U3")
    assert [(s.node.tag, s.interrupted) for s in charger.supplies] == [("U3", True)]
    assert [m.port for m in plan.mentions["U9"]] == ["ac:U9"]


def test_a_starter_board_hangs_on_the_starter_battery_by_an_interrupted_line():
    plan = read(whole(3))

    board = next(b for b in plan.boards if b.node.tag == "W8")
    assert (board.origin.tag, board.feeder.tag, len(board.rows)) == ("B0", "L80", 3)
    assert [(m.port, m.tags) for m in plan.mentions["B0"]] == [("W8", "L80")]
    assert plan.bus.tag == "W1"


def test_loads_straight_from_the_starter_battery_are_rows_of_its_post():
    made = system(2)
    lamp = node("C80", "load", "Spot lamps")
    way = circuit("C80", "load", "B0", "C80", name="Spot lamps", devices=(device("F80", "fuse", 15),))

    plan = read(SimpleNamespace(nodes=(*made.nodes, lamp), circuits=(*made.circuits, way)))

    post = next(b for b in plan.boards if b.refers)
    assert (post.node.tag, post.port) == ("B0", "B0*")
    assert [row.load.tag for row in post.rows] == ["C80"]


def test_signals_are_bundled_by_the_part_that_reads_them():
    made = whole(3, senses=3)
    module = node("M2", "monitor", "Sensing module")
    far = node("S9", "sensor", "Door", watches="digital")
    lead = circuit("T80", "sense", "M2", "S9")

    plan = read(SimpleNamespace(nodes=(*made.nodes, module, far), circuits=(*made.circuits, lead), ac=made.ac))

    bundles = {b.node.tag: b for b in plan.boards if b.signal}
    assert [row.circuit.tag for row in bundles["P1"].rows] == ["T1", "T2", "T3", "T90"]
    assert bundles["P1"].refers  # drawn as the battery's shunt
    assert not bundles["M2"].refers  # drawn nowhere else
    assert bundles["P1"].rows[-1].to.tag == "W1"
    assert plan.others == ()


def test_parts_that_were_kept_stay_with_the_vehicles_own():
    made = system(2)
    nodes = tuple(n.model_copy(update={"params": {"part": f"part-{n.tag}"}}) for n in made.nodes)
    chosen = (SimpleNamespace(part="part-B1", kept=True), SimpleNamespace(part="part-U1", kept=False))

    plan = read(SimpleNamespace(nodes=nodes, circuits=made.circuits, chosen=chosen))

    assert plan.stays == {"B1", "G1", "B0", "W0"}
    assert read(made).stays == set()
