"""Voltage of a battery: the same curve for one and for many, resistance by cold and age, compensated set-points."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.sizing import battery_volts as volts
from quoting.sizing.errors import SizingError
from tests.quoting.sizing.test_battery_wells import stored

CHEMISTRIES = sorted(volts.CELL_V)


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
@pytest.mark.parametrize("system_v", [12, 24])
def test_many_charges_are_read_off_the_same_curve_as_one(chemistry, system_v):
    charges = np.linspace(0, 1, 201).reshape(3, 67)

    many = volts.open_circuit_volts(volts.bank_curve(chemistry, system_v), charges)

    one = [volts.open_circuit_v(chemistry, float(c), system_v) for c in charges.ravel()]
    assert many.ravel() == pytest.approx(one, rel=1e-12)


@settings(max_examples=50)
@given(st.sampled_from(CHEMISTRIES), st.floats(0, 1))
def test_charge_is_found_again_from_its_voltage(chemistry, charge):
    curve = volts.bank_curve(chemistry, 12)

    assert volts.charge_at_v(curve, volts.open_circuit_v(chemistry, charge, 12)) == pytest.approx(charge, abs=1e-9)


def test_beyond_the_curve_there_is_no_charge_or_all_of_it():
    curve = volts.bank_curve("agm", 12)

    assert volts.charge_at_v(curve, 11.6) is None
    assert volts.charge_at_v(curve, 14.0) == 1.0


def test_charging_lifts_the_terminal_voltage():
    rest = volts.open_circuit_v("agm", 0.5, 12)

    assert volts.terminal_v("agm", 0.5, 12, -20, 0.005) == pytest.approx(rest + 0.1)


def test_cranking_power_in_the_cold_is_the_trade_s_table():
    # common practice: of its cranking power at 25 °C a battery has 65 % left at 0 °C and 40 % at -18 °C
    assert 1 / volts.resistance_ratio("flooded", 0) == pytest.approx(0.65, abs=0.05)
    assert 1 / volts.resistance_ratio("flooded", -18) == pytest.approx(0.40, abs=0.05)


@given(st.sampled_from(CHEMISTRIES), st.floats(-40, 60), st.floats(-40, 60))
def test_colder_never_has_less_resistance(chemistry, a, b):
    cold, warm = sorted((a, b))

    assert volts.resistance_ratio(chemistry, cold) >= volts.resistance_ratio(chemistry, warm) >= 1


def test_a_bank_s_resistance_adds_in_series_divides_in_parallel_and_grows_with_age():
    can = stored("agm", resistance_ohm=0.005)

    assert volts.bank_ohm(can, 2, 4) == pytest.approx(0.0025)
    assert volts.bank_ohm(can, 2, 4, left_ratio=0.8) == pytest.approx(0.00375)
    assert volts.bank_ohm(can, 1, 1, cell_c=0) == pytest.approx(0.005 * volts.resistance_ratio("agm", 0))
    assert volts.bank_ohm(stored("agm", resistance_ohm=None), 1, 1) is None


@pytest.mark.parametrize(
    ("cell_c", "expected_v"),
    [
        (25, 14.4),
        (15, 14.64),  # 6 cells, 4 mV, 10 K
        (35, 14.16),
        (0, 15.0),
        (-20, 15.0),  # no further under 0 °C
        (60, 13.8),  # nor over 50 °C
    ],
)
def test_absorption_follows_the_cells(cell_c, expected_v):
    assert volts.compensated_v(14.4, 6, -4.0, cell_c) == pytest.approx(expected_v)


def test_lithium_is_not_compensated():
    assert {volts.compensated_v(14.2, 4, 0.0, c) for c in (-20, 0, 25, 45)} == {14.2}


def test_the_highest_voltage_is_that_of_the_coldest_charge():
    lead, lithium = stored("agm"), stored("lifepo4", cells=4, absorption_v=14.2, compensation_mv_per_cell_k=0.0)

    assert volts.highest_charging_v(lead, 1) == pytest.approx(15.0)
    assert volts.highest_charging_v(lead, 2, 15.0) == pytest.approx(2 * 14.64)
    assert volts.highest_charging_v(lead, 1, 35.0) == 14.4  # a hot site never lowers what parts must stand
    assert volts.highest_charging_v(lithium, 2, -20.0) == pytest.approx(28.4)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: volts.resistance_ratio("zinc", 20), "unknown chemistry 'zinc'"),
        (lambda: volts.resistance_ratio("agm", -200), "cell_c is -200 °C"),
        (lambda: volts.aged_ratio(0.0), "left_ratio is 0.0"),
        (lambda: volts.bank_ohm(stored("agm"), 0, 1), "series is 0"),
        (lambda: volts.compensated_v(14.4, 6, -40, 20), "mv_per_cell_k is -40 mV/cell/K"),
        (lambda: volts.open_circuit_v("agm", 1.2, 12), "charge_ratio is 1.2"),
    ],
)
def test_impossible_values_are_refused(call, said):
    with pytest.raises(SizingError, match=said):
        call()
