"""Where a line of the bill is used: the step of the build, and the place in the vehicle.

A line is bought once and used in several steps: cable of one size lies in many circuits. Each line carries its uses,
which add up to its quantity; so the bill as the workshop buys it and as it is built have the same lines and sums.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping

from quoting.sizing.appraisal import BillUse, Chosen, Circuit
from quoting.sizing.brief import Vehicle

STEPS = ("before", "battery", "charging", "solar", "inverter", "boards", "circuits", "signals", "ac", "finish")
"""Steps of a build in their order, as ``wording.building`` words them."""

OF_CIRCUIT: Mapping[str, str] = {
    "battery_main": "battery",
    "negative_bond": "battery",
    "engine_feed": "charging",
    "charger_output": "charging",
    "mains_output": "charging",
    "solar_array": "solar",
    "controller_output": "solar",
    "inverter_feed": "inverter",
    "distribution": "boards",
    "converter_input": "boards",
    "converter_output": "boards",
    "starter_feed": "boards",
    "load": "circuits",
    "sense": "signals",
    "control": "signals",
}
"""Role of a circuit -> step in which it is laid."""

OF_ROLE: Mapping[str, str] = {
    "battery": "battery",
    "monitor": "battery",
    "engine_charger": "charging",
    "multi_charger": "charging",
    "mains_charger": "charging",
    "coupling": "charging",
    "solar_controller": "solar",
    "panel": "solar",
    "inverter": "inverter",
    "switching": "boards",
    "converter": "boards",
    "sensing": "signals",
    "sensor": "signals",
    "inlet": "ac",
    "residual": "ac",
}
"""Role of a chosen part -> step in which it is fitted."""

PLACES: Mapping[str, str] = {
    "battery": "battery",
    "monitor": "battery",
    "engine_charger": "charger",
    "multi_charger": "charger",
    "mains_charger": "charger",
    "solar_controller": "charger",
    "panel": "array",
    "inverter": "inverter",
    "switching": "board",
    "sensing": "board",
    "converter": "converter",
    "inlet": "inlet",
    "residual": "inlet",
}
"""Role of a chosen part -> what sits where (``brief.Role``). A sensor's place is that of what it watches."""


class Uses:
    """How much of a part goes where, as it is counted."""

    def __init__(self) -> None:
        self._at: dict[tuple[str, str], float] = defaultdict(float)

    def add(self, step: str, position: str, quantity: float) -> Uses:
        """Count so many more at a step and position; the position empty where it is no one place."""
        self._at[step, position] += quantity
        return self

    def take(self, other: Uses) -> None:
        """Count what another counted as well."""
        for (step, position), quantity in other._at.items():
            self._at[step, position] += quantity

    @property
    def quantity(self) -> float:
        return math.fsum(self._at.values())

    def of(self, bought: float) -> tuple[BillUse, ...]:
        """The uses in shares of what is bought, spare and rounding included; they add up to it to the thousandth."""
        counted = self.quantity
        if not counted or not bought:
            return ()
        shares = {at: round(bought * quantity / counted, 3) for at, quantity in sorted(self._at.items(), key=_order)}
        largest = max(shares, key=lambda at: shares[at])
        shares[largest] = round(bought - math.fsum(v for at, v in shares.items() if at != largest), 3)
        return tuple(BillUse(step=s, position=p, quantity=q) for (s, p), q in shares.items() if q)


def _order(entry: tuple[tuple[str, str], float]) -> tuple[int, str]:
    (step, position), _quantity = entry
    return STEPS.index(step), position


def step_of(circuit: Circuit | None) -> str:
    """The step in which a circuit is laid; the circuits' own where it is not known."""
    return "circuits" if circuit is None else OF_CIRCUIT[circuit.role]


def place_of(vehicle: Vehicle, one: Chosen) -> str:
    """Key of the position that a chosen part sits at; empty where nobody said."""
    if one.role == "coupling":
        return vehicle.hitch.tow if vehicle.hitch is not None else ""
    places: Mapping[str, str] = {str(role): key for role, key in vehicle.places.items()}
    role = PLACES.get(one.role, "")
    return places.get(role, places.get("board", "") if role == "converter" else "")
