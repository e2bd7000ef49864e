"""A course by blocks of steps: sums of its arrays, and what of a step hangs on nothing that happens in the loop."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from quoting.sizing.simulation.fixed import Fixed
from quoting.sizing.simulation.plant import Course, Plant

if TYPE_CHECKING:
    from quoting.sizing.simulation.plant import Floats

BLOCK = 32768
"""Numbers in a block of rows: a quarter of a megabyte, so that what is made in one pass is near for the next."""


class Sum:
    """Arrays added up: those of one column once for all, the others block by block."""

    def __init__(self, *terms: Floats) -> None:
        narrow = [x for x in terms if x.shape[1] == 1]
        self.narrow = np.sum(narrow, axis=0) if narrow else np.zeros((terms[0].shape[0], 1))
        self.wide = tuple(x for x in terms if x.shape[1] > 1)

    def read(self, rows: slice, out: Floats) -> Floats:
        """The sum of these rows, into ``out``."""
        if not self.wide:
            out[...] = self.narrow[rows]
            return out
        np.add(self.wide[0][rows], self.narrow[rows], out)
        for x in self.wide[1:]:
            np.add(out, x[rows], out)
        return out


class Block:
    """Scratch for one block of rows after another. Arrays of shape ``(rows, n)``, flows in watts."""

    def __init__(self, plant: Plant, course: Course, fixed: Fixed, watched: bool, volts: bool) -> None:
        self.height = max(1, min(fixed.steps, BLOCK // fixed.members))
        self._course, self._fixed, self._watched = course, fixed, watched
        self._load = Sum(course.load_w)
        self._offer = Sum(course.engine_w, course.mains_w, course.sun_w)
        self._share = course.charge_share
        self._peak = Sum(np.maximum(course.peak_w, course.load_w)) if volts else None
        self._per_w = None if not volts else _drop_per_w(plant, course)
        shape = (self.height, fixed.members)
        self._arrays = {name: np.empty(shape) for name in ("load", "net", "wish", "flow", "empty", "limit")}
        if volts:
            self._arrays |= {name: np.empty(shape) for name in ("peak", "per_w")}
        self.rows = slice(0, 0)

    def read(self, rows: slice) -> None:
        """Fill the block for these rows of the course."""
        self.rows, count = rows, rows.stop - rows.start
        part = {name: x[:count] for name, x in self._arrays.items()}
        self.load, self.net, self.wish, self.flow = part["load"], part["net"], part["wish"], part["flow"]
        self.empty, self.limit = part["empty"], part["limit"]
        self._load.read(rows, self.load)
        self._offer.read(rows, self.net)
        if self._peak is not None and self._per_w is not None:
            self.peak, self.per_w = part["peak"], part["per_w"]
            np.subtract(self._peak.read(rows, self.peak), self.net, self.peak)
            np.multiply(self._per_w[0][rows], self._per_w[1], self.per_w)
        np.subtract(self.net, self.load, self.net)
        np.multiply(self._share[rows], self._fixed.charge_limit, self.limit)
        if not self._watched:
            self.wishes(self.net, self.limit, self.wish)

    def wishes(self, net: Floats, limit: Floats, out: Floats) -> None:
        """What the sources and the loads would have of the battery, within its limits and as stored."""
        np.multiply(net, self._fixed.efficiency, out)
        np.minimum(out, net, out)
        np.minimum(out, limit, out)
        np.maximum(out, self._fixed.floor, out)


def _drop_per_w(plant: Plant, course: Course) -> tuple[Floats, Floats]:
    """Factors of the volts that a watt drops: by step and by member."""
    assert plant.resistance_ohm is not None
    return course.resistance_ratio, plant.resistance_ohm / plant.nominal_v
