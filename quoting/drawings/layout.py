"""Formats of a sheet and where things stand across it; heights of rows: least extents first, then the rest shared out.

Millimetres, y down.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

BUS_X = 125.0
UNIT_X = 73.0
JOINT_X = 83.0
STORE_X = 62.0
BOARD_X = 160.0
LOAD_X = 209.0
NAME_X = 214.0
EDGE_X = 256.0
"""Stops of the main picture, the same on every format. [mm]"""

PITCH_MM = 13.3
"""Row pitch of a calm sheet. [mm]"""
BRANCH_UP, BRANCH_DOWN = 6.4, 2.4
"""Least room of a branch row: tag and rating above the contact, nothing below the line. [mm]"""
HEAD_MM = 6.4
"""Room of a board's name. [mm]"""
FRAME_LEFT_MM, FRAME_TOP_MM = 4.4, 4.2
"""Room of the frame's letters and numbers. [mm]"""


@dataclass(frozen=True, slots=True)
class Stops:
    """Where a column of branch rows has its left edge, bar, loads, names and right edge. [mm]"""

    bar: float = BOARD_X
    load: float = LOAD_X
    name: float = NAME_X
    edge: float = EDGE_X
    left: float = BUS_X + 4.0

    @property
    def name_width(self) -> float:
        return self.edge - self.name


def column(left: float, width: float) -> Stops:
    """A column of its own, from ``left``. [mm]"""
    load = left + 0.55 * width
    return Stops(bar=left + 1.5, load=load, name=load + 5.0, edge=left + width, left=left)


@dataclass(frozen=True, slots=True)
class Form:
    """A format of paper.

    ``side`` are columns beside the main picture, ``columns`` those of a sheet that has only boards; ``grid`` says how
    many fields the frame counts across and down.
    """

    name: str
    width_mm: float
    height_mm: float
    side: tuple[Stops, ...]
    columns: tuple[Stops, ...]
    grid: tuple[int, int]

    @property
    def inner_width_mm(self) -> float:
        return self.width_mm - FRAME_LEFT_MM

    @property
    def inner_height_mm(self) -> float:
        return self.height_mm - FRAME_TOP_MM


FORMS = {
    "A4": Form("A4", 261.0, 168.0, (), (column(0.0, 124.0), column(132.0, 124.0)), (8, 5)),
    "A3": Form(
        "A3",
        384.0,
        255.0,
        (column(266.0, 113.0),),
        (column(0.0, 121.0), column(129.0, 121.0), column(258.0, 121.0)),
        (12, 8),
    ),
}
"""Formats by name: what the margins of landscape A4 and A3 leave."""


@dataclass(slots=True)
class Slot:
    """A row that wants a height.

    ``up`` and ``down`` are its least room above and below its line, ``stretch`` the most it may gain above, ``spring``
    takes all that is still left over before it, unless it is the first. [mm]
    """

    up: float
    down: float
    stretch: float = 0.0
    spring: bool = False
    y: float = 0.0


def needed(slots: Sequence[Slot]) -> float:
    """Least height of a stack. [mm]"""
    return sum(slot.up + slot.down for slot in slots)


def spread(slots: Sequence[Slot], top: float, bottom: float) -> None:
    """Give every row its line between ``top`` and ``bottom``, in order.

    Rows gain in proportion to their ``stretch``; the rest goes before the first row that is a ``spring``. A stack that
    is too tall runs past ``bottom``; the caller asks :func:`needed` first.
    """
    slack = max(0.0, bottom - top - needed(slots))
    wish = sum(slot.stretch for slot in slots[1:])
    share = min(1.0, slack / wish) if wish else 0.0
    rest = slack - share * wish
    at = top
    for index, slot in enumerate(slots):
        if slot.spring and index and rest > 0:
            at += rest
            rest = 0.0
        at += (slot.stretch * share if index else 0.0) + slot.up
        slot.y = at
        at += slot.down
