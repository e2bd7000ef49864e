"""Tilted panels, cold cells, life by cycles and heat, sleeping to damage, a crank put back."""

from quoting.sizing import cells, charging, sun
from tests.reference.table import Check

HOURLY = "pvlib 0.16.1, its Greensboro file 723170TYA.CSV hour by hour, Hay-Davies, 30° facing south, over horizontal"
WINDOW = "lithium iron phosphate: charged from 0 to 45 °C, reduced under 10 °C"
CURVE = ((0.3, 1500.0), (0.5, 800.0), (0.8, 400.0))


def _gain(month, ghi, tilt_deg=30.0):
    return lambda: sum(sun.plane_w_m2(36.1, month, ghi, tilt_deg)) / 1000 / ghi


CHECKS = [
    Check("tilted", "March", 1.171, HOURLY, "L", _gain(3, 4.25), 0.05),
    Check("tilted", "June", 0.927, HOURLY, "L", _gain(6, 6.25), 0.02),
    Check("tilted", "July", 0.940, HOURLY, "L", _gain(7, 6.08), 0.02),
    Check("tilted", "October", 1.259, HOURLY, "L", _gain(10, 3.59), 0.05),
    Check("tilted", "January: the mean day is the safe side", 1.443, HOURLY, "L", _gain(1, 2.41), 0.10),
    Check("tilted", "flat", 1.0, "geometry", "D", _gain(3, 4.25, 0.0), 1e-9),
    Check("cold cells", "at 5 °C, of the limit", 0.5, WINDOW, "C", lambda: cells.charge_share(5, 0, 45)),
    Check("cold cells", "at 20 °C, of the limit", 1.0, WINDOW, "C", lambda: cells.charge_share(20, 0, 45)),
    Check(
        "life",
        "lead-acid at 35 °C",
        0.5,
        "lead-acid life halves per 8 to 10 K over 25 °C (IEEE 1188)",
        "M",
        lambda: cells.heat_left("flooded", 35, 10),
    ),
    Check(
        "life",
        "lead-acid at 41 °C, 8 K",
        0.25,
        "lead-acid life halves per 8 to 10 K over 25 °C (IEEE 1188)",
        "M",
        lambda: cells.heat_left("gel", 41, 8),
    ),
    Check("life", "cycles at 40 %, 1500 at 30 and 800 at 50", 1150, "line", "D", lambda: cells.cycles_at(CURVE, 0.4)),
    Check(
        "life",
        "cycles at 100 %, 400 at 80: same charge through",
        320,
        "400 × 0.8",
        "D",
        lambda: cells.cycles_at(CURVE, 1.0),
    ),
    Check(
        "sleeping",
        "100 Ah, 10 % left, 10 mA, 3 % a month [day]",
        29.53,
        "10 ÷ (0.24 + 3 ÷ 30.4375)",
        "D",
        lambda: cells.damage_days(100, 0.1, 0.01, 0.03),
    ),
    Check(
        "crank",
        "200 A for 5 s, 85 % stored, at 8 A [min]",
        2.451,
        "200 × 5 ÷ 3600 ÷ 0.85 ÷ 8 × 60",
        "D",
        lambda: charging.crank_charge(200, 5, 0.85, 8)[1],
    ),
]
