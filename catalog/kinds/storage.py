"""What stores energy and what counts it."""

from __future__ import annotations

from dataclasses import replace

from catalog.kinds import declare
from catalog.kinds.base import Field, Kind, Problem, Spec
from catalog.kinds.capabilities import CHEMISTRIES, Capability, Equalising, Monitoring, OwnDraw, Storage
from catalog.kinds.channels import OUTPUTS, channels, channels_make_sense, inputs
from catalog.kinds.common import (
    OWN_ASLEEP,
    OWN_AWAKE,
    PROFILES,
    at_least_one,
    choice,
    conflict,
    count,
    curve,
    not_above,
    number,
    yes_no,
)
from catalog.kinds.landing import STUD, landed

CELL_V = {"lifepo4": 3.2, "agm": 2.0, "gel": 2.0, "flooded": 2.0}
"""Nominal voltage of one cell, by chemistry. [V] Common practice."""

ABSORPTION_CELL_V = {"lifepo4": (3.4, 3.65), "agm": (2.3, 2.5), "gel": (2.3, 2.42), "flooded": (2.3, 2.58)}
"""Absorption set-points that can be meant, per cell at 25 °C. [V] Common practice."""


def _cells_make_the_voltage(spec: Spec) -> tuple[Problem, ...]:
    cell_v = CELL_V[spec["chemistry"]]
    expected_v = cell_v * spec["cells"]
    if abs(expected_v - spec["nominal_v"]) > 0.1 * expected_v:
        return conflict(
            "cells",
            f"{spec['cells']} cells of {cell_v:g} V in series make {expected_v:g} V, not {spec['nominal_v']:g} V.",
        )
    return ()


def _set_points_fit(spec: Spec) -> tuple[Problem, ...]:
    low, high = (v * spec["cells"] for v in ABSORPTION_CELL_V[spec["chemistry"]])
    if not low - 1e-9 <= spec["absorption_v"] <= high + 1e-9:
        return conflict(
            "absorption_v",
            f"{spec['absorption_v']:g} V does not suit {spec['cells']} cells of this chemistry; "
            f"it must be at least {low:.4g} V and at most {high:.4g} V.",
        )
    if spec["cutoff_v"] >= spec["nominal_v"]:
        return conflict("cutoff_v", "The cut-off voltage must be below the nominal voltage.")
    return ()


def _lithium_limits(spec: Spec) -> tuple[Problem, ...]:
    if spec["chemistry"] != "lifepo4":
        return ()
    found: tuple[Problem, ...] = ()
    if spec["min_charge_c"] < 0:
        found += conflict("min_charge_c", "Lithium cells must not be charged below 0 °C; a heater warms them first.")
    if spec["engine_bay_allowed"]:
        found += conflict("engine_bay_allowed", "A lithium battery never belongs in an engine bay.")
    return found


def _flooded_is_vented(spec: Spec) -> tuple[Problem, ...]:
    if spec["chemistry"] == "flooded" and not spec["needs_venting"]:
        return conflict("needs_venting", "A flooded battery gives off hydrogen and needs venting.")
    return ()


SIDES_MM = ("length_mm", "width_mm", "height_mm")


def _whole_size(spec: Spec) -> tuple[Problem, ...]:
    given = [name for name in SIDES_MM if spec[name] is not None]
    if not given or len(given) == len(SIDES_MM):
        return ()
    lacking = next(name for name in SIDES_MM if spec[name] is None)
    return conflict(lacking, "Give length, width and height, or none of them: a battery's size is all three.")


def _storage(spec: Spec) -> tuple[Capability, ...]:
    return (
        Storage(
            chemistry=spec["chemistry"],
            nominal_v=spec["nominal_v"],
            cells=spec["cells"],
            capacity_ah=spec["capacity_ah"],
            rate_h=spec["rate_h"],
            peukert=spec["peukert"],
            resistance_ohm=spec["resistance_ohm"],
            max_charge_a=spec["max_charge_a"],
            max_discharge_a=spec["max_discharge_a"],
            peak_a=spec["peak_a"],
            peak_s=spec["peak_s"],
            cutoff_v=spec["cutoff_v"],
            absorption_v=spec["absorption_v"],
            float_v=spec["float_v"],
            compensation_mv_per_cell_k=spec["compensation_mv_per_cell_k"],
            max_series=spec["max_series"],
            max_parallel=spec["max_parallel"],
            min_charge_c=spec["min_charge_c"],
            max_charge_c=spec["max_charge_c"],
            heater_w=spec["heater_w"],
            cycles=curve(spec["cycles"]),
            needs_venting=spec["needs_venting"],
            engine_bay_allowed=spec["engine_bay_allowed"],
            length_mm=spec["length_mm"],
            width_mm=spec["width_mm"],
            height_mm=spec["height_mm"],
        ),
    )


