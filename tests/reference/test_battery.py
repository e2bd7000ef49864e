"""Rate, temperature, charging tail and resting voltage against live library calls (L) and an integrated model (D)."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from quoting.sizing import battery
from quoting.sizing.battery_wells import peukert_ah, peukert_exponent, wells_of_peukert, wells_through, wells_within
from tests.reference import library

STATED = ((20.0, library.KINETIC_Q20), (10.0, library.KINETIC_Q10), (1.0, library.KINETIC_Q1))
"""A maker's table of one battery. [h, Ah]"""


@pytest.fixture(scope="module")
def pybamm():
    found = library.imported("pybamm")
    found.set_logging_level("ERROR")
    return found


def cell(pybamm, *steps, charge_ratio, period):
    """The published 2.3 Ah cell of Prada et al. (2013), single-particle model."""
    simulation = pybamm.Simulation(
        pybamm.lithium_ion.SPM(), parameter_values=pybamm.ParameterValues("Prada2013"),
        experiment=pybamm.Experiment([steps], period=period),
    )  # fmt: skip
    return simulation.solve(initial_soc=charge_ratio)


def delivered_ah(amps):
    """What PySAM's battery gives until it no longer holds the current, in steps of a minute. [Ah]"""
    step_h = 1 / 60
    found = library.lead_acid(step_h=step_h)
    current, _ = library.run_a(found, [amps] * round(1.1 * 60 * 120 / amps))
    return float(amps * step_h * np.argmax(current < 0.98 * amps))


@pytest.mark.parametrize("amps", [5.0, 9.32, 20.0, 58.12])
def test_two_wells_deliver_what_the_library_s_do(amps):
    ours = wells_through(STATED)

    assert ours.runtime_h(amps) * amps == pytest.approx(delivered_ah(amps), rel=0.005)


@pytest.mark.parametrize("amps", [5.0, 20.0, 58.12])
def test_wells_of_two_rates_and_peukert_come_near(amps):
    # a catalogue knows the 20 h capacity and an exponent, not the 10 h one
    exponent = peukert_exponent(100, 20, 58.12, 1)
    ours = wells_of_peukert(100, 20, exponent)
    theirs = delivered_ah(amps)

    assert ours.runtime_h(amps) * amps == pytest.approx(theirs, rel=0.08)
    assert ours.runtime_h(amps) * amps <= 1.025 * theirs  # flatters no more than the stated capacity does
    assert battery.peukert_time_h(100, 20, amps, exponent) * amps == pytest.approx(theirs, rel=0.07)


@pytest.mark.parametrize("amps", [5.0, 9.32, 20.0, 58.12])
def test_wells_of_the_stated_capacity_are_on_the_safe_side_of_the_library_s(amps):
    # what the trip's simulation counts on: no more than 100 Ah, however slowly
    ours = wells_within(100, 20, peukert_exponent(100, 20, 58.12, 1))
    theirs = delivered_ah(amps)

    assert ours.runtime_h(amps) * amps == pytest.approx(theirs, rel=0.08)
    assert ours.runtime_h(amps) * amps <= 1.025 * theirs


@pytest.mark.parametrize(("battery_c", "within"), [(20.0, 0.02), (10.0, 0.02), (1.7, 0.01), (-3.9, 0.05)])
def test_cold_leaves_the_capacity_that_the_library_s_table_does(battery_c, within):
    # IEEE 485 divides by its factor; the library's table is of another maker, 4 % apart at -4 °C
    theirs_battery = library.lead_acid(flat=False)  # held: its parts do not outlive it
    celsius, per_cent = zip(*sorted(theirs_battery.ParamsPack.cap_vs_temp), strict=True)
    theirs = np.interp(battery_c, celsius, per_cent) / np.interp(25.0, celsius, per_cent)

    assert 1 / battery.temperature_factor("flooded", battery_c) == pytest.approx(theirs, rel=within)


