"""What the vehicle plan prints beside its drawing, already in words and numbers: see ``content``."""

from __future__ import annotations

from dataclasses import dataclass

from quoting.documents.content import Frame, Notice
from quoting.documents.content_wiring import HandNote
from quoting.sizing.brief import Vehicle


@dataclass(frozen=True, slots=True)
class LaneRow:
    """A cable run with what lies in it."""

    number: str
    way: str
    length: str
    straight: str
    circuits: str
    conduit: str


@dataclass(frozen=True, slots=True)
class SpotRow:
    """A position with what sits there."""

    name: str
    x: str
    y: str
    how: str
    sits: str


@dataclass(frozen=True, slots=True)
class LaidRow:
    """A panel on its roof area, or a battery in its space."""

    place: str
    number: str
    from_front: str
    from_left: str
    sides: str
    way: str


@dataclass(frozen=True, slots=True)
class PlanContent:
    frame: Frame
    vehicle: Vehicle
    lanes: tuple[LaneRow, ...]
    spots: tuple[SpotRow, ...]
    notes: tuple[str, ...]
    notices: tuple[Notice, ...]
    cautions: tuple[str, ...]
    by_hand: tuple[HandNote, ...] = ()
    panels: tuple[LaidRow, ...] = ()
    """In metres."""
    batteries: tuple[LaidRow, ...] = ()
    """In millimetres."""
