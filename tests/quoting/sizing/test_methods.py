"""Single methods by name, and the command that runs them: published values in, one clear line on bad input."""

import io
import json
import math

import pytest
from django.core.management import call_command

from quoting import words
from quoting.sizing.command import known_sites
from quoting.sizing.errors import SizingError
from quoting.sizing.methods import METHODS, run
from tests.quoting.sizing.sums import follow
from tests.quoting.sizing.wagon import PLACE

NAMES = {
    "voltage-drop", "conductor-size", "ampacity", "short-circuit", "breaking-capacity", "peukert", "bank-ieee1013",
    "array-output", "cold-voltage", "inverter-losses", "refrigeration", "charge-time", "alternator-load",
    "tax-on-lines", "converter-input-current", "coupling-drop", "temperature-factor", "bank-lithium",
    "two-well-runtime", "resistance-by-temperature", "terminal-voltage", "cutout-charge", "compensated-voltage",
    "ventilation", "damage-days", "monitor-drift", "hours-to-full", "outlet-current", "cold-charge", "charger-heat",
    "starter-days-parked", "starter-recharge", "extraterrestrial", "hour-share", "clearness-quantile", "clear-sky",
    "tilted-day", "pv-hour", "shade-left", "site-estimate", "flat-days", "wilson-interval", "trip-simulation",
}  # fmt: skip

