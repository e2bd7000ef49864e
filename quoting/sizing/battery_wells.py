"""How much a battery gives at which current: Peukert's law, and the kinetic model of two wells fitted to it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from catalog.kinds.capabilities import Storage
from quoting.sizing.battery_volts import LEAD_ACID
from quoting.sizing.errors import SizingError, require

SHORT_RATES_H = (5.0, 1.0)
"""Rates at which the wells agree with Peukert beside the maker's own, where that is slow enough. [h]"""
LEAST_EXPONENT = 1.005
"""Exponent up to which a battery gives the same at every current, so that one well holds all of it."""


def peukert_time_h(capacity_ah: float, rate_h: float, current_a: float, exponent: float) -> float:
    """Hours until empty at a constant current. [h]

    Parameters
    ----------
    capacity_ah : float
        At the maker's rate. [Ah]
    rate_h : float
        Hours of that rate. [h]
    current_a : float
        Constant current. [A]
    exponent : float
        Peukert's exponent, 1 to 1.6.

    Examples
    --------
    >>> round(peukert_time_h(120, 20, 120, 1.4), 3)
    0.302

    Notes
    -----
    H (C/(I H))^k, with the capacity at H hours; not C/I^k, whose capacity is the one at one ampere.
    """
    require("capacity_ah", capacity_ah, minimum=0.01, maximum=1e6, unit="Ah")
    require("rate_h", rate_h, minimum=0.1, maximum=1000, unit="h")
    require("current_a", current_a, minimum=1e-6, maximum=1e6, unit="A")
    require("exponent", exponent, minimum=1, maximum=2)
    return rate_h * math.pow(capacity_ah / (current_a * rate_h), exponent)


def peukert_ah(capacity_ah: float, rate_h: float, hours: float, exponent: float) -> float:
    """Charge that the constant current takes which empties the battery in so many hours. [Ah]

    Parameters
    ----------
    capacity_ah : float
        At the maker's rate. [Ah]
    rate_h : float
        Hours of that rate. [h]
    hours : float
        Until empty. [h]
    exponent : float
        Peukert's exponent.

    Examples
    --------
    >>> round(peukert_ah(100, 20, 1, 1.2), 1)
    60.7

    Notes
    -----
    :func:`peukert_time_h` the other way round: C (t/H)^(1 - 1/k).
    """
    require("capacity_ah", capacity_ah, minimum=0.01, maximum=1e6, unit="Ah")
    require("rate_h", rate_h, minimum=0.1, maximum=1000, unit="h")
    require("hours", hours, minimum=1e-6, maximum=1e5, unit="h")
    require("exponent", exponent, minimum=1, maximum=2)
    return capacity_ah * math.pow(hours / rate_h, 1 - 1 / exponent)


def peukert_exponent(ah_1: float, hours_1: float, ah_2: float, hours_2: float) -> float:
    """Peukert's exponent from the capacities at two rates."""
    for name, value in (("ah_1", ah_1), ("hours_1", hours_1), ("ah_2", ah_2), ("hours_2", hours_2)):
        require(name, value, minimum=1e-3, maximum=1e6)
    ratio = (ah_2 / hours_2) / (ah_1 / hours_1)
    if ratio <= 0 or abs(ratio - 1) < 1e-9:
        raise SizingError("hours_2", value=hours_2, code="conflict", message="the two currents are the same")
    return math.log(hours_1 / hours_2) / math.log(ratio)


@dataclass(frozen=True, slots=True)
class TwoWells:
    """The kinetic battery model: available charge flows freely, bound charge follows at a rate.

    References
    ----------
    .. [1] J. F. Manwell and J. G. McGowan, "Lead acid battery storage model for hybrid energy systems",
       Solar Energy 50 (1993) 399.
    """

    capacity_ah: float
    """Of both wells, full. [Ah]"""
    available_ratio: float
    """Width c of the available well."""
    rate_per_h: float
    """Constant k. [1/h]"""

    def delivered_ah(self, hours: float) -> float:
        """Charge that a constant current takes from full to empty in so many hours. [Ah]"""
        require("hours", hours, minimum=1e-6, maximum=1e5, unit="h")
        k, c = self.rate_per_h, self.available_ratio
        kt = k * hours
        return self.capacity_ah * c * kt / (1 - math.exp(-kt) + c * (kt - 1 + math.exp(-kt)))

    def runtime_h(self, current_a: float) -> float:
        """Hours a constant current runs from full. [h]"""
        require("current_a", current_a, minimum=1e-6, maximum=1e6, unit="A")
        low, high = 1e-6, 1e5
        for _ in range(200):
            middle = math.sqrt(low * high)
            low, high = (middle, high) if self.delivered_ah(middle) / middle > current_a else (low, middle)
        return low

    def after(self, available_ah: float, bound_ah: float, current_a: float, hours: float) -> tuple[float, float]:
        """Both wells after a constant current, discharge positive. [Ah]"""
        k, c = self.rate_per_h, self.available_ratio
        decay, both = math.exp(-k * hours), available_ah + bound_ah
        ramp = (k * hours - 1 + decay) / k
        available = available_ah * decay + (both * k * c - current_a) * (1 - decay) / k - current_a * c * ramp
        bound = bound_ah * decay + both * (1 - c) * (1 - decay) - current_a * (1 - c) * ramp
        return available, bound


