"""The starter battery beside the auxiliary one: energy kept, a plain loop gives the same, parked as by hand."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting import words
from quoting.sizing import charging
from quoting.sizing.appraise import appraise
from quoting.sizing.errors import SizingError
from quoting.sizing.parts import Catalogue
from quoting.sizing.simulation.starter import Drives, StarterBattery, outlook, simulate
from quoting.sizing.simulation.starter_of import (
    SMART_FULL_RATIO,
    battery_of,
    charger_inputs_a,
    drives_of,
    note,
    over_trip,
)
from quoting.sizing.system import Book, assemble
from tests.quoting.sizing.wagon import wagon

BATTERY = StarterBattery(
    capacity_ah=80, takes_a=8, tail_h=1.5, efficiency_ratio=0.85, crank_ah=0.5, crank_charge_ratio=0.6
)


def drives(days=3, driving=(), idle_a=10.0, speed_a=40.0, standing_a=0.03, **changed):
    """Some days with the same hours driven; ``driving``: {hour: share}."""
    day = np.zeros(24)
    for hour, share in dict(driving).items():
        day[hour] = share
    whole = np.tile(day, days)
    begins = (whole > 0) & (np.concatenate([[0.0], whole[:-1]]) <= 0)
    of = Drives(
        step_h=1.0, driving=whole, cranks=1.0 * begins, standing_a=np.full(24 * days, standing_a),
        idle_a=np.full(24 * days, idle_a), speed_a=np.full(24 * days, speed_a), idle_share_ratio=0.15,
    )  # fmt: skip
    return dataclasses.replace(of, **changed)


def taken(of, amps, members=1):
    return np.where(of.driving[:, None] > 0, amps, 0.0) * np.ones((1, members))


def plain_loop(battery, of, amps):
    """The same, written for reading: one member, one number at a time."""
    held, full = battery.full_ratio * battery.capacity_ah, battery.full_ratio * battery.capacity_ah
    charges = []
    for k in range(len(of.driving)):
        on_h = of.driving[k] * of.step_h
        idle_h = on_h * of.idle_share_ratio
        speed_h, parked_h, stopped_h = on_h - idle_h, of.step_h - on_h, 0.0
        held -= min(held, of.cranks[k] * battery.crank_ah)
        if of.stopped_a > 0:
            stopped_h = min(idle_h, max(0.0, held - of.stops_over_ratio * battery.capacity_ah) / of.stopped_a)
            held -= of.stopped_a * stopped_h
        at_idle = of.idle_a[k] - (amps[k] if of.charging_at_idle else 0.0)
        at_speed = of.speed_a[k] - amps[k]
        for spare_a, hours in ((at_idle, idle_h - stopped_h), (at_speed, speed_h)):
            if spare_a < 0:
                held -= min(held, -spare_a * hours)
            else:
                tail = (battery.capacity_ah - held) * (1 - math.exp(-hours / battery.tail_h))
                stored = min(battery.efficiency_ratio * min(spare_a, battery.takes_a) * hours, tail)
                held += max(0.0, min(stored, full - held))
        held -= min(held, of.standing_a[k] * parked_h)
        charges.append(held / battery.capacity_ah)
    return charges


SHARES = st.dictionaries(st.integers(0, 23), st.floats(0.05, 1), max_size=6)


@settings(max_examples=30, deadline=None)
@given(SHARES, st.floats(-30, 30), st.floats(0, 80), st.floats(0, 90), st.floats(0, 3), st.sampled_from((0, 0, 30)))
def test_many_members_are_as_one_in_a_plain_loop(driving, idle_a, speed_a, charger_a, standing_a, stopped_a):
    of = drives(
        driving=driving, idle_a=idle_a, speed_a=speed_a, standing_a=standing_a, stopped_a=stopped_a,
        charging_at_idle=stopped_a == 0, stops_over_ratio=0.7,
    )  # fmt: skip
    battery = dataclasses.replace(BATTERY, full_ratio=0.8 if stopped_a else 1.0)
    amps = taken(of, charger_a, 3) * np.array([[1.0, 0.5, 0.0]])

    course = simulate(battery, of, amps)

    for member in range(3):
        plain = plain_loop(battery, of, amps[:, member])
        assert course.charge_ratio[:, member] == pytest.approx(plain, rel=1e-9, abs=1e-12)


@settings(max_examples=30, deadline=None)
@given(SHARES, st.floats(-30, 30), st.floats(0, 80), st.floats(0, 90), st.floats(0, 3))
def test_charge_is_kept_in_every_step(driving, idle_a, speed_a, charger_a, standing_a):
    of = drives(driving=driving, idle_a=idle_a, speed_a=speed_a, standing_a=standing_a)

    course = simulate(BATTERY, of, taken(of, charger_a, 2))

    held = np.vstack([np.ones((1, 2)), course.charge_ratio]) * BATTERY.capacity_ah
    kept = course.in_ah - course.lost_ah - course.out_ah
    assert np.diff(held, axis=0) == pytest.approx(kept, abs=1e-9 * BATTERY.capacity_ah)
    assert (course.charge_ratio >= 0).all()
    assert (course.charge_ratio <= 1 + 1e-12).all()
    assert (course.lowest_ratio <= course.charge_ratio + 1e-12).all()
    assert (course.idle_ah <= course.out_ah + 1e-12).all()


@settings(max_examples=30, deadline=None)
@given(SHARES, st.floats(0, 60), st.floats(0, 20))
def test_a_larger_charger_never_leaves_more(driving, charger_a, more_a):
    of = drives(driving=driving)

    small = simulate(BATTERY, of, taken(of, charger_a))
    large = simulate(BATTERY, of, taken(of, charger_a + more_a))

    assert (large.charge_ratio <= small.charge_ratio + 1e-12).all()


def test_idle_pays_and_speed_puts_back():
    # 30 A taken of 10 A spare: 20 A short for 15 % of two hours is 6 Ah; at speed 8 A at the most for 1.7 h
    of = drives(days=1, driving={8: 1.0, 9: 1.0}, standing_a=0.0)

    course = simulate(BATTERY, of, taken(of, 30.0))

    assert course.idle_ah.sum() == pytest.approx(20 * 0.3)
    assert course.out_ah.sum() == pytest.approx(20 * 0.3 + 0.5)  # and one crank
    assert 0.5 < course.in_ah.sum() <= 8 * 1.7
    told = outlook(BATTERY, of, course, 0.0)
    assert told.idle_deficit_ah_day == pytest.approx(6)
    assert told.days_parked is None


def test_recharge_is_held_to_what_a_starter_battery_takes():
    low = dataclasses.replace(BATTERY, tail_h=0.001)
    of = drives(days=2, driving={8: 1.0}, idle_a=-40.0, speed_a=60.0, standing_a=1.0)

    course = simulate(low, of, taken(of, 0.0))

    assert course.in_ah[8, 0] == pytest.approx(8 * 0.85)


def test_parked_it_falls_as_the_days_by_hand_say():
    days = charging.days_parked(80, 0.6, 0.1)
    of = drives(days=16, standing_a=0.1)

    course = simulate(BATTERY, of, np.zeros((16 * 24, 1)))

    under = int(np.argmax(course.charge_ratio[:, 0] < 0.6))
    assert under / 24 == pytest.approx(days, abs=1 / 24 + 1e-9)
    told = outlook(BATTERY, of, course, 0.1)
    assert told.days_parked == pytest.approx(days)
    assert told.no_crank
    assert not outlook(BATTERY, drives(days=1), simulate(BATTERY, drives(days=1), np.zeros((24, 1))), 0.1).no_crank


def test_cranks_are_refused_below_the_charge_they_need():
    of = drives(days=14, standing_a=0.15, cranks=1.0 * (np.arange(14 * 24) == 14 * 24 - 1))

    course = simulate(BATTERY, of, np.zeros((14 * 24, 1)))

    assert course.no_crank[-1, 0]
    assert course.no_crank.sum() == 1


def test_an_empty_battery_gives_nothing_and_says_how_much_was_short():
    of = drives(days=10, standing_a=1.0)

    course = simulate(BATTERY, of, np.zeros((240, 1)))

    assert course.charge_ratio[-1, 0] == 0
    assert course.short_ah.sum() == pytest.approx(240 - 80)


def test_the_auxiliary_system_takes_nothing_with_the_engine_off():
    of = drives(days=1, driving={8: 1.0})
    amps = np.zeros((24, 1))
    amps[20] = 5.0

    with pytest.raises(SizingError, match="takes current with the engine off"):
        simulate(BATTERY, of, amps)


def test_the_outlook_is_of_the_weather_that_so_many_are_worse_than():
    of = drives(days=2, driving={8: 1.0})
    course = simulate(BATTERY, of, taken(of, 1.0, 101) * np.linspace(0, 60, 101))

    worst, fifth = outlook(BATTERY, of, course, 0.03), outlook(BATTERY, of, course, 0.03, 0.05)

    lowest = np.sort(course.lowest_ratio.min(axis=0))
    assert (worst.lowest_ratio, fifth.lowest_ratio) == (lowest[0], lowest[5])


@pytest.fixture(scope="module")
def example():
    brief = wagon()
    appraisal = appraise(brief)
    system = assemble(brief, appraisal.chosen, Catalogue.of(brief))
    return appraisal, system, charging.headroom(brief.vehicle, brief.policy)


def stops_of(system, days=2):
    return tuple((stop, days, 0.0) for stop in system.brief.trip)


def changed(system, **vehicle):
    """The example's system in a vehicle with a plain alternator, or what is said."""
    vehicle = {"alternator_control": "fixed", "idle_stop": False, **vehicle}
    brief = system.brief.model_copy(update={"vehicle": system.brief.vehicle.model_copy(update=vehicle)})
    return dataclasses.replace(system, brief=brief)


