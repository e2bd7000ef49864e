"""Protection: ratings, faults, breaking capacity, opening times, withstand, place."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.sizing.errors import SizingError
from quoting.sizing.protection import (
    LONGEST_S,
    RATINGS_A,
    Supply,
    breaks,
    clears_s,
    device_rating,
    fault_current_a,
    least_rating_a,
    parallel_ohm,
    place_ok,
    withstands,
)


def test_a_fuse_opens_sooner_at_more_current_and_holds_at_a_tenth_more() -> None:
    times = [clears_s("blade_c", 10, tenths) for tenths in range(14, 120)]

    assert clears_s("blade_c", 10, 11) == math.inf
    assert times == sorted(times, reverse=True)


def test_every_battery_and_source_is_added_to_a_fault() -> None:
    # by hand: 13.6 V / (1.5 mΩ + 0.85 mΩ) = 5787 A, and 40 A from a charger beside
    two = Supply(13.6, parallel_ohm((0.003, 0.003)), 40.0)

    assert two.behind(0.00085).fault_a == pytest.approx(13.6 / 0.00235 + 40)
    assert Supply(13.6, 0.003, 40.0).behind(0.00085).fault_a < two.behind(0.00085).fault_a


def test_an_unknown_resistance_is_refused_or_wants_the_highest_breaking_capacity() -> None:
    with pytest.raises(SizingError, match="resistance_ohm is missing"):
        fault_current_a(13.6, None, 0.001)

    assert Supply(14.4, None, 40).behind(0.01).fault_a is None
    assert not breaks(10000, None, 20000)
    assert breaks(20000, None, 20000)


def test_a_device_that_states_no_capacity_never_serves() -> None:
    assert not breaks(None, 10.0, 20000)
    assert breaks(1000, 1000, 20000)
    assert not breaks(999, 1000, 20000)


def test_heat_at_the_device_counts_beside_the_continuous_rule() -> None:
    assert least_rating_a(100, 1.25, 0.8) == pytest.approx(125)
    assert least_rating_a(100, 1.25, 0.7) == pytest.approx(100 / 0.7)


def test_no_rating_between_load_and_conductor_asks_for_a_larger_conductor() -> None:
    with pytest.raises(SizingError, match=r"at least 48.0 A and the conductor allows at most 42.0 A"):
        device_rating(38.4, 42, (40, 50))


@pytest.mark.parametrize(
    ("rating_a", "holds"),
    # 1.5 mm², 105 °C: k²S² = (143 × 1.5)² = 46010 A²s; a 30 A blade lets (6 × 30)² × 0.1 = 3240 A²s through,
    # a 300 A strip (6 × 300)² × 1 = 3.24e6 A²s
    [(30, True), (300, False)],
)
def test_a_thin_conductor_outlasts_a_small_fuse_only(rating_a: float, holds: bool) -> None:
    series = "blade_c" if rating_a < 100 else "strip_51"

    assert withstands(1.5, 105, series, rating_a, 4000) is holds


def test_place_is_within_the_policys_distance() -> None:
    assert place_ok(0.2, 0.2)
    assert not place_ok(0.21, 0.2)


@given(
    current=st.floats(0.1, 300), ampacity=st.floats(1, 450),
    ratio=st.floats(1.0, 1.6), left=st.floats(0.6, 1.0), series=st.sampled_from(sorted(RATINGS_A)),
)  # fmt: skip
def test_a_device_never_exceeds_its_conductor_nor_nags(current, ampacity, ratio, left, series) -> None:
    try:
        rating = device_rating(current, ampacity, RATINGS_A[series], ratio, left)
    except SizingError:
        return

    assert rating <= ampacity + 1e-6
    assert rating >= ratio * current - 1e-6
    assert rating * left >= current - 1e-6


@given(st.floats(1, 60), st.floats(0.0003, 0.1), st.floats(0, 0.1), st.floats(0, 0.1))
def test_more_conductor_before_a_fault_never_raises_it(volts, ohm, near, more) -> None:
    assert fault_current_a(volts, ohm, near + more) <= fault_current_a(volts, ohm, near) + 1e-9


@given(st.sampled_from([*sorted(LONGEST_S), "unlisted"]), st.floats(1, 500), st.floats(0.5, 100), st.floats(0, 100))
def test_opening_times_fall_with_current(series, rating, multiple, more) -> None:
    later = clears_s(series, rating, rating * multiple)

    assert clears_s(series, rating, rating * (multiple + more)) <= later * (1 + 1e-9)
