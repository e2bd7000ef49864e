"""Monthly climate of any place on earth, estimated from rows of places whose climate is known.

Clearness (what of the sun above the air reaches the ground) and temperature vary far more slowly over the earth than
irradiation does, so these are what is carried over; the height of the sun at the place itself is known exactly. Every
row gets a weight by universal kriging: a drift in latitude and elevation, and what is left over by distance. Rows of
the other hemisphere count half a year later.

An estimate is never better than it says: :data:`BANDS` holds what leaving rows out has shown (``places_errors``).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import Field, ValidationError

from quoting.sizing import neighbours, sun
from quoting.sizing.brief import Site, Stop, from_validation
from quoting.sizing.errors import SizingError, require
from quoting.sizing.neighbours import Library
from quoting.sizing.policy import Policy
from quoting.sizing.trace import Finding, Record, finding

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[Any]

LATITUDE_MOST_DEG = 66.5
"""Beyond the polar circles a month has days without sunrise, which a mean day cannot stand for. [°]"""
TURBIDITY_CLEAN = 2.0
"""Linke turbidity of very clean, cold air, for the highest sun that can be. Kasten (1996)."""
SHOWN_ROWS = 6
FAR_KM = 1000.0
"""Distance to the nearest row from which an estimate is called far. [km]"""
HIGH_M = 300.0
"""Height over the highest row from which an estimate is called high. [m]"""


@dataclass(frozen=True, slots=True)
class Band:
    """Likely error of an estimate whose nearest row is at most so far away."""

    up_to_km: float
    month_ratio: float
    year_ratio: float
    temperature_k: float


BANDS = (
    Band(150.0, 0.10, 0.07, 2.0),
    Band(500.0, 0.12, 0.08, 3.0),
    Band(1000.0, 0.14, 0.09, 3.5),
    Band(2000.0, 0.20, 0.14, 4.5),
    Band(math.inf, 0.25, 0.18, 5.5),
)
"""Root mean square of what is found when rows are left out (``places_errors.left_out``), with room for another source
than the row's own: two good sources for one place differ by 10 % and more in a month."""


class RowUsed(Record):
    """One of the rows that weigh most in an estimate."""

    name: str
    distance_km: float
    weight_ratio: float


class Estimate(Record):
    """Monthly climate of a place, estimated; January first."""

    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    ghi_kwh_m2_day: tuple[float, ...]
    tmin_c: tuple[float, ...]
    tmax_c: tuple[float, ...]
    record_low_c: float
    clearness_ratio: tuple[float, ...]
    rows: tuple[RowUsed, ...]
    rows_count: int
    nearest_km: float
    likely_error_ratio: float
    likely_error_year_ratio: float
    likely_error_k: float
    findings: Annotated[tuple[Finding, ...], Field(default=())]


MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")


def site_of(row: Mapping[str, str]) -> Site:
    """One row of a table with the columns ``name, lat, lon, elev_m, programme`` and ``ghi_jan`` to ``tmax_dec``.

    Raises
    ------
    SizingError
        If a column is missing or holds no number in its range.
    """
    columns = {"latitude_deg": "lat", "longitude_deg": "lon", "elevation_m": "elev_m"}
    series = {"ghi_kwh_m2_day": "ghi", "tmin_c": "tmin", "tmax_c": "tmax"}
    try:
        values: dict[str, Any] = {field: float(row[column]) for field, column in columns.items()}
        values |= {field: tuple(float(row[f"{c}_{m}"]) for m in MONTHS) for field, c in series.items()}
        return Site(name=row["name"], source=row.get("programme", "")[:200], **values)
    except KeyError as error:
        raise SizingError(str(error.args[0]), code="missing") from None
    except ValidationError as error:
        raise from_validation(error) from None
    except ValueError as error:
        raise SizingError("row", value=row.get("name", ""), code="conflict", message=str(error)) from None


def clear_sky_kwh_m2_day(latitude_deg: float, elevation_m: float, turbidity: float = TURBIDITY_CLEAN) -> Floats:
    """Daily irradiation on the horizontal of each month's mean day without a cloud. Shape ``(12,)``. [kWh/m²/day]

    Parameters
    ----------
    latitude_deg : float
        South negative. [°]
    elevation_m : float
        Over the sea. [m]
    turbidity : float
        Linke turbidity at air mass 2.

    References
    ----------
    .. [1] P. Ineichen and R. Perez, Solar Energy 73 (2002) 151; ``pvlib.clearsky.ineichen``.
    """
    import numpy as np
    from pvlib import atmosphere, clearsky, irradiance, solarposition

    steps = 96
    day = np.repeat(np.array(sun.MID_MONTH_DAY), steps)
    angle = np.tile(np.radians(15 * ((np.arange(steps) + 0.5) * 24 / steps - 12)), 12)
    declination = solarposition.declination_cooper69(day)
    zenith = np.degrees(solarposition.solar_zenith_analytical(math.radians(latitude_deg), angle, declination))
    up, zenith = zenith < 90, np.minimum(zenith, 89.9)
    mass = atmosphere.get_absolute_airmass(
        atmosphere.get_relative_airmass(zenith, "kastenyoung1989"), atmosphere.alt2pres(elevation_m)
    )
    extra = irradiance.get_extra_radiation(day, method="spencer", solar_constant=1367)
    sky = clearsky.ineichen(zenith, mass, turbidity, altitude=elevation_m, dni_extra=extra)
    return np.asarray(np.where(up, sky["ghi"], 0.0).reshape(12, steps).mean(axis=1) * 24 / 1000)