ONE_WELL = (1.0, 1.0)
"""Width and constant of a battery that gives the same at every current: nothing is bound."""


def wells_through(points: tuple[tuple[float, float], ...]) -> TwoWells:
    r"""Wells that deliver three stated capacities exactly.

    .. math:: \frac{1}{q(t)} = \frac{1}{q_{max}}\Big[1 + \Big(\frac1c - 1\Big) \frac{1 - e^{-kt}}{kt}\Big]

    is linear in two unknowns once k is known; k is found by bisection.

    Parameters
    ----------
    points : tuple of (float, float)
        Three times until empty at constant current [h] with the charge delivered in each [Ah].

    Raises
    ------
    SizingError
        If there are not three times, more time does not deliver more, or no wells give them.

    Examples
    --------
    >>> wells = wells_through(((20.0, 100.0), (10.0, 93.2), (1.0, 58.12)))
    >>> round(wells.rate_per_h, 3), round(wells.available_ratio, 3), round(wells.capacity_ah, 2)
    (0.784, 0.447, 107.88)

    References
    ----------
    .. [1] Manwell and McGowan (1993), whose constants are fitted to a maker's table in the same way.
    """
    if len({hours for hours, _ in points}) != 3:
        raise SizingError("points", value=len(points), code="conflict", message="three different times are wanted")
    for hours, charge in points:
        require("points.hours", hours, minimum=1e-3, maximum=1e4, unit="h")
        require("points.charge_ah", charge, minimum=1e-6, maximum=1e6, unit="Ah")
    (t_1, q_1), (t_2, q_2), (t_3, q_3) = sorted(points)
    if not q_1 < q_2 < q_3:
        raise SizingError("points", value=q_2, unit="Ah", code="conflict", message="more time must deliver more charge")
    wanted = (1 / q_1 - 1 / q_3) / (1 / q_2 - 1 / q_3)

    def got(k: float) -> float:
        return (_held_back(k * t_1) - _held_back(k * t_3)) / (_held_back(k * t_2) - _held_back(k * t_3))

    low, high = 1e-4 / t_3, 1e4 / t_1
    if not got(low) <= wanted <= got(high):
        raise SizingError("points", value=wanted, code="conflict", message="no two wells deliver these three")
    for _ in range(200):
        k = math.sqrt(low * high)
        low, high = (k, high) if got(k) < wanted else (low, k)
    bound = (1 / q_1 - 1 / q_3) / (_held_back(k * t_1) - _held_back(k * t_3))
    whole = 1 / q_3 - bound * _held_back(k * t_3)
    if whole <= 0:
        raise SizingError("points", value=wanted, code="conflict", message="no two wells deliver these three")
    return TwoWells(capacity_ah=1 / whole, available_ratio=whole / (whole + bound), rate_per_h=k)


def _held_back(x: float) -> float:
    return -math.expm1(-x) / x


@lru_cache(maxsize=256)
def _fitted(rate_h: float, exponent: float) -> tuple[float, float, float]:
    """Wells of a battery of 1 Ah: capacity of both over the stated one, width, constant."""
    middle = SHORT_RATES_H[0] if rate_h >= 2 * SHORT_RATES_H[0] else rate_h / 2
    short = SHORT_RATES_H[1] if rate_h >= 4 * SHORT_RATES_H[1] else rate_h / 4
    found = wells_through(tuple((t, peukert_ah(1.0, rate_h, t, exponent)) for t in (short, middle, rate_h)))
    return found.capacity_ah, found.available_ratio, found.rate_per_h


