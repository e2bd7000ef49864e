"""The auxiliary battery: capacity asked, by temperature; charging time; air it needs.

What it gives at which current is in :mod:`quoting.sizing.battery_wells`, its voltage in
:mod:`quoting.sizing.battery_volts`; both can be had from here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from catalog.kinds.capabilities import Curve, at
from quoting.sizing.battery_volts import CELL_V as CELL_V
from quoting.sizing.battery_volts import CELLS_PER_12 as CELLS_PER_12
from quoting.sizing.battery_volts import LEAD_ACID as LEAD_ACID
from quoting.sizing.battery_volts import OPEN_CIRCUIT as OPEN_CIRCUIT
from quoting.sizing.battery_volts import bank_curve as bank_curve
from quoting.sizing.battery_volts import bank_ohm as bank_ohm
from quoting.sizing.battery_volts import nominal_v as nominal_v
from quoting.sizing.battery_volts import open_circuit_v as open_circuit_v
from quoting.sizing.battery_volts import resistance_ratio as resistance_ratio
from quoting.sizing.battery_volts import terminal_v as terminal_v
from quoting.sizing.battery_wells import TwoWells as TwoWells
from quoting.sizing.battery_wells import peukert_exponent as peukert_exponent
from quoting.sizing.battery_wells import peukert_time_h as peukert_time_h
from quoting.sizing.battery_wells import wells_of as wells_of
from quoting.sizing.errors import require
from quoting.sizing.policy import ChemistryPolicy
from quoting.sizing.trace import Step, step

IEEE_485: Curve = (
    (-3.9, 1.52), (-1.1, 1.43), (1.7, 1.35), (4.4, 1.30), (7.2, 1.25), (10.0, 1.19), (12.8, 1.15), (15.6, 1.11),
    (18.3, 1.08), (20.0, 1.056), (21.1, 1.04), (23.9, 1.011), (25.0, 1.0), (26.7, 0.98), (29.4, 0.96), (32.2, 0.94),
    (35.0, 0.93), (37.8, 0.91), (43.3, 0.88), (51.7, 0.85),
)  # fmt: skip
"""Cell temperature [°C] against cell-size factor, lead-acid, base 25 °C. IEEE 485 table 1."""


LITHIUM_LEFT: Curve = ((-20.0, 0.72), (-10.0, 0.82), (0.0, 0.90), (10.0, 0.95), (25.0, 1.0))
"""Cell temperature [°C] against the capacity that lithium iron phosphate still gives. Common practice."""


def temperature_factor(chemistry: str, battery_c: float) -> float:
    """Capacity at 25 °C over what the battery's temperature leaves of it: IEEE 485 table 1 for lead-acid.

    Warmer than 25 °C gives no credit.

    Parameters
    ----------
    chemistry : str
        Of the battery; lithium loses less, by common practice.
    battery_c : float
        Of its cells. [°C]

    Examples
    --------
    >>> temperature_factor("agm", 10), round(temperature_factor("lifepo4", 10), 3), temperature_factor("gel", 40)
    (1.19, 1.053, 1.0)
    """
    require("battery_c", battery_c, minimum=-90, maximum=120, unit="°C")
    return max(1.0, at(IEEE_485, battery_c)) if chemistry in LEAD_ACID else 1 / at(LITHIUM_LEFT, battery_c)


@dataclass(frozen=True, slots=True)
class Asked:
    """Capacity asked of a bank, with its sum."""

    capacity_ah: float
    steps: tuple[Step, ...]
    method: str


def asked_lead_acid_ah(
    daily_ah: float,
    autonomy_days: float,
    max_depth_ratio: float,
    daily_depth_ratio: float,
    end_of_life_ratio: float,
    factor: float,
    margin_ratio: float,
) -> Asked:
    """Capacity by IEEE 1013: the largest of three, times temperature factor and margin. [Ah]

    Parameters
    ----------
    daily_ah : float
        Charge of a day. [Ah]
    autonomy_days : float
        Days without charging. [day]
    max_depth_ratio, daily_depth_ratio, end_of_life_ratio : float
        Deepest discharge, deepest of one day, what is left when worn.
    factor : float
        Temperature factor, IEEE 485 table 1.
    margin_ratio : float
        Design margin, at least 1.

    Examples
    --------
    >>> round(asked_lead_acid_ah(62, 3, 0.5, 0.2, 0.8, 1.19, 1.10).capacity_ah, 1)
    486.9

    References
    ----------
    .. [1] IEEE 1013-2019, Sizing lead-acid batteries for stand-alone photovoltaic systems.
    """
    _check_asked(daily_ah, autonomy_days, max_depth_ratio, daily_depth_ratio, end_of_life_ratio, factor, margin_ratio)
    unadjusted = daily_ah * autonomy_days
    rows = (
        ("by_depth", unadjusted, max_depth_ratio),
        ("by_daily_depth", daily_ah, daily_depth_ratio),
        ("by_end_of_life", unadjusted, end_of_life_ratio),
    )
    largest = max(charge / share for _, charge, share in rows)
    asked = largest * factor * margin_ratio
    steps = (
        step("day_charge", daily_ah, "Ah"),
        step("autonomy", autonomy_days, "day", "×", "input"),
        step("unadjusted", unadjusted, "Ah", "="),
        *(step(code, charge / share, "Ah", "max", share_ratio=share) for code, charge, share in rows),
        step("temperature_factor", factor, "", "×", "table"),
        step("margin", margin_ratio, "", "×", "policy"),
        step("capacity_asked", asked, "Ah", "="),
    )
    return Asked(asked, steps, "bank_largest")


def asked_lithium_ah(
    daily_ah: float,
    autonomy_days: float,
    max_depth_ratio: float,
    daily_depth_ratio: float,
    end_of_life_ratio: float,
    margin_ratio: float,
) -> Asked:
    """Capacity of a lithium bank: depth and end of life multiply, for all days and for one. [Ah]

    Parameters
    ----------
    daily_ah : float
        Charge of a day. [Ah]
    autonomy_days : float
        Days without charging. [day]
    max_depth_ratio, daily_depth_ratio, end_of_life_ratio : float
        Deepest discharge, deepest of one day, what is left when worn.
    margin_ratio : float
        Design margin, at least 1.

    Examples
    --------
    >>> round(asked_lithium_ah(140, 1.5, 0.9, 0.8, 0.8, 1.05).capacity_ah)
    306
    """
    _check_asked(daily_ah, autonomy_days, max_depth_ratio, daily_depth_ratio, end_of_life_ratio, 1.0, margin_ratio)
    by_days = daily_ah * autonomy_days / max_depth_ratio
    by_day = daily_ah / daily_depth_ratio
    asked = max(by_days, by_day) / end_of_life_ratio * margin_ratio
    first: tuple[Step, ...]
    if by_days >= by_day:
        first = (
            step("day_charge", daily_ah, "Ah"),
            step("autonomy", autonomy_days, "day", "×", "input"),
            step("depth", max_depth_ratio, "", "÷", "policy"),
        )
    else:
        first = (
            step("day_charge", daily_ah, "Ah"),
            step("daily_depth", daily_depth_ratio, "", "÷", "policy"),
        )
    steps = (
        *first,
        step("end_of_life", end_of_life_ratio, "", "÷", "policy"),
        step("margin", margin_ratio, "", "×", "policy"),
        step("capacity_asked", asked, "Ah", "="),
    )
    return Asked(asked, steps, "bank_product")


def asked_ah(
    chemistry: str, policy: ChemistryPolicy, daily_ah: float, autonomy_days: float, battery_c: float, margin: float
) -> Asked:
    """Capacity asked of a bank of this chemistry under this policy. [Ah]"""
    depth, daily = policy.usable_depth_ratio, policy.daily_depth_ratio
    if policy.factors_multiply:
        return asked_lithium_ah(daily_ah, autonomy_days, depth, daily, policy.end_of_life_ratio, margin)
    factor = temperature_factor(chemistry, battery_c)
    return asked_lead_acid_ah(daily_ah, autonomy_days, depth, daily, policy.end_of_life_ratio, factor, margin)


def _check_asked(
    daily: float, days: float, depth: float, daily_depth: float, life: float, factor: float, margin: float
) -> None:
    require("daily_ah", daily, minimum=0, maximum=1e6, unit="Ah")
    require("autonomy_days", days, minimum=0, maximum=365, unit="day")
    require("max_depth_ratio", depth, minimum=0.01, maximum=1)
    require("daily_depth_ratio", daily_depth, minimum=0.01, maximum=1)
    require("end_of_life_ratio", life, minimum=0.1, maximum=1)
    require("temperature_factor", factor, minimum=0.5, maximum=3)
    require("margin_ratio", margin, minimum=1, maximum=5)


def charge_time_h(
    capacity_ah: float, start_ratio: float, current_a: float, tail_h: float, end_ratio: float = 0.995
) -> tuple[float, float]:
    r"""Hours of bulk and of tail to charge with nothing drawn meanwhile. [h, h]

    .. math:: t = C (s^* - s_0)/I + \tau \ln\frac{1 - s^*}{1 - s_{end}}, \quad s^* = 1 - I \tau / C

    Parameters
    ----------
    capacity_ah : float
        Capacity. [Ah]
    start_ratio, end_ratio : float
        State of charge, from and to.
    current_a : float
        Charging current in bulk. [A]
    tail_h : float
        Time constant of the current in absorption. [h]

    Examples
    --------
    >>> bulk_h, tail = charge_time_h(100, 0.2, 20, 0.05, 0.995)
    >>> round(bulk_h + tail, 2)
    3.98
    """
    require("capacity_ah", capacity_ah, minimum=1e-9, maximum=1e6, unit="Ah")
    require("start_ratio", start_ratio, minimum=0, maximum=1)
    require("end_ratio", end_ratio, minimum=0, maximum=0.99999)
    require("current_a", current_a, minimum=1e-12, maximum=1e6, unit="A")
    require("tail_h", tail_h, minimum=1e-4, maximum=24, unit="h")
    if start_ratio >= end_ratio:
        return 0.0, 0.0
    knee = 1 - current_a * tail_h / capacity_ah
    if knee >= end_ratio:
        return capacity_ah * (end_ratio - start_ratio) / current_a, 0.0
    begins = max(start_ratio, knee)
    bulk = capacity_ah * (begins - start_ratio) / current_a
    return bulk, tail_h * math.log((1 - begins) / (1 - end_ratio))


GAS_MA_PER_AH = {"flooded": 20.0, "agm": 8.0, "gel": 8.0}
"""Gassing current under boost charge. [mA/Ah] IEC 62485-2:2010, table 1."""


def ventilation_m3_h(cells: int, gas_ma_per_ah: float, capacity_ah: float) -> float:
    """Air that a lead-acid bank needs under charge, Q = 0.05 n I_gas C / 1000. [m³/h]

    Parameters
    ----------
    cells : int
        In series.
    gas_ma_per_ah : float
        Current that makes gas, in mA per Ah. [mA/Ah]
    capacity_ah : float
        Of the bank at ten hours. [Ah]

    References
    ----------
    .. [1] IEC 62485-2:2010, 7.2, with I_gas in mA/Ah: 20 for vented, 8 for valve-regulated cells under boost.
    """
    require("cells", cells, minimum=1, maximum=200)
    require("gas_ma_per_ah", gas_ma_per_ah, minimum=0, maximum=500, unit="mA/Ah")
    require("capacity_ah", capacity_ah, minimum=0, maximum=1e6, unit="Ah")
    return 0.05 * cells * gas_ma_per_ah * capacity_ah / 1000
