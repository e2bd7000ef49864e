"""What looks at the charge while it runs: the battery monitor and the shed groups."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from quoting.sizing.errors import SizingError, require
from quoting.sizing.simulation.fixed import Fixed
from quoting.sizing.simulation.plant import Course, Plant, ShedGroup
from quoting.sizing.simulation.rows import Sum, height_of

if TYPE_CHECKING:
    from quoting.sizing.simulation.plant import Flags, Floats

FULL_RATIO = 0.99
"""Charge at which a monitor takes the battery for full and sets itself right. Common practice: the current has fallen
to a few per cent of the capacity."""


class Monitor:
    """What the battery monitor reads over the truth, as charge."""

    def __init__(self, plant: Plant, course: Course, fixed: Fixed) -> None:
        n = fixed.members
        self._per_step = plant.monitor_drift_per_day * course.step_h / 24 * np.broadcast_to(fixed.full, n)
        self._set_right = -FULL_RATIO * np.broadcast_to(fixed.full, n)
        self._per_full = fixed.per_full
        self._error: Floats = np.zeros(n)
        self._reading, self._astray, self._keeps = np.empty(n), np.empty(n, bool), np.empty(n)

    def read(self, empty: Floats) -> Floats:
        """The charge as the monitor has it, negative as ``empty`` is."""
        return np.subtract(empty, self._error, self._reading)

    def after(self, empty: Floats, out: Floats) -> None:
        """A step later: further astray, or set right by a full battery. The error over the full charge into ``out``."""
        np.add(self._error, self._per_step, self._error)
        self._keeps[...] = np.greater(empty, self._set_right, self._astray)
        np.multiply(self._error, self._keeps, self._error)
        np.multiply(self._error, self._per_full, out)


def back_at(group: ShedGroup) -> float:
    """Reading at which a group comes back: never above the charge at which the monitor shows a full battery.

    A charge's tail comes close to full and not to it: a group that waited for the last of it would stay off for good.
    """
    return max(group.below_ratio, min(group.restore_ratio, FULL_RATIO))


class Groups:
    """The shed groups by charge with hysteresis, each of them let go with the others by the voltage backstop.

    One group after another: numpy is three times as fast on a row as on a few rows.
    """

    def __init__(self, plant: Plant, course: Course, fixed: Fixed) -> None:
        n, height = fixed.members, height_of(fixed.steps, fixed.members)
        full = np.broadcast_to(fixed.full, n)
        self._below = [-group.below_ratio * full for group in plant.sheds]
        self._restore = [-back_at(group) * full for group in plant.sheds]
        self._off = [np.zeros(n, bool) for _ in plant.sheds]
        self._under, self._away = np.empty(n, bool), np.empty(n, bool)
        self._loads = [Sum(x) for x in course.shed_w]
        self._asked = [np.empty((height, n)) for _ in plant.sheds]
        self._share = np.empty(n)
        self.any_off = False
        """Whether any group of any member was off when they were last decided on."""

    def begin(self, rows: slice) -> None:
        """Read the groups' loads of a block."""
        for load, asked in zip(self._loads, self._asked, strict=True):
            load.fill(rows, asked[: rows.stop - rows.start])

    def decide(self, reading: Floats, let_go: Flags | None, out: Flags) -> bool:
        """Which groups are off now, into ``out``, ``(groups, n)``. Whether any is."""
        count = 0
        for off, below, restore, row in zip(self._off, self._below, self._restore, out, strict=True):
            np.greater(reading, below, self._under)
            np.greater(reading, restore, self._away)
            np.logical_and(off, self._away, off)
            np.logical_or(off, self._under, off)
            row[...] = off if let_go is None else np.logical_or(off, let_go, self._under)
            count += int(np.count_nonzero(row))
        self.any_off = count > 0
        return self.any_off

    def shed(self, t: int, off: Flags, out: Floats) -> None:
        """What the groups that are off would have drawn in row ``t``, added to ``out``. [W]"""
        for asked, row in zip(self._asked, off, strict=True):
            self._share[...] = row
            np.multiply(self._share, asked[t], self._share)
            np.add(out, self._share, out)


def check(plant: Plant, course: Course) -> None:
    """Refuse thresholds that cannot be, and shed groups that ask for more than there is.

    Raises
    ------
    SizingError
        Naming the value.
    """
    for group in plant.sheds:
        require("below_ratio", group.below_ratio, minimum=0, maximum=1)
        require("restore_ratio", group.restore_ratio, minimum=group.below_ratio, maximum=2)
    require("cutoff_v", plant.cutoff_v, minimum=0, maximum=1000, unit="V")
    require("backstop_v", plant.backstop_v, minimum=0, maximum=1000, unit="V")
    require("backstop_restore_v", plant.backstop_restore_v, minimum=plant.backstop_v, maximum=1000, unit="V")
    require("backstop_delay_h", plant.backstop_delay_h, minimum=0, maximum=24, unit="h")
    require("monitor_drift_per_day", plant.monitor_drift_per_day, minimum=0, maximum=1, unit="1/day")
    if not plant.sheds:
        return
    left = course.load_w - sum(course.shed_w)
    if float(np.min(left)) < -1e-9 * max(1.0, float(np.max(course.load_w))):
        raise SizingError("shed_w", value=float(np.min(left)), code="conflict", message="more is shed than asked")
