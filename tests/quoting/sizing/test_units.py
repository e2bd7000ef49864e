"""Every unit that is typed or named here, against a general library of units: pint."""

from __future__ import annotations

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.quantities import UNITS, QuantityError, parse, typed
from quoting.sizing import brief
from quoting.sizing.methods import METHODS

REGISTRY = pint.UnitRegistry()
REGISTRY.define("cycle_of_use = []")
REGISTRY.define("money = []")

BASE = {
    "power": "W", "apparent": "VA", "current": "A", "voltage": "V", "energy": "Wh", "charge": "Ah", "resistance": "Ω",
    "resistance_length": "Ω/km", "length": "m", "area": "mm²", "surface": "m²", "mass": "kg", "time": "s",
    "temperature": "°C", "frequency": "Hz", "ratio": "%", "per_kelvin": "%/K", "compensation": "mV/K",
    "irradiation": "kWh/m²/day", "angle": "°", "per_day": "1/day", "cycles": "cycles", "speed": "m/s", "volume": "l",
    "air_flow": "m³/h",
}  # fmt: skip
"""A unit of each dimension, in which the others are read."""

SPELLED = {
    "Ω": "ohm", "Ohm": "ohm", "ohms": "ohm", "²": "**2", "³": "**3", "sqmm": "mm**2", "sq mm": "mm**2", "℃": "degC",
    "°C": "degC", "°c": "degC", "deg C": "degC", "percent": "percent", "per cent": "percent", "%": "percent",
    "a day": "1/day", "per day": "1/day", "×/day": "1/day", "x/day": "1/day", "/d": "/day", "litre": "liter",
    "metre": "meter", "inches": "inch", "feet": "foot", "lbs": "pound", "hr": "hour", "cycles": "cycle_of_use",
    "cycle": "cycle_of_use", "VA": "V*A", "Ah": "A*hour", "Wh": "W*hour", "MΩ": "megaohm", "Mohm": "megaohm",
    "mΩ": "milliohm", "mohm": "milliohm", "mOhm": "milliohm", "µΩ": "microohm", "µohm": "microohm", "uohm": "microohm",
    "kΩ": "kiloohm", "kohm": "kiloohm", "hz": "hertz", "Hz": "hertz", "°": "degree", "deg": "degree",
}  # fmt: skip


def in_pint(unit: str) -> pint.Unit:
    """Our spelling of a unit in pint's."""
    return REGISTRY.Unit("/".join(_one(part) for part in _spelled(unit).split("/")))


def _spelled(unit: str) -> str:
    if unit in ("/day", "1/day", "a day", "per day", "×/day", "x/day"):
        return "1/day"
    return unit.replace("kWh/m²/d", "kWh/m²/day").replace("/dayay", "/day").replace("/m2/d", "/m²/d")


def _one(part: str) -> str:
    part = part.replace("m3", "m**3").replace("m^3", "m**3").replace("m2", "m**2").replace("m^2", "m**2")
    part = part.replace("²", "**2").replace("³", "**3")
    if part == "d":
        return "day"
    for end in ("VA", "Ah", "Wh"):
        if part.endswith(end) and part != end:
            return f"{part.removesuffix(end)}{SPELLED[end]}"
    return SPELLED.get(part, part)


@pytest.mark.parametrize("unit", sorted(UNITS))
def test_a_unit_is_as_large_as_pint_has_it(unit):
    dimension = UNITS[unit].dimension
    base = BASE[dimension]

    ours = parse(f"1 {unit}", base)

    irradiation = dimension == "irradiation"  # a day's, whether or not the day is written
    theirs = (
        1.0 if irradiation or dimension == "temperature" else REGISTRY.Quantity(1, in_pint(unit)).m_as(in_pint(base))
    )
    assert ours == pytest.approx(theirs, rel=1e-12)


SHARED = sorted(u for u in UNITS if UNITS[u].dimension not in ("temperature", "irradiation"))


@given(st.sampled_from(SHARED), st.floats(1e-6, 1e6))
@settings(max_examples=200, deadline=None)
def test_there_and_back_is_the_same_number(unit, number):
    base = BASE[UNITS[unit].dimension]
    there = parse(f"{typed(number)} {unit}", base)

    back = REGISTRY.Quantity(there, in_pint(base)).m_as(in_pint(unit))

    assert back == pytest.approx(number, rel=1e-9)


@given(st.sampled_from(SHARED), st.sampled_from(SHARED))
@settings(max_examples=200, deadline=None)
def test_units_of_two_dimensions_never_mix(a, b):
    if UNITS[a].dimension == UNITS[b].dimension or {UNITS[a].dimension, UNITS[b].dimension} == {"area", "surface"}:
        return

    with pytest.raises(QuantityError):
        parse(f"1 {a}", b)


@pytest.mark.parametrize(("text", "unit", "number"), [
    ("2 1/day", "1/day", 2), ("2\xa01/day", "1/day", 2), ("-0.0029 1/K", "1/K", -0.0029), ("12 1/day", "1/day", 12),
])  # fmt: skip
def test_what_is_printed_with_a_unit_over_one_can_be_typed(text, unit, number):
    assert parse(text, unit) == number


def test_every_ending_of_a_name_means_a_unit_that_pint_knows():
    dimensions = {
        "_h_per_day": "hour", "hours_per_day": "hour", "_kwh_m2_day": "kWh/m**2/day", "_w": "watt", "_wh": "W*hour",
        "_ah": "A*hour", "_a": "ampere", "_v": "volt", "_ohm": "ohm", "_mm2": "mm**2", "_m": "m", "_kg": "kg",
        "_c": "degC", "_k": "kelvin", "_h": "hour", "_s": "second", "_deg": "deg", "days": "day", "minutes": "min",
    }  # fmt: skip

    assert set(brief.UNITS) == set(dimensions)
    for ending, unit in brief.UNITS.items():
        if unit == "°C":
            assert dimensions[ending] == "degC"
        else:
            assert REGISTRY.Quantity(1, in_pint(unit)).m_as(dimensions[ending]) == pytest.approx(1), ending


def test_every_unit_of_a_method_is_one_that_pint_knows():
    for method in METHODS.values():
        for x in method.inputs:
            if x.unit:
                in_pint(x.unit)


def test_schema_units_are_ones_that_pint_knows():
    schema = brief.Brief.model_json_schema()
    units = {
        field["unit"] for record in schema["$defs"].values() for field in record.get("properties", {}).values()
        if "unit" in field
    }  # fmt: skip

    assert len(units) > 10
    for unit in units - {""}:
        in_pint(unit)
