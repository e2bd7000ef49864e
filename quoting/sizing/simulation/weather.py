"""Clear days and grey ones: how a month's days spread about its mean, and how one is like the day before.

Clearness is a day's irradiation on the horizontal over what reaches the horizontal above the air. Its distribution
within a month hangs on the month's mean alone (Liu and Jordan's finding), in the form of Bendt, Collares-Pereira and
Rabl; the clearest day of a month is Hollands and Huget's. Days follow one another through a normal variable each, tied
to the day before.

Held against the typical years that come with pvlib (Greensboro, Sand Point, Miami) the tie from day to day is right and
the spread is wide: by a quarter at the first two, by half in the humid subtropics, whose days are steadier than those
the distribution was drawn from. Part of it is the pair, which is the textbooks': Bendt's density is greatest at the
clearest day, and Hollands and Huget's clearest day is where their own density, (1 - K/K_max) e^(l K), thins out to
nothing; that one is wide by a twenty-fifth, a fifth and a third at the same places. Too wide is the safe side:
one day in twenty misses 0.7 to 0.8 of a mean day's sun or more, and 0.4 to 0.5 in those years.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from quoting.sizing import sun
from quoting.sizing.brief import Stop
from quoting.sizing.errors import require

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

LEAST = 0.05
"""Clearness of the darkest day. Bendt, Collares-Pereira and Rabl (1981)."""
MEAN_LOW, MEAN_HIGH = 0.2, 0.8
"""Means between which the distribution is used: the published ones are drawn from months of 0.3 to 0.7. Towards 0.1
Hollands and Huget's form has a clearest day that is hardly clearer than the mean; over 0.8 there are no months. There
the relative spread of the nearer end is taken, which at the low end is the wider and safer."""
NO_SUN_KWH_M2_DAY = 1e-3
"""Under this there is no day to speak of (polar night), and no spread of it."""


def clearness_most(mean_clearness: float) -> float:
    r"""Clearness of a month's clearest day.

    .. math:: K_{max} = 0.6313 + 0.267 \bar K - 11.9 (\bar K - 0.75)^8

    Parameters
    ----------
    mean_clearness : float
        Monthly mean, 0 to 1; taken between 0.2 and 0.8.

    Raises
    ------
    SizingError
        If it is not between 0 and 1.

    Examples
    --------
    >>> round(clearness_most(0.5), 4)
    0.7646

    References
    ----------
    .. [1] K. G. T. Hollands and R. G. Huget, "A probability density function for the clearness index, with
       applications", Solar Energy 30 (1983) 195.
    """
    mean = _within(require("mean_clearness", mean_clearness, minimum=0, maximum=1))
    return 0.6313 + 0.267 * mean - 11.9 * (mean - 0.75) ** 8


def clearness_quantile(mean_clearness: float, share: float) -> float:
    r"""Clearness that so large a share of a month's days does not exceed.

    .. math:: K = K_{min} + \frac1\gamma \ln\left(1 + F (e^{\gamma (K_{max} - K_{min})} - 1)\right)

    Parameters
    ----------
    mean_clearness : float
        Monthly mean of daily clearness, 0 to 1.
    share : float
        Share F of the days that are no clearer, 0 to 1.

    Returns
    -------
    float
        Clearness of that day, for a month of this mean.

    Raises
    ------
    SizingError
        If one of them is not between 0 and 1.

    Notes
    -----
    The steepness is not the usual fit but solved for, so that the distribution's mean is the month's to rounding.
    Means under 0.2 and over 0.8 keep the relative spread of those two.

    Examples
    --------
    >>> round(clearness_quantile(0.5, 0.05), 3)
    0.132
    >>> round(clearness_quantile(0.7, 0.05), 3)
    0.464

    References
    ----------
    .. [1] P. Bendt, M. Collares-Pereira and A. Rabl, "The frequency distribution of daily insolation values", Solar
       Energy 27 (1981) 1.
    .. [2] K. G. T. Hollands and R. G. Huget, Solar Energy 30 (1983) 195.
    """
    require("mean_clearness", mean_clearness, minimum=0, maximum=1)
    require("share", share, minimum=0, maximum=1)
    return mean_clearness * float(_ratio(mean_clearness, np.array([float(share)]))[0])


def clearness_spread(mean_clearness: float) -> float:
    r"""Standard deviation of a month's daily clearness.

    .. math:: \sigma = (K_{max} - K_{min}) \sqrt{1/x^2 - 1/(4 \sinh^2 (x/2))}, \quad x = \gamma (K_{max} - K_{min})

    Parameters
    ----------
    mean_clearness : float
        Monthly mean, 0 to 1.
    """
    require("mean_clearness", mean_clearness, minimum=0, maximum=1)
    mean = _within(mean_clearness)
    width, x = clearness_most(mean) - LEAST, _steepness(mean)
    share = 1 / 12 if abs(x) < 1e-3 else 1 / x**2 - 1 / (4 * math.sinh(x / 2) ** 2)
    return mean_clearness / mean * width * math.sqrt(share)


def mean_clearness(latitude_deg: float, month: int, ghi_kwh_m2_day: float) -> float:
    """Clearness of a month's mean day; 0 in the polar night.

    Parameters
    ----------
    latitude_deg : float
        South negative. [°]
    month : int
        1 to 12.
    ghi_kwh_m2_day : float
        Monthly mean of daily irradiation on the horizontal. [kWh/m²/day]
    """
    above = sun.extraterrestrial_kwh_m2_day(latitude_deg, month)
    return min(1.0, ghi_kwh_m2_day / above) if above > NO_SUN_KWH_M2_DAY else 0.0


def clearness_at(stop: Stop) -> float:
    """Clearness of the mean day of a stop's month at its site."""
    return mean_clearness(stop.site.latitude_deg, stop.month, stop.site.ghi_kwh_m2_day[stop.month - 1])


