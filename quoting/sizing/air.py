"""Air where parts and loads stand, by hours: outside air, and a parked compartment's rise as the sun stands."""

from __future__ import annotations

from quoting.sizing import sun
from quoting.sizing.brief import Brief, Position, Role, Stop, Vehicle
from quoting.sizing.cells import place_air_c


def position_of(vehicle: Vehicle, role: Role) -> Position | None:
    """Where a role's part sits; a converter without a place of its own at the board; ``None`` when nobody says."""
    key = vehicle.places.get(role)
    if key is None and role == "converter":
        key = vehicle.places.get("board")
    return at_key(vehicle, key)


def at_key(vehicle: Vehicle, key: str | None) -> Position | None:
    """The position of that key; ``None`` for no key."""
    return next((p for p in vehicle.positions if p.key == key), None) if key else None


def at_position(brief: Brief, stop: Stop, ambient_c: tuple[float, ...], position: Position | None) -> tuple[float, ...]:
    """Air by hours at a position of the parked vehicle, never over the hottest that the survey gives for it. [°C]

    Parameters
    ----------
    brief : Brief
        With the policy's rise of a parked compartment. [K]
    stop : Stop
        Where the sun stands.
    ambient_c : tuple of float
        Air outside, 24 hours. [°C]
    position : Position, optional
        ``None``: a compartment of which nothing is known, as hot as the rise makes it.

    Notes
    -----
    A place that air passes through freely is as warm as outside.
    """
    if position is not None and position.aired:
        return ambient_c
    shape = sun.hour_shares(stop.site.latitude_deg, stop.month)
    hottest = None if position is None else position.ambient_c
    return place_air_c(ambient_c, shape, brief.policy.compartment_rise_k, hottest)


def at_role(brief: Brief, stop: Stop, ambient_c: tuple[float, ...], role: Role) -> tuple[float, ...]:
    """Air by hours round the part that sits in a role's place. [°C]"""
    return at_position(brief, stop, ambient_c, position_of(brief.vehicle, role))
