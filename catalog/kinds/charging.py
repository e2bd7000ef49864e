"""What charges the auxiliary battery: from the engine, the mains and the sun."""

from __future__ import annotations

from catalog.kinds import declare
from catalog.kinds.base import Field, Kind, Problem, Spec
from catalog.kinds.capabilities import Capability, EngineCharging, MainsCharging, OwnDraw, Panel, SolarControl
from catalog.kinds.channels import OUTPUTS, channels, channels_make_sense, inputs
from catalog.kinds.common import (
    DERATING,
    NOMINAL_V,
    OWN_ASLEEP,
    PROFILES,
    at_least_one,
    choice,
    conflict,
    curve,
    efficiency,
    nominal_choices,
    nominal_v,
    not_above,
    number,
    volts,
    yes_no,
)
from catalog.kinds.guarding import DEVICE_LIMITS, guarded, limits_hold
from catalog.kinds.landing import STUD, landed

METHODS = (("mppt", "MPPT"), ("pwm", "PWM"))
"""How a controller draws on the panels: at their maximum power point, or switched at the battery's voltage."""

NO_PROFILE = "It needs at least one charge profile."

LIMIT_STEPS = Field(
    "limit_steps_a",
    "Output limits",
    "numbers",
    "A",
    1,
    500,
    required=False,
    default=(),
    help="Smaller outputs it can be set to, besides the full one: 10; 20; 30.",
)

RUNNING_SIGNAL = yes_no(
    "running_signal",
    "Takes an engine-running signal",
    "A wire from the ignition or the alternator tells it that the engine runs, where the voltage does not.",
)


def _steps_below_output(spec: Spec) -> tuple[Problem, ...]:
    if any(step >= spec["output_a"] for step in spec["limit_steps_a"] or ()):
        return conflict("limit_steps_a", f"Each limit must be below the full output of {spec['output_a']:g} A.")
    return ()


def _stop_fits_bus(spec: Spec) -> tuple[Problem, ...]:
    low, high = 0.75 * spec["input_nominal_v"], 1.15 * spec["input_nominal_v"]
    if spec["stop_below_v"] is not None and not low <= spec["stop_below_v"] <= high:
        return conflict(
            "stop_below_v",
            f"{spec['stop_below_v']:g} V does not suit a {spec['input_nominal_v']:g} V input; "
            f"it must be at least {low:g} V and at most {high:g} V.",
        )
    return ()


def _engine(spec: Spec) -> tuple[Capability, ...]:
    return (
        EngineCharging(
            input_nominal_v=spec["input_nominal_v"],
            output_nominal_v=spec["output_nominal_v"],
            output_a=spec["output_a"],
            efficiency_ratio=spec["efficiency_ratio"],
            stop_below_v=spec["stop_below_v"],
            limit_steps_a=tuple(spec["limit_steps_a"] or ()),
            profiles=tuple(spec["profiles"]),
            derating=curve(spec["derating_ratio"]),
            smart_alternator=spec["smart_alternator"],
            running_signal=spec["running_signal"],
        ),
    )


DCDC_CHARGER = declare(
    Kind(
        code="dcdc_charger",
        label="DC-DC charger",
        plural="DC-DC chargers",
        group="charging",
        help="Charges from the starter bus while the engine runs. It does not know what the alternator can spare.",
        fields=(
            number("output_a", "Output", "A", 1, 500, "Into the auxiliary battery, at full power.", rating="{}"),
            nominal_v("input_nominal_v", "Input voltage", "Of the vehicle.", rating="{} in"),
            nominal_v("output_nominal_v", "Output voltage", "Of the auxiliary battery.", rating="{} out"),
            efficiency(),
            number("stop_below_v", "Stops below", "V", 8, 28, "Input voltage under which it stops charging."),
            LIMIT_STEPS,
            yes_no(
                "smart_alternator",
                "For ECU-controlled alternators",
                "Holds its output while the alternator's voltage moves.",
            ),
            RUNNING_SIGNAL,
            PROFILES,
            DERATING,
            OWN_ASLEEP,
            *DEVICE_LIMITS,
            STUD,
        ),
        capabilities=landed(guarded(_engine)),
        own_draw=lambda spec: OwnDraw(0.0, spec["own_asleep_w"]),
        checks=(_steps_below_output, _stop_fits_bus, limits_hold, at_least_one("profiles", NO_PROFILE)),
    )
)


