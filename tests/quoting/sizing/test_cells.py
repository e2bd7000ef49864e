"""Cells by temperature: charging stops and slows with cold and heat, life by cycles and heat, sleeping to damage."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.kinds.capabilities import at
from quoting.sizing import cells
from quoting.sizing.appraise import appraise
from quoting.sizing.errors import SizingError
from tests.quoting.sizing.library_case import brief
from tests.quoting.sizing.wagon import raw, wagon
from tests.quoting.sizing.worded import assert_worded

CURVE = ((0.5, 6000.0), (0.8, 3500.0))
AIR = st.lists(st.floats(-40, 50), min_size=24, max_size=24).map(tuple)


@pytest.mark.parametrize(
    ("cell_c", "share"), [(-0.01, 0.0), (0.0, 0.5), (9.99, 0.5), (10.0, 1.0), (45.0, 1.0), (45.01, 0.0)]
)
def test_lithium_charges_by_the_temperature_of_its_cells(cell_c, share):
    assert cells.charge_share(cell_c, 0.0, 45.0) == share


def test_lead_acid_has_no_reduced_band_and_heat_stops_both(example_can):
    lead, lithium = example_can("agm"), example_can("lifepo4")
    policy = wagon().policy

    assert cells.charge_shares(lead, policy, (-20.0, 5.0, 55.0)) == (0.0, 1.0, 0.0)
    assert cells.charge_shares(lithium, policy, (-20.0, 5.0, 55.0)) == (0.0, 0.5, 0.0)


def test_a_heated_battery_charges_slowly_instead_of_not_at_all(example_can):
    assert cells.charge_shares(example_can("lifepo4", heater_w=60), wagon().policy, (-20.0, 20.0)) == (0.5, 1.0)


@pytest.fixture
def example_can():
    from catalog import kinds
    from catalog.kinds.capabilities import Storage

    def find(chemistry, **changed):
        part = next(p for p in raw()["catalogue"] if p["kind"] == "battery" and p["spec"]["chemistry"] == chemistry)
        kind = kinds.get("battery")
        return next(c for c in kind.capabilities(kind.clean({**part["spec"], **changed})) if isinstance(c, Storage))

    return find


def test_cells_lag_the_air_and_swing_less():
    air = tuple(10 + 8 * math.sin(2 * math.pi * h / 24) for h in range(24))

    slow, same = cells.cells_c(air, 4.0), cells.cells_c(air, 0.0)

    assert same == air
    assert max(slow) < max(air)
    assert min(slow) > min(air)
    assert slow.index(max(slow)) > air.index(max(air))


def test_the_lag_of_a_sine_is_the_textbooks():
    # first order under a daily sine: amplitude 1 / sqrt(1 + (2 pi tau / 24)^2); steps of an hour blur it
    air = tuple(math.sin(2 * math.pi * h / 24) for h in range(24))
    swing = max(cells.cells_c(air, 6.0))

    assert swing == pytest.approx(1 / math.sqrt(1 + (2 * math.pi * 6 / 24) ** 2), abs=0.02)


@given(AIR, st.floats(0, 24))
def test_the_mean_of_a_day_is_kept(air, lag_h):
    followed = cells.cells_c(air, lag_h)

    assert math.fsum(followed) == pytest.approx(math.fsum(air), abs=1e-6)
    assert min(air) - 1e-9 <= min(followed) <= max(followed) <= max(air) + 1e-9


def test_a_parked_place_warms_with_the_sun_and_not_at_night():
    air, sun = (0.0, 10.0, 20.0), (0.0, 50.0, 100.0)

    assert cells.place_air_c(air, sun, 20.0, None) == (0.0, 20.0, 40.0)
    assert cells.place_air_c(air, sun, 20.0, 35.0) == (0.0, 20.0, 35.0)
    assert cells.place_air_c((0.0,) * 3, (0.0,) * 3, 20.0, None) == (0.0,) * 3


def test_cycles_are_read_off_the_curve_and_never_flattered():
    assert cells.cycles_at(CURVE, 0.65) == at(CURVE, 0.65) == 4750
    assert cells.cycles_at(CURVE, 0.1) == 6000
    assert cells.cycles_at(CURVE, 1.0) == 3500 * 0.8
    with pytest.raises(SizingError, match="cycles is missing"):
        cells.cycles_at((), 0.5)


@given(st.floats(0.001, 1), st.floats(0.001, 1))
def test_deeper_never_lasts_longer(a, b):
    shallow, deep = sorted((a, b))

    assert cells.cycles_at(CURVE, deep) <= cells.cycles_at(CURVE, shallow)


@given(st.floats(-20, 60), st.floats(-20, 60))
def test_hotter_lead_acid_never_lasts_longer(a, b):
    cool, hot = sorted((a, b))

    assert cells.heat_left("agm", hot, 10) <= cells.heat_left("agm", cool, 10) <= 1


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: cells.cycles_at(CURVE, 1.2), "depth_ratio is 1.2; it must be .* at most 1"),
        (lambda: cells.heat_left("agm", 25, 0), "halved_per_k is 0 K"),
        (lambda: cells.damage_days(100, 0.1, 0, 0), "asleep_a is 0 A"),
        (lambda: cells.charge_share(20, 50, 45), "min_charge_c is 50 °C; it must be at most 45 °C"),
        (lambda: cells.cells_c((20.0,) * 24, -1), "lag_h is -1 h"),
    ],
)
def test_impossible_values_are_refused(call, said):
    with pytest.raises(SizingError, match=said):
        call()


COLD = {"trip.0.site.tmin_c": [-9.0] * 12, "trip.0.site.tmax_c": [6.0] * 12, "trip.0.driving_start_h": 6.0}


def findings(appraisal):
    return {f.code: f.params for f in appraisal.findings if f.subject in ("stop:0", "")}


def test_a_cold_morning_s_drive_charges_nothing_and_says_so():
    warm, cold = appraise(wagon(**{"trip.0.driving_start_h": 6.0})), appraise(wagon(**COLD))

    assert "charging_lost_cold" not in findings(warm)
    lost = findings(cold)["charging_lost_cold"]
    assert lost["hours_h"] == 3  # from six to half past eight
    assert lost["lost_wh"] > 400
    assert sum(cold.stops[0].taken_w[6:8]) == pytest.approx(sum(cold.stops[0].given_w[6:8]))


def heated():
    catalogue = raw()["catalogue"]
    for part in catalogue:
        if part["kind"] == "battery" and part["spec"]["chemistry"] == "lifepo4":
            part["spec"]["heater_w"] = 60
    return catalogue


def test_a_heater_draws_only_while_there_is_something_to_charge_from():
    found = appraise(wagon(**COLD, catalogue=heated()))

    assert "battery_too_cold" not in findings(found)
    assert "charging_lost_cold" not in findings(found)
    stop = found.stops[0]
    bare = appraise(wagon(**COLD)).stops[0]
    extra = [a - b for a, b in zip(stop.load_w, bare.load_w, strict=True)]
    assert max(extra[:6]) < 1  # dark and parked: nothing to warm for
    assert extra[6] > 50
    assert stop.end_ratio > bare.end_ratio


def test_a_hot_place_stops_charging_and_says_so():
    hot = {"trip.1.site.tmax_c": [46.0] * 12, "trip.1.site.tmin_c": [32.0] * 12, "trip.1.driving_start_h": 14.0}
    vehicle = raw()["vehicle"]
    for place in vehicle["positions"]:
        place["ambient_c"] = 70.0
    # the kettle hangs on the inverter, where nothing lets it go: it would take all that the engine gives
    loads = [load for load in raw()["loads"] if load["key"] != "kettle"]

    found = appraise(wagon(**hot, vehicle=vehicle, loads=loads))

    assert any(f.code == "charging_lost_hot" and f.subject == "stop:1" for f in found.findings)


def test_a_heater_warms_as_the_lag_and_the_mass_leave_it():
    """Held against the hours walked in small steps: heat in, less what goes to the air by the lag."""
    mass_kg, watts, lag_h = 12.0, 40.0, 2.0
    over_k, hours, step_h = 0.0, 0.0, 1e-4
    while over_k < 13.0:
        over_k += (watts * 3600 / (mass_kg * 1000) - over_k / lag_h) * step_h
        hours += step_h

    assert cells.warm_up_h(mass_kg, watts, 13.0, lag_h) == pytest.approx(hours, abs=1e-3)
    # in the end it is 24 K over the air, and never gets to 25
    assert cells.warm_up_h(mass_kg, watts, 25.0, lag_h) is None


@pytest.mark.parametrize(("watts", "code"), [(60, "heater_slow"), (8, "heater_too_small"), (0, None)])
def test_a_heater_that_warms_late_is_told(watts, code):
    asked = brief(12, "lifepo4", "small")
    parts = tuple(
        p.model_copy(update={"spec": {**p.spec, "heater_w": watts}}) if p.spec.get("chemistry") == "lifepo4" else p
        for p in asked.catalogue
    )
    site = asked.trip[0].site.model_copy(update={"tmin_c": (-14.0,) * 12, "tmax_c": (-8.0,) * 12})
    trip = tuple(s.model_copy(update={"site": site}) for s in asked.trip)

    found = appraise(asked.model_copy(update={"trip": trip, "catalogue": parts}))

    assert {f.code for f in found.findings if f.code.startswith("heater_")} == ({code} if code else set())
    assert_worded(found)
