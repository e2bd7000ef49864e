"""How far an estimate of a place is likely to be out: every row is left out in turn and estimated from the others."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from quoting.sizing import neighbours
from quoting.sizing.brief import Site
from quoting.sizing.neighbours import Library

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[Any]

Carry = Callable[[Library, float, float, float], tuple["Floats", "Floats", "Floats"]]
"""A way to come to clearness, mean minimum and maximum of a place, each ``(12,)``."""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """One row, estimated without the rows nearer than some distance, held against what it really says.

    ``month_ratio`` is (12,), the error of each month over that month's value; ``ghi_kwh_m2_day`` the same in units;
    ``year_ratio`` that of the year's mean; ``temperature_k`` (24,), minima then maxima.
    """

    name: str
    nearest_km: float
    month_ratio: Floats
    ghi_kwh_m2_day: Floats
    year_ratio: float
    temperature_k: Floats


def left_out(rows: Sequence[Site], keep_out_km: float = 0.0, carry: Carry | None = None) -> tuple[LeftOut, ...]:
    """Leave out every row in turn, and with it what lies nearer than a distance.

    Parameters
    ----------
    rows : sequence of Site
        What is known.
    keep_out_km : float
        Rows nearer than this are left out too, to see what an estimate far from any row is worth. [km]
    carry : callable, optional
        Another way to come to the monthly values; ``neighbours.carry`` when not given.
    """
    import numpy as np

    known = neighbours.library(rows)
    way = carry or _carry
    found = []
    for i, row in enumerate(rows):
        here = (row.latitude_deg, row.longitude_deg)
        away = neighbours.distance_km(*here, known.latitude_deg, known.longitude_deg)
        away[i] = -1.0
        kept = np.flatnonzero(away >= keep_out_km)
        if len(kept) < neighbours.ROWS_LEAST:
            continue
        clear, low, high = way(_part(known, kept), *here, row.elevation_m)
        above = np.array(neighbours.above_kwh_m2_day(row.latitude_deg))
        really, out = np.array(row.ghi_kwh_m2_day), clear * above - np.array(row.ghi_kwh_m2_day)
        found.append(
            LeftOut(
                name=row.name,
                nearest_km=float(away[kept].min()),
                month_ratio=clear / known.clearness_ratio[i] - 1,
                ghi_kwh_m2_day=out,
                year_ratio=float(out.sum() / really.sum()),
                temperature_k=np.concatenate([low - known.tmin_c[i], high - known.tmax_c[i]]),
            )
        )
    return tuple(found)


def rms(values: Any) -> float:
    """Root mean square.

    >>> rms([3, -4, 0, 0])
    2.5
    """
    flat = [float(x) for x in _flat(values)]
    return math.sqrt(sum(x * x for x in flat) / len(flat))


def _flat(values: Any) -> Any:
    import numpy as np

    return np.asarray(values).ravel()


def _carry(known: Library, latitude_deg: float, longitude_deg: float, elevation_m: float) -> Any:
    return neighbours.carry(known, latitude_deg, longitude_deg, elevation_m)[:3]


def _part(known: Library, kept: Any) -> Library:
    return replace(
        known,
        alike_ratio=known.alike_ratio[kept][:, kept],
        names=tuple(known.names[i] for i in kept),
        **{
            name: getattr(known, name)[kept]
            for name in ("latitude_deg", "longitude_deg", "elevation_m", "clearness_ratio", "tmin_c", "tmax_c")
        },
    )
