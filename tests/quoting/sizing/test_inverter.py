"""Inverter losses; published curves are rows of the reference table."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.sizing.errors import SizingError
from quoting.sizing.inverter import assumed_curve, loss_curve


def test_curve_goes_through_no_load_half_and_full():
    curve = loss_curve(1000, 9, 0.92, 0.88)

    assert curve.dc_w(0) == 9
    assert 500 / curve.dc_w(500) == pytest.approx(0.92)
    assert 1000 / curve.dc_w(1000) == pytest.approx(0.88)


def test_best_efficiency_lies_where_own_loss_equals_resistive_loss():
    curve = loss_curve(2000, 8, 1000 / 1048, 2000 / 2128)  # by hand: √(8 × 2000 / 0.04) = 632 W
    best = max(range(50, 2001), key=lambda w: w / curve.dc_w(w))

    assert best == pytest.approx(632, abs=2)


@given(st.floats(100, 5000), st.floats(0, 0.02), st.floats(0.6, 0.97), st.floats(0.6, 0.97))
def test_more_load_always_takes_more_and_never_gains(rated_w, idle, half, full):
    try:
        curve = loss_curve(rated_w, idle * rated_w, half, full)
    except SizingError:
        assert idle * rated_w > rated_w / full - rated_w
        return
    powers = [curve.dc_w(rated_w * n / 10) for n in range(11)]

    assert all(b > a for a, b in pairwise(powers))
    assert all(powers[n] >= rated_w * n / 10 for n in range(11))


def test_more_no_load_draw_than_losses_at_full_power_is_refused():
    with pytest.raises(SizingError, match=r"no_load_w is 200 W; it must be at least 0 W and at most 52\.632 W"):
        loss_curve(1000, 200, 0.95, 0.95)


def test_before_one_is_chosen_one_efficiency_holds_at_every_load():
    curve = assumed_curve(1000, 0.8)

    assert curve.loss_under_load_w(400) == pytest.approx(100)
