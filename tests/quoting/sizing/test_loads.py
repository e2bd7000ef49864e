"""Power requirements: the four ways of use, losses on the way, peaks."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.sizing.brief import Load, Site
from quoting.sizing.errors import SizingError
from quoting.sizing.inverter import assumed_curve, loss_curve
from quoting.sizing.loads import (
    ambient_by_hour,
    coincident,
    cooling_duty_ratio,
    refrigeration,
    window_shares,
    work_out,
)
from quoting.sizing.sun import hour_shares
from tests.quoting.sizing.wagon import wagon

NO_LOSS = assumed_curve(0.0, 1.0)


def _line(load, curve=NO_LOSS, **changes):
    brief = wagon(loads=[load], **changes)
    return work_out(brief, brief.trip[0], curve).lines[0]


def test_steady_is_power_times_hours_times_duty_times_pieces():
    use = {"way": "steady", "power_w": 40, "hours_per_day": 6, "duty_ratio": 0.5}

    line = _line({"key": "a", "name": "Pump", "quantity": 2, "use": use})

    assert line.energy_wh == pytest.approx(240)  # 40 × 6 × 0.5 × 2
    assert line.running_w == 80


def test_event_is_power_times_minutes_times_times():
    use = {"way": "event", "power_w": 750, "minutes": 6, "times_per_day": 2}

    assert _line({"key": "a", "name": "Kettle", "use": use}).energy_wh == pytest.approx(150)


def test_recharge_pays_its_chargers_losses():
    use = {"way": "recharge", "pack_wh": 72, "charges_per_day": 1, "charger_efficiency_ratio": 0.88, "power_w": 65}

    line = _line({"key": "a", "name": "Laptops", "quantity": 2, "use": use})

    assert line.energy_wh == pytest.approx(2 * 72 / 0.88)
    assert line.hours_per_day == pytest.approx(72 / 0.88 / 65)


def test_usb_pays_its_converter_once():
    use = {"way": "steady", "power_w": 9, "hours_per_day": 10}

    assert _line({"key": "a", "name": "Tablet", "bus": "usb", "use": use}).energy_wh == pytest.approx(100)


def test_twelve_volt_loads_pay_a_converter_only_on_24_v():
    load = {"key": "a", "name": "Radio", "bus": "house12", "use": {"way": "steady", "power_w": 9, "hours_per_day": 10}}

    assert _line(load).energy_wh == pytest.approx(90)
    assert _line(load, **{"wishes.system_v": 24}).energy_wh == pytest.approx(100)


def test_ac_pays_the_inverters_loss_at_that_power():
    curve = loss_curve(2000, 8, 1000 / 1048, 2000 / 2128)  # 8 W + 2 % + 4 % P²/2000
    use = {"way": "steady", "power_w": 500, "hours_per_day": 2}

    line = _line({"key": "a", "name": "Grinder", "bus": "ac", "use": use}, curve)

    assert line.running_w == pytest.approx(500 + 10 + 5)  # the 8 W are the inverter's own line
    assert line.energy_wh == pytest.approx(1030)


def test_starter_loads_take_nothing_from_the_house_battery_but_are_counted():
    load = {
        "key": "a",
        "name": "Tracker",
        "bus": "starter",
        "use": {"way": "steady", "power_w": 2, "hours_per_day": 24},
    }
    brief = wagon(loads=[load])

    day = work_out(brief, brief.trip[0], NO_LOSS)

    assert day.energy_wh == 0
    assert day.starter_wh == pytest.approx(48)


@pytest.mark.parametrize("use", [
    {"way": "steady", "power_w": 10, "hours_per_day": 8},
    {"way": "event", "power_w": 10, "minutes": 60, "times_per_day": 8},
    {"way": "recharge", "pack_wh": 80, "charges_per_day": 1, "charger_efficiency_ratio": 1.0, "power_w": 10},
])  # fmt: skip
def test_more_hours_than_the_window_has_are_refused(use):
    load = {"key": "a", "name": "Lamp", "use": use, "window_start_h": 18.0, "window_end_h": 22.0}

    with pytest.raises(SizingError, match=r"loads\[0\]\.use\..*8 h a day, but its window is 4 h long"):
        _line(load)


def test_window_runs_over_midnight():
    shares = window_shares(22.5, 1.25)

    assert math.fsum(shares) == pytest.approx(2.75)
    assert shares[22] == 0.5
    assert shares[0] == 1
    assert shares[1] == 0.25
    assert window_shares(6, 6) == (1.0,) * 24


@pytest.mark.parametrize(("ambient_c", "energy_wh"), [(20, 160), (25, 235), (32, 358), (43, 599)])
def test_refrigerator_follows_the_worked_example(ambient_c, energy_wh):
    # UA 0.9 W/K, 4 °C, 12 and 15 K, phi 0.35, 45 W compressor: engineering example, derived by hand
    _, _, mean_w = refrigeration(0.9, ambient_c, 4, 0.35, 12, 15)

    assert 24 * mean_w == pytest.approx(energy_wh, rel=0.005)
    assert mean_w / 45 == pytest.approx(cooling_duty_ratio(0.2174, 25, 4, ambient_c, 12, 15), rel=0.005)


def test_energy_rises_faster_than_the_temperature_difference():
    # 43 °C over 25 °C: energy 2.55, difference 39/21 = 1.86
    ratio = cooling_duty_ratio(0.3, 25, 4, 43) / cooling_duty_ratio(0.3, 25, 4, 25)

    assert ratio > (43 - 4) / (25 - 4)


def test_cooler_air_than_inside_asks_for_no_cooling():
    assert cooling_duty_ratio(0.3, 25, 4, 2) == 0


def test_a_test_colder_than_the_inside_is_refused():
    with pytest.raises(SizingError, match="rated_ambient_c is 10 °C; it must be at least 13 °C"):
        cooling_duty_ratio(0.3, 10, 12, 30)


def test_a_freezer_that_cannot_hold_is_a_finding_and_runs_all_the_time():
    use = {"way": "cooling", "power_w": 45, "rated_duty_ratio": 0.9, "rated_ambient_c": 25, "inside_c": -18}
    brief = wagon(loads=[{"key": "f", "name": "Freezer", "essential": True, "use": use}], **{
        "trip.0.site.tmin_c": [33.0] * 12, "trip.0.site.tmax_c": [44.0] * 12,
    })  # fmt: skip

    day = work_out(brief, brief.trip[0], NO_LOSS)

    assert [(f.level, f.code) for f in day.findings] == [("danger", "cooling_cannot_hold")]
    assert day.lines[0].energy_wh == pytest.approx(24 * 45)


def test_air_is_coldest_at_sunrise_and_warmest_at_three():
    site = Site(
        name="x",
        latitude_deg=0.0,
        longitude_deg=0.0,
        ghi_kwh_m2_day=(5.0,) * 12,
        tmin_c=(10.0,) * 12,
        tmax_c=(30.0,) * 12,
    )

    air = ambient_by_hour(site, 3)

    assert air.index(min(air)) in (5, 6)  # the sun rises at 6 h on the equator
    assert air.index(max(air)) in (14, 15)
    assert 10 <= min(air) <= 10.2
    assert 29.8 <= max(air) <= 30
    assert sum(air) / 24 == pytest.approx(20, abs=0.1)


def _load(key, watts, **more):
    use = {"way": "steady", "power_w": watts, "hours_per_day": 1}
    return Load.model_validate({"key": key, "name": key, "use": use, **more})


def test_peak_adds_what_runs_at_once_and_the_largest_start_of_one_piece():
    fridge, lamp = _load("fridge", 60, start_multiple=4, start_s=0.5), _load("lamp", 20)
    pumps = _load("pumps", 50, quantity=2, start_multiple=3, start_s=0.2)

    peak = coincident((fridge, lamp, pumps), (60.0, 20.0, 100.0))

    assert peak.running_w == 180
    assert peak.start_w == 180 + 180  # the refrigerator's (4 − 1) × 60, above one pump's (3 − 1) × 50
    assert peak.starter == "fridge"
    assert peak.start_s == 0.5


def test_a_load_that_never_runs_with_others_counts_only_when_it_is_larger():
    lamp, kettle = _load("lamp", 20), _load("kettle", 750, at_once=False)

    assert coincident((lamp, kettle), (20.0, 750.0)).running_w == 750
    assert coincident((lamp, kettle), (800.0, 750.0)).running_w == 800


def test_apparent_power_is_power_over_power_factor():
    charger = _load("charger", 500, power_factor=0.6)

    assert coincident((charger,), (500.0,)).running_va == pytest.approx(833.3, abs=0.1)  # 500 / 0.6


# --- Air where refrigerators stand ---------------------------------------------------------------------


FRIDGE = {
    "key": "f", "name": "Refrigerator",
    "use": {"way": "cooling", "power_w": 45, "rated_duty_ratio": 0.2174, "rated_ambient_c": 25, "inside_c": 4},
}  # fmt: skip
LIKE_THE_EXAMPLE = {"policy": {"cooling_evaporator_k": 12.0, "cooling_condenser_k": 15.0}}


def test_a_refrigerator_sees_the_air_where_it_stands():
    inside, outside = _line({**FRIDGE, "position": "cargo"}), _line(FRIDGE)

    assert inside.energy_wh > 1.1 * outside.energy_wh
    assert [x.steps[0].code for x in (inside, outside)] == ["air_there", "air_outside"]
    assert inside.steps[0].params["name"] == "Cargo drawer"


def test_at_night_a_parked_refrigerator_takes_what_it_takes_outside():
    inside, outside = _line({**FRIDGE, "position": "cargo"}), _line(FRIDGE)

    assert inside.profile_w[:5] == outside.profile_w[:5]
    assert inside.profile_w[12] > outside.profile_w[12]


def test_its_energy_is_that_of_the_worked_example_in_every_hours_air():
    """UA 0.9 W/K, 4 °C, 12 and 15 K, phi 0.35, 45 W: the worked example's own heat gain over its own efficiency."""
    changes = {**LIKE_THE_EXAMPLE, "trip.0.month": 1, "vehicle.positions.2.ambient_c": 43.0}
    brief = wagon(loads=[{**FRIDGE, "position": "cargo"}], **changes)
    stop = brief.trip[0]
    outside = ambient_by_hour(stop.site, 1)
    shape = hour_shares(stop.site.latitude_deg, 1)
    there = [max(a, min(43.0, a + 20 * s / max(shape))) for a, s in zip(outside, shape, strict=True)]

    line = work_out(brief, stop, NO_LOSS).lines[0]

    expected = sum(refrigeration(0.9, c, 4, 0.35, 12, 15)[2] for c in there)
    assert line.energy_wh == pytest.approx(expected, rel=0.001)  # the example's duty has four digits
    assert max(there) == 43


def test_a_place_that_the_air_passes_through_is_as_warm_as_outside():
    aired, outside = (_line({**FRIDGE, "position": "cargo"}, **{"vehicle.positions.2.aired": True}), _line(FRIDGE))

    assert aired.energy_wh == pytest.approx(outside.energy_wh)


@given(st.floats(-20, 110), st.floats(0, 40))
@settings(max_examples=40)
def test_a_hotter_place_never_takes_less(hottest_c, rise_k):
    changes = {"policy": {"compartment_rise_k": rise_k}, "vehicle.positions.2.ambient_c": hottest_c}

    assert _line({**FRIDGE, "position": "cargo"}, **changes).energy_wh >= _line(FRIDGE).energy_wh - 1e-9
