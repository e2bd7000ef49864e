"""Sun above the air and under a clear sky, hour shape, array power, losses, cell temperature, chain, cold voltage."""

import math
from dataclasses import replace

import numpy as np
from pvlib.clearsky import ineichen
from pvlib.pvsystem import pvwatts_losses
from scipy.integrate import quad

from catalog.kinds.capabilities import Panel, SolarControl
from quoting.sizing import shade, sun
from quoting.sizing.brief import Site
from quoting.sizing.loads import ambient_by_hour
from quoting.sizing.policy import Policy
from tests.reference.table import Check

KLEIN = "extraterrestrial irradiation on the mean day of the month, pvlib 0.16.1"
SAPM = "pvlib 0.16.1 sapm_cell, close_mount_glass_glass"
PVWATTS = "pvlib 0.16.1 pvwatts_dc"
IWEC = "Sydney IWEC file, hour by hour, close mount, γ −0.35 %/K, losses 14.0757 %; Wh/day from 100 W"
LEFT = 1 - 0.140757
AMSTERDAM = "Amsterdam IWEC file, hour by hour, close mount, γ −0.35 %/K, losses 14.0757 %; Wh/day from 100 W"
SHAPE = "Collares-Pereira and Rabl (1979), Solar Energy 22, 155"
INEICHEN = "pvlib 0.16.1 clearsky.ineichen, Linke turbidity 3, Kasten and Young air mass"


PANEL = Panel(
    power_w=100, vmp_v=18, imp_a=5.56, voc_v=22, isc_a=6, power_per_k=-0.0035, voc_per_k=-0.0028, max_series_fuse_a=15,
    max_system_v=600, length_m=1, width_m=0.6,
)  # fmt: skip
MPPT = SolarControl("mppt", (12.0,), 20, 0.96, 100, 20, start_margin_v=1.0)


def _left(shade_ratio, series, strings, hot_v):
    """Share that panels of 36 cells still give at 12 V, where a string needs 14.4 V and 1 V more to start."""
    return float(shade.left_ratio(PANEL, MPPT, series, strings, shade_ratio, hot_v * series, 15.4))


def _clear_w_m2(latitude_deg, declination_deg, hour):
    """Clear-sky irradiance on the horizontal at an hour of solar time, sea level; the sun's place by geometry."""
    latitude, declination = math.radians(latitude_deg), math.radians(declination_deg)
    angle = math.radians(15 * (hour - 12))
    height = math.sin(latitude) * math.sin(declination)
    height += math.cos(latitude) * math.cos(declination) * math.cos(angle)
    if height <= 0:
        return 0.0
    up_deg = math.degrees(math.asin(height))
    mass = 1 / (height + 0.50572 * (up_deg + 6.07995) ** -1.6364)  # Kasten and Young (1989)
    return float(ineichen(np.array([90 - up_deg]), np.array([mass]), 3.0, 0, 1367.0)["ghi"][0])


def _clear_share(latitude_deg, declination_deg, start_h, end_h):
    """Share of a clear day's light that falls between two hours, integrated over minutes."""
    minutes = [(m + 0.5) / 60 for m in range(24 * 60)]
    light = [_clear_w_m2(latitude_deg, declination_deg, h) for h in minutes[::10]]
    within = [w for h, w in zip(minutes[::10], light, strict=True) if start_h <= h < end_h]
    return sum(within) / sum(light)


def _clear_kwh(latitude_deg, declination_deg):
    return sum(_clear_w_m2(latitude_deg, declination_deg, (m + 0.5) / 6) for m in range(144)) / 6000


def _shape_share(sunset_deg, start_h, end_h):
    """The published ratio of hour to day, integrated by scipy over the hours and over the whole day."""
    sunset = math.radians(sunset_deg)
    a = 0.409 + 0.5016 * math.sin(sunset - math.pi / 3)
    b = 0.6609 - 0.4767 * math.sin(sunset - math.pi / 3)

    def ratio(hour):
        angle = math.radians(15 * (hour - 12))
        return max(0.0, (a + b * math.cos(angle)) * (math.cos(angle) - math.cos(sunset)))

    up_h = sunset_deg / 15
    part, _ = quad(ratio, max(start_h, 12 - up_h), min(end_h, 12 + up_h))
    whole, _ = quad(ratio, 12 - up_h, 12 + up_h)
    return part / whole


