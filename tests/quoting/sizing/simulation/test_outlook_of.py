"""What is read from the simulation, against arithmetic on paper, numpy and scipy."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binomtest

from quoting.sizing.simulation import flat, outlook_of
from quoting.sizing.simulation.of_system import course_of
from quoting.sizing.simulation.run import simulate
from quoting.sizing.simulation.trip import MOST_CELLS, MOST_DAYS, MOST_DAYS_STOP, days_stepped
from quoting.sizing.simulation.year import weakest
from tests.quoting.sizing.simulation.stretches import group, plant, stretch


@pytest.mark.parametrize(("hits", "draws"), [(0, 200), (1, 50), (10, 200), (60, 60), (37, 1000)])
def test_wilson_s_upper_end_is_scipy_s(hits, draws):
    # L: scipy.stats.binomtest(...).proportion_ci(method="wilson")
    high = binomtest(hits, draws).proportion_ci(0.95, method="wilson").high

    assert outlook_of.wilson_high(hits, draws) == pytest.approx(high, abs=1e-7)


@given(st.lists(st.floats(0, 1), min_size=1, max_size=40), st.floats(0, 1))
@settings(max_examples=60)
def test_a_quantile_is_numpy_s(values, ratio):
    ordered = np.sort(np.array(values))

    assert outlook_of.quantile(ordered, ratio) == pytest.approx(np.quantile(ordered, ratio), abs=1e-12)


def test_a_group_is_off_from_when_to_when():
    off = np.array([True, True, False, False, True, False, True])

    assert [(x.start_h, x.end_h) for x in outlook_of.off_spans(off, 1.0)] == [(0, 2), (4, 5), (6, 7)]
    assert outlook_of.off_spans(np.zeros(5, bool), 1.0) == ()


def test_long_trips_get_fewer_points_and_never_split_a_day():
    for days, k in ((1, 1), (31, 1), (32, 2), (93, 3), (366, 12)):
        found = outlook_of.every([stretch(days)])
        assert found == k
        assert 24 % found == 0
        assert days * 24 / found <= outlook_of.MOST_POINTS


@given(st.lists(st.floats(0.5, 366), min_size=1, max_size=60), st.sampled_from([50, 200, 1000]))
@settings(max_examples=60)
def test_what_is_stepped_is_bounded_and_never_nothing(days, draws):
    found = days_stepped(days, draws)

    assert all(1 <= x <= min(MOST_DAYS_STOP, math.ceil(asked)) for x, asked in zip(found, days, strict=True))
    assert sum(found) <= max(len(days), min(MOST_DAYS, MOST_CELLS // (24 * draws)))
    whole = tuple(min(MOST_DAYS_STOP, math.ceil(x)) for x in days)
    if sum(whole) <= min(MOST_DAYS, MOST_CELLS // (24 * draws)):
        assert found == whole


def test_flat_is_capacity_times_depth_over_load():
    found = flat.days_to_flat(plant(1200), stretch(load=20.0), 0.8)

    assert found.days == pytest.approx(1200 * 0.8 / 20 / 24)
    assert found.given_wh == pytest.approx(960)
    assert not found.early


@pytest.mark.parametrize("load_w", [20.0, 3.0, 1.2])
def test_flat_is_the_same_sum_however_long_it_takes(load_w):
    # 2, 13.3 and 33.3 days: within what is simulated, at its end, and counted on from there
    found = flat.days_to_flat(plant(1200), stretch(load=load_w), 0.8)

    assert found.days == pytest.approx(960 / load_w / 24)
    assert found.given_wh == pytest.approx(960)


def test_what_lasts_over_a_year_is_not_said_in_days():
    assert flat.days_to_flat(plant(1200), stretch(load=0.1), 0.8) is None
    assert flat.days_to_flat(plant(1200), stretch(load=0.0), 0.8) is None


def test_a_shed_group_goes_off_where_arithmetic_says():
    # 100 W from 1200 Wh: half is left after 6 h, not under it yet; after 7 h 500 Wh, and 60 W from then on
    made = plant(1200, sheds=(group(0.5, "a"),))
    one = stretch(load=100.0, essential=60.0, shed=(40.0,))

    outcome = simulate(made, course_of([one]))
    found = flat.days_to_flat(made, one, 0.9)

    assert [(x.start_h, x.end_h) for x in outlook_of.off_spans(outcome.off[0][:, 0], 1.0)] == [(7.0, 24.0)]
    assert found.days * 24 == pytest.approx(7 + (500 - 120) / 60)
    shown = outlook_of.sheds(made.sheds, {"a": "Kettle"}, outcome, 0, 0.05, 1.0)[0]
    assert (shown.chance_ratio, shown.hours_mean, shown.names) == (1.0, 17.0, ("Kettle",))


def test_groups_go_off_alike_where_charge_is_only_counted():
    # 4 W from 2400 Wh, 1 W of it let go under 0.5: 1200 Wh last 300 h, the rest down to 240 Wh goes by 3 W
    made = plant(2400, sheds=(group(0.5, "a"),))

    found = flat.days_to_flat(made, stretch(load=4.0, shed=(1.0,)), 0.9)

    assert found.days * 24 == pytest.approx(301 + (1196 - 240) / 3, abs=0.01)
    assert found.given_wh == pytest.approx(2160)


def test_a_load_that_is_not_served_ends_it_early():
    found = flat.days_to_flat(plant(1200, discharge_limit_w=50.0), stretch(load=[10.0] * 12 + [60.0] * 12), 0.8)

    assert found.early
    assert found.days == pytest.approx(0.5)
    assert found.given_wh == pytest.approx(120)


def test_with_sun_enough_nothing_ever_goes_dark():
    outcome = simulate(plant(), course_of([stretch(3, load=50.0, essential=50.0, sun=80.0)]))

    found = outlook_of.darkness(outlook_of.dark_of(outcome, np.zeros((1, 1))), 1.0)

    assert (found.chance_ratio, found.draws_dark, found.first_h, found.hours_mean) == (0, 0, None, 0)
    assert outcome.charge_ratio.min() == pytest.approx(1)


def test_dark_is_counted_by_weathers_hours_and_the_first():
    # 100 W from 1200 Wh are dark from hour 12 on, in those two of four weathers that have no sun
    sun = np.zeros((1, 24, 4))
    sun[:, :, 2:] = 100.0
    outcome = simulate(plant(), course_of([stretch(load=100.0, essential=40.0, sun=sun)]))

    found = outlook_of.darkness(outlook_of.dark_of(outcome, np.zeros((1, 1))), 1.0)

    assert (found.chance_ratio, found.by_charge_ratio, found.by_voltage_ratio) == (0.5, 0.5, 0)
    assert (found.draws_dark, found.first_h, found.hours_mean) == (2, 12.0, 6.0)


def test_a_voltage_under_an_appliance_s_cut_out_is_dark_though_charge_is_left():
    # 12 V at rest, 0.1 ohm and 120 W: 11 V at the posts
    made = plant(12000, open_circuit=((0.0, 12.0), (1.0, 12.0)), resistance_ohm=0.1)
    outcome = simulate(made, course_of([stretch(load=120.0, essential=120.0)]))

    high, low = (outlook_of.dark_of(outcome, np.full((24, 1), volts)) for volts in (11.1, 10.9))

    assert outlook_of.darkness(high, 1.0).by_voltage_ratio == 1
    assert outlook_of.darkness(high, 1.0).by_charge_ratio == 0
    assert outlook_of.darkness(low, 1.0).chance_ratio == 0


def test_an_essential_load_that_is_shed_is_dark():
    # 100 W from 1200 Wh: of the 40 W that go off under a half, 15 W are essential, by day only
    made = plant(1200, sheds=(group(0.5, "a"),))
    outcome = simulate(made, course_of([stretch(load=100.0, essential=60.0, shed=(40.0,))]))
    by_day = np.array([0.0] * 8 + [15.0] * 12 + [0.0] * 4)[:, None]

    found, none = (outlook_of.dark_of(outcome, np.zeros((1, 1)), shed) for shed in ([by_day], [0 * by_day]))

    # off from hour 7 on; 500 Wh then last for 8 h and a third at 60 W
    assert list(np.flatnonzero(found.by_charge[:, 0])) == list(range(8, 24))
    assert list(np.flatnonzero(none.by_charge[:, 0])) == list(range(15, 24))
    assert not found.by_voltage.any()


def test_energy_of_each_stop_adds_up():
    rng = np.random.default_rng(3)
    first = stretch(2, 5, 0, load=rng.uniform(20, 90, 24), engine=[0.0] * 8 + [150.0] * 2 + [0.0] * 14,
                    sun=rng.uniform(0, 80, (2, 24, 5)))  # fmt: skip
    second = stretch(3, 5, 1, load=30.0, mains=20.0, sun=rng.uniform(0, 40, (3, 24, 5)))
    made = plant(1200, charge_efficiency_ratio=0.9, tail_h=0.5, start_ratio=0.6)
    course = course_of([first, second])
    outcome = simulate(made, course)
    taken = outlook_of.taken_of(course, outcome)

    spans = outlook_of.spans([first, second], course, outcome, taken, 0.05, 12.0, 1)

    begun = 0.6
    for span in spans:
        end = float(outcome.charge_ratio[span.first_point + span.points - 1].mean())
        got = (span.engine_wh_day + span.mains_wh_day + span.sun_wh_day) * span.days
        used = (span.given_wh_day + span.loss_wh_day) * span.days
        assert got == pytest.approx(used + (end - begun) * 1200, abs=1.0)
        assert span.load_wh_day == pytest.approx(span.given_wh_day + span.shed_wh_day + span.unserved_wh_day, abs=0.3)
        begun = end
    offered = float(first.sun_w.sum(axis=1).mean()) + 300
    first_got = spans[0].engine_wh_day + spans[0].mains_wh_day + spans[0].sun_wh_day
    assert first_got + spans[0].spilled_wh_day == pytest.approx(offered, abs=0.3)
    assert [(s.first_point, s.points) for s in spans] == [(0, 48), (48, 72)]


def test_a_grey_day_costs_what_it_is_under_the_mean():
    sun = np.zeros((1, 24, 21))
    sun[0, 12] = np.arange(21) * 10.0  # mean 100 Wh; one in twenty is under 10 Wh
    one = stretch(load=5.0, sun=sun)
    course = course_of([one])
    outcome = simulate(plant(), course)

    span = outlook_of.spans([one], course, outcome, outlook_of.taken_of(course, outcome), 0.05, 12.0, 1)[0]

    assert span.sun_low_wh_day == pytest.approx(10)
    assert span.grey_day_ah == pytest.approx(90 / 12)


def test_bands_lie_in_order_and_the_typical_weather_is_the_middle_one():
    rng = np.random.default_rng(5)
    outcome = simulate(plant(), course_of([stretch(load=60.0, sun=rng.uniform(0, 90, (4, 24, 31)))]))

    found = outlook_of.bands(outcome, 0.05, 1)

    assert all(a <= b <= c for a, b, c in zip(found.low, found.median, found.high, strict=True))
    assert min(found.typical) == pytest.approx(float(np.median(found.lowest)), abs=1e-4)


def test_of_months_the_one_that_goes_dark_most_fails_first():
    from quoting.sizing.outlook import MonthOutlook

    def month(number, chance, low, holds):
        return MonthOutlook(month=number, load_wh_day=1, sun_wh_day=1, lowest_median_ratio=0.5, lowest_low_ratio=low,
                            dark_chance_ratio=chance, shed_chance_ratio=0, holds=holds)  # fmt: skip

    months = [month(1, 0.0, 0.3, True), month(6, 0.2, 0.1, False), month(7, 0.4, 0.1, False)]

    assert weakest(months) == (7, 7)
    assert weakest([month(1, 0.0, 0.3, True), month(2, 0.0, 0.2, True)]) == (None, 2)
    assert weakest([]) == (None, None)