EXAMPLES = [
    # IEC 60228 class 5 at 70 °C, 20 A, 12 m loop, 6 mm²: 0.948 V [D on P]
    ("voltage-drop", {"current_a": "20", "run_m": "6", "area_mm2": "6", "conductor_c": "70"}, 0.948),
    ("voltage-drop", {"current_a": 10, "run_m": 5, "area_mm2": 2.5}, 0.798),
    # 20 A, 10 m one way, 3 %: 0.36 V; 2 × 10 × 20 × r / 1000 ≤ 0.36 → r ≤ 0.9 Ω/km → 25 mm² (0.780) [D on P]
    ("conductor-size", {"current_a": 20, "run_m": 10}, 25),
    # 33 CFR 183.425 table 5, for 10 mm²: 8 AWG, 105 °C, engine space, 4 to 6 bundled: 80 × 0.85 × 0.60 = 40.8 A [P]
    ("ampacity", {"area_mm2": 10, "ambient_c": 50, "bundled": 5, "engine_space": "yes"}, 40.8),
    # 12.8 V, 4 mΩ, 2 × 2 m of 35 mm² class 5, joints 0.5 mΩ: 1906 A [D on P]
    ("short-circuit", {"voltage_v": 12.8, "battery_ohm": "4 mohm", "run_m": 2, "joints_ohm": "0.5 mohm"}, 1906),
    # two parallel 3 mΩ at 13.6 V and 0.85 mΩ more: 13.6 / 2.35 mΩ = 5787 A; 2 kA of breaking capacity fall short
    (
        "breaking-capacity",
        {"voltage_v": 13.6, "battery_ohm": 0.003, "batteries": 2, "joints_ohm": 0.00085, "breaking_a": "2 kA"},
        2000 - 5787.2,
    ),
    ("peukert", {"capacity_ah": 120, "current_a": 120, "exponent": 1.4}, 0.3017),  # oracletutoring.ca [P]
    ("bank-ieee1013", {"daily_ah": 62, "autonomy_days": 3, "battery_c": 10}, 486.9),  # IEEE 1013 and 485 [D on M]
    ("array-output", {"power_w": 100, "irradiance_w_m2": 1000, "air_c": 30}, 80.9),  # pvlib 0.16.1 sapm_cell [L]
    (
        "array-output",
        {"power_w": 200, "irradiance_w_m2": 800, "cell_c": 55, "power_per_k": -0.004},
        140.8,
    ),  # pvwatts_dc [L]
    ("cold-voltage", {"voc_v": 22.3, "voc_per_k": -0.0029, "cold_c": -10}, 24.56),  # NEC 690.7 [D]
    # 8 W + 2 % + 4 % P²/2000 at 500 W: 523 W [D]
    (
        "inverter-losses",
        {
            "ac_w": 500,
            "continuous_w": 2000,
            "no_load_w": 8,
            "efficiency_half_ratio": 1000 / 1048,
            "efficiency_full_ratio": 2000 / 2128,
        },
        523.0,
    ),
    ("refrigeration", {"ua_w_per_k": 0.9, "ambient_c": 43, "inside_c": 4, "evaporator_k": 12}, 24.96),  # [D]
    ("charge-time", {"capacity_ah": 100, "current_a": 20}, 4.00),  # PyBaMM 26.10, Prada2013, from 20 % [L]
    ("alternator-load", {"output_a": 40, "source_v": 11.8}, 55.47),  # 40 × 14.4 / (0.88 × 11.8) [D]
    ("tax-on-lines", {"amounts": "13.15;27.35;4.95;118.65", "rate_ratio": 0.1, "rounding": "line"}, 16.43),  # by hand
    ("tax-on-lines", {"amounts": "13.15;27.35;4.95;118.65", "rate_ratio": 0.1}, 16.41),
    # 240 W / 0.92 / 23 V [D]
    ("converter-input-current", {"output_w": 240, "efficiency_ratio": 0.92, "bus_v": 23}, 11.34),
    # 30 A through two contacts of 2 mΩ, two pairs side by side: 60 mV [D]
    ("coupling-drop", {"current_a": 30, "pin_ohm": "2 mohm", "pairs": 2}, 0.06),
    ("temperature-factor", {"battery_c": 10}, 1.19),  # IEEE 485 table 1, 50 °F [M]
    ("bank-lithium", {"daily_ah": 140, "autonomy_days": 1.5}, 306.25),  # 140 × 1.5 / 0.9 / 0.8 × 1.05 [D]
    # Peukert: one hour at 100/20 × 20^(1/1.2) = 60.7 A; the wells agree there by construction [D]
    ("two-well-runtime", {"capacity_ah": 100, "exponent": 1.2, "current_a": "60.71 A"}, 1.0),
    # 5 mΩ × exp(12000 / 8.3145 × (1/273.15 − 1/298.15)) [D]
    (
        "resistance-by-temperature",
        {"chemistry": "flooded", "resistance_ohm": "5 mohm", "cell_c": 0},
        0.007787,
    ),
    # half charged, flooded, rests at 12.2 V [C]; 20 A × 5 mΩ [D]
    (
        "terminal-voltage",
        {"chemistry": "flooded", "charge_ratio": 0.5, "current_a": 20, "resistance_ohm": 0.005},
        12.1,
    ),
    # 11.5 + 0.35 + 0.25 V: 12.1 V, half way between 25 % (12.0 V) and 50 % (12.2 V) [D on C]
    (
        "cutout-charge",
        {"chemistry": "flooded", "cutout_v": 11.5, "drop_v": 0.35, "current_a": 50, "resistance_ohm": 0.005},
        0.375,
    ),
    ("compensated-voltage", {"stated_v": 14.4, "cell_c": 5}, 14.88),  # 14.4 + 6 × 4 mV × 20 K [D]
    ("ventilation", {"capacity_ah": 200}, 0.48),  # IEC 62485-2: 0.05 × 6 × 8 × 200 / 1000 [D on P]
    # 10 Ah left; 0.24 Ah asleep and 3 Ah / 30.4 a day [D]
    ("damage-days", {"capacity_ah": 100, "asleep_a": 0.01}, 29.54),
    ("monitor-drift", {"shed_below_ratio": 0.2, "days": 6}, 0.11),  # 0.2 − 6 × 0.015 [D]
    # as charge-time, 5 A of loads on top: PyBaMM 26.10, Prada2013, from 20 % [L]
    ("hours-to-full", {"capacity_ah": 100, "current_a": 25, "loads_a": 5, "stored_ratio": 1}, 4.00),
    ("outlet-current", {"output_a": 30, "efficiency_ratio": 0.91, "power_factor": 1}, 2.064),  # 432 / 0.91 / 230 [D]
    ("cold-charge", {"limit_a": 100, "cell_c": 5}, 50),  # half between 0 and 10 °C [C]
    # 47 °C and 3 K of its own 60 W: the maker's 75 % at 50 °C, and 75 % of 80 W is 60 W [D]
    ("charger-heat", {"output_w": 720, "air_c": 47}, 540),
    ("starter-days-parked", {"starter_ah": 70, "standing_draw_a": "35 mA"}, 33.33),  # 28 / 0.035 / 24 [D]
    ("starter-recharge", {"charging_a": 8}, 2.451),  # 200 × 5 / 3600 / 0.85 / 8 × 60 [D]
    # Duffie and Beckman, example 1.10.1: 43° north, 15 April, 33.8 MJ/m² [M]
    ("extraterrestrial", {"latitude_deg": 43, "month": 4}, 33.8 / 3.6),
    # Collares-Pereira and Rabl, sunset at 90°, 7.5° from noon: π/24 × (0.6598 + 0.4226 cos 7.5°) cos 7.5° [D on P]
    ("hour-share", {"latitude_deg": 0, "month": 3}, 0.1400),
    ("clearness-quantile", {"mean_clearness": 0.5, "share": 1}, 0.7646),  # Hollands and Huget's clearest day [D on P]
    # pvlib 0.16.1, Location(0, 0).get_clearsky(16 March, linke_turbidity=2), summed by five minutes [L]
    ("clear-sky", {"latitude_deg": 0, "month": 3}, 8.165),
    ("tilted-day", {"latitude_deg": -30, "month": 6, "ghi_kwh_m2_day": 3, "tilt_deg": 0}, 3.0),  # flat stays flat [D]
    # pvwatts_dc as above, through an MPPT; PWM: 10 A × 0.8 × 14.4 V [L, D]
    (
        "pv-hour",
        {
            "power_w": 200, "vmp_v": 20, "power_per_k": -0.004, "irradiance_w_m2": 800, "cell_c": 55,
            "efficiency_ratio": 1,
        },
        140.8,
    ),
    # 2 of 4 groups bypassed: 16 V of 32 V, over 14.4 V + 1 V [D]
    ("shade-left", {"shade_ratio": 0.375, "series": 2, "hot_v": 16}, 0.5),
    # a place that is in the library: its own row [D]
    ("site-estimate", {"latitude_deg": -32.74, "longitude_deg": 138.61, "elevation_m": 418, "month": 6}, 2.65),
    ("flat-days", {"capacity_ah": 100, "day_wh": 752}, 1.532),  # 100 × 12.8 × 0.9 / 752 [D]
    # scipy.stats.binomtest(10, 200).proportion_ci(method="wilson") [L]
    ("wilson-interval", {"hits": 10}, 0.08958),
    ("trip-simulation", {"capacity_wh": 1000, "load_w": 10}, 0.76),  # 24 h × 10 W of 1000 Wh [D]
]  # fmt: skip
SITES = known_sites()


