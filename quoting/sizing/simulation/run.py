"""The trip simulation: many members side by side, step by step.

A step goes so. What the monitor reads when it begins, and whether the voltage backstop has let go, say which shed
groups are off. The sources serve the loads that are left; what is over goes into the battery within its charging limit,
by its cells' temperature, and within what it still takes; what is missing comes from the battery within its limit and
what it can give over the step. In a step that begins with the voltage under the battery's cut-off its own protection is
open and it gives nothing. Then the voltage is read, the monitor drifts and the backstop's clock runs.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

import numpy as np

from quoting.sizing.errors import SizingError
from quoting.sizing.simulation.calm import Calm
from quoting.sizing.simulation.fixed import Fixed, fixed
from quoting.sizing.simulation.ledger import Ledger
from quoting.sizing.simulation.plant import Course, Outcome, Plant
from quoting.sizing.simulation.rows import Block
from quoting.sizing.simulation.volts import Volts
from quoting.sizing.simulation.watch import Groups, Monitor, check

if TYPE_CHECKING:
    from quoting.sizing.simulation.plant import Flags, Floats


def simulate(
    plant: Plant, course: Course, *, record: Collection[str] | None = None, record_volts: bool = True
) -> Outcome:
    r"""Run a plant over a course.

    Parameters
    ----------
    plant : Plant
        The system, or candidates side by side; arrays of shape ``(n,)`` or ``(1,)``.
    course : Course
        What is asked and offered; arrays of shape ``(steps, n)`` or ``(steps, 1)``. [W]
    record : collection of str, optional
        Which arrays of the outcome's powers and charge to write down, all when not given. The others come back with no
        rows: a year of hours of a thousand members is 70 MB each.
    record_volts : bool
        Whether to write the voltage down; where something in the plant acts on it, it is worked out anyway.

    Returns
    -------
    Outcome
        Arrays of shape ``(steps, n)``.

    Raises
    ------
    SizingError
        For shapes that do not fit one another and numbers that no battery can have, naming the field.

    Notes
    -----
    Near full the battery stores at the most :math:`(E - q)(1 - e^{-h/\tau})` in a step of h, the tail of a charge at
    constant voltage. With two wells it gives and takes only what the available well can, see
    :class:`~quoting.sizing.simulation.fixed.Wells`.

    What is not given is shared in the measure of what was asked: on one bus everything sags and goes dark together, so
    that of a step in which the battery gives for a part of the time, or for a part of the power, every load that is not
    shed loses the same share. ``dark_w`` is the essential loads' share. It is more than nothing whenever an essential
    load was asked for and something was not given. Whether it was for want of charge or of voltage, ``opened`` says;
    steps in which a voltage is too low for an appliance while the battery still gives are not in ``dark_w``: they are
    to be counted from ``volts_v``.

    The voltage is that of the available well's level at rest, which is the state of charge where there is one well,
    less (or, charging, plus) the drop of the bank's resistance at the cells' temperature under the largest net power.
    Current is power over nominal voltage.

    Energy is conserved in every step: taken = given + charge - discharge, and what is stored changes by
    charge - loss - discharge.

    References
    ----------
    .. [1] J. F. Manwell and J. G. McGowan, "Lead acid battery storage model for hybrid energy systems",
       Solar Energy 50 (1993) 399.
    """
    kept = fixed(plant, course)
    check(plant, course)
    return _Run(plant, course, kept, record, record_volts).whole()


class _Run:
    """One simulation: its state, its scratch, its loop."""

    def __init__(
        self, plant: Plant, course: Course, kept: Fixed, record: Collection[str] | None, record_volts: bool
    ) -> None:
        n, steps = kept.members, kept.steps
        acts = plant.cutoff_v > 0 or (plant.backstop_v > 0 and bool(plant.sheds))
        known = bool(plant.open_circuit) and plant.resistance_ohm is not None and (acts or record_volts)
        self.kept = kept
        self.volts = Volts(plant, course, kept) if known else None
        self.opens = self.volts is not None and self.volts.opens
        self.lets_go = self.volts is not None and self.volts.lets_go
        self.groups = Groups(plant, course, kept) if plant.sheds else None
        self.monitor = Monitor(plant, course, kept) if plant.monitor_drift_per_day > 0 else None
        self.calm = Calm(plant, course) if self.groups or self.opens else None
        self.block = Block(plant, course, kept, known)
        more = (*(("volts_v",) if known and record_volts else ()), *(("monitor_error",) if self.monitor else ()))
        self.ledger = Ledger(course, kept, record, more)
        self.shed = np.empty((self.block.height, n)) if self.groups else None
        self.off = np.zeros((len(plant.sheds), steps, n), bool)
        self.closed = np.ones((steps, n), bool) if self.opens else None
        self.let_go = np.zeros((steps, n), bool) if self.lets_go else None
        self.empty: Floats = np.broadcast_to(-plant.start_ratio * kept.full, n).copy()
        """Charge, negative: so it is itself the most that can be drawn, as a flow."""
        self.hollow: Floats = self.empty * plant.available_ratio
        """Of the available well, likewise."""
        self.ratio: Floats = self.empty * -kept.per_full
        self.level: Floats = self.ratio.copy() if kept.wells else self.ratio
        """State of charge, and how full the available well is: one row where there is one well."""

    def whole(self) -> Outcome:
        """Every block in turn."""
        block, ledger = self.block, self.ledger
        for first in range(0, self.kept.steps, block.height):
            block.read(slice(first, min(self.kept.steps, first + block.height)))
            if self.groups and self.shed is not None:
                self.groups.begin(block.rows)
                self.shed.fill(0.0)
            self._walk()
            ledger.write(block, None if self.shed is None else self.shed[: len(block.net)])
            if self.volts and "volts_v" in ledger.arrays:
                self.volts.write(self._levels(), block, ledger.arrays["volts_v"][block.rows])
        if not np.isfinite(self.empty).all():
            raise SizingError("course", value=float("nan"), code="not_a_number")
        opened = None if self.closed is None else np.logical_not(self.closed, self.closed)
        return ledger.outcome(tuple(self.off), opened, self.let_go)

    def _levels(self) -> Floats:
        """How full the available well was at the end of a block's steps."""
        block, kept = self.block, self.kept
        if kept.wells is None:
            return np.multiply(block.empty, -kept.per_full, block.hollow)
        return np.multiply(block.hollow, -kept.wells.per_brim, block.hollow)

    def _walk(self) -> None:
        """The steps of one block, one by one: only what hangs on the charge, in as few passes over a row as may be."""
        block, kept, wells = self.block, self.kept, self.kept.wells
        n, full, taking = kept.members, kept.full, kept.taking
        add, multiply, minimum, maximum, subtract = np.add, np.multiply, np.minimum, np.maximum, np.subtract
        up, row, well, shut = np.empty(n), np.empty(n), np.empty(n), np.empty(n)
        errors = self.ledger.arrays["monitor_error"][block.rows] if self.monitor else None
        empty, hollow = self.empty, self.hollow
        for t in range(len(block.net)):
            closed = None if self.calm is None else self._begin(t, empty, self.calm)
            add(empty, full, up)
            multiply(up, taking, up)
            minimum(up, block.wish[t], out=up)
            low = empty
            if wells is not None:
                multiply(empty, wells.both, well)
                multiply(hollow, wells.own, row)
                low = add(well, row, well)
                add(low, wells.brim, row)
                minimum(up, row, out=up)
            if closed is not None:
                low = multiply(low, closed, shut)
            flow = maximum(up, low, out=block.flow[t])
            empty = subtract(empty, flow, block.empty[t])
            if wells is not None:
                hollow = subtract(well, flow, block.hollow[t])
                multiply(hollow, wells.pull, hollow)
            if self.calm is not None:
                self._end(t, empty, hollow, self.calm)
            if self.monitor is not None and errors is not None:
                self.monitor.after(empty, errors[t])
        self.empty[...], self.hollow[...] = empty, hollow

    def _begin(self, t: int, empty: Floats, calm: Calm) -> Flags | None:
        """Shed, bring back, and open: members whose battery still gives, ``None`` when all do."""
        block, groups, volts, now = self.block, self.groups, self.volts, self.block.rows.start + t
        holds = volts is not None and volts.holds
        if groups is not None and (holds or groups.any_off or not calm.sheds_none):
            self._shed(t, empty, groups)
        if volts is None or self.closed is None or calm.opens_none(now):
            return None
        closed = self.closed[now]
        return None if volts.closed(self.level, block.peak[t], block.per_w[t], closed) else closed

    def _shed(self, t: int, empty: Floats, groups: Groups) -> None:
        """Let go and bring back, and what that leaves of the step's net power and of its peak."""
        block, now = self.block, self.block.rows.start + t
        let_go: Flags | None = None
        if self.volts is not None and self.let_go is not None and self.volts.holds:
            let_go = self.let_go[now]
            let_go[...] = self.volts.let_go
        off = self.off[:, now]
        reading = empty if self.monitor is None else self.monitor.read(empty)
        if self.shed is None or not groups.decide(reading, let_go, off):
            return
        shed = self.shed[t]
        groups.shed(t, off, shed)
        np.add(block.net[t], shed, block.net[t])
        block.wishes(block.net[t], block.limit[t], block.wish[t])
        if self.volts is not None:
            np.subtract(block.peak[t], shed, block.peak[t])

    def _end(self, t: int, empty: Floats, hollow: Floats, calm: Calm) -> None:
        """Look at the lowest charge, and where that does not tell enough at the voltage of everyone."""
        block, kept, volts = self.block, self.kept, self.volts
        np.multiply(empty, -kept.per_full, self.ratio)
        if kept.wells is not None:
            np.multiply(hollow, -kept.wells.per_brim, self.level)
        calm.look(self.ratio, self.level)
        if volts is not None and self.lets_go and (volts.holds or not calm.lets_go_none(block.rows.start + t)):
            volts.after(self.level, block.peak[t], block.per_w[t], block.flow[t])
