"""The typical years that come with pvlib, read again: what ``rows_weather`` says of them, and on which side we err."""

import warnings
from pathlib import Path

import numpy as np
import pvlib
import pytest
from scipy.optimize import brentq

from quoting.sizing.simulation import weather
from tests.reference.rows_weather import FILES, SPREADS, TIES

MONTH_OF_DAY = np.repeat(np.arange(12), (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31))


def daily_clearness(file: str) -> list[np.ndarray]:
    """Of each month, its days'."""
    path = Path(pvlib.__file__).parent / "data" / file
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # both readers warn of their own future
        if path.suffix == ".tm2":
            hours, _ = pvlib.iotools.read_tmy2(path)
            ground, above = hours["GHI"], hours["ETR"]
        else:
            hours, _ = pvlib.iotools.read_tmy3(path, coerce_year=1990, map_variables=True)
            ground, above = hours["ghi"], hours["ghi_extra"]
    by_day = [x.to_numpy(dtype=float).reshape(365, 24).sum(axis=1) for x in (ground, above)]
    clearness = by_day[0] / by_day[1]
    return [clearness[month == MONTH_OF_DAY] for month in range(12)]


@pytest.mark.parametrize("place", FILES)
def test_the_rows_are_what_the_files_hold(place):
    file, means = FILES[place]
    months = daily_clearness(file)

    ties = [np.mean((k[1:] - k.mean()) * (k[:-1] - k.mean())) / k.var() for k in months]
    assert [k.mean() for k in months] == pytest.approx(means, abs=0.006)
    assert np.mean([k.std(ddof=1) for k in months]) == pytest.approx(SPREADS[place], abs=5e-4)
    assert np.mean(ties) == pytest.approx(TIES[place], abs=2e-3)


@pytest.mark.parametrize("place", FILES)
def test_our_grey_days_are_no_brighter_than_theirs(place):
    months = daily_clearness(FILES[place][0])

    theirs = np.mean([np.quantile(k, 0.1) for k in months])
    ours = np.mean([weather.clearness_quantile(float(k.mean()), 0.1) for k in months])
    assert 0.5 * theirs < ours < theirs


@pytest.mark.parametrize("place", FILES)
def test_no_day_of_theirs_is_clearer_than_ours_can_be(place):
    for k in daily_clearness(FILES[place][0]):
        assert k.max() <= weather.clearness_most(float(k.mean())) * 1.03


def hollands_and_huget_spread(mean: float) -> float:
    """Standard deviation of the density that the clearest day is of: (1 - K/K_max) e^(l K). L: scipy finds l."""
    most = weather.clearness_most(mean)
    k = np.linspace(0, most, 4001)

    def moments(slope: float) -> tuple[float, float]:
        weight = (1 - k / most) * np.exp(slope * (k - most))
        first = float((weight * k).sum() / weight.sum())
        return first, float((weight * (k - first) ** 2).sum() / weight.sum()) ** 0.5

    slope = brentq(lambda x: moments(x)[0] - mean, -200, 400)
    return moments(slope)[1]


@pytest.mark.parametrize(("place", "ours", "theirs"), [("Greensboro", 1.22, 1.04), ("Sand Point", 1.27, 1.21),
                                                       ("Miami", 1.59, 1.34)])  # fmt: skip
def test_how_much_of_the_width_is_the_pair_of_density_and_clearest_day(place, ours, theirs):
    months = daily_clearness(FILES[place][0])

    def rms(values):
        return np.sqrt(np.mean(np.square(list(values))))

    seen = rms(k.std(ddof=1) for k in months)
    assert rms(weather.clearness_spread(k.mean()) for k in months) / seen == pytest.approx(ours, abs=0.02)
    assert rms(hollands_and_huget_spread(k.mean()) for k in months) / seen == pytest.approx(theirs, abs=0.02)
