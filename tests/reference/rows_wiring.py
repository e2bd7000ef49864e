"""Circuits against further bodies' tables and handbooks: drop, ampacity, resistance, opening times, solar factors."""

from __future__ import annotations

from collections.abc import Callable

from quoting.sizing.circuits_bond import bond_area_mm2
from quoting.sizing.circuits_feeds import SOLAR_DESIGN_RATIO
from quoting.sizing.conductor_tables import CLASS_5_OHM_PER_KM_20C
from quoting.sizing.conductors import (
    awg_mm2,
    cfr_table_a,
    conductor_ohm,
    iso10133_table_a,
    smallest_area_for_drop_mm2,
    voltage_drop_v,
)
from quoting.sizing.protection import (
    DISCONNECT_S,
    adiabatic_k,
    clears_s,
    device_rating,
    fault_current_a,
    least_rating_a,
    withstand_s,
)
from quoting.sizing.runs_devices import LEAST_INRUSH_S
from tests.reference.table import Check

FT_M = 0.3048
"""Exact. [m]"""
IDEAL_OHM_MM2_M = 17.241
"""Standard annealed copper at 20 °C, per km. [Ω·mm²/km] IEC 60028 (P)."""
K_CMIL_C = 20 + (10.75 * 5.067e-4 / FT_M / 0.017241 - 1) / 0.00393
"""Temperature at which copper has the 10.75 Ω·cmil/ft of ABYC E-11: about 29 °C. (D)"""
GAUGES = (18, 16, 14, 12, 10, 8, 6, 4, 2, 1, 0, -1, -2, -3)
BY_GAUGE = {awg_mm2(n): IDEAL_OHM_MM2_M / awg_mm2(n) for n in GAUGES}


def _row(
    topic: str, what: str, ours: Callable[[], float], value: float, within: float, source: str, mark: str
) -> Check:
    """A row in the order in which it reads here: what we make of it, then what the book says."""
    return Check(topic, what, value, source, mark, ours, within or 1e-9)


def _gauge_mm2(amps: float, loop_ft: float, limit_v: float) -> float:
    return smallest_area_for_drop_mm2(amps, loop_ft * FT_M / 2, limit_v, K_CMIL_C, BY_GAUGE)


