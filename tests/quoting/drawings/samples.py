"""Invented systems to draw: nodes and circuits as the sizing writes them, of any number of circuits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from quoting.drawings import single_line
from quoting.drawings.canvas import Sheet
from quoting.sizing.appraisal import Circuit, Device, Node
from quoting.sizing.wiring_records import AcLink, Changed

LOADS = (
    ("Monitor and control", "appliance", 0.5),
    ("Refrigerator, 45 L", "motor", 6.0),
    ("Radio", "appliance", 8.0),
    ("Outside lights", "lamp", 4.0),
    ("Inside lights", "lamp", 1.5),
    ("USB-C outlets, two", "socket", 12.0),
    ("12 V sockets, two", "socket", 15.0),
    ("Water pump", "motor", 6.0),
    ("Diesel heater, fan and glow pin", "heater", 10.0),
    ("Roof fan", "motor", 3.0),
    ("Awning light strip", "lamp", 2.0),
    ("Tailgate work lamp", "lamp", 5.0),
)


@dataclass(frozen=True)
class System:
    nodes: tuple[Node, ...]
    circuits: tuple[Circuit, ...]
    ac: tuple[AcLink, ...] = ()


def device(tag: str, what: str, rating_a: float, breaking_a: float | None = None, end: str = "source") -> Device:
    return Device(tag=tag, what=what, rating_a=rating_a, breaking_a=breaking_a, end=end)


def circuit(tag: str, role: str, source: str, target: str, **over: Any) -> Circuit:
    known: dict[str, Any] = {
        "name": tag,
        "from_position": "tray",
        "to_position": "canopy",
        "current_a": 10.0,
        "run_m": 2.0,
        "area_mm2": 6.0,
        "conductor": "cable-6",
        "insulation_c": 90.0,
        "ambient_c": 50.0,
        "bundled": 2,
        "ampacity_a": 40.0,
        "drop_v": 0.2,
        "drop_total_v": 0.3,
        "drop_ratio": 0.021,
        "drop_limit_ratio": 0.05,
        "voltage_v": 11.6,
        "drop_iso_v": 0.18,
        "decided_by": "drop",
    }
    return Circuit(tag=tag, role=role, source=source, target=target, **{**known, **over})


def node(tag: str, what: str, name: str, position: str = "", **params: Any) -> Node:
    return Node(tag=tag, what=what, name=name, position=position, params=params)


def system(
    loads: int,
    *,
    batteries: int = 1,
    inverter: bool = True,
    separate: bool = False,
    converter: bool = False,
    strings: int = 1,
) -> System:
    """A touring system with so many DC circuits.

    ``separate`` gives engine, sun and mains a charger each; otherwise one housing takes all three.
    ``converter`` puts two of the circuits on a 12 V board behind a 24/12 V converter.
    """
    nodes = [
        node("G1", "alternator", "alternator", rating_a=150.0),
        node("B0", "starter_battery", "starter battery"),
        node("X0", "inlet", "shore inlet", voltage_v=230.0, rating_a=15.0),
        node("W1", "busbar", "positive", rating_a=300.0),
        node("W2", "board", "Always live"),
        node("W3", "board", "Away set"),
        node("P1", "monitor", "monitor"),
        node("W0", "body", "body"),
        node("N1", "busbar", "System negative", rating_a=300.0, current_a=211.0),
    ]
    fuse = [device("F1", "fuse", 70, 5000), device("F2", "fuse", 70, 5000, "load")]
    out = [device("F3", "fuse", 50, 5000), device("F4", "fuse", 50, 5000, "load")]
    sun = [device("Q1", "breaker", 20)]
    mains = [device("Q2", "residual", 10)]
    circuits = []
    if separate:
        nodes += [
            node("U1", "charger", "Larkham DL-40 charger", output_a=40.0),
            node("U2", "controller", "Harrowell sun controller", output_a=30.0),
            node("U3", "mains_charger", "Quoin SC-30 charger", output_a=30.0),
        ]
        ways = (("U1", "charger_output"), ("U2", "controller_output"), ("U3", "mains_output"))
        for index, (unit, role) in enumerate(ways):
            circuits.append(circuit(f"L1{index + 4}", role, unit, "W1", area_mm2=16.0, run_m=1.6, devices=tuple(out)))
        sun_to, mains_to = "U2", "U3"
    else:
        nodes.append(node("U1", "charger", "Larkham three-way charger", output_a=40.0, absorption_v=14.4, mains=True))
        circuits.append(circuit("L14", "charger_output", "U1", "W1", area_mm2=16.0, run_m=1.6, devices=tuple(out)))
        sun_to = mains_to = "U1"
    circuits += [
        circuit("L11", "engine_feed", "B0", "U1", area_mm2=25.0, run_m=5.2, devices=tuple(fuse)),
        circuit("L90", "negative_bond", "N1", "W0", area_mm2=35.0, run_m=0.6),
    ]
    for index in range(strings):
        nodes.append(node(f"PV{index + 1}", "panel", "two panels", power_w=380.0, voc_cold_v=45.2, isc_a=6.3))
        circuits.append(
            circuit(f"L4{index}", "solar_array", f"PV{index + 1}", sun_to, area_mm2=4.0, run_m=4.6, devices=tuple(sun))
        )
    if separate:
        circuits.append(
            circuit("L13", "load", "X0", mains_to, name="Mains", area_mm2=1.5, run_m=2.0, devices=tuple(mains))
        )
    hub = "W1" if batteries == 1 else "W5"
    isolator = device("Q90", "isolator", 300, end="load")
    for index in range(batteries):
        nodes.append(
            node(f"B{index + 1}", "battery", "lithium iron phosphate", nominal_v=12.8, capacity_ah=200.0, series=1)
        )
        main = (device(f"F2{index}", "fuse", 300, 20000), *([isolator] if batteries == 1 else []))
        circuits.append(
            circuit(f"L2{index}", "battery_main", f"B{index + 1}", hub, area_mm2=70.0, run_m=0.4, devices=main)
        )
    if batteries > 1:
        nodes.append(node("W5", "busbar", "Battery link", rating_a=400.0))
        link = (device("F29", "fuse", 300, 20000), isolator)
        circuits.append(circuit("L29", "battery_main", "W5", "W1", area_mm2=95.0, run_m=0.8, devices=link))
    if inverter:
        nodes.append(node("U9", "inverter", "Pellow inverter", power_w=2000.0))
        nodes.append(node("AC1", "outlet", "Double socket", voltage_v=230.0))
        circuits.append(
            circuit(
                "L30",
                "inverter_feed",
                "W1",
                "U9",
                area_mm2=70.0,
                run_m=1.2,
                devices=(device("F6", "fuse", 250, 20000),),
            )
        )
        circuits.append(
            circuit(
                "C90", "load", "U9", "AC1", name="Double socket", area_mm2=2.5, run_m=1.8, current_a=8.7,
                devices=(device("Q4", "residual", 10),),
            )
        )  # fmt: skip
    feed = (device("F7", "fuse", 50, 5000),)
    switched = (device("F8", "fuse", 100, 5000), device("K1", "channel", 100, end="load"))
    circuits.append(circuit("L31", "distribution", "W1", "W2", area_mm2=16.0, run_m=0.8, devices=feed))
    circuits.append(circuit("L32", "distribution", "W1", "W3", area_mm2=16.0, run_m=0.8, devices=switched))
    if converter:
        nodes += [
            node("U8", "charger", "Corrie 24/12 V converter", output_a=20.0),
            node("W4", "board", "12 V board"),
        ]
        circuits.append(circuit("L33", "distribution", "W1", "U8", area_mm2=6.0, run_m=0.8, devices=(feed[0],)))
        circuits.append(circuit("L34", "distribution", "U8", "W4", area_mm2=6.0, run_m=0.5))
    for index in range(loads):
        name, symbol, current = LOADS[index % len(LOADS)]
        board = "W2" if index % 3 == 0 else "W3"
        if converter and index >= loads - 2:
            board = "W4"
        tag = f"C{index + 1}"
        nodes.append(node(tag, "load", name, symbol=symbol))
        devices = [device(f"Q{index + 31}", "breaker", 10, 2000 if index % 2 else None)]
        if index % 4 == 1:
            devices.append(device(f"K{index + 2}", "channel", 15))
        circuits.append(
            circuit(
                tag, "load", board, tag, name=name, current_a=current, area_mm2=(1.5, 6.0, 2.5)[index % 3],
                run_m=1.0 + index * 0.7 % 6, drop_ratio=0.012 + 0.001 * index, devices=tuple(devices),
            )
        )  # fmt: skip
    return System(tuple(nodes), tuple(circuits))


SENSES = (
    ("Fresh water tank", "tank"),
    ("Grey water tank", "tank"),
    ("Battery temperature", "temperature"),
    ("Refrigerator temperature", "temperature"),
    ("Rear door", "digital"),
    ("Gas bottle weight", "current"),
)


def whole(loads: int, *, senses: int = 4, starter: int = 3, **more: Any) -> System:
    """``system`` with what else a diagram shows: AC side, senses, starter bus, what stays and what was changed."""
    made = system(loads, **more)
    outlets = [n for n in made.nodes if n.tag == "AC1"]
    nodes = [*made.nodes, node("RC1", "residual", "Shore protection"), node("RC2", "residual", "Inverter protection")]
    nodes += [node("CO1", "changeover", "Shore or inverter"), node("AC2", "outlet", "Outlet by the table")]
    circuits = [c for c in made.circuits if c.tag not in ("C90", "L13")]
    unit = "U3" if more.get("separate") else "U1"
    ways = [("X0", "RC1"), ("RC1", unit), ("RC1", "CO1"), ("CO1", "AC1"), ("CO1", "AC2")]
    ways += [("U9", "RC2"), ("RC2", "CO1")] if outlets else []
    if not outlets:
        nodes = [n for n in nodes if n.tag != "RC2"] + [node("AC1", "outlet", "Double socket")]
    links = tuple(
        AcLink(tag=f"A{i}", source=a, target=b, name=f"{a} to {b}", questions=("rcd_type",))
        for i, (a, b) in enumerate(ways, start=1)
    )
    for index in range(senses):
        name, what = SENSES[index % len(SENSES)]
        nodes.append(node(f"S{index + 1}", "sensor", name, watches=what))
        circuits.append(
            circuit(
                f"T{index + 1}", "sense", f"S{index + 1}", "P1", name=name, area_mm2=0.75, run_m=1.2 + index,
                current_a=0.1,
            )
        )  # fmt: skip
    if senses:
        fuse = (device("F60", "fuse", 3),)
        circuits.append(circuit("T90", "sense", "W1", "P1", name="Bus voltage", area_mm2=1.0, run_m=0.4, devices=fuse))
    if starter:
        nodes.append(node("W8", "board", "Starter side board", position="engine"))
        feed = (device("F61", "fuse", 60, 2000),)
        circuits.append(circuit("L80", "starter_feed", "B0", "W8", name="Starter feed", area_mm2=10.0, devices=feed))
    for index in range(starter):
        tag = f"C{70 + index}"
        nodes.append(node(tag, "load", f"Spot lamps {index + 1}", symbol="lamp"))
        fuse = (device(f"F{62 + index}", "fuse", 15),)
        return_by = "chassis" if index == 0 else "conductor"
        circuits.append(
            circuit(tag, "load", "W8", tag, name=f"Spot lamps {index + 1}", devices=fuse, return_by=return_by)
        )
    why = (Changed(field="area_mm2", before=2.5, after=6.0, reason="Cable is on the shelf"),)
    circuits = [c.model_copy(update={"changed": why}) if c.tag in ("C2", "L31") else c for c in circuits]
    circuits = [c.model_copy(update={"stays": True}) if c.tag in ("C1", "L11") else c for c in circuits]
    return System(tuple(nodes), tuple(circuits), links)


def with_trailer(made: System, crossing: tuple[str, ...]) -> System:
    """The same system with some circuits across a coupling; what they lead to is in the trailer."""
    circuits = tuple(
        c.model_copy(update={"crosses_hitch": True, "from_position": "tow", "to_position": "trailer"})
        if c.tag in crossing
        else c.model_copy(update={"from_position": "", "to_position": ""})
        for c in made.circuits
    )
    return System(made.nodes, circuits, made.ac)


def caravan() -> System:
    """Everything in the trailer but engine and starter battery."""
    return with_trailer(whole(8, separate=True, starter=0), ("L11",))


def loads_in_trailer() -> System:
    """Two circuits of the vehicle's board across the coupling."""
    return with_trailer(whole(6), ("C2", "C5"))


def one_sheet(made: Any, **more: Any) -> Sheet:
    """The one sheet of a system that fits an A3."""
    (sheet,) = single_line.sheets(made, paper="A3", **more)
    return sheet
