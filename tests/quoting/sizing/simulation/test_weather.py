"""Clear days and grey ones: the distribution has its mean, days hang together, and the same seed gives the same."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.sizing.brief import Site, Stop
from quoting.sizing.errors import SizingError
from quoting.sizing.simulation import weather

MEANS = st.floats(0.02, 0.85)


def stop(latitude_deg=-27.5, month=6, ghi=3.3):
    site = Site(
        name="Kestrel Flat",
        latitude_deg=latitude_deg,
        longitude_deg=152.0,
        ghi_kwh_m2_day=(ghi,) * 12,
        tmin_c=(10.0,) * 12,
        tmax_c=(20.0,) * 12,
    )
    return Stop(site=site, month=month, days=5, driving_h_per_day=1)


@given(MEANS)
def test_the_expectation_is_the_mean_day(mean):
    shares = (np.arange(20_000) + 0.5) / 20_000

    assert weather._ratio(mean, shares).mean() == pytest.approx(1, rel=1e-4)


@given(MEANS, st.floats(0, 1), st.floats(0, 1))
def test_quantiles_rise_and_stay_under_a_clear_sky(mean, share, other):
    low, high = sorted((share, other))

    darker, clearer = weather.clearness_quantile(mean, low), weather.clearness_quantile(mean, high)

    assert 0 < darker <= clearer <= 0.9
    if weather.MEAN_LOW <= mean <= weather.MEAN_HIGH:
        assert darker >= weather.LEAST - 1e-12
        assert clearer <= weather.clearness_most(mean) * (1 + 1e-12)


@given(st.floats(0.2, 0.8))
def test_its_closed_spread_is_that_of_its_quantiles(mean):
    shares = (np.arange(40_000) + 0.5) / 40_000

    assert weather.clearness_spread(mean) == pytest.approx((weather._ratio(mean, shares) * mean).std(), rel=1e-3)


@pytest.mark.parametrize("mean", [0.3, 0.5, 0.7])
def test_drawn_days_have_the_mean_and_the_spread_of_their_month(mean):
    drawn = weather.ratios((mean,) * 60, 1000, 0.29, 5) * mean

    assert drawn.mean() == pytest.approx(mean, rel=0.01)
    assert drawn.std() == pytest.approx(weather.clearness_spread(mean), rel=0.02)
    assert drawn.max() <= weather.clearness_most(mean)
    assert drawn.min() >= weather.LEAST - 1e-12


@pytest.mark.parametrize("correlation", [0.0, 0.29, 0.7])
def test_days_hang_together_as_much_as_they_are_told_to(correlation):
    from scipy.special import ndtri

    normal = ndtri(weather.day_ranks(200, 400, correlation, 3))

    assert np.mean(normal[1:] * normal[:-1]) == pytest.approx(correlation, abs=0.01)
    assert np.mean(normal[2:] * normal[:-2]) == pytest.approx(correlation**2, abs=0.01)
    assert np.std(normal) == pytest.approx(1, abs=0.01)


def test_members_are_independent():
    ranks = weather.day_ranks(2000, 6, 0.29, 11)

    between = np.corrcoef(ranks.T)[np.triu_indices(6, 1)]
    assert np.abs(between).max() < 4 / math.sqrt(2000)


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 2**40), st.integers(1, 12), st.integers(1, 30))
def test_the_same_seed_gives_the_same_and_more_of_it_leaves_it_as_it_was(seed, days, draws):
    first = weather.clearness_ratios(stop(), days, draws, 0.29, seed)

    assert np.array_equal(first, weather.clearness_ratios(stop(), days, draws, 0.29, seed))
    more = weather.clearness_ratios(stop(), days + 3, draws + 2, 0.29, seed)
    assert np.array_equal(first, more[:days, :draws])
    assert not np.array_equal(first, weather.clearness_ratios(stop(), days, draws, 0.29, seed + 1))


def test_the_weather_goes_on_from_stop_to_stop():
    whole = weather.day_ranks(9, 50, 0.29, 4)

    assert np.array_equal(whole[5:], weather.day_ranks(4, 50, 0.29, 4, first_day=5))


def test_days_of_several_months_each_keep_their_own_distribution():
    drawn = weather.ratios((0.3, 0.3, 0.7, 0.0), 2000, 0.29, 1)

    assert np.array_equal(drawn[:2], weather.ratios((0.3, 0.3), 2000, 0.29, 1))
    assert drawn[2].max() <= weather.clearness_most(0.7) / 0.7
    assert np.all(drawn[3] == 1)


def test_where_there_is_no_sun_there_is_no_spread():
    night = weather.clearness_ratios(stop(66.5, 12, 0.0), 5, 20, 0.29, 1)

    assert np.all(night == 1)
    assert weather.mean_clearness(66.5, 12, 0.0) == 0


def test_more_sun_than_the_sky_has_is_taken_for_all_of_it():
    assert weather.mean_clearness(-27.5, 6, 12.0) == 1
    assert np.all(weather.clearness_ratios(stop(ghi=12.0), 5, 20, 0.29, 1) <= weather.clearness_most(0.8) / 0.8)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: weather.clearness_quantile(1.1, 0.5), "mean_clearness"),
        (lambda: weather.clearness_quantile(float("nan"), 0.5), "mean_clearness"),
        (lambda: weather.clearness_quantile(0.5, -0.1), "share"),
        (lambda: weather.clearness_spread(-0.1), "mean_clearness"),
        (lambda: weather.clearness_most(float("inf")), "mean_clearness"),
        (lambda: weather.day_ranks(0, 5, 0.29, 1), "days"),
        (lambda: weather.day_ranks(5, 0, 0.29, 1), "draws"),
        (lambda: weather.day_ranks(5, 5, 1.0, 1), "correlation_ratio"),
        (lambda: weather.day_ranks(5, 5, 0.29, -1), "seed"),
    ],
)
def test_what_cannot_be_is_refused(call, field):
    with pytest.raises(SizingError) as refused:
        call()

    assert refused.value.field == field
