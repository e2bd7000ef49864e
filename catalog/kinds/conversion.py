"""What turns one kind of electricity into another."""

from __future__ import annotations

from catalog.kinds import declare
from catalog.kinds.base import Field, Kind, Problem, Spec
from catalog.kinds.capabilities import Capability, Converting, Inverting, OwnDraw
from catalog.kinds.channels import OUTPUTS, channels, channels_make_sense, inputs
from catalog.kinds.common import (
    DERATING,
    OWN_ASLEEP,
    conflict,
    curve,
    efficiency,
    nominal_v,
    not_above,
    number,
    yes_no,
)
from catalog.kinds.guarding import DEVICE_LIMITS, guarded, limits_hold
from catalog.kinds.landing import STUD, landed

OUTPUT_V = (
    ("100", "100 V"),
    ("110", "110 V"),
    ("115", "115 V"),
    ("120", "120 V"),
    ("220", "220 V"),
    ("230", "230 V"),
    ("240", "240 V"),
)
OUTPUT_HZ = (("50", "50 Hz"), ("60", "60 Hz"))


def _cutoff_fits_bus(spec: Spec) -> tuple[Problem, ...]:
    low, high = 0.75 * spec["nominal_v"], spec["nominal_v"]
    if not low <= spec["cutoff_v"] <= high:
        return conflict(
            "cutoff_v",
            f"{spec['cutoff_v']:g} V does not suit a {spec['nominal_v']:g} V input; "
            f"it must be at least {low:g} V and at most {high:g} V.",
        )
    return ()


INVERTER = declare(
    Kind(
        code="inverter",
        label="inverter",
        plural="inverters",
        group="ac",
        help="Makes AC of mains voltage from the house bus. Its AC side is for licensed people. "
        "Its no-load draw counts for every hour it is on.",
        fields=(
            number(
                "continuous_w",
                "Continuous power",
                "W",
                50,
                20000,
                "At 25 °C unless the maker says otherwise.",
                rating="{}",
            ),
            number("continuous_va", "Continuous apparent power", "VA", 50, 25000),
            number("surge_w", "Surge power", "W", 50, 60000),
            number("surge_s", "Time of the surge", "s", 0.01, 60),
            nominal_v("nominal_v", "Input voltage"),
            Field(
                "output_v",
                "Output voltage",
                "number",
                "V",
                100,
                240,
                options=OUTPUT_V,
                in_rating=True,
                rating_words="to {}",
            ),
            Field("output_hz", "Output frequency", "number", "Hz", 50, 60, options=OUTPUT_HZ),
            number("no_load_w", "No-load draw", "W", 0, 200, "From the battery, on and giving nothing."),
            efficiency("efficiency_half_ratio", "Efficiency at half power", ""),
            efficiency("efficiency_full_ratio", "Efficiency at full power", ""),
            number("cutoff_v", "Cut-off voltage", "V", 8, 24, "Input voltage under which it stops."),
            DERATING,
            OWN_ASLEEP,
            *OUTPUTS,
            *inputs("temperature", "digital"),
            *DEVICE_LIMITS,
            STUD,
        ),
        capabilities=landed(
            guarded(
                lambda spec: (
                    Inverting(
                        nominal_v=spec["nominal_v"],
                        continuous_w=spec["continuous_w"],
                        continuous_va=spec["continuous_va"],
                        surge_w=spec["surge_w"],
                        surge_s=spec["surge_s"],
                        no_load_w=spec["no_load_w"],
                        efficiency_half_ratio=spec["efficiency_half_ratio"],
                        efficiency_full_ratio=spec["efficiency_full_ratio"],
                        cutoff_v=spec["cutoff_v"],
                        output_v=spec["output_v"],
                        output_hz=spec["output_hz"],
                        derating=curve(spec["derating_ratio"]),
                    ),
                    *channels(spec),
                )
            )
        ),
        # the no-load draw is the inverter method's; here only what it takes when switched off
        own_draw=lambda spec: OwnDraw(0.0, spec["own_asleep_w"]),
        checks=(
            limits_hold,
            not_above("continuous_w", "surge_w", "The continuous power is above the surge power."),
            not_above("continuous_w", "continuous_va", "The continuous power is above the apparent power."),
            _cutoff_fits_bus,
            channels_make_sense,
        ),
    )
)


def _input_range_holds(spec: Spec) -> tuple[Problem, ...]:
    low, high, nominal = spec["input_min_v"], spec["input_max_v"], spec["input_nominal_v"]
    if not low < nominal < high:
        return conflict(
            "input_min_v",
            f"The input from {low:g} V to {high:g} V does not contain {nominal:g} V; "
            f"its least must be below and its most above it.",
        )
    return ()


def _continuous_within_peak(spec: Spec) -> tuple[Problem, ...]:
    if spec["continuous_a"] > spec["peak_a"]:
        return conflict(
            "continuous_a",
            f"The continuous current, {spec['continuous_a']:g} A, is above the peak, {spec['peak_a']:g} A.",
        )
    return ()


def _idles_below_its_output(spec: Spec) -> tuple[Problem, ...]:
    most_w = 0.1 * spec["continuous_a"] * spec["output_v"]
    if spec["no_load_w"] > most_w:
        return conflict(
            "no_load_w",
            f"A no-load draw of {spec['no_load_w']:g} W is more than a tenth of what it gives; "
            f"it must be at most {most_w:.3g} W.",
        )
    return ()


def _converting(spec: Spec) -> tuple[Capability, ...]:
    return (
        Converting(
            input_nominal_v=spec["input_nominal_v"],
            input_min_v=spec["input_min_v"],
            input_max_v=spec["input_max_v"],
            output_v=spec["output_v"],
            continuous_a=spec["continuous_a"],
            peak_a=spec["peak_a"],
            peak_s=spec["peak_s"],
            efficiency_ratio=spec["efficiency_ratio"],
            no_load_w=spec["no_load_w"],
            isolated=spec["isolated"],
            derating=curve(spec["derating_ratio"]),
        ),
        *channels(spec),
    )


VOLTAGE_CONVERTER = declare(
    Kind(
        code="voltage_converter",
        label="voltage converter",
        plural="voltage converters",
        group="distribution",
        help="Makes one direct voltage from another, such as 12 V for lamps and radio from a 24 V house bus. "
        "It charges no battery.",
        fields=(
            number("continuous_a", "Continuous output", "A", 0.5, 300, "At 25 °C.", rating="{}"),
            nominal_v("input_nominal_v", "Input voltage", "Of the bus that feeds it.", rating="{} in"),
            number("output_v", "Output voltage", "V", 3, 60, "As it is held: 12 V, 13.8 V or 24 V.", rating="{} out"),
            number("input_min_v", "Least input", "V", 6, 60, "Under which it stops."),
            number("input_max_v", "Highest input", "V", 8, 100, "A charging 24 V bus reaches 30 V."),
            number("peak_a", "Peak output", "A", 0.5, 600),
            number("peak_s", "Time of the peak", "s", 0, 600),
            efficiency(),
            number("no_load_w", "No-load draw", "W", 0, 50, "With nothing connected; it counts for every hour."),
            yes_no("isolated", "Isolated", "Output and input share no conductor inside."),
            DERATING,
            *OUTPUTS,
            *DEVICE_LIMITS,
            STUD,
        ),
        capabilities=landed(guarded(_converting)),
        own_draw=lambda spec: OwnDraw(spec["no_load_w"], spec["no_load_w"]),
        checks=(_input_range_holds, _continuous_within_peak, _idles_below_its_output, limits_hold, channels_make_sense),
    )
)
