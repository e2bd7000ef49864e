"""The whole outlook of a trip with chosen parts: its stops in every weather, the year at home, days to flat."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from quoting.sizing.days import room_of
from quoting.sizing.driving import feed_ohm
from quoting.sizing.loads import Day
from quoting.sizing.outlook import CutOut, StarterOutlook, TripOutlook
from quoting.sizing.simulation import flat, outlook_of, starter_of, year
from quoting.sizing.simulation.of_system import Stretch, along, course_of, stretch_of
from quoting.sizing.simulation.plant import Course, Outcome, Plant
from quoting.sizing.simulation.plant_of import AS_PLANNED, Conditions, plant_of
from quoting.sizing.system import System

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

SEED = 20260
"""Of the weathers. Every Brief is tried in the same luck, so that two designs differ by what differs in them."""
MOST_DAYS_STOP = 60
"""Days of one stop that are stepped: after two months of it the rest only repeats."""
MOST_DAYS = 366
"""Days of a trip that are stepped."""
MOST_CELLS = 1_000_000
"""Steps times weathers that are held at once: 8 MB for each of a dozen arrays."""
READ = ("charge_ratio", "given_w", "unserved_w", "dark_w", "shed_w", "loss_w", "taken_w")
"""What is read of the simulation."""


@dataclass(frozen=True, slots=True)
class Looked:
    """An outlook and what it was read from."""

    outlook: TripOutlook
    plant: Plant
    stretches: tuple[Stretch, ...]
    flat: flat.Flat | None
    flat_at: int = 0
    """Index of the stop that ``flat`` is of."""
    worn: bool = False


def days_stepped(days: Sequence[float], draws: int) -> tuple[int, ...]:
    """Days of each stop that are worked out step by step; part of a day counts as one.

    Each stop at most ``MOST_DAYS_STOP``; a trip that is still too long is cut at the same height for all its stops.

    Examples
    --------
    >>> days_stepped((4.0, 0.5, 200.0), 200)
    (4, 1, 60)
    """
    whole = [min(MOST_DAYS_STOP, max(1, int(-(-x // 1)))) for x in days]
    most = max(len(whole), min(MOST_DAYS, MOST_CELLS // (24 * draws)))
    height = MOST_DAYS_STOP
    while height > 1 and sum(min(height, x) for x in whole) > most:
        height -= 1
    return tuple(min(height, x) for x in whole)


def look_ahead(
    system: System,
    days: tuple[Day, ...],
    cutouts: tuple[CutOut, ...] = (),
    conditions: Conditions = AS_PLANNED,
    with_year: bool = True,
) -> Looked | None:
    """Simulate the trip over many weathers.

    Parameters
    ----------
    system : System
        Chosen parts, with the Brief.
    days : tuple of Day
        One for each stop, the parts' own draw in them.
    cutouts : tuple of CutOut
        Where appliances cut out: those of essential loads count as dark.
    conditions : Conditions
        What is other than planned.
    with_year : bool
        Whether the year at home is worked out as well.

    Returns
    -------
    Looked or None
        ``None`` without a battery.

    Notes
    -----
    Lead-acid has over the whole trip the capacity that its coldest stop leaves it.
    """
    from quoting.sizing.simulation.run import simulate

    if plant_of(system, conditions) is None:
        return None
    policy, trip = system.brief.policy, system.brief.trip
    draws, low = policy.weather_draws, policy.spread_low_ratio
    cutouts_v = {x.key: x.cutout_v + x.drop_v for x in cutouts}
    stepped = days_stepped([s.days for s in trip], draws)
    weathers = _weathers(system, stepped, draws)
    stretches = tuple(
        stretch_of(system, index, stop, days[index], weathers[index], conditions, cutouts_v)
        for index, stop in enumerate(trip)
    )
    plant = plant_of(system, conditions, cell_c=min(s.cell_c for s in stretches))
    worst = max(range(len(days)), key=lambda i: days[i].energy_wh)
    assert plant is not None
    there, at = _soonest_flat(system, stretches, conditions)
    course = course_of(stretches)
    outcome = simulate(plant, course, record=READ)
    k = outlook_of.every(stretches)
    bands = outlook_of.bands(outcome, low, k)
    taken = outlook_of.taken_of(course, outcome)
    ends = flat.days_to_flat(there, stretches[at], system.chemistry_policy.usable_depth_ratio)
    months = year.year_of(system, plant, draws, SEED, conditions, cutouts_v) if with_year else ()
    failing, weakest = year.weakest(months)
    outlook = TripOutlook(
        draws=draws,
        seed=SEED,
        low_ratio=low,
        step_h=course.step_h * k,
        charge_median=bands.median,
        charge_low=bands.low,
        charge_high=bands.high,
        charge_typical=bands.typical,
        load_w=outlook_of.power_points(course.load_w[:, 0], k),
        engine_w=outlook_of.power_points(taken.engine_w, k),
        mains_w=outlook_of.power_points(taken.mains_w, k),
        sun_w=outlook_of.power_points(taken.sun_w, k),
        stops=outlook_of.spans(stretches, course, outcome, taken, low, plant.nominal_v, k),
        sheds=outlook_of.sheds(
            plant.sheds, {x.key: x.name for x in system.brief.loads}, outcome, bands.typical_draw, low, course.step_h
        ),
        dark=outlook_of.darkness(_dark(stretches, outcome), course.step_h),
        lowest_median_ratio=round(float(outlook_of.quantile(bands.lowest, 0.5)), 4),
        lowest_low_ratio=round(float(outlook_of.quantile(bands.lowest, low)), 4),
        end_median_ratio=round(float(outlook_of.quantile(bands.end, 0.5)), 4),
        flat_days=None if ends is None else round(ends.days, 3),
        cutouts=cutouts,
        starter=_starter(system, stretches, course, outcome, days[worst]),
        year=months,
        first_failing_month=failing,
        weakest_month=weakest,
    )
    return Looked(outlook, plant, stretches, ends, at, conditions.worn)


def _soonest_flat(system: System, stretches: Sequence[Stretch], conditions: Conditions) -> tuple[Plant, int]:
    """The stop where the battery, as its cold leaves it, holds the fewest days of loads; and the battery there."""
    plants = [plant_of(system, conditions, cell_c=s.cell_c) for s in stretches]
    held = [float(p.energy_wh[0]) if p is not None else 0.0 for p in plants]
    asked = [float(s.load_w.sum()) - s.heater_wh_day for s in stretches]
    at = max(range(len(stretches)), key=lambda i: asked[i] / held[i])
    found = plants[at]
    assert found is not None
    return found, at


def _weathers(system: System, stepped: Sequence[int], draws: int) -> list[Floats]:
    """Each stop's days in every weather, one weather going on from stop to stop."""
    import numpy as np

    from quoting.sizing.simulation.weather import clearness_at, ratios

    trip, policy = system.brief.trip, system.brief.policy
    means = [clearness_at(s) for s in trip]
    whole = tuple(mean for mean, days in zip(means, stepped, strict=True) for _ in range(days))
    return np.split(ratios(whole, draws, policy.day_correlation_ratio, SEED), np.cumsum(stepped)[:-1])


def _starter(
    system: System, stretches: Sequence[Stretch], course: Course, outcome: Outcome, day: Day
) -> StarterOutlook | None:
    """The starter battery beside the auxiliary one, the engine's share of what was taken drawn from it."""
    brief = system.brief
    stops = [(s.stop, s.days, s.day.starter_wh) for s in stretches]
    engine_w = outlook_of.share_taken(course, outcome) * course.engine_w
    low = brief.policy.spread_low_ratio
    return starter_of.over_trip(system, room_of(brief, day), feed_ohm(system), stops, engine_w, low)


def _dark(stretches: Sequence[Stretch], outcome: Outcome) -> outlook_of.Dark:
    groups = range(len(stretches[0].essential_shed_w))
    shed_w = [along(stretches, [s.essential_shed_w[g] for s in stretches]) for g in groups]
    return outlook_of.dark_of(outcome, along(stretches, [s.cutout_v for s in stretches]), shed_w)
