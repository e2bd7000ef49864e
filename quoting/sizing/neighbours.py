"""Known places as arrays, and how their monthly values are carried over to another place.

Clearness and temperature are weighted by universal kriging: a drift in latitude and elevation, and what is left over by
distance. Rows of the other hemisphere count half a year later.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from quoting.sizing import sun
from quoting.sizing.brief import Site
from quoting.sizing.errors import SizingError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[Any]

EARTH_KM = 6371.0
"""Mean radius of the earth. [km] IUGG."""
ROWS_LEAST = 12
"""Fewest rows that an estimate is made from; a drift of four terms needs some to spare. Common practice."""
RANGE_KM = 1500.0
"""Distance at which likeness has fallen to 1/e; 1000 to 2000 km give the same error to 0.1 %. [km]"""
NUGGET_RATIO = 0.1
"""Of the variance, what even neighbours do not share: a typical year takes each month from one real year."""
SEASON_DEG = 10.0
"""Latitude from which rows across the equator count half a year later in full; at the equator they do not. [°]"""
CLEARNESS_LEAST = 0.1
"""Lowest clearness of a monthly mean that an estimate may give. Common practice."""
SWING_LEAST_K = 1.0
"""Least difference between a month's mean maximum and minimum. [K] Common practice."""


@dataclass(frozen=True, slots=True)
class Library:
    """Rows as arrays: position ``(rows,)``, monthly values ``(rows, 12)`` as they stand, January first.

    ``alike_ratio`` is their likeness to one another by distance, ``(rows, rows)``.
    """

    names: tuple[str, ...]
    latitude_deg: Floats
    longitude_deg: Floats
    elevation_m: Floats
    clearness_ratio: Floats
    tmin_c: Floats
    tmax_c: Floats
    alike_ratio: Floats

    def __len__(self) -> int:
        return len(self.names)


def library(rows: Sequence[Site]) -> Library:
    """Lay rows out as arrays.

    Raises
    ------
    SizingError
        If there are fewer than :data:`ROWS_LEAST`.
    """
    import numpy as np

    if len(rows) < ROWS_LEAST:
        raise SizingError("rows", value=len(rows), minimum=ROWS_LEAST)
    above = np.array([above_kwh_m2_day(row.latitude_deg) for row in rows])
    where = np.array([(row.latitude_deg, row.longitude_deg) for row in rows], dtype=float)
    apart = distance_km(where[:, None, 0], where[:, None, 1], where[None, :, 0], where[None, :, 1])
    ghi = np.array([row.ghi_kwh_m2_day for row in rows], dtype=float)
    return Library(
        names=tuple(row.name for row in rows),
        latitude_deg=where[:, 0],
        longitude_deg=where[:, 1],
        elevation_m=np.array([row.elevation_m for row in rows], dtype=float),
        clearness_ratio=np.clip(ghi / np.maximum(above, 1e-6), CLEARNESS_LEAST, sun.CLEARNESS_MOST),
        tmin_c=np.array([row.tmin_c for row in rows], dtype=float),
        tmax_c=np.array([row.tmax_c for row in rows], dtype=float),
        alike_ratio=np.exp(-apart / RANGE_KM),
    )


def above_kwh_m2_day(latitude_deg: float) -> tuple[float, ...]:
    """Daily irradiation above the air, month by month. [kWh/m²/day]"""
    return tuple(sun.extraterrestrial_kwh_m2_day(latitude_deg, month) for month in range(1, 13))


def distance_km(latitude_deg: Any, longitude_deg: Any, to_latitude_deg: Any, to_longitude_deg: Any) -> Any:
    """Great-circle distance; arrays broadcast. [km]

    Parameters
    ----------
    latitude_deg, longitude_deg, to_latitude_deg, to_longitude_deg : float or array
        South and west negative; 180 and -180 are the same meridian. [°]

    Notes
    -----
    The haversine form, which keeps its digits for short distances; the earth as a sphere, right to 0.5 %.

    Examples
    --------
    >>> round(float(distance_km(0, 179.5, 0, -179.5)), 1)
    111.2

    References
    ----------
    .. [1] R. W. Sinnott, "Virtues of the haversine", Sky and Telescope 68 (1984) 159.
    """
    import numpy as np

    one, other = np.radians(latitude_deg), np.radians(to_latitude_deg)
    turn = np.radians(np.subtract(to_longitude_deg, longitude_deg))
    half = np.sin((other - one) / 2) ** 2 + np.cos(one) * np.cos(other) * np.sin(turn / 2) ** 2
    return 2 * EARTH_KM * np.arcsin(np.sqrt(np.clip(half, 0.0, 1.0)))


