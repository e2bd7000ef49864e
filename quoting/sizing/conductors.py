r"""Conductors: resistance, voltage drop and the current they may carry.

Every length is one way; the return conductor is added here, never by the caller.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

from quoting.sizing.conductor_tables import (
    BUNDLING,
    CFR_COLUMNS_C,
    CFR_ENGINE_SPACE,
    CFR_TABLE_5,
    CLASS_5_OHM_PER_KM_20C,
    ISO_10133_A1,
    ISO_10133_COLUMNS_C,
    ISO_10133_ENGINE_SPACE,
)
from quoting.sizing.errors import SizingError, require

COPPER_TEMP_COEFF_20C = 0.00393
"""Copper's resistance rise from 20 °C. [1/K] IEC 60028:1925."""


ISO_10133_OHM_MM2_PER_M = 0.0164
"""The constant of ISO 10133:2012 annex A, over the loop. [Ω·mm²/m]"""

LEAST_AREA_MM2 = 1.0
"""Thinnest single conductor longer than 200 mm. [mm²] ISO 10133:2012, 5."""

AREAS_MM2 = tuple(area for area in ISO_10133_A1 if area >= LEAST_AREA_MM2)
"""Standard areas that are used. [mm²] IEC 60228."""


def conductor_ohm(run_m: float, ohm_per_km_20c: float, conductor_c: float) -> float:
    r"""Resistance of one conductor at its temperature.

    .. math:: R = L r_{20} [1 + \alpha_{20} (T - 20)]

    Parameters
    ----------
    run_m : float
        Length of this one conductor. [m]
    ohm_per_km_20c : float
        Resistance at 20 °C, from IEC 60228 class 5 or the maker. [Ω/km]
    conductor_c : float
        Conductor temperature, -60 to 250. [°C]

    Returns
    -------
    float
        Resistance. [Ω]

    Raises
    ------
    SizingError
        If a length is negative, a resistance not positive, or a temperature out of range.

    References
    ----------
    .. [1] IEC 60028:1925; IEC 60228:2023.
    """
    require("run_m", run_m, minimum=0, unit="m")
    require("ohm_per_km_20c", ohm_per_km_20c, minimum=1e-6, unit="Ω/km")
    require("conductor_c", conductor_c, minimum=-60, maximum=250, unit="°C")
    return run_m * ohm_per_km_20c / 1000 * (1 + COPPER_TEMP_COEFF_20C * (conductor_c - 20))


def voltage_drop_v(current_a: float, run_m: float, ohm_per_km_20c: float, conductor_c: float) -> float:
    r"""Voltage lost in a two-conductor DC run.

    .. math:: \Delta V = 2 L I r_{20} [1 + \alpha_{20} (T - 20)]

    Parameters
    ----------
    current_a : float
        Load current. [A]
    run_m : float
        One-way length; the return conductor is added here. [m]
    ohm_per_km_20c : float
        Conductor resistance at 20 °C, from IEC 60228 class 5. [Ω/km]
    conductor_c : float
        Conductor temperature under load, not air temperature. [°C]

    Returns
    -------
    float
        Voltage drop. [V]

    Raises
    ------
    SizingError
        If the resistance is not positive, or current or length is negative.

    Notes
    -----
    DC only. Terminals, devices and joints are added by the caller.

    Examples
    --------
    >>> round(voltage_drop_v(current_a=40, run_m=3, ohm_per_km_20c=1.21, conductor_c=20), 3)
    0.29

    References
    ----------
    .. [1] IEC 60028:1925, International standard of resistance for copper.
    .. [2] IEC 60228:2023, Conductors of insulated cables.
    """
    require("current_a", current_a, minimum=0, unit="A")
    return 2 * current_a * conductor_ohm(run_m, ohm_per_km_20c, conductor_c)


def iso10133_drop_v(current_a: float, run_m: float, area_mm2: float) -> float:
    r"""Voltage drop by ISO 10133's own formula, :math:`0.0164\,I\,L/S` over the loop, for comparison.

    Parameters
    ----------
    current_a : float
        Load current. [A]
    run_m : float
        One-way length. [m]
    area_mm2 : float
        Copper cross-section. [mm²]

    Returns
    -------
    float
        Voltage drop, milder than that of a warm real cable. [V]

    Raises
    ------
    SizingError
        If current or length is negative, or the area is not positive.

    Examples
    --------
    >>> round(iso10133_drop_v(current_a=10, run_m=5, area_mm2=2.5), 3)
    0.656

    References
    ----------
    .. [1] ISO 10133:2012, annex A.
    """
    require("current_a", current_a, minimum=0, unit="A")
    require("run_m", run_m, minimum=0, unit="m")
    require("area_mm2", area_mm2, minimum=0.05, unit="mm²")
    return ISO_10133_OHM_MM2_PER_M * current_a * 2 * run_m / area_mm2


