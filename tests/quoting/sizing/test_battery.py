"""The auxiliary battery; the worked examples are rows of the reference table."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.sizing import battery
from quoting.sizing.errors import SizingError
from quoting.sizing.policy import Policy

CHEMISTRIES = sorted(battery.CELL_V)


@pytest.mark.parametrize(("system_v", "expected_v"), [(12, 12.8), (24, 25.6)])
def test_nominal_voltage_of_lithium(system_v, expected_v):
    assert battery.nominal_v("lifepo4", system_v) == pytest.approx(expected_v)


def test_the_largest_of_three_decides():
    # daily depth decides: 62/0.20 = 310 above 62/0.5 = 124 and 62/0.8
    by_day = battery.asked_lead_acid_ah(62, 1, 0.5, 0.2, 0.8, 1.0, 1.0)
    # end of life decides when depth is 1: 186/0.8
    by_life = battery.asked_lead_acid_ah(62, 3, 1.0, 1.0, 0.8, 1.0, 1.0)

    assert by_day.capacity_ah == pytest.approx(310)
    assert by_life.capacity_ah == pytest.approx(232.5)


def test_lithium_multiplies_depth_and_life():
    asked = battery.asked_lithium_ah(100, 2, 0.9, 0.8, 0.8, 1.0)

    assert asked.capacity_ah == pytest.approx(100 * 2 / 0.9 / 0.8)


def test_lithium_short_autonomy_is_held_by_the_daily_depth():
    asked = battery.asked_lithium_ah(100, 0.5, 0.9, 0.8, 0.8, 1.0)

    assert asked.capacity_ah == pytest.approx(100 / 0.8 / 0.8)


def test_cold_asks_for_more_lead_acid_but_not_for_more_lithium():
    policy = Policy()

    def asked(chemistry, air_c):
        return battery.asked_ah(chemistry, policy.chemistries[chemistry], 100, 2, air_c, 1.0).capacity_ah

    assert asked("agm", 0) > asked("agm", 20) > asked("agm", 25) == asked("agm", 35)
    assert asked("lifepo4", 0) == asked("lifepo4", 30)


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_resting_voltage_rises_with_charge(chemistry):
    volts = [battery.open_circuit_v(chemistry, n / 100, 12) for n in range(101)]

    assert volts == sorted(volts)
    assert battery.open_circuit_v(chemistry, 1, 24) == pytest.approx(2 * volts[-1])


def test_terminal_voltage_falls_by_current_times_resistance():
    rest = battery.open_circuit_v("lifepo4", 0.5, 12)

    assert battery.terminal_v("lifepo4", 0.5, 12, 100, 0.003) == pytest.approx(rest - 0.3)


def test_wells_keep_their_charge_and_level_out():
    wells = battery.TwoWells(107.88, 0.4474, 0.784)

    available, bound = wells.after(10.0, 50.0, current_a=0.0, hours=100.0)

    assert available + bound == pytest.approx(60.0)
    assert available == pytest.approx(60 * 0.4474, rel=1e-6)  # both wells at the same height


@given(st.floats(0.5, 50), st.floats(0.01, 3))
def test_wells_lose_exactly_what_is_drawn(current_a, hours):
    wells = battery.TwoWells(1000, 0.45, 0.8)

    available, bound = wells.after(450.0, 550.0, current_a, hours)

    assert available + bound == pytest.approx(1000 - current_a * hours, rel=1e-9)


@given(st.floats(1, 500), st.floats(1.0, 1.5))
def test_more_current_never_runs_longer(current_a, exponent):
    here = battery.peukert_time_h(100, 20, current_a, exponent)

    assert battery.peukert_time_h(100, 20, current_a * 1.1, exponent) < here


def test_charging_tail_begins_where_the_current_can_no_longer_be_taken():
    bulk_h, tail_h = battery.charge_time_h(100, 0.5, 20, 1.2, 0.99)

    knee = 1 - 20 * 1.2 / 100
    assert bulk_h == pytest.approx(100 * (knee - 0.5) / 20)
    assert tail_h == pytest.approx(1.2 * math.log((1 - knee) / 0.01))


def test_charging_what_is_full_takes_no_time():
    assert battery.charge_time_h(100, 1.0, 20, 0.05) == (0.0, 0.0)


@given(st.floats(0.0, 0.99), st.floats(0.1, 200), st.floats(0.01, 3))
def test_more_current_never_charges_slower(start, current_a, tail_h):
    slow = sum(battery.charge_time_h(100, start, current_a, tail_h))

    assert sum(battery.charge_time_h(100, start, current_a * 1.2, tail_h)) <= slow + 1e-9


@pytest.mark.parametrize(("call", "said"), [
    (lambda: battery.peukert_time_h(100, 20, 0, 1.2), "current_a is 0 A"),
    (lambda: battery.peukert_time_h(-1, 20, 5, 1.2), "capacity_ah is -1 Ah"),
    (lambda: battery.peukert_time_h(100, 20, 5, 0.9), "exponent is 0.9; it must be at least 1"),
    (lambda: battery.asked_lead_acid_ah(62, 3, 0, 0.2, 0.8, 1, 1.1), "max_depth_ratio is 0"),
    (lambda: battery.asked_lithium_ah(float("nan"), 3, 0.9, 0.8, 0.8, 1.1), "daily_ah is nan"),
    (lambda: battery.charge_time_h(100, 0.2, 0, 0.05), "current_a is 0 A"),
    (lambda: battery.nominal_v("zinc", 12), "unknown chemistry 'zinc'"),
    (lambda: battery.peukert_exponent(100, 20, 50, 10), "the two currents are the same"),
])  # fmt: skip
def test_impossible_values_are_refused(call, said):
    with pytest.raises(SizingError, match=said):
        call()
