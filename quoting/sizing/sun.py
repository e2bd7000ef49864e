"""Sun on a roof: a mean day of a month by hours, flat or tilted, and what an array makes of it.

Sun position, extraterrestrial irradiance, diffuse share, transposition and cell temperature are pvlib's; the hour
shape of a mean day is Collares-Pereira and Rabl's. pvlib is imported where it is used: it takes most of a second.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING, overload

from catalog.kinds.capabilities import Panel, SolarControl
from quoting.sizing.errors import SizingError, require
from quoting.sizing.policy import Policy

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

MID_MONTH_DAY = (17, 47, 75, 105, 135, 162, 198, 228, 258, 288, 318, 344)
"""Day of the year that stands for each month. Klein (1977), Solar Energy 19, 325."""
STC_C = 25.0
"""Cell temperature of standard test conditions. [°C] IEC 61215."""
ALBEDO = 0.2
"""Light that the ground throws back. Common practice: grass, sand."""
CLEARNESS_MOST = 0.8
"""Highest clearness of a monthly mean that is taken without question. Common practice."""
OVER_SKY_KWH_M2_DAY = 0.1
"""By the polar circles a mean day's sun is next to nothing while some days of the month still have a little: a monthly
mean may be so much over what that day has above the air. [kWh/m²/day]"""


@lru_cache(maxsize=512)
def _declination_rad(month: int) -> float:
    from pvlib.solarposition import declination_cooper69

    return float(declination_cooper69(MID_MONTH_DAY[month - 1]))


@lru_cache(maxsize=512)
def _extraterrestrial_w_m2(month: int) -> float:
    from pvlib.irradiance import get_extra_radiation

    return float(get_extra_radiation(MID_MONTH_DAY[month - 1], method="spencer", solar_constant=1367))


def _sunset_rad(latitude_deg: float, month: int) -> float:
    cosine = -math.tan(math.radians(latitude_deg)) * math.tan(_declination_rad(month))
    return math.acos(min(1.0, max(-1.0, cosine)))


def sunrise_h(latitude_deg: float, month: int) -> float:
    """Sunrise of the month's mean day, local solar time. [h]

    Parameters
    ----------
    latitude_deg : float
        South negative. [°]
    month : int
        1 to 12.
    """
    _check(latitude_deg, month)
    return 12 - math.degrees(_sunset_rad(latitude_deg, month)) / 15


def extraterrestrial_kwh_m2_day(latitude_deg: float, month: int) -> float:
    """Daily irradiation on the horizontal above the air, on the month's mean day. [kWh/m²/day]

    Parameters
    ----------
    latitude_deg : float
        South negative. [°]
    month : int
        1 to 12.

    Examples
    --------
    >>> round(extraterrestrial_kwh_m2_day(43, 4) * 3.6, 1)
    33.8

    References
    ----------
    .. [1] Duffie and Beckman, Solar Engineering of Thermal Processes, eq. 1.10.3 and example 1.10.1.
    """
    _check(latitude_deg, month)
    latitude, declination = math.radians(latitude_deg), _declination_rad(month)
    sunset = _sunset_rad(latitude_deg, month)
    shape = math.cos(latitude) * math.cos(declination) * math.sin(sunset)
    shape += sunset * math.sin(latitude) * math.sin(declination)
    return 24 / math.pi * _extraterrestrial_w_m2(month) * shape / 1000


@lru_cache(maxsize=2048)
def hour_shares(latitude_deg: float, month: int) -> tuple[float, ...]:
    """Share of a mean day's horizontal irradiation that falls in each hour, local solar time; they add up to 1.

    Parameters
    ----------
    latitude_deg : float
        South negative. [°]
    month : int
        1 to 12.

    Notes
    -----
    The published ratio of hour to day is integrated over each hour, not read at its middle.

    References
    ----------
    .. [1] M. Collares-Pereira and A. Rabl, "The average distribution of solar radiation", Solar Energy 22 (1979) 155.
    """
    _check(latitude_deg, month)
    sunset = _sunset_rad(latitude_deg, month)
    a = 0.409 + 0.5016 * math.sin(sunset - math.pi / 3)
    b = 0.6609 - 0.4767 * math.sin(sunset - math.pi / 3)

    def until(hour: float) -> float:
        """Integral of (a + b cos w)(cos w - cos sunset) from noon to this hour."""
        w = min(sunset, max(-sunset, math.radians(15 * (hour - 12))))
        return a * (math.sin(w) - w * math.cos(sunset)) + b * (
            w / 2 + math.sin(2 * w) / 4 - math.cos(sunset) * math.sin(w)
        )

    whole = 2 * until(24.0)
    if whole <= 0:
        return (0.0,) * 24
    ends = [until(float(hour)) for hour in range(25)]
    return tuple((ends[h + 1] - ends[h]) / whole for h in range(24))


def towards_equator_deg(latitude_deg: float) -> float:
    """Azimuth of the equator: 0° (north) south of it, 180° north of it. [°]"""
    return 0.0 if latitude_deg < 0 else 180.0


@lru_cache(maxsize=2048)
def plane_w_m2(
    latitude_deg: float, month: int, ghi_kwh_m2_day: float, tilt_deg: float = 0.0, azimuth_deg: float | None = None
) -> tuple[float, ...]:
    """Mean irradiance of each hour of a mean day in the plane of the panels, local solar time. [W/m²]

    Flat, it is the day's horizontal irradiation by its hour shape. Tilted, Erbs parts each hour into beam and diffuse
    light, and Hay and Davies turn both into the plane, with what the ground throws back.

    Parameters
    ----------
    latitude_deg : float
        South negative. [°]
    month : int
        1 to 12.
    ghi_kwh_m2_day : float
        Mean daily irradiation on the horizontal. [kWh/m²/day]
    tilt_deg : float
        Panels over the horizontal, 0 to 60. [°]
    azimuth_deg : float, optional
        Where they face, clockwise from north; towards the equator when not given. [°]

    Notes
    -----
    The sun stands where it does in the middle of the hour; with the sun under the horizon then, all light is diffuse.
    A mean day is cloudier than the clear days among those it stands for: tilted panels get up to a sixth less of winter
    and a fifteenth more of midsummer than hour-by-hour records give, which is the safe side where it counts.

    References
    ----------
    .. [1] D. G. Erbs, S. A. Klein and J. A. Duffie, Solar Energy 28 (1982) 293; ``pvlib.irradiance.erbs``.
    .. [2] J. E. Hay and J. A. Davies, "Calculations of the solar radiation incident on an inclined surface" (1980);
       ``pvlib.irradiance.get_total_irradiance(model="haydavies")``.
    """
    flat = tuple(1000 * ghi_kwh_m2_day * part for part in hour_shares(latitude_deg, month))
    require("panel_tilt_deg", tilt_deg, minimum=0, maximum=60, unit="°")
    if azimuth_deg is None:
        azimuth_deg = towards_equator_deg(latitude_deg)
    require("panel_azimuth_deg", azimuth_deg, minimum=0, maximum=360, unit="°")
    if tilt_deg == 0:
        return flat
    import numpy as np
    from pvlib import irradiance, solarposition

    latitude, declination = math.radians(latitude_deg), _declination_rad(month)
    angle = np.radians(15 * (np.arange(24) + 0.5 - 12))
    zenith = solarposition.solar_zenith_analytical(latitude, angle, declination)
    azimuth = solarposition.solar_azimuth_analytical(latitude, angle, declination, zenith)
    zenith_deg, light = np.degrees(zenith), np.array(flat)
    parts = irradiance.erbs(light, zenith_deg, MID_MONTH_DAY[month - 1])
    most = _extraterrestrial_w_m2(month)
    beam = np.where(zenith_deg < 90, np.minimum(np.nan_to_num(parts["dni"]), most), 0.0)
    diffuse = np.maximum(light - beam * np.maximum(np.cos(zenith), 0.0), 0.0)
    plane = irradiance.get_total_irradiance(
        tilt_deg,
        azimuth_deg,
        zenith_deg,
        np.degrees(azimuth),
        beam,
        light,
        diffuse,
        dni_extra=most,
        albedo=ALBEDO,
        model="haydavies",
    )
    return tuple(float(max(0.0, x)) for x in np.nan_to_num(plane["poa_global"]))


def cell_c(irradiance_w_m2: float, air_c: float, wind_m_s: float) -> float:
    """Cell temperature of a module close to a roof. [°C]

    Parameters
    ----------
    irradiance_w_m2 : float
        In the plane of the module. [W/m²]
    air_c : float
        Air. [°C]
    wind_m_s : float
        Wind. [m/s]

    References
    ----------
    .. [1] King, Boyson and Kratochvil, SAND2004-3535, close-mount glass/glass; ``pvlib.temperature.sapm_cell``.
    """
    import numpy as np

    return float(cells_c(np.array([irradiance_w_m2]), np.array([air_c]), wind_m_s)[0])


def cells_c(irradiance_w_m2: Floats, air_c: Floats, wind_m_s: float) -> Floats:
    """As :func:`cell_c`, for arrays of shapes that go together; in the dark a cell is as warm as the air. [°C]"""
    import numpy as np
    from pvlib.temperature import TEMPERATURE_MODEL_PARAMETERS, sapm_cell

    parameters = TEMPERATURE_MODEL_PARAMETERS["sapm"]["close_mount_glass_glass"]
    light = np.maximum(irradiance_w_m2, 0.0)
    warm: Floats = sapm_cell(light, np.asarray(air_c, dtype=np.float64), wind_m_s, **parameters)
    return warm


def losses(policy: Policy) -> tuple[tuple[str, float], ...]:
    """Itemised losses of the array, each as what is left of one; they multiply (PVWatts v5)."""
    return (
        ("soiling", 1 - policy.pv_loss_soiling_ratio),
        ("mismatch", 1 - policy.pv_loss_mismatch_ratio),
        ("wiring", 1 - policy.pv_loss_wiring_ratio),
        ("connections", 1 - policy.pv_loss_connections_ratio),
        ("light_induced", 1 - policy.pv_loss_light_induced_ratio),
        ("nameplate", 1 - policy.pv_loss_nameplate_ratio),
    )


def losses_left(policy: Policy) -> float:
    return math.prod(left for _, left in losses(policy))


def array_power_w(
    power_w: float, irradiance_w_m2: float, cell_temperature_c: float, power_per_k: float, left_ratio: float = 1.0
) -> float:
    """Direct-current power of an array. [W]

    Parameters
    ----------
    power_w : float
        At standard test conditions. [W]
    irradiance_w_m2 : float
        In the plane of the module. [W/m²]
    cell_temperature_c : float
        Cell, not air. [°C]
    power_per_k : float
        Relative change of power, negative. [1/K]
    left_ratio : float
        Product of what the losses leave.

    Examples
    --------
    >>> array_power_w(200, 800, 55, -0.004)
    140.8

    References
    ----------
    .. [1] PVWatts version 5, NREL/TP-6A20-62641; ``pvlib.pvsystem.pvwatts_dc``.
    """
    require("power_w", power_w, minimum=0, unit="W")
    require("irradiance_w_m2", irradiance_w_m2, minimum=0, maximum=1600, unit="W/m²")
    require("left_ratio", left_ratio, minimum=0, maximum=1)
    heat = 1 + require("power_per_k", power_per_k, minimum=-0.02, maximum=0.01, unit="1/K") * (
        cell_temperature_c - STC_C
    )
    return max(0.0, power_w * irradiance_w_m2 / 1000 * heat * left_ratio)


def cold_voc_v(voc_v: float, voc_per_k: float, series: int, cold_c: float) -> float:
    """Open-circuit voltage of a string on the coldest morning. [V]

    Parameters
    ----------
    voc_v : float
        Of one module at 25 °C. [V]
    voc_per_k : float
        Relative change, negative. [1/K]
    series : int
        Modules in series.
    cold_c : float
        Record low. [°C]

    Examples
    --------
    >>> round(cold_voc_v(22.3, -0.0029, 1, -10), 2)
    24.56

    References
    ----------
    .. [1] NEC 690.7: the module's own coefficient is used where it is known.
    """
    require("voc_v", voc_v, minimum=0.1, unit="V")
    require("voc_per_k", voc_per_k, minimum=-0.02, maximum=0, unit="1/K")
    require("series", series, minimum=1)
    require("cold_c", cold_c, minimum=-90, maximum=60, unit="°C")
    return voc_v * series * (1 + voc_per_k * (cold_c - STC_C))


def panel_hour_w(
    panel: Panel, control: SolarControl, series: int, strings: int, irradiance_w_m2: float, cell: float,
    left_ratio: float, battery_v: float, charging_v: float,
) -> float:  # fmt: skip
    """Power that reaches the battery in an hour of this sun, before the controller's own limit. [W]

    An MPPT controller starts only above the battery's charging voltage by its margin; PWM takes the panel's current at
    battery voltage, and nothing from a panel that works below the charging voltage.
    """
    import numpy as np

    light, warm = np.array([irradiance_w_m2]), np.array([cell])
    return float(panel_w(panel, control, series, strings, light, warm, left_ratio, battery_v, charging_v)[0])


def panel_w(
    panel: Panel, control: SolarControl, series: int, strings: int, irradiance_w_m2: Floats, cell: Floats,
    left_ratio: float, battery_v: float, charging_v: float,
) -> Floats:  # fmt: skip
    """As :func:`panel_hour_w`, for arrays of one shape: every hour starts or not by its own cell temperature. [W]"""
    import numpy as np

    heat = 1 + panel.power_per_k * (cell - STC_C)
    starts = string_v(panel, series, cell) >= asked_v(control, charging_v)
    sunny = irradiance_w_m2 / 1000 * (left_ratio * strings * control.efficiency_ratio)
    if control.method == "pwm":
        gives = panel.imp_a * battery_v * sunny
    else:
        gives = panel.power_w * series * np.maximum(heat, 0.0) * sunny
    return np.where(starts, gives, 0.0)


@overload
def string_v(panel: Panel, series: int, cell: float) -> float: ...
@overload
def string_v(panel: Panel, series: int, cell: Floats) -> Floats: ...
def string_v(panel: Panel, series: int, cell: Floats | float) -> Floats | float:
    """Working voltage of a string at this cell temperature; power's coefficient stands for the voltage's. [V] C."""
    return series * panel.vmp_v * (1 + panel.power_per_k * (cell - STC_C))


def asked_v(control: SolarControl, charging_v: float) -> float:
    """Voltage under which a string gives nothing: an MPPT controller starts so far above charging, PWM at it. [V]"""
    return charging_v if control.method == "pwm" else charging_v + control.start_margin_v


def check_site(field: str, latitude_deg: float, month: int, ghi_kwh_m2_day: float) -> float:
    """Refuse more sun than reaches the air; return the most that a monthly mean is taken without question.

    That is 0.8 of it, or a tenth of a kWh/m² a day where there is hardly any.
    """
    most = extraterrestrial_kwh_m2_day(latitude_deg, month)
    if ghi_kwh_m2_day > most + OVER_SKY_KWH_M2_DAY:
        raise SizingError(field, value=ghi_kwh_m2_day, minimum=0, maximum=round(most, 2), unit="kWh/m²/day")
    return max(CLEARNESS_MOST * most, OVER_SKY_KWH_M2_DAY)


def _check(latitude_deg: float, month: int) -> None:
    require("latitude_deg", latitude_deg, minimum=-66.5, maximum=66.5, unit="°")
    if month not in range(1, 13):
        raise SizingError("month", value=month, minimum=1, maximum=12)
