"""What warms and what moves air. As loads they stand in the power audit; here they are parts to be fitted."""

from __future__ import annotations

from catalog.kinds import declare
from catalog.kinds.base import Kind, Problem, Spec
from catalog.kinds.capabilities_fitting import Airing, Heating, Ventilating
from catalog.kinds.common import choice, conflict, nominal_choices, nominal_v, number, yes_no

FUELS = (("diesel", "diesel"), ("gas", "gas"), ("electric", "electric"))
WARMS = (("air", "air"), ("water", "water"), ("both", "air and water"))


def _heat_suits_power(spec: Spec) -> tuple[Problem, ...]:
    if spec["fuel"] == "electric" and spec["heat_w"] > spec["power_w"] * 1.001:
        return conflict(
            "heat_w",
            f"An electric heater gives no more heat than it takes: "
            f"{spec['heat_w']:g} W is above {spec['power_w']:g} W.",
        )
    if spec["fuel"] != "electric" and spec["power_w"] >= spec["heat_w"]:
        return conflict(
            "power_w",
            f"A heater that burns fuel takes less electric power than it gives heat: "
            f"{spec['power_w']:g} W is not below {spec['heat_w']:g} W.",
        )
    return ()


def _start_is_above_running(spec: Spec) -> tuple[Problem, ...]:
    running_a = spec["power_w"] / spec["nominal_v"]
    if spec["start_a"] < running_a * 0.95:
        return conflict(
            "start_a",
            f"{spec['start_a']:g} A while it starts is below {running_a:.3g} A, what {spec['power_w']:g} W take "
            f"at {spec['nominal_v']:g} V.",
        )
    return ()


HEATER = declare(
    Kind(
        code="heater",
        label="heater",
        plural="heaters",
        group="fittings",
        help="Its exhaust, fuel and gas sides are for licensed people and local rules. "
        "It must be able to run its cooling down: never on a circuit that is cut while it burns.",
        fields=(
            choice("fuel", "Fuel", FUELS, rating="{}"),
            choice("warms", "Warms", WARMS, default="air", rating="{}"),
            number("heat_w", "Heat", "W", 50, 20000, "At full power.", rating="{} of heat"),
            nominal_v("nominal_v", "Voltage"),
            number("power_w", "Electric power", "W", 1, 20000, "While it runs at full power.", rating="takes {}"),
            number("start_a", "Current while it starts", "A", 0.1, 1000, "Such as the glow plug."),
            number("start_s", "For", "s", 0, 600, "How long the start takes."),
        ),
        capabilities=lambda spec: (
            Heating(
                fuel=spec["fuel"],
                heat_w=spec["heat_w"],
                power_w=spec["power_w"],
                start_a=spec["start_a"],
                start_s=spec["start_s"],
            ),
        ),
        checks=(_heat_suits_power, _start_is_above_running),
    )
)

MOST_AIR_M3_WH = 60.0
"""Air that a small axial fan moves for each watt-hour, at most. [m³/Wh] C, common practice."""


def _air_suits_power(spec: Spec) -> tuple[Problem, ...]:
    most = MOST_AIR_M3_WH * spec["power_w"]
    if spec["air_m3_h"] > most:
        return conflict(
            "air_m3_h",
            f"{spec['air_m3_h']:g} m³/h is more than {spec['power_w']:g} W move; it must be at most {most:g} m³/h.",
        )
    return ()


VENTILATOR = declare(
    Kind(
        code="ventilator",
        label="ventilator",
        plural="ventilators",
        group="fittings",
        help="Moves air out of a compartment or a living space.",
        fields=(
            number("air_m3_h", "Air", "m³/h", 1, 5000, "Blowing freely.", rating="{}"),
            nominal_choices("nominal_v", "Voltages"),
            number("power_w", "Power", "W", 0.2, 500, rating="{}"),
            number("max_c", "Hottest air", "°C", 30, 150, "That it may move."),
            yes_no(
                "spark_free",
                "Makes no spark",
                "Brushless: for the compartment of a battery that gives off hydrogen, it must not spark.",
            ),
            number("hole_mm", "Opening", "mm", 20, 700, "Diameter or side.", required=False),
        ),
        capabilities=lambda spec: (
            Ventilating(air_m3_h=spec["air_m3_h"], power_w=spec["power_w"], max_c=spec["max_c"]),
        ),
        checks=(_air_suits_power,),
    )
)

VENT = declare(
    Kind(
        code="vent",
        label="vent",
        plural="vents",
        group="fittings",
        help="Lets air through a wall by itself. A battery that gives off hydrogen has one low and one high, to the "
        "outside.",
        fields=(
            number("free_cm2", "Free area", "cm²", 0.5, 5000, "Grille and mesh taken off.", rating="{} free"),
            number("hole_mm", "Opening", "mm", 5, 700, "Diameter or side.", required=False),
            yes_no("rainproof", "Keeps rain out"),
        ),
        capabilities=lambda spec: (Airing(free_cm2=spec["free_cm2"]),),
    )
)
