"""What conductors land on, and the terminal that is pressed on for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from catalog.kinds.capabilities import Holding, Landing, Protecting, Terminating
from quoting.sizing.appraisal import Device, Node
from quoting.sizing.parts import Able, Catalogue

LUG_FROM_MM2 = 10.0
"""From this area an end without a known stud is a ring terminal; thinner ends take what their place takes. [mm²] C"""

USUAL_STUD_MM = ((LUG_FROM_MM2, 8.0), (0.0, 6.0))
"""Area, from -> stud that a ring terminal is taken for where none is stated: the nearest there is. [mm²: mm] C"""

RING = ("ring",)
TAB = ("blade", "ring", "butt", "ferrule")
CLAMP = ("ferrule", "ring", "blade", "butt")
LEAD = ("butt", "blade", "ring", "ferrule")
"""Forms that suit a stud, a push-on tab, a clamp and an appliance's own lead: the first that the catalogue has. C"""

FORMS_AT: Mapping[str, tuple[str, ...]] = {
    "alternator": RING,
    "starter_battery": RING,
    "battery": RING,
    "busbar": RING,
    "board": RING,
    "body": RING,
    "monitor": RING,
    "load": LEAD,
    "panel": LEAD,
    "sensor": LEAD,
    "outlet": LEAD,
}
"""Forms by what a node is; everything else clamps."""

CONTACT = "contact"
"""Form of an end in a coupling: its contact is part of the coupling."""

BARE = ""


@dataclass(frozen=True, slots=True)
class Place:
    """Where one end lands."""

    at: str
    """Tag of node or device."""
    position: str
    forms: tuple[str, ...] = RING
    """In order of preference; empty: nothing is pressed on."""
    stud_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Terminals:
    """The catalogue's terminals by conductor, cheapest first."""

    by_area: Mapping[float, tuple[Able[Terminating], ...]]

    @classmethod
    def of(cls, parts: Catalogue) -> Terminals:
        found: dict[float, list[Able[Terminating]]] = {}
        for able in parts.having(Terminating):
            found.setdefault(able.can.area_mm2, []).append(able)
        return cls({area: tuple(models) for area, models in found.items()})

    def models(self, area_mm2: float) -> tuple[Able[Terminating], ...]:
        return self.by_area.get(area_mm2, ())

    def fit(self, area_mm2: float, place: Place) -> Able[Terminating] | None:
        """The terminal for a conductor at a place: the place's own stud, or the first form that it takes."""
        rings = [t for t in self.models(area_mm2) if t.can.form == "ring"]
        if place.stud_mm is not None:
            return next((t for t in rings if t.can.stud_mm == place.stud_mm), None)
        if area_mm2 >= LUG_FROM_MM2:
            return _nearest(rings, area_mm2)
        for form in place.forms:
            if form == "ring" and rings:
                return _nearest(rings, area_mm2)
            found = next((t for t in self.models(area_mm2) if t.can.form == form), None)
            if found is not None:
                return found
        return None


def _nearest(rings: list[Able[Terminating]], area_mm2: float) -> Able[Terminating] | None:
    usual = next(stud for least, stud in USUAL_STUD_MM if area_mm2 >= least)
    return min(rings, key=lambda t: (abs(t.can.stud_mm - usual), t.order), default=None)


def stud_of(parts: Catalogue, key: object) -> float | None:
    """Stud that conductors land on at a part, where its maker states one. [mm]"""
    known = isinstance(key, str) and key and parts.has(key, Landing)
    return parts.can(str(key), Landing).stud_mm if known else None


def at_node(parts: Catalogue, node: Node) -> Place:
    """A node as a place to land on; a busbar states its studs itself."""
    own = node.params.get("stud_mm")
    stud = float(own) if isinstance(own, int | float) else stud_of(parts, node.params.get("part"))
    return Place(node.tag, node.position, FORMS_AT.get(node.what, CLAMP), stud)


def at_device(parts: Catalogue, device: Device, holder: Able[Holding] | None) -> Place:
    """A device as a place to land on: a fuse-link's is its holder's."""
    key = holder.part.key if holder is not None else device.part
    forms = CLAMP if device.what == "channel" else RING
    if device.what == "fuse" and device.series.startswith("blade"):
        forms = TAB
    if device.what == "breaker" and not _is_bolted(parts, device):
        forms = CLAMP
    return Place(device.tag, device.position, forms, stud_of(parts, key))


def _is_bolted(parts: Catalogue, device: Device) -> bool:
    known = bool(device.part) and parts.has(device.part, Protecting)
    return known and stud_of(parts, device.part) is not None