@pytest.mark.parametrize(("name", "inputs", "expected"), EXAMPLES)
def test_method_gives_the_published_value_and_shows_its_sum(name, inputs, expected):
    result = run(name, inputs, SITES)

    assert result.figure.value == pytest.approx(expected, rel=0.006)
    assert follow(result.figure) == pytest.approx(result.figure.value, rel=1e-6)
    assert all(line.code in words.STEP for line in result.figure.steps)
    assert result.figure.method in words.METHOD
    assert result.figure.source in words.SOURCE


def test_every_method_is_there_and_each_has_an_example():
    assert set(METHODS) == NAMES
    assert {name for name, _, _ in EXAMPLES} == NAMES


def test_a_small_trip_conserves_energy_and_fills_by_sun_and_engine():
    sunny = {"capacity_wh": 1000, "start_ratio": 0.4, "load_w": 20, "sun_wh": 600, "driving_h": 2, "engine_w": 300}

    result = run("trip-simulation", {**sunny, "charge_efficiency_ratio": 1, "days": 3})

    assert result.also["given_wh"] == pytest.approx(3 * 24 * 20)
    assert result.also["taken_wh"] + result.also["spilled_wh"] == pytest.approx(3 * (600 + 600))
    assert result.also["unserved_wh"] == 0
    # full every evening; the sun's last hour gives (cos 165° + 1) / 2 of the day, then six hours give nothing
    last_wh = 600 * (1 + math.cos(math.radians(165))) / 2
    assert result.figure.value == pytest.approx(1 - (7 * 20 - last_wh) / 1000, abs=1e-6)


def test_pwm_takes_the_panels_current_at_the_batterys_voltage():
    module = {"power_w": 200, "vmp_v": 20, "irradiance_w_m2": 800, "cell_c": 55, "efficiency_ratio": 1}

    assert run("pv-hour", {**module, "controller": "pwm"}).figure.value == pytest.approx(10 * 0.8 * 14.4)
    assert run("pv-hour", {**module, "charging_v": 28.8, "controller": "pwm"}).also["starts"] is False


