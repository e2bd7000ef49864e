"""Reads the picture out of nodes and circuits: what stands where, no coordinates, no text.

The reading is by what nodes are and which circuits join them, not by their tags, so a system with two arrays, three
batteries, a second board or no inverter needs no special case. A circuit that fits no part of the picture becomes a
row of a bar that stands for its source; what is joined to nothing is kept in ``others`` and ``notes`` and printed as
a line. Nothing is lost silently.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from quoting.drawings import sides
from quoting.drawings.plan import (
    BARS,
    FROM_BUS,
    SIGNALS,
    SOURCES,
    THROUGH,
    UNITS,
    ZONED,
    Appraised,
    Board,
    Inversion,
    Mention,
    Plan,
    Row,
    Store,
    Supply,
    Unit,
    Zone,
    rank,
    takes_mains,
)
from quoting.sizing.appraisal import Circuit, Node
from quoting.sizing.wiring_records import AcLink


def read(appraised: Appraised) -> Plan:
    """Read the picture out of nodes and circuits.

    Parameters
    ----------
    appraised : Appraised
        Nodes with tags, circuits from tag to tag; its ways of the AC side (``ac``) and chosen parts where it has them.

    Returns
    -------
    Plan
        Every node and circuit in exactly one place.
    """
    plan = _Reading(appraised.nodes, appraised.circuits, tuple(getattr(appraised, "ac", ()))).plan()
    return replace(
        plan,
        mentions=mentions_of(plan),
        trailer=sides.behind_coupling(appraised.nodes, appraised.circuits),
        stays=sides.staying(appraised),
        colours=sides.usual_colours(appraised.circuits),
    )


class _Reading:
    """Takes nodes and circuits one after the other, so that each is drawn once."""

    def __init__(self, nodes: Sequence[Node], circuits: Sequence[Circuit], links: Sequence[AcLink] = ()) -> None:
        self.nodes = {node.tag: node for node in nodes}
        self.circuits = list(circuits)
        self.links = tuple(link for link in links if link.source in self.nodes and link.target in self.nodes)
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
        zone = self._zone()
        signals = self._signals()
        bus = self._bus()
        stores = self._stores()
        link, main = self._link(stores)
        inversions = tuple(self._inversion(node) for node in self.of("inverter"))
        body, bond, negative = self._negative() if stores else (None, None, None)
        boards = self._boards(bus)
        units = self._from_zone(self._units(bus), zone)
        monitor = next(iter(self.of("monitor")), None) if stores else None
        if monitor:
            self.take(monitor)
        boards += self._off_the_bus(bus)
        boards += self._strays()
        signals = tuple(self._with_hub(board) for board in signals)
        return Plan(
            bus=bus,
            units=units,
            stores=stores,
            link=link,
            main=main,
            boards=boards + signals,
            inversions=inversions,
            monitor=monitor,
            body=body,
            bond=bond,
            negative=negative,
            others=tuple(self.left_nodes.values()),
            notes=tuple(self.left_circuits),
            zone=zone,
        )

    def _zone(self) -> Zone | None:
        """The AC side by its own ways; without them inlet and outlets stand at what they feed or hang on."""
        if not self.links:
            return None
        joined = {tag for link in self.links for tag in (link.source, link.target)}
        own = [node for node in self.left_nodes.values() if node.what in ZONED or self._is_ac_load(node, joined)]
        own = [node for node in own if node.tag in joined or node.what in ("residual", "changeover")]
        inside = tuple(self.take(node) for node in own)
        tags = {node.tag for node in inside}
        return Zone(inside, self.links, tuple(self.nodes[tag] for tag in self.nodes if tag in joined - tags))

    def _is_ac_load(self, node: Node, joined: set[str]) -> bool:
        return node.what == "load" and node.tag in joined and not self.into(node.tag)

    def _signals(self) -> tuple[Board, ...]:
        """Sensing and control leads, by the part that reads or gives them."""
        found: dict[str, list[Row]] = {}
        for circuit in [c for c in self.left_circuits if c.role in SIGNALS]:
            ends = [self.nodes.get(circuit.source), self.nodes.get(circuit.target)]
            if None in ends:
                continue
            hub, far = sorted((e for e in ends if e), key=lambda node: SIGNAL_RANK.get(node.what, 1))
            self.take_circuit(circuit)
            drawn_here = far.what == "sensor" and far.tag in self.left_nodes
            row = Row(circuit, self.take(far)) if drawn_here else Row(circuit, to=far)
            found.setdefault(hub.tag, []).append(row)
        return tuple(Board(self.nodes[tag], rows=tuple(rows), refers=True, signal=True) for tag, rows in found.items())

    def _with_hub(self, board: Board) -> Board:
        """A bundle with the part that reads it, where that is drawn nowhere else."""
        hub = self.left_nodes.get(board.node.tag)
        return replace(board, node=self.take(hub), refers=False) if hub else board

    def _bus(self) -> Node | None:
        bars = self.of("busbar") or self.of("board")
        if not bars:
            return None
        ends = {node.tag: 0.0 for node in bars}
        for circuit in self.circuits:
            from_battery = self.what(circuit.source) == "battery"
            weight = {
                "load": 0.1,
                "negative_bond": 0.0,
                "starter_feed": 0.0,
                "battery_main": 1.0 if from_battery else 10.0,
            }
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
        return Row(circuit, self.take(load)) if load else Row(circuit, to=self.nodes.get(circuit.target))

    def _boards(self, bus: Node | None) -> tuple[Board, ...]:
        boards = []
        for node in self.of(*BARS):
            ways = [c for c in self.into(node.tag) if c.source in self.nodes]
            ways.sort(key=lambda c: self._nearness(c, bus))
            way = ways[0] if ways else None
            feeder, through, onward = way, None, None
            if way and self.what(way.source) in THROUGH and way.source in self.left_nodes:
                behind = self.into(way.source)
                if behind and (self.what(way.source) == "converter" or (bus and behind[0].source == bus.tag)):
                    through, onward = self.take(self.nodes[way.source]), self.take_circuit(way)
                    feeder = behind[0]
            if feeder:
                self.take_circuit(feeder)
            rows = tuple(self._row(c) for c in self.out_of(node.tag) if c.role == "load")
            if not (rows or feeder):
                continue
            self.take(node)
            direct = bus is None or feeder is None or feeder.source == bus.tag
            origin = None if direct or feeder is None else self.nodes.get(feeder.source)
            boards.append(Board(node, feeder, through, onward, rows, origin=origin))
        return tuple(sorted(boards, key=lambda board: board.origin is not None))

    def _nearness(self, circuit: Circuit, bus: Node | None) -> int:
        if bus and circuit.source == bus.tag:
            return 0
        return 1 if self.what(circuit.source) in (*BARS, *THROUGH) else 2

    def _off_the_bus(self, bus: Node | None) -> tuple[Board, ...]:
        """Circuits that leave the main bus for no board."""
        strays = [c for c in self.left_circuits if bus and c.source == bus.tag]
        if not (strays and bus):
            return ()
        return (Board(bus, rows=tuple(self._row(c) for c in strays), is_bus=True),)

    def _strays(self) -> tuple[Board, ...]:
        """Whatever is still left, as rows of a bar that stands for where it starts."""
        found: dict[str, list[Circuit]] = {}
        for circuit in self.left_circuits:
            if circuit.source in self.nodes:
                found.setdefault(circuit.source, []).append(circuit)
        made = []
        for tag, circuits in found.items():
            drawn = tag not in self.left_nodes
            node = self.nodes[tag] if drawn else self.take(self.nodes[tag])
            made.append(Board(node, rows=tuple(self._row(c) for c in circuits), refers=drawn))
        return tuple(made)

    def _units(self, bus: Node | None) -> tuple[Unit, ...]:
        found = []
        for node in self.of(*UNITS):
            supplies = [self._supply(c) for c in self.into(node.tag) if self.what(c.source) in SOURCES]
            outputs = tuple(self.take_circuit(c) for c in self.out_of(node.tag)[:1])
            supplies.sort(key=lambda supply: ORDER.get(supply.node.what, 3))
            found.append(Unit(self.take(node), tuple(supplies), outputs))
        found = self._with_inlets(found)
        for circuit in list(self.left_circuits):
            meets_bus = bus is not None and circuit.target == bus.tag
            if meets_bus and self.what(circuit.source) in SOURCES and circuit.source in self.left_nodes:
                found.append(Unit(None, (self._supply(circuit),)))
        for node in self.of("alternator", "panel", "inlet"):
            starter = self._starter() if node.what == "alternator" else None
            found.append(Unit(None, (Supply(self.take(node), None, starter),)))
        found += [Unit(None, (Supply(self.take(node)),)) for node in self.of("starter_battery")]
        return tuple(sorted((u for u in found if u.node or u.supplies), key=rank))

    def _from_zone(self, units: tuple[Unit, ...], zone: Zone | None) -> tuple[Unit, ...]:
        """Give units that the AC side feeds an input from there."""
        guests = {node.tag for node in zone.guests} if zone else set()
        fed = [
            replace(unit, supplies=(*unit.supplies, Supply(unit.node, interrupted=True)))
            if unit.node and unit.node.tag in guests
            else unit
            for unit in units
        ]
        return tuple(sorted(fed, key=rank))

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
            fed += [u for u in made if u.node and takes_mains(u)]
            if not fed:
                break
            chosen = fed[0]
            more = replace(chosen, supplies=(*chosen.supplies, Supply(self.take(node))))
            made = [more if u is chosen else u for u in made]
        return made


ORDER = {"alternator": 0, "starter_battery": 0, "panel": 1, "inlet": 2}
"""Engine on top, then sun, then mains."""
SIGNAL_RANK = {"monitor": 0, "sensor": 3, "load": 2, "battery": 2, "starter_battery": 2, "busbar": 2, "alternator": 2}
"""The lower end of a signal lead is what reads or gives it."""


def mentions_of(plan: Plan) -> dict[str, tuple[Mention, ...]]:
    """What each node says of the interrupted lines that end at it."""
    found: dict[str, list[Mention]] = {}

    def say(node: Node | None, mention: Mention) -> None:
        if node:
            found.setdefault(node.tag, []).append(mention)

    for board in plan.boards:
        if board.refers and board.signal:
            say(board.node, Mention(board.port, "drawing.signals"))
        elif board.refers:
            tags = [row.circuit.tag for row in board.rows]
            say(board.node, Mention(board.port, tags=tags[0] if len(tags) == 1 else f"{tags[0]}…{tags[-1]}"))
        elif board.origin:
            feeder = board.feeder.tag if board.feeder else board.node.tag
            say(board.origin, Mention(board.port, tags=feeder))
        for row in board.rows:
            say(row.to, Mention(row.circuit.tag, tags=row.circuit.tag))
    fed = {s.node.tag for u in plan.units for s in u.supplies if s.interrupted}
    for guest in [g for g in plan.zone.guests if g.tag not in fed] if plan.zone else ():
        say(guest, Mention(f"ac:{guest.tag}", "drawing.ac"))
    return {tag: tuple(mentions) for tag, mentions in found.items()}
