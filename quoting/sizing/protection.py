r"""Protection: device ratings, prospective faults, breaking capacity, disconnection, let-through."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from quoting.sizing.errors import SizingError, require

RATINGS_A: dict[str, tuple[float, ...]] = {
    "blade_f": (2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30),
    "blade_c": (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40),
    "blade_e": (20, 30, 40, 50, 60, 70, 80),
    "bolt_b": (30, 40, 50, 60, 70, 80, 100, 125),
    "strip_51": (40, 50, 60, 80, 100, 125, 150, 175, 200, 225, 250, 300, 350, 400, 500),
    "breaker": (6, 10, 13, 16, 20, 25, 32, 40, 50, 63, 80, 100, 125),
}
"""Standard ratings. [A] ISO 8820-3, -4, -5 and IEC 60898-1, from memory (M)."""

DISCONNECT_S = 5.0
"""Longest time a far-end fault may last. [s] IEC 60364-4-41, distribution circuits."""

Curve = tuple[tuple[float, float], ...]

BLADE: Curve = ((1.35, 600.0), (1.6, 50.0), (2.0, 5.0), (3.5, 0.5), (6.0, 0.1))
BLADE_E: Curve = ((1.35, 1800.0), (2.0, 60.0), (3.5, 7.0), (6.0, 1.0))
BOLTED: Curve = ((1.35, 1800.0), (2.0, 15.0), (3.5, 5.0), (6.0, 1.0))
BREAKER: Curve = ((1.45, 3600.0), (2.55, 120.0), (5.0, 30.0), (9.99, 30.0), (10.0, 0.1), (20.0, 0.02))
SLOWEST: Curve = ((1.45, 3600.0), (2.0, 60.0), (3.5, 7.0), (6.0, 1.0))
LONGEST_S: dict[str, Curve] = {
    "blade_f": BLADE,
    "blade_c": BLADE,
    "blade_e": BLADE_E,
    "bolt_b": BOLTED,
    "strip_30": BOLTED,
    "strip_51": BOLTED,
    "breaker": BREAKER,
}
"""Multiple of the rating -> longest opening time. [s] ISO 8820-3, -4, -5 (M); breakers IEC 60898-1 type C, the last
point common practice. A series that is not listed is taken at the slowest."""

ADIABATIC_K: tuple[tuple[float, float], ...] = ((90.0, 143.0), (70.0, 115.0), (60.0, 103.0))
"""Insulation class [°C], from -> k. [A√s/mm²] IEC 60364-4-43 table 43A: cross-linked 143, PVC 115; 103 for PVC over
300 mm² is taken for 60 °C insulation, the safe side."""


@dataclass(frozen=True, slots=True)
class Supply:
    """What stands behind a point: voltage, loop resistance to the sources, and current-limited sources beside."""

    emf_v: float
    """Charging voltage for the largest fault, low battery voltage for the smallest. [V]"""
    ohm: float | None
    """Of batteries together and the conductors and devices so far; ``None``: a battery does not state it. [Ω]"""
    extra_a: float = 0.0
    """Chargers, alternator: their rated output is added. [A]"""

    def behind(self, loop_ohm: float) -> Supply:
        """The supply seen from farther on."""
        return Supply(self.emf_v, None if self.ohm is None else self.ohm + loop_ohm, self.extra_a)

    @property
    def fault_a(self) -> float | None:
        """Prospective current of a dead short here. [A]; ``None``: not known."""
        if self.ohm is None:
            return None
        if math.isinf(self.ohm):  # current-limited sources alone: an array
            return self.extra_a
        return fault_current_a(self.emf_v, self.ohm, 0.0, self.extra_a)


def parallel_ohm(ohms: Sequence[float]) -> float:
    """Resistance of batteries side by side.

    >>> parallel_ohm((0.003, 0.003))
    0.0015
    """
    if not ohms or min(ohms) <= 0:
        raise SizingError("resistance_ohm", value=min(ohms, default=None), minimum=0.00001, unit="Ω")
    return 1 / sum(1 / r for r in ohms)


def fault_current_a(emf_v: float, battery_ohm: float | None, upstream_ohm: float, sources_a: float = 0.0) -> float:
    r"""Prospective current of a dead short, :math:`I_k = E/(R_b + R_u) + \sum I_s`.

    Parameters
    ----------
    emf_v : float
        Charging voltage of the bus for the largest current. [V]
    battery_ohm : float
        All batteries in parallel, new; a missing one is refused, never taken as small or large. [Ω]
    upstream_ohm : float
        Conductors out and back, devices and joints before the fault, cold. [Ω]
    sources_a : float
        Current-limited sources that feed in beside the batteries. [A]

    Returns
    -------
    float
        Current. [A]

    Raises
    ------
    SizingError
        If the battery's resistance is missing or not positive, or another value out of range.

    Examples
    --------
    >>> round(fault_current_a(12.8, 0.004, 0.002716))
    1906

    References
    ----------
    .. [1] IEC 61660-1, without its battery inductance and peak.
    """
    require("emf_v", emf_v, minimum=1, maximum=1500, unit="V")
    battery_ohm = require("resistance_ohm", battery_ohm, minimum=1e-5, unit="Ω")
    require("upstream_ohm", upstream_ohm, minimum=0, unit="Ω")
    require("sources_a", sources_a, minimum=0, unit="A")
    return emf_v / (battery_ohm + upstream_ohm) + sources_a


def least_rating_a(current_a: float, continuous_ratio: float, temperature_ratio: float) -> float:
    """Least rating by continuous current and by the heat where the device sits.

    Parameters
    ----------
    current_a : float
        Continuous current of the circuit. [A]
    continuous_ratio : float
        Rating over continuous current, 1.25 by NEC 210.20.
    temperature_ratio : float
        What is left of the rating where it sits.

    Returns
    -------
    float
        Least rating. [A]

    Raises
    ------
    SizingError
        If the current is negative or a ratio out of range.
    """
    require("current_a", current_a, minimum=0, unit="A")
    require("continuous_ratio", continuous_ratio, minimum=1, maximum=3)
    require("temperature_ratio", temperature_ratio, minimum=0.3, maximum=1)
    return max(continuous_ratio * current_a, current_a / temperature_ratio)


def device_rating(
    current_a: float,
    ampacity_a: float,
    ratings_a: Sequence[float],
    continuous_ratio: float = 1.25,
    temperature_ratio: float = 0.8,
) -> float:
    """Smallest standard rating that carries the current and protects the conductor.

    Parameters
    ----------
    current_a : float
        Continuous current of the circuit. [A]
    ampacity_a : float
        Corrected ampacity of the conductor. [A]
    ratings_a : sequence of float
        Ratings to choose from. [A]
    continuous_ratio : float
        Rating over continuous current.
    temperature_ratio : float
        What is left of the rating where the device sits.

    Returns
    -------
    float
        Rating. [A]

    Raises
    ------
    SizingError
        If no rating lies between the least and the conductor's ampacity: a larger conductor is wanted.

    Examples
    --------
    >>> device_rating(8, 21, (5, 7.5, 10, 15, 20))
    10
    """
    least = least_rating_a(current_a, continuous_ratio, temperature_ratio)
    for rating in sorted(ratings_a):
        if least - 1e-9 <= rating <= ampacity_a + 1e-9:
            return rating
    raise SizingError(
        "rating_a",
        code="conflict",
        message=f"no device fits: the load needs at least {least:.1f} A and the conductor allows at most "
        f"{ampacity_a:.1f} A. Choose a larger conductor.",
    )


def breaks(breaking_a: float | None, fault_a: float | None, unknown_a: float) -> bool:
    """Say whether a device can break the fault behind it.

    ``fault_a`` is ``None`` when a battery does not state its resistance: then only ``unknown_a`` and above will do.
    A device that does not state its capacity never will.
    """
    if breaking_a is None:
        return False
    return breaking_a >= (unknown_a if fault_a is None else fault_a)


def clears_s(series: str, rating_a: float, current_a: float) -> float:
    r"""Longest time a device takes to open, from the limits of its series; infinite under the first of them.

    Between the limits straight lines on logarithmic axes; beyond the last :math:`I^2 t` is constant (fuses).

    Parameters
    ----------
    series : str
        Key of ``LONGEST_S``; another is taken at the slowest.
    rating_a : float
        Rating. [A]
    current_a : float
        Fault current. [A]

    Returns
    -------
    float
        Time. [s]

    Raises
    ------
    SizingError
        If rating or current is not positive.

    Examples
    --------
    >>> round(clears_s("blade_c", 10, 20), 6)
    5.0
    """
    require("rating_a", rating_a, minimum=0.01, unit="A")
    require("current_a", current_a, minimum=0, unit="A")
    curve, multiple = LONGEST_S.get(series, SLOWEST), current_a / rating_a
    if multiple < curve[0][0] - 1e-9:
        return math.inf
    for (m0, t0), (m1, t1) in pairwise(curve):
        if multiple <= m1:
            share = (math.log(multiple) - math.log(m0)) / (math.log(m1) - math.log(m0))
            return math.exp(math.log(t0) + max(share, 0.0) * (math.log(t1) - math.log(t0)))
    m, t = curve[-1]
    return t if series == "breaker" else t * (m / multiple) ** 2


def adiabatic_k(insulation_c: float) -> float:
    """k of a copper conductor by its insulation. [A√s/mm²] IEC 60364-4-43 table 43A."""
    require("insulation_c", insulation_c, minimum=60, maximum=300, unit="°C")
    return next(k for least, k in ADIABATIC_K if insulation_c >= least)


def withstand_s(area_mm2: float, k: float, current_a: float) -> float:
    r"""Time a conductor withstands a fault, :math:`t = (k S / I)^2`.

    Parameters
    ----------
    area_mm2 : float
        Copper cross-section. [mm²]
    k : float
        From ``adiabatic_k``. [A√s/mm²]
    current_a : float
        Fault current. [A]

    Returns
    -------
    float
        Time, good for 0.1 to 5 s. [s]

    Raises
    ------
    SizingError
        If a value is not positive.

    Examples
    --------
    >>> round(withstand_s(6, 115, 1500), 3)
    0.212

    References
    ----------
    .. [1] IEC 60364-4-43:2008, 434.5.2.
    """
    require("area_mm2", area_mm2, minimum=0.05, unit="mm²")
    require("k", k, minimum=1)
    require("current_a", current_a, minimum=1e-6, unit="A")
    return (k * area_mm2 / current_a) ** 2


def withstands(area_mm2: float, insulation_c: float, series: str, rating_a: float, fault_a: float) -> bool:
    """Say whether the conductor outlasts the device: I²t let through is not above k²S²."""
    if fault_a <= 0:
        return True
    return clears_s(series, rating_a, fault_a) <= withstand_s(area_mm2, adiabatic_k(insulation_c), fault_a)


def place_ok(distance_m: float, policy_m: float) -> bool:
    """Say whether a device sits near enough to what feeds it."""
    require("distance_m", distance_m, minimum=0, unit="m")
    return distance_m <= policy_m + 1e-9