@pytest.mark.parametrize("battery_c", [10.0, 0.0, -10.0, -20.0])
def test_cold_leaves_lithium_what_the_library_s_table_does_and_no_more(battery_c):
    theirs_battery = library.lithium(flat=False)
    celsius, per_cent = zip(*sorted(theirs_battery.ParamsPack.cap_vs_temp), strict=True)
    theirs = np.interp(battery_c, celsius, per_cent) / np.interp(25.0, celsius, per_cent)

    ours = 1 / battery.temperature_factor("lifepo4", battery_c)
    assert ours == pytest.approx(theirs, rel=0.04)
    assert ours <= theirs + 0.002


@pytest.mark.parametrize("tail_h", [0.05, 0.5, 1.5])
@pytest.mark.parametrize("rate", [0.05, 0.1, 0.25, 0.5])
def test_charging_time_is_that_of_the_integrated_battery(tail_h, rate):
    """A battery whose resting voltage rises straight with charge, behind a resistance, at a constant voltage at last.

    In absorption I = (V - OCV) / R falls with the time constant R C / (dV/ds), which is the tail's.
    """
    capacity_ah, rise_v, absorption_v = 100.0, 1.0, 14.4
    resistance_ohm = tail_h * rise_v / capacity_ah
    current_a = rate * capacity_ah

    def charging(_, held):
        resting_v = absorption_v - rise_v * (1 - held[0] / capacity_ah)
        return [min(current_a, (absorption_v - resting_v) / resistance_ohm)]

    def full(_, held):
        return held[0] - 0.995 * capacity_ah

    full.terminal = True
    found = solve_ivp(charging, (0, 200), [20.0], events=full, rtol=1e-9, atol=1e-9, max_step=0.05)

    bulk_h, taper_h = battery.charge_time_h(capacity_ah, 0.2, current_a, tail_h, 0.995)
    assert bulk_h + taper_h == pytest.approx(found.t_events[0][0], rel=1e-4)


@pytest.mark.parametrize("rate", [0.2, 1.0])
def test_lithium_charges_as_the_library_s_cell(pybamm, rate):
    # constant current to 3.55 V a cell, then constant voltage down to C/20: the tail is minutes
    steps = (f"Charge at {rate}C until 3.55 V", "Hold at 3.55 V until C/20")
    solved = cell(pybamm, *steps, charge_ratio=0.2, period="20 seconds").cycles[0].steps
    hours = [x["Time [h]"].entries[-1] - x["Time [h]"].entries[0] for x in solved]

    bulk_h, taper_h = battery.charge_time_h(100, 0.2, 100 * rate, 0.05, 0.995)

    assert hours[1] < 0.06 * hours[0]
    assert bulk_h + taper_h == pytest.approx(sum(hours), rel=0.06)


def test_lithium_rests_where_the_library_s_cell_does(pybamm):
    # discharged in 200 h, so slowly that its voltage is all but the resting one
    solved = cell(pybamm, "Discharge at C/200 until 2.5 V", charge_ratio=1.0, period="1 hour")
    depth = solved["Discharge capacity [A.h]"].entries / 2.3
    volts = 4 * solved["Terminal voltage [V]"].entries

    for left in (0.95, 0.9, 0.8, 0.7, 0.5, 0.4, 0.3, 0.2, 0.1, 0.05):
        theirs = np.interp(1 - left, depth, volts)
        assert battery.open_circuit_v("lifepo4", left, 12) == pytest.approx(theirs, abs=0.06)


def test_peukert_grows_without_bound_and_the_wells_do_not():
    wells = wells_of_peukert(100, 20, 1.2)

    assert peukert_ah(100, 20, 2000, 1.2) > 2 * 100
    assert wells.delivered_ah(2000) == pytest.approx(wells.capacity_ah, rel=0.01)
    assert math.isclose(wells.delivered_ah(20), 100, rel_tol=1e-6)
