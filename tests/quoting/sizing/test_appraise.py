"""The pipeline: figures add up, single inputs move the right way, what is missing is said, results are keyed."""

import hashlib
import json
import math

import pytest

from quoting.sizing import brief as briefs
from quoting.sizing.appraisal import METHOD_VERSION, Appraisal
from quoting.sizing.appraise import appraise, brief_sha256, canonical
from quoting.sizing.battery import temperature_factor
from quoting.sizing.cells import bank_cells_c
from quoting.sizing.days import day_of, losses_of
from quoting.sizing.errors import SizingError
from quoting.sizing.parts import Catalogue
from quoting.sizing.system import assemble
from tests.quoting.sizing.sums import follow
from tests.quoting.sizing.wagon import raw, wagon
from tests.quoting.sizing.worded import assert_worded

EXPECTED = (
    "day.energy_wh", "day.charge_ah", "day.peak_a", "day.live_wh", "day.away_wh", "battery.asked_ah", "battery.got_ah",
    "battery.days", "battery.peak_a", "engine.headroom_idle_a", "engine.headroom_speed_a", "engine.input_a",
    "engine.output_a", "engine.hour_gives_ah", "mains.hours_to_full", "mains.outlet_a", "sun.day_wh", "sun.asked_wh",
    "sun.got_wh", "sun.array_w", "sun.cold_voc_v", "inverter.asked_w", "inverter.surge_w", "inverter.got_w",
    "inverter.input_a", "starter.days_parked", "cooling.fridge.duty", "battery.years", "parked.damage_days",
    "starter.recharge_min",
)  # fmt: skip
GOLDEN = ("2026.11.11", "025145b6063a9274099348ff3341f5086a50d0710d02f2548dab16743b8fa0c2")
"""METHOD_VERSION and sha256 of the example's Appraisal. When this fails because the same Brief now leads to another
Appraisal, bump METHOD_VERSION and write both here."""


@pytest.fixture(scope="module")
def example() -> Appraisal:
    return appraise(wagon())


def codes(appraisal):
    return {f.code for f in appraisal.findings}


def test_every_figure_is_there_with_its_working(example):
    assert set(EXPECTED) <= set(example.figures)
    for code, figure in example.figures.items():
        assert figure.code == code
        assert follow(figure) == pytest.approx(figure.value, rel=1e-6), code


def test_every_line_of_the_audit_follows_from_its_steps(example):
    for line in example.loads:
        figure = example.figures["day.energy_wh"].model_copy(update={"code": line.key, "steps": line.steps})
        assert follow(figure) == pytest.approx(line.energy_wh, rel=1e-6), line.key


def test_parts_add_up_to_the_whole(example):
    total = example.value("day.energy_wh")

    assert math.fsum(x.energy_wh for x in example.loads) == pytest.approx(total)
    assert example.value("day.live_wh") + example.value("day.away_wh") == pytest.approx(total)
    assert math.fsum(example.profile_w) == pytest.approx(total)
    assert any(x.own_draw for x in example.loads)


def test_energy_adds_up_at_every_stop(example):
    brief = wagon()
    system = assemble(brief, example.chosen, Catalogue.of(brief))
    losses = losses_of(brief, system)
    warmth = [
        bank_cells_c(system, stop, day_of(system, stop, i, losses).ambient_c) for i, stop in enumerate(brief.trip)
    ]
    # the bank holds what the cold of the coldest stop leaves it
    bank_wh = example.value("battery.got_ah") * 12.8 / temperature_factor("lifepo4", min(sum(x) / 24 for x in warmth))
    for stop in example.stops:
        flows = math.fsum(stop.taken_w) - math.fsum(stop.given_w) - stop.loss_wh
        assert flows == pytest.approx((stop.end_ratio - stop.last_day_start_ratio) * bank_wh, abs=1e-6)
        offered = stop.engine_wh + stop.mains_wh + stop.sun_wh
        assert math.fsum(stop.taken_w) + stop.spilled_wh == pytest.approx(offered)


def test_charge_is_carried_from_stop_to_stop(example):
    assert example.stops[0].start_ratio == 1
    assert example.stops[1].start_ratio == example.stops[0].end_ratio


def test_what_is_got_meets_what_is_asked(example):
    assert example.value("battery.got_ah") >= example.value("battery.asked_ah")
    assert example.value("sun.got_wh") >= example.value("sun.asked_wh") * 0.999
    assert example.value("inverter.got_w") >= example.value("inverter.asked_w")
    assert example.value("engine.input_a") <= example.value("engine.headroom_idle_a")
    assert example.value("mains.hours_to_full") <= 12.0


def test_a_new_battery_outlasts_a_worn_one(example):
    assert {x.key for x in example.lasting} >= {
        "everything",
        "without_inverter",
        "always_live",
        "essential",
        "load:fridge",
    }
    assert all(x.new_h > x.worn_h > 0 for x in example.lasting)


