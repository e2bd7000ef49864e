"""Protection against standards and worked examples."""

from __future__ import annotations

from collections.abc import Callable

from quoting.sizing.conductors import conductor_ohm
from quoting.sizing.protection import (
    adiabatic_k,
    clears_s,
    device_rating,
    fault_current_a,
    parallel_ohm,
    withstand_s,
)
from tests.reference.table import Check


def _row(
    topic: str, what: str, ours: Callable[[], float], value: float, within: float, source: str, mark: str
) -> Check:
    """A row in the order in which it reads here: what we make of it, then what the book says."""
    return Check(topic, what, value, source, mark, ours, within or 1e-9)


CHECKS = [
    # 4 mΩ battery, 2 × 2 m of 35 mm² class 5 (2.216 mΩ), joints 0.5 mΩ
    _row("short circuit", "12.8 V, 6.716 mΩ in all",
          lambda: fault_current_a(12.8, 0.004, 2 * conductor_ohm(2, 0.554, 20) + 0.0005), 1906, 0.001,
          "Ohm's law on IEC 60228 values", "D"),
    # two-load test: 40 A at 12.30 V, 200 A at 11.50 V -> 5.0 mΩ, 2500 A at 12.5 V
    _row("short circuit", "two-load test of a battery", lambda: fault_current_a(12.5, 0.005, 0.0), 2500, 0.001,
          "IEC 60896-21, two-load method", "M"),
    # two parallel 3 mΩ lithium at 13.6 V behind 0.85 mΩ: about 5.8 kA
    _row("short circuit", "two 3 mΩ batteries in parallel",
          lambda: fault_current_a(13.6, parallel_ohm((0.003, 0.003)), 0.00085), 5787, 0.005, "Ohm's law", "D"),
    *(
        _row("cable withstand", f"{s:g} mm², {c} °C, {amps} A",
              lambda s=s, c=c, amps=amps: withstand_s(s, adiabatic_k(c), amps), t, 0.01, "IEC 60364-4-43, 434.5.2", "M")
        for s, c, amps, t in ((2.5, 70, 1000, 0.083), (6, 70, 1500, 0.212), (16, 70, 3000, 0.376), (35, 90, 5000, 1.00))
    ),
    _row("cable withstand", "k of PVC", lambda: adiabatic_k(70), 115, 0.0, "IEC 60364-4-43 table 43A", "P"),
    _row("cable withstand", "k of cross-linked", lambda: adiabatic_k(90), 143, 0.0, "IEC 60364-4-43 table 43A", "P"),
    *(
        _row("time-current", f"{series} at {multiple} × rating",
              lambda series=series, multiple=multiple: clears_s(series, 30, 30 * multiple), t, 0.001, source, "M")
        for series, multiple, t, source in (
            ("blade_c", 2.0, 5, "ISO 8820-3"), ("blade_c", 6.0, 0.1, "ISO 8820-3"), ("bolt_b", 2.0, 15, "ISO 8820-4"),
            ("blade_e", 3.5, 7, "ISO 8820-3"), ("breaker", 10.0, 0.1, "IEC 60898-1 type C"),
        )
    ),
    # NEC 210.20: 1.25 × 16 A = 20 A; 33 CFR 183.425: 4 mm² is at least 12 AWG, 45 A at 105 °C
    _row("device rating", "16 A continuous", lambda: device_rating(16, 45, (15, 20, 25, 30)), 20, 0,
         "NEC 210.20", "M"),
]  # fmt: skip
