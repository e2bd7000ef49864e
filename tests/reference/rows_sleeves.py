"""Conduit fill and outside diameters against the tables they come from, from memory of them."""

from __future__ import annotations

import math

from quoting.sizing.sleeves_fill import Strand, disc_mm2, estimated_outside_mm, fill_limit_ratio, goes_in
from tests.reference.table import Check

INCH_MM = 25.4
TABLE_1, TABLE_4 = "NEC chapter 9 table 1", "NEC chapter 9 table 4, EMT"
ANNEX_C = "NEC annex C table C.1, THHN in EMT, areas of table 5"


def most(each_in2: float, inner_in: float) -> float:
    """Conductors of one size that a conduit takes."""
    strand = Strand("C", (each_in2 * INCH_MM**2,))
    return max(n for n in range(1, 60) if goes_in((strand,) * n, inner_in * INCH_MM))


CHECKS = [
    *(
        Check("conduit fill", f"{n} conductors", share, TABLE_1, "M", lambda n=n: fill_limit_ratio(n), 1e-9)
        for n, share in ((1, 0.53), (2, 0.31), (3, 0.40), (12, 0.40))
    ),
    # inside diameter in inches, conductors, square inches that may be filled
    *(
        Check(
            "conduit fill", f"inside {inner} in, {n} conductors", allowed, TABLE_4, "M",
            lambda inner=inner, n=n: fill_limit_ratio(n) * disc_mm2(inner * INCH_MM) / INCH_MM**2, 0.005,
        )
        for inner, n, allowed in (
            (0.622, 1, 0.161), (0.622, 2, 0.094), (0.622, 3, 0.122), (0.824, 1, 0.283), (0.824, 2, 0.165),
            (0.824, 3, 0.213), (1.049, 1, 0.458), (1.049, 2, 0.268), (1.049, 3, 0.346),
        )
    ),
    *(
        Check("conduit fill", f"{awg} AWG in {inner} in", count, ANNEX_C, "M", lambda a=area, i=inner: most(a, i), 1e-9)
        for awg, area, inner, count in ((12, 0.0133, 0.622, 9), (12, 0.0133, 0.824, 16), (10, 0.0211, 0.824, 10),
                                        (10, 0.0211, 1.049, 16), (8, 0.0366, 1.049, 9))
    ),
    *(
        Check("conduit fill", f"thin wall, {area:g} mm²", outside, "ISO 6722-1:2011, thin wall", "M",
              lambda area=area: estimated_outside_mm(area), 1e-9)
        for area, outside in ((0.5, 1.6), (1.5, 2.4), (2.5, 3.0), (4.0, 3.7), (6.0, 4.3), (10.0, 6.0), (16.0, 7.2),
                              (35.0, 10.4), (70.0, 14.4))
    ),
    # a circle of d holds pi d² / 4
    Check("conduit fill", "disc of 10 mm", math.pi * 25, "geometry", "D", lambda: disc_mm2(10.0), 1e-12),
]  # fmt: skip
