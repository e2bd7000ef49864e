"""Usual positions and cable ways by body, to start a survey from. Pure.

The lengths are typical, not this vehicle's: each run of a set is marked to be measured. Workshop practice.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from django.utils.translation import gettext_lazy as _


@dataclass(frozen=True, slots=True)
class Spot:
    """A usual position. ``role`` is what mostly sits there, one of the roles of a job's placements, or empty."""

    name: str
    ambient_c: float
    role: str = ""
    engine_space: bool = False
    at_m: tuple[float, float] = (0.0, 0.0)
    """Behind the front (of a trailer: its coupling) and right of the middle, in a body of the set's size. [m]"""


@dataclass(frozen=True, slots=True)
class StarterSet:
    """Positions and runs of one body style; runs as (from, to, metres one way). Sizes are over all, drawbar too."""

    key: str
    words: object
    body_words: tuple[str, ...]
    length_m: float
    width_m: float
    spots: tuple[Spot, ...]
    runs: tuple[tuple[str, str, float], ...]

    def place_m(self, spot: Spot, length_m: float | None, width_m: float | None) -> tuple[float, float]:
        """Where a spot sits in a body of that size, the set's own where it is not known. [m]"""
        along, across = (length_m or self.length_m) / self.length_m, (width_m or self.width_m) / self.width_m
        return round(spot.at_m[0] * along, 2), round(spot.at_m[1] * across, 2)


_STARTER = Spot("Starter battery", 80, "starter", engine_space=True)

