"""Sun above the air, array power, losses, cell temperature, whole chain, cold voltage."""

import math

from pvlib.pvsystem import pvwatts_losses

from quoting.sizing import sun
from quoting.sizing.brief import Site
from quoting.sizing.loads import ambient_by_hour
from quoting.sizing.policy import Policy
from tests.reference.table import Check

KLEIN = "extraterrestrial irradiation on the mean day of the month, pvlib 0.16.1"
SAPM = "pvlib 0.16.1 sapm_cell, close_mount_glass_glass"
PVWATTS = "pvlib 0.16.1 pvwatts_dc"
IWEC = "Sydney IWEC file, hour by hour, close mount, γ −0.35 %/K, losses 14.0757 %; Wh/day from 100 W"
LEFT = 1 - 0.140757


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
        )
        for ours in [lambda la=latitude, m=month: sun.extraterrestrial_kwh_m2_day(la, m)]
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
    Check("cell", "(1000 W/m², 20 °C, 1 m/s) [°C]", 69.46, SAPM, "L", lambda: sun.cell_c(1000, 20, 1)),
    Check("cell", "(800 W/m², 20 °C, 1 m/s) [°C]", 59.57, SAPM, "L", lambda: sun.cell_c(800, 20, 1)),
    Check("cell", "(500 W/m², 10 °C, 3 m/s) [°C]", 32.55, SAPM, "L", lambda: sun.cell_c(500, 10, 3)),
    # mean temperatures of the months: common climate tables, 19 to 26 °C and 8 to 17 °C
    Check("chain", "January", 509.6, IWEC, "L", lambda: _mean_day_wh(-33.87, 1, 6.60, 19.0, 26.0), 0.04),
    Check("chain", "July", 214.8, IWEC, "L", lambda: _mean_day_wh(-33.87, 7, 2.56, 8.0, 17.0), 0.04),
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
