"""What of choosing goes into a Brief: parts that are settled, the room an offer asks, roof and battery space."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from quoting.sizing.fields import Key, Name, n
from quoting.sizing.trace import Record

KeptRole = Literal[
    "battery",
    "engine_charger",
    "mains_charger",
    "solar_controller",
    "panel",
    "inverter",
    "switching",
    "monitor",
    "multi_charger",
    "inlet",
    "residual",
    "converter",
    "coupling",
    "sensing",
]
"""What a part may be there for, kept or chosen."""

OfferName = Literal["lean", "steady", "roomy"]
OFFERS: tuple[OfferName, ...] = ("lean", "steady", "roomy")
Objective = Literal["price", "cost_per_year", "mass"]


class Pick(Record):
    """A part that is settled for a role, to be bought: the sizing checks it and goes on with it, never with another."""

    role: KeptRole
    part: Key = Field(description="Key of a part of the catalogue.")
    quantity: int = Field(default=1, ge=1, le=200)
    series: int = Field(default=1, ge=1, le=16, description="Of batteries or panels in one string.")
    by_hand: bool = Field(default=False, description="A person chose it; else the programme did.")
    retired: bool = Field(default=False, description="The workshop's catalogue has retired it since it was settled.")


class Room(Record):
    """What an offer asks over the bare need: 1 is the need itself. It is shown as a line of each sum it moves."""

    offer: OfferName
    battery_ratio: float = n("", 0.2, 8, 1.0)
    array_ratio: float = n("", 0.2, 8, 1.0)
    charging_ratio: float = n("", 0.2, 8, 1.0, "Of what engine and mains are asked.")
    spare_outputs: int = Field(default=1, ge=0, le=20)
    dark_chance_ratio: float = n("", 0, 1, 0.05, "Chance of going dark that the offer may have.")


class Taken(Record):
    """A rectangle in a roof area that something stands in: a hatch, a vent, a rack's foot."""

    x_m: float = n("m", 0, 20, help="From the area's front edge.")
    y_m: float = n("m", 0, 5, help="From the area's left edge.")
    length_m: float = n("m", 0.01, 20)
    width_m: float = n("m", 0.01, 5)


class RoofArea(Record):
    """A rectangle of a roof that is free for panels, with what stands in it."""

    key: Key
    name: Name
    length_m: float = n("m", 0.1, 20, help="Along the vehicle.")
    width_m: float = n("m", 0.1, 5, help="Across it.")
    x_m: float | None = n("m", 0, 25, None, "Its front edge behind the front of the vehicle, for the plan.")
    y_m: float | None = n("m", -2, 2, None, "Its middle right of the vehicle's middle, for the plan.")
    on_trailer: bool = False
    taken: Annotated[tuple[Taken, ...], Field(max_length=12)] = ()


class BatterySpace(Record):
    """A box into which batteries may go, upright."""

    key: Key
    name: Name
    length_mm: float = n("mm", 50, 6000)
    width_mm: float = n("mm", 50, 3000)
    height_mm: float = n("mm", 50, 2500)
