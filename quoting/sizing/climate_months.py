"""Hours of a year or more, made into monthly means: sun, daily minimum and maximum, lowest hour.

Hours come as they stand in a file, each with the local time its interval begins at; what cannot be a year of weather
at its place is refused.
"""

from __future__ import annotations

import calendar
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from quoting.sizing import sun
from quoting.sizing.errors import SizingError
from quoting.sizing.trace import Scalar

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[Any]

SUN_W_M2 = (-20.0, 1700.0)
"""Range of an hour's irradiation on the horizontal: sensors read a little under nothing at night. [W/m²]"""
AIR_C = (-75.0, 60.0)
"""Range of an hour's air temperature; the lowest and highest ever measured lie just outside. [°C]"""
GAPS_RATIO = 0.02
"""Share of a month's hours that may be missing. Common practice."""
DAY_HOURS_LEAST = 20
"""Hours of a day from which its minimum and maximum count. [h]"""
YEAR_H = 8760
SHORT_H = 8000
"""Under so many hours a file is called short, not a month missing. [h]"""
YEAR_SUN_LEAST = 0.3
"""Least mean of a year on the ground between the polar circles. [kWh/m²/day]"""
NOON_OFF_H = 2.5
"""Most by which the middle of the light may lie off the sun's noon: summer time, and hills on one side. [h]"""
NIGHT_LATITUDE_DEG = 60.0
"""Up to here every night of the year is dark. [°]"""
NIGHT_RATIO = 0.1
"""Most that a month's darkest hour may have of its brightest there. Common practice."""


class ClimateFileError(SizingError):
    """A file that no monthly climate can be made from.

    ``reason`` is a code of ``quoting.wording.places.REFUSED``, ``params`` fill its sentence.
    """

    def __init__(self, reason: str, message: str, **params: Scalar) -> None:
        self.reason, self.params = reason, params
        super().__init__("file", code="conflict", message=message)


@dataclass(frozen=True, slots=True)
class Hours:
    """Hours of weather, ``(hours,)`` each; local time at the beginning of the interval.

    ``year`` parts the days of several years; ``sun_w_m2`` is on the horizontal, ``air_c`` the dry bulb; NaN is a gap.
    """

    year: Floats
    month: Floats
    day: Floats
    hour: Floats
    sun_w_m2: Floats
    air_c: Floats


@dataclass(frozen=True, slots=True)
class Months:
    """Monthly means, January first."""

    ghi_kwh_m2_day: tuple[float, ...]
    tmin_c: tuple[float, ...]
    tmax_c: tuple[float, ...]
    lowest_c: float
    hours: int
    gaps: int
    noon_h: float


def months_of(hours: Hours, latitude_deg: float, sun_noon_h: float = 12.0) -> Months:
    """Monthly means of hours.

    Parameters
    ----------
    hours : Hours
        A year or more, in any order.
    latitude_deg : float
        Of the place: no month has more sun than falls above the air. [°]
    sun_noon_h : float
        When the sun stands highest there, by the clock of the hours. [h]

    Notes
    -----
    Each month's sun is the sum over the hours of the day of that hour's mean, so that a gap by day or by night weighs
    nothing. Minimum and maximum are those of local days; a day with fewer than 20 hours does not count.

    Raises
    ------
    ClimateFileError
        If hours are missing or repeated, or a value cannot be.
    """
    import numpy as np

    _check_values(hours)
    sun_w, air = np.clip(hours.sun_w_m2, 0.0, None), hours.air_c
    whole = np.isfinite(sun_w) & np.isfinite(air)
    _check_cover(hours, whole)
    mean = _by_hour(hours, sun_w)
    ghi = mean.sum(axis=1) / 1000
    low, high = _days(hours, air)
    noon = float((mean.sum(axis=0) * (np.arange(24) + 0.5)).sum() / max(mean.sum(), 1e-9))
    _check_sun(ghi, latitude_deg)
    _check_noon(noon, sun_noon_h)
    _check_night(mean, latitude_deg)
    return Months(
        ghi_kwh_m2_day=tuple(round(float(x), 2) for x in ghi),
        tmin_c=tuple(round(float(x), 1) for x in low),
        tmax_c=tuple(round(float(x), 1) for x in high),
        lowest_c=round(float(np.nanmin(air)), 1),
        hours=int(whole.sum()),
        gaps=int((~whole).sum()),
        noon_h=round(noon, 2),
    )


def _check_values(hours: Hours) -> None:
    import numpy as np

    for values, (low, high), reason, what, unit in (
        (hours.sun_w_m2, SUN_W_M2, "sun_impossible", "irradiation", "W/m²"),
        (hours.air_c, AIR_C, "air_impossible", "air temperature", "°C"),
    ):
        with np.errstate(invalid="ignore"):
            wrong = np.flatnonzero((values < low) | (values > high) | np.isinf(values))
        if len(wrong):
            i = int(wrong[0])
            params: dict[str, Scalar] = {
                "value": float(values[i]) if np.isfinite(values[i]) else str(values[i]),
                "month": int(hours.month[i]),
                "day": int(hours.day[i]),
                "hour": int(hours.hour[i]),
            }
            when = f"{params['day']} {calendar.month_abbr[int(hours.month[i])]}, {params['hour']} h"
            message = f"the {what} on {when} is {values[i]:g} {unit}; it must be between {low:g} and {high:g} {unit}"
            raise ClimateFileError(reason, message, low=low, high=high, **params)


