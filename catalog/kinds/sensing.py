"""What tells a level, a temperature or a current to a part with inputs, and parts that do nothing but read them."""

from __future__ import annotations

from dataclasses import replace

from catalog.kinds import declare
from catalog.kinds.base import Field, Kind, Problem, Spec
from catalog.kinds.capabilities import CurrentSensing, OwnDraw, TankSensing, TemperatureSensing
from catalog.kinds.channels import INPUTS, SENSES, sensing
from catalog.kinds.common import OWN_ASLEEP, OWN_AWAKE, choice, conflict, curve, number
from catalog.kinds.curves import readable_backwards

FLUIDS = (("fresh", "fresh water"), ("waste", "waste water"), ("fuel", "diesel fuel"), ("any", "any of these"))
WAYS = (("float", "float on an arm"), ("tube", "float in a tube"), ("outside", "outside the tank"))
SIGNALS = (("resistance", "resistance"), ("voltage", "voltage"), ("digital", "digital"))
SITS = (("ring", "ring under a stud"), ("clamp", "clamp on a surface"), ("probe", "probe"), ("case", "glued on a case"))

LEVEL_CURVE = Field(
    "level_curve_ohm",
    "Resistance by level",
    "curve",
    "Ω",
    0,
    100000,
    x_unit="ratio",
    help="Level against resistance, from empty to full: 0 240; 50 103; 100 33. Measure it when the maker states none.",
    in_rating=True,
)


def _levels_are_levels(spec: Spec) -> tuple[Problem, ...]:
    low, high = spec["level_curve_ohm"][0][0], spec["level_curve_ohm"][-1][0]
    if low < 0 or high > 1:
        return conflict(
            "level_curve_ohm",
            f"Levels run from {low * 100:g} % to {high * 100:g} %; they must lie between 0 % and 100 %.",
        )
    if high - low < 0.5:
        return conflict(
            "level_curve_ohm",
            f"Levels run from {low * 100:g} % to {high * 100:g} % only; they must cover at least half of the tank.",
        )
    return ()


TANK_SENDER = declare(
    Kind(
        code="tank_sender",
        label="tank sender",
        plural="tank senders",
        group="fittings",
        help="Tells how full a tank is by its resistance. What reads it must be set to the same curve.",
        fields=(
            choice("fluid", "Fluid", FLUIDS, "What it may stand in.", rating="{}"),
            LEVEL_CURVE,
            choice("way", "Way of sensing", WAYS, default="float"),
            number(
                "depth_mm", "Depth of the tank", "mm", 50, 1500, "It is made for, or can be cut to.", rating="{} deep"
            ),
        ),
        capabilities=lambda spec: (TankSensing(curve=curve(spec["level_curve_ohm"]), fluid=spec["fluid"]),),
        checks=(readable_backwards(LEVEL_CURVE), _levels_are_levels),
    )
)

TEMPERATURE_CURVE = Field(
    "temperature_curve_ohm",
    "Resistance by temperature",
    "curve",
    "Ω",
    0,
    10000000,
    required=False,
    x_unit="°C",
    help="For one that senses by resistance: 0 32650; 25 10000; 50 3603.",
)


def _signal_is_described(spec: Spec) -> tuple[Problem, ...]:
    found: tuple[Problem, ...] = ()
    if spec["min_c"] >= spec["max_c"]:
        found += conflict(
            "min_c", f"The coldest, {spec['min_c']:g} °C, must be below the hottest, {spec['max_c']:g} °C."
        )
    points = spec["temperature_curve_ohm"] or ()
    if spec["signal"] == "resistance" and not points:
        return (*found, Problem("temperature_curve_ohm", "missing"))
    if points and not (spec["min_c"] <= points[0][0] and points[-1][0] <= spec["max_c"]):
        found += conflict(
            "temperature_curve_ohm",
            f"The curve runs from {points[0][0]:g} °C to {points[-1][0]:g} °C; "
            f"it must stay between {spec['min_c']:g} °C and {spec['max_c']:g} °C.",
        )
    if spec["signal"] == "voltage" and spec["slope_mv_per_k"] is None:
        found += (Problem("slope_mv_per_k", "missing", minimum=-100, maximum=100, unit="mV/K"),)
    if spec["slope_mv_per_k"] == 0:
        found += conflict("slope_mv_per_k", "A slope of 0 mV/K tells no temperature.")
    return found


