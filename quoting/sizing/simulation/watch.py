"""What looks at the battery while it runs: its monitor, the shed groups, the voltage backstop, its own protection."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from quoting.sizing.errors import SizingError, require
from quoting.sizing.simulation.fixed import Fixed
from quoting.sizing.simulation.plant import Course, Plant, ShedGroup
from quoting.sizing.simulation.resting import Resting
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
        return count > 0

    def shed(self, t: int, off: Flags, out: Floats) -> None:
        """What the groups that are off would have drawn in row ``t``, added to ``out``. [W]"""
        for asked, row in zip(self._asked, off, strict=True):
            self._share[...] = row
            np.multiply(self._share, asked[t], self._share)
            np.add(out, self._share, out)


class Volts:
    """Voltage under load, what the battery's own protection makes of it, and the backstop with its delay."""

    def __init__(self, plant: Plant, course: Course, fixed: Fixed) -> None:
        n = fixed.members
        self._curve = Resting(plant.open_circuit, n)
        self.opens, self.lets_go = plant.cutoff_v > 0, plant.backstop_v > 0 and bool(plant.sheds)
        self._cutoff, self._floor = np.array(plant.cutoff_v), np.array(plant.backstop_v)
        self._restore, self._delay = np.array(plant.backstop_restore_v), np.array(plant.backstop_delay_h - 1e-9)
        self._step_h = course.step_h
        self._rest, self._row, self._none = np.empty(n), np.empty(n), np.zeros(n)
        self._less_efficiency = -1 / fixed.efficiency
        self._under, self._low = np.empty(n, bool), np.empty(n, bool)
        self._clock: Floats = np.zeros(n)
        self.let_go: Flags = np.zeros(n, bool)
        self.holds = False
        """Whether the backstop holds anything off, or its clock runs, in any member."""

    def begin(self, charge_ratio: Floats) -> None:
        """Before the first step."""
        self._curve.read(charge_ratio, self._rest)

    def closed(self, peak: Floats, per_w: Floats, out: Flags) -> bool:
        """Where the battery's own protection stays closed under the load a step begins with. Whether everywhere."""
        np.maximum(peak, self._none, out=self._row)
        np.multiply(self._row, per_w, self._row)
        np.subtract(self._rest, self._row, self._row)
        np.greater_equal(self._row, self._cutoff, out)
        return int(np.count_nonzero(out)) == len(out)

    def after(self, charge_ratio: Floats, peak: Floats, per_w: Floats, flow: Floats, out: Floats) -> None:
        """The voltage that a step ends with, into ``out``. [V]

        Resting voltage less what the largest net power drops; where sources cover it, more by what charging adds.
        Current is power over nominal voltage, as everywhere in the sizing.
        """
        row = self._row
        self._curve.read(charge_ratio, self._rest)
        np.multiply(flow, self._less_efficiency, row)
        np.minimum(row, self._none, out=row)
        np.maximum(row, peak, out=row)
        np.multiply(row, per_w, row)
        np.subtract(self._rest, row, out)
        if self.lets_go:
            np.less(out, self._floor, self._under)
            if self.holds or np.count_nonzero(self._under):
                self._backstop(out)

    def _backstop(self, volts_v: Floats) -> None:
        """Its clock runs while the voltage is under; it holds from the delay until the voltage has come back."""
        np.add(self._clock, self._step_h, self._clock)
        np.multiply(self._clock, self._under, self._clock)
        np.less(volts_v, self._restore, self._low)
        np.logical_and(self.let_go, self._low, self.let_go)
        np.greater_equal(self._clock, self._delay, self._low)
        np.logical_and(self._low, self._under, self._low)
        np.logical_or(self.let_go, self._low, self.let_go)
        self.holds = bool(np.count_nonzero(self.let_go) or np.count_nonzero(self._under))


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
