"""The mean day of a stop: energy is conserved in every hour, whatever comes."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.sizing.balance import Bank, Day, Shedding, _run_day, run_hour, run_stop

NIGHT = (0.0,) * 24
WATTS = st.floats(0, 5000, allow_subnormal=False)
PROFILE = st.lists(WATTS, min_size=24, max_size=24).map(tuple)
BANKS = st.builds(
    Bank,
    energy_wh=st.floats(100, 20000),
    charge_limit_w=st.floats(0, 3000),
    discharge_limit_w=st.floats(0, 6000),
    charge_efficiency_ratio=st.floats(0.6, 1.0),
    tail_h=st.floats(0.02, 2.0),
)


@given(BANKS, st.floats(0, 1), WATTS, WATTS, st.booleans())
def test_energy_is_conserved_in_an_hour(bank, ratio, asked_w, offered_w, may_charge):
    hour = run_hour(bank, ratio, asked_w, 0.0, offered_w, may_charge)
    stored = (hour.charge_ratio - ratio) * bank.energy_wh

    scale = max(1.0, bank.energy_wh, asked_w, offered_w)
    assert abs(hour.taken_w - hour.given_w - hour.loss_w - stored) <= 1e-9 * scale
    assert hour.taken_w <= offered_w + 1e-9 * scale
    assert math.isclose(hour.given_w + hour.unserved_w, asked_w, rel_tol=1e-9, abs_tol=1e-9)
    assert hour.charge_w <= bank.charge_limit_w
    assert hour.discharge_w <= max(bank.discharge_limit_w, 1e-9 * scale) + 1e-9 * scale
    assert 0 <= hour.charge_ratio <= 1


@given(BANKS, PROFILE, PROFILE, PROFILE, PROFILE, st.floats(0.5, 12), st.floats(0, 1), st.floats(0.05, 0.9))
def test_energy_is_conserved_over_a_stop(bank, load, engine, mains, light, days, start, level):
    shed = Shedding(level, tuple(x / 2 for x in load))

    stay = run_stop(bank, Day(load, engine, mains, light, (True,) * 24, (shed,)), days, start)

    stored = (stay.end_ratio - stay.last_day_start_ratio) * bank.energy_wh
    flows = math.fsum(x.taken_w - x.given_w - x.loss_w for x in stay.hours)
    assert abs(flows - stored) <= 1e-9 * max(bank.energy_wh, math.fsum(load), 1.0) * 24
    assert stay.lowest_ratio <= min(x.charge_ratio for x in stay.hours) + 1e-12


@given(PROFILE, PROFILE, st.floats(1, 2))
def test_more_sun_never_leaves_less(load, light, more):
    bank = Bank(2000, 1000, 5000, 0.95, 0.05)

    here = run_stop(bank, Day(load, NIGHT, NIGHT, light), 3, 0.7)
    there = run_stop(bank, Day(load, NIGHT, NIGHT, tuple(x * more for x in light)), 3, 0.7)

    assert there.end_ratio >= here.end_ratio - 1e-9
    assert there.unserved_wh <= here.unserved_wh + 1e-6


def test_worked_day_without_sources():
    # 1000 Wh full, 20 W: 480 Wh a day; empty after 50 h, on day 3 in hour 2
    bank = Bank(1000, 500, 500, 1.0, 0.05)

    stay = run_stop(bank, Day((20.0,) * 24, NIGHT, NIGHT, NIGHT), 3, 1.0)

    assert stay.end_ratio == 0
    assert (stay.flat_day, stay.flat_hour) == (3, 2)
    assert stay.unserved_wh == pytest.approx(3 * 480 - 1000)


def test_charging_is_held_to_the_batterys_limit_and_pays_its_loss():
    bank = Bank(1000, 100, 500, 0.9, 0.001)

    hour = run_hour(bank, 0.2, asked_w=50, shed_w=0, offered_w=400, may_charge=True)

    assert hour.taken_w == 150
    assert hour.loss_w == pytest.approx(10)
    assert hour.charge_ratio == pytest.approx(0.29)


def test_cold_cells_take_no_charge_but_sources_still_carry_the_loads():
    hour = run_hour(Bank(1000, 100, 500, 0.9, 0.05), 0.5, asked_w=50, shed_w=0, offered_w=400, may_charge=False)

    assert (hour.taken_w, hour.charge_w, hour.charge_ratio) == (50, 0, 0.5)


def test_lead_acid_near_full_takes_what_its_tail_allows():
    # in an hour a tail of 1.2 h takes 1 − e^(−1/1.2) = 56.5 % of what is missing
    hour = run_hour(Bank(1000, 500, 500, 1.0, 1.2), 0.9, asked_w=0, shed_w=0, offered_w=500, may_charge=True)

    assert hour.charge_w == pytest.approx(100 * (1 - math.exp(-1 / 1.2)))


def test_loads_are_let_go_under_their_threshold_and_come_back_above_it():
    bank = Bank(1000, 500, 500, 1.0, 0.05)
    shed = Shedding(0.5, (40.0,) * 24)
    light = tuple(300.0 if h == 12 else 0.0 for h in range(24))

    stay = run_stop(bank, Day((50.0,) * 24, NIGHT, NIGHT, light, (True,) * 24, (shed,)), 1, 0.72)

    assert stay.hours[4].shed_w == 0  # 0.52 at its start
    assert stay.hours[5].shed_w == 40  # 0.47
    assert stay.hours[12].shed_w == 40
    assert stay.hours[13].shed_w == 0  # 0.69 after the sun, above 0.55


def test_they_come_back_as_far_over_it_as_the_policy_says_and_when_it_is_full():
    bank = Bank(1000, 500, 500, 1.0, 0.05)
    light = tuple(400.0 if h == 12 else 0.0 for h in range(24))

    def off(shed, start, sun):
        stay = run_stop(bank, Day((50.0,) * 24, NIGHT, NIGHT, sun, (True,) * 24, (shed,)), 1, start)
        return [h for h, hour in enumerate(stay.hours) if hour.shed_w > 0]

    # 0.79 after the sun: over 0.55, under 0.8; full enough at 0.99, though 0.95 and 0.05 make 1
    assert off(Shedding(0.5, (40.0,) * 24, 0.05), 0.72, light)[:9] == [*range(5, 13), 19]
    assert off(Shedding(0.5, (40.0,) * 24, 0.3), 0.72, light) == [*range(5, 24)]
    assert 13 not in off(Shedding(0.95, (49.0,) * 24, 0.05), 0.94, tuple(400.0 * (h == 12) for h in range(24)))


def test_equal_days_are_not_worked_out_again_but_counted():
    bank = Bank(1000, 500, 500, 1.0, 0.05)

    stay = run_stop(bank, Day((20.0,) * 24, NIGHT, NIGHT, NIGHT), 366, 0.0)

    assert stay.unserved_wh == pytest.approx(366 * 480)


def test_part_of_a_day_counts_as_one():
    bank = Bank(1000, 500, 500, 1.0, 0.05)

    assert run_stop(bank, Day((10.0,) * 24, NIGHT, NIGHT, NIGHT), 0.5, 1.0).end_ratio == pytest.approx(0.76)


@given(PROFILE, PROFILE, st.floats(0.2, 0.8), st.integers(1, 60))
def test_counting_days_that_come_round_gives_what_working_them_out_gives(load, light, level, days):
    bank = Bank(3000, 800, 2000, 0.9, 0.5)
    day = Day(load, NIGHT, NIGHT, light, (True,) * 24, (Shedding(level, tuple(x / 2 for x in load)),))

    at_once = run_stop(bank, day, days, 0.6)

    ratio, unserved, away = 0.6, 0.0, frozenset()
    for _ in range(days):
        hours, away = _run_day(bank, day, list(light), ratio, away)
        ratio = hours[-1].charge_ratio
        unserved += math.fsum(x.unserved_w for x in hours)
    assert at_once.end_ratio == pytest.approx(ratio, abs=1e-8)
    assert at_once.unserved_wh == pytest.approx(unserved, rel=1e-6, abs=1e-3)
