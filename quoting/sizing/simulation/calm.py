"""Steps in which nobody can be shed, cut off or let go, known by the lowest charge of all members alone."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from quoting.sizing.simulation.plant import Course, Plant
from quoting.sizing.simulation.watch import back_at

if TYPE_CHECKING:
    from quoting.sizing.simulation.plant import Floats

MARGIN = 1e-9
"""Of charge and volts: nearer than this to a threshold every member is looked at."""


class Calm:
    """The least charge with which a step begins, or ends, without anything to decide.

    In most steps nobody is near a threshold. As no member drops more voltage than the largest load and resistance make,
    and a resting voltage rises with charge, the lowest charge tells it; a monitor reads no less than the truth.
    """

    def __init__(self, plant: Plant, course: Course) -> None:
        self._shed = max((back_at(group) for group in plant.sheds), default=0.0) + MARGIN
        steps = course.load_w.shape[0]
        self._begins = self._ends = [-np.inf] * steps
        self.ratio = self.level = plant.start_ratio
        """The lowest state of charge and level of the available well now."""
        if not plant.open_circuit or plant.resistance_ohm is None:
            return
        peak_w = np.maximum(course.peak_w.max(axis=1), course.load_w.max(axis=1))
        drop_v = peak_w * course.resistance_ratio.max(axis=1) * (plant.resistance_ohm.max() / plant.nominal_v)
        if plant.cutoff_v > 0:
            self._begins = least_charge(plant, plant.cutoff_v + drop_v)
        if plant.backstop_v > 0:
            self._ends = least_charge(plant, plant.backstop_v + drop_v)

    @property
    def sheds_none(self) -> bool:
        """No group that is on goes off by charge now."""
        return self.ratio >= self._shed

    def opens_none(self, t: int) -> bool:
        """No battery's protection opens when step ``t`` begins."""
        return self.level >= self._begins[t]

    def lets_go_none(self, t: int) -> bool:
        """No voltage is under the backstop's when it ends."""
        return self.level >= self._ends[t]

    def look(self, ratios: Floats, levels: Floats) -> None:
        """Take the lowest of members' rows."""
        self.ratio = float(np.minimum.reduce(ratios))
        self.level = self.ratio if levels is ratios else float(np.minimum.reduce(levels))


def least_charge(plant: Plant, rest_v: Floats) -> list[float]:
    """Charge from which on the resting voltage is no lower; infinite where it never is, or where it does not rise.

    Parameters
    ----------
    plant : Plant
        Whose curve.
    rest_v : ndarray
        Resting voltages. [V]
    """
    charge, volts = np.array(plant.open_circuit).T
    if np.any(np.diff(volts) <= 0):
        return [np.inf] * len(rest_v)
    least: list[float] = (np.interp(rest_v + MARGIN, volts, charge, left=-np.inf, right=np.inf) + MARGIN).tolist()
    return least