def wells_of_peukert(capacity_ah: float, rate_h: float, exponent: float) -> TwoWells:
    """Wells that agree with Peukert's law at the maker's rate, at 5 h and at 1 h.

    Parameters
    ----------
    capacity_ah : float
        At the maker's rate. [Ah]
    rate_h : float
        Hours of that rate. [h]
    exponent : float
        Peukert's exponent; at 1 there is one well.

    Examples
    --------
    >>> wells = wells_of_peukert(100, 20, 1.2)
    >>> [round(wells.delivered_ah(h), 1) for h in (20, 5, 1)]
    [100.0, 79.4, 60.7]

    Notes
    -----
    For a rate of 20 h the two stay within 2 % of each other from 1 to 20 h at an exponent of 1.12, within 3 % at 1.22.
    At slower rates the law grows without bound; the wells stop at the capacity of both, as a battery does. For a rate
    under 10 h half of it stands for the 5 h, for one under 4 h a quarter of it for the 1 h.
    """
    require("capacity_ah", capacity_ah, minimum=0.01, maximum=1e6, unit="Ah")
    require("rate_h", rate_h, minimum=0.1, maximum=1000, unit="h")
    require("exponent", exponent, minimum=1, maximum=2)
    if exponent <= LEAST_EXPONENT:
        return TwoWells(capacity_ah, *ONE_WELL)
    both, width, constant = _fitted(float(rate_h), float(exponent))
    return TwoWells(capacity_ah * both, width, constant)


SHORT_PARTS = (4.0, 20.0)
"""Parts of the maker's hours at which wells of the stated capacity agree with Peukert: of 20 h, 5 h and 1 h."""


@lru_cache(maxsize=256)
def _within(exponent: float) -> tuple[float, float]:
    """Width of wells that hold 1 Ah, and their constant for a rate of one hour."""
    middle, short = (part ** (1 - 1 / exponent) - 1 for part in SHORT_PARTS)
    at_middle, at_short = (1 / part for part in SHORT_PARTS)
    low, high = 1e-3, 1e4
    for _ in range(200):
        k = math.sqrt(low * high)
        low, high = (k, high) if _held_back(k * at_short) / _held_back(k * at_middle) < short / middle else (low, k)
    return 1 / (1 + middle / _held_back(k * at_middle)), k


def wells_within(capacity_ah: float, rate_h: float, exponent: float) -> TwoWells:
    """Wells that together hold the stated capacity and no more, for counting charge in shares of it.

    Parameters
    ----------
    capacity_ah : float
        At the maker's rate; of both wells. [Ah]
    rate_h : float
        Hours of that rate. [h]
    exponent : float
        Peukert's exponent; at 1 there is one well.

    Examples
    --------
    >>> wells = wells_within(100, 20, 1.2)
    >>> [round(wells.delivered_ah(h), 1) for h in (20, 10, 5, 1)]
    [93.7, 88.1, 79.4, 60.7]

    Notes
    -----
    They agree with Peukert's law at a quarter and a twentieth of the maker's hours, and come within 2 % from half to a
    twentieth at an exponent up to 1.22. At the maker's own rate they give a few per cent less than it states (4 % at
    1.12, 7 % at 1.22), which is the safe side: slower still they near the stated capacity and never pass it.
    """
    require("capacity_ah", capacity_ah, minimum=0.01, maximum=1e6, unit="Ah")
    require("rate_h", rate_h, minimum=0.1, maximum=1000, unit="h")
    require("exponent", exponent, minimum=1, maximum=2)
    if exponent <= LEAST_EXPONENT:
        return TwoWells(capacity_ah, *ONE_WELL)
    width, constant = _within(float(exponent))
    return TwoWells(capacity_ah, width, constant / rate_h)


def wells_of(can: Storage) -> TwoWells:
    """Wells of one battery from what its maker states: its stated capacity, of which high currents get less.

    Lead-acid holds back charge at high currents and gives it later; lithium iron phosphate hardly does (Peukert 1.02 to
    1.05, common practice), and what it loses at high current is voltage: it has one well.

    Parameters
    ----------
    can : Storage
        One battery. Of several in parallel the capacities add, width and constant stay.
    """
    exponent = can.peukert if can.chemistry in LEAD_ACID else 1.0
    return wells_within(can.capacity_ah, can.rate_h, exponent)