TEMPERATURE_SENDER = declare(
    Kind(
        code="temperature_sender",
        label="temperature sender",
        plural="temperature senders",
        group="fittings",
        help="Tells a temperature to a charger, a monitor or a module. It must be of the sort that the part reads.",
        fields=(
            choice("signal", "Signal", SIGNALS, "How it tells it.", rating="{}"),
            number("min_c", "Coldest", "°C", -60, 50, "That it can tell.", rating="from {}"),
            number("max_c", "Hottest", "°C", 0, 300, rating="to {}"),
            TEMPERATURE_CURVE,
            number("slope_mv_per_k", "Slope", "mV/K", -100, 100, "For one that senses by voltage.", required=False),
            choice("sits", "Sits as", SITS, default="ring", rating="{}"),
            number("lead_m", "Lead", "m", 0, 30, "It comes with.", default=0.0),
        ),
        capabilities=lambda spec: (
            TemperatureSensing(
                form=spec["signal"],
                min_c=spec["min_c"],
                max_c=spec["max_c"],
                curve=curve(spec["temperature_curve_ohm"]),
            ),
        ),
        checks=(readable_backwards(TEMPERATURE_CURVE), _signal_is_described),
    )
)

MOST_SHUNT_W = 60.0
"""Heat that a shunt stands at its rating: 50 mV at 1000 A is 50 W. [W] C, common practice."""


def _shunt_stays_cool(spec: Spec) -> tuple[Problem, ...]:
    heat_w = spec["most_a"] ** 2 * spec["ohm"]
    if heat_w > MOST_SHUNT_W:
        return conflict(
            "ohm",
            f"{spec['most_a']:g} A through {spec['ohm'] * 1000:g} mΩ makes {heat_w:.3g} W; "
            f"it must be at most {MOST_SHUNT_W:g} W. 50 mV at 500 A is 0.1 mΩ.",
        )
    return ()


SHUNT = declare(
    Kind(
        code="shunt",
        label="shunt",
        plural="shunts",
        group="distribution",
        help="Tells one circuit's current to a current input. A battery monitor comes with a shunt of its own.",
        fields=(
            number("most_a", "Rating", "A", 1, 2000, "Continuous.", rating="{}"),
            number("ohm", "Resistance", "Ω", 0.00001, 0.1, "50 mV at 500 A is 0.1 mΩ."),
            number("max_v", "Highest voltage", "V", 8, 1500, "Of the conductor that it sits in.", default=60.0),
        ),
        capabilities=lambda spec: (CurrentSensing(most_a=spec["most_a"], ohm=spec["ohm"], max_v=spec["max_v"]),),
        checks=(_shunt_stays_cool,),
    )
)


READS = tuple(
    replace(field, section="", in_rating=True, rating_words=f"{sense} {{}}")
    for sense, field in zip(SENSES, INPUTS, strict=True)
)
"""Inputs as what the part is there for."""


def _reads_something(spec: Spec) -> tuple[Problem, ...]:
    if any(spec.get(f"{sense}_inputs") for sense in SENSES):
        return ()
    return conflict(f"{SENSES[0]}_inputs", "It needs at least one input.")


SENSING_MODULE = declare(
    Kind(
        code="sensing_module",
        label="sensing module",
        plural="sensing modules",
        group="distribution",
        help="Reads tanks, temperatures, voltages and contacts, and switches nothing.",
        fields=(*READS, OWN_AWAKE, OWN_ASLEEP),
        capabilities=sensing,
        own_draw=lambda spec: OwnDraw(spec["own_awake_w"], spec["own_asleep_w"]),
        checks=(_reads_something,),
    )
)
