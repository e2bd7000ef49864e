"""The outlook of whole Briefs: how it hangs together, what moves it, how large it is."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest

from quoting.sizing import offers
from quoting.sizing.appraisal import Appraisal
from quoting.sizing.appraise import appraise
from quoting.sizing.brief import Brief, Steady, read
from quoting.sizing.days import day_of, losses_of
from quoting.sizing.outlook import TripOutlook
from quoting.sizing.parts import Catalogue
from quoting.sizing.simulation.of_system import course_of, plane_w_m2, stretch_of
from quoting.sizing.simulation.plant import Course
from quoting.sizing.simulation.plant_of import Conditions, plant_of
from quoting.sizing.simulation.run import simulate
from quoting.sizing.simulation.trip import SEED, look_ahead
from quoting.sizing.system import Book, System, assemble
from quoting.sizing.wired import as_wired
from tests.quoting.sizing.library_case import brief
from tests.quoting.sizing.systems_case import caravan, truck
from tests.quoting.sizing.test_appraise import MULTI
from tests.quoting.sizing.wagon import raw, wagon
from tests.quoting.sizing.worded import assert_sums_follow, assert_worded

NO_CHARGING = {
    "wishes.solar_charging": False, "wishes.engine_charging": False, "wishes.mains_charging": False,
}  # fmt: skip


@pytest.fixture(scope="module")
def example() -> Appraisal:
    return appraise(wagon())


@pytest.fixture(scope="module")
def uncharged() -> Appraisal:
    return appraise(wagon(**NO_CHARGING))


def outlook(appraisal: Appraisal) -> TripOutlook:
    assert appraisal.outlook is not None
    return appraisal.outlook


def system_of(brief: Brief, appraisal: Appraisal) -> System:
    return assemble(brief, appraisal.chosen, Catalogue.of(brief))


def test_it_says_its_draws_its_seed_and_its_steps(example):
    found = outlook(example)

    assert (found.draws, found.seed, found.low_ratio, found.step_h) == (200, SEED, 0.05, 1.0)
    assert [(s.name, s.month, s.days, s.points) for s in found.stops] == [
        ("Cinder Ridge", 7, 4, 96),
        ("Cinder Ridge", 11, 5, 120),
    ]
    for series in (found.charge_low, found.charge_typical, found.load_w, found.engine_w, found.mains_w, found.sun_w):
        assert len(series) == len(found.charge_median) == 216


def test_bands_lie_in_order(example):
    found = outlook(example)

    for low, median, high in zip(found.charge_low, found.charge_median, found.charge_high, strict=True):
        assert 0 <= low <= median <= high <= 1
    assert found.lowest_low_ratio <= found.lowest_median_ratio <= min(found.charge_high)


def test_energy_adds_up_at_every_stop(example):
    found = outlook(example)

    for s in found.stops:
        assert s.load_wh_day == pytest.approx(s.given_wh_day + s.shed_wh_day + s.unserved_wh_day, abs=0.3)
        assert 0 <= s.sun_spilled_wh_day <= s.spilled_wh_day + 0.2
        hours = slice(s.first_point, s.first_point + s.points)
        assert math.fsum(found.load_w[hours]) / s.days == pytest.approx(s.load_wh_day, rel=1e-3)
        assert math.fsum(found.sun_w[hours]) / s.days == pytest.approx(s.sun_wh_day, rel=1e-3)


def test_its_mean_sun_is_the_balance_s(example):
    # clipping and warm cells take more of clear days than grey ones give back: a little under the mean day's
    by_stop = {s.index: s.sun_wh for s in example.stops}

    for span in outlook(example).stops:
        offered = span.sun_wh_day + span.sun_spilled_wh_day
        assert 0.93 * by_stop[span.index] < offered < 1.03 * by_stop[span.index]


def test_the_same_brief_gives_the_same_outlook(example):
    assert outlook(appraise(wagon())).model_dump_json() == outlook(example).model_dump_json()


def test_a_fortnight_is_small():
    found = outlook(appraise(wagon(**{"trip.0.days": 9.0})))

    assert sum(s.days for s in found.stops) == 14
    assert len(found.model_dump_json()) < 40_000


def test_a_long_trip_is_cut_and_says_so():
    found = appraise(wagon(**{"trip.0.days": 300.0, "trip.1.days": 2.5}))
    one = outlook(found)

    assert [s.days for s in one.stops] == [60, 3]
    assert len(one.charge_median) == 63 * 24 / one.step_h <= 744
    cut = [f for f in found.findings if f.code == "trip_cut"]
    assert [(f.subject, f.params["stepped_days"], f.params["asked_days"]) for f in cut] == [("stop:0", 60, 300)]
    whole = [f for f in found.findings if f.code == "trip_whole_days"]
    assert [(f.subject, f.params["stepped_days"], f.params["asked_days"]) for f in whole] == [("stop:1", 3, 2.5)]
    assert_worded(found)


def test_everything_it_says_has_words_and_sums(example, uncharged):
    for found in (example, uncharged):
        assert_worded(found)
        assert_sums_follow(found)
    assert {"trip.flat_days", "trip.dark_chance_ratio", "trip.lowest_low_ratio", "sun.grey_day_ah",
            "engine.hours_to_full", "together.hours_to_full"} <= set(example.figures)  # fmt: skip


def test_with_no_charging_it_goes_dark_in_every_weather_when_it_is_flat(uncharged):
    found = outlook(uncharged)

    assert found.dark.chance_ratio == found.dark.chance_high_ratio == 1
    assert found.dark.first_h > found.flat_days * 24  # flat is the usable depth, under it the loads still run
    assert found.charge_low == found.charge_high
    assert {"dark_likely", "shed_likely", "month_fails"} <= {f.code for f in uncharged.findings}
    assert not any(m.holds for m in found.year)
    assert sum(s.sun_wh_day + s.engine_wh_day + s.mains_wh_day for s in found.stops) == 0


def test_flat_days_are_usable_energy_over_what_is_used_a_day(uncharged):
    found, figure = outlook(uncharged), uncharged.figure("trip.flat_days")
    lines = {s.code: s.value for s in figure.steps}

    assert figure.value == pytest.approx(found.flat_days, abs=1e-3)
    assert lines["day_while_it_lasts"] <= max(s.load_wh_day for s in found.stops) + 0.1
    assert lines["usable_energy"] / max(s.load_wh_day for s in found.stops) <= figure.value


def test_mains_all_day_never_goes_dark():
    found = outlook(appraise(wagon(**{"trip.0.mains_h_per_day": 24.0, "trip.1.mains_h_per_day": 24.0})))

    assert (found.dark.draws_dark, found.dark.chance_ratio) == (0, 0)
    assert all(s.chance_ratio == 0 and s.typical == () for s in found.sheds)
    assert found.lowest_low_ratio > 0.8
    assert all(m.holds for m in found.year)


def test_the_year_is_the_first_stop_s_month_by_month(example):
    found = outlook(example)

    assert [m.month for m in found.year] == list(range(1, 13))
    sunniest = max(found.year, key=lambda m: m.sun_wh_day)
    assert sunniest.month in (11, 12, 1)  # Cinder Ridge lies in the south
    assert found.weakest_month is not None
    assert all(m.lowest_low_ratio <= m.lowest_median_ratio for m in found.year)
    hot, cold = (next(m for m in found.year if m.month == n) for n in (1, 7))
    assert hot.load_wh_day > cold.load_wh_day  # refrigerators


def test_grey_day_and_its_figure_agree(example):
    found = outlook(example)

    assert example.value("sun.grey_day_ah") == pytest.approx(max(s.grey_day_ah for s in found.stops), abs=0.01)


@pytest.mark.parametrize("tilt_deg", [0.0, 30.0])
def test_the_array_between_its_levels_is_nearly_the_array_itself(example, tilt_deg):
    brief = wagon(**{"wishes.panel_tilt_deg": tilt_deg})
    system = system_of(brief, example)
    stop = brief.trip[1]
    day = next(s for s in look(system, brief) if s.index == 1).day
    clearness = np.linspace(0.1, 1.6, 40)[:, None]

    found = stretch_of(system, 1, stop, day, clearness).sun_w[:, :, 0]

    air = np.array(offers.offers(system, stop, day).charger_air_c)
    each = np.concatenate([plane_w_m2(system, stop, clearness[i]) for i in range(40)])
    exact = offers.sun_w(system, stop, each, np.array(day.ambient_c), air)
    apart = np.abs(found.sum(axis=1) - exact.sum(axis=1)) / exact.sum(axis=1).max()
    # where a hot string stops at once, a day next to that clearness is off by part of an hour
    assert np.median(apart) < 0.001
    assert apart.mean() < 0.01


def look(system: System, brief: Brief):
    curve = losses_of(brief, system)
    days = tuple(day_of(system, stop, i, curve) for i, stop in enumerate(brief.trip))
    found = look_ahead(system, days, with_year=False)
    assert found is not None
    return found.stretches


@pytest.mark.parametrize("code", ["engine.hours_to_full", "mains.hours_to_full", "together.hours_to_full"])
def test_hours_to_full_are_nearly_those_of_the_simulation(example, code):
    # mean load against the day's hours, beginning at midnight, when loads are light
    brief = wagon()
    system = system_of(brief, example)
    worst = max(look(system, brief), key=lambda s: float(s.load_w.sum()))
    steps = {s.code: s.value for s in example.figure(code).steps}
    amps = steps["left_for_battery"] + steps["loads_meanwhile"]  # a driven hour's mean, idling counted
    plant = plant_of(system, start_ratio=0.2)
    assert plant is not None
    course = course_of([worst])
    flow = np.full((24 * 4, 1), amps * system.bank_v)
    again = {name: np.tile(getattr(course, name)[:24], (4, 1)) for name in ("load_w", "essential_w", "charge_share",
             "resistance_ratio", "peak_w")}  # fmt: skip
    sheds = tuple(np.zeros((24 * 4, 1)) for _ in plant.sheds)
    none = np.zeros((24 * 4, 1))

    outcome = simulate(plant, Course(step_h=1.0, shed_w=sheds, engine_w=flow, mains_w=none, sun_w=none, **again))

    full = int(np.argmax(outcome.charge_ratio[:, 0] >= 0.99)) + 1
    assert example.value(code) == pytest.approx(full, rel=0.12, abs=1.5)


def test_worn_is_smaller_and_stiffer_and_drift_reads_too_much(example):
    system = system_of(wagon(), example)
    new, old = plant_of(system), plant_of(system, Conditions(worn=True))

    assert old.energy_wh[0] == pytest.approx(0.8 * new.energy_wh[0])
    assert old.resistance_ohm[0] == pytest.approx(1.5 * new.resistance_ohm[0])
    assert new.monitor_drift_per_day == 0 < plant_of(system, Conditions(drift=True)).monitor_drift_per_day


def test_shed_groups_are_the_loads_on_outputs_that_shed(example):
    plant = plant_of(system_of(wagon(), example))
    stops = look(system_of(wagon(), example), wagon())

    # drone packs and kettle, to go off below 30 %, hang on the inverter: no output lets them go
    assert [(g.below_ratio, g.keys) for g in plant.sheds] == [(0.2, ("satellite", "laptops"))]
    for stretch in stops:
        lines = {x.key: x.energy_wh for x in stretch.day.lines}
        for watts, shed in zip(stretch.shed_w, plant.sheds, strict=True):
            assert watts.sum() == pytest.approx(sum(lines[key] for key in shed.keys))
        assert stretch.load_w.sum() == pytest.approx(math.fsum(lines.values()))


def test_without_a_battery_there_is_no_outlook():
    found = appraise(wagon(catalogue=[p for p in raw()["catalogue"] if p["kind"] != "battery"]))

    assert found.outlook is None
    assert not any(code.startswith("trip.") for code in found.figures)


def test_an_appraisal_from_before_still_reads(example):
    kept = json.loads(example.model_dump_json())
    del kept["outlook"]

    assert Appraisal.model_validate_json(json.dumps(kept)).outlook is None
    assert Appraisal.model_validate_json(example.model_dump_json()) == example


@pytest.fixture(scope="module")
def lead() -> Appraisal:
    return appraise(brief(12, "agm", "small"))


def test_a_cold_lead_acid_battery_holds_less_and_says_so(lead):
    found = system_of(brief(12, "agm", "small"), lead)

    warm, cold = plant_of(found), plant_of(found, cell_c=10.0)

    assert warm.energy_wh[0] / cold.energy_wh[0] == pytest.approx(1.19)  # P: IEEE 485 table 1 at 10 °C
    assert warm.available_ratio[0] < 1  # its wells
    assert_worded(lead)
    assert_sums_follow(lead)


def test_what_goes_dark_is_said_where_no_load_is_essential():
    asked = wagon(**{f"trip.{i}.{name}": value for i in (0, 1) for name, value in
                     (("driving_h_per_day", 0.0), ("shade_ratio", 1.0))}, policy={"weather_draws": 50})  # fmt: skip
    loads = tuple(x.model_copy(update={"essential": False}) for x in asked.loads)

    marked, none = (appraise(x) for x in (asked, asked.model_copy(update={"loads": loads})))

    assert {x.outlook.dark.chance_ratio for x in (marked, none)} == {1.0}
    assert "nothing_essential" in {f.code for f in none.findings}
    assert "nothing_essential" not in {f.code for f in marked.findings}
    assert_worded(none)


def test_days_to_flat_are_those_of_the_stop_where_they_are_fewest():
    # both ask the same, and the cold one leaves a lead-acid bank a third less
    asked = brief(12, "agm", "small")
    warm = asked.trip[0].site.model_copy(update={"tmin_c": (22.0,) * 12, "tmax_c": (30.0,) * 12})
    cold = warm.model_copy(update={"tmin_c": (-5.0,) * 12, "tmax_c": (3.0,) * 12})
    lamp = asked.loads[1].model_copy(update={"use": Steady(power_w=100, hours_per_day=5)})
    both = [asked.trip[0].model_copy(update={"site": site}) for site in (warm, cold)]
    asked = asked.model_copy(update={"trip": tuple(both), "loads": (lamp,)})
    found, alone = appraise(asked), {}
    for name, trip in (("both", both), ("warm", both[:1]), ("cold", both[1:])):
        trial = asked.model_copy(update={"trip": tuple(trip)})
        system = assemble(trial, found.chosen, Catalogue(trial))
        curve = losses_of(trial, system)
        days = tuple(day_of(system, stop, i, curve) for i, stop in enumerate(trial.trip))
        looked = look_ahead(system, days, with_year=False)
        alone[name] = looked.outlook.flat_days

    assert alone["both"] == alone["cold"] < alone["warm"]


def test_a_cold_month_has_less_battery(lead):
    cold = brief(12, "agm", "small")
    site = cold.trip[1].site.model_copy(update={"tmin_c": (-5.0,) * 12, "tmax_c": (3.0,) * 12})
    cold = cold.model_copy(update={"trip": tuple(s.model_copy(update={"site": site}) for s in cold.trip)})

    found = appraise(cold)

    lines = {s.code: s.value for s in found.figure("trip.flat_days").steps}
    assert lines["temperature_factor"] > 1.3
    assert_sums_follow(found)


MEAN_WEATHER = {
    "wagon": lambda: wagon(),
    "tilted": lambda: wagon(**{"wishes.panel_tilt_deg": 25.0}),
    "one output for all": lambda: wagon(catalogue=[*raw()["catalogue"], MULTI], **{"trip.0.mains_h_per_day": 24.0}),
    "cold nights": lambda: wagon(**{"trip.0.site.tmin_c": [-12.0] * 12, "trip.0.site.tmax_c": [4.0] * 12}),
    "runs down": lambda: wagon(**{"wishes.solar_charging": False, "trip.0.driving_h_per_day": 0.5}),
    "trailer left behind": lambda: read(caravan()),
    "24 V with a converter": lambda: read(truck()),
}


@pytest.mark.parametrize("case", MEAN_WEATHER)
def test_in_mean_weather_it_is_the_balance_of_the_stops(case):
    """Two ways to the same hours: plain Python for a mean day that repeats, and the simulation of every hour."""
    made = MEAN_WEATHER[case]()
    example = appraise(made)
    wired = as_wired(system_of(made, example), example.circuits, example.shortfalls, Book())
    curve = losses_of(wired.brief, wired)
    stretches = [
        stretch_of(wired, i, stop, day_of(wired, stop, i, curve), np.ones((math.ceil(stop.days), 1)))
        for i, stop in enumerate(wired.brief.trip)
    ]
    known = plant_of(wired, cell_c=min(s.cell_c for s in stretches))
    assert known is not None
    # the balance knows no voltage: neither does this battery
    plant = replace(known, open_circuit=(), resistance_ohm=None, backstop_v=0.0)

    charge = simulate(plant, course_of(stretches)).charge_ratio[:, 0]

    ends = np.cumsum([24 * s.days for s in stretches])
    for stop, end in zip(example.stops, ends, strict=True):
        assert charge[end - 24 : end] == pytest.approx(stop.charge_ratio, abs=1e-9)