def _mains(spec: Spec) -> tuple[Capability, ...]:
    return (
        MainsCharging(
            output_nominal_v=spec["output_nominal_v"],
            output_a=spec["output_a"],
            efficiency_ratio=spec["efficiency_ratio"],
            power_factor=spec["power_factor"],
            mains_v=spec["mains_v"],
            profiles=tuple(spec["profiles"]),
            derating=curve(spec["derating_ratio"]),
        ),
    )


MAINS_CHARGER = declare(
    Kind(
        code="mains_charger",
        label="mains charger",
        plural="mains chargers",
        group="charging",
        help="Charges from an outlet or the shore inlet. Its mains side is for licensed people.",
        fields=(
            number("output_a", "Output", "A", 1, 500, rating="{}"),
            nominal_v("output_nominal_v", "Output voltage"),
            number("mains_v", "Mains voltage", "V", 100, 250, rating="from {}"),
            efficiency(),
            number("power_factor", "Power factor", "", 0.3, 1.0, "Of what it takes from the mains."),
            PROFILES,
            DERATING,
            OWN_ASLEEP,
            *DEVICE_LIMITS,
            STUD,
        ),
        capabilities=landed(guarded(_mains)),
        own_draw=lambda spec: OwnDraw(0.0, spec["own_asleep_w"]),
        checks=(limits_hold, at_least_one("profiles", NO_PROFILE)),
    )
)


def _input_fields_stated(spec: Spec) -> tuple[Problem, ...]:
    found: list[Problem] = []
    needs = {
        "has_engine_input": ("engine_a", "input_nominal_v", "stop_below_v", "engine_efficiency_ratio"),
        "has_mains_input": ("mains_a", "mains_v", "power_factor", "mains_efficiency_ratio"),
        "has_solar_input": ("solar_a", "solar_method", "max_voc_v", "max_isc_a", "solar_efficiency_ratio"),
    }
    if sum(bool(spec[flag]) for flag in needs) < 2:
        found.extend(conflict("has_engine_input", "A multi-input charger has at least two of engine, mains and sun."))
    for flag, names in needs.items():
        if spec[flag]:
            found.extend(Problem(name, "missing") for name in names if spec[name] is None)
    for name in ("engine_a", "mains_a", "solar_a"):
        if spec[name] is not None and spec[name] > spec["output_a"]:
            found.extend(conflict(name, f"One input gives at most the whole output of {spec['output_a']:g} A."))
    return tuple(found) or (_stop_fits_bus(spec) if spec["has_engine_input"] else ())


def _multi(spec: Spec) -> tuple[Capability, ...]:
    profiles, derating = tuple(spec["profiles"]), curve(spec["derating_ratio"])
    can: list[Capability] = []
    if spec["has_engine_input"]:
        can.append(
            EngineCharging(
                input_nominal_v=spec["input_nominal_v"],
                output_nominal_v=spec["output_nominal_v"],
                output_a=spec["engine_a"],
                efficiency_ratio=spec["engine_efficiency_ratio"],
                stop_below_v=spec["stop_below_v"],
                limit_steps_a=tuple(spec["limit_steps_a"] or ()),
                profiles=profiles,
                derating=derating,
                smart_alternator=spec["smart_alternator"],
                running_signal=spec["running_signal"],
                shares_output=True,
            )
        )
    if spec["has_mains_input"]:
        can.append(
            MainsCharging(
                output_nominal_v=spec["output_nominal_v"],
                output_a=spec["mains_a"],
                efficiency_ratio=spec["mains_efficiency_ratio"],
                power_factor=spec["power_factor"],
                mains_v=spec["mains_v"],
                profiles=profiles,
                derating=derating,
                shares_output=True,
            )
        )
    if spec["has_solar_input"]:
        can.append(
            SolarControl(
                method=spec["solar_method"],
                output_nominal_v=(spec["output_nominal_v"],),
                output_a=spec["solar_a"],
                efficiency_ratio=spec["solar_efficiency_ratio"],
                max_voc_v=spec["max_voc_v"],
                max_isc_a=spec["max_isc_a"],
                start_margin_v=spec["start_margin_v"] or 0.0,
                profiles=profiles,
                derating=derating,
                shares_output=True,
            )
        )
    return (*can, *channels(spec))


