"""Converters and trailer couplings against arithmetic by hand."""

from __future__ import annotations

from catalog.kinds.capabilities import Converting, at
from quoting.sizing.converters import continuous_a, input_a, peak_of
from quoting.sizing.hitch import contact_ohm, coupling_drop_v
from quoting.sizing.needs import Behind
from tests.reference.table import Check

RADIO = Behind("radio", "Radio", 8.0, 8.0, 8.0, 0.5)
LIGHTS = Behind("lights", "Lights", 4.0, 4.0, 0.0, 0.0)
HEATED = Converting(24, 20, 32, 12.5, 20, 30, 2, 0.92, 0.6, False, ((40, 1.0), (60, 0.5)))

CHECKS = [
    # 240 W / 0.92 = 260.87 W; / 23.0 V = 11.342 A
    Check("converter", "input current, 240 W at 0.92 from 23 V", 11.342, "conservation of energy, by hand", "D",
          lambda: input_a(240, 0.92, 23.0)),
    # 144 W / 0.9 / 24 V = 6.667 A
    Check("converter", "input current, 144 W at 0.9 from 24 V", 6.6667, "conservation of energy, by hand", "D",
          lambda: input_a(144, 0.9, 24.0)),
    # 96 W + 48 W at 12 V run together; 96 W starts at twice its current
    Check("converter", "loads at once", 12.0, "96 W and 48 W at 12 V, by hand", "D",
          lambda: continuous_a((RADIO, LIGHTS))),
    Check("converter", "with the largest start", 20.0, "8 A more for the start of 96 W, by hand", "D",
          lambda: peak_of((RADIO, LIGHTS))[0]),
    # halfway between 40 °C (all of it) and 60 °C (half): 75 % of 20 A
    Check("converter", "rating at 50 °C", 15.0, "a maker's line between two points, by hand", "D",
          lambda: HEATED.continuous_a * at(HEATED.derating, 50)),
    # 2 × 2 mΩ × 30 A = 0.120 V; two pairs: half
    Check("trailer coupling", "30 A through two contacts of 2 mΩ", 0.120, "Ohm's law, by hand", "D",
          lambda: coupling_drop_v(30, 0.002)),
    Check("trailer coupling", "the same on two pairs", 0.060, "Ohm's law, by hand", "D",
          lambda: coupling_drop_v(30, 0.002, pairs=2)),
    # 50 A² × 0.2 mΩ × 2 = 1.0 W of heat in both contacts of a high-current connector
    Check("trailer coupling", "heat of 50 A in two contacts of 0.2 mΩ", 1.0, "Joule's law, by hand", "D",
          lambda: 50 * coupling_drop_v(50, 0.0002)),
    Check("trailer coupling", "resistance of two couplings in a row", 0.0016, "contacts in series, by hand", "D",
          lambda: contact_ohm(0.0004, 1, 2)),
]  # fmt: skip
