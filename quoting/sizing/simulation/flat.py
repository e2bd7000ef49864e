"""Days to flat: from full, nothing charging, the loads of one stop day after day, groups shed as they go."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from quoting.sizing.simulation.of_system import Stretch, is_heater
from quoting.sizing.simulation.plant import Course, Plant

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

MOST_DAYS = 366
"""Days that are looked at; what lasts longer lasts over a year."""
STEPPED_DAYS = 14
"""Days that are simulated; from then on charge is counted, groups going off by charge alone."""
JUST = 1e-9
"""Charge over the floor that rounding may leave."""


@dataclass(frozen=True, slots=True)
class Flat:
    """How it comes to be flat."""

    days: float
    given_wh: float
    """Taken from the battery until then. [Wh]"""
    early: bool
    """Before its usable depth was gone a load was not served: voltage or current gave out first."""


def days_to_flat(plant: Plant, stretch: Stretch, usable_depth_ratio: float) -> Flat | None:
    """Days from full until the usable depth is gone, or until a load that is not shed gets nothing before that.

    Parameters
    ----------
    plant : Plant
        One battery, one column.
    stretch : Stretch
        The stop's hours; what its sources offer is left out, and the heater with them: it warms only what charges.
    usable_depth_ratio : float
        The policy's, of the charge.

    Returns
    -------
    Flat or None
        ``None``: it lasts over a year.
    """
    import numpy as np

    from quoting.sizing.simulation.run import simulate

    full_wh = float(plant.energy_wh[0])
    floor = 1 - usable_depth_ratio
    heat = np.array([x.profile_w for x in stretch.day.lines if is_heater(x)]).reshape(-1, 24).sum(axis=0)
    load = stretch.load_w - heat
    kept = load - sum(stretch.shed_w, np.zeros(24))
    least = math.fsum(kept)
    longest = usable_depth_ratio * full_wh / least if least > 0 else math.inf
    days = int(min(STEPPED_DAYS, math.ceil(longest) + 1)) if math.isfinite(longest) else STEPPED_DAYS
    outcome = simulate(replace(plant, start_ratio=1.0), _dark_course(stretch, load, heat, days))
    charge, given = outcome.charge_ratio[:, 0], outcome.given_w[:, 0]
    short = outcome.unserved_w[:, 0] > 1e-6 * np.maximum(1.0, load.max())
    ends = np.flatnonzero((charge <= floor + JUST) | short)
    if ends.size:
        return _within(int(ends[0]), charge, given, bool(short[ends[0]]), floor)
    off = [bool(flags[-1, 0]) for flags in outcome.off]
    return _counted(plant, stretch, load, float(charge[-1]), off, days, floor)


def _dark_course(stretch: Stretch, load: Floats, heat: Floats, days: int) -> Course:
    import numpy as np

    def column(values: Floats) -> Floats:
        return np.tile(values, days)[:, None]

    none = np.zeros((days * 24, 1))
    return Course(
        step_h=1.0,
        load_w=column(load),
        essential_w=column(np.minimum(stretch.essential_w, load)),
        shed_w=tuple(column(x) for x in stretch.shed_w),
        engine_w=none,
        mains_w=none,
        sun_w=none,
        charge_share=column(stretch.charge_share),
        resistance_ratio=column(stretch.resistance_ratio),
        peak_w=column(np.maximum(stretch.peak_w - heat, load)),
    )


def _within(end: int, charge: Floats, given: Floats, early: bool, floor: float) -> Flat:
    """Where in its last hour it ended: by the charge straight down to the floor, or at that hour's beginning."""
    reached = float(charge[end]) <= floor + JUST
    before = float(charge[end - 1]) if end else 1.0
    drop = before - float(charge[end])
    part = min(1.0, max(0.0, (before - floor) / drop)) if reached and drop > 0 else 0.0
    taken = float(given[:end].sum()) + part * float(given[end])
    return Flat((end + part) / 24, taken, early and not reached)


def _counted(
    plant: Plant, stretch: Stretch, load: Floats, ratio: float, off: list[bool], days: int, floor: float
) -> Flat | None:
    """The rest by charge alone: whole days while no threshold is near, by hours where one is."""
    full_wh, start_wh = float(plant.energy_wh[0]), float(plant.energy_wh[0])
    stored, hours = ratio * full_wh, days * 24
    while hours < MOST_DAYS * 24:
        running = load - sum((w for w, gone in zip(stretch.shed_w, off, strict=True) if gone), 0 * load)
        next_ratio = max([floor, *(g.below_ratio for g, gone in zip(plant.sheds, off, strict=True) if not gone)])
        a_day, over = float(running.sum()), stored - next_ratio * full_wh
        whole = min(MOST_DAYS - hours // 24, int(over / a_day) if a_day > 0 else MOST_DAYS)
        if whole >= 1:
            stored, hours = stored - whole * a_day, hours + 24 * whole
            continue
        for hour in range(24):
            off = [gone or stored < g.below_ratio * full_wh for g, gone in zip(plant.sheds, off, strict=True)]
            watts = float(load[hour]) - math.fsum(
                float(w[hour]) for w, gone in zip(stretch.shed_w, off, strict=True) if gone
            )
            if stored - watts <= floor * full_wh:
                part = (stored - floor * full_wh) / watts if watts > 0 else 0.0
                return Flat((hours + part) / 24, start_wh - floor * full_wh, False)
            stored, hours = stored - watts, hours + 1
    return None
