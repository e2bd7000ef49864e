"""Each kind: a good specification passes, every limit is refused with its range and unit."""

from __future__ import annotations

import pytest

from catalog import kinds, library
from catalog.capability_words import sentence
from catalog.form_fields import field_for
from catalog.forms import ComponentForm
from catalog.kinds.base import Field, Kind
from catalog.kinds.capabilities import (
    Capability,
    EngineCharging,
    Guarded,
    Isolating,
    Landing,
    MainsCharging,
    Protecting,
    Sensing,
    SolarControl,
    Storage,
    Switching,
)
from catalog.kinds.schema import json_schema
from catalog.kinds.uses import WAYS
from catalog.specs import rating_text, rows
from catalog.words import problem_sentence
from quoting.sizing import brief
from quoting.sizing.conductor_tables import CLASS_5_OHM_PER_KM_20C

ALL = list(kinds.all_kinds())
LIMITED = [(kind, field) for kind in ALL for field in kind.fields if field.type in ("number", "integer")]


def example_of(kind: Kind) -> dict:
    return next(entry["spec"] for entry in library.COMPONENTS if entry["kind"] == kind.code)


@pytest.mark.parametrize("entry", library.COMPONENTS, ids=lambda entry: entry["name"])
def test_library_entry_is_a_good_specification(entry):
    kind = kinds.get(entry["kind"])

    spec = kind.clean(entry["spec"])

    assert set(spec) == kind.names
    assert all(isinstance(c, Capability) for c in kind.capabilities(spec))
    assert kind.capabilities(spec)
    assert kind.clean(spec) == spec  # what is stored can be saved again


def test_library_has_every_kind_and_both_voltages():
    assert {entry["kind"] for entry in library.COMPONENTS} == {kind.code for kind in ALL}
    batteries = [e["spec"] for e in library.COMPONENTS if e["kind"] == "battery"]
    assert {b["chemistry"] for b in batteries} == {"lifepo4", "agm", "gel", "flooded"}
    assert {25.6, 12.8} <= {b["nominal_v"] for b in batteries}


def test_library_has_a_terminal_for_every_cable():
    areas = {e["spec"]["area_mm2"] for e in library.COMPONENTS if e["kind"] == "cable"}
    terminals = {e["spec"]["area_mm2"] for e in library.COMPONENTS if e["kind"] == "terminal"}

    assert areas == terminals == set(CLASS_5_OHM_PER_KM_20C)


def test_cables_have_the_resistance_of_their_class():
    """IEC 60228:2023 table 3, class 5, plain copper (M, through the sizing's own table)."""
    for entry in library.COMPONENTS:
        if entry["kind"] == "cable":
            assert entry["spec"]["ohm_per_km_20c"] == CLASS_5_OHM_PER_KM_20C[entry["spec"]["area_mm2"]], entry["name"]


def test_library_has_a_holder_for_every_fuse():
    holders = [e["spec"] for e in library.COMPONENTS if e["kind"] == "fuse_holder"]
    for entry in library.COMPONENTS:
        if entry["kind"] == "fuse":
            fuse = entry["spec"]
            assert any(h["series"] == fuse["series"] and h["max_rating_a"] >= fuse["rating_a"] for h in holders), entry


@pytest.mark.parametrize(("kind", "field"), LIMITED, ids=lambda x: getattr(x, "code", getattr(x, "name", "")))
@pytest.mark.parametrize("side", ["minimum", "maximum"])
def test_value_outside_its_range_is_refused_with_range_and_unit(kind, field, side):
    step = -1 if side == "minimum" else 1
    value = getattr(field, side) + step

    with pytest.raises(kinds.SpecError) as refused:
        kind.clean({**example_of(kind), field.name: value})

    problem = next(p for p in refused.value.problems if p.field == field.name)
    assert (problem.code, problem.minimum, problem.maximum, problem.unit) == (
        "out_of_range",
        field.minimum,
        field.maximum,
        field.unit,
    )
    sentence = problem_sentence(kind, problem)
    assert "at least" in sentence
    assert "at most" in sentence
    assert field.shown_unit in sentence


@pytest.mark.parametrize("kind", ALL, ids=lambda kind: kind.code)
def test_every_required_field_is_missed(kind):
    required = {f.name for f in kind.fields if f.required and f.default is None}

    with pytest.raises(kinds.SpecError) as refused:
        kind.clean({})

    assert {p.field for p in refused.value.problems if p.code == "missing"} == required


@pytest.mark.parametrize("value", [float("nan"), float("inf"), True, "12", [12]])
def test_no_number_is_refused(value):
    with pytest.raises(kinds.SpecError) as refused:
        kinds.get("battery").clean({**example_of(kinds.get("battery")), "capacity_ah": value})

    assert [(p.field, p.code) for p in refused.value.problems] == [("capacity_ah", "not_a_number")]