def engine_w(system, of, amps, members=1):
    """The charger's current, mean over each hour, in watts at nominal voltage."""
    share = 1.0 if of.charging_at_idle else 1 - of.idle_share_ratio
    return np.outer(of.driving * share, np.full(members, amps * system.bank_v))


@pytest.mark.parametrize("idle_stop", [False, True])
def test_the_charger_takes_what_the_one_of_charging_does(example, idle_stop):
    appraisal, system, room = example
    system = changed(system, idle_stop=idle_stop)
    of, amps, feed_ohm = drives_of(system, room, stops_of(system)), appraisal.value("engine.output_a"), 0.01

    found = charger_inputs_a(system, room, feed_ohm, engine_w(system, of, amps), of)

    power_w = amps * system.absorption_v
    expected, _ = charging.charger_input(power_w, system.engine[1].efficiency_ratio, room.idle_v, feed_ohm)
    assert found[of.driving > 0, 0] == pytest.approx(expected)  # a part of an hour at the full current
    assert (found[of.driving <= 0] == 0).all()


def test_a_trip_of_the_example_is_told(example):
    appraisal, system, room = example
    plain = changed(system)
    of = drives_of(plain, room, stops_of(plain))
    taken_w = engine_w(plain, of, appraisal.value("engine.output_a"), 2)

    told = over_trip(plain, room, 0.01, stops_of(plain), taken_w)

    assert told.days_parked == pytest.approx(appraisal.value("starter.days_parked"))
    assert 0.9 < told.lowest_ratio < 1
    assert not told.no_crank
    assert over_trip(plain, None, 0.01, stops_of(plain), taken_w) is None
    assert over_trip(changed(system, starter_ah=None), room, 0.01, stops_of(plain), taken_w) is None
    assert over_trip(changed(system, standing_draw_a=None), room, 0.01, stops_of(plain), taken_w) is None


