"""Voltage under load, what the battery's own protection makes of it, and the voltage backstop with its delay."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from quoting.sizing.simulation.fixed import Fixed
from quoting.sizing.simulation.plant import Course, Plant
from quoting.sizing.simulation.resting import Resting
from quoting.sizing.simulation.rows import Block, height_of

if TYPE_CHECKING:
    from quoting.sizing.simulation.plant import Flags, Floats

NOTHING = np.zeros(())


class Volts:
    """The voltage of rows of batteries, and whether it acts: ``opens`` their protection, ``lets_go`` of shed groups.

    Resting voltage less what the largest net power drops; where sources cover it, more by what charging adds. Current
    is power over nominal voltage, as everywhere in the sizing.
    """

    def __init__(self, plant: Plant, course: Course, fixed: Fixed) -> None:
        n = fixed.members
        self.opens, self.lets_go = plant.cutoff_v > 0, plant.backstop_v > 0 and bool(plant.sheds)
        self.curve = Resting(plant.open_circuit, (height_of(fixed.steps, n), n))
        self._cutoff, self._floor = np.array(plant.cutoff_v), np.array(plant.backstop_v)
        self._restore, self._delay = np.array(plant.backstop_restore_v), np.array(plant.backstop_delay_h - 1e-9)
        self._step_h = course.step_h
        self._rest, self._row = np.empty(n), np.empty(n)
        self._drops: Floats = np.empty((height_of(fixed.steps, n), n))
        self._less_efficiency = -1 / fixed.efficiency
        self._under, self._low = np.empty(n, bool), np.empty(n, bool)
        self._clock: Floats = np.zeros(n)
        self.let_go: Flags = np.zeros(n, bool)
        self.holds = False
        """Whether the backstop holds anything off, or its clock runs, in any member."""

    def closed(self, level: Floats, peak: Floats, per_w: Floats, out: Flags) -> bool:
        """Where the battery's own protection stays closed under the load a step begins with. Whether everywhere."""
        row = self._row
        np.multiply(np.maximum(peak, NOTHING, out=row), per_w, row)
        np.subtract(self.curve.read(level, self._rest), row, row)
        np.greater_equal(row, self._cutoff, out)
        return int(np.count_nonzero(out)) == len(out)

    def _read(self, level: Floats, peak: Floats, per_w: Floats, flow: Floats, row: Floats, out: Floats) -> Floats:
        np.multiply(flow, self._less_efficiency, row)
        np.minimum(row, NOTHING, out=row)
        np.maximum(row, peak, out=row)
        np.multiply(row, per_w, row)
        return np.subtract(self.curve.read(level, out), row, out)

    def write(self, levels: Floats, block: Block, out: Floats) -> None:
        """The voltage that each step of a block ended with, into ``out``. [V]"""
        self._read(levels, block.peak, block.per_w, block.flow, self._drops[: len(levels)], out)

    def after(self, level: Floats, peak: Floats, per_w: Floats, flow: Floats) -> None:
        """The backstop at the end of a step: from its delay on it lets go, until the voltage has come back."""
        volts_v = self._read(level, peak, per_w, flow, self._row, self._rest)
        np.less(volts_v, self._floor, self._under)
        if not self.holds and not np.count_nonzero(self._under):
            return
        np.add(self._clock, self._step_h, self._clock)
        np.multiply(self._clock, self._under, self._clock)
        np.less(volts_v, self._restore, self._low)
        np.logical_and(self.let_go, self._low, self.let_go)
        np.greater_equal(self._clock, self._delay, self._low)
        np.logical_and(self._low, self._under, self._low)
        np.logical_or(self.let_go, self._low, self.let_go)
        self.holds = bool(np.count_nonzero(self.let_go) or np.count_nonzero(self._under))
