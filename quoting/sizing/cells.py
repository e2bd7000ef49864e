"""Cells of the auxiliary battery by temperature: when they may be charged, how long they live, what sleeping costs."""

from __future__ import annotations

import math
from collections.abc import Sequence

from catalog.kinds.capabilities import Curve, Storage, at
from quoting.sizing import sun
from quoting.sizing.battery import LEAD_ACID
from quoting.sizing.brief import Stop
from quoting.sizing.errors import SizingError, require
from quoting.sizing.policy import Policy
from quoting.sizing.system import System

HEAT_WH_PER_KG_K = 1 / 3.6
"""Heat that warms a kilogram of battery by a kelvin: 1 kJ/(kg K). [Wh/(kg K)] Common practice."""
DAYS_IN_YEAR = 365.25
DAYS_IN_MONTH = DAYS_IN_YEAR / 12
LIFE_BASE_C = 25.0
"""Temperature that cycle life is stated at. [°C] IEC 60896, IEC 62620."""


def place_air_c(
    air_c: tuple[float, ...], sun_w_m2: tuple[float, ...], rise_k: float, hottest_c: float | None
) -> tuple[float, ...]:
    """Air where the battery sits, by hours: the stop's air, and a parked compartment's rise as the sun stands. [°C]

    Parameters
    ----------
    air_c : tuple of float
        Of the stop's mean day. [°C]
    sun_w_m2 : tuple of float
        On the horizontal; only its shape counts. [W/m²]
    rise_k : float
        Parked compartment over ambient with the day's strongest sun. [K]
    hottest_c : float, optional
        Hottest air that the survey gives for the place; the rise does not go over it. [°C]

    Notes
    -----
    At night and on a cold morning a parked vehicle is as cold as the air outside.
    """
    require("rise_k", rise_k, minimum=0, maximum=60, unit="K")
    most = max(sun_w_m2, default=0.0)
    out = []
    for air, light in zip(air_c, sun_w_m2, strict=True):
        warm = air + (rise_k * light / most if most > 0 else 0.0)
        out.append(warm if hottest_c is None else max(air, min(warm, hottest_c)))
    return tuple(out)


def cells_c(place_c: tuple[float, ...], lag_h: float) -> tuple[float, ...]:
    r"""Temperature of the cells by hours: they follow the air round them with a lag, day after day alike. [°C]

    .. math:: T_h = T_{h-1} + (1 - e^{-1/\tau}) (A_h - T_{h-1})

    Parameters
    ----------
    place_c : tuple of float
        Air round the battery, 24 hours. [°C]
    lag_h : float
        Time constant; 0: they are as warm as the air. [h]

    Notes
    -----
    Their own warmth under current is left out: it is a kelvin or two at house currents, and cold is the danger. A case
    of 12 kg (1 kJ/kg K) with 0.35 m2 of surface in still air (8 W/m2 K) has 1.2 h, 30 kg about 2 h.
    """
    require("lag_h", lag_h, minimum=0, maximum=48, unit="h")
    if lag_h == 0:
        return tuple(place_c)
    follow = 1 - math.exp(-1 / lag_h)
    keep = 1 - follow
    # the day before ended where this one ends: the sum of a whole day's echoes, closed
    hours = len(place_c)
    last = math.fsum(follow * place_c[h] * keep ** (hours - 1 - h) for h in range(hours)) / (1 - keep**hours)
    out = []
    for air in place_c:
        last += follow * (air - last)
        out.append(last)
    return tuple(out)


def charge_share(
    cell_c: float, min_charge_c: float, max_charge_c: float, reduced_below_c: float = 10.0, reduced_ratio: float = 0.5
) -> float:
    """Share of its charging limit that a lithium cell may take at this temperature. [0..1]

    Parameters
    ----------
    cell_c : float
        Cell, not air. [°C]
    min_charge_c, max_charge_c : float
        The maker's; outside them it takes nothing. [°C]
    reduced_below_c : float
        Where the reduced band ends. [°C]
    reduced_ratio : float
        What is left in the band.

    Examples
    --------
    >>> [charge_share(c, 0, 45) for c in (-0.1, 0, 9.9, 10, 45, 45.1)]
    [0.0, 0.5, 0.5, 1.0, 1.0, 0.0]
    """
    require("cell_c", cell_c, minimum=-90, maximum=120, unit="°C")
    require("reduced_ratio", reduced_ratio, minimum=0, maximum=1)
    if min_charge_c > max_charge_c:
        raise SizingError("min_charge_c", value=min_charge_c, maximum=max_charge_c, unit="°C")
    if cell_c < min_charge_c or cell_c > max_charge_c:
        return 0.0
    return reduced_ratio if cell_c < reduced_below_c else 1.0


