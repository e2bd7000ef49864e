"""Conductors: limits, directions, and the two tables against each other."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.sizing.conductor_tables import CLASS_5_OHM_PER_KM_20C
from quoting.sizing.conductors import (
    AREAS_MM2,
    ambient_factor,
    ampacity_a,
    awg_mm2,
    awg_name,
    bundling_factor,
    cfr_table_a,
    iso10133_drop_v,
    loaded_conductor_c,
    next_smaller_awg,
    smallest_area_for_current_mm2,
    smallest_area_for_drop_mm2,
    voltage_drop_v,
)
from quoting.sizing.errors import SizingError


def test_a_metric_size_is_never_allowed_more_than_the_next_larger_gauge() -> None:
    # between two independent tables: 16 mm² is 130 A in ISO 10133 A.1 (M), 6 AWG = 13.3 mm² 120 A in 33 CFR (P)
    gauges = (18, 16, 14, 12, 10, 8, 6, 4, 3, 2, 1, 0, -1, -2, -3)
    for area in (1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0, 95.0):
        larger = min((n for n in gauges if awg_mm2(n) >= area), key=awg_mm2)

        assert ampacity_a(area, 105, 30, 1, False) <= cfr_table_a(larger, 105)


def test_the_standards_own_formula_is_milder_than_a_real_warm_cable() -> None:
    for area, ohm in CLASS_5_OHM_PER_KM_20C.items():
        assert iso10133_drop_v(10, 5, area) < voltage_drop_v(10, 5, ohm, 20)
        assert math.isclose(voltage_drop_v(10, 5, ohm, 70) / voltage_drop_v(10, 5, ohm, 20), 1.1965, rel_tol=1e-4)


def test_length_is_one_way_and_the_return_is_added() -> None:
    # by hand: 2 * 3 m * 40 A * 1.21 Ω/km / 1000
    assert voltage_drop_v(40, 3, 1.21, 20) == pytest.approx(0.2904)
    assert voltage_drop_v(0, 3, 1.21, 20) == 0.0


@pytest.mark.parametrize(
    ("bundled", "factor"), [(1, 1.0), (2, 1.0), (3, 0.7), (6, 0.6), (7, 0.5), (24, 0.5), (25, 0.4)]
)
def test_bundling_at_both_sides_of_each_step(bundled: int, factor: float) -> None:
    assert bundling_factor(bundled) == factor


def test_cool_air_never_raises_the_table() -> None:
    assert ambient_factor(105, 0) == ambient_factor(105, 30) == 1.0


def test_engine_space_takes_the_lower_of_law_and_table() -> None:
    # 105 °C at 50 °C air: law 0.856, table 0.85 (33 CFR) and 0.86 (ISO): 10 mm² is 8 AWG: 80 × 0.85 = 68 A
    assert ampacity_a(10, 105, 50, 1, True) == pytest.approx(68.0)
    # at 90 °C air the law (0.447) is lower than both tables
    assert ampacity_a(10, 105, 90, 1, True) == pytest.approx(80 * math.sqrt(15 / 75))


def test_insulation_that_an_engine_space_forbids_carries_nothing() -> None:
    assert ampacity_a(10, 60, 40, 1, True) == 0.0


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: ampacity_a(10, 105, 105, 1, False), r"ambient_c is 105.*at most 104.5 °C"),
        (lambda: ampacity_a(0.5, 105, 30, 1, False), r"area_mm2 is 0.5.*mm²"),
        (lambda: ampacity_a(10, 50, 30, 1, False), r"insulation_c is 50.*at least 60 °C"),
        (lambda: bundling_factor(0), r"bundled is 0"),
        (lambda: voltage_drop_v(-1, 3, 1.21, 20), r"current_a is -1.*at least 0 A"),
        (lambda: voltage_drop_v(1, -3, 1.21, 20), r"run_m is -3.*at least 0 m"),
        (lambda: voltage_drop_v(1, 3, 0, 20), r"ohm_per_km_20c is 0"),
        (lambda: voltage_drop_v(float("nan"), 3, 1.21, 20), r"current_a is nan"),
        (lambda: smallest_area_for_current_mm2(900, 105, 30, 1, False), r"current_a is 900.*at most 445 A"),
        (lambda: smallest_area_for_drop_mm2(300, 60, 0.1, 70), r"limit_v is 0.1.*at least"),
        (lambda: loaded_conductor_c(1, 0, 30, 90), r"ampacity_a is 0"),
        (lambda: awg_mm2(50), r"awg is 50"),
    ],
)
def test_impossible_values_are_refused_with_their_range(call, match: str) -> None:
    with pytest.raises(SizingError, match=match):
        call()


def test_gauges_are_named_as_they_are_written() -> None:
    assert [awg_name(n) for n in (-3, 0, 1, 10)] == ["4/0 AWG", "1/0 AWG", "1 AWG", "10 AWG"]
    assert next_smaller_awg(107.3) == -3
    assert next_smaller_awg(1.0) == 18


@given(
    current=st.floats(0.1, 200), run=st.floats(0.1, 20), more=st.floats(0, 20), limit=st.floats(0.1, 2),
    conductor=st.floats(20, 105),
)  # fmt: skip
def test_a_longer_run_never_wants_a_thinner_conductor(current, run, more, limit, conductor) -> None:
    def area(length: float) -> float:
        try:
            return smallest_area_for_drop_mm2(current, length, limit, conductor)
        except SizingError:
            return math.inf

    assert area(run + more) >= area(run)


@given(
    area=st.sampled_from(AREAS_MM2), insulation=st.sampled_from((70.0, 90.0, 105.0, 125.0)), air=st.floats(-10, 65),
    hotter=st.floats(0, 4), bundled=st.integers(1, 30), engine=st.booleans(),
)  # fmt: skip
def test_heat_and_company_never_raise_the_ampacity(area, insulation, air, hotter, bundled, engine) -> None:
    here = ampacity_a(area, insulation, air, bundled, engine)

    assert ampacity_a(area, insulation, air + hotter, bundled, engine) <= here + 1e-9
    assert ampacity_a(area, insulation, air, bundled + 1, engine) <= here + 1e-9
    assert here <= ampacity_a(area, insulation, air, bundled, False) + 1e-9


@given(current=st.floats(0, 400), ampacity=st.floats(1, 400), air=st.floats(-20, 80))
def test_a_conductor_settles_between_air_and_its_class(current, ampacity, air) -> None:
    assert air <= loaded_conductor_c(current, ampacity, air, 105) <= 105