def _optional(field: Field) -> Field:
    return Field(
        field.name,
        field.label,
        field.type,
        field.unit,
        field.minimum,
        field.maximum,
        False,
        None,
        field.options,
        field.help,
    )


MULTI_CHARGER = declare(
    Kind(
        code="multi_charger",
        label="multi-input charger",
        plural="multi-input chargers",
        group="charging",
        help="One output fed by several inputs; together they never give more than the output.",
        fields=(
            number("output_a", "Output", "A", 1, 500, "Of all inputs together.", rating="{}"),
            nominal_v("output_nominal_v", "Output voltage"),
            yes_no("has_engine_input", "Has an engine input"),
            _optional(number("engine_a", "Output from the engine input", "A", 1, 500)),
            _optional(nominal_v("input_nominal_v", "Engine input voltage")),
            _optional(number("stop_below_v", "Engine input stops below", "V", 8, 28)),
            _optional(efficiency("engine_efficiency_ratio", "Efficiency from the engine input", "")),
            LIMIT_STEPS,
            yes_no("smart_alternator", "For ECU-controlled alternators"),
            RUNNING_SIGNAL,
            yes_no("has_mains_input", "Has a mains input"),
            _optional(number("mains_a", "Output from the mains input", "A", 1, 500)),
            _optional(number("mains_v", "Mains voltage", "V", 100, 250)),
            _optional(number("power_factor", "Power factor", "", 0.3, 1.0)),
            _optional(efficiency("mains_efficiency_ratio", "Efficiency from the mains input", "")),
            yes_no("has_solar_input", "Has a solar input"),
            Field("solar_method", "Solar control", "choice", required=False, options=METHODS),
            _optional(number("solar_a", "Output from the solar input", "A", 1, 500)),
            _optional(
                number("max_voc_v", "Highest panel voltage", "V", 15, 1000, "Open circuit, on the coldest morning.")
            ),
            _optional(number("max_isc_a", "Highest panel current", "A", 1, 500)),
            _optional(number("start_margin_v", "Starts above battery by", "V", 0, 20)),
            _optional(efficiency("solar_efficiency_ratio", "Efficiency from the solar input", "")),
            PROFILES,
            DERATING,
            OWN_ASLEEP,
            *OUTPUTS,
            *inputs(),
            *DEVICE_LIMITS,
            STUD,
        ),
        capabilities=landed(guarded(_multi)),
        own_draw=lambda spec: OwnDraw(0.0, spec["own_asleep_w"]),
        checks=(
            _input_fields_stated,
            _steps_below_output,
            limits_hold,
            at_least_one("profiles", NO_PROFILE),
            channels_make_sense,
        ),
    )
)


def _power_agrees(spec: Spec) -> tuple[Problem, ...]:
    product_w = spec["vmp_v"] * spec["imp_a"]
    if abs(product_w - spec["power_w"]) > 0.05 * spec["power_w"]:
        return conflict(
            "power_w",
            f"{spec['vmp_v']:g} V × {spec['imp_a']:g} A is {product_w:.0f} W, "
            f"more than 5 % from {spec['power_w']:g} W.",
        )
    return ()


