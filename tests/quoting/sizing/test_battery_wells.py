"""Two wells: fitted to what a maker states, agreeing with Peukert where they should and never better than one well."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.kinds.capabilities import Storage
from quoting.sizing.battery_wells import (
    TwoWells,
    peukert_ah,
    peukert_time_h,
    wells_of,
    wells_of_peukert,
    wells_through,
    wells_within,
)
from quoting.sizing.errors import SizingError

PUBLISHED = ((20.0, 100.0), (10.0, 93.2), (1.0, 58.12))
EXPONENTS, RATES_H = st.floats(1.01, 1.6), st.floats(2, 120)


def stored(chemistry: str, **changed: float) -> Storage:
    """A battery of 100 Ah."""
    spec = {
        "nominal_v": 12.0, "cells": 6, "capacity_ah": 100.0, "rate_h": 20.0, "peukert": 1.2, "resistance_ohm": 0.005,
        "max_charge_a": 25.0, "max_discharge_a": 60.0, "peak_a": 400.0, "peak_s": 5.0, "cutoff_v": 10.5,
        "absorption_v": 14.4, "float_v": 13.6, "compensation_mv_per_cell_k": -4.0, "max_series": 2, "max_parallel": 3,
        "min_charge_c": -15.0, "max_charge_c": 45.0,
    }  # fmt: skip
    return Storage(chemistry=chemistry, **{**spec, **changed})  # type: ignore[arg-type]


def test_wells_go_through_all_three_points():
    wells = wells_through(PUBLISHED)

    for hours, charge in PUBLISHED:
        assert wells.delivered_ah(hours) == pytest.approx(charge, rel=1e-9)


@settings(max_examples=40)
@given(st.floats(0.1, 0.9), st.floats(0.05, 3))
def test_wells_are_found_again_from_what_they_deliver(width, constant):
    true = TwoWells(200.0, width, constant)

    found = wells_through(tuple((t, true.delivered_ah(t)) for t in (0.5, 4.0, 30.0)))

    assert found.available_ratio == pytest.approx(width, rel=1e-4)
    assert found.rate_per_h == pytest.approx(constant, rel=1e-4)
    assert found.capacity_ah == pytest.approx(200, rel=1e-4)


@settings(max_examples=40)
@given(EXPONENTS, RATES_H)
def test_wells_agree_with_peukert_at_the_maker_s_rate_and_between(exponent, rate_h):
    wells = wells_of_peukert(100, rate_h, exponent)

    assert wells.delivered_ah(rate_h) == pytest.approx(100, rel=1e-6)
    assert 0 < wells.available_ratio < 1
    assert wells.capacity_ah > 100
    if exponent <= 1.22 and 10 <= rate_h <= 24:
        for hours in (1.0, 3.0, 5.0, 10.0, rate_h):
            assert wells.delivered_ah(hours) == pytest.approx(peukert_ah(100, rate_h, hours, exponent), rel=0.04)


@settings(max_examples=40)
@given(EXPONENTS, RATES_H, st.floats(1, 200))
def test_more_current_never_delivers_more(exponent, rate_h, current_a):
    wells = wells_of_peukert(100, rate_h, exponent)

    more = 1.2 * current_a
    assert more * wells.runtime_h(more) <= current_a * wells.runtime_h(current_a) * (1 + 1e-9)


def test_a_discharge_step_by_step_ends_where_the_closed_form_does():
    wells = wells_of_peukert(100, 20, 1.2)
    hours = wells.runtime_h(25)
    available = wells.capacity_ah * wells.available_ratio
    bound = wells.capacity_ah - available

    for _ in range(50):
        available, bound = wells.after(available, bound, 25, hours / 50)

    assert available == pytest.approx(0, abs=1e-6)
    assert bound == pytest.approx(wells.capacity_ah - 25 * hours, rel=1e-9)


def test_capacity_by_time_and_time_by_current_are_the_same_law():
    hours = peukert_time_h(100, 20, 25, 1.2)

    assert peukert_ah(100, 20, hours, 1.2) == pytest.approx(25 * hours)


def test_lithium_has_one_well_and_so_has_lead_acid_without_a_rate():
    lithium = wells_of(stored("lifepo4", peukert=1.05))
    lead = wells_of(stored("agm", peukert=1.0))

    assert lithium == lead == TwoWells(100.0, 1.0, 1.0)
    assert lithium.delivered_ah(0.5) == pytest.approx(100)


def test_a_battery_s_wells_come_from_its_rate_and_exponent():
    wells = wells_of(stored("gel", capacity_ah=150.0, rate_h=20.0, peukert=1.14))

    assert wells == wells_within(150, 20, 1.14)
    for hours in (5, 1):
        assert wells.delivered_ah(hours) == pytest.approx(150 * (hours / 20) ** (1 - 1 / 1.14))


@settings(max_examples=40)
@given(st.floats(1.01, 1.6), RATES_H)
def test_wells_within_the_stated_capacity_stay_under_it_and_near_peukert(exponent, rate_h):
    wells = wells_within(100, rate_h, exponent)

    assert wells.capacity_ah == 100
    assert 0 < wells.available_ratio < 1
    for part in (20, 4):
        law = peukert_ah(100, rate_h, rate_h / part, exponent)
        assert wells.delivered_ah(rate_h / part) == pytest.approx(law, rel=1e-6)
    assert wells.delivered_ah(rate_h) <= 100
    assert wells.delivered_ah(50 * rate_h) == pytest.approx(100, rel=0.08)
    if exponent <= 1.22:
        assert wells.delivered_ah(rate_h) >= 92
        for part in (2, 8, 12):
            law = peukert_ah(100, rate_h, rate_h / part, exponent)
            assert wells.delivered_ah(rate_h / part) == pytest.approx(law, rel=0.02)


def test_wells_bound_charge_comes_back_at_rest():
    wells = wells_of_peukert(100, 20, 1.22)
    full = wells.capacity_ah
    hours = wells.runtime_h(60)
    available, bound = wells.after(full * wells.available_ratio, full * (1 - wells.available_ratio), 60, hours)

    rested, left = wells.after(available, bound, 0.0, 24.0)

    assert available == pytest.approx(0, abs=1e-6)
    assert rested > 0.3 * (rested + left)  # a battery that was flat at 60 A gives again after a night
    assert math.isclose(rested + left, available + bound, rel_tol=1e-9)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: wells_through(((1.0, 10.0), (1.0, 12.0), (2.0, 14.0))), "three different times"),
        (lambda: wells_through(((1.0, 10.0), (2.0, 9.0), (3.0, 14.0))), "more time must deliver more"),
        (lambda: wells_through(((1.0, 10.0), (2.0, 20.0), (20.0, 200.0))), "no two wells deliver these"),
        (lambda: wells_through(((1.0, -1.0), (2.0, 20.0), (20.0, 200.0))), "points.charge_ah is -1.0 Ah"),
        (lambda: wells_of_peukert(100, 20, 0.9), "exponent is 0.9; it must be at least 1"),
        (lambda: wells_of_peukert(math.nan, 20, 1.1), "capacity_ah is nan"),
        (lambda: peukert_ah(100, 20, 0, 1.1), "hours is 0 h"),
        (lambda: wells_within(100, 20, 2.5), "exponent is 2.5; it must be at least 1 and at most 2"),
    ],
)
def test_impossible_values_are_refused(call, said):
    with pytest.raises(SizingError, match=said):
        call()
