"""A course by blocks of steps: sums of its arrays, and what of a step hangs on nothing that happens in the loop."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from quoting.sizing.simulation.fixed import Fixed
from quoting.sizing.simulation.plant import Course, Plant

if TYPE_CHECKING:
    from quoting.sizing.simulation.plant import Floats

BLOCK = 16384
"""Numbers in a block of rows: small enough that what one pass makes is still near for the next, large enough that the
passes are few."""


def height_of(steps: int, members: int) -> int:
    """Rows in a block."""
    return max(1, min(steps, BLOCK // members))


class Sum:
    """Arrays added up and taken off: those of one column once for all, the others block by block."""

    def __init__(self, *plus: Floats, minus: tuple[Floats, ...] = ()) -> None:
        steps = plus[0].shape[0]
        self.narrow = np.zeros((steps, 1))
        for x in plus:
            self.narrow += x if x.shape[1] == 1 else 0.0
        for x in minus:
            self.narrow -= x if x.shape[1] == 1 else 0.0
        self._plus = tuple(x for x in plus if x.shape[1] > 1)
        self._minus = tuple(x for x in minus if x.shape[1] > 1)

    def read(self, rows: slice, out: Floats) -> Floats:
        """These rows, into ``out`` or, where one column is all there is, as that column."""
        narrow = self.narrow[rows]
        return self.fill(rows, out) if self._plus or self._minus else narrow

    def fill(self, rows: slice, out: Floats) -> Floats:
        """These rows, into ``out`` whatever they are."""
        last: Floats = self.narrow[rows]
        for x in self._plus:
            last = np.add(x[rows], last, out)
        for x in self._minus:
            last = np.subtract(last, x[rows], out)
        if last is not out:
            out[...] = last
        return out


class Block:
    """One block of rows after another. Arrays of shape ``(rows, n)``, some ``(rows, 1)``; flows in watts.

    ``net`` is what the sources offer over all loads, ``wish`` what they would have of the battery, ``limit`` what it
    takes at the most, ``peak`` the largest net power drawn at one time, ``per_w`` the volts that a watt drops. The loop
    writes ``flow``, ``empty`` and ``hollow``, and ``net``, ``wish`` and ``peak`` where loads are shed.
    """

    def __init__(self, plant: Plant, course: Course, fixed: Fixed, volts: bool) -> None:
        self.height = height_of(fixed.steps, fixed.members)
        self._fixed, self._volts = fixed, volts
        self._loads = Sum(course.load_w)
        self._nets = Sum(course.engine_w, course.mains_w, course.sun_w, minus=(course.load_w,))
        self._share, first = course.charge_share, course.charge_share[:1, :1]
        self._evenly = bool(np.all(self._share == first))
        if self._evenly:
            self.limit = np.broadcast_to(first * fixed.charge_limit, (self.height, fixed.members))
        self._within = bool(np.max(course.load_w) <= -np.max(fixed.floor))
        """No load is over what the battery may give: that limit need not be looked at."""
        names = (
            "load",
            "net",
            "wish",
            "flow",
            "empty",
            "hollow",
            "limit",
            *(("peak", "per_w", "over") if volts else ()),
        )
        self._arrays = {name: np.empty((self.height, fixed.members)) for name in names}
        if volts:
            assert plant.resistance_ohm is not None
            self._over = Sum(np.maximum(course.peak_w, course.load_w), minus=(course.load_w,))
            self._drops = course.resistance_ratio, plant.resistance_ohm / plant.nominal_v
        self.rows = slice(0, 0)

    def read(self, rows: slice) -> None:
        """Fill the block for these rows of the course."""
        self.rows, count = rows, rows.stop - rows.start
        part = {name: x[:count] for name, x in self._arrays.items()}
        self.flow, self.empty, self.hollow, self.wish = part["flow"], part["empty"], part["hollow"], part["wish"]
        self.load = self._loads.read(rows, part["load"])
        self.net = self._nets.fill(rows, part["net"])
        if not self._evenly:
            self.limit = np.multiply(self._share[rows], self._fixed.charge_limit, part["limit"])
        if self._volts:
            self.peak, self.per_w = part["peak"], part["per_w"]
            np.subtract(self._over.read(rows, part["over"]), self.net, self.peak)
            np.multiply(self._drops[0][rows], self._drops[1], self.per_w)
        self.wishes(self.net, self.limit[:count], self.wish)

    def wishes(self, net: Floats, limit: Floats, out: Floats) -> None:
        """What sources and loads would have of the battery, as stored and within its limits."""
        np.multiply(net, self._fixed.efficiency, out)
        np.minimum(out, net, out=out)
        np.minimum(out, limit, out=out)
        if not self._within:
            np.maximum(out, self._fixed.floor, out=out)