def test_field_nobody_declared_is_refused():
    with pytest.raises(kinds.SpecError, match="colour_of_lid: unknown_field"):
        kinds.get("battery").clean({**example_of(kinds.get("battery")), "colour_of_lid": "blue"})


@pytest.mark.parametrize(
    ("code", "changes", "field", "words"),
    [
        ("battery", {"cells": 6}, "cells", "6 cells of 3.2 V in series make 19.2 V, not 12.8 V"),
        ("battery", {"min_charge_c": -10.0}, "min_charge_c", "must not be charged below 0 °C"),
        ("battery", {"engine_bay_allowed": True}, "engine_bay_allowed", "never belongs in an engine bay"),
        ("battery", {"absorption_v": 16.0}, "absorption_v", "at most 14.6 V"),
        ("battery", {"peak_a": 40.0}, "max_discharge_a", "above the peak"),
        ("dcdc_charger", {"limit_steps_a": [40.0]}, "limit_steps_a", "below the full output of 25 A"),
        ("dcdc_charger", {"stop_below_v": 22.0}, "stop_below_v", "does not suit a 12 V input"),
        ("dcdc_charger", {"profiles": ["coal"]}, "profiles", "must be one of"),
        ("dcdc_charger", {"input_nominal_v": 18}, "input_nominal_v", "must be one of: 12 V, 24 V"),
        ("solar_panel", {"power_w": 100.0}, "power_w", "more than 5 %"),
        ("solar_panel", {"voc_v": 10.0}, "vmp_v", "above the open-circuit voltage"),
        ("inverter", {"surge_w": 100.0}, "continuous_w", "above the surge"),
        ("inverter", {"cutoff_v": 21.0}, "cutoff_v", "does not suit a 12 V input"),
        ("cable", {"ohm_per_km_20c": 1.21}, "ohm_per_km_20c", "State the copper's area"),
        ("switched_output_module", {"total_a": 5.0}, "total_a", "at least its largest channel"),
        ("multi_charger", {"has_solar_input": False}, "has_engine_input", "at least two"),
        ("voltage_converter", {"continuous_a": 9.0}, "continuous_a", "9 A, is above the peak, 7 A"),
        ("voltage_converter", {"input_max_v": 23.0}, "input_min_v", "from 18 V to 23 V does not contain 24 V"),
        ("voltage_converter", {"no_load_w": 9.0}, "no_load_w", "9 W is more than a tenth of what it gives; it must be"),
        ("battery_equaliser", {"chemistries": []}, "chemistries", "missing"),
        ("battery_equaliser", {"starts_at_v": 1.5}, "starts_at_v", "at most 0.6 V"),
        ("battery_monitor", {"channels_total_a": 5.0}, "channels_total_a", "needs at least one switched output"),
        (
            "inverter",
            {"channel_limits_a": [5.0, 10.0], "channels_total_a": 8.0},
            "channels_total_a",
            "at least 10 A and at most 15 A",
        ),
        ("trailer_coupling", {"pin_ohm": 0.05}, "pin_ohm", "15 A through 50 mΩ makes 11.2 W in one contact"),
        ("trailer_coupling", {"pins": 4}, "pins", "4 pairs take 8 contacts; the coupling has 7"),
        ("relay", {"hold_w": 0.0}, "hold_w", "does not latch needs power"),
        ("relay", {"latching": True}, "hold_w", "1.6 W must be 0 W"),
        ("switch", {"form": "push", "ways": 2}, "ways", "1 way, not 2"),
        ("outlet", {"rated_v": 230.0}, "rated_v", "at least 12 V and at most 13.8 V"),
        ("outlet", {"power_w": 500.0}, "power_w", "500 W is above 120 W"),
        ("conduit", {"outside_mm": 6.0}, "outside_mm", "6 mm, must be above the inside, 7 mm"),
        ("conduit", {"form": "heat_shrink", "shrunk_mm": 7.0}, "shrunk_mm", "7 mm must be below 7 mm"),
        ("grommet", {"inner_mm": 12.0}, "inner_mm", "12 mm, must be thinner than the hole, 10 mm"),
        ("mounting", {"width_mm": 400.0}, "width_mm", "400 mm, is above the length, 330 mm"),
        ("consumable", {"content_ml": 50.0}, "pieces", "not 100 pieces and 50 ml"),
        ("tank_sender", {"level_curve_ohm": [[0, 240], [0.5, 103], [1, 120]]}, "level_curve_ohm", "103 Ω at 50 % is"),
        ("tank_sender", {"level_curve_ohm": [[0, 240], [0.2, 103]]}, "level_curve_ohm", "at least half of the tank"),
        ("tank_sender", {"level_curve_ohm": [[0, 240]]}, "level_curve_ohm", "at least 2"),
        ("temperature_sender", {"max_c": 50.0}, "temperature_curve_ohm", "must stay between"),
        ("temperature_sender", {"signal": "voltage"}, "slope_mv_per_k", "missing"),
        ("heater", {"power_w": 3000.0}, "power_w", "3000 W is not below 2000 W"),
        ("heater", {"start_a": 1.0}, "start_a", "below 2.42 A"),
        ("ventilator", {"air_m3_h": 500.0}, "air_m3_h", "at most 96 m³/h"),
    ],
)
def test_specification_that_contradicts_itself_is_refused(code, changes, field, words):
    kind = kinds.get(code)

    with pytest.raises(kinds.SpecError) as refused:
        kind.clean({**example_of(kind), **changes})

    problem = refused.value.problems[0]
    assert problem.field == field
    assert words in problem_sentence(kind, problem)


