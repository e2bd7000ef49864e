"""The parts a wiring takes: what is chosen, devices, holders, spare links, busbars, cable, terminals.

Cable and terminals are counted from the pieces that are cut, and from nothing else.
"""

from __future__ import annotations

import math
from collections import defaultdict

from quoting.sizing.bill_labour import LUG_FROM_MM2
from quoting.sizing.bill_lines import METRE, Count
from quoting.sizing.bill_uses import OF_ROLE, Uses, place_of, step_of
from quoting.sizing.one_piece import pieces
from quoting.sizing.pieces import NEGATIVE_BAR
from quoting.sizing.wiring_records import CablePiece

FITTED = ("fuse", "breaker", "isolator")
"""Devices that are bought and fitted each by itself; a switched output comes with its module."""

CABLE_RULES = {
    "positive": "cable_positive", "negative": "cable_negative", "signal": "cable_signal", "bond": "cable_bond",
}  # fmt: skip
"""Polarity of a piece -> rule of its cable's line on the bill."""


def wiring_parts(count: Count) -> None:
    """Count everything that the design names by part, and the work of laying it."""
    _chosen(count)
    _devices(count)
    _holders(count)
    _spare_fuses(count)
    _bars(count)
    _cables(count)
    _ends(count)


def _chosen(count: Count) -> None:
    for one in pieces(count.choice.chosen):
        uses = Uses().add(OF_ROLE[one.role], place_of(count.brief.vehicle, one), one.quantity)
        count.add(one.part, f"need_{one.serves[0]}", uses, kept=one.kept)


def _devices(count: Count) -> None:
    for circuit in count.wiring.circuits:
        for device in circuit.devices:
            if device.what in FITTED and device.part and not device.stays:
                at, step = device.position or circuit.from_position, step_of(circuit)
                rule = "isolator" if device.what == "isolator" else "protects"
                count.add(device.part, rule, Uses().add(step, at, 1), (circuit.tag,))
                count.do("fit_device", step, 1, at)


def _holders(count: Count) -> None:
    for held in count.wiring.holders:
        circuit = count.circuits[held.circuits[0]]
        step = "boards" if len(held.circuits) > 1 else step_of(circuit)
        place = next((d.position for d in circuit.devices if d.tag in held.devices), "") or circuit.from_position
        count.add(held.holder.part.key, "holder", Uses().add(step, place, held.count), held.circuits)


def _spare_fuses(count: Count) -> None:
    """Links to carry: so many of each that is fitted."""
    each = count.brief.policy.spare_fuses_each
    fitted: dict[str, list[str]] = defaultdict(list)
    for circuit in count.wiring.circuits:
        for device in circuit.devices:
            if device.what == "fuse" and device.part and not device.stays:
                fitted[device.part].append(circuit.tag)
    for key, tags in fitted.items():
        if each:
            count.add(key, "spare_fuse", Uses().add("finish", "", each), tags)


def _bars(count: Count) -> None:
    """A bar for each busbar node; where several negatives meet too, as at a board, another beside it."""
    circuits = count.wiring.circuits
    links = {c.target for c in circuits if c.role == "battery_main" and c.source.startswith("B")}
    several = {tag for tag in links if sum(c.target == tag for c in circuits if c.role == "battery_main") > 1}
    for node in count.wiring.nodes:
        if node.what not in ("busbar", "board"):
            continue
        step = "boards" if node.what == "board" else "battery"
        count.do("fit_board" if node.what == "board" else "fit_busbar", step, 1, node.position)
        if isinstance(node.params.get("part"), str):
            both = node.what == "board" or node.tag in several
            uses = Uses().add(step, node.position, 2 if both else 1)
            count.add(str(node.params["part"]), "busbar", uses, (node.tag,))


def is_negative_bar(tag: str) -> bool:
    """Whether a busbar is the system's negative one, which nothing has to cover."""
    return tag == NEGATIVE_BAR


def _cables(count: Count) -> None:
    """Metres of each conductor, spare included, once for each part: its pieces are cut from the same reel."""
    metres: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    laid: dict[str, list[CablePiece]] = defaultdict(list)
    for piece in count.wiring.pieces:
        if piece.stays:
            continue
        count.do("run_cable_m", step_of(count.circuits.get(piece.circuit)), piece.length_m)
        if piece.part:
            metres[piece.part][CABLE_RULES[piece.polarity]] += piece.length_m
            laid[piece.part].append(piece)
    for key, by_rule in metres.items():
        rule = max(by_rule, key=lambda r: (by_rule[r], r))
        uses = Uses()
        for piece in laid[key]:
            uses.add(step_of(count.circuits.get(piece.circuit)), "", piece.length_m)
        count.add(
            key, rule, uses, (piece.circuit for piece in laid[key]), unit=METRE, spare_ratio=count.spare_ratio,
            pieces=len(laid[key]), laid_m=round(math.fsum(by_rule.values()), 2), bought_over_ratio=count.spare_ratio,
        )  # fmt: skip


def _ends(count: Count) -> None:
    """A terminal on each end that takes one, and the pressing of each; a coupling's contact is pressed as well."""
    for piece in count.wiring.pieces:
        if piece.stays:
            continue
        step = step_of(count.circuits.get(piece.circuit))
        for end in piece.ends:
            count.do("crimp_lug" if piece.area_mm2 >= LUG_FROM_MM2 else "terminate", step, 1, end.position)
            if end.terminal:
                count.add(end.terminal, "terminal", Uses().add(step, end.position, 1), (piece.circuit,))
