"""A year by months at the home site, the trip's first stop, with the system as it is: which month fails first."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from quoting.sizing.brief import Stop
from quoting.sizing.days import day_of, losses_of
from quoting.sizing.outlook import MonthOutlook
from quoting.sizing.simulation.of_system import Stretch, stretch_of
from quoting.sizing.simulation.outlook_of import dark_of, quantile
from quoting.sizing.simulation.plant import Course, Plant
from quoting.sizing.simulation.plant_of import Conditions, plant_of
from quoting.sizing.system import System

if TYPE_CHECKING:
    from numpy import bool_, float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]
    Flags = NDArray[bool_]

MONTH_DAYS = 30
"""Days of a month, each begun with a full battery."""
MOST_DRAWS = 100
"""Weathers of each month: twelve months of them run side by side."""


def home_stops(stops: Sequence[Stop]) -> tuple[Stop, ...]:
    """The first stop in each month, driven, plugged in and shaded as the trip's stops are on an average day."""
    first, days = stops[0], math.fsum(s.days for s in stops)

    def mean(name: str) -> float:
        return math.fsum(getattr(s, name) * s.days for s in stops) / days

    shared = {
        "days": float(MONTH_DAYS),
        "driving_h_per_day": min(24.0, mean("driving_h_per_day")),
        "mains_h_per_day": min(24.0, mean("mains_h_per_day")),
        "shade_ratio": min(1.0, mean("shade_ratio")),
    }
    return tuple(first.model_copy(update={**shared, "month": month}) for month in range(1, 13))


def year_of(
    system: System, plant: Plant, draws: int, seed: int, conditions: Conditions, cutouts_v: Mapping[str, float]
) -> tuple[MonthOutlook, ...]:
    """Twelve months in many weathers, worked out side by side.

    Parameters
    ----------
    system : System
        Chosen parts; the trip is in its Brief.
    plant : Plant
        One battery, one column; of lead-acid each month has the capacity that its cold leaves.
    draws : int
        Weathers of the trip; each month gets as many, at most ``MOST_DRAWS``.
    seed : int
        Of the weathers; every month has the same luck.
    conditions : Conditions
        As for the trip.
    cutouts_v : mapping
        As for the trip. [V]
    """
    import numpy as np

    from quoting.sizing.simulation.run import simulate
    from quoting.sizing.simulation.weather import clearness_ratios

    months = min(draws, MOST_DRAWS)
    curve = losses_of(system.brief, system)
    stretches = []
    for index, stop in enumerate(home_stops(system.brief.trip)):
        day = day_of(system, stop, index, curve)
        clearness = clearness_ratios(stop, MONTH_DAYS, months, system.brief.policy.day_correlation_ratio, seed)
        stretches.append(stretch_of(system, index, stop, day, clearness, conditions, cutouts_v))
    course, cutout_v = side_by_side(stretches)
    shed_w = [_beside([s.essential_shed_w[g] for s in stretches], months) for g in range(len(plant.sheds))]
    cold = [plant_of(system, conditions, cell_c=s.cell_c) for s in stretches]
    energy = np.repeat(np.concatenate([p.energy_wh for p in cold if p is not None]), months)
    outcome = simulate(replace(plant, energy_wh=energy), course, record=("charge_ratio", "dark_w"))
    policy = system.brief.policy
    dark = dark_of(outcome, cutout_v, shed_w)
    gone = (dark.by_charge | dark.by_voltage).any(axis=0).reshape(12, months).mean(axis=1)
    lowest = outcome.charge_ratio.min(axis=0).reshape(12, months)
    lowest.sort(axis=1)
    shed = _any_off(outcome.off, 12, months)
    low, median = quantile(lowest, policy.spread_low_ratio), quantile(lowest, 0.5)
    return tuple(
        MonthOutlook(
            month=i + 1,
            load_wh_day=round(float(s.load_w.sum()), 1),
            sun_wh_day=round(float(s.sun_w.sum(axis=1).mean()), 1),
            lowest_median_ratio=round(float(median[i]), 4),
            lowest_low_ratio=round(float(low[i]), 4),
            dark_chance_ratio=round(float(gone[i]), 4),
            shed_chance_ratio=round(float(shed[i]), 4),
            holds=bool(gone[i] <= policy.dark_chance_ratio),
        )
        for i, s in enumerate(stretches)
    )


def _any_off(off: Sequence[Flags], months: int, draws: int) -> Floats:
    """Share of each month's weathers in which any group goes off."""
    import numpy as np

    ever = np.zeros(months * draws, dtype=bool)
    for flags in off:
        ever |= flags.any(axis=0)
    share: Floats = ever.reshape(months, draws).mean(axis=1)
    return share


def side_by_side(stretches: Sequence[Stretch]) -> tuple[Course, Floats]:
    """Stretches of equal length and weathers beside one another, and their cut-out voltages by steps.

    Returns
    -------
    Course, ndarray
        With ``len(stretches)`` times as many columns as one stretch has weathers; the voltages likewise. [V]
    """
    import numpy as np

    days, draws = stretches[0].days, stretches[0].sun_w.shape[2]

    def beside(rows: Sequence[Floats]) -> Floats:
        return _beside(rows, draws, days)

    groups = range(len(stretches[0].shed_w))
    course = Course(
        step_h=1.0,
        load_w=beside([s.load_w for s in stretches]),
        essential_w=beside([s.essential_w for s in stretches]),
        shed_w=tuple(beside([s.shed_w[g] for s in stretches]) for g in groups),
        engine_w=beside([s.engine_w for s in stretches]),
        mains_w=beside([s.mains_w for s in stretches]),
        sun_w=np.concatenate([s.sun_w.reshape(days * 24, draws) for s in stretches], axis=1),
        charge_share=beside([s.charge_share for s in stretches]),
        resistance_ratio=beside([s.resistance_ratio for s in stretches]),
        peak_w=beside([s.peak_w for s in stretches]),
    )
    return course, beside([s.cutout_v for s in stretches])


def _beside(rows: Sequence[Floats], draws: int, days: int = MONTH_DAYS) -> Floats:
    """Days of every stretch beside one another; one column where all are alike."""
    import numpy as np

    alike = all(np.array_equal(rows[0], row) for row in rows[1:])
    day = rows[0][:, None] if alike else np.repeat(np.stack(rows, axis=1), draws, axis=1)
    return np.concatenate([day] * days)


def weakest(months: Sequence[MonthOutlook]) -> tuple[int | None, int | None]:
    """The month that fails first, and the one nearest to it: by the chance of dark, then by the lowest charge."""
    worst = max(months, key=lambda m: (m.dark_chance_ratio, -m.lowest_low_ratio, -m.lowest_median_ratio), default=None)
    if worst is None:
        return None, None
    failing = [m for m in months if not m.holds]
    return (worst.month if failing else None), worst.month