def clearness_ratios(
    stop: Stop, days: int, draws: int, correlation_ratio: float, seed: int, first_day: int = 0
) -> Floats:
    """Each day's irradiation over its month's mean, in many weathers.

    Parameters
    ----------
    stop : Stop
        Where and in what month.
    days, draws : int
        How many.
    correlation_ratio : float
        Of a day with the day before, 0 to 0.95, between the normal variables that stand for them.
    seed : int
        The same gives the same.
    first_day : int
        Which day of the weather the stop begins with. Stops that follow one another in the same weather pass the same
        seed and the days before them: the tie from day to day then goes through from stop to stop.

    Returns
    -------
    ndarray
        Shape ``(days, draws)``; 1 is the mean day, which the expectation is; never over the month's clearest day.

    Raises
    ------
    SizingError
        For a number out of range, naming it.

    Notes
    -----
    A day's draws depend on seed and day alone: more days or more draws leave those there were as they are, so that what
    is compared is compared in the same weather.

    References
    ----------
    .. [1] V. A. Graham, K. G. T. Hollands and T. E. Unny, "A time series model for Kt with application to global
       synthetic weather generation", Solar Energy 40 (1988) 83.
    """
    return ratios((clearness_at(stop),) * days, draws, correlation_ratio, seed, first_day)


def ratios(means: tuple[float, ...], draws: int, correlation_ratio: float, seed: int, first_day: int = 0) -> Floats:
    """As :func:`clearness_ratios`, for days whose months have these mean clearnesses; 0 has no spread."""
    ranks = day_ranks(len(means), draws, correlation_ratio, seed, first_day)
    for mean in set(means):
        same = np.array([m == mean for m in means])
        ranks[same] = _ratio(mean, ranks[same])
    return ranks


def day_ranks(days: int, draws: int, correlation_ratio: float, seed: int, first_day: int = 0) -> Floats:
    """How clear each day is among its month's days, evenly spread over 0 to 1, tied to the day before.

    Parameters
    ----------
    days, draws : int
        How many, at least 1.
    correlation_ratio : float
        0 to 0.95.
    seed : int
        Not negative.
    first_day : int
        The first day that is wanted.

    Returns
    -------
    ndarray
        Shape ``(days, draws)``.
    """
    from scipy.special import ndtr

    require("days", days, minimum=1, maximum=3660, unit="day")
    require("draws", draws, minimum=1, maximum=100_000)
    require("correlation_ratio", correlation_ratio, minimum=0, maximum=0.95)
    require("seed", seed, minimum=0)
    require("first_day", first_day, minimum=0, maximum=36_600, unit="day")
    fresh, out = math.sqrt(1 - correlation_ratio**2), np.empty((days, draws))
    state = _normal(seed, 0, draws)
    for day in range(first_day + days):
        if day:
            state = correlation_ratio * state + fresh * _normal(seed, day, draws)
        if day >= first_day:
            out[day - first_day] = state
    return np.asarray(ndtr(out), dtype=np.float64)


def _normal(seed: int, day: int, draws: int) -> Floats:
    return np.random.Generator(np.random.PCG64(np.random.SeedSequence(seed, spawn_key=(day,)))).standard_normal(draws)


def _ratio(mean_clearness: float, share: Floats) -> Floats:
    """Quantiles of the clearness over its mean."""
    if mean_clearness <= 0:
        return np.ones_like(share)
    mean = _within(mean_clearness)
    most, x = clearness_most(mean), _steepness(mean)
    part = share if abs(x) < 1e-6 else np.log1p(share * math.expm1(x)) / x
    return np.minimum(LEAST + (most - LEAST) * part, most) / mean


def _within(mean: float) -> float:
    return min(MEAN_HIGH, max(MEAN_LOW, mean))


@lru_cache(maxsize=4096)
def _steepness(mean: float) -> float:
    """Bendt's gamma times the distribution's width, by halving: the mean grows with it all the way."""
    wanted = (mean - LEAST) / (clearness_most(mean) - LEAST)
    low, high = -500.0, 500.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if _mean_share(middle) < wanted else (low, middle)
    return (low + high) / 2


def _mean_share(x: float) -> float:
    """Mean of a density that grows as e^(x u) over u from 0 to 1."""
    return 0.5 + x / 12 - x**3 / 720 if abs(x) < 1e-2 else 1 / -math.expm1(-x) - 1 / x