def bank_cells_c(system: System, stop: Stop, ambient_c: tuple[float, ...]) -> tuple[float, ...]:
    """Cells of the bank over a stop's mean day, where the survey puts it. [°C]"""
    vehicle, policy = system.brief.vehicle, system.brief.policy
    place = vehicle.places.get("battery")
    position = next((p for p in vehicle.positions if p.key == place), None)
    if position is not None and position.aired:
        return cells_c(ambient_c, policy.battery_lag_h)
    shape, hottest = sun.hour_shares(stop.site.latitude_deg, stop.month), position.ambient_c if position else None
    return cells_c(place_air_c(ambient_c, shape, policy.compartment_rise_k, hottest), policy.battery_lag_h)


def coldest_c(system: System, ambients_c: Sequence[tuple[float, ...]]) -> float:
    """Coldest that the bank's cells get on the mean days of a trip, given the air of each stop by hours. [°C]"""
    return min(min(bank_cells_c(system, stop, air)) for stop, air in zip(system.brief.trip, ambients_c, strict=True))


def charge_shares(can: Storage, policy: Policy, cells: tuple[float, ...]) -> tuple[float, ...]:
    """Share of the charging limit by hours. A heater holds the cells at their least, where lithium is still reduced."""
    below, ratio = policy.cold_charge_below_c, policy.cold_charge_ratio
    if can.chemistry in LEAD_ACID:
        below, ratio = -90.0, 1.0
    out = []
    for cell in cells:
        held = max(cell, can.min_charge_c) if can.heater_w > 0 else cell
        out.append(charge_share(held, can.min_charge_c, can.max_charge_c, below, ratio))
    return tuple(out)


def warm_up_h(mass_kg: float, heater_w: float, by_k: float, lag_h: float) -> float | None:
    r"""Hours that a heater needs to warm a battery from the air round it; ``None`` where it never does. [h]

    .. math:: t = -\tau \ln\left(1 - \frac{m c \, \Delta T}{P \tau}\right)

    Parameters
    ----------
    mass_kg : float
        Of what is warmed. [kg]
    heater_w : float
        Power. [W]
    by_k : float
        Over the air. [K]
    lag_h : float
        Time constant with which the cells follow the air; what is lost to it follows from that. [h]

    Examples
    --------
    >>> round(warm_up_h(12, 40, 13, 2), 2), warm_up_h(12, 20, 13, 2)
    (1.56, None)
    """
    require("mass_kg", mass_kg, minimum=0, maximum=1e5, unit="kg")
    require("heater_w", heater_w, minimum=0, maximum=1e6, unit="W")
    require("by_k", by_k, minimum=0, maximum=200, unit="K")
    require("lag_h", lag_h, minimum=0, maximum=48, unit="h")
    stored_wh = mass_kg * HEAT_WH_PER_KG_K * by_k
    if stored_wh == 0:
        return 0.0
    if heater_w * lag_h <= stored_wh:
        return None
    return -lag_h * math.log(1 - stored_wh / (heater_w * lag_h))


def least_share(system: System, stop: Stop, ambient_c: tuple[float, ...], hours: tuple[float, ...] = ()) -> float:
    """Least share of its charging limit that the bank takes in the hours that count, by its cells' temperature. [0..1]

    Parameters
    ----------
    system : System
        With its battery; without one nothing is held back.
    stop : Stop
        Where, and in what month.
    ambient_c : tuple of float
        Air outside, 24 hours. [°C]
    hours : tuple of float
        Share of each hour that counts, 24 of them; all of them when none does. [0..1]
    """
    if not system.storage:
        return 1.0
    shares = charge_shares(system.storage[1], system.brief.policy, bank_cells_c(system, stop, ambient_c))
    counted = [share for share, part in zip(shares, hours, strict=False) if part > 0]
    return min(counted or shares)


