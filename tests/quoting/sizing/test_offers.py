"""What sources offer by the hour: heat, own heat, stops of the charger, outputs that inputs share, refused ways."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.kinds.capabilities import at
from quoting import words
from quoting.sizing import offers, own_heat
from quoting.sizing.appraise import appraise
from quoting.sizing.days import day_of, losses_of
from quoting.sizing.driving import driving_share
from quoting.sizing.parts import Catalogue
from quoting.sizing.system import System, assemble
from tests.quoting.sizing.systems_case import caravan, read
from tests.quoting.sizing.test_appraise import MULTI
from tests.quoting.sizing.wagon import raw, wagon
from tests.quoting.sizing.worded import assert_sums_follow, assert_worded

SUMMER = {
    "vehicle.places.charger": "cabin",
    "trip.1.month": 1,
    "trip.1.mains_h_per_day": 24.0,
    "trip.1.driving_h_per_day": 0.0,
}


def system_of(brief) -> System:
    return assemble(brief, appraise(brief).chosen, Catalogue.of(brief))


def offered(system, index=1):
    stop = system.brief.trip[index]
    return offers.offers(system, stop, day_of(system, stop, index, losses_of(system.brief, system)))


@pytest.fixture(scope="module")
def hot() -> System:
    """Midsummer, plugged in all day, the charger behind the seats, as hot as the sun makes it there."""
    return replace(system_of(wagon(**SUMMER)), brief=wagon(**SUMMER, **{"vehicle.positions.1.ambient_c": 80.0}))


def test_a_charger_gives_what_the_air_of_the_hour_leaves(hot):
    found = offered(hot)
    air, can = np.array(found.charger_air_c), hot.mains[1]

    expected = [can.output_a * at(can.derating, c) * 12.8 for c in air]

    assert list(found.mains_w) == pytest.approx(expected)
    assert found.mains_w[3] == pytest.approx(can.output_a * 12.8)  # 22 °C before sunrise
    assert min(found.mains_w) < 0.75 * max(found.mains_w)  # 36 °C outside and 20 K more at noon
    assert max(found.charger_air_c) == pytest.approx(55, abs=1.5)


def test_the_survey_s_hottest_air_holds(hot):
    cooler = replace(hot, brief=wagon(**SUMMER))

    assert max(offered(cooler).charger_air_c) == 45
    assert math.fsum(offered(cooler).mains_w) > math.fsum(offered(hot).mains_w)


def test_a_days_hottest_hour_no_longer_costs_the_whole_day(hot):
    found = offered(hot)
    worst = min(found.mains_w)

    assert math.fsum(found.mains_w) > 1.15 * 24 * worst


# --- A part's own heat ---------------------------------------------------------------------------------


CURVES = st.lists(st.floats(0, 1), min_size=2, max_size=5).map(
    lambda ys: tuple((20.0 + 15 * i, y) for i, y in enumerate(sorted(ys, reverse=True)))
)


@given(CURVES, st.floats(0, 300), st.floats(0, 0.2), st.floats(-30, 90))
def test_own_heat_is_that_of_the_output_it_leaves(curve, loss_w, k_per_w, air_c):
    """By its definition: at the air and the heat of that output, the maker's curve leaves that output."""
    left = at(own_heat.warmed(curve, loss_w, k_per_w), air_c)

    inside_c = air_c + own_heat.own_rise_k(own_heat.warmed(curve, loss_w, k_per_w), air_c, loss_w, k_per_w)
    assert left == pytest.approx(at(curve, inside_c), abs=1e-9)
    assert left <= at(curve, air_c) + 1e-12


def test_own_heat_by_hand():
    # 40 A × 14.4 V × (1/0.9 − 1) = 64 W; 0.05 K/W: 3.2 K at full output
    curve = own_heat.warmed(((40.0, 1.0), (60.0, 0.5)), 64.0, 0.05)

    assert at(curve, 36.8) == 1
    assert at(curve, 48.4) == pytest.approx(0.7315, abs=1e-4)  # 48.4 + 64 × 0.05 × 0.7315 = 50.74 °C: 1 − 10.74 / 40


def test_own_heat_shows_in_the_working():
    found = appraise(wagon(**{"vehicle.positions.2.ambient_c": 80.0, "vehicle.hot_idle_a": 140.0}))
    (left,) = [s for s in found.figures["engine.output_a"].steps if s.code == "at_heat"]

    rated = next(s.value for s in found.figures["engine.output_a"].steps if s.code == "rating")
    assert left.params["own_k"] == pytest.approx(rated * 14.4 * (1 / 0.88 - 1) * left.value * 0.05)
    assert_sums_follow(found)
    assert_worded(found)


# --- What of a drive is charged in ---------------------------------------------------------------------


def test_an_engine_that_stops_at_lights_gives_nothing_there():
    stopping, idling = (appraise(wagon(**{"vehicle.idle_stop": x})) for x in (True, False))

    assert stopping.stops[0].engine_wh == pytest.approx(0.85 * idling.stops[0].engine_wh)
    assert stopping.value("engine.hour_gives_ah") == pytest.approx(0.85 * idling.value("engine.hour_gives_ah"))
    assert "driving_share" in {s.code for s in stopping.figures["engine.hour_gives_ah"].steps}
    assert_sums_follow(stopping)
    assert_worded(stopping)