def _mean_day_wh(latitude_deg, month, ghi, tmin_c, tmax_c):
    """100 W on the mean day by the project's own chain, with PVWatts' full losses."""
    site = Site(
        name="check",
        latitude_deg=latitude_deg,
        longitude_deg=0.0,
        ghi_kwh_m2_day=(ghi,) * 12,
        tmin_c=(tmin_c,) * 12,
        tmax_c=(tmax_c,) * 12,
    )
    air = ambient_by_hour(site, month)
    total = 0.0
    for h, share in enumerate(sun.hour_shares(latitude_deg, month)):
        irradiance = 1000 * ghi * share
        total += sun.array_power_w(100, irradiance, sun.cell_c(irradiance, air[h], 2.0), -0.0035, LEFT)
    return total


CHECKS = [
    Check(
        "above the air",
        "43° N, 15 April [MJ/m²]",
        33.8,
        "Duffie and Beckman, example 1.10.1",
        "M",
        lambda: 3.6 * sun.extraterrestrial_kwh_m2_day(43, 4),
    ),
    *(
        Check("above the air", f"{place}, month {month} [kWh/m²]", value, KLEIN, "L", ours, 0.01)
        for place, latitude, month, value in (
            ("Sydney", -33.87, 1, 12.00),
            ("Sydney", -33.87, 7, 4.90),
            ("Darwin", -12.46, 7, 8.00),
            ("London", 51.5, 4, 8.59),
            ("Denver", 39.74, 10, 6.30),
            ("Melbourne", -37.81, 4, 6.51),
            ("Perth", -31.95, 7, 5.20),
            ("Alice Springs", -23.70, 10, 10.64),
            ("Hobart", -42.88, 7, 3.46),
            ("Auckland", -36.85, 1, 12.01),
            ("Johannesburg", -26.20, 4, 8.03),
            ("Madrid", 40.42, 1, 4.15),
            ("Stockholm", 59.33, 10, 3.14),
        )
        for ours in [lambda la=latitude, m=month: sun.extraterrestrial_kwh_m2_day(la, m)]
    ),
    # the most that a monthly mean is taken for without question, against a whole month of clear skies
    *(
        Check(
            "clear sky",
            f"{place}: clearness of clear days in the thinnest air",
            clear / above,
            "pvlib 0.16.1 Location.get_clearsky(model='ineichen') over extraterrestrial, mean day of the month",
            "L",
            lambda: sun.CLEARNESS_MOST,
            0.07,
        )
        for place, clear, above in (
            ("Johannesburg, January, 1700 m", 9.68, 11.86),
            ("Denver, July, 1600 m", 8.61, 11.30),
        )
    ),
    Check(
        "clear sky",
        "Sydney in January is under what is questioned [kWh/m²]",
        8.68,
        "pvlib 0.16.1 Location.get_clearsky(model='ineichen'), built-in turbidity",
        "L",
        lambda: 0.9 * sun.CLEARNESS_MOST * sun.extraterrestrial_kwh_m2_day(-33.87, 1),
        0.03,
    ),
    # a clear day's hours: the shape is that of mean days, a little narrower than theirs
    *(
        Check(
            "hour shape",
            f"{what}, hours of a clear day",
            _clear_share(latitude, declination, *hours),
            INEICHEN,
            "L",
            lambda la=latitude, m=month, h=hours: sum(sun.hour_shares(la, m)[h[0] : h[1]]),
            0.04,
        )
        for what, latitude, declination, month, hours in (
            ("Sydney in January, 10 to 14 h", -33.87, -20.9, 1, (10, 14)),
            ("Sydney in July, 10 to 14 h", -33.87, 21.2, 7, (10, 14)),
            ("Darwin in October, 9 to 15 h", -12.46, -9.6, 10, (9, 15)),
            ("London in April, 6 to 10 h", 51.5, 9.4, 4, (6, 10)),
        )
    ),
    # 38° S, 17 January: sunset 107.36°, a 0.7780, b 0.3102; π/24 × 0.9669 × 0.9072 ÷ 1.5136
    Check(
        "hour shape",
        "8 to 9 h, 38° S in January",
        0.0759,
        f"{SHAPE}, by hand",
        "D",
        lambda: sun.hour_shares(-38.0, 1)[8],
    ),
    *(
        Check(
            "hour shape",
            f"{start} to {end} h with the sun {2 * sunset / 15:.0f} h over the horizon",
            _shape_share(sunset, start, end),
            f"{SHAPE}, integrated by scipy 1.17.1 quad",
            "L",
            lambda la=latitude, m=month, a=start, b=end: sum(sun.hour_shares(la, m)[a:b]),
            0.003,
        )
        for latitude, month, sunset, start, end in (
            (0.0, 3, 90.0, 6, 9),
            (0.0, 3, 90.0, 11, 13),
            (-33.87, 1, 104.84, 5, 8),
            (-33.87, 7, 74.94, 7, 9),
            (51.5, 12, 57.66, 8, 10),
        )
    ),
    Check(
        "hour shape",
        "noon over the day on the equator: π/24 (a + b) (1 − cos) ÷ (sin − angle × cos) at 90°",
        math.pi / 24 * (0.409 + 0.5016 * 0.5 + 0.6609 - 0.4767 * 0.5),
        f"{SHAPE}, the hour's middle",
        "D",
        lambda: sum(sun.hour_shares(0.0, 3)[11:13]) / 2,
        0.015,
    ),
    Check(
        "array",
        "(1000, 25 °C, 200 W, −0.4 %/K) [W]",
        200.0,
        PVWATTS,
        "L",
        lambda: sun.array_power_w(200, 1000, 25, -0.004),
    ),
    Check(
        "array",
        "(800, 55 °C, 200 W, −0.4 %/K) [W]",
        140.8,
        PVWATTS,
        "L",
        lambda: sun.array_power_w(200, 800, 55, -0.004),
    ),
    Check(
        "array",
        "(1000, 65 °C, 200 W, −0.35 %/K) [W]",
        172.0,
        PVWATTS,
        "L",
        lambda: sun.array_power_w(200, 1000, 65, -0.0035),
    ),
    Check(
        "array",
        "100 W close to a roof, 1000 W/m², 30 °C, 1 m/s [W]",
        80.9,
        SAPM,
        "L",
        lambda: sun.array_power_w(100, 1000, sun.cell_c(1000, 30, 1), -0.0035),
    ),
    Check(
        "losses",
        "left by dirt, mismatch, wiring, connectors, light, nameplate",
        1 - pvwatts_losses(shading=0, availability=0) / 100,
        "pvlib 0.16.1 pvwatts_losses(shading=0, availability=0)",
        "L",
        lambda: sun.losses_left(Policy()),
        1e-6,
    ),
    Check(
        "losses",
        "left by all of them, shading and availability of 3 % each too",
        1 - 0.140757,
        "PVWatts version 5, NREL/TP-6A20-62641, and pvlib 0.16.1 pvwatts_losses()",
        "L",
        lambda: sun.losses_left(Policy()) * 0.97 * 0.97,
        1e-5,
    ),
    *(
        Check(
            "shade",
            f"bypass groups of {cells} cells, Voc {voc_v} V",
            groups,
            "one diode for 18 to 24 cells",
            "C",
            lambda voc_v=voc_v: shade.groups_of(replace(PANEL, voc_v=voc_v)),
        )
        for cells, voc_v, groups in ((36, 22.0, 2.0), (60, 37.5, 3.0))
    ),
    *(
        Check(
            "shade",
            f"left of {what}, {share:g} of it in shadow",
            left,
            "by hand over whole bypass groups",
            "D",
            lambda share=share, series=series, strings=strings: _left(share, series, strings, 16.0),
        )
        for what, share, series, strings, left in (
            (
                "one 18 V panel at 12 V",
                0.125,
                1,
                1,
                1 / 4,
            ),  # 0.75 groups: a quarter of the time none, else nothing starts
            ("one 18 V panel at 12 V", 0.5, 1, 1, 0.0),
            ("two in series", 0.375, 2, 1, 1 / 2),  # 2 of 4 groups: 16 V of 32 V still starts
            ("two in series", 0.25, 2, 1, 0.625),  # 1.5 of 4: half of the time 3/4, half of it 2/4
            ("two side by side", 0.25, 1, 2, 1 / 2),  # 1.5 of 4: the shaded one cannot start, the other gives all
        )
    ),
    Check("cell", "(1000 W/m², 35 °C, 1 m/s) [°C]", 84.46, SAPM, "L", lambda: sun.cell_c(1000, 35, 1)),
    Check("cell", "(1000 W/m², 35 °C, still air) [°C]", 86.79, SAPM, "L", lambda: sun.cell_c(1000, 35, 0)),
    Check("cell", "(1000 W/m², 20 °C, 1 m/s) [°C]", 69.46, SAPM, "L", lambda: sun.cell_c(1000, 20, 1)),
    Check("cell", "(800 W/m², 20 °C, 1 m/s) [°C]", 59.57, SAPM, "L", lambda: sun.cell_c(800, 20, 1)),
    Check("cell", "(500 W/m², 10 °C, 3 m/s) [°C]", 32.55, SAPM, "L", lambda: sun.cell_c(500, 10, 3)),
    # mean temperatures of the months: common climate tables, 19 to 26 °C and 8 to 17 °C
    Check("chain", "January", 509.6, IWEC, "L", lambda: _mean_day_wh(-33.87, 1, 6.60, 19.0, 26.0), 0.04),
    Check("chain", "July", 214.8, IWEC, "L", lambda: _mean_day_wh(-33.87, 7, 2.56, 8.0, 17.0), 0.04),
    Check("chain", "June", 184.0, IWEC, "L", lambda: _mean_day_wh(-33.87, 6, 2.18, 9.0, 17.0), 0.04),
    # Amsterdam: 1 to 6 °C in winter, 11 to 20 °C in June, 13 to 22 °C in July
    Check("chain", "January, 52° N", 57.9, AMSTERDAM, "L", lambda: _mean_day_wh(52.3, 1, 0.64, 1.0, 6.0), 0.06),
    Check("chain", "June, 52° N", 402.4, AMSTERDAM, "L", lambda: _mean_day_wh(52.3, 6, 4.93, 11.0, 20.0), 0.04),
    Check("chain", "July, 52° N", 400.4, AMSTERDAM, "L", lambda: _mean_day_wh(52.3, 7, 4.93, 13.0, 22.0), 0.04),
    Check("chain", "December, 52° N", 42.0, AMSTERDAM, "L", lambda: _mean_day_wh(52.3, 12, 0.46, 2.0, 7.0), 0.06),
    Check("chain", "December", 498.1, IWEC, "L", lambda: _mean_day_wh(-33.87, 12, 6.38, 18.0, 25.0), 0.04),
    Check(
        "cold voltage",
        "22.3 V, −0.29 %/K, −10 °C [V]",
        24.56,
        "NEC 690.7: Voc (1 + β (T − 25))",
        "D",
        lambda: sun.cold_voc_v(22.3, -0.0029, 1, -10),
    ),
    Check(
        "cold voltage",
        "factor at −20 °C",
        1.18,
        "NEC 690.7(A) table, crystalline silicon (the table is the safer one)",
        "M",
        lambda: sun.cold_voc_v(1, -0.0033, 1, -20),
        0.04,
    ),
    *(
        Check(
            "cold voltage",
            f"factor at {cold_c} °C",
            factor,
            "NEC 690.7(A) table, crystalline silicon (the table is the safer one)",
            "M",
            lambda c=cold_c: sun.cold_voc_v(1, -0.0033, 1, c),
            0.04,
        )
        for cold_c, factor in ((10, 1.06), (0, 1.10), (-10, 1.14), (-40, 1.25))
    ),
    Check("daylight", "hours on the equator", 12.0, "geometry", "D", lambda: 2 * (12 - sun.sunrise_h(0, 6)), 1e-9),
    Check(
        "daylight",
        "hours at 60° N on 11 June",
        2 / 15 * math.degrees(math.acos(-math.tan(math.radians(60)) * math.tan(math.radians(23.09)))),
        "2/15 acos(−tan φ tan δ), δ = 23.09°: Duffie and Beckman table 1.6.1",
        "M",
        lambda: 2 * (12 - sun.sunrise_h(60, 6)),
    ),
]
