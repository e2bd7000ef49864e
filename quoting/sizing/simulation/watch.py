"""What looks at the battery while it runs: its monitor, the shed groups, the voltage backstop, its own protection."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from quoting.sizing.errors import SizingError, require
from quoting.sizing.simulation.fixed import Fixed
from quoting.sizing.simulation.plant import Course, Plant
from quoting.sizing.simulation.resting import Resting
from quoting.sizing.simulation.rows import Block, Sum

if TYPE_CHECKING:
    from quoting.sizing.simulation.plant import Flags, Floats

FULL_RATIO = 0.99
"""Charge at which a monitor takes the battery for full and sets itself right. Common practice: the current has fallen
to a few per cent of the capacity."""


class Monitor:
    """What the battery monitor reads over the truth, as charge."""

    def __init__(self, plant: Plant, course: Course, fixed: Fixed) -> None:
        n = fixed.members
        self.per_step = plant.monitor_drift_per_day * course.step_h / 24 * np.broadcast_to(fixed.full, n)
        self.set_right = -FULL_RATIO * np.broadcast_to(fixed.full, n)
        self.error: Floats = np.zeros(n)
        self._per_full = fixed.per_full
        self._reading, self._astray = np.empty(n), np.empty(n, bool)

    def read(self, empty: Floats) -> Floats:
        """The charge as the monitor has it, negative as ``empty`` is."""
        return np.subtract(empty, self.error, self._reading)

    def after(self, empty: Floats, out: Floats) -> None:
        """A step later: further astray, or set right by a full battery. The error goes into ``out``."""
        np.add(self.error, self.per_step, self.error)
        np.greater(empty, self.set_right, self._astray)
        np.multiply(self.error, self._astray, self.error)
        np.multiply(self.error, self._per_full, out)


class Groups:
    """The shed groups, by charge with hysteresis; ``let_go`` of the backstop lets all of them go."""

    def __init__(self, plant: Plant, course: Course, fixed: Fixed) -> None:
        count, n = len(plant.sheds), fixed.members
        full = np.broadcast_to(fixed.full, n)
        self.below = np.array([[-group.below_ratio] for group in plant.sheds]) * full
        self.restore = np.array([[-group.restore_ratio] for group in plant.sheds]) * full
        self.off = np.zeros((count, n), bool)
        self._under, self._not_back = np.empty((count, n), bool), np.empty((count, n), bool)
        self._each = np.empty((count, n))
        self._loads = tuple(Sum(x) for x in course.shed_w)
        self.shed: Floats = np.empty(n)

    def begin(self, block: Block, scratch: Floats) -> None:
        """Read the groups' loads of a block into ``scratch``, ``(rows, groups, n)``."""
        self._asked = scratch[: block.rows.stop - block.rows.start]
        for g, load in enumerate(self._loads):
            load.read(block.rows, self._asked[:, g])

    def decide(self, t: int, reading: Floats, let_go: Flags | None, out: Flags) -> Floats:
        """Which groups are off in this step, into ``out``; return what they would have drawn. [W]"""
        np.greater(reading, self.below, self._under)
        np.greater(reading, self.restore, self._not_back)
        np.logical_and(self.off, self._not_back, self.off)
        np.logical_or(self.off, self._under, self.off)
        if let_go is None:
            out[...] = self.off
        else:
            np.logical_or(self.off, let_go, out)
        np.multiply(out, self._asked[t], self._each)
        np.add.reduce(self._each, axis=0, out=self.shed)
        return self.shed


class Volts:
    """Voltage under load, what the battery's own protection makes of it, and the backstop with its delay."""

    def __init__(self, plant: Plant, course: Course, fixed: Fixed) -> None:
        n = fixed.members
        self._curve = Resting(plant.open_circuit, n)
        self.cutoff = np.array([plant.cutoff_v])
        self.opens, self.lets_go = plant.cutoff_v > 0, plant.backstop_v > 0 and bool(plant.sheds)
        self._floor, self._restore = np.array([plant.backstop_v]), np.array([plant.backstop_restore_v])
        self._step, self._delay = np.array([course.step_h]), np.array([plant.backstop_delay_h - 1e-9])
        self.rest, self._row, self._charging = np.empty(n), np.empty(n), np.empty(n)
        self.per_efficiency = 1 / fixed.efficiency
        self.let_go, self._under, self._low = np.zeros(n, bool), np.empty(n, bool), np.empty(n, bool)
        self._clock = np.zeros(n)
        self._none = np.zeros(1)

    def begin(self, charge_ratio: Floats) -> None:
        """Before the first step."""
        self._curve.read(charge_ratio, self.rest)

    def closed(self, peak: Floats, per_w: Floats, out: Flags) -> Flags:
        """Whether the battery's own protection stays closed under the load that a step begins with."""
        np.maximum(peak, self._none, self._row)
        np.multiply(self._row, per_w, self._row)
        np.subtract(self.rest, self._row, self._row)
        np.greater_equal(self._row, self.cutoff, out)
        return out

    def after(self, charge_ratio: Floats, peak: Floats, per_w: Floats, flow: Floats, out: Floats) -> None:
        """The voltage with which a step ends, into ``out``: under its largest power, or what charging lifts it to."""
        self._curve.read(charge_ratio, self.rest)
        under_load(self.rest, peak, per_w, flow, self.per_efficiency, self._row, out)
        if not self.lets_go:
            return
        np.less(out, self._floor, self._under)
        np.add(self._clock, self._step, self._clock)
        np.multiply(self._clock, self._under, self._clock)
        np.less(out, self._restore, self._low)
        np.logical_and(self.let_go, self._low, self.let_go)
        np.greater_equal(self._clock, self._delay, self._low)
        np.logical_and(self._low, self._under, self._low)
        np.logical_or(self.let_go, self._low, self.let_go)


def under_load(
    rest: Floats, peak: Floats, per_w: Floats, flow: Floats, per_efficiency: Floats, row: Floats, out: Floats
) -> None:
    """Resting voltage less what the largest net power drops; where sources cover it, what charging adds. [V]

    ``row`` is scratch. Current is power over nominal voltage, as everywhere in the sizing.
    """
    np.multiply(flow, -per_efficiency, row)
    np.minimum(row, 0.0, row)
    np.maximum(row, peak, row)
    np.multiply(row, per_w, row)
    np.subtract(rest, row, out)


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
