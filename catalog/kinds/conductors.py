"""Cable and what is crimped on its ends."""

from __future__ import annotations

from catalog.kinds import declare
from catalog.kinds.base import Kind, Problem, Spec
from catalog.kinds.capabilities import Conducting, Terminating
from catalog.kinds.common import choice, conflict, number

COLOURS = (
    ("red", "red"),
    ("black", "black"),
    ("yellow", "yellow"),
    ("brown", "brown"),
    ("blue", "blue"),
    ("white", "white"),
    ("grey", "grey"),
    ("green", "green"),
    ("green_yellow", "green and yellow"),
)
FORMS = (("ring", "ring"), ("blade", "blade, 6.3 mm"), ("ferrule", "ferrule"), ("butt", "butt joint"))
COPPER_OHM_MM2_M = 1 / 58
"""Resistivity of standard annealed copper at 20 °C. [Ω·mm²/m] IEC 60028:1925."""


def _resistance_suits_area(spec: Spec) -> tuple[Problem, ...]:
    pure = 1000 * COPPER_OHM_MM2_M / spec["area_mm2"]
    if not 0.97 * pure <= spec["ohm_per_km_20c"] <= 1.5 * pure:
        return conflict(
            "ohm_per_km_20c",
            f"Copper of {spec['area_mm2']:g} mm² has about {pure:.3g} Ω/km; it must be at least {0.97 * pure:.3g} Ω/km "
            f"and at most {1.5 * pure:.3g} Ω/km. State the copper's area, not the outside size.",
        )
    return ()


CABLE = declare(
    Kind(
        code="cable",
        label="cable",
        plural="cables",
        group="conductors",
        priced_per="metre",
        help="A single-core flexible copper conductor, by the metre. State the area of copper, not an outside size.",
        fields=(
            number("area_mm2", "Copper area", "mm²", 0.5, 240, rating="{}"),
            number(
                "insulation_c", "Insulation class", "°C", 60, 200, "Highest temperature of the conductor.", rating="{}"
            ),
            choice("colour", "Colour", COLOURS, rating="{}"),
            number(
                "ohm_per_km_20c",
                "Resistance at 20 °C",
                "Ω/km",
                0.05,
                60,
                "IEC 60228 class 5 limit when the maker states none.",
            ),
            number("outside_mm", "Outside diameter", "mm", 1, 40, "For conduit fill.", required=False),
        ),
        capabilities=lambda spec: (
            Conducting(
                area_mm2=spec["area_mm2"],
                insulation_c=spec["insulation_c"],
                colour=spec["colour"],
                ohm_per_km_20c=spec["ohm_per_km_20c"],
                outside_mm=spec["outside_mm"],
            ),
        ),
        checks=(_resistance_suits_area,),
    )
)

TERMINAL = declare(
    Kind(
        code="terminal",
        label="terminal",
        plural="terminals",
        group="conductors",
        help="Crimped on one conductor with the maker's die.",
        fields=(
            number("area_mm2", "Conductor", "mm²", 0.5, 240, rating="{}"),
            number("stud_mm", "Stud", "mm", 0, 20, "M8 is 8 mm; zero where it takes no stud.", rating="stud {}"),
            choice("form", "Form", FORMS, default="ring", rating="{}"),
        ),
        capabilities=lambda spec: (Terminating(area_mm2=spec["area_mm2"], stud_mm=spec["stud_mm"], form=spec["form"]),),
    )
)
