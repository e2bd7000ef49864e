"""Where parts of a diagram belong: to the vehicle or behind the coupling; there already or new; usual colours."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from quoting.drawings.plan import SIGNALS, Appraised
from quoting.sizing.appraisal import Circuit, Node


def behind_coupling(nodes: Sequence[Node], circuits: Sequence[Circuit]) -> frozenset[str]:
    """Tags of the nodes that stand in the trailer: cut off from engine and starter battery where the coupling is.

    Positions and nodes that circuits join without crossing it are on one side; one that crosses it joins this side to
    the other, so that a sensor in the cab of what a trailer reads stands in the tow vehicle. Nothing is said when no
    circuit crosses it, or when there is neither engine nor starter battery to tell the sides by.
    """
    if not any(circuit.crosses_hitch for circuit in circuits):
        return frozenset()
    groups: dict[str, str] = {}

    def root(name: str) -> str:
        groups.setdefault(name, name)
        while groups[name] != name:
            name = groups[name]
        return name

    def join(a: str, b: str) -> None:
        groups[root(a)] = root(b)

    def place(tag: str, position: str) -> None:
        join(f"node {tag}", f"at {position}" if position else f"node {tag}")

    for node in nodes:
        place(node.tag, node.position)
    for circuit in circuits:
        if not circuit.crosses_hitch:
            join(f"node {circuit.source}", f"node {circuit.target}")
        place(circuit.source, circuit.from_position)
        place(circuit.target, circuit.to_position)
    across: dict[str, set[str]] = {}
    for circuit in (circuit for circuit in circuits if circuit.crosses_hitch):
        a, b = root(f"node {circuit.source}"), root(f"node {circuit.target}")
        across.setdefault(a, set()).add(b)
        across.setdefault(b, set()).add(a)
    towing = {root(f"node {node.tag}") for node in nodes if node.what in ("alternator", "starter_battery")}
    here, there, behind = towing, towing, set[str]()
    while here:
        found = {group for side in here for group in across.get(side, ())} - there - behind
        behind |= found
        here = {group for side in found for group in across.get(side, ())} - there - behind
        there = there | here
    return frozenset(node.tag for node in nodes if root(f"node {node.tag}") in behind)


def staying(appraised: Appraised) -> frozenset[str]:
    """Tags of the nodes, circuits and devices that are in the vehicle already."""
    kept = {chosen.part for chosen in getattr(appraised, "chosen", ()) if chosen.kept}
    nodes = {n.tag for n in appraised.nodes if n.params.get("part") in kept or n.params.get("kept") is True}
    nodes |= {n.tag for n in appraised.nodes if n.what in ("alternator", "starter_battery", "body")} if kept else set()
    circuits = {circuit.tag for circuit in appraised.circuits if circuit.stays}
    return frozenset(nodes | circuits | {d.tag for c in appraised.circuits for d in c.devices if d.stays})


def usual_colours(circuits: Sequence[Circuit]) -> tuple[str, str]:
    """Colour of most positives and of most negatives; a conductor of another colour says so itself."""
    laid = [circuit for circuit in circuits if circuit.role not in (*SIGNALS, "negative_bond")]
    positive = Counter(circuit.colour for circuit in laid if circuit.colour)
    negative = Counter(circuit.negative_colour for circuit in laid if circuit.negative_colour)
    return tuple(max(c, key=lambda name: (c[name], name)) if c else "" for c in (positive, negative))  # type: ignore[return-value]
