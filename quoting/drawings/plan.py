"""What a single-line diagram is made of: no coordinates, no text. ``reading.read`` finds it in nodes and circuits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal, Protocol

from quoting.sizing.appraisal import Circuit, Device, Node
from quoting.sizing.wiring_records import AcLink


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
    interrupted: bool = False
    """The AC input of ``node``, which is the unit itself: it comes from the AC side by an interrupted line."""

    @property
    def what(self) -> str:
        return "ac" if self.interrupted else self.node.what


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
    """A circuit of a board and what is at its end: drawn there, or elsewhere and only named."""

    circuit: Circuit
    load: Node | None = None
    to: Node | None = None


@dataclass(frozen=True, slots=True)
class Board:
    """A bar with its feeder from the main bus and its circuits.

    ``through`` is a converter on the way (24 V to 12 V) and ``feeder`` then its input; ``is_bus`` marks circuits that
    leave the main bus itself; ``moved`` is a stub whose rows stand in a column of their own.
    A board that the main bus does not feed has an ``origin``, drawn elsewhere; with ``refers`` the bar is no board but
    stands for a node that is drawn elsewhere, and ``signal`` says that its rows are sensing or control leads.
    """

    node: Node
    feeder: Circuit | None = None
    through: Node | None = None
    onward: Circuit | None = None
    rows: tuple[Row, ...] = ()
    is_bus: bool = False
    moved: bool = False
    continued: bool = False
    part: int = 0
    """Which stretch of its rows this is, where they take several columns."""
    origin: Node | None = None
    refers: bool = False
    signal: bool = False

    @property
    def port(self) -> str:
        """Name of the interrupted line that leads here."""
        base = f"{self.node.tag}~" if self.signal else f"{self.node.tag}*" if self.refers else self.node.tag
        return f"{base}/{self.part}" if self.part else base


@dataclass(frozen=True, slots=True)
class Zone:
    """The AC side: ways between nodes that are drawn in it and nodes that stand elsewhere (``guests``)."""

    nodes: tuple[Node, ...]
    links: tuple[AcLink, ...]
    guests: tuple[Node, ...] = ()


@dataclass(frozen=True, slots=True)
class Mention:
    """Said at a node: where what leaves or reaches it by an interrupted line goes on."""

    port: str
    code: Literal["", "drawing.signals", "drawing.ac"] = ""
    tags: str = ""


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
    zone: Zone | None = None
    mentions: dict[str, tuple[Mention, ...]] = field(default_factory=dict)
    """By the tag of the node they are said at."""
    trailer: frozenset[str] = frozenset()
    """Tags of nodes behind the coupling."""
    stays: frozenset[str] = frozenset()
    """Tags of nodes, circuits and devices that are in the vehicle already."""
    colours: tuple[str, str] = ("", "")
    """What most DC conductors are: positive and negative."""
    bus_continued: bool = False


SOURCES = ("alternator", "starter_battery", "panel", "inlet")
UNITS = ("charger", "controller", "mains_charger")
THROUGH = (*UNITS, "converter")
"""What may stand on the way from the main bus to a board."""
BARS = ("busbar", "board")
ZONED = ("inlet", "residual", "changeover", "outlet")
"""What stands on the AC side."""
SIGNALS = ("sense", "control")
"""Roles of circuits that carry a signal."""
FROM_BUS = ("distribution", "inverter_feed", "load", "converter_input", "converter_output", "starter_feed")
"""Roles of circuits that start at a bar."""


def takes_mains(unit: Unit) -> bool:
    """Whether a unit charges from the mains."""
    node = unit.node
    if node is None:
        return False
    inputs = str(node.params.get("inputs", ""))
    return node.what == "mains_charger" or "mains" in inputs or bool(node.params.get("mains"))


def rank(unit: Unit) -> int:
    """Place of a unit by the first of its sources: engine on top, then sun, then mains."""
    order = {"alternator": 0, "starter_battery": 0, "panel": 1, "inlet": 2}
    fallback = {"charger": 0, "controller": 1, "mains_charger": 2}
    kinds = ["inlet" if supply.interrupted else supply.node.what for supply in unit.supplies]
    return min((order.get(kind, 3) for kind in kinds), default=fallback.get(unit.node.what if unit.node else "", 3))


def ends(devices: Sequence[Device]) -> tuple[list[Device], list[Device]]:
    """Part the devices of a circuit into those at its source and those at its load, in the order current meets them."""
    return [d for d in devices if d.end == "source"], [d for d in devices if d.end == "load"]