def test_curve_must_rise():
    kind = kinds.get("inverter")

    with pytest.raises(kinds.SpecError, match="derating_ratio: not_rising"):
        kind.clean({**example_of(kind), "derating_ratio": [[50, 0.8], [40, 1.0]]})


def test_multi_input_charger_serves_each_need_and_shares_its_output():
    kind = kinds.get("multi_charger")
    spec = next(e["spec"] for e in library.COMPONENTS if e["name"] == "Pellow MC-50")

    can = kind.capabilities(kind.clean(spec))

    charging = [c for c in can if not isinstance(c, Landing)]
    assert [type(c) for c in charging] == [EngineCharging, MainsCharging, SolarControl]
    assert all(c.shares_output for c in charging)


def test_limits_of_the_device_are_a_capability_where_the_maker_states_any():
    kind = kinds.get("inverter")
    spec = example_of(kind)

    def limits(**more):
        return [
            (c.least_a, c.most_a) for c in kind.capabilities(kind.clean({**spec, **more})) if isinstance(c, Guarded)
        ]

    assert limits() == []
    assert limits(min_device_a=150) == [(150, None)]
    assert limits(min_device_a=150, max_device_a=300) == [(150, 300)]
    with pytest.raises(kinds.SpecError):
        kind.clean({**spec, "min_device_a": 300, "max_device_a": 150})


def test_battery_of_unknown_resistance_is_kept_as_not_stated():
    kind = kinds.get("battery")
    spec = {k: v for k, v in example_of(kind).items() if k != "resistance_ohm"}

    (storage,) = (c for c in kind.capabilities(kind.clean(spec)) if isinstance(c, Storage))

    assert storage.resistance_ohm is None
    assert {row.field.name: row.text for row in rows(kind, kind.clean(spec))}["resistance_ohm"] == "not stated"


def test_breaker_that_isolates_does_both():
    kind = kinds.get("circuit_breaker")
    spec = next(e["spec"] for e in library.COMPONENTS if e["name"] == "Ambry CH-100")

    assert [type(c) for c in kind.capabilities(kind.clean(spec))] == [Protecting, Isolating, Landing]


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("Ambry HF-200", "200 A, breaks 20 kA, high breaking"),
        ("Larkham LF-160", "lithium iron phosphate, 12.8 V, 160 Ah, 120 A"),
        ("Ossery C5-35R", "35 mm², 105 °C, red, per m"),
        ("Harrowell TM-190", "190 W, Voc 24.3 V, Isc 10.02 A"),
    ],
)
def test_rating_reads_as_a_person_says_it(name, words):
    entry = next(e for e in library.COMPONENTS if e["name"] == name)
    kind = kinds.get(entry["kind"])

    assert rating_text(kind, kind.clean(entry["spec"])) == words


@pytest.fixture
def lamp():
    """A kind declared while the program runs."""
    kind = kinds.declare(
        Kind(
            code="signal_lamp",
            label="signal lamp",
            plural="signal lamps",
            group="distribution",
            fields=(
                Field("power_w", "Power", "number", "W", 0.5, 50, in_rating=True),
                Field("dim_ratio", "Dimmed to", "number", "", 0, 1, default=1.0),
                Field("lens", "Lens", "choice", options=(("clear", "clear"), ("amber", "amber"))),
                Field("steps_a", "Steps", "numbers", "A", 0, 5, required=False, default=()),
            ),
            capabilities=lambda spec: (),
        )
    )
    yield kind
    kinds.withdraw("signal_lamp")