def weights(known: Library, latitude_deg: float, longitude_deg: float, elevation_m: float) -> Floats:
    """Weight of every row, adding up to 1. Shape ``(rows,)``.

    Parameters
    ----------
    known : Library
        The rows.
    latitude_deg, longitude_deg : float
        The place; south and west negative. [°]
    elevation_m : float
        The place, over the sea. [m]

    Notes
    -----
    Best linear unbiased weights for a covariance of exp(-d/L) with a nugget on the diagonal and a drift of 1,
    ``|latitude|``, its square, and elevation: each of these the weights reproduce exactly. A weight may be negative,
    where a row stands behind a nearer one.

    References
    ----------
    .. [1] N. Cressie, Statistics for Spatial Data (1993), section 3.4, universal kriging.
    """
    import numpy as np

    alike = known.alike_ratio + NUGGET_RATIO * np.eye(len(known))
    away = distance_km(latitude_deg, longitude_deg, known.latitude_deg, known.longitude_deg)
    towards = np.exp(-away / RANGE_KM)
    drift, here = _drift(known.latitude_deg, known.elevation_m), _drift(latitude_deg, elevation_m)
    # A whisker instead of zeros: it can be solved even where all rows lie on one parallel.
    corner = -1e-9 * np.eye(drift.shape[1])
    solved = np.linalg.solve(np.block([[alike, drift], [drift.T, corner]]), np.concatenate([towards, here]))
    return np.asarray(solved[: len(known)])


def _drift(latitude_deg: Any, elevation_m: Any) -> Floats:
    import numpy as np

    part = np.abs(np.asarray(latitude_deg, dtype=float)) / 90
    return np.stack([np.ones_like(part), part, part * part, np.asarray(elevation_m, dtype=float) / 1000], axis=-1)


def as_seasons(series: Floats, known: Library, latitude_deg: float) -> Floats:
    """Monthly values of every row as they would fall at this latitude. Shape ``(rows, 12)``.

    Parameters
    ----------
    series : array
        Monthly values of the rows, January first, shape ``(rows, 12)``.
    known : Library
        The rows.
    latitude_deg : float
        The place. [°]

    Notes
    -----
    Rows across the equator count half a year later; towards the equator less and less, so that a degree north of it
    and a degree south of it get the same climate.
    """
    import numpy as np

    across = (known.latitude_deg < 0) != (latitude_deg < 0)
    share = np.where(across, min(1.0, abs(latitude_deg) / SEASON_DEG), 0.0)[:, None]
    return np.asarray((1 - share) * series + share * np.roll(series, 6, axis=1))


def carry(
    known: Library, latitude_deg: float, longitude_deg: float, elevation_m: float
) -> tuple[Floats, Floats, Floats, Floats]:
    """Carry the rows over to a place: clearness, mean minimum and maximum [°C], shape ``(12,)``, and the weights.

    Parameters
    ----------
    known : Library
        The rows.
    latitude_deg, longitude_deg : float
        The place; south and west negative. [°]
    elevation_m : float
        The place, over the sea. [m]
    """
    import numpy as np

    weight = weights(known, latitude_deg, longitude_deg, elevation_m)
    clear, low, high = (
        weight @ as_seasons(series, known, latitude_deg)
        for series in (known.clearness_ratio, known.tmin_c, known.tmax_c)
    )
    middle, swing = (low + high) / 2, np.maximum(high - low, SWING_LEAST_K)
    return (
        np.clip(clear, CLEARNESS_LEAST, sun.CLEARNESS_MOST),
        np.clip(middle - swing / 2, -60.0, 45.0),
        np.clip(middle + swing / 2, -50.0, 55.0),
        weight,
    )
