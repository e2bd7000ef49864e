"""Conductors by the metre, terminals, and what covers them."""

# ruff: noqa: E501  (a table reads best with one entry on one line)

from __future__ import annotations

from typing import Any

from catalog.library.components.making import WICK, part

CLASS_5 = (
    (0.5, 39.0),
    (0.75, 26.0),
    (1.0, 19.5),
    (1.5, 13.3),
    (2.5, 7.98),
    (4, 4.95),
    (6, 3.30),
    (10, 1.91),
    (16, 1.21),
    (25, 0.780),
    (35, 0.554),
    (50, 0.386),
    (70, 0.272),
    (95, 0.206),
    (120, 0.161),
    (150, 0.129),
)
"""Area [mm²] and resistance at 20 °C [Ω/km]: IEC 60228 class 5, plain copper."""

SIGNAL_MM2 = (0.5, 0.75, 1.0)
"""For senders and switches only: no red or black, so that no load is ever put on them."""
OTHER_COLOURS = (("yellow", "Y"), ("brown", "N"), ("blue", "U"), ("white", "W"), ("grey", "A"), ("green", "V"))


def _cable(area: float, ohm: float, colour: str, letter: str, more: float = 0.0) -> dict[str, Any]:
    return part(
        "cable", "Ossery", f"C5-{area:g}{letter}", WICK, f"{(0.6 + 0.39 * area) * (1 + more):.2f}", round(0.0111 * area + 0.004, 3), 50, 2,
        area_mm2=float(area), insulation_c=105.0, colour=colour, ohm_per_km_20c=ohm, outside_mm=round(2 * (area**0.5) * 0.75 + 1.4, 1),
    )  # fmt: skip


def _terminals() -> list[dict[str, Any]]:
    made = []
    for area, _ohm in CLASS_5:
        studs = (4, 5, 6, 8, 10) if area <= 6 else (6, 8, 10) if area < 35 else (8, 10)
        studs = (3, 4, 5, 6, 8, 10) if area in SIGNAL_MM2 else (6, *studs) if area in (35, 50, 70, 95) else studs
        made += [
            part("terminal", "Ossery", f"RT-{area:g}-{stud}", WICK, f"{0.35 + 0.045 * area:.2f}", round(0.001 + 0.0004 * area, 4), 60, 2, area_mm2=float(area), stud_mm=float(stud), form="ring")
            for stud in studs
        ]  # fmt: skip
        if area <= 6:
            made.append(part("terminal", "Ossery", f"BT-{area:g}", WICK, "0.40", 0.001, 80, 2, area_mm2=float(area), stud_mm=0.0, form="blade"))  # fmt: skip
    return made


CONDUCTORS: list[dict[str, Any]] = [
    *[_cable(area, ohm, colour, letter) for area, ohm in CLASS_5 if area not in SIGNAL_MM2 for colour, letter in (("red", "R"), ("black", "B"))],
    *[_cable(area, ohm, "green_yellow", "G") for area, ohm in CLASS_5 if area in (2.5, 6, 16)],
    *[_cable(area, ohm, "green_yellow", "G", 0.05) for area, ohm in CLASS_5 if area in (25, 35, 50)],
    *[_cable(area, ohm, colour, letter, 0.05) for area, ohm in CLASS_5 if area <= 4 for colour, letter in OTHER_COLOURS],
    *[_cable(area, ohm, "yellow", "Y", 0.05) for area, ohm in CLASS_5 if area >= 6],
    *_terminals(),
    *[
        part("terminal", "Ossery", f"{letter}-{area:g}", WICK, cost, 0.001, 100, 2, area_mm2=float(area), stud_mm=0.0, form=form)
        for form, letter, cost, areas in (
            ("ferrule", "FE", "0.45", (0.5, 0.75, 1.0, 1.5, 2.5, 4, 6, 10, 16)),
            ("butt", "BJ", "0.55", (0.5, 0.75, 1.0, 1.5, 2.5, 4, 6)),
        )
        for area in areas
    ],
]  # fmt: skip

COVERING = [
    *[
        part("conduit", "Ossery", code, WICK, cost, mass, 40, 2, form=form, inner_mm=inner, outside_mm=outside, shrunk_mm=shrunk, max_c=hot)
        for code, cost, mass, form, inner, outside, shrunk, hot in (
            ("SP-7", "1.10", 0.02, "conduit", 7.0, 10.0, None, 105.0),
            ("SP-10", "1.40", 0.03, "conduit", 10.0, 13.0, None, 105.0),
            ("SP-14", "1.90", 0.04, "conduit", 14.0, 18.5, None, 105.0),
            ("SP-20", "2.60", 0.06, "conduit", 20.0, 25.0, None, 105.0),
            ("SP-25", "3.20", 0.075, "conduit", 25.0, 30.0, None, 105.0),
            ("SP-29", "3.80", 0.09, "conduit", 29.0, 34.5, None, 105.0),
            ("SP-37", "5.20", 0.12, "conduit", 37.0, 42.5, None, 105.0),
            ("BR-8", "1.60", 0.01, "sleeve", 8.0, None, None, 125.0),
            ("BR-20", "2.80", 0.03, "sleeve", 20.0, None, None, 125.0),
            ("HS-3", "1.50", 0.01, "heat_shrink", 3.2, None, 1.1, 110.0),
            ("HS-6", "2.10", 0.01, "heat_shrink", 6.4, None, 2.2, 110.0),
            ("HS-12", "3.40", 0.02, "heat_shrink", 12.7, None, 4.2, 110.0),
            ("HS-24", "6.20", 0.04, "heat_shrink", 24.0, None, 8.0, 110.0),
        )
    ],
    *[
        part("grommet", "Ossery", code, WICK, cost, mass, stock, 2, hole_mm=hole, inner_mm=inner, ways=ways, sheet_mm=sheet, watertight=tight, max_c=hot)
        for code, cost, mass, stock, hole, inner, ways, sheet, tight, hot in (
            ("GR-10", "0.40", 0.002, 50, 10.0, 6.5, 1, 2.0, False, 90.0),
            ("GR-16", "0.55", 0.003, 50, 16.0, 11.0, 1, 2.0, False, 90.0),
            ("GR-25", "0.80", 0.006, 40, 25.0, 19.0, 1, 2.5, False, 90.0),
            ("GR-38", "1.40", 0.01, 20, 38.0, 30.0, 1, 2.5, False, 90.0),
            ("GR-54", "2.20", 0.02, 12, 54.0, 44.0, 1, 3.0, False, 110.0),
            ("GL-20", "3.60", 0.03, 20, 20.0, 12.0, 1, 6.0, True, 100.0),
            ("GL-32", "6.80", 0.06, 10, 32.0, 21.0, 1, 8.0, True, 100.0),
            ("GL-40", "11.50", 0.1, 6, 40.0, 31.0, 1, 10.0, True, 100.0),
            ("GL-50", "16.80", 0.15, 4, 50.0, 43.0, 1, 10.0, True, 100.0),
            ("GL-ROOF", "28.00", 0.12, 6, 25.0, 7.0, 2, None, True, 100.0),
        )
    ],
]  # fmt: skip
"""What conductors run in and what they pass through. ``GL-ROOF`` takes two solar conductors through a roof."""