def test_kind_declared_at_run_time_has_form_table_and_schema(lamp, db):
    form = ComponentForm(
        {"name": "Lamp", "cost": "12,5", "mass_kg": "80 g", "stock": "3", "lead_days": "2", "spec_power_w": "4500 mW"}
        | {"spec_dim_ratio": "40", "spec_lens": "amber"},
        kind=lamp,
    )

    assert form.is_valid(), form.errors
    assert form.spec() == {"power_w": 4.5, "dim_ratio": 0.4, "lens": "amber"}
    assert form.cleaned_data["mass_kg"] == 0.08
    spec = lamp.clean(form.spec())
    assert [(r.label, r.text.replace("\xa0", " ")) for r in rows(lamp, spec)] == [
        ("Power", '4.5 <span class="u">W</span>'),
        ("Dimmed to", '40 <span class="u">%</span>'),
        ("Lens", "amber"),
        ("Steps", "not stated"),
    ]
    schema = json_schema(lamp)
    assert schema["required"] == ["power_w", "lens"]
    assert schema["properties"]["power_w"]["minimum"] == 0.5
    assert schema["properties"]["power_w"]["unit"] == "W"
    assert schema["properties"]["lens"]["enum"] == ["clear", "amber"]


@pytest.mark.parametrize("kind", ALL, ids=lambda kind: kind.code)
def test_schema_takes_what_the_kind_takes(kind):
    schema = json_schema(kind)

    assert set(schema["properties"]) == kind.names
    assert set(schema["required"]) <= set(example_of(kind)) | {"flexible"}
    assert schema["additionalProperties"] is False


@pytest.mark.parametrize("kind", ALL, ids=lambda kind: kind.code)
def test_every_field_has_an_entry_with_its_unit(kind):
    for declared in kind.fields:
        entry = field_for(declared)
        assert str(entry.label) == declared.label
        if declared.type in ("number", "integer") and not declared.options:
            assert entry.unit == declared.shown_unit


@pytest.mark.parametrize(
    ("way", "model"),
    [("steady", brief.Steady), ("cooling", brief.Cooling), ("recharge", brief.Recharge), ("event", brief.Event)],
)
def test_ways_of_use_are_those_of_the_brief(way, model):
    """The catalogue may not import the sizing; this holds the two declarations together."""
    declared = {f.name: (f.minimum, f.maximum, f.unit) for f in WAYS[way].fields}
    properties = model.model_json_schema()["properties"]
    there = {name: (p["minimum"], p["maximum"], p.get("unit", "")) for name, p in properties.items() if name != "way"}

    assert declared == there


@pytest.mark.parametrize("entry", library.APPLIANCES, ids=lambda entry: entry["name"])
def test_library_appliance_is_a_line_that_the_brief_accepts(entry):
    use = WAYS[entry["way"]].clean(entry["use"])

    load = brief.Load(
        key="a", name=entry["name"], bus=entry["bus"], use={"way": entry["way"], **use}, **entry["values"]
    )

    assert load.name == entry["name"]


@pytest.mark.parametrize("odd", [[[]], [{}], [["12"]]])
def test_a_list_inside_a_list_of_choices_is_refused(odd):
    kind, field = next((k, f) for k in kinds.all_kinds() for f in k.fields if f.type == "choices")

    with pytest.raises(kinds.SpecError) as caught:
        kind.clean({field.name: odd})

    assert (field.name, "not_a_choice") in [(p.field, p.code) for p in caught.value.problems]


def test_no_cable_of_the_library_under_the_least_area_can_feed_a_load():
    thin = [e["spec"] for e in library.COMPONENTS if e["kind"] == "cable" and e["spec"]["area_mm2"] < 1.5]

    assert thin
    assert not {spec["colour"] for spec in thin} & {"red", "black"}


@pytest.mark.parametrize("kind", ALL, ids=lambda kind: kind.code)
def test_specification_kept_before_the_channels_came_still_passes(kind):
    old = {f.name for f in kind.fields if not f.section}
    spec = {name: value for name, value in example_of(kind).items() if name in old}

    reads_by_nature = kind.code in ("battery_monitor", "sensing_module")
    assert reads_by_nature or not any(isinstance(c, Sensing) for c in kind.capabilities(kind.clean(spec)))


def test_any_kind_may_have_channels():
    spec = {**example_of(kinds.get("inverter")), "channel_limits_a": [10.0, 5.0], "digital_inputs": 2}

    can = kinds.get("inverter").capabilities(kinds.get("inverter").clean(spec))

    assert Switching((10.0, 5.0), 15.0, (12.0, 24.0), sheds=False, protects=False) in can
    assert Sensing((("digital", 2),)) in can


def test_every_capability_has_a_sentence():
    """No capability of the library is told by its class name."""
    for entry in library.COMPONENTS:
        kind = kinds.get(entry["kind"])
        for c in kind.capabilities(kind.clean(entry["spec"])):
            words = sentence(c)
            assert words != type(c).__name__
            assert words.endswith(".")


@pytest.mark.parametrize("kind", ALL, ids=lambda kind: kind.code)
def test_rating_reads_as_one_short_line(kind):
    words = rating_text(kind, kind.clean(example_of(kind)))

    assert 3 < len(words) < 110
    assert "[" not in words
    assert "None" not in words
    assert words.endswith("per m") == (kind.priced_per == "metre")
