"""Devices as they sit in the vehicle: what an owner looks for in the dark, and which fuses to carry."""

from __future__ import annotations

from collections import Counter

from django.utils.translation import gettext as _

from quoting.documents import circuit_words as say
from quoting.documents.common import Frozen
from quoting.documents.content_wiring import FusePlace, FuseRow
from quoting.documents.speech import quantity
from quoting.sizing.appraisal import Circuit, Device

BOARD = 3
"""So many devices at one node make it a board of its own on the sheet."""


def places(frozen: Frozen) -> tuple[FusePlace, ...]:
    """Every device by where it sits: boards by name, and what stands alone together under its position."""
    found: dict[tuple[str, str], list[tuple[Circuit, Device]]] = {}
    for circuit in frozen.appraisal.circuits:
        for device in circuit.devices:
            found.setdefault(_where(circuit, device), []).append((circuit, device))
    boards: dict[tuple[str, str], list[FuseRow]] = {}
    for (position, node), members in _sorted(frozen, found):
        alone = len(members) < BOARD and not node.startswith(MODULE)
        key = (position, "" if alone else node)
        boards.setdefault(key, []).extend(_row(frozen, c, d, node if alone else "") for c, d in members)
    return tuple(FusePlace(_place(frozen, *where), tuple(rows)) for where, rows in boards.items())


MODULE = "\0"
"""Before the name of a part with switched outputs, which is no node."""


def _where(circuit: Circuit, device: Device) -> tuple[str, str]:
    """Position and node of a device; a switched output stands at the part that has it."""
    at_source = device.end == "source"
    position = device.position or (circuit.from_position if at_source else circuit.to_position)
    if device.what == "channel":
        return position, f"{MODULE}{device.name}"
    return position, circuit.source if at_source else circuit.target


Found = dict[tuple[str, str], list[tuple[Circuit, Device]]]


def _sorted(frozen: Frozen, found: Found) -> list[tuple[tuple[str, str], list[tuple[Circuit, Device]]]]:
    """Positions as the vehicle lists them, nodes as the design does, outputs last."""
    positions = {key: i for i, key in enumerate(frozen.positions)}
    nodes = {node.tag: i for i, node in enumerate(frozen.appraisal.nodes)}
    return sorted(
        found.items(), key=lambda e: (positions.get(e[0][0], len(positions)), nodes.get(e[0][1], len(nodes)), e[0][1])
    )


def _place(frozen: Frozen, position: str, node: str) -> str:
    name = node[1:] if node.startswith(MODULE) else f"{say.node_names(frozen).get(node, '')} {node}".strip()
    place = frozen.place(position)
    return f"{place}: {name}" if place and name else place or name


def _row(frozen: Frozen, circuit: Circuit, device: Device, node: str) -> FuseRow:
    what = str(say.DEVICES.get(device.what, device.what))
    shape = say.shape_words(device)
    return FuseRow(
        tag=device.tag,
        rating=quantity(device.rating_a, "A"),
        what=", ".join(each for each in (_("at %s") % node if node else "", what, shape) if each),
        feeds=f"{circuit.tag} {circuit.name}",
    )


def spare_counts(frozen: Frozen) -> Counter[tuple[float, str]]:
    """Fuse-links that are fitted, by rating and shape."""
    found: Counter[tuple[float, str]] = Counter()
    for circuit in frozen.appraisal.circuits:
        for device in circuit.devices:
            if device.what == "fuse":
                found[device.rating_a, say.series_words(device) or device.name] += 1
    return found


def spares(frozen: Frozen) -> tuple[tuple[str, str, str], ...]:
    """Fuses to carry: rating, shape, and the tags they are for."""
    tags: dict[tuple[float, str], list[str]] = {}
    for circuit in frozen.appraisal.circuits:
        for device in circuit.devices:
            if device.what == "fuse":
                tags.setdefault((device.rating_a, say.series_words(device) or device.name), []).append(device.tag)
    return tuple(
        (quantity(rating, "A"), shape or _("fuse"), ", ".join(where)) for (rating, shape), where in sorted(tags.items())
    )