def test_idle_stop_cranks_more_and_carries_the_vehicle_at_lights(example):
    _, system, room = example
    plain, stopping = (drives_of(changed(system, idle_stop=x), room, stops_of(system)) for x in (False, True))

    assert stopping.cranks.sum() == pytest.approx(plain.cranks.sum() + plain.driving.sum())
    assert (plain.stopped_a, stopping.stopped_a) == (0.0, room.own_draw_a)
    assert plain.charging_at_idle
    assert not stopping.charging_at_idle


def test_a_low_battery_keeps_the_engine_idling():
    of = drives(days=4, driving={8: 1.0, 9: 1.0, 10: 1.0}, idle_a=5.0, speed_a=0.5, stopped_a=60.0,
                stops_over_ratio=0.7, charging_at_idle=False)  # fmt: skip

    course = simulate(BATTERY, of, np.zeros((96, 1)))

    assert course.idle_ah.sum() > 20
    # not lower than where it stops by itself, but for cranks and the parked draw
    assert course.charge_ratio.min() > 0.7 - (4 * 0.5 + 96 * 0.03) / 80


def test_a_smart_alternator_leaves_it_part_charged_and_says_so(example):
    _, system, room = example
    smart = changed(system, alternator_control="smart")
    of = drives_of(smart, room, stops_of(smart))

    told = over_trip(smart, room, 0.01, stops_of(smart), np.zeros((len(of.driving), 1)))
    book = Book()
    note(told, smart.brief, book)

    assert battery_of(smart.brief).full_ratio == SMART_FULL_RATIO
    assert told.days_parked == pytest.approx(charging.days_parked(80, 0.8, 0.035))  # 0.8 down to 0.6
    assert [f.code for f in book.findings] == ["starter_kept_partial"]
    assert "{" not in " ".join(words.finding_words(book.findings[0]))


def test_a_trip_that_leaves_it_too_low_is_told(example):
    _, system, _ = example
    of = drives(days=1, standing_a=2.0)
    told = outlook(BATTERY, of, simulate(BATTERY, of, np.zeros((24, 1))), 2.0)
    book = Book()

    note(told, changed(system, idle_stop=True).brief, book)

    assert {f.code for f in book.findings} == {"starter_no_crank", "starter_restarts"}
    assert all("{" not in " ".join(words.finding_words(f)) for f in book.findings)
