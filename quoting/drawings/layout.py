"""Heights of rows on a sheet: least extents first, then what is left over is shared out. Millimetres, y down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

BUS_X = 127.0
UNIT_X = 74.0
JOINT_X = 84.0
STORE_X = 62.0
BOARD_X = 162.5
LOAD_X = 212.5
NAME_X = 217.5
"""Shared stops across a sheet of 261 mm. [mm]"""

PITCH_MM = 13.3
"""Row pitch of a calm sheet. [mm]"""
BRANCH_UP, BRANCH_DOWN = 6.0, 2.2
"""Least room of a branch row: tag and rating above the contact, nothing below the line. [mm]"""
HEAD_MM = 4.6
"""Room of a board's name. [mm]"""


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