def loaded_conductor_c(current_a: float, ampacity_a: float, ambient_c: float, insulation_c: float) -> float:
    r"""Temperature a conductor settles at, :math:`T_a + (T_i - T_a)(I/I_z)^2`, never above its class.

    Parameters
    ----------
    current_a : float
        Load current. [A]
    ampacity_a : float
        Current it may carry after every correction. [A]
    ambient_c : float
        Air round it. [°C]
    insulation_c : float
        Class of its insulation. [°C]

    Returns
    -------
    float
        Conductor temperature. [°C]

    Raises
    ------
    SizingError
        If the ampacity is not positive or the current negative.

    References
    ----------
    .. [1] IEC 60287-1-1:2023, 1.4: the rise goes with the square of the current.
    """
    require("current_a", current_a, minimum=0, unit="A")
    require("ampacity_a", ampacity_a, minimum=1e-6, unit="A")
    share = min(current_a / ampacity_a, 1.0)
    return ambient_c + max(insulation_c - ambient_c, 0.0) * share**2


def awg_mm2(awg: int) -> float:
    r"""Area of an AWG size, :math:`d = 0.127\,mm \cdot 92^{(36-n)/39}`; 1/0 is 0, 4/0 is -3.

    Parameters
    ----------
    awg : int
        Gauge number, -3 to 40.

    Returns
    -------
    float
        Area. [mm²]

    Raises
    ------
    SizingError
        If the gauge is out of range.

    Examples
    --------
    >>> round(awg_mm2(10), 2)
    5.26

    References
    ----------
    .. [1] ASTM B258.
    """
    require("awg", awg, minimum=-3, maximum=40)
    diameter_mm = 0.127 * math.pow(92, (36 - awg) / 39)
    return math.pi / 4 * diameter_mm**2


def awg_name(awg: int) -> str:
    """Return the gauge as it is written.

    >>> awg_name(-1), awg_name(4)
    ('2/0 AWG', '4 AWG')
    """
    return f"{1 - awg}/0 AWG" if awg <= 0 else f"{awg} AWG"


def next_smaller_awg(area_mm2: float) -> int:
    """Largest gauge of 33 CFR table 5 that is not larger than an area.

    Parameters
    ----------
    area_mm2 : float
        Copper cross-section, at least that of 18 AWG. [mm²]

    Returns
    -------
    int
        Gauge; 1/0 is 0, 4/0 is -3.

    Raises
    ------
    SizingError
        If the area is under 18 AWG.

    Examples
    --------
    >>> next_smaller_awg(6), next_smaller_awg(70)
    (10, -1)
    """
    require("area_mm2", area_mm2, minimum=awg_mm2(18), unit="mm²")
    return min(n for n in CFR_TABLE_5 if awg_mm2(n) <= area_mm2 * (1 + 1e-9))


def ambient_factor(insulation_c: float, ambient_c: float) -> float:
    r"""Correction for air above 30 °C, :math:`\sqrt{(T_i - T_a)/(T_i - 30)}`; never above 1 for cooler air.

    Parameters
    ----------
    insulation_c : float
        Class of the insulation, above 30. [°C]
    ambient_c : float
        Hottest air, under the class. [°C]

    Returns
    -------
    float
        Factor, 0 to 1.

    Raises
    ------
    SizingError
        If the air is as hot as the insulation may be.

    References
    ----------
    .. [1] NEC 310.15(B); the general law behind its tables.
    """
    require("insulation_c", insulation_c, minimum=60, maximum=300, unit="°C")
    require("ambient_c", ambient_c, minimum=-60, maximum=insulation_c - 0.5, unit="°C")
    return min(1.0, math.sqrt((insulation_c - ambient_c) / (insulation_c - 30)))


def bundling_factor(bundled: int) -> float:
    """Correction for loaded conductors lying together.

    Parameters
    ----------
    bundled : int
        Loaded conductors together, at least 1.

    Returns
    -------
    float
        Factor, 0.4 to 1.

    Raises
    ------
    SizingError
        If fewer than one.

    References
    ----------
    .. [1] 33 CFR 183.425 table 5 note 2.
    """
    require("bundled", bundled, minimum=1)
    return next(factor for least, factor in BUNDLING if bundled >= least)


def iso10133_table_a(area_mm2: float, insulation_c: float) -> float:
    """Current of ISO 10133 table A.1 at 30 °C, by the next smaller size and class in it. [A]"""
    sizes = [a for a in ISO_10133_A1 if a <= area_mm2 * (1 + 1e-9)]
    require("area_mm2", area_mm2, minimum=min(ISO_10133_A1), unit="mm²")
    return float(ISO_10133_A1[max(sizes)][_column(ISO_10133_COLUMNS_C, insulation_c)])


