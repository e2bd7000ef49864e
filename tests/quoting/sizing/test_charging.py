"""Engine and mains: what is spare, what a charger takes, what a drive leaves in the starter battery."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.sizing import charging
from quoting.sizing.brief import Position, Vehicle
from quoting.sizing.errors import SizingError
from quoting.sizing.policy import Policy


def vehicle(**changes):
    known = {
        "name": "Wagon",
        "nominal_v": 12,
        "alternator_control": "fixed",
        "alternator_a": 150.0,
        "hot_idle_a": 68.0,
        "hot_idle_v": 13.6,
        "own_draw_a": 41.0,
        "positions": (Position(key="bay", name="Bay"),),
    }
    return Vehicle(**{**known, **changes})


def test_headroom_is_measured_output_less_the_vehicles_own_draw():
    room = charging.headroom(vehicle(), Policy())

    assert room.idle_a == pytest.approx(27)  # 68 − 41
    assert room.speed_a == pytest.approx(150 * 0.75 - 41)
    assert room.findings == ()


def test_without_measurements_the_policys_shares_count_and_are_said():
    room = charging.headroom(vehicle(hot_idle_a=None, own_draw_a=None), Policy())

    assert room.idle_a == pytest.approx(150 * 0.4 - 25)
    assert [f.code for f in room.findings] == ["alternator_assumed", "vehicle_draw_assumed"]


@pytest.mark.parametrize("changes", [{"alternator_control": "none"}, {"alternator_a": None, "hot_idle_a": None}])
def test_nothing_is_spare_where_nothing_is_known(changes):
    assert charging.headroom(vehicle(**changes), Policy()) is None
    assert {f.code for f in charging.vehicle_findings(vehicle(**changes), True)} & {
        "no_alternator",
        "alternator_unknown",
    }


def test_loads_on_the_starter_bus_use_up_headroom():
    assert charging.headroom(vehicle(), Policy(), 5).idle_a == pytest.approx(22)


@given(st.floats(10, 1500), st.floats(0.6, 1.0), st.floats(11, 30), st.floats(0, 0.02))
def test_input_power_times_efficiency_is_output_power(output_w, efficiency, source_v, feed_ohm):
    try:
        amps, volts = charging.charger_input(output_w, efficiency, source_v, feed_ohm)
    except SizingError:
        assert output_w / efficiency > source_v**2 / (4 * feed_ohm)  # no current carries that power through the feed
        return

    assert amps * volts * efficiency == pytest.approx(output_w, rel=1e-6)
    assert volts == pytest.approx(source_v - amps * feed_ohm, rel=1e-9)
    assert volts >= source_v / 2 - 1e-6


def test_a_thin_feed_makes_the_charger_draw_more():
    thick, _ = charging.charger_input(576, 0.88, 12.6, 0.004)
    thin, _ = charging.charger_input(576, 0.88, 12.6, 0.020)

    assert thin > thick


def test_a_feed_that_cannot_carry_it_is_refused_with_the_most_it_carries():
    with pytest.raises(SizingError, match=r"output_w is 576 W; it must be at least 0 W and at most 349.3 W"):
        charging.charger_input(576, 0.88, 12.6, 0.1)


def test_idle_deficit_suggests_the_largest_setting_that_holds():
    # 40 A: 40 × 14.4 / (0.88 × 12.6) = 51.9 A against 27 A; 20 A takes 26.0 A
    room = charging.headroom(vehicle(hot_idle_v=12.6), Policy())

    check = charging.idle_check(room, Policy(), 14.4, 40, 0.88, 0.0, (10, 20, 30))

    assert check.deficit_a == pytest.approx(51.95 - 27, abs=0.01)
    assert check.suggested_output_a == 20
    assert check.mean_loss_a < 0  # at speed it gets back what idle took


def test_a_drive_may_end_with_less_than_it_began():
    room = charging.headroom(vehicle(alternator_a=90.0, hot_idle_a=36.0), Policy())

    check = charging.idle_check(room, Policy(), 14.4, 40, 0.88, 0.0, (20,))

    # at speed 90 × 0.75 − 41 = 26.5 A are spare where 48 A are taken
    assert check.mean_loss_a > 20
    assert check.suggested_output_a is None


def test_what_holds_at_idle_has_no_deficit():
    room = charging.headroom(vehicle(), Policy())

    assert charging.idle_check(room, Policy(), 14.4, 20, 0.88, 0.0, ()).deficit_a == 0


def test_days_parked():
    # 80 Ah × 40 % ÷ 35 mA ÷ 24 h
    assert charging.days_parked(80, 0.6, 0.035) == pytest.approx(38.095, abs=0.001)


def test_no_standing_draw_is_refused_not_endless():
    with pytest.raises(SizingError, match="standing_draw_a"):
        charging.days_parked(80, 0.6, 0.0)


def test_findings_say_what_the_supply_means():
    found = {
        f.code: f.level
        for f in charging.vehicle_findings(vehicle(alternator_control="smart", idle_stop=True, hybrid=True), True)
    }

    assert found == {"smart_alternator": "info", "idle_stop": "info", "hybrid": "warning"}
    assert charging.vehicle_findings(vehicle(hybrid=True), False) == ()
