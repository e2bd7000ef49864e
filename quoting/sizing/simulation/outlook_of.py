"""From what the simulation gives to what a person reads: bands, energy by stops, shed groups, the chance of dark."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from quoting.sizing.outlook import Darkness, OffSpan, Points, ShedOutlook, StopSpan
from quoting.sizing.simulation.of_system import Stretch
from quoting.sizing.simulation.plant import Course, Outcome, ShedGroup

if TYPE_CHECKING:
    from numpy import bool_, float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]
    Flags = NDArray[bool_]

MOST_POINTS = 744
"""Points of a trip that are written down: 31 days by hours."""
DARK_W = 0.01
"""Essential power not given that counts as dark. [W]"""
CONFIDENT_Z = 1.959964
"""Standard deviations that hold 95 % of a normal distribution."""


def quantile(ordered: Floats, ratio: float) -> Floats:
    """Quantile along the last axis of values in order, straight between neighbours (as ``numpy.quantile``)."""
    place = ratio * (ordered.shape[-1] - 1)
    low = math.floor(place)
    high = min(low + 1, ordered.shape[-1] - 1)
    found: Floats = ordered[..., low] + (ordered[..., high] - ordered[..., low]) * (place - low)
    return found


def wilson_high(hits: int, draws: int) -> float:
    r"""Upper end of the 95 % interval of a share seen as ``hits`` of ``draws``.

    .. math:: \frac{p + z^2/2n + z\sqrt{p(1-p)/n + z^2/4n^2}}{1 + z^2/n}

    Parameters
    ----------
    hits, draws : int
        Counts.

    Examples
    --------
    >>> round(wilson_high(0, 200), 4), round(wilson_high(10, 200), 4)
    (0.0188, 0.0896)

    References
    ----------
    .. [1] E. B. Wilson, "Probable inference, the law of succession, and statistical inference", Journal of the American
       Statistical Association 22 (1927) 209.
    """
    share, z2 = hits / draws, CONFIDENT_Z**2
    middle = share + z2 / (2 * draws)
    spread = CONFIDENT_Z * math.sqrt(share * (1 - share) / draws + z2 / (4 * draws * draws))
    return min(1.0, (middle + spread) / (1 + z2 / draws))


@dataclass(frozen=True, slots=True)
class Bands:
    """State of charge over the weathers, at the points."""

    median: Points
    low: Points
    high: Points
    typical: Points
    lowest: Floats
    """Of each weather, over the trip."""
    end: Floats
    typical_draw: int


def every(stretches: Sequence[Stretch]) -> int:
    """Steps to a point: the fewest that divide a day and keep the trip at ``MOST_POINTS``."""
    steps = 24 * sum(s.days for s in stretches)
    return next(k for k in (1, 2, 3, 4, 6, 8, 12, 24) if steps <= k * MOST_POINTS or k == 24)


def bands(outcome: Outcome, low_ratio: float, k: int) -> Bands:
    """Bands of the state of charge, a point at the end of each ``k`` steps."""
    import numpy as np

    charge = outcome.charge_ratio
    lowest = charge.min(axis=0)
    typical = int(np.argsort(lowest, kind="stable")[(len(lowest) - 1) // 2])
    ordered = np.sort(charge[k - 1 :: k], axis=1)
    return Bands(
        median=_points(quantile(ordered, 0.5), 4),
        low=_points(quantile(ordered, low_ratio), 4),
        high=_points(quantile(ordered, 1 - low_ratio), 4),
        typical=_points(charge[k - 1 :: k, typical], 4),
        lowest=np.sort(lowest),
        end=np.sort(charge[-1]),
        typical_draw=typical,
    )


def _points(values: Floats, places: int) -> Points:
    return tuple(round(float(x), places) for x in values)


@dataclass(frozen=True, slots=True)
class Taken:
    """What is taken from each source, by steps, mean over the weathers. Shape ``(steps,)``. [W]"""

    engine_w: Floats
    mains_w: Floats
    sun_w: Floats
    sun_offered_w: Floats
    offered_w: Floats


def taken_of(course: Course, outcome: Outcome) -> Taken:
    """Share what was taken among the sources, in the measure of what each offered."""
    share = share_taken(course, outcome)
    mean = share.mean(axis=1)
    return Taken(
        engine_w=mean * course.engine_w[:, 0],
        mains_w=mean * course.mains_w[:, 0],
        sun_w=(share * course.sun_w).mean(axis=1),
        sun_offered_w=course.sun_w.mean(axis=1),
        offered_w=(course.sun_w + (course.engine_w + course.mains_w)).mean(axis=1),
    )


def share_taken(course: Course, outcome: Outcome) -> Floats:
    """What was taken of all that was offered, shape ``(steps, n)``. [0..1]"""
    import numpy as np

    offered = course.sun_w + (course.engine_w + course.mains_w)
    return np.divide(outcome.taken_w, offered, out=np.zeros_like(offered), where=offered > 0)


def power_points(watts: Floats, k: int) -> Points:
    """Mean power over each ``k`` steps."""
    return _points(watts.reshape(-1, k).mean(axis=1), 1)


def spans(
    stretches: Sequence[Stretch],
    course: Course,
    outcome: Outcome,
    taken: Taken,
    low_ratio: float,
    nominal_v: float,
    k: int,
) -> tuple[StopSpan, ...]:
    """Energy of each stop, over a mean of its days and of the weathers."""
    import numpy as np

    out, at = [], 0
    means = {
        name: getattr(outcome, name).mean(axis=1) for name in ("given_w", "loss_w", "shed_w", "unserved_w", "taken_w")
    }
    for s in stretches:
        steps = slice(at, at + s.days * 24)

        def wh(values: Floats, steps: slice = steps, days: int = s.days) -> float:
            return round(float(values[steps].sum()) / days, 1)

        daily = np.sort(s.sun_w.sum(axis=1), axis=None)
        grey, mean = float(quantile(daily, low_ratio)), float(daily.mean())
        out.append(
            StopSpan(
                index=s.index,
                name=s.stop.site.name,
                month=s.stop.month,
                first_point=at // k,
                points=s.days * 24 // k,
                days=float(s.days),
                load_wh_day=wh(course.load_w[:, 0]),
                given_wh_day=wh(means["given_w"]),
                engine_wh_day=wh(taken.engine_w),
                mains_wh_day=wh(taken.mains_w),
                sun_wh_day=wh(taken.sun_w),
                spilled_wh_day=max(0.0, wh(taken.offered_w - means["taken_w"])),
                sun_spilled_wh_day=max(0.0, wh(taken.sun_offered_w - taken.sun_w)),
                loss_wh_day=wh(means["loss_w"]),
                shed_wh_day=wh(means["shed_w"]),
                unserved_wh_day=wh(means["unserved_w"]),
                heater_wh_day=round(s.heater_wh_day, 1),
                own_wh_day=round(s.own_wh_day, 1),
                grey_day_ah=round(max(0.0, mean - grey) / nominal_v, 2),
                sun_low_wh_day=round(grey, 1),
            )
        )
        at += s.days * 24
    return tuple(out)


def sheds(
    groups: Sequence[ShedGroup], names: dict[str, str], outcome: Outcome, typical: int, low_ratio: float, step_h: float
) -> tuple[ShedOutlook, ...]:
    """When each group goes off, how likely and for how long."""
    import numpy as np

    out = []
    for group, off in zip(groups, outcome.off, strict=True):
        hours = np.sort(off.sum(axis=0) * step_h)
        out.append(
            ShedOutlook(
                below_ratio=group.below_ratio,
                restore_ratio=group.restore_ratio,
                keys=group.keys,
                names=tuple(names[key] for key in group.keys),
                chance_ratio=round(float((hours > 0).mean()), 4),
                hours_mean=round(float(hours.mean()), 2),
                hours_high=round(float(quantile(hours, 1 - low_ratio)), 2),
                typical=off_spans(off[:, typical], step_h),
            )
        )
    return tuple(out)


def off_spans(off: Flags, step_h: float) -> tuple[OffSpan, ...]:
    """Times in which a group is off in one weather."""
    import numpy as np

    edges = np.flatnonzero(np.diff(np.concatenate(([False], off, [False])).astype(np.int8)))
    return tuple(
        OffSpan(start_h=float(a) * step_h, end_h=float(b) * step_h)
        for a, b in zip(edges[::2], edges[1::2], strict=True)
    )


@dataclass(frozen=True, slots=True)
class Dark:
    """Where essential loads are dark. Shape ``(steps, draws)``."""

    by_charge: Flags
    by_voltage: Flags


def dark_of(outcome: Outcome, cutout_v: Floats, essential_shed_w: Sequence[Floats] = ()) -> Dark:
    """Tell the two ways of going dark apart. An essential load that is shed is dark, for want of charge.

    Parameters
    ----------
    outcome : Outcome
        Of the simulation.
    cutout_v : ndarray
        By steps, shape ``(steps, 1)`` or ``(steps, n)``: voltage under which an essential load that is on stops; 0
        where none does. [V]
    essential_shed_w : sequence of ndarray
        By steps, of the same shapes: what essential loads in each shed group ask. [W]
    """
    import numpy as np

    dark = outcome.dark_w > DARK_W
    open_ = outcome.opened if outcome.opened is not None else np.zeros_like(dark)
    low = outcome.volts_v < cutout_v if outcome.volts_v is not None else np.zeros_like(dark)
    by_charge, by_voltage = dark & ~open_, (dark & open_) | low
    for off, asked_w in zip(outcome.off, essential_shed_w, strict=False):
        if asked_w.any():
            shed = off & (asked_w > DARK_W)
            held = np.zeros_like(shed) if outcome.let_go is None else outcome.let_go
            by_charge, by_voltage = by_charge | (shed & ~held), by_voltage | (shed & held)
    return Dark(by_charge, by_voltage)


def darkness(dark: Dark, step_h: float) -> Darkness:
    """How likely an essential load goes dark, by what, for how long and when first."""
    import numpy as np

    either = dark.by_charge | dark.by_voltage
    draws, gone = either.shape[1], either.any(axis=0)
    hits = int(gone.sum())
    first = np.sort(either.argmax(axis=0)[gone]) * step_h
    return Darkness(
        chance_ratio=round(hits / draws, 4),
        by_charge_ratio=round(float(dark.by_charge.any(axis=0).mean()), 4),
        by_voltage_ratio=round(float(dark.by_voltage.any(axis=0).mean()), 4),
        draws_dark=hits,
        chance_high_ratio=round(wilson_high(hits, draws), 4),
        hours_mean=round(float(either.sum(axis=0).mean()) * step_h, 2),
        first_h=float(first[(hits - 1) // 2]) if hits else None,
    )
