"""Vents for a battery that gives off hydrogen: one low and one high, by themselves enough for what it makes."""

from __future__ import annotations

import math

from catalog.kinds.capabilities import Storage
from catalog.kinds.capabilities_fitting import Airing
from quoting.sizing.battery import GAS_MA_PER_AH, ventilation_m3_h
from quoting.sizing.bill_lines import Count
from quoting.sizing.bill_uses import Uses
from quoting.sizing.errors import require

OPENINGS = 2
"""One where air comes in, one where it goes out, on different walls or heights."""


def opening_cm2(air_m3_h: float) -> float:
    """Free area of each of two openings that air a battery compartment by themselves, A = 28 Q. [cm²]

    Parameters
    ----------
    air_m3_h : float
        Flow of air that the bank needs. [m³/h]

    Returns
    -------
    float
        Of the inlet, and of the outlet. [cm²]

    Raises
    ------
    SizingError
        If the flow is below zero.

    Notes
    -----
    Holds for air that moves at 0.1 m/s.

    References
    ----------
    .. [1] IEC 62485-2:2010, 7.3, natural ventilation.

    Examples
    --------
    >>> opening_cm2(1.2)
    33.6
    """
    require("air_m3_h", air_m3_h, minimum=0, maximum=1e6, unit="m³/h")
    return round(28 * air_m3_h, 3)


def vents(count: Count) -> None:
    """Count vents for a new bank that needs them, of the model that does it for least; one that stays has its own."""
    battery = count.choice.role("battery")
    if battery is None or battery.kept:
        return
    can = count.parts.can(battery.part, Storage)
    if not can.needs_venting or can.chemistry not in GAS_MA_PER_AH:
        return
    air = ventilation_m3_h(can.cells * battery.series, GAS_MA_PER_AH[can.chemistry], can.capacity_ah * battery.parallel)
    asked = opening_cm2(air)
    at = count.brief.vehicle.places.get("battery", "")
    count.do("fit_vent", "battery", 1, at)
    models = count.parts.having(Airing)
    if not models:
        count.lacks("vent", unsafe=True)
        return
    best = min(models, key=lambda a: (a.cost * math.ceil(asked / a.can.free_cm2), a.order))
    pieces = OPENINGS * max(1, math.ceil(round(asked / best.can.free_cm2, 6)))
    count.add(best.part.key, "vent", Uses().add("battery", at, pieces), air_m3_h=round(air, 3), asked_cm2=asked)