SOLAR_PANEL = declare(
    Kind(
        code="solar_panel",
        label="solar panel",
        plural="solar panels",
        group="charging",
        help="One module, at standard test conditions.",
        fields=(
            number("power_w", "Power", "W", 5, 1000, rating="{}"),
            number("vmp_v", "Voltage at maximum power", "V", 4, 150),
            number("imp_a", "Current at maximum power", "A", 0.1, 40),
            number("voc_v", "Open-circuit voltage", "V", 5, 180, rating="Voc {}"),
            number("isc_a", "Short-circuit current", "A", 0.1, 45, rating="Isc {}"),
            number(
                "power_per_k", "Power, per kelvin", "1/K", -0.008, -0.001, "Crystalline silicon: −0.30 to −0.45 %/K."
            ),
            number("voc_per_k", "Open-circuit voltage, per kelvin", "1/K", -0.006, -0.0005, "−0.25 to −0.33 %/K."),
            number("max_series_fuse_a", "Largest series fuse", "A", 1, 60),
            number("max_system_v", "Highest system voltage", "V", 30, 1500),
            number("length_m", "Length", "m", 0.1, 3),
            number("width_m", "Width", "m", 0.1, 2),
            Field(
                "bypass_groups",
                "Bypass groups",
                "integer",
                "",
                1,
                12,
                required=False,
                help="Groups of cells with a bypass diode each; shade takes whole groups. "
                "Empty: one for about each 12 V open circuit.",
            ),
            yes_no("flexible", "Flexible, glued flat", "It runs hotter than one on rails."),
        ),
        capabilities=lambda spec: (
            Panel(
                power_w=spec["power_w"],
                vmp_v=spec["vmp_v"],
                imp_a=spec["imp_a"],
                voc_v=spec["voc_v"],
                isc_a=spec["isc_a"],
                power_per_k=spec["power_per_k"],
                voc_per_k=spec["voc_per_k"],
                max_series_fuse_a=spec["max_series_fuse_a"],
                max_system_v=spec["max_system_v"],
                length_m=spec["length_m"],
                width_m=spec["width_m"],
                bypass_groups=spec["bypass_groups"],
                flexible=spec["flexible"],
            ),
        ),
        checks=(
            not_above("vmp_v", "voc_v", "The voltage at maximum power is above the open-circuit voltage."),
            not_above("imp_a", "isc_a", "The current at maximum power is above the short-circuit current."),
            _power_agrees,
        ),
    )
)

SOLAR_CONTROLLER = declare(
    Kind(
        code="solar_controller",
        label="solar controller",
        plural="solar controllers",
        group="charging",
        help="Stands between panels and battery. Panels are never wired to a battery without one.",
        fields=(
            choice(
                "method",
                "Control",
                METHODS,
                "MPPT follows the panel's best point; PWM holds it at the battery's voltage.",
                rating="{}",
            ),
            number("output_a", "Output", "A", 1, 200, rating="{}"),
            nominal_choices("output_nominal_v", "Output voltages"),
            efficiency(),
            number(
                "max_voc_v",
                "Highest panel voltage",
                "V",
                15,
                1000,
                "Open circuit, on the coldest morning.",
                rating="input {}",
            ),
            number("max_isc_a", "Highest panel current", "A", 1, 200, "Short circuit, of all strings together."),
            number("start_margin_v", "Starts above battery by", "V", 0, 20, "Zero for PWM.", default=0.0),
            PROFILES,
            DERATING,
            OWN_ASLEEP,
            *OUTPUTS,
            *DEVICE_LIMITS,
            STUD,
        ),
        capabilities=landed(
            guarded(
                lambda spec: (
                    SolarControl(
                        method=spec["method"],
                        output_nominal_v=volts(spec["output_nominal_v"]),
                        output_a=spec["output_a"],
                        efficiency_ratio=spec["efficiency_ratio"],
                        max_voc_v=spec["max_voc_v"],
                        max_isc_a=spec["max_isc_a"],
                        start_margin_v=spec["start_margin_v"],
                        profiles=tuple(spec["profiles"]),
                        derating=curve(spec["derating_ratio"]),
                    ),
                    *channels(spec),
                )
            )
        ),
        own_draw=lambda spec: OwnDraw(0.0, spec["own_asleep_w"]),
        checks=(
            at_least_one("profiles", NO_PROFILE),
            at_least_one("output_nominal_v", f"Choose at least one of {' and '.join(v for _, v in NOMINAL_V)}."),
            channels_make_sense,
            limits_hold,
        ),
    )
)
