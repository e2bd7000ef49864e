"""What goes where on a single-line diagram, read from nodes and circuits alone: no coordinates, no text.

The reading is by what nodes are and which circuits join them, not by their tags, so a system with two arrays, three
batteries, a second board or no inverter needs no special case. Whatever has no place in the picture is kept in
``others`` and ``notes`` and printed as a line, so that nothing is lost silently.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from quoting.sizing.appraisal import Circuit, Device, Node


class Appraised(Protocol):
    """What a diagram is drawn from; an ``Appraisal`` is one."""

    @property
    def nodes(self) -> tuple[Node, ...]: ...

    @property
    def circuits(self) -> tuple[Circuit, ...]: ...


@dataclass(frozen=True, slots=True)
class Supply:
    """A source and its way to a unit, or straight to the bus."""

    node: Node
    circuit: Circuit | None = None
    starter: Node | None = None
    """Starter battery beside an alternator."""


@dataclass(frozen=True, slots=True)
class Unit:
    """A charger or controller with its sources; ``node`` is ``None`` where a source feeds the bus itself."""

    node: Node | None
    supplies: tuple[Supply, ...] = ()
    outputs: tuple[Circuit, ...] = ()


@dataclass(frozen=True, slots=True)
class Store:
    """An auxiliary battery and its way to the bus."""

    node: Node
    circuit: Circuit | None = None


@dataclass(frozen=True, slots=True)
class Row:
    """A circuit of a board and the load at its end."""

    circuit: Circuit
    load: Node | None = None


@dataclass(frozen=True, slots=True)
class Board:
    """A bar with its feeder from the main bus and its circuits.

    ``through`` is a converter on the way (24 V to 12 V) and ``feeder`` then its input; ``is_bus`` marks circuits that
    leave the main bus itself; ``elsewhere`` is the sheet that has the rows, when this one has not.
    """

    node: Node
    feeder: Circuit | None = None
    through: Node | None = None
    onward: Circuit | None = None
    rows: tuple[Row, ...] = ()
    is_bus: bool = False
    elsewhere: int = 0
    continued: bool = False


@dataclass(frozen=True, slots=True)
class Inversion:
    """An inverter, its feed and its AC circuits and outlets."""

    node: Node
    feed: Circuit | None = None
    rows: tuple[Row, ...] = ()
    outlets: tuple[Node, ...] = ()
    """Outlets no circuit goes to in the record."""


@dataclass(frozen=True, slots=True)
class Plan:
    """One diagram, or one sheet of it."""

    bus: Node | None = None
    units: tuple[Unit, ...] = ()
    stores: tuple[Store, ...] = ()
    link: Node | None = None
    """Where the leads of parallel batteries meet before the main bus."""
    main: Circuit | None = None
    """From the link to the main bus."""
    boards: tuple[Board, ...] = ()
    inversions: tuple[Inversion, ...] = ()
    monitor: Node | None = None
    body: Node | None = None
    bond: Circuit | None = None
    negative: Node | None = None
    """The negative busbar between monitor and body."""
    others: tuple[Node, ...] = ()
    notes: tuple[Circuit, ...] = ()
    elsewhere: tuple[tuple[str, int], ...] = ()
    """What else meets the bus, as a code of the wording, and the sheet it is on."""


SOURCES = ("alternator", "starter_battery", "panel", "inlet")
UNITS = ("charger", "controller", "mains_charger")
THROUGH = (*UNITS, "converter")
"""What may stand on the way from the main bus to a board."""
BARS = ("busbar", "board")
FROM_BUS = ("distribution", "inverter_feed", "load", "converter_input", "converter_output")
"""Roles of circuits that start at a bar."""
ORDER = {"alternator": 0, "starter_battery": 0, "panel": 1, "inlet": 2}
"""Engine on top, then sun, then mains."""


def read(appraised: Appraised) -> Plan:
    """Read the picture out of nodes and circuits.

    Parameters
    ----------
    appraised : Appraised
        Nodes with tags, circuits from tag to tag.

    Returns
    -------
    Plan
        Every node and circuit in exactly one place.
    """
    return _Reading(appraised.nodes, appraised.circuits).plan()


class _Reading:
    """Takes nodes and circuits one after the other, so that each is drawn once."""

    def __init__(self, nodes: Sequence[Node], circuits: Sequence[Circuit]) -> None:
        self.nodes = {node.tag: node for node in nodes}
        self.circuits = list(circuits)
        self.left_nodes = dict(self.nodes)
        self.left_circuits = list(circuits)

    def what(self, tag: str) -> str:
        node = self.nodes.get(tag)
        return node.what if node else ""

    def take(self, node: Node) -> Node:
        self.left_nodes.pop(node.tag, None)
        return node

    def take_circuit(self, circuit: Circuit) -> Circuit:
        self.left_circuits = [other for other in self.left_circuits if other is not circuit]
        return circuit

    def into(self, tag: str) -> list[Circuit]:
        return [circuit for circuit in self.left_circuits if circuit.target == tag]

    def out_of(self, tag: str) -> list[Circuit]:
        return [circuit for circuit in self.left_circuits if circuit.source == tag]

    def of(self, *whats: str) -> list[Node]:
        return [node for node in self.left_nodes.values() if node.what in whats]

    def plan(self) -> Plan:
        bus = self._bus()
        stores = self._stores()
        link, main = self._link(stores)
        inversions = tuple(self._inversion(node) for node in self.of("inverter"))
        body, bond, negative = self._negative() if stores else (None, None, None)
        boards = self._boards(bus)
        units = self._units()
        boards += self._off_the_bus(bus)
        monitor = next(iter(self.of("monitor")), None) if stores else None
        if monitor:
            self.take(monitor)
        return Plan(
            bus=bus,
            units=units,
            stores=stores,
            link=link,
            main=main,
            boards=boards,
            inversions=inversions,
            monitor=monitor,
            body=body,
            bond=bond,
            negative=negative,
            others=tuple(self.left_nodes.values()),
            notes=tuple(self.left_circuits),
        )

    def _bus(self) -> Node | None:
        bars = self.of("busbar") or self.of("board")
        if not bars:
            return None

        ends = {node.tag: 0.0 for node in bars}
        for circuit in self.circuits:
            from_battery = self.what(circuit.source) == "battery"
            weight = {"load": 0.1, "negative_bond": 0.0, "battery_main": 1.0 if from_battery else 10.0}
            end = circuit.source if circuit.role in FROM_BUS else circuit.target
            if end in ends:
                ends[end] += weight.get(circuit.role, 10.0)
        return self.take(max(bars, key=lambda node: ends[node.tag]))

    def _stores(self) -> tuple[Store, ...]:
        found = []
        for node in self.of("battery"):
            ways = self.out_of(node.tag) or self.into(node.tag)
            mains = [c for c in ways if c.role == "battery_main"]
            found.append(Store(self.take(node), self.take_circuit(mains[0]) if mains else None))
        return tuple(found)

    def _link(self, stores: tuple[Store, ...]) -> tuple[Node | None, Circuit | None]:
        """The bar that batteries meet at before the main bus, and the way from it."""
        for circuit in self.left_circuits:
            if circuit.role == "battery_main" and circuit.source in self.left_nodes:
                node = self.left_nodes[circuit.source]
                if node.what in BARS and any(s.circuit and s.circuit.target == node.tag for s in stores):
                    return self.take(node), self.take_circuit(circuit)
        return None, None

    def _negative(self) -> tuple[Node | None, Circuit | None, Node | None]:
        """Body, the bond to it, and the negative busbar the bond starts from."""
        bodies = self.of("body")
        if not bodies:
            return None, None, None
        body = self.take(bodies[0])
        bond = next((c for c in self.left_circuits if c.role == "negative_bond"), None)
        if bond is None:
            return body, None, None
        self.take_circuit(bond)
        bar = self.left_nodes.get(bond.source)
        return body, bond, self.take(bar) if bar and bar.what in BARS else None

    def _inversion(self, node: Node) -> Inversion:
        self.take(node)
        feeds = [c for c in self.into(node.tag) if c.role == "inverter_feed" or self.what(c.source) in BARS]
        feed = self.take_circuit(feeds[0]) if feeds else None
        rows = tuple(self._row(circuit) for circuit in self.out_of(node.tag) if circuit.role == "load")
        outlets = tuple(self.take(outlet) for outlet in self.of("outlet")) if not rows else ()
        return Inversion(node, feed, rows, outlets)

    def _row(self, circuit: Circuit) -> Row:
        self.take_circuit(circuit)
        load = self.left_nodes.get(circuit.target)
        return Row(circuit, self.take(load) if load else None)

    def _boards(self, bus: Node | None) -> tuple[Board, ...]:
        boards = []
        for node in self.of(*BARS):
            self.take(node)
            ways = [c for c in self.into(node.tag) if self.what(c.source) in (*BARS, *THROUGH)]
            way = next((c for c in ways if bus and c.source == bus.tag), ways[0] if ways else None)
            feeder, through, onward = way, None, None
            if way and self.what(way.source) in THROUGH:
                behind = self.into(way.source)
                if behind and bus and behind[0].source == bus.tag:
                    through, onward = self.take(self.nodes[way.source]), self.take_circuit(way)
                    feeder = behind[0]
            if feeder:
                self.take_circuit(feeder)
            rows = tuple(self._row(c) for c in self.out_of(node.tag) if c.role == "load")
            boards.append(Board(node, feeder, through, onward, rows))
        return tuple(board for board in boards if board.rows or board.feeder)

    def _off_the_bus(self, bus: Node | None) -> tuple[Board, ...]:
        """Circuits of appliances that no board has: drawn from the main bus."""
        strays = [c for c in self.left_circuits if c.role == "load"]
        if not (strays and bus):
            return ()
        return (Board(bus, rows=tuple(self._row(c) for c in strays), is_bus=True),)

    def _units(self) -> tuple[Unit, ...]:
        found = []
        for node in self.of(*UNITS):
            supplies = [self._supply(c) for c in self.into(node.tag) if self.what(c.source) in SOURCES]
            outputs = tuple(self.take_circuit(c) for c in self.out_of(node.tag))
            supplies.sort(key=lambda supply: ORDER.get(supply.node.what, 3))
            found.append(Unit(self.take(node), tuple(supplies), outputs))
        found = self._with_inlets(found)
        for circuit in list(self.left_circuits):
            if self.what(circuit.source) in SOURCES and circuit.source in self.left_nodes:
                found.append(Unit(None, (self._supply(circuit),)))
        for node in self.of("alternator", "panel", "inlet"):
            starter = self._starter() if node.what == "alternator" else None
            found.append(Unit(None, (Supply(self.take(node), None, starter),)))
        return tuple(sorted((u for u in found if u.node or u.supplies), key=_rank))

    def _supply(self, circuit: Circuit) -> Supply:
        self.take_circuit(circuit)
        node = self.nodes[circuit.source]
        starter = None
        if node.what in ("alternator", "starter_battery"):
            alternators = [node] if node.what == "alternator" else self.of("alternator")
            if alternators:
                node = alternators[0]
                starter = self._starter()
        return Supply(self.take(node), circuit, starter)

    def _starter(self) -> Node | None:
        free = self.of("starter_battery")
        return self.take(free[0]) if free else None

    def _with_inlets(self, units: list[Unit]) -> list[Unit]:
        """Give inlets without a circuit of their own to the unit that charges from the mains."""
        made = list(units)
        for node in self.of("inlet"):
            fed = [u for u in made if u.node and u.node.tag == node.params.get("feeds")]
            fed += [u for u in made if u.node and _takes_mains(u)]
            if not fed:
                break
            chosen = fed[0]
            more = replace(chosen, supplies=(*chosen.supplies, Supply(self.take(node))))
            made = [more if u is chosen else u for u in made]
        return made


def _takes_mains(unit: Unit) -> bool:
    node = unit.node
    if node is None:
        return False
    inputs = str(node.params.get("inputs", ""))
    return node.what == "mains_charger" or "mains" in inputs or bool(node.params.get("mains"))


def _rank(unit: Unit) -> int:
    """Place of a unit by the first of its sources."""
    kinds = [supply.node.what for supply in unit.supplies]
    fallback = {"charger": 0, "controller": 1, "mains_charger": 2}
    return min((ORDER.get(kind, 3) for kind in kinds), default=fallback.get(unit.node.what if unit.node else "", 3))


def ends(devices: Sequence[Device]) -> tuple[list[Device], list[Device]]:
    """Part the devices of a circuit into those at its source and those at its load, in the order current meets them."""
    return [d for d in devices if d.end == "source"], [d for d in devices if d.end == "load"]
