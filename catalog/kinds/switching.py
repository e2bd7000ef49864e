"""What people and small currents switch, and where they plug in."""

from __future__ import annotations

from catalog.kinds import declare
from catalog.kinds.base import Kind, Problem, Spec
from catalog.kinds.capabilities import HandSwitching, Outletting, OwnDraw, Relaying
from catalog.kinds.common import choice, conflict, count, nominal_v, number, yes_no

CONTACTS = (("make", "make contact"), ("change_over", "change-over contact"))


def _coil_holds(spec: Spec) -> tuple[Problem, ...]:
    if spec["latching"] and spec["hold_w"] > 0:
        return conflict("hold_w", f"A latching relay holds without power; {spec['hold_w']:g} W must be 0 W.")
    if not spec["latching"] and spec["hold_w"] <= 0:
        return conflict("hold_w", "A relay that does not latch needs power to hold: 0 W must be more than 0 W.")
    return ()


RELAY = declare(
    Kind(
        code="relay",
        label="relay",
        plural="relays",
        group="distribution",
        help="Switches one circuit by another's small current. Its coil takes power for as long as it holds.",
        fields=(
            number("contact_a", "Contact", "A", 0.5, 1000, "Continuous, resistive load.", rating="{}"),
            nominal_v("coil_v", "Coil", rating="coil {}"),
            number("max_v", "Highest voltage", "V", 12, 1500, "Direct current that the contact breaks."),
            choice("contacts", "Contacts", CONTACTS, default="make", rating="{}"),
            count("poles", "Poles", 1, 4, default=1),
            number("hold_w", "Coil takes", "W", 0, 30, "While it holds; 0 W when it latches."),
            yes_no("latching", "Latching", "Stays as it was set without power."),
            yes_no("by_voltage", "Closes by itself on charging voltage", "A voltage-sensing split-charge relay."),
        ),
        capabilities=lambda spec: (
            Relaying(
                coil_v=spec["coil_v"],
                contact_a=spec["contact_a"],
                max_v=spec["max_v"],
                poles=spec["poles"],
                hold_w=spec["hold_w"],
            ),
        ),
        own_draw=lambda spec: OwnDraw(spec["hold_w"], 0.0),
        checks=(_coil_holds,),
    )
)

FORMS = (("rocker", "rocker"), ("push", "push button"), ("toggle", "toggle"), ("rotary", "rotary"), ("key", "key"))


def _button_has_one_way(spec: Spec) -> tuple[Problem, ...]:
    if spec["form"] == "push" and spec["ways"] > 1:
        return conflict("ways", f"A push button connects 1 way, not {spec['ways']}.")
    return ()


SWITCH = declare(
    Kind(
        code="switch",
        label="switch",
        plural="switches",
        group="distribution",
        help="For daily use. It is no isolator: it need not say that a circuit is parted.",
        fields=(
            choice("form", "Form", FORMS, rating="{}"),
            number("rating_a", "Rating", "A", 0.05, 100, "At its highest voltage, resistive load.", rating="{}"),
            number("max_v", "Highest voltage", "V", 12, 250, "Direct current; most break far less of it than of AC."),
            count("poles", "Poles", 1, 4, default=1),
            count("ways", "Ways", 1, 6, "1 for on and off, 2 for a change-over.", default=1),
            yes_no("momentary", "Springs back"),
            number("hole_mm", "Hole", "mm", 5, 80, "Diameter, or the longer side.", required=False),
        ),
        capabilities=lambda spec: (
            HandSwitching(rating_a=spec["rating_a"], max_v=spec["max_v"], poles=spec["poles"], ways=spec["ways"]),
        ),
        checks=(_button_has_one_way,),
    )
)

BUSES = (
    ("house", "house bus"),
    ("house12", "12 V behind a converter"),
    ("usb", "USB-C"),
    ("ac", "AC through the inverter"),
)
BUS_LIMITS_V = {"house": (12.0, 24.0), "house12": (12.0, 13.8), "usb": (5.0, 48.0), "ac": (100.0, 250.0)}
"""Rated voltages that an outlet of each bus can have. [V] USB Power Delivery 3.1 ends at 48 V. C."""


def _voltage_suits_bus(spec: Spec) -> tuple[Problem, ...]:
    low, high = BUS_LIMITS_V[spec["bus"]]
    if not low <= spec["rated_v"] <= high:
        return conflict(
            "rated_v",
            f"{spec['rated_v']:g} V does not suit this bus; it must be at least {low:g} V and at most {high:g} V.",
        )
    return ()


def _power_suits_current(spec: Spec) -> tuple[Problem, ...]:
    whole_w = spec["rating_a"] * spec["rated_v"] * spec["ways"]
    if spec["power_w"] is not None and spec["power_w"] > whole_w * 1.001:
        return conflict(
            "power_w",
            f"{spec['power_w']:g} W is above {whole_w:g} W, what {spec['ways']} × {spec['rating_a']:g} A "
            f"at {spec['rated_v']:g} V can give.",
        )
    return ()


OUTLET = declare(
    Kind(
        code="outlet",
        label="outlet",
        plural="outlets",
        group="distribution",
        help="Where people plug in. Outlets of mains voltage are for licensed people.",
        fields=(
            choice("bus", "Bus", BUSES, rating="{}"),
            number("rating_a", "Rating of one way", "A", 0.5, 63, rating="{}"),
            number("rated_v", "Rated voltage", "V", 5, 250, "For USB-C the highest it offers.", rating="{}"),
            count("ways", "Ways", 1, 12, default=1),
            number(
                "power_w",
                "All ways together",
                "W",
                1,
                10000,
                "Where the maker states a limit, as for USB-C.",
                required=False,
                rating="{} in all",
            ),
            number("no_load_w", "No-load draw", "W", 0, 10, "With nothing plugged in.", default=0.0),
            number("hole_mm", "Hole", "mm", 5, 200, "Diameter, or the longer side.", required=False),
        ),
        capabilities=lambda spec: (
            Outletting(
                bus=spec["bus"],
                rating_a=spec["rating_a"],
                rated_v=spec["rated_v"],
                power_w=spec["power_w"],
                ways=spec["ways"],
                no_load_w=spec["no_load_w"],
            ),
        ),
        own_draw=lambda spec: OwnDraw(spec["no_load_w"], 0.0),
        checks=(_voltage_suits_bus, _power_suits_current),
    )
)