@pytest.fixture(scope="module")
def fixed() -> System:
    return system_of(wagon(**{"vehicle.idle_stop": False, "vehicle.alternator_control": "fixed"}))


def _with_stop(system, volts, **vehicle):
    chosen, can = system.engine
    brief = system.brief.model_copy(update={"vehicle": system.brief.vehicle.model_copy(update=vehicle)})
    return replace(system, brief=brief, engine=(chosen, replace(can, stop_below_v=volts)), feed_ohm=0.005)


def test_a_charger_under_its_stop_at_idle_gives_nothing_while_idling(fixed):
    # 12.6 V at hot idle; 20 A × 14.4 V ÷ 0.88 = 327 W over 5 mΩ take 26.2 A and leave 12.47 V
    assert driving_share(_with_stop(fixed, 12.4)).ratio == 1
    share = driving_share(_with_stop(fixed, 12.5))
    assert (share.ratio, share.why) == (pytest.approx(0.85), "idle_voltage")
    assert share.voltage_v == pytest.approx(12.469, abs=0.001)


def test_a_lowered_voltage_under_the_stop_gives_nothing_on_a_steady_drive(fixed):
    # an ECU lowers it to 12.3 V: 26.9 A over 5 mΩ leave 12.17 V
    share = driving_share(_with_stop(fixed, 12.2, alternator_control="smart", hot_idle_v=13.8))

    assert (share.ratio, share.why) == (0, "steady_voltage")
    assert share.voltage_v == pytest.approx(12.166, abs=0.001)


def test_a_charger_that_stops_on_a_steady_drive_is_told():
    catalogue = raw()["catalogue"]
    for part in catalogue:
        if part["kind"] == "dcdc_charger":
            part["spec"]["stop_below_v"] = 12.9

    found = appraise(wagon(catalogue=catalogue))

    assert "charger_stops_driving" in {f.code for f in found.findings}
    assert found.stops[0].engine_wh == 0
    assert_worded(found)
    assert_sums_follow(found)


# --- One output for several inputs; many weathers at once ------------------------------------------------


@pytest.fixture(scope="module")
def multi() -> System:
    found = system_of(wagon(catalogue=[*raw()["catalogue"], MULTI], **{"trip.0.mains_h_per_day": 24.0}))
    assert found.engine[0].part == found.solar[0].part == "multi"
    return found


WATTS = st.lists(st.floats(0, 2000), min_size=24, max_size=24).map(np.array)


@given(WATTS, WATTS, WATTS, st.floats(-10, 90))
@settings(max_examples=40)
def test_inputs_of_one_part_never_give_more_than_its_output(multi, engine, mains, light, air_c):
    shared = offers.shared(multi, engine, mains, light, np.full(24, air_c))

    most = 40 * at(multi.mains[1].derating, air_c) * multi.bank_v
    assert np.all(sum(shared) <= most + 1e-9)
    assert all(np.all(a <= b + 1e-12) for a, b in zip(shared, (engine, mains, light), strict=True))
    assert np.all(np.isclose(sum(shared), np.minimum(engine + mains + light, most)))


def test_many_weathers_at_once_are_each_as_by_itself(hot):
    stop = hot.brief.trip[1]
    day = day_of(hot, stop, 1, losses_of(hot.brief, hot))
    plane, air = np.array(offers.in_plane(hot.brief, stop)), np.array(day.ambient_c)
    warm = np.array(offered(hot).charger_air_c)
    clear = np.array([0.2, 0.7, 1.0, 1.3])

    many = offers.sun_w(hot, stop, plane[:, None] * clear, air[:, None], warm[:, None])

    assert many.shape == (24, 4)
    for i, c in enumerate(clear):
        assert many[:, i] == pytest.approx(offers.sun_w(hot, stop, plane * c, air, warm))
    assert many[:, 2] == pytest.approx(np.array(offered(hot).sun_w))


# --- A way that was refused ------------------------------------------------------------------------------


def test_a_source_without_pins_over_the_hitch_gives_nothing_hitched_or_not():
    refused, carried = caravan(), caravan()
    refused["vehicle"]["hitch"]["coupling"] = "brindle_plug"  # 20 A, too small

    without, with_ = appraise(read(refused)), appraise(read(carried))

    assert with_.stops[0].engine_wh > 100
    assert without.stops[0].engine_wh == 0
    assert "engine" not in {x.source for x in without.sources}
    assert [f.subject for f in without.findings if f.code == "hitch_refused_engine"] == ["engine"]
    assert not [f for f in with_.findings if f.code == "hitch_refused_engine"]
    assert_worded(without)


def test_what_is_read_of_an_estimated_place_is_called_an_estimate():
    for likely, said in ((None, "table"), (0.2, "estimate")):
        found = appraise(wagon(**{f"trip.{i}.site.likely_error_ratio": likely for i in (0, 1)}))
        read = [s for code in ("sun.got_wh", "inverter.got_w") for s in found.figure(code).steps if s.origin == "table"]
        assert {words.origin_words(each) for each in read} == {said}
        assert {each.code for each in read} == {"irradiation", "hottest_air"}


def test_without_any_coupling_nothing_crosses():
    lone = caravan()
    lone["catalogue"] = [p for p in lone["catalogue"] if p["kind"] != "trailer_coupling"]

    assert appraise(read(lone)).stops[0].engine_wh == 0
