"""Chargers and controllers warm the air round them by what they lose; a maker's curve is read with that on top."""

from __future__ import annotations

from dataclasses import replace

from catalog.kinds.capabilities import Capability, Curve, EngineCharging, MainsCharging, SolarControl, at
from quoting.sizing.errors import require
from quoting.sizing.policy import Policy


def warmed(curve: Curve, loss_w: float, k_per_w: float) -> Curve:
    r"""A maker's curve, read at the air round the part before its own heat is in it.

    Rated output is left in the share y of that air and the part's heat together; the heat follows the output. A point
    (T, y) of the maker's curve is therefore reached when the air by itself has

    .. math:: T' = T - r P_l y

    and straight lines stay straight, so that shifting the points solves it.

    Parameters
    ----------
    curve : Curve
        Air round the part [°C] against what is left of its rating, 0..1.
    loss_w : float
        Lost at full output. [W]
    k_per_w : float
        Rise of the air round it for each watt lost. [K/W]

    Examples
    --------
    >>> warmed(((40, 1.0), (60, 0.5)), 80.0, 0.05)
    ((36.0, 1.0), (58.0, 0.5))

    Notes
    -----
    Steady heat; a compartment takes some minutes to get there, which is the safe side.
    """
    require("loss_w", loss_w, minimum=0, maximum=1e5, unit="W")
    require("k_per_w", k_per_w, minimum=0, maximum=2, unit="K/W")
    return tuple((air_c - k_per_w * loss_w * left, left) for air_c, left in curve)


def own_rise_k(curve: Curve, air_c: float, loss_w: float, k_per_w: float) -> float:
    """How much a part that gives what it can warms the air round it, by its warmed curve. [K]"""
    return k_per_w * loss_w * at(curve, air_c)


def loss_w(can: EngineCharging | MainsCharging | SolarControl, system_v: int, policy: Policy) -> float:
    """What a charger or controller loses at full output, at the highest voltage of charging. [W]"""
    output_w = can.output_a * policy.charging_v_per_12 * system_v / 12
    return output_w * (1 / can.efficiency_ratio - 1)


def in_place(can: Capability, system_v: int, policy: Policy) -> Capability:
    """A capability as it is where the part sits: the curve of a charger or controller with its own heat counted."""
    if not isinstance(can, EngineCharging | MainsCharging | SolarControl) or not can.derating:
        return can
    lost = loss_w(can, system_v, policy)
    return replace(can, derating=warmed(can.derating, lost, policy.own_heat_k_per_w))
