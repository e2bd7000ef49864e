"""Cells and their voltage: resting, under load, while charging; resistance by temperature and age."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

from catalog.kinds.capabilities import Curve, Storage, at
from quoting.sizing.errors import SizingError, require

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

CELL_V = {"lifepo4": 3.2, "agm": 2.0, "gel": 2.0, "flooded": 2.0}
"""Nominal voltage of a cell. [V] Common practice."""
CELLS_PER_12 = {"lifepo4": 4, "agm": 6, "gel": 6, "flooded": 6}
"""Cells in series for a 12 V bus."""
LEAD_ACID = frozenset({"agm", "gel", "flooded"})

OPEN_CIRCUIT: dict[str, Curve] = {
    "lifepo4": (
        (0.0, 2.5), (0.05, 2.785), (0.10, 2.9775), (0.20, 3.1675), (0.30, 3.205), (0.40, 3.2525), (0.50, 3.265),
        (0.70, 3.2725), (0.80, 3.31), (0.90, 3.315), (1.0, 3.34),
    ),
    "flooded": ((0.0, 11.6 / 6), (0.25, 12.0 / 6), (0.5, 12.2 / 6), (0.75, 12.4 / 6), (1.0, 12.6 / 6)),
    "agm": ((0.0, 11.7 / 6), (0.25, 12.1 / 6), (0.5, 12.35 / 6), (0.75, 12.55 / 6), (1.0, 12.8 / 6)),
    "gel": ((0.0, 11.7 / 6), (0.25, 12.1 / 6), (0.5, 12.35 / 6), (0.75, 12.55 / 6), (1.0, 12.8 / 6)),
}  # fmt: skip
"""State of charge against resting voltage of a cell. [V] Lithium iron phosphate: near-equilibrium discharge of
the published cell of Prada et al. (2013); lead-acid: common trade table, AGM and gel 0.1 to 0.2 V per 12 V higher."""

ACTIVATION_J_MOL = {"lifepo4": 20_000.0, "agm": 12_000.0, "gel": 12_000.0, "flooded": 12_000.0}
"""Activation energy of a cell's resistance. [J/mol] Lead-acid: fitted to the trade's table of cranking power, 65 % left
at 0 °C and 40 % at -18 °C (common practice). Lithium iron phosphate: about 20 kJ/mol for the whole cell, from memory of
published measurements (two to three times the resistance at 0 °C)."""
GAS_CONSTANT = 8.314462618
"""[J/(mol K)] CODATA 2018."""
ZERO_K = 273.15
"""0 °C. [K]"""
RESISTANCE_C = 25.0
"""Temperature that a maker states resistance at. [°C]"""
WORN_RATIO = 1.5
"""Resistance of a battery with 80 % of its capacity left, over new. IEEE 1188 (30 to 50 % over its first value is a
reason to test) for lead-acid; for lithium common practice."""
WORN_LEFT_RATIO = 0.8
"""Capacity left at which ``WORN_RATIO`` holds."""

COMPENSATED_C = 25.0
"""Temperature that charging voltages are stated at. [°C]"""
COMPENSATED_FROM_C, COMPENSATED_TO_C = 0.0, 50.0
"""Cells colder or hotter than this change the voltage no further. [°C] Common practice: beyond, appliances and plates
suffer."""


def nominal_v(chemistry: str, system_v: int) -> float:
    """Nominal voltage of a bank. [V]"""
    _known(chemistry)
    return CELL_V[chemistry] * CELLS_PER_12[chemistry] * system_v / 12


def _known(chemistry: str) -> None:
    if chemistry not in CELL_V:
        raise SizingError("chemistry", value=chemistry, code="not_a_choice", message=f"unknown chemistry {chemistry!r}")


def open_circuit_v(chemistry: str, charge_ratio: float, system_v: int) -> float:
    """Resting voltage of a bank at this state of charge. [V]"""
    require("charge_ratio", charge_ratio, minimum=0, maximum=1)
    return at(bank_curve(chemistry, system_v), charge_ratio)


@lru_cache(maxsize=32)
def bank_curve(chemistry: str, system_v: int) -> Curve:
    """State of charge against resting voltage of a bank. [V]

    Parameters
    ----------
    chemistry : str
        Of its cells.
    system_v : int
        12 or 24. [V]
    """
    _known(chemistry)
    cells = CELLS_PER_12[chemistry] * system_v / 12
    return tuple((charge, volts * cells) for charge, volts in OPEN_CIRCUIT[chemistry])


def open_circuit_volts(curve: Curve, charge_ratio: Floats) -> Floats:
    """Resting voltage of many states of charge at once, off the same curve as :func:`open_circuit_v`. [V]

    Parameters
    ----------
    curve : Curve
        As :func:`bank_curve` gives it.
    charge_ratio : ndarray
        Any shape.
    """
    import numpy as np

    charges, volts = zip(*curve, strict=True)
    found: Floats = np.interp(charge_ratio, charges, volts)
    return found


def charge_at_v(curve: Curve, volts_v: float) -> float | None:
    """State of charge that rests at this voltage. [0..1]

    ``None`` under the empty battery's voltage; 1 at and over the full one's.

    Parameters
    ----------
    curve : Curve
        Rising: as :func:`bank_curve` gives it.
    volts_v : float
        Resting voltage. [V]

    Examples
    --------
    >>> charge_at_v(bank_curve("flooded", 12), 12.3), charge_at_v(bank_curve("flooded", 12), 11.0)
    (0.625, None)
    """
    require("volts_v", volts_v, minimum=-1000, maximum=1000, unit="V")
    if volts_v < curve[0][1]:
        return None
    return round(at(tuple((volts, charge) for charge, volts in curve), volts_v), 12)


def terminal_v(chemistry: str, charge_ratio: float, system_v: int, current_a: float, resistance_ohm: float) -> float:
    """Voltage at the posts under a current: discharge positive, charge negative. [V]"""
    require("resistance_ohm", resistance_ohm, minimum=0, maximum=10, unit="Ω")
    return open_circuit_v(chemistry, charge_ratio, system_v) - current_a * resistance_ohm


def resistance_ratio(chemistry: str, cell_c: float) -> float:
    r"""Resistance of a cell at this temperature over its resistance at 25 °C.

    .. math:: R(T)/R_{25} = \exp\Big[\frac{E}{R}\Big(\frac1T - \frac1{298.15}\Big)\Big]

    Parameters
    ----------
    chemistry : str
        Of the battery.
    cell_c : float
        Cell, not air. [°C]

    Examples
    --------
    >>> [round(resistance_ratio("flooded", c), 2) for c in (25, 0, -18)]
    [1.0, 1.56, 2.26]

    Notes
    -----
    Warmer than 25 °C gives no credit, as with the capacity.

    References
    ----------
    .. [1] The law of Arrhenius (1889).
    """
    _known(chemistry)
    require("cell_c", cell_c, minimum=-90, maximum=120, unit="°C")
    colder = max(0.0, 1 / (cell_c + ZERO_K) - 1 / (RESISTANCE_C + ZERO_K))
    return math.exp(ACTIVATION_J_MOL[chemistry] / GAS_CONSTANT * colder)


def aged_ratio(left_ratio: float) -> float:
    """Resistance of a battery by the capacity it has left, over new: straight through 1.5 at 80 %.

    Parameters
    ----------
    left_ratio : float
        Capacity left over new.

    Examples
    --------
    >>> aged_ratio(1.0), round(aged_ratio(0.8), 6)
    (1.0, 1.5)
    """
    require("left_ratio", left_ratio, minimum=0.1, maximum=1)
    return 1 + (WORN_RATIO - 1) * (1 - left_ratio) / (1 - WORN_LEFT_RATIO)


def bank_ohm(
    can: Storage, series: int, parallel: int, cell_c: float = RESISTANCE_C, left_ratio: float = 1.0
) -> float | None:
    """Resistance of a bank of equal batteries, as cold and as old as its cells are. [Ω]

    Parameters
    ----------
    can : Storage
        One battery.
    series, parallel : int
        How many of them.
    cell_c : float
        Cell, not air. [°C]
    left_ratio : float
        Capacity left over new.

    Returns
    -------
    float or None
        ``None`` when the maker does not state the resistance: none is invented.
    """
    if can.resistance_ohm is None:
        return None
    require("series", series, minimum=1, maximum=100)
    require("parallel", parallel, minimum=1, maximum=100)
    warm = can.resistance_ohm * series / parallel
    return warm * resistance_ratio(can.chemistry, cell_c) * aged_ratio(left_ratio)


def compensated_v(stated_v: float, cells: int, mv_per_cell_k: float, cell_c: float) -> float:
    """Charging voltage for the temperature of the cells. [V]

    Parameters
    ----------
    stated_v : float
        Absorption or float voltage of the battery or bank at 25 °C. [V]
    cells : int
        In series in it.
    mv_per_cell_k : float
        Compensation, negative for lead-acid, 0 for lithium. [mV/cell/K]
    cell_c : float
        Cell, not air. [°C]

    Examples
    --------
    >>> [round(compensated_v(14.4, 6, -4.0, c), 2) for c in (45, 25, 5, 0, -15)]
    [13.92, 14.4, 14.88, 15.0, 15.0]

    Notes
    -----
    Under 0 °C and over 50 °C it changes no further.
    """
    require("stated_v", stated_v, minimum=0.5, maximum=1000, unit="V")
    require("cells", cells, minimum=1, maximum=500)
    require("mv_per_cell_k", mv_per_cell_k, minimum=-10, maximum=10, unit="mV/cell/K")
    require("cell_c", cell_c, minimum=-90, maximum=120, unit="°C")
    held = min(COMPENSATED_TO_C, max(COMPENSATED_FROM_C, cell_c))
    return stated_v + cells * mv_per_cell_k / 1000 * (held - COMPENSATED_C)


def highest_charging_v(can: Storage, series: int, coldest_c: float = COMPENSATED_FROM_C) -> float:
    """Highest voltage that charging brings to a bank: absorption, compensated for its coldest cells. [V]

    Parameters
    ----------
    can : Storage
        One battery.
    series : int
        How many in series.
    coldest_c : float
        Coldest that its cells are charged. [°C]
    """
    cells = can.cells * series
    return max(
        can.absorption_v * series,
        compensated_v(
            can.absorption_v * series, cells, can.compensation_mv_per_cell_k, max(coldest_c, can.min_charge_c)
        ),
    )