CFR = "33 CFR 183.425 table 5"
CHECKS = [
    # uecables.com for 1 mm²; 0.5, 0.75 and 150 mm² from memory
    *(
        _row("conductor resistance", f"class 5, {area:g} mm²", lambda a=area: CLASS_5_OHM_PER_KM_20C[a], ohm, 0.0,
             "IEC 60228 table 3, class 5 plain", mark)
        for area, ohm, mark in ((0.5, 39.0, "M"), (0.75, 26.0, "M"), (1.0, 19.5, "P"), (150.0, 0.129, "M"))
    ),
    # uecables.com prints k = 250/(230 + t), the correction to 20 °C, whose coefficient is 0.004
    *(
        _row("conductor resistance", f"{t} °C by IEC 60228's correction", lambda t=t: conductor_ohm(1000, 1.0, t),
             1 / k, 0.005, "IEC 60228 annex A, temperature correction", "P")
        for t, k in ((40, 0.926), (60, 0.862), (75, 0.820), (85, 0.794), (100, 0.758))
    ),
    # another body's limit for the cable of road vehicles; ours is the milder conductor, by 4 to 6 %
    *(
        _row("conductor resistance", f"ISO 6722-1 maximum, {area:g} mm²", lambda a=area: CLASS_5_OHM_PER_KM_20C[a], ohm,
             0.06, "ISO 6722-1 table of resistances", "M")
        for area, ohm in ((0.5, 37.1), (1.5, 12.7), (2.5, 7.60), (6.0, 3.14), (16.0, 1.16), (35.0, 0.527),
                          (70.0, 0.259))
    ),
    # NEC chapter 9 table 8, stranded, uncoated, 75 °C; a lay of 2 to 3 % is in it
    *(
        _row("conductor resistance", f"NEC, AWG {n} at 75 °C",
             lambda n=n: conductor_ohm(304.8, IDEAL_OHM_MM2_M / awg_mm2(n), 75), ohm_per_kft, 0.035,
             "NEC chapter 9 table 8", "M")
        for n, ohm_per_kft in ((14, 3.14), (10, 1.24), (6, 0.491), (2, 0.194), (-1, 0.0967))
    ),
    # federal.elaws.us, title 33, section 183.425
    *(
        _row("ampacity", f"{CFR}: AWG {n}, {c} °C", lambda n=n, c=c: cfr_table_a(n, c), amps, 0.0, CFR, "P")
        for n, c, amps in ((16, 105, 25), (14, 90, 30), (12, 105, 45), (10, 105, 60), (4, 105, 160), (1, 75, 195),
                           (0, 105, 285), (-2, 105, 385))
    ),
    *(
        _row("ampacity", f"ISO 10133 A.1: {s:g} mm², {c} °C", lambda s=s, c=c: iso10133_table_a(s, c), amps, 0.0,
             "ISO 10133:2012 table A.1", "M")
        for s, c, amps in ((2.5, 105, 35), (4.0, 105, 45), (10.0, 105, 90), (16.0, 105, 130), (25.0, 105, 170),
                           (50.0, 105, 270), (95.0, 105, 390), (120.0, 105, 450))
    ),
    # two loaded PVC conductors clipped direct, 30 °C: fixed wiring, but the same copper and the same 70 °C
    *(
        _row("ampacity of a second body", f"IEC 60364-5-52 method C, {s:g} mm² PVC",
             lambda s=s: iso10133_table_a(s, 70), amps, 0.08, "IEC 60364-5-52 table B.52.2", "M")
        for s, amps in ((1.5, 19.5), (2.5, 27), (4.0, 36), (6.0, 46), (10.0, 63), (16.0, 85), (25.0, 112))
    ),
    # millivolts per ampere and metre of a two-wire DC circuit, class 2 conductors at 70 °C, rounded to two figures
    *(
        _row("drop by handbook", f"BS 7671, {s:g} mm², mV/(A·m)", lambda r=r: 1000 * voltage_drop_v(1, 1, r, 70), mv,
             0.02, "BS 7671 table 4D1B, two-core DC", "M")
        for s, r, mv in ((1.5, 12.1, 29), (2.5, 7.41, 18), (4, 4.61, 11), (6, 3.08, 7.3), (10, 1.83, 4.4),
                         (16, 1.15, 2.8), (25, 0.727, 1.75), (35, 0.524, 1.25),
                         (50, 0.387, 0.93), (70, 0.268, 0.63), (95, 0.193, 0.46))
    ),
    # its worked checks: one conductor, return by the airframe, so half of a loop; ohms per foot as printed
    *(
        _row("drop by handbook", f"AC 43.13-1B, {feet} ft of AWG {n}, 20 A",
             lambda feet=feet, r=r: voltage_drop_v(20, feet * FT_M / 2, r * 1000 / FT_M, 20), volts, 0.015,
             "FAA AC 43.13-1B table 11-8", "M")
        for n, feet, r, volts in ((6, 107, 0.00044, 0.942), (4, 90, 0.00028, 0.504), (12, 88, 0.00202, 3.60),
                                  (14, 100, 0.00306, 6.12))
    ),
    # K = 12.9 Ω·cmil/ft: 2 × 12.9 × 16 A × 100 ft / 6530 cmil; warm copper of the same gauge, without its lay
    _row("drop by handbook", "16 A, 100 ft of AWG 12 by K = 12.9",
         lambda: voltage_drop_v(16, 100 * FT_M, IDEAL_OHM_MM2_M / awg_mm2(12), 75), 6.32, 0.03,
         "NEC 210.19(A) note, K method", "M"),
    # 7.3 mV × 32 A × 30 m
    _row("drop by handbook", "32 A, 30 m of 6 mm²", lambda: voltage_drop_v(32, 30, 3.08, 70), 7.0, 0.015,
         "BS 7671 table 4D1B, by hand", "D"),
    # cells of E-11's tables in which nominal and SAE areas give the same gauge
    *(
        _row("drop table of a second body", f"E-11 {share} %: {amps} A, {loop} ft",
             lambda a=amps, loop=loop, v=v: _gauge_mm2(a, loop, v), awg_mm2(n), 0.0, "ABYC E-11, K = 10.75", "M")
        for share, v, cells in (
            (3, 0.36, ((5, 30, 12), (10, 15, 12), (10, 25, 10), (15, 40, 6), (20, 15, 10), (30, 20, 6),
                       (40, 25, 4), (50, 50, 1), (60, 15, 4), (80, 40, 0), (100, 60, -3))),
            (10, 1.2, ((5, 60, 14), (10, 40, 14), (20, 50, 10), (30, 20, 12), (50, 30, 8), (100, 80, 1))),
        )
        for amps, loop, n in cells
    ),
    *(
        _row("time-current", f"{series} at {multiple} × rating, longest",
             lambda series=series, multiple=multiple: clears_s(series, 20, 20 * multiple), t, 0.001, source, "M")
        for series, multiple, t, source in (
            ("blade_c", 1.35, 600, "ISO 8820-3"), ("blade_c", 3.5, 0.5, "ISO 8820-3"),
            ("blade_f", 2.0, 5, "ISO 8820-3"), ("blade_e", 2.0, 60, "ISO 8820-3"),
            ("blade_e", 6.0, 1, "ISO 8820-3"), ("bolt_b", 3.5, 5, "ISO 8820-4"),
            ("strip_51", 2.0, 15, "ISO 8820-5"), ("strip_51", 6.0, 1, "ISO 8820-5"),
            ("breaker", 1.45, 3600, "IEC 60898-1, conventional tripping"), ("breaker", 2.55, 120, "IEC 60898-1"),
        )
    ),
    _row("time-current", "blade_c at 2 × rating, shortest", lambda: LEAST_INRUSH_S, 0.15, 0.0, "ISO 8820-3", "M"),
    _row("time-current", "longest that a far-end fault may last", lambda: DISCONNECT_S, 5, 0.0,
         "IEC 60364-4-41, 411.3.2.3", "M"),
    # NEC 210.20 with 10 A and 23 A continuous, then the next of 6, 10, 13, 16, 20, 25, 32 A
    _row("device rating", "10 A continuous, IEC 60898 ratings",
         lambda: device_rating(10, 40, (6, 10, 13, 16, 20, 25, 32)), 13, 0, "NEC 210.20", "D"),
    _row("device rating", "least for 23 A continuous", lambda: least_rating_a(23, 1.25, 0.8), 28.75, 0,
         "NEC 210.20", "D"),
    # 9.8 A × 1.25 × 1.25 = 15.31 A
    _row("solar factors", "1.5625 of 9.8 A short-circuit current", lambda: SOLAR_DESIGN_RATIO * 9.8, 15.31, 0.002,
         "NEC 690.8(A) and 690.8(B)", "M"),
    _row("solar factors", "its device", lambda: device_rating(SOLAR_DESIGN_RATIO * 9.8 / 1.25, 30, (10, 15, 20)), 20, 0,
         "NEC 690.9(B)", "M"),
    # t = (k S / I)²
    *(
        _row("cable withstand", f"{s:g} mm², {c} °C, {amps} A",
             lambda s=s, c=c, a=amps: withstand_s(s, adiabatic_k(c), a), t, 0.01,
             "IEC 60364-4-43, 434.5.2, by hand", "D")
        for s, c, amps, t in ((10, 70, 3000, 0.1469), (16, 90, 4000, 0.3272), (1.5, 105, 500, 0.184),
                              (70, 105, 9000, 1.237))
    ),
    # IEC 61660-1 without inductance: E / (R_battery + R_loop); 25.6 V, 9 mΩ, 2 × 6 m of 16 mm² class 5 (14.52 mΩ)
    _row("short circuit", "25.6 V far end, 23.52 mΩ in all",
         lambda: fault_current_a(25.6, 0.009, 2 * conductor_ohm(6, 1.21, 20)), 1088.4, 0.001,
         "IEC 61660-1, quasi-steady without inductance, by hand", "D"),
    # voltage falls from 12.6 to 9.6 V at 200 A: 15 mΩ, 840 A into a dead short
    _row("short circuit", "battery by its cranking test", lambda: fault_current_a(12.6, (12.6 - 9.6) / 200, 0.0), 840,
         0.001, "Ohm's law on a cranking test", "D"),
    *(
        _row("bond", f"main of {main:g} mm²", lambda m=main: bond_area_mm2(m), area, 0.0,
             "IEC 60364-5-54 table 54.2", "M")
        for main, area in ((10, 10), (16, 16), (25, 16), (35, 16), (50, 25), (95, 47.5))
    ),
]  # fmt: skip