SETS: tuple[StarterSet, ...] = (
    StarterSet(
        "wagon",
        _("Wagon"),
        ("wagon", "estate", "four-wheel drive"),
        5.0,
        1.9,
        (
            replace(_STARTER, at_m=(0.8, 0.5)),
            Spot("Cargo area, left", 42, "battery", at_m=(3.9, -0.5)),
            Spot("Cargo area, charger panel", 50, "charger", at_m=(3.5, -0.75)),
            Spot("Cargo area, board", 50, "board", at_m=(4.3, -0.75)),
            Spot("Cargo area, right", 50, "inverter", at_m=(4.0, 0.6)),
            Spot("Roof", 70, "array", at_m=(2.6, 0.0)),
            Spot("Rear bar", 45, "inlet", at_m=(4.85, -0.5)),
            Spot("Rear bar, trailer socket", 45, at_m=(4.9, 0.3)),
            Spot("Tailgate", 45, at_m=(4.7, 0.0)),
            Spot("Cabin", 50, at_m=(1.9, 0.4)),
        ),
        (
            ("Starter battery", "Cargo area, charger panel", 5.0),
            ("Cargo area, left", "Cargo area, charger panel", 1.0),
            ("Cargo area, left", "Cargo area, board", 1.0),
            ("Cargo area, left", "Cargo area, right", 1.2),
            ("Roof", "Cargo area, charger panel", 4.0),
            ("Rear bar", "Cargo area, charger panel", 2.0),
            ("Cargo area, charger panel", "Rear bar, trailer socket", 2.2),
            ("Cargo area, board", "Tailgate", 1.5),
            ("Cargo area, board", "Cabin", 4.0),
        ),
    ),
    StarterSet(
        "van",
        _("Van"),
        ("van", "bus"),
        5.9,
        2.0,
        (
            replace(_STARTER, at_m=(0.6, -0.5)),
            Spot("Under bench, battery", 42, "battery", at_m=(3.9, -0.6)),
            Spot("Under bench, charger", 45, "charger", at_m=(3.6, -0.8)),
            Spot("Side wall, board", 45, "board", at_m=(3.2, -0.9)),
            Spot("Under bench, inverter", 45, "inverter", at_m=(4.2, -0.8)),
            Spot("Roof", 70, "array", at_m=(3.6, 0.0)),
            Spot("Outside left, inlet", 45, "inlet", at_m=(4.4, -0.98)),
            Spot("Kitchen", 45, at_m=(3.0, 0.7)),
            Spot("Rear", 45, at_m=(5.5, -0.6)),
            Spot("Cabin", 50, at_m=(1.6, 0.3)),
        ),
        (
            ("Starter battery", "Under bench, charger", 4.0),
            ("Under bench, battery", "Under bench, charger", 0.8),
            ("Under bench, battery", "Side wall, board", 1.2),
            ("Under bench, battery", "Under bench, inverter", 0.8),
            ("Roof", "Under bench, charger", 4.0),
            ("Outside left, inlet", "Under bench, charger", 1.5),
            ("Side wall, board", "Kitchen", 2.0),
            ("Side wall, board", "Rear", 3.0),
            ("Side wall, board", "Cabin", 3.5),
        ),
    ),
    StarterSet(
        "trailer",
        _("Camper trailer"),
        ("trailer", "caravan"),
        4.8,
        2.0,
        (
            Spot("Drawbar, coupling", 45, at_m=(0.05, 0.0)),
            Spot("Drawbar box", 42, "battery", at_m=(1.1, -0.3)),
            Spot("Drawbar box, charger", 50, "charger", at_m=(1.0, 0.3)),
            Spot("Front wall, board", 45, "board", at_m=(1.7, -0.6)),
            Spot("Front wall, inverter", 45, "inverter", at_m=(1.7, 0.5)),
            Spot("Roof", 70, "array", at_m=(3.1, 0.0)),
            Spot("Drawbar, inlet", 45, "inlet", at_m=(0.7, -0.1)),
            Spot("Kitchen", 45, at_m=(3.6, 0.9)),
            Spot("Rear", 45, at_m=(4.6, 0.0)),
        ),
        (
            ("Drawbar, coupling", "Drawbar box, charger", 1.2),
            ("Drawbar box", "Drawbar box, charger", 0.8),
            ("Drawbar box", "Front wall, board", 1.5),
            ("Drawbar box", "Front wall, inverter", 1.5),
            ("Roof", "Drawbar box, charger", 4.0),
            ("Drawbar, inlet", "Drawbar box, charger", 1.0),
            ("Front wall, board", "Kitchen", 3.0),
            ("Front wall, board", "Rear", 4.0),
        ),
    ),
    StarterSet(
        "box_trailer",
        _("Box trailer"),
        ("box trailer", "tool trailer", "plant trailer"),
        3.8,
        1.8,
        (
            Spot("Drawbar, coupling", 45, at_m=(0.05, 0.0)),
            Spot("Front wall, battery", 45, "battery", at_m=(1.5, -0.5)),
            Spot("Front wall, charger", 50, "charger", at_m=(1.5, 0.2)),
            Spot("Front wall, board", 50, "board", at_m=(1.4, -0.75)),
            Spot("Side wall, inverter", 50, "inverter", at_m=(2.2, -0.8)),
            Spot("Roof", 75, "array", at_m=(2.6, 0.0)),
            Spot("Outside, inlet", 45, "inlet", at_m=(1.35, 0.75)),
            Spot("Work area", 50, at_m=(2.7, 0.5)),
            Spot("Rear door", 50, at_m=(3.7, 0.0)),
        ),
        (
            ("Drawbar, coupling", "Front wall, charger", 1.5),
            ("Front wall, battery", "Front wall, charger", 0.8),
            ("Front wall, battery", "Front wall, board", 0.8),
            ("Front wall, battery", "Side wall, inverter", 1.5),
            ("Roof", "Front wall, charger", 3.0),
            ("Outside, inlet", "Front wall, charger", 1.5),
            ("Front wall, board", "Work area", 2.5),
            ("Front wall, board", "Rear door", 4.0),
        ),
    ),
    StarterSet(
        "truck",
        _("Truck"),
        ("truck", "lorry"),
        6.8,
        2.3,
        (
            Spot("Chassis, starter batteries", 60, "starter", at_m=(2.2, -1.0)),
            Spot("Body, battery locker", 42, "battery", at_m=(4.6, -0.7)),
            Spot("Body, charger panel", 50, "charger", at_m=(4.2, -0.9)),
            Spot("Body, board", 50, "board", at_m=(4.0, -0.5)),
            Spot("Body, inverter", 50, "inverter", at_m=(5.1, -0.8)),
            Spot("Roof", 70, "array", at_m=(5.2, 0.0)),
            Spot("Body side, inlet", 45, "inlet", at_m=(4.4, -1.1)),
            Spot("Body, work area", 45, at_m=(5.8, 0.6)),
            Spot("Cabin", 50, at_m=(1.5, 0.4)),
        ),
        (
            ("Chassis, starter batteries", "Body, charger panel", 4.5),
            ("Body, battery locker", "Body, charger panel", 1.0),
            ("Body, battery locker", "Body, board", 1.2),
            ("Body, battery locker", "Body, inverter", 1.2),
            ("Roof", "Body, charger panel", 5.0),
            ("Body side, inlet", "Body, charger panel", 1.5),
            ("Body, board", "Body, work area", 3.0),
            ("Body, board", "Cabin", 6.0),
        ),
    ),
)
BY_KEY = {entry.key: entry for entry in SETS}
ROLE_BY_NAME = {spot.name: spot.role for entry in SETS for spot in entry.spots if spot.role}
"""What mostly sits at a position of a starter set."""


def suggested(body: str) -> StarterSet | None:
    """The set that a vehicle's body asks for, if its words say so.

    >>> suggested("Touring wagon").key
    'wagon'
    """
    said = body.lower()
    # the closer word wins: "box trailer" over "trailer", and either over the "van" inside "caravan"
    first = ("box_trailer", "trailer", "truck")
    order = sorted(SETS, key=lambda entry: first.index(entry.key) if entry.key in first else len(first))
    return next((entry for entry in order if any(word in said for word in entry.body_words)), None)