def _check_cover(hours: Hours, whole: Floats) -> None:
    import numpy as np

    found = int(whole.sum())
    if found < SHORT_H:
        message = f"it holds {found} whole hours; a year has {YEAR_H}"
        raise ClimateFileError("short", message, hours=found, needed=YEAR_H)
    stamp = ((hours.year * 13 + hours.month) * 32 + hours.day) * 24 + hours.hour
    if len(np.unique(stamp)) < len(stamp):
        order = np.sort(stamp)
        twice = int(order[np.flatnonzero(np.diff(order) == 0)[0]])
        month, day, hour = twice // 24 // 32 % 13, twice // 24 % 32, twice % 24
        message = f"the hour {hour} of {day} {calendar.month_abbr[month]} is there twice"
        raise ClimateFileError("repeated", message, month=month, day=day, hour=hour)
    for month in range(1, 13):
        here = hours.month == month
        years = max(1, len(np.unique(hours.year[here & whole])))
        wanted = 24 * (28 if month == 2 else calendar.monthrange(2001, month)[1])
        there = int((here & whole).sum())
        part = there / (wanted * (1 if years == 1 else _full_years(hours, here & whole, wanted)))
        if part < 1 - GAPS_RATIO:
            message = f"{calendar.month_name[month]} has {there} whole hours; it needs {wanted}"
            raise ClimateFileError("month_missing", message, month=month, hours=there, needed=wanted)


def _full_years(hours: Hours, here: Floats, wanted: int) -> int:
    """Years in which the month is more than a few hours of another time zone's days."""
    import numpy as np

    _, counts = np.unique(hours.year[here], return_counts=True)
    return max(1, int((counts > 24).sum()))


def _by_hour(hours: Hours, values: Floats) -> Floats:
    """Mean of every hour of the day in every month, shape ``(12, 24)``."""
    import numpy as np

    whole = np.isfinite(values)
    place = (hours.month[whole] - 1) * 24 + hours.hour[whole]
    count = np.bincount(place, minlength=288)
    if (count == 0).any():
        month, hour = divmod(int(np.flatnonzero(count == 0)[0]), 24)
        message = f"no day of {calendar.month_name[month + 1]} has the hour {hour}"
        raise ClimateFileError("hour_missing", message, month=month + 1, hour=hour)
    total = np.bincount(place, weights=values[whole], minlength=288)
    return np.asarray((total / count).reshape(12, 24))


def _days(hours: Hours, air: Floats) -> tuple[Floats, Floats]:
    """Mean of the days' minima and maxima in every month, shape ``(12,)`` each."""
    import numpy as np

    whole = np.isfinite(air)
    stamp = (hours.year[whole] * 13 + hours.month[whole]) * 32 + hours.day[whole]
    days, place = np.unique(stamp, return_inverse=True)
    low, high = np.full(len(days), np.inf), np.full(len(days), -np.inf)
    np.minimum.at(low, place, air[whole])
    np.maximum.at(high, place, air[whole])
    full = np.bincount(place) >= DAY_HOURS_LEAST
    month = days[full] // 32 % 13
    count = np.bincount(month, minlength=13)[1:]
    if (count == 0).any():
        lacking = int(np.flatnonzero(count == 0)[0]) + 1
        message = f"no day of {calendar.month_name[lacking]} is whole"
        raise ClimateFileError("month_missing", message, month=lacking, hours=0, needed=672)
    lows = np.bincount(month, weights=low[full], minlength=13)[1:] / count
    highs = np.bincount(month, weights=high[full], minlength=13)[1:] / count
    return lows, highs


def _check_sun(ghi: Floats, latitude_deg: float) -> None:
    if ghi.mean() < YEAR_SUN_LEAST:
        message = f"the year's mean is {ghi.mean():.2f} kWh/m²/day; it must be at least {YEAR_SUN_LEAST} kWh/m²/day"
        raise ClimateFileError("sun_dark", message, value=round(float(ghi.mean()), 2), limit=YEAR_SUN_LEAST)
    for month, value in enumerate(ghi, start=1):
        most = sun.extraterrestrial_kwh_m2_day(latitude_deg, month)
        if value > most + sun.OVER_SKY_KWH_M2_DAY:
            message = (
                f"{calendar.month_name[month]} has {value:.2f} kWh/m²/day; above the air it is {most:.2f} kWh/m²/day"
            )
            raise ClimateFileError("sun_over_sky", message, month=month, value=round(float(value), 2), limit=most)


def _check_noon(noon_h: float, sun_noon_h: float) -> None:
    """Hold the light against the place's longitude: a wrong one, or its sign, puts the place on another continent."""
    if abs(noon_h - sun_noon_h) > NOON_OFF_H:
        message = (
            f"the light is centred on {noon_h:.1f} h of the file's clock, the sun of its longitude on "
            f"{sun_noon_h:.1f} h; they must lie within {NOON_OFF_H:g} h"
        )
        params: dict[str, Scalar] = {"noon_h": noon_h, "sun_noon_h": sun_noon_h, "limit_h": NOON_OFF_H}
        raise ClimateFileError("noon_off", message, **params)


def _check_night(mean: Floats, latitude_deg: float) -> None:
    if abs(latitude_deg) > NIGHT_LATITUDE_DEG:
        return
    for month, (dark, bright) in enumerate(zip(mean.min(axis=1), mean.max(axis=1), strict=True), start=1):
        if dark > NIGHT_RATIO * bright:
            message = (
                f"the darkest hour of {calendar.month_name[month]} has {dark:.0f} W/m², the brightest {bright:.0f}"
            )
            params: dict[str, Scalar] = {"month": month, "value": round(float(dark)), "high": round(float(bright))}
            raise ClimateFileError("sun_by_night", message, **params)