def band_of(nearest_km: float) -> Band:
    """The band whose likely error holds at this distance from the nearest row. [km]"""
    return next(band for band in BANDS if nearest_km <= band.up_to_km)


def estimate(
    latitude_deg: float,
    longitude_deg: float,
    elevation_m: float,
    rows: Sequence[Site],
    policy: Policy | None = None,
) -> Estimate:
    """Monthly climate of a place from the rows of other places.

    Parameters
    ----------
    latitude_deg : float
        -66.5 to 66.5, south negative. [°]
    longitude_deg : float
        -180 to 180, west negative. [°]
    elevation_m : float
        -450 to 6000. [m]
    rows : sequence of Site
        Twelve or more places whose climate is known, none of them an estimate.
    policy : Policy, optional
        For the record low.

    Raises
    ------
    SizingError
        If a coordinate is out of range, or the rows are too few.
    """
    import numpy as np

    require("latitude_deg", latitude_deg, minimum=-LATITUDE_MOST_DEG, maximum=LATITUDE_MOST_DEG, unit="°")
    require("longitude_deg", longitude_deg, minimum=-180, maximum=180, unit="°")
    require("elevation_m", elevation_m, minimum=-450, maximum=6000, unit="m")
    known = neighbours.library(rows)
    clear, low, high, weight = neighbours.carry(known, latitude_deg, longitude_deg, elevation_m)
    above = np.array(neighbours.above_kwh_m2_day(latitude_deg))
    ghi = np.minimum(clear * above, clear_sky_kwh_m2_day(latitude_deg, elevation_m))
    away = neighbours.distance_km(latitude_deg, longitude_deg, known.latitude_deg, known.longitude_deg)
    nearest = float(away.min())
    band = band_of(nearest)
    offset = (policy or Policy()).record_low_offset_k
    return Estimate(
        latitude_deg=float(latitude_deg),
        longitude_deg=float(longitude_deg),
        elevation_m=float(elevation_m),
        ghi_kwh_m2_day=_rounded(ghi, 2),
        tmin_c=_rounded(low, 1),
        tmax_c=_rounded(high, 1),
        record_low_c=max(-70.0, round(float(low.min()) - offset, 1)),
        clearness_ratio=_rounded(ghi / np.maximum(above, 1e-6), 3),
        rows=tuple(
            RowUsed(name=known.names[i], distance_km=round(float(away[i]), 1), weight_ratio=round(float(weight[i]), 3))
            for i in np.argsort(-weight, kind="stable")[:SHOWN_ROWS]
        ),
        rows_count=len(known),
        nearest_km=round(nearest, 1),
        likely_error_ratio=band.month_ratio,
        likely_error_year_ratio=band.year_ratio,
        likely_error_k=band.temperature_k,
        findings=tuple(_findings(known, elevation_m, nearest, band)),
    )


def of_trip(trip: Sequence[Stop]) -> list[Finding]:
    """What a trip must say of stops whose climate is an estimate."""
    return [
        finding(
            "info", "site_estimated", f"stop:{i}", name=stop.site.name, likely_error_ratio=stop.site.likely_error_ratio
        )
        for i, stop in enumerate(trip)
        if stop.site.likely_error_ratio is not None
    ]


def _rounded(values: Floats, digits: int) -> tuple[float, ...]:
    return tuple(round(float(value), digits) for value in values)


def _findings(known: Library, elevation_m: float, nearest_km: float, band: Band) -> list[Finding]:
    found = []
    if nearest_km > FAR_KM:
        near, likely = round(nearest_km), band.month_ratio
        found.append(finding("warning", "estimate_far", nearest_km=near, limit_km=FAR_KM, likely_error_ratio=likely))
    highest = float(known.elevation_m.max())
    if elevation_m > highest + HIGH_M:
        found.append(finding("warning", "estimate_high", elevation_m=round(elevation_m), highest_m=round(highest)))
    return found
