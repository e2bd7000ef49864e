"""Fuses, their holders and breakers, each with its breaking capacity."""

# ruff: noqa: E501  (a table reads best with one entry on one line)

from __future__ import annotations

from typing import Any

from catalog.library.components.making import SORREL, part


def _fuses(
    series: str,
    prefix: str,
    ratings: tuple[float, ...],
    breaking_a: float,
    max_v: float,
    drop_v: float,
    opens_s: float,
    cost: float,
    mass: float,
) -> list[dict[str, Any]]:
    """One series; the cold resistance follows from the drop at rated current."""
    return [
        part(
            "fuse", "Ambry", f"{prefix}-{rating:g}", SORREL, f"{cost * (1 + rating / 400):.2f}", mass, 0 if breaking_a > 6000 and rating == 200 else 6, 3,
            rating_a=float(rating), breaking_a=breaking_a, series=series, max_v=max_v, resistance_ohm=round(0.7 * drop_v / rating, 7),
            min_opening_s_at_2x=opens_s,
        )
        for rating in ratings
    ]  # fmt: skip


PROTECTION = [
    *_fuses("blade_c", "FB", (1, 2, 3, 5, 7.5, 10, 15, 20, 25, 30, 40), 1000.0, 32.0, 0.11, 0.15, 0.60, 0.002),
    *_fuses("blade_e", "FX", (20, 30, 40, 50, 60, 70, 80), 1000.0, 32.0, 0.09, 2.0, 2.80, 0.008),
    *_fuses("strip_51", "FS", (40, 50, 60, 80, 100, 125, 150, 175, 200, 225, 250, 300), 2000.0, 32.0, 0.07, 1.0, 6.40, 0.02),
    *_fuses("stud", "FT", (30, 40, 50, 60, 80, 100, 125, 150, 175, 200, 225, 250, 300), 6000.0, 32.0, 0.07, 1.0, 14.00, 0.03),
    *_fuses("class_t", "HF", (20, 30, 40, 50, 60, 80, 100, 125, 150, 175, 200, 225, 250, 300, 350, 400), 20000.0, 125.0, 0.06, 1.0, 28.00, 0.18),
    part("fuse_holder", "Ambry", "HB-1", SORREL, "3.40", 0.02, 30, 3, series="blade_c", max_rating_a=40.0, ways=1, max_v=32.0),
    part("fuse_holder", "Ambry", "HB-6", SORREL, "28.00", 0.2, 6, 3, series="blade_c", max_rating_a=30.0, ways=6, max_v=32.0),
    part("fuse_holder", "Ambry", "HB-12", SORREL, "46.00", 0.35, 5, 3, series="blade_c", max_rating_a=30.0, ways=12, max_v=32.0),
    part("fuse_holder", "Ambry", "HX-1", SORREL, "9.80", 0.06, 10, 3, series="blade_e", max_rating_a=80.0, ways=1, max_v=32.0, stud_mm=6.0),
    part("fuse_holder", "Ambry", "HS-1", SORREL, "19.50", 0.12, 10, 3, series="strip_51", max_rating_a=300.0, ways=1, max_v=32.0, stud_mm=8.0),
    part("fuse_holder", "Ambry", "HT-1", SORREL, "22.00", 0.1, 8, 3, series="stud", max_rating_a=300.0, ways=1, max_v=32.0, stud_mm=8.0),
    part("fuse_holder", "Ambry", "HF-B200", SORREL, "46.00", 0.4, 4, 3, series="class_t", max_rating_a=200.0, ways=1, max_v=125.0, stud_mm=8.0),
    part("fuse_holder", "Ambry", "HF-B400", SORREL, "58.00", 0.55, 3, 3, series="class_t", max_rating_a=400.0, ways=1, max_v=125.0, stud_mm=8.0),
    *[
        part("circuit_breaker", "Ambry", f"CB-{rating}", SORREL, f"{16 + rating * 0.2:.2f}", 0.06, 6, 3, rating_a=float(rating), breaking_a=1500.0, max_v=32.0, poles=1, resistance_ohm=round(0.12 / rating, 6), min_opening_s_at_2x=2.0, isolates=False, stud_mm=6.0)
        for rating in (5, 10, 15, 20, 25, 30, 40, 50)
    ],
    *[
        part("circuit_breaker", "Ambry", f"CH-{rating}", SORREL, f"{48 + rating * 0.5:.2f}", 0.25, 3, 6, rating_a=float(rating), breaking_a=5000.0, max_v=80.0, poles=1, resistance_ohm=round(0.09 / rating, 6), min_opening_s_at_2x=4.0, isolates=True, stud_mm=8.0)
        for rating in (60, 80, 100, 125, 150)
    ],
    *[
        part("circuit_breaker", "Ambry", f"CP-{rating}", SORREL, "38.00", 0.22, 3, 6, rating_a=float(rating), breaking_a=6000.0, max_v=250.0, poles=2, resistance_ohm=round(0.2 / rating, 6), min_opening_s_at_2x=4.0, isolates=True)
        for rating in (10, 16, 20, 25, 32)
    ],
    *_fuses("blade_f", "FM", (2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30), 1000.0, 32.0, 0.11, 0.15, 0.90, 0.001),
    *_fuses("strip_30", "FR", (40, 50, 60, 80, 100, 125, 150), 1000.0, 32.0, 0.08, 1.0, 7.60, 0.01),
    *_fuses("bolt_b", "FN", (30, 40, 50, 60, 70, 80, 100, 125), 1000.0, 58.0, 0.08, 1.0, 8.20, 0.02),
    *_fuses("stud", "FT", (400, 500), 6000.0, 32.0, 0.07, 1.0, 15.00, 0.04),
    *_fuses("class_t", "HF", (450, 500, 600), 20000.0, 125.0, 0.06, 1.0, 32.00, 0.3),
    *_fuses("cartridge_38", "FC", (1, 2, 4, 6, 10, 16, 20, 25, 32), 25000.0, 440.0, 0.15, 1.0, 12.00, 0.01),
    part("fuse_holder", "Ambry", "HC-1", SORREL, "26.00", 0.07, 8, 3, series="cartridge_38", max_rating_a=32.0, ways=1, max_v=690.0),
    part("fuse_holder", "Ambry", "HM-1", SORREL, "4.60", 0.02, 12, 3, series="blade_f", max_rating_a=30.0, ways=1, max_v=32.0),
    part("fuse_holder", "Ambry", "HM-10", SORREL, "42.00", 0.25, 4, 3, series="blade_f", max_rating_a=25.0, ways=10, max_v=32.0),
    part("fuse_holder", "Ambry", "HR-1", SORREL, "21.00", 0.1, 4, 3, series="strip_30", max_rating_a=150.0, ways=1, max_v=32.0, stud_mm=6.0),
    part("fuse_holder", "Ambry", "HN-1", SORREL, "23.00", 0.1, 4, 3, series="bolt_b", max_rating_a=125.0, ways=1, max_v=58.0, stud_mm=6.0),
    part("fuse_holder", "Ambry", "HX-4", SORREL, "44.00", 0.3, 3, 3, series="blade_e", max_rating_a=80.0, ways=4, max_v=32.0, stud_mm=6.0),
    part("fuse_holder", "Ambry", "HT-500", SORREL, "38.00", 0.2, 2, 3, series="stud", max_rating_a=500.0, ways=1, max_v=32.0, stud_mm=8.0),
    part("fuse_holder", "Ambry", "HF-B600", SORREL, "96.00", 0.8, 1, 6, series="class_t", max_rating_a=600.0, ways=1, max_v=125.0, stud_mm=10.0),
    *[
        part("circuit_breaker", "Ambry", f"CH-{rating}", SORREL, f"{48 + rating * 0.5:.2f}", 0.3, 1, 6, rating_a=float(rating), breaking_a=5000.0, max_v=80.0, poles=1, resistance_ohm=round(0.09 / rating, 6), min_opening_s_at_2x=4.0, isolates=True, stud_mm=8.0)
        for rating in (200, 250)
    ],
]  # fmt: skip
