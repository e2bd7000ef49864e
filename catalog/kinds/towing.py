"""What joins a towing vehicle and its trailer."""

from __future__ import annotations

from catalog.kinds import declare
from catalog.kinds.base import Field, Kind, Problem, Spec
from catalog.kinds.capabilities import Coupling
from catalog.kinds.common import at_least_one, choice, conflict, count, number

COUPLINGS = (("plug", "plug of many pins"), ("high_current", "high-current connector"))
DEAD = (
    ("lamps", "lamps"),
    ("brakes", "electric brakes"),
    ("reversing", "reversing lamp"),
    ("charging", "charging"),
    ("fridge_feed", "refrigerator feed while driving"),
)
HOTTEST_CONTACT_W = 10.0
"""Heat that one contact of a connector stands at its rating. [W] C, common practice."""


def _contact_stays_cool(spec: Spec) -> tuple[Problem, ...]:
    heat_w = spec["pin_a"] ** 2 * spec["pin_ohm"]
    if heat_w > HOTTEST_CONTACT_W:
        return conflict(
            "pin_ohm",
            f"{spec['pin_a']:g} A through {spec['pin_ohm'] * 1000:g} mΩ makes {heat_w:.3g} W in one contact; "
            f"it must be at most {HOTTEST_CONTACT_W:g} W. State one mated contact, not the whole lead.",
        )
    return ()


def _pairs_fit(spec: Spec) -> tuple[Problem, ...]:
    if 2 * spec["pins"] > spec["contacts"]:
        return conflict(
            "pins",
            f"{spec['pins']} pairs take {2 * spec['pins']} contacts; the coupling has {spec['contacts']}.",
        )
    return ()


TRAILER_COUPLING = declare(
    Kind(
        code="trailer_coupling",
        label="trailer coupling",
        plural="trailer couplings",
        group="distribution",
        help="Plug and socket between towing vehicle and trailer, as a mated pair. Its contacts limit the charging.",
        fields=(
            choice("form", "Form", COUPLINGS, rating="{}"),
            count("contacts", "Contacts", 2, 30, "All of them, lamps included."),
            count("pins", "Pairs for charging", 1, 8, "Feed and return, side by side."),
            number("pin_a", "Current of a contact", "A", 1, 500, "Continuous, warm, as the maker states.", rating="{}"),
            number(
                "pin_ohm",
                "Resistance of a contact",
                "Ω",
                0.00002,
                0.05,
                "One mated contact after some use: about 2 mΩ in a plug, 0.2 mΩ in a high-current connector.",
                rating="{} a contact",
            ),
            number("max_v", "Highest voltage", "V", 12, 600),
            number("largest_mm2", "Largest conductor", "mm²", 0.5, 120, "That a contact takes.", rating="up to {}"),
            Field(
                "dead_unhitched",
                "Dead when unhitched",
                "choices",
                options=DEAD,
                default=("charging",),
                help="What has no power on the trailer once it stands alone.",
            ),
        ),
        capabilities=lambda spec: (
            Coupling(
                pins=spec["pins"],
                pin_a=spec["pin_a"],
                pin_ohm=spec["pin_ohm"],
                max_v=spec["max_v"],
                form=spec["form"],
                dead_unhitched=tuple(spec["dead_unhitched"]),
            ),
        ),
        checks=(
            _pairs_fit,
            _contact_stays_cool,
            at_least_one("dead_unhitched", "Say what is dead when the trailer is unhitched, charging at least."),
        ),
    )
)