def cycles_at(curve: Curve, depth_ratio: float) -> float:
    """Cycles to the end of life at this depth, off the maker's curve.

    Parameters
    ----------
    curve : Curve
        Depth of discharge (0..1) against cycles.
    depth_ratio : float
        Depth of each cycle, over 0 and at most 1.

    Raises
    ------
    SizingError
        If there is no curve: none is invented.

    Notes
    -----
    Straight between the points; shallower than the first no more than the first; deeper than the last, the charge that
    goes through in a life stays the same (common practice), so that it never flatters.

    Examples
    --------
    >>> curve = ((0.5, 6000.0), (0.8, 3500.0))
    >>> cycles_at(curve, 0.3), cycles_at(curve, 0.65), cycles_at(curve, 1.0)
    (6000.0, 4750.0, 2800.0)
    """
    require("depth_ratio", depth_ratio, minimum=1e-9, maximum=1)
    points = sorted(curve)
    if not points:
        raise SizingError("cycles", code="missing")
    if depth_ratio >= points[-1][0]:
        return points[-1][1] * points[-1][0] / depth_ratio
    return at(tuple(points), depth_ratio)


def life_years(curve: Curve, depth_ratio: float, heat_left_ratio: float = 1.0) -> float:
    """Years to the end of life where every day takes this depth of the capacity.

    Parameters
    ----------
    curve : Curve
        Depth of discharge (0..1) against cycles.
    depth_ratio : float
        Charge of a day over the capacity; over 1 it is that many cycles a day.
    heat_left_ratio : float
        What heat leaves of the life: see :func:`heat_left`.

    Raises
    ------
    SizingError
        If there is no curve: none is invented.

    Examples
    --------
    >>> curve = ((0.5, 6000.0), (0.8, 3500.0))
    >>> round(life_years(curve, 0.5), 2), round(life_years(curve, 2.0), 2)
    (16.43, 3.83)
    """
    require("depth_ratio", depth_ratio, minimum=0)
    cycles = cycles_at(curve, max(min(1.0, depth_ratio), 1e-9))
    return cycles / max(1.0, depth_ratio) / DAYS_IN_YEAR * heat_left_ratio


def heat_left(chemistry: str, battery_c: float, halved_per_k: float) -> float:
    """What heat leaves of a lead-acid battery's life: half for every so many kelvin over 25 °C. [0..1]

    Lithium counts by its cycles alone.

    Parameters
    ----------
    chemistry : str
        Of the battery.
    battery_c : float
        Mean of the cells over the day. [°C]
    halved_per_k : float
        Kelvin that halve the life. [K]

    Examples
    --------
    >>> heat_left("agm", 35, 10), heat_left("agm", 15, 10), heat_left("lifepo4", 35, 10)
    (0.5, 1.0, 1.0)

    References
    ----------
    .. [1] IEEE 1188 and common practice: lead-acid life halves for each 8 to 10 K over 25 °C.
    """
    require("halved_per_k", halved_per_k, minimum=1, maximum=50, unit="K")
    require("battery_c", battery_c, minimum=-90, maximum=120, unit="°C")
    if chemistry not in LEAD_ACID:
        return 1.0
    return float(0.5 ** (max(0.0, battery_c - LIFE_BASE_C) / halved_per_k))


def damage_days(capacity_ah: float, left_ratio: float, asleep_a: float, self_discharge_month_ratio: float) -> float:
    """Days from the cut-off until a sleeping bank is empty, which damages its cells. [day]

    Parameters
    ----------
    capacity_ah : float
        Of the bank. [Ah]
    left_ratio : float
        Charge left at the cut-off.
    asleep_a : float
        Draw of what stays connected, asleep. [A]
    self_discharge_month_ratio : float
        Share of the capacity lost in a month by itself.

    Examples
    --------
    >>> round(damage_days(100, 0.1, 0.01, 0.03), 1)
    29.5
    """
    require("capacity_ah", capacity_ah, minimum=0.01, maximum=1e6, unit="Ah")
    require("left_ratio", left_ratio, minimum=0, maximum=1)
    require("asleep_a", asleep_a, minimum=0, maximum=1000, unit="A")
    require("self_discharge_month_ratio", self_discharge_month_ratio, minimum=0, maximum=1)
    a_day = asleep_a * 24 + capacity_ah * self_discharge_month_ratio / DAYS_IN_MONTH
    if a_day <= 0:
        raise SizingError("asleep_a", value=asleep_a, minimum=1e-9, unit="A")
    return capacity_ah * left_ratio / a_day
