"""Circuits, devices and conductors in the words of the papers."""

from __future__ import annotations

import re
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.kinds.conductors import COLOURS
from catalog.kinds.protection import SERIES
from catalog.quantities import UNIT_SPACE
from quoting import words
from quoting.documents.common import Frozen
from quoting.documents.speech import figure, quantity
from quoting.sizing.appraisal import Circuit, Device

DEVICES: dict[str, Any] = {
    "fuse": gettext_lazy("fuse"),
    "breaker": gettext_lazy("breaker"),
    "isolator": gettext_lazy("isolator"),
    "channel": gettext_lazy("output"),
    "residual": gettext_lazy("residual-current"),
}
DECIDED: dict[str, Any] = {
    "ampacity": gettext_lazy("current"),
    "drop": gettext_lazy("drop"),
    "cutout": gettext_lazy("voltage at the load"),
    "device": gettext_lazy("its device"),
    "adiabatic": gettext_lazy("short circuit"),
    "disconnection": gettext_lazy("far-end fault"),
    "inrush": gettext_lazy("starting current"),
    "least": gettext_lazy("least size"),
    "bond": gettext_lazy("main positive"),
    "signal": gettext_lazy("signal"),
    "hand": "",
    "existing": "",
}
GROUPS: dict[str, Any] = {
    "always_live": gettext_lazy("Always live"),
    "away": gettext_lazy("Away set"),
    "none": "",
}
SHAPES: dict[str, str] = dict(SERIES)
COLOUR: dict[str, str] = dict(COLOURS)


def device_words(device: Device) -> str:
    """Tag, kind and rating: ``F3 fuse 60 A``."""
    return f"{device.tag} {DEVICES.get(device.what, device.what)} {quantity(device.rating_a, 'A')}"


def series_words(device: Device) -> str:
    """What shape a fuse-link has; nothing where none is known."""
    return str(_(SHAPES[device.series])) if device.series in SHAPES else device.series


def shape_words(device: Device) -> str:
    """The shape alone, without the standard that gives it: ``blade, small``."""
    return without_standards(series_words(device))


def without_standards(said: str) -> str:
    """Words without what they have in brackets."""
    return re.sub(r" \([^)]*\)", "", said)


def colour_words(colour: str) -> str:
    """A conductor's colour."""
    return str(_(COLOUR[colour])) if colour in COLOUR else colour


def area_words(area_mm2: float) -> str:
    return quantity(area_mm2, "mm²")


def decided_words(circuit: Circuit) -> str:
    """Which rule set the conductor; nothing where a mark beside it says that a person did, or that it lies there."""
    code = circuit.decided_by
    return str(DECIDED[code] if code in DECIDED else words.rule_words(code))


def is_rated(circuit: Circuit) -> bool:
    """Whether a table says what the conductor carries; of one thinner than any table no more is claimed than flows."""
    return circuit.role not in ("sense", "control") or circuit.ampacity_a > circuit.current_a


def kilo(current_a: float | None) -> str:
    """Amperes in thousands, a dash where none is stated; two decimals, for a panel gives only some amperes."""
    return "–" if current_a is None else figure(current_a / 1000, 2)


def conductor_words(circuit: Circuit) -> str:
    """Size and colour: ``16 mm² red``."""
    return f"{area_words(circuit.area_mm2)} {colour_words(circuit.colour)}"


def return_words(circuit: Circuit) -> str:
    """How the current comes back."""
    if circuit.role in ("negative_bond", "sense", "control"):
        return ""
    if circuit.return_by == "chassis":
        return _("return: body")
    return (
        _("return: %s") % colour_words(circuit.negative_colour) if circuit.negative_colour else _("return: same size")
    )


def way_words(frozen: Frozen, circuit: Circuit) -> str:
    """Both nodes and both positions: ``W2 – C5; Fuse board – Galley``."""
    way = f"{circuit.source} – {circuit.target}"
    places = places_words(frozen, circuit.from_position, circuit.to_position)
    return f"{way}; {places}" if places else way


def places_words(frozen: Frozen, first: str, other: str) -> str:
    """Two positions by their keys; that both are on the trailer is said once."""
    a, b = frozen.place(first), frozen.place(other)
    if not (a and b) or a == b:
        return a or b
    trailer = _("Trailer: %s") % ""
    return f"{a} – {b.removeprefix(trailer)}" if a.startswith(trailer) else f"{a} – {b}"


def node_names(frozen: Frozen) -> dict[str, str]:
    """Names of the nodes by tag."""
    return {node.tag: node.name for node in frozen.appraisal.nodes}


__all__ = ["UNIT_SPACE", "area_words", "device_words", "kilo"]