def test_a_device_that_cannot_break_the_fault_says_so():
    inputs = {"voltage_v": 13.6, "battery_ohm": 0.003, "batteries": 2, "breaking_a": 20000}

    assert run("breaking-capacity", inputs).also["breaks"] is True
    assert run("breaking-capacity", {**inputs, "breaking_a": 1000}).also["breaks"] is False


@pytest.mark.parametrize(("name", "inputs", "said"), [
    ("voltage-drop", {"run_m": 5, "area_mm2": 6}, r"current_a is missing \[A\]"),
    ("voltage-drop", {"current_a": "1,500", "run_m": 5, "area_mm2": 6}, "can mean 1.5 or 1500"),
    ("voltage-drop", {"current_a": 5, "run_m": -1, "area_mm2": 6}, "run_m is -1 m; it must be at least 0 m"),
    ("voltage-drop", {"current_a": 5, "run_m": 5, "area_mm2": 5.5}, "no IEC 60228 size"),
    ("voltage-drop", {"current_a": "5 V", "run_m": 5, "area_mm2": 6}, "not a unit of this field"),
    ("voltage-drop", {"amps": 5}, "has no such input; it has current_a"),
    ("peukert", {"capacity_ah": float("nan"), "current_a": 5, "exponent": 1.2}, "capacity_ah is nan"),
    ("peukert", {"capacity_ah": 100, "current_a": 5, "exponent": 3}, "exponent is 3; it must be at least 1"),
    ("refrigeration", {"ua_w_per_k": 1, "ambient_c": 0, "inside_c": 4}, "ambient_c is 0"),
    ("tax-on-lines", {"amounts": "", "rate_ratio": 0.1}, "amounts is missing"),
    ("tax-on-lines", {"amounts": "1;x", "rate_ratio": 0.1}, "“x” is not a number"),
    ("tax-on-lines", {"amounts": "1", "rate_ratio": 0.1, "half": "even"}, "choose among up, down"),
    ("cold-voltage", {"voc_v": 22, "voc_per_k": -0.003, "cold_c": -10, "series": 1.5}, "must be a whole number"),
    ("alternator-load", {"output_a": 40, "source_v": 12, "feed_ohm": 0.5}, "output_w is 576"),
    ("guess", {}, "'guess' is none of voltage-drop"),
    ("site-estimate", {"latitude_deg": 1, "longitude_deg": 2, "elevation_m": 3, "month": 4}, "sites is missing"),
    ("hours-to-full", {"capacity_ah": 100, "current_a": 5, "loads_a": 6}, "loads_a is 6.0 A; it must be"),
    ("wilson-interval", {"hits": 3, "draws": 2}, "hits is 3; it must be at least 0 and at most 2"),
    ("charger-heat", {"output_w": 1, "air_c": 1, "ends_at_c": 30}, "ends_at_c is 30.0 °C; it must be at least 40 °C"),
])  # fmt: skip
def test_bad_inputs_are_refused_by_name(name, inputs, said):
    with pytest.raises(SizingError, match=said):
        run(name, inputs)


def command(*arguments, **options):
    """(exit code, standard output, standard error) of the command."""
    out, err = io.StringIO(), io.StringIO()
    code = 0
    try:
        call_command("appraise", *arguments, stdout=out, stderr=err, no_color=True, **options)
    except SystemExit as stopped:
        code = stopped.code
    return code, out.getvalue(), err.getvalue()


def test_command_works_out_the_example(tmp_path):
    target = tmp_path / "appraisal.json"

    code, out, err = command(str(PLACE), "--out", str(target), "--indent", "1")

    found = json.loads(target.read_text(encoding="utf-8"))
    assert (code, out, err) == (0, "", "")
    assert found["version"] == "loomwright.appraisal/1"
    assert found["figures"]["battery.asked_ah"]["unit"] == "Ah"
    assert found["figures"]["battery.asked_ah"]["steps"]


@pytest.mark.parametrize("which", ["brief", "appraisal", "method"])
def test_command_prints_versioned_schemas(which):
    code, out, _ = command("--schema", which)

    schema = json.loads(out)
    assert code == 0
    assert schema["$id"] == f"urn:loomwright.{which}/1"
    assert schema["properties"]["version"]["const"] == f"loomwright.{which}/1"


