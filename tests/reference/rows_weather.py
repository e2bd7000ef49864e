"""Spread of clear and grey days, their sequence, and the sun above the air by the sun's path minute by minute."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache

import numpy as np
from scipy.integrate import quad
from scipy.special import ndtri

from quoting.sizing import sun
from quoting.sizing.simulation import weather
from tests.reference.table import Check

HUGET = "Hollands and Huget (1983), 0.6313 + 0.267 K - 11.9 (K - 0.75)^8, by hand"
FITTED = (
    "density of Bendt et al. (1981) with the fitted steepness of Herzog (1985) in Duffie and Beckman, section 2.9, "
    "integrated by scipy.integrate.quad; its fit is good to a per cent or two"
)
GRAHAM = "Graham, Hollands and Unny (1988): 0.29 for daily clearness made normal"
SPA = "pvlib 0.16.1, NREL solar position every minute of the mean day, get_extra_radiation(method='nrel')"
YEARS = "typical years that come with pvlib 0.16.1, daily clearness, mean over the twelve months"

FILES = {
    "Greensboro": ("723170TYA.CSV", (0.48, 0.48, 0.52, 0.54, 0.51, 0.54, 0.54, 0.54, 0.51, 0.52, 0.45, 0.50)),
    "Sand Point": ("703165TY.csv", (0.32, 0.31, 0.32, 0.37, 0.31, 0.33, 0.46, 0.30, 0.47, 0.41, 0.36, 0.35)),
    "Miami": ("12839.tm2", (0.52, 0.56, 0.55, 0.59, 0.54, 0.51, 0.53, 0.53, 0.50, 0.52, 0.51, 0.53)),
}
"""Of each place its file and its months' clearness. ``test_weather_files.py`` reads them again."""
SPREADS = {"Greensboro": 0.1555, "Sand Point": 0.1470, "Miami": 0.1167}
"""Standard deviation of a month's daily clearness."""
TIES = {"Greensboro": 0.297, "Sand Point": 0.243, "Miami": 0.305}
"""Correlation of a day's clearness with the day's before, within months."""


def _herzog(mean: float) -> tuple[float, float, float]:
    """Least and greatest clearness and steepness, none of it ours."""
    least, most = 0.05, 0.6313 + 0.267 * mean - 11.9 * (mean - 0.75) ** 8
    xi = (most - least) / (most - mean)
    return least, most, -1.498 + (1.184 * xi - 27.182 * math.exp(-1.5 * xi)) / (most - least)


def _moment(mean: float, of: Callable[[float], float]) -> float:
    least, most, steep = _herzog(mean)
    whole = quad(lambda k: math.exp(steep * k), least, most)[0]
    return quad(lambda k: of(k) * math.exp(steep * k), least, most)[0] / whole


def _spread(mean: float) -> float:
    centre = _moment(mean, lambda k: k)
    return math.sqrt(_moment(mean, lambda k: (k - centre) ** 2))


def _day(mean: float, share: float) -> float:
    """The clearness that this share of days does not exceed."""
    least, most, steep = _herzog(mean)
    return math.log((1 - share) * math.exp(steep * least) + share * math.exp(steep * most)) / steep


def _our_mean(mean: float) -> float:
    return quad(lambda share: weather.clearness_quantile(mean, share), 0, 1)[0]


@lru_cache(maxsize=1)
def _drawn() -> np.ndarray:
    return weather.day_ranks(300, 300, 0.29, 8)


def _tie(series: np.ndarray) -> float:
    away = series - series.mean()
    return float(np.mean(away[1:] * away[:-1]) / np.mean(away**2))


def _spread_of(place: str) -> float:
    return float(np.mean([weather.clearness_spread(mean) for mean in FILES[place][1]]))


CHECKS = [
    *(
        Check("clear and grey days", f"clearest day of a month of {mean}", value, HUGET, "D",
              lambda mean=mean: weather.clearness_most(mean), 1e-5)
        for mean, value in ((0.3, 0.691390), (0.5, 0.764618), (0.75, 0.831550))
    ),
    *(
        Check("clear and grey days", f"mean of days about {mean}", _moment(mean, lambda k: k), FITTED, "M",
              lambda mean=mean: _our_mean(mean), 0.01)
        for mean in (0.3, 0.4, 0.5, 0.6, 0.7)
    ),
    *(
        Check("clear and grey days", f"spread of days about {mean}", _spread(mean), FITTED, "M",
              lambda mean=mean: weather.clearness_spread(mean), 0.02)
        for mean in (0.3, 0.4, 0.5, 0.6, 0.7)
    ),
    *(
        Check("clear and grey days", f"one day in {round(1 / share)} about {mean}", _day(mean, share), FITTED, "M",
              lambda mean=mean, share=share: weather.clearness_quantile(mean, share), 0.015)
        for mean, share in ((0.3, 0.05), (0.5, 0.05), (0.6, 0.1), (0.7, 0.05), (0.5, 0.5))
    ),
    # A typical year is put together of months chosen for being ordinary, and the humid subtropics are steadier than the
    # places the distribution was drawn from: it is wider than both, which makes the grey days greyer.
    Check("clear and grey days", "spread of days, Greensboro", SPREADS["Greensboro"], YEARS, "L",
          lambda: _spread_of("Greensboro"), 0.25),
    Check("clear and grey days", "spread of days, Sand Point", SPREADS["Sand Point"], YEARS, "L",
          lambda: _spread_of("Sand Point"), 0.30),
    Check("days in sequence", "tie from day to day, made normal", 0.29, GRAHAM, "M",
          lambda: _tie(ndtri(_drawn())), 0.03),
    *(
        Check("days in sequence", f"tie from day to day, {place}", value, YEARS, "L",
              lambda: _tie(weather._ratio(0.5, _drawn())), 0.2)
        for place, value in TIES.items()
    ),
    *(
        Check("above the air", f"latitude {latitude}°, month {month}, minute by minute [kWh/m²]", value, SPA, "L",
              lambda latitude=latitude, month=month: sun.extraterrestrial_kwh_m2_day(latitude, month), 0.012)
        for latitude, month, value in (
            (0, 3, 10.5426), (-33.87, 12, 12.2326), (-33.87, 6, 4.5770), (51.5, 12, 1.9141), (-45, 7, 3.1120),
            (60, 6, 11.3980),
        )
    ),
]  # fmt: skip
