"""Cut-outs of appliances under the sag of battery and circuits, against sums by hand."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting import words
from quoting.sizing import cells, cutouts
from quoting.sizing.appraise import appraise
from quoting.sizing.battery_volts import bank_curve, resistance_ratio
from quoting.sizing.brief import read
from quoting.sizing.errors import SizingError
from quoting.sizing.loads import ambient_by_hour
from quoting.sizing.outlook import CutOut
from quoting.sizing.parts import Catalogue
from quoting.sizing.simulation.plant import Course, Plant
from quoting.sizing.simulation.run import simulate
from quoting.sizing.system import Book, assemble
from tests.quoting.sizing import systems_case
from tests.quoting.sizing.wagon import raw, wagon


def found_for(brief, cell_c=25.0, left_ratio=1.0):
    appraisal = appraise(brief)
    system = assemble(brief, appraisal.chosen, Catalogue.of(brief))
    found = cutouts.find(system, appraisal.circuits, appraisal.loads, appraisal.value("day.peak_a"), cell_c, left_ratio)
    return appraisal, system, {x.key: x for x in found}


@pytest.fixture(scope="module")
def example():
    return found_for(wagon())


def test_charge_is_where_the_voltage_left_is_the_cut_out():
    # 12 V AGM: 11.0 V for the appliance, 0.4 V on the way, 100 A through 8 mohm: 12.2 V at rest, 0.35 of charge
    # (12.1 V at 0.25, 12.35 V at 0.5)
    ratio = cutouts.stops_at_ratio(bank_curve("agm", 12), 11.0, 0.4, 100.0, 0.008)

    assert ratio == pytest.approx(0.25 + 0.25 * 0.1 / 0.25)


def test_the_battery_s_own_protection_may_open_before():
    curve = bank_curve("lifepo4", 12)

    assert cutouts.stops_at_ratio(curve, 10.0, 0.3, 10.0, 0.004, opens_v=10.4) is None
    assert cutouts.stops_at_ratio(curve, 10.0, 0.3, 1000.0, 0.004, opens_v=10.0) == 1.0


@settings(max_examples=60)
@given(st.floats(9, 13), st.floats(0, 2), st.floats(0, 400), st.floats(0, 0.05), st.floats(0, 0.5))
def test_more_drop_current_or_resistance_never_lets_it_run_lower(cutout_v, drop_v, current_a, ohm, more):
    curve = bank_curve("flooded", 12)
    here = cutouts.stops_at_ratio(curve, cutout_v, drop_v, current_a, ohm) or 0.0

    for changed in (
        (cutout_v + more, drop_v, current_a, ohm),
        (cutout_v, drop_v + more, current_a, ohm),
        (cutout_v, drop_v, current_a * (1 + more), ohm),
        (cutout_v, drop_v, current_a, ohm * (1 + more)),
    ):
        assert (cutouts.stops_at_ratio(curve, *changed) or 0.0) >= here - 1e-9


def test_drops_are_those_of_the_circuits_on_the_way(example):
    appraisal, _, found = example
    own = next(c for c in appraisal.circuits if "fridge" in c.loads)

    # everything that runs at once flows through the main, so the design's own total is what is lost
    assert found["fridge"].drop_v == pytest.approx(own.drop_total_v, rel=0.02)
    assert found["fridge"].cutout_v == 10.4


def test_starting_current_adds_its_sag_and_its_drops(example):
    appraisal, system, found = example
    fridge, satellite = found["fridge"], found["satellite"]
    own = next(c for c in appraisal.circuits if "fridge" in c.loads)
    feed = next(c for c in appraisal.circuits if c.target == own.source)
    main = next(c for c in appraisal.circuits if c.role == "battery_main" and c.target == "W1")
    more_a = 3 * next(x.running_a for x in appraisal.loads if x.key == "fridge")  # four times to start
    loop_ohm = own.drop_v / own.current_a + feed.drop_v / feed.current_a + main.drop_total_v / main.current_a
    one, can = system.storage
    bank_ohm = can.resistance_ohm / one.parallel

    needed_v = fridge.cutout_v + fridge.drop_v + more_a * loop_ohm
    needed_v += (appraisal.value("day.peak_a") + more_a) * bank_ohm
    rest = dict(bank_curve("lifepo4", 12))  # between 5 and 10 % it rises by 0.77 V
    expected = 0.05 + 0.05 * (needed_v - rest[0.05]) / (rest[0.10] - rest[0.05])
    assert fridge.start_stops_at_ratio == pytest.approx(expected, rel=1e-6)
    assert satellite.start_stops_at_ratio == satellite.stops_at_ratio  # nothing more to start


def test_appliances_behind_the_inverter_stop_at_its_cut_off(example):
    _, system, found = example

    assert {found[k].cutout_v for k in ("drone", "kettle")} == {system.inverter[1].cutoff_v}


def test_what_states_no_voltage_or_has_a_converter_of_its_own_is_left_out(example):
    assert {"lights", "laptops"}.isdisjoint(example[2])


def test_cold_cells_cut_out_earlier(example):
    _, system, warm = example
    cold = found_for(wagon(), cell_c=-5.0)[2]

    assert resistance_ratio("lifepo4", -5.0) > 2
    assert all(cold[k].stops_at_ratio > warm[k].stops_at_ratio for k in warm)
    air = [ambient_by_hour(s.site, s.month) for s in system.brief.trip]
    assert cells.coldest_c(system, air) >= min(min(x) for x in air)


@pytest.mark.parametrize(("chemistry", "cutout_v"), [("lifepo4", 10.6), ("flooded", 11.3)])
def test_the_simulation_s_voltage_passes_the_cut_out_at_that_charge(chemistry, cutout_v):
    # 600 W for hours from 1.2 kWh, at the nominal voltage 50 A; 0.4 V on the way, 10 mohm
    def column(value, rows=1):
        return np.full((rows, 1) if rows > 1 else 1, float(value))

    curve, rows, step_h = bank_curve(chemistry, 12), 120, 1 / 60
    plant = Plant(
        energy_wh=column(1200), charge_limit_w=column(0), discharge_limit_w=column(1e4), tail_h=column(1),
        charge_efficiency_ratio=column(1), nominal_v=12.0, available_ratio=column(1), well_rate_per_h=column(1),
        open_circuit=curve, resistance_ohm=column(0.01),
    )  # fmt: skip
    none, load = np.zeros((rows, 1)), column(600, rows)
    course = Course(
        step_h=step_h, load_w=load, essential_w=load, shed_w=(), engine_w=none, mains_w=none, sun_w=none,
        charge_share=column(1, rows), resistance_ratio=column(1, rows), peak_w=load,
    )  # fmt: skip

    found = simulate(plant, course)

    low = int(np.argmax(found.volts_v[:, 0] < cutout_v + 0.4))
    expected = cutouts.stops_at_ratio(curve, cutout_v, 0.4, 50.0, 0.01)
    assert low > 0
    assert found.charge_ratio[low, 0] == pytest.approx(expected, abs=600 * step_h / 1200 + 1e-9)


def test_a_worn_battery_cuts_out_earlier(example):
    worn = found_for(wagon(), left_ratio=0.8)[2]

    assert all(worn[k].stops_at_ratio > one.stops_at_ratio for k, one in example[2].items())


def test_the_inverter_s_cut_off_is_held_against_a_cold_battery():
    catalogue = raw()["catalogue"]
    for part in catalogue:
        if part["kind"] == "battery":
            part["spec"]["resistance_ohm"] = 0.024  # three side by side: 8 mohm, near 1 V at 120 A
    cold = {f"trip.{i}.site.{name}": [-9.0] * 12 for i in (0, 1) for name in ("tmin_c", "tmax_c")}

    warm, freezing = appraise(wagon(catalogue=catalogue)), appraise(wagon(catalogue=catalogue, **cold))

    assert "sags_below_cutoff" not in {f.code for f in warm.findings}
    said = next(f for f in freezing.findings if f.code == "sags_below_cutoff")
    assert said.params["voltage_v"] < said.params["cutoff_v"]


def test_behind_a_converter_its_lowest_input_counts():
    raw = systems_case.truck()
    raw["loads"][2]["min_voltage_v"] = 11.0  # the radio's own does not: its voltage is regulated
    for part in raw["catalogue"]:
        if part["kind"] == "voltage_converter":
            part["spec"]["input_min_v"] = 22.0

    appraisal, _, found = found_for(read(raw))

    assert {x.cutout_v for x in found.values()} == {22.0}
    before = next(c for c in appraisal.circuits if c.role == "converter_input")
    assert found["radio"].drop_v == pytest.approx(before.drop_total_v, rel=0.3)
    assert found["radio"].drop_v >= before.drop_v


def test_a_12_v_value_on_a_24_v_bus_is_left_to_its_own_finding():
    raw = systems_case.truck()
    raw["loads"][0]["min_voltage_v"] = 10.5

    appraisal, _, found = found_for(read(raw))

    assert "pump" not in found
    assert "cutout_of_12_v" in {f.code for f in appraisal.findings}


def test_without_a_stated_resistance_nothing_is_said():
    raw = systems_case.truck()
    for part in raw["catalogue"]:
        if part["kind"] == "battery":
            part["spec"].pop("resistance_ohm")

    assert found_for(read(raw))[2] == {}


def cutout(stops, start):
    return CutOut(key="fridge", name="Fridge", cutout_v=11.0, drop_v=0.4, stops_at_ratio=stops,
                  start_stops_at_ratio=start)  # fmt: skip


@pytest.mark.parametrize(
    ("stops", "start", "code"),
    [
        # usable down to 0.1; the first loads are shed at 0.3
        (None, None, None),
        (0.1, 0.105, None),
        (0.2, 0.25, "cuts_out_early"),
        (0.35, 0.4, "cuts_out_before_shedding"),
        (0.05, 0.2, "cuts_out_starting"),
        (None, 0.2, "cuts_out_starting"),
    ],
)
def test_an_essential_appliance_that_goes_dark_too_soon_is_told(example, stops, start, code):
    _, system, _ = example
    book = Book()

    cutouts.note(system, (cutout(stops, start), cutout(0.9, 0.9).model_copy(update={"key": "satellite"})), book)

    assert [f.code for f in book.findings] == ([code] if code else [])
    for found in book.findings:
        said = " ".join(words.finding_words(found))
        assert "Fridge" in said
        assert "{" not in said


def test_impossible_values_are_refused():
    with pytest.raises(SizingError, match=r"current_a is -1 A; it must be at least 0 A"):
        cutouts.stops_at_ratio(bank_curve("agm", 12), 11.0, 0.4, -1, 0.008)
