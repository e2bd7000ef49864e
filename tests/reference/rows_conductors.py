"""Conductors against published tables and worked examples."""

from __future__ import annotations

from collections.abc import Callable

from quoting.sizing.conductor_tables import CLASS_5_OHM_PER_KM_20C
from quoting.sizing.conductors import (
    ambient_factor,
    ampacity_a,
    awg_mm2,
    bundling_factor,
    cfr_table_a,
    conductor_ohm,
    iso10133_drop_v,
    iso10133_table_a,
    voltage_drop_v,
)
from tests.reference.table import Check


def _row(
    topic: str, what: str, ours: Callable[[], float], value: float, within: float, source: str, mark: str
) -> Check:
    """A row in the order in which it reads here: what we make of it, then what the book says."""
    return Check(topic, what, value, source, mark, ours, within or 1e-9)


CFR = "33 CFR 183.425 table 5"
CHECKS = [
    # IEC 60228 class 5: seen at uecables.com (1 to 120 mm²)
    *(
        _row("conductor resistance", f"class 5, {area:g} mm²", lambda a=area: CLASS_5_OHM_PER_KM_20C[a], ohm, 0.0,
              "IEC 60228 table 3, class 5 plain", "P")
        for area, ohm in ((1.5, 13.3), (2.5, 7.98), (4.0, 4.95), (6.0, 3.30), (10.0, 1.91), (16.0, 1.21), (25.0, 0.780),
                          (35.0, 0.554), (50.0, 0.386), (70.0, 0.272), (95.0, 0.206), (120.0, 0.161))
    ),
    _row("conductor resistance", "70 °C over 20 °C", lambda: conductor_ohm(1000, 1.0, 70), 1.197, 0.001,
          "IEC 60028, 0.00393/K", "P"),
    _row("conductor resistance", "90 °C over 20 °C", lambda: conductor_ohm(1000, 1.0, 90), 1.275, 0.001,
          "IEC 60028, 0.00393/K", "P"),
    # ASTM B258 as quoted by liquisearch.com
    *(
        _row("gauge", f"AWG {n}", lambda n=n: awg_mm2(n), mm2, 0.002, "ASTM B258", "P")
        for n, mm2 in ((18, 0.823), (10, 5.261), (6, 13.30), (2, 33.63), (0, 53.48), (-3, 107.2))
    ),
    # federal.elaws.us, title 33, section 183.425
    *(
        _row("ampacity", f"{CFR}: AWG {n}, {c} °C", lambda n=n, c=c: cfr_table_a(n, c), amps, 0.0, CFR, "P")
        for n, c, amps in ((18, 105, 20), (10, 75, 40), (8, 105, 80), (6, 90, 100), (2, 105, 210), (-1, 105, 330),
                           (-3, 200, 510))
    ),
    *(
        _row("ampacity", f"ISO 10133 A.1: {s:g} mm², {c} °C", lambda s=s, c=c: iso10133_table_a(s, c), amps, 0.0,
              "ISO 10133:2012 table A.1", "M")
        for s, c, amps in ((1.5, 70, 18), (6.0, 105, 60), (35.0, 90, 185), (70.0, 105, 330), (150.0, 125, 520))
    ),
    # cableyutai.com.tw: 8 AWG 105 °C, 1 to 2 / 3 / 4 to 6 / 7 to 24 conductors, and in an engine space
    *(
        _row("bundling", f"{n} conductors", lambda n=n: 80 * bundling_factor(n), amps, 0.001, "UL 1426 columns", "P")
        for n, amps in ((2, 80), (3, 56), (4, 48), (6, 48), (7, 40), (24, 40))
    ),
    _row("ampacity", "8 AWG, 105 °C, engine space, 4 bundled", lambda: ampacity_a(10, 105, 50, 4, True), 40.8, 0.001,
          f"{CFR} notes 1 and 2", "P"),
    # up.codes: ambient correction on a 30 °C base
    *(
        _row("ambient factor", f"{ti} °C insulation in {ta} °C", lambda ti=ti, ta=ta: ambient_factor(ti, ta), f, 0.01,
              "NEC 310.15(B)(1)", "P")
        for ti, ta, f in ((90, 50, 0.82), (90, 60, 0.71), (75, 50, 0.75), (75, 40, 0.88), (60, 45, 0.71))
    ),
    # worked through by hand from the formula's own constant; the loop is twice the one-way length
    *(
        _row("voltage drop", f"ISO 10133, {i} A {loop} m {s:g} mm²",
              lambda i=i, loop=loop, s=s: iso10133_drop_v(i, loop / 2, s), v, 0.002, "ISO 10133:2012 annex A", "M")
        for i, loop, s, v in ((10, 10, 2.5, 0.656), (20, 12, 6, 0.656), (15, 10, 4, 0.615), (60, 6, 25, 0.236),
                              (5, 16, 1.5, 0.875))
    ),
    *(
        _row("voltage drop", f"class 5 at {t} °C, {i} A {loop} m {s:g} mm²",
              lambda i=i, loop=loop, s=s, t=t: voltage_drop_v(i, loop / 2, CLASS_5_OHM_PER_KM_20C[s], t), v, 0.002,
              "IEC 60228 with IEC 60028", "D")
        for i, loop, s, t, v in ((10, 10, 2.5, 20, 0.798), (10, 10, 2.5, 70, 0.955), (20, 12, 6.0, 70, 0.948),
                                 (100, 3, 35.0, 70, 0.199), (8, 20, 2.5, 70, 1.528))
    ),
]  # fmt: skip
