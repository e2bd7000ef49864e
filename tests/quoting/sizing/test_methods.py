"""Single methods by name, and the command that runs them: published values in, one clear line on bad input."""

import io
import json

import pytest
from django.core.management import call_command

from quoting import words
from quoting.sizing.errors import SizingError
from quoting.sizing.methods import METHODS, run
from tests.quoting.sizing.sums import follow
from tests.quoting.sizing.wagon import PLACE

NAMES = {
    "voltage-drop", "conductor-size", "ampacity", "short-circuit", "breaking-capacity", "peukert", "bank-ieee1013",
    "array-output", "cold-voltage", "inverter-losses", "refrigeration", "charge-time", "alternator-load",
    "tax-on-lines", "converter-input-current", "coupling-drop",
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
]


@pytest.mark.parametrize(("name", "inputs", "expected"), EXAMPLES)
def test_method_gives_the_published_value_and_shows_its_sum(name, inputs, expected):
    result = run(name, inputs)

    assert result.figure.value == pytest.approx(expected, rel=0.006)
    assert follow(result.figure) == pytest.approx(result.figure.value, rel=1e-6)
    assert all(line.code in words.STEP for line in result.figure.steps)
    assert result.figure.method in words.METHOD
    assert result.figure.source in words.SOURCE


def test_every_method_is_there_and_each_has_an_example():
    assert set(METHODS) == NAMES
    assert {name for name, _, _ in EXAMPLES} == NAMES


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
