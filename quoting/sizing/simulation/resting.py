"""The resting voltage of many batteries at once, exactly as the curve gives it and without a search for each."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from catalog.kinds.capabilities import Curve, at

if TYPE_CHECKING:
    from numpy import intp
    from numpy.typing import NDArray

    from quoting.sizing.simulation.plant import Floats

FINEST = 1000
"""Equal parts into which a curve's whole range is cut at the most."""


class Resting:
    """A curve over 0 to 1 by equal parts, each a straight line.

    Where every point of the curve falls on a part's edge this is the curve itself; where one does not, the curve is
    read point by point.
    """

    def __init__(self, curve: Curve, shape: tuple[int, int]) -> None:
        self.x = np.array([p[0] for p in curve])
        self.y = np.array([p[1] for p in curve])
        inner = self.x[(self.x > 0) & (self.x < 1)]
        parts = next((k for k in range(1, FINEST + 1) if np.all(np.abs(inner * k - np.rint(inner * k)) < 1e-9)), 0)
        edges = np.linspace(0.0, 1.0, parts + 1) if parts else np.zeros(1)
        volts = np.array([at(curve, float(s)) for s in edges])
        slope = np.append(np.diff(volts) * parts, 0.0)
        self.parts = np.array(float(parts))
        self.base, self.slope = volts - slope * edges, slope
        self._parts_of: NDArray[intp] = np.empty(shape, np.intp)
        self._rows: Floats = np.empty(shape)

    def read(self, charge_ratio: Floats, out: Floats) -> Floats:
        """Resting voltage of a row of batteries, or of rows no more than was said, into ``out``. [V]"""
        if not self.parts:
            out[...] = np.interp(charge_ratio, self.x, self.y)
            return out
        some = 0 if charge_ratio.ndim == 1 else slice(0, len(charge_ratio))
        row, part = self._rows[some], self._parts_of[some]
        np.multiply(charge_ratio, self.parts, row)
        part[...] = row
        self.slope.take(part, None, row, "clip")
        np.multiply(row, charge_ratio, row)
        self.base.take(part, None, out, "clip")
        return np.add(out, row, out)