def cfr_table_a(awg: int, insulation_c: float) -> float:
    """Current of 33 CFR 183.425 table 5 at 30 °C, by the next lower class in it. [A]"""
    if awg not in CFR_TABLE_5:
        raise SizingError("awg", value=awg, minimum=min(CFR_TABLE_5), maximum=max(CFR_TABLE_5))
    return float(CFR_TABLE_5[awg][_column(CFR_COLUMNS_C, insulation_c)])


@lru_cache(maxsize=4096)
def ampacity_a(area_mm2: float, insulation_c: float, ambient_c: float, bundled: int, engine_space: bool) -> float:
    """Current a conductor may carry where it lies: the lower of two tables, corrected.

    Parameters
    ----------
    area_mm2 : float
        Copper cross-section, at least that of 18 AWG. [mm²]
    insulation_c : float
        Class of the insulation, at least 60. [°C]
    ambient_c : float
        Hottest air along the way. [°C]
    bundled : int
        Most loaded conductors lying together along the way.
    engine_space : bool
        The way goes through an engine space: each table's own factor holds when it is lower.

    Returns
    -------
    float
        Current after every correction; 0 where the insulation may not be used at all. [A]

    Raises
    ------
    SizingError
        If the air is hotter than the insulation may be, or a value is out of range.

    Examples
    --------
    >>> round(ampacity_a(10, 105, 50, 4, True), 1)
    40.8

    References
    ----------
    .. [1] ISO 10133:2012 table A.1 (from memory).
    .. [2] 33 CFR 183.425 table 5, at the next smaller AWG.
    """
    awg = next_smaller_awg(area_mm2)
    air, bundle = ambient_factor(insulation_c, ambient_c), bundling_factor(bundled)
    iso_air = min(air, ISO_10133_ENGINE_SPACE[_column(ISO_10133_COLUMNS_C, insulation_c)]) if engine_space else air
    cfr_air = min(air, CFR_ENGINE_SPACE[_column(CFR_COLUMNS_C, insulation_c)]) if engine_space else air
    return min(iso10133_table_a(area_mm2, insulation_c) * iso_air, cfr_table_a(awg, insulation_c) * cfr_air) * bundle


def smallest_area_for_current_mm2(
    current_a: float,
    insulation_c: float,
    ambient_c: float,
    bundled: int,
    engine_space: bool,
    areas_mm2: Sequence[float] = AREAS_MM2,
) -> float:
    """Smallest area whose corrected ampacity reaches a current.

    Parameters
    ----------
    current_a : float
        Current it must carry. [A]
    insulation_c : float
        Class of the insulation. [°C]
    ambient_c : float
        Hottest air along the way. [°C]
    bundled : int
        Most loaded conductors lying together.
    engine_space : bool
        The way goes through an engine space.
    areas_mm2 : sequence of float
        Sizes to choose from. [mm²]

    Returns
    -------
    float
        Area. [mm²]

    Raises
    ------
    SizingError
        If none of the sizes carries it.
    """
    require("current_a", current_a, minimum=0, unit="A")
    best = 0.0
    for area in sorted(areas_mm2):
        best = ampacity_a(area, insulation_c, ambient_c, bundled, engine_space)
        if best >= current_a:
            return area
    raise SizingError("current_a", value=current_a, minimum=0, maximum=round(best, 1), unit="A")


def smallest_area_for_drop_mm2(
    current_a: float, run_m: float, limit_v: float, conductor_c: float, table: dict[float, float] | None = None
) -> float:
    """Smallest IEC 60228 class 5 area that loses no more than a limit in both conductors.

    Parameters
    ----------
    current_a : float
        Load current. [A]
    run_m : float
        One-way length. [m]
    limit_v : float
        Most that may be lost. [V]
    conductor_c : float
        Conductor temperature under load. [°C]
    table : dict, optional
        Area [mm²] -> resistance at 20 °C [Ω/km]; class 5 by default.

    Returns
    -------
    float
        Area. [mm²]

    Raises
    ------
    SizingError
        If none of the sizes is thick enough.
    """
    require("limit_v", limit_v, minimum=1e-6, unit="V")
    drop = math.inf
    for area, ohm in sorted((table or CLASS_5_OHM_PER_KM_20C).items()):
        drop = voltage_drop_v(current_a, run_m, ohm, conductor_c)
        if area >= LEAST_AREA_MM2 and drop <= limit_v:
            return area
    raise SizingError("limit_v", value=limit_v, minimum=round(drop, 3), unit="V")


def _column(columns: Sequence[float], insulation_c: float) -> int:
    """Index of the highest class of a table that is not above the insulation's."""
    require("insulation_c", insulation_c, minimum=columns[0], maximum=300, unit="°C")
    return max(i for i, c in enumerate(columns) if c <= insulation_c)