def test_sources_are_summed_for_the_owner(example):
    found = {x.source: x for x in example.sources}

    assert set(found) == {"engine", "mains", "sun", "together"}
    assert found["mains"].hours_to_full < 12
    alone = [found[x] for x in ("engine", "mains", "sun")]
    assert found["together"].current_a == pytest.approx(sum(x.current_a for x in alone))  # each by a part of its own
    assert found["together"].hours_to_full < min(x.hours_to_full for x in alone)
    hungriest = max(example.stops, key=lambda stop: stop.load_wh)
    assert {x.stop_index for x in example.sources} == {hungriest.index}


PAIRS = [
    # place, value, figure, direction
    ("loads.0.use.power_w", 90.0, "day.energy_wh", 1),
    ("loads.0.use.rated_duty_ratio", 0.5, "battery.asked_ah", 1),
    ("loads.7.use.hours_per_day", 5.0, "day.energy_wh", 1),
    ("loads.4.quantity", 5, "inverter.asked_w", 1),
    ("loads.6.use.power_w", 300.0, "inverter.input_a", -1),
    ("trip.1.month", 1, "cooling.fridge.duty", 1),
    ("trip.0.shade_ratio", 0.4, "sun.array_w", 1),
    ("wishes.autonomy_days", 3.0, "battery.asked_ah", 1),
    ("wishes.solar_share_ratio", 0.8, "sun.asked_wh", 1),
    ("vehicle.hot_idle_a", 60.0, "engine.headroom_idle_a", -1),
    ("vehicle.own_draw_a", 30.0, "engine.headroom_idle_a", 1),
    ("vehicle.alternator_a", 110.0, "engine.headroom_speed_a", -1),
    ("vehicle.standing_draw_a", 0.07, "starter.days_parked", -1),
    ("policy", {"design_margin_ratio": 1.3}, "battery.asked_ah", 1),
    ("policy", {"mains_full_h": 6.0}, "mains.asked_a", 1),
    ("policy", {"pv_loss_soiling_ratio": 0.1}, "sun.array_w", 1),
]


@pytest.mark.parametrize(("place", "value", "code", "direction"), PAIRS)
def test_one_input_moves_its_figure_the_right_way(example, place, value, code, direction):
    other = appraise(wagon(**{place: value}))

    assert direction * (other.value(code) - example.value(code)) > 0
    assert other.brief_sha256 != example.brief_sha256


def test_hotter_air_asks_for_more_and_gives_less(example):
    hot = appraise(wagon(**{"trip.1.site.tmax_c": [44.0] * 12, "trip.1.site.tmin_c": [30.0] * 12}))

    assert hot.value("battery.asked_ah") > example.value("battery.asked_ah")


def test_a_part_taken_out_of_the_catalogue_is_a_named_shortfall():
    catalogue = [p for p in raw()["catalogue"] if p["kind"] != "battery"]

    found = appraise(wagon(catalogue=catalogue))

    assert [(s.need.code, s.code) for s in found.shortfalls if s.need.code == "storage"] == [
        ("storage", "none_of_kind")
    ]
    assert "battery_missing" in codes(found)
    assert "battery.got_ah" not in found.figures
    assert found.value("battery.asked_ah") > 0  # the sums are still shown


def test_an_empty_catalogue_still_shows_the_sums():
    found = appraise(wagon(catalogue=[]))

    assert found.chosen == ()
    assert {s.need.code for s in found.shortfalls} >= {"storage", "engine_charging", "mains_charging", "inverting"}
    assert found.value("sun.array_w") > 0


def test_a_flat_battery_is_said_with_place_day_and_hour():
    found = appraise(wagon(**{
        "wishes.solar_charging": False, "trip.0.driving_h_per_day": 0.0, "trip.0.days": 6.0,
        "trip.1.driving_h_per_day": 0.0,
    }))  # fmt: skip

    flat = next(f for f in found.findings if f.code == "goes_flat")
    assert flat.params["name"] == "Cinder Ridge"
    assert found.stops[0].lowest_ratio < 0.3
    assert "sheds" in codes(found)
    assert "engine_no_driving" in codes(found)


MULTI = {
    "key": "multi", "kind": "multi_charger", "name": "Pellow MX-40", "part_number": "MX-40", "cost": "350.00",
    "spec": {
        "output_a": 40, "output_nominal_v": 12, "has_engine_input": True, "engine_a": 40, "input_nominal_v": 12,
        "stop_below_v": 11.5, "engine_efficiency_ratio": 0.88, "limit_steps_a": [10, 20, 30], "smart_alternator": True,
        "has_mains_input": True, "mains_a": 40, "mains_v": 230, "power_factor": 0.95, "mains_efficiency_ratio": 0.9,
        "has_solar_input": True, "solar_method": "mppt", "solar_a": 40, "max_voc_v": 60, "max_isc_a": 30,
        "start_margin_v": 1.0, "solar_efficiency_ratio": 0.96, "profiles": ["lifepo4"], "own_asleep_w": 0.2,
    },
}  # fmt: skip