@pytest.mark.parametrize(("which", "field"), [("trial", "shade_ratio"), ("outlook", "charge_low"), ("tornado", "bars")])
def test_command_prints_schemas_of_what_is_tried_and_asked(which, field):
    schema = json.loads(command("--schema", which)[1])

    assert schema["$id"] == f"urn:loomwright.{which}/1"
    assert field in schema["properties"]


def test_command_tells_what_a_figure_is_most_sensitive_to():
    code, out, _ = command(str(PLACE), "--sensitivity", "battery.got_ah")

    assert code == 0
    assert [bar["code"] for bar in json.loads(out)["bars"]] == ["parallel", "capacity_each"]


def test_command_works_a_trial_beside_a_brief(tmp_path):
    trial = tmp_path / "trial.json"
    trial.write_text('{"sun_ratio": 0.5, "worn": true}', encoding="utf-8")

    code, out, err = command(str(PLACE), "--try", str(trial))

    found = json.loads(out)
    moved = {row["code"]: row for row in found["moved"]}
    assert (code, err) == (0, "")
    assert found["trial"]["sun_ratio"] == 0.5
    assert moved["lowest_low"]["after"] < moved["lowest_low"]["before"]
    assert moved["lowest_low"]["better"] is False


@pytest.mark.parametrize(("trial", "said"), [
    ('{"sun_ratio": 2}', "sun_ratio is 2; it must be at least 0 and at most 1.5."),
    ('{"month": "June"}', "month is 'June'; it must be at least 1 and at most 12."),
    ('{"stop": 7}', "trial.stop is 7; it must be at least 0 and at most 1."),
    ('{"colour": 1}', "colour: Extra inputs are not permitted (got 1)"),
    ("[]", "trial: Input should be an object"),
])  # fmt: skip
def test_command_refuses_a_trial_in_one_line(tmp_path, trial, said):
    place = tmp_path / "trial.json"
    place.write_text(trial, encoding="utf-8")

    code, out, err = command(str(PLACE), "--try", str(place))

    assert (code, out, err.count("\n")) == (2, "", 1)
    assert said in err


def test_schema_of_the_brief_knows_units_and_ranges():
    schema = json.loads(command("--schema", "brief")[1])

    power = schema["$defs"]["Steady"]["properties"]["power_w"]
    assert (power["unit"], power["minimum"], power["maximum"]) == ("W", 0.01, 20000)


def test_command_lists_every_method_with_units_and_ranges():
    code, out, _ = command("--list")

    assert code == 0
    assert all(f"{name}:" in out for name in NAMES)
    assert "  run_m [m] 0 to 200: One-way length; the return is added." in out


def test_command_works_one_method():
    code, out, _ = command("--method", "voltage-drop", "current_a=20 A", "run_m=6", "area_mm2=6 mm2", "conductor_c=70")

    found = json.loads(out)
    assert code == 0
    assert found["version"] == "loomwright.method/1"
    assert found["figure"]["value"] == pytest.approx(0.948, abs=0.001)


@pytest.mark.parametrize(("arguments", "said"), [
    (["/no/such/file.json"], "cannot be read: No such file or directory"),
    (["--method", "peukert", "capacity_ah=100", "capacity_ah=90"], "capacity_ah is given twice"),
    (["--method", "peukert", "=5"], "write name=value"),
    (["--method", "peukert"], "capacity_ah is missing"),
    ([str(PLACE), "--indent", "99"], "--indent is 99"),
    ([str(PLACE), "--out", "/no/such/folder/x.json"], "cannot be written"),
    ([str(PLACE), "current_a=5"], "inputs go with --method"),
    ([str(PLACE), "--sensitivity", "battery.guess"], "'battery.guess' is no figure of this Appraisal"),
    ([str(PLACE), "--try", "/no/such/trial.json"], "cannot be read: No such file or directory"),
    ([str(PLACE), "--try", "x", "--sensitivity", "y"], "are two questions; ask one"),
])  # fmt: skip
def test_command_refuses_in_one_line(arguments, said):
    code, out, err = command(*arguments)

    assert (code, out) == (2, "")
    assert said in err
    assert err.count("\n") == 1