BATTERY = declare(
    Kind(
        code="battery",
        label="battery",
        plural="batteries",
        group="storage",
        help="An auxiliary battery: one case, whatever it is made of.",
        fields=(
            choice("chemistry", "Chemistry", CHEMISTRIES, rating="{}"),
            number(
                "nominal_v", "Nominal voltage", "V", 2, 60, "12.8 V for four lithium iron phosphate cells.", rating="{}"
            ),
            count("cells", "Cells in series", 1, 24, "Inside this one battery."),
            number("capacity_ah", "Capacity", "Ah", 1, 2000, "At the rate stated next.", rating="{}"),
            number(
                "rate_h", "Rate of the capacity", "h", 1, 100, "Hours of the discharge; 20 h is usual for lead-acid."
            ),
            number("peukert", "Peukert exponent", "", 1.0, 1.6, "1.00 to 1.05 for lithium, 1.1 to 1.3 for lead-acid."),
            number(
                "resistance_ohm",
                "Internal resistance",
                "Ω",
                0.0002,
                0.2,
                "New, at 25 °C. Left empty it counts as not stated: then only high breaking capacities serve.",
                required=False,
            ),
            number("max_charge_a", "Most charging current", "A", 0.5, 2000),
            number("max_discharge_a", "Continuous discharge current", "A", 0.5, 4000, rating="{}"),
            number("peak_a", "Peak discharge current", "A", 0.5, 6000),
            number("peak_s", "Time of the peak", "s", 0.1, 600, "How long it allows the peak current."),
            number(
                "cutoff_v",
                "Cut-off voltage",
                "V",
                1.5,
                56,
                "Where its own protection opens, or the lowest it may be taken to.",
            ),
            number("absorption_v", "Absorption voltage", "V", 2, 66, "At 25 °C."),
            number("float_v", "Float voltage", "V", 2, 66, "At 25 °C."),
            number(
                "compensation_mv_per_cell_k",
                "Temperature compensation",
                "mV/K",
                -8,
                0,
                "Per cell; 0 for lithium.",
                default=0.0,
            ),
            count("max_series", "Most in series", 1, 8, default=1),
            count("max_parallel", "Most in parallel", 1, 16, default=1),
            number("min_charge_c", "Coldest charging", "°C", -40, 20, "Cell temperature."),
            number("max_charge_c", "Hottest charging", "°C", 20, 70, "Cell temperature."),
            number("heater_w", "Heater", "W", 0, 500, "Zero when it has none.", default=0.0),
            Field(
                "cycles",
                "Cycle life",
                "curve",
                "cycles",
                1,
                100000,
                required=False,
                x_unit="ratio",
                help="Depth of discharge against cycles to the end of life: 50 6000; 80 3500.",
            ),
            yes_no("needs_venting", "Needs venting to the outside"),
            yes_no("engine_bay_allowed", "Allowed in an engine bay"),
            number(
                "length_mm",
                "Length",
                "mm",
                20,
                2000,
                "Over all, as it stands upright. Left empty, nobody can check that it goes into its space.",
                required=False,
            ),
            number("width_mm", "Width", "mm", 20, 2000, required=False),
            number("height_mm", "Height", "mm", 20, 1500, "With its terminals.", required=False),
            OWN_AWAKE,
            OWN_ASLEEP,
            STUD,
        ),
        capabilities=landed(_storage),
        own_draw=lambda spec: OwnDraw(spec["own_awake_w"], spec["own_asleep_w"]),
        checks=(
            _cells_make_the_voltage,
            _set_points_fit,
            _lithium_limits,
            _flooded_is_vented,
            _whole_size,
            not_above("max_discharge_a", "peak_a", "The continuous current is above the peak current."),
            not_above("float_v", "absorption_v", "The float voltage is above the absorption voltage."),
        ),
    )
)


def _monitoring(spec: Spec) -> tuple[Capability, ...]:
    return (
        Monitoring(shunt_a=spec["shunt_a"], max_v=spec["max_v"], shunt_ohm=spec["shunt_ohm"]),
        *channels(spec),
    )


BATTERY_MONITOR = declare(
    Kind(
        code="battery_monitor",
        label="battery monitor",
        plural="battery monitors",
        group="storage",
        help="Counts charge in and out through a shunt in the negative conductor.",
        fields=(
            number("shunt_a", "Shunt rating", "A", 10, 2000, "Continuous.", rating="{}"),
            number("shunt_ohm", "Shunt resistance", "Ω", 0.00001, 0.01, "50 mV at 500 A is 0.1 mΩ."),
            number("max_v", "Highest voltage", "V", 8, 100, rating="up to {}"),
            *inputs(),
            *OUTPUTS,
            OWN_AWAKE,
            OWN_ASLEEP,
            STUD,
        ),
        capabilities=landed(_monitoring),
        own_draw=lambda spec: OwnDraw(spec["own_awake_w"], spec["own_asleep_w"]),
        checks=(channels_make_sense,),
    )
)


def _starts_above_rest(spec: Spec) -> tuple[Problem, ...]:
    most_v = 0.05 * spec["nominal_v"]
    if spec["starts_at_v"] > most_v:
        return conflict(
            "starts_at_v",
            f"A difference of {spec['starts_at_v']:g} V is too late to start at for a pair of {spec['nominal_v']:g} V; "
            f"it must be at most {most_v:g} V.",
        )
    return ()


BATTERY_EQUALISER = declare(
    Kind(
        code="battery_equaliser",
        label="battery equaliser",
        plural="battery equalisers",
        group="storage",
        help="Keeps two batteries in series at the same voltage, one for each pair.",
        fields=(
            number("current_a", "Moves up to", "A", 0.1, 100, "From one battery to the other.", rating="{}"),
            Field(
                "nominal_v",
                "Voltage of the pair",
                "number",
                "V",
                12,
                48,
                options=(("12", "2 × 6 V"), ("24", "2 × 12 V"), ("48", "2 × 24 V")),
                in_rating=True,
                rating_words="for {}",
            ),
            number("starts_at_v", "Starts at a difference of", "V", 0.002, 2, default=0.01),
            replace(PROFILES, name="chemistries", label="Chemistries", help="Of batteries that it may stand across."),
            OWN_ASLEEP,
        ),
        capabilities=lambda spec: (
            Equalising(
                nominal_v=spec["nominal_v"],
                current_a=spec["current_a"],
                chemistries=tuple(spec["chemistries"]),
            ),
        ),
        own_draw=lambda spec: OwnDraw(spec["own_asleep_w"], spec["own_asleep_w"]),
        checks=(at_least_one("chemistries", "Choose at least one chemistry."), _starts_above_rest),
    )
)