def test_inputs_of_one_charger_share_its_output_but_not_the_engines_limit():
    found = appraise(wagon(catalogue=[*raw()["catalogue"], MULTI], **{"trip.0.mains_h_per_day": 24.0}))
    stop = found.stops[0]

    assert [c.role for c in found.chosen if c.part == "multi"] == ["multi_charger"]
    assert found.value("engine.output_a") == 20  # set for hot idle
    assert max(stop.mains_w) == pytest.approx(40 * 12.8)
    together = [e + m + s for e, m, s in zip(stop.engine_w, stop.mains_w, stop.sun_w, strict=True)]
    assert max(together) <= 40 * 12.8 + 1e-9  # its output current, at the bank's nominal voltage as every source
    everything = next(x for x in found.sources if x.source == "together")
    assert everything.current_a <= 40


def test_mains_does_not_charge_a_vehicle_that_is_being_driven():
    found = appraise(wagon(**{"trip.0.mains_h_per_day": 24.0, "trip.0.driving_start_h": 8.0}))
    stop = found.stops[0]

    assert all(m == 0 for m, e in zip(stop.mains_w[8:10], stop.engine_w[8:10], strict=True) if e > 0)
    assert sum(1 for m in stop.mains_w if m > 0) == 22  # 2.5 h of driving take two hours and half of a third
    said = next(f for f in found.findings if f.code == "mains_while_driving")
    assert said.params["lost_h"] == pytest.approx(2.5)
    assert "mains_while_driving" not in codes(appraise(wagon(**{"trip.0.mains_h_per_day": 10.0})))


def test_the_sun_is_counted_in_the_battery_s_own_volts(example):
    # an MPPT controller's watts make their current at 13.6 V; the bank is counted at 12.8 V
    steps = {s.code: s.value for s in example.figures["sun.got_wh"].steps}

    assert steps["at_charging_v"] == pytest.approx(12.8 / 13.6)


def test_a_vehicle_without_alternator_gets_no_engine_charger():
    found = appraise(wagon(**{"vehicle.alternator_control": "none"}))

    assert "no_alternator" in codes(found)
    assert all(c.role != "engine_charger" for c in found.chosen)
    assert "engine.input_a" not in found.figures


def test_an_idle_that_spares_next_to_nothing_is_warned_of():
    found = appraise(wagon(**{"vehicle.hot_idle_a": 44.0}))

    assert codes(found) & {"idle_deficit", "idle_deficit_any_setting"}


def test_twelve_volt_loads_on_24_v_want_a_converter():
    found = appraise(wagon(**{"wishes.system_v": 24, "loads.5.bus": "house12"}))

    assert "converter_needed" in codes(found)


def test_nights_under_zero_are_said_for_a_battery_that_takes_no_charge_then():
    found = appraise(wagon(**{"trip.0.site.tmin_c": [-6.0] * 12}))

    assert "battery_too_cold" in codes(found)


def test_impossible_sun_is_refused_with_its_place():
    with pytest.raises(SizingError, match=r"trip\[0\]\.site\.ghi_kwh_m2_day\[6\]"):
        appraise(wagon(**{"trip.0.site.ghi_kwh_m2_day": [11.0] * 12}))


@pytest.mark.parametrize(
    ("chemistries", "said"), [([], "wishes.chemistries is missing"), (["zinc"], "'zinc' is not known")]
)
def test_unknown_chemistry_is_refused(chemistries, said):
    with pytest.raises(SizingError, match=said):
        appraise(wagon(**{"wishes.chemistries": chemistries}))


def test_equal_briefs_give_equal_results_and_keys():
    first, second = wagon(), briefs.read(json.dumps(dict(reversed(raw().items()))))

    assert canonical(first) == canonical(second)
    assert brief_sha256(first) == brief_sha256(second)
    assert appraise(first) == appraise(second)


def test_appraisal_goes_through_json_unchanged(example):
    assert Appraisal.model_validate_json(example.model_dump_json()) == example


def test_same_brief_and_method_version_give_the_same_bytes(example):
    assert (METHOD_VERSION, digest(example)) == GOLDEN


def digest(appraisal):
    """Of every value to nine digits, so that another processor's last bit does not count."""
    plain = json.loads(json.dumps(appraisal.model_dump(mode="json")), parse_float=lambda x: f"{float(x):.9g}")
    return hashlib.sha256(json.dumps(plain, sort_keys=True, ensure_ascii=False).encode()).hexdigest()


HARD = {
    "agm, hot, weak alternator": {
        "wishes.chemistries": ["agm"], "vehicle.hot_idle_a": 44.0, "vehicle.hybrid": True,
        "trip.0.site.tmax_c": [46.0] * 12,
    },
    "nothing known": {
        "vehicle.hot_idle_a": None, "vehicle.own_draw_a": None, "vehicle.standing_draw_a": None,
        "vehicle.roof_width_m": None,
        "trip.0.site.record_low_c": None, "trip.0.driving_h_per_day": 0.0, "loads.5.bus": "starter",
    },
    "nothing to buy": {"catalogue": []},
    "too much": {"loads.6.use.power_w": 9000.0, "trip.0.days": 30.0, "wishes.solar_share_ratio": 3.0},
}  # fmt: skip


@pytest.mark.parametrize("changes", HARD.values(), ids=HARD)
def test_everything_an_appraisal_says_has_words(changes):
    assert_worded(appraise(wagon(**changes)))
