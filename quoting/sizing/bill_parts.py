"""The parts a wiring takes: devices, holders, cable, terminals, busbars, conduits; what of it is not in the catalogue.

Cable and terminals are counted from the pieces that are cut, and from nothing else.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import catalog.kinds as kinds
from quoting.sizing.appraisal import BillLine, Circuit, Node, Shortfall
from quoting.sizing.bill_labour import LUG_FROM_MM2
from quoting.sizing.choice import Choice
from quoting.sizing.holders import Held, held
from quoting.sizing.one_piece import pieces
from quoting.sizing.parts import Catalogue
from quoting.sizing.pieces import cut, negative_of
from quoting.sizing.wiring_records import CablePiece

__all__ = ["TakeOff", "merged", "negative_of", "take_off", "to_buy_m"]

FITTED = ("fuse", "breaker", "isolator")
"""Devices that are bought and fitted each by itself; a switched output comes with its module."""

CABLE_RULES = {
    "positive": "cable_positive", "negative": "cable_negative", "signal": "cable_signal", "bond": "cable_bond",
}  # fmt: skip
"""Polarity of a piece -> rule of its cable's line on the bill."""


@dataclass(slots=True)
class TakeOff:
    """Quantities by part, and what is lacking."""

    parts: Catalogue
    lines: list[BillLine] = field(default_factory=list)
    shortfalls: list[Shortfall] = field(default_factory=list)
    pieces: tuple[CablePiece, ...] = ()
    ends: int = 0
    """Terminals and contacts to press."""
    lugs: int = 0
    """Of these, on conductors from ``LUG_FROM_MM2``."""
    run_m: float = 0.0
    """Metres to lay, every conductor. [m]"""
    devices: int = 0

    def add(
        self, key: str, quantity: float, rule: str, circuits: Iterable[str] = (), unit: str = "each", kept: bool = False
    ) -> None:
        """Put a part on the bill; one that is kept adds no mass."""
        part = self.parts.part(key)
        self.lines.append(
            BillLine(
                group=kinds.get(part.kind).group, part=key, name=part.name, quantity=quantity, unit=unit,
                mass_kg=0.0 if kept else round(part.mass_kg * quantity, 3), rule=rule,
                circuits=tuple(dict.fromkeys(circuits)), kept=kept,
            )
        )  # fmt: skip


def take_off(
    parts: Catalogue, choice: Choice, nodes: Sequence[Node], circuits: Sequence[Circuit], spare_ratio: float = 0.0
) -> TakeOff:
    """List the parts of a wiring; cable with its spare, terminals by conductor and stud."""
    out = TakeOff(parts)
    for chosen in pieces(choice.chosen):
        out.add(chosen.part, chosen.quantity, f"need_{chosen.serves[0]}", kept=chosen.kept)
    _devices(out, circuits)
    holders, missing = held(parts, choice, nodes, circuits)
    out.shortfalls += missing
    _holders(out, holders)
    _spare_fuses(out, circuits)
    _bars(out, nodes, circuits)
    made = cut(parts, choice, nodes, circuits, holders)
    out.pieces = tuple(made.pieces)
    out.shortfalls += made.shortfalls
    _cables(out, spare_ratio)
    _terminals(out)
    out.lines = merged(out.lines, parts)
    return out


def merged(lines: Iterable[BillLine], parts: Catalogue) -> list[BillLine]:
    """One line for the same part under the same rule."""
    sums: dict[tuple[str, str, str, bool], list[BillLine]] = defaultdict(list)
    for line in lines:
        sums[line.part, line.rule, line.unit, line.kept].append(line)
    found = []
    for same in sums.values():
        quantity = sum(x.quantity for x in same)
        circuits = tuple(dict.fromkeys(c for x in same for c in x.circuits))
        mass = 0.0 if same[0].kept else round(parts.part(same[0].part).mass_kg * quantity, 3)
        found.append(same[0].model_copy(update={"quantity": quantity, "circuits": circuits, "mass_kg": mass}))
    return found


def _devices(out: TakeOff, circuits: Sequence[Circuit]) -> None:
    for circuit in circuits:
        for device in circuit.devices:
            if device.what in FITTED and device.part and not device.stays:
                out.add(device.part, 1, "isolator" if device.what == "isolator" else "protects", (circuit.tag,))
                out.devices += 1


def _holders(out: TakeOff, holders: Sequence[Held]) -> None:
    for one in holders:
        out.add(one.holder.part.key, one.count, "holder", one.circuits)


def _spare_fuses(out: TakeOff, circuits: Sequence[Circuit]) -> None:
    """Links to carry: so many of each that is fitted."""
    each = out.parts.brief.policy.spare_fuses_each
    fitted: dict[str, list[str]] = defaultdict(list)
    for circuit in circuits:
        for device in circuit.devices:
            if device.what == "fuse" and device.part and not device.stays:
                fitted[device.part].append(circuit.tag)
    for key, tags in fitted.items():
        if each:
            out.add(key, each, "spare_fuse", tags)


def _bars(out: TakeOff, nodes: Sequence[Node], circuits: Sequence[Circuit]) -> None:
    """A bar for each busbar node; where several negatives meet too, as at a board, another beside it."""
    links = {c.target for c in circuits if c.role == "battery_main" and c.source.startswith("B")}
    several = {tag for tag in links if sum(c.target == tag for c in circuits if c.role == "battery_main") > 1}
    for node in nodes:
        if node.what in ("busbar", "board") and isinstance(node.params.get("part"), str):
            both = node.what == "board" or node.tag in several
            out.add(str(node.params["part"]), 2 if both else 1, "busbar", (node.tag,))


def _cables(out: TakeOff, spare_ratio: float) -> None:
    """Metres of each conductor, spare included, once for each part: its pieces are cut from the same reel."""
    metres: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    tags: dict[str, list[str]] = defaultdict(list)
    for piece in out.pieces:
        if piece.stays:
            continue
        out.run_m += piece.length_m
        if piece.part:
            metres[piece.part][CABLE_RULES[piece.polarity]] += piece.length_m
            tags[piece.part].append(piece.circuit)
    for key, by_rule in metres.items():
        rule = max(by_rule, key=lambda r: (by_rule[r], r))
        out.add(key, to_buy_m(math.fsum(by_rule.values()), spare_ratio), rule, tags[key], "m")


def to_buy_m(run_m: float, spare_ratio: float) -> float:
    """Metres to buy for metres to lay, rounded up to a decimetre. [m]

    >>> to_buy_m(7.23, 0.1)
    8.0
    """
    return math.ceil(round(run_m * (1 + spare_ratio) * 10, 6)) / 10


def _terminals(out: TakeOff) -> None:
    tags: dict[str, list[str]] = defaultdict(list)
    for piece in out.pieces:
        if piece.stays:
            continue
        for end in piece.ends:
            out.ends += 1
            out.lugs += piece.area_mm2 >= LUG_FROM_MM2
            if end.terminal:
                tags[end.terminal].append(piece.circuit)
    for key, circuits in tags.items():
        out.add(key, len(circuits), "terminal", circuits)
