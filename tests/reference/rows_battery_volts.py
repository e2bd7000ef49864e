"""Constants of the kinetic model, resistance by cold and age, compensated set-points, cut-outs by voltage."""

from quoting.sizing import battery_volts as volts
from quoting.sizing.battery_wells import wells_through
from quoting.sizing.cutouts import stops_at_ratio
from tests.reference.table import Check

FITTED = "Manwell and McGowan (1993), fitted to 100 Ah/20 h, 93.2 Ah/10 h, 58.12 Ah/1 h with scipy 1.17.1"
CRANKING = "trade's table of cranking power: 65 % left at 0 °C, 40 % at -18 °C"
COMPENSATION = "lead-acid, -3 to -5 mV a cell and kelvin: 30 mV a cell for 10 K at float"
SLOW = "PyBaMM 26.10, Prada2013, C/200 discharge, 4 cells"

LOADED = "PyBaMM 26.10, Prada2013 of 2.3 Ah, half full, 4 cells; resistance from its first and last rate"
LOADED_LEAD = "PyBaMM 26.10, lead_acid.Full, Sulzer2019 of 17 Ah, half way; resistance from its first and last rate"
LITHIUM_OHM, LEAD_OHM = (13.05 - 12.66) / (2.3 - 0.115), (12.15 - 11.74) / (17 - 0.85)
"""Slope of the library's own voltage over current. [Ω]"""

WELLS = wells_through(((20.0, 100.0), (10.0, 93.2), (1.0, 58.12)))


def _rests(left):
    return lambda: volts.open_circuit_v("lifepo4", left, 12)


def _under(chemistry, amps):
    ohm = LITHIUM_OHM if chemistry == "lifepo4" else LEAD_OHM
    return lambda: volts.terminal_v(chemistry, 0.5, 12, amps, ohm)


CHECKS = [
    Check("two wells", "constant k [1/h]", 0.7840, FITTED, "D", lambda: WELLS.rate_per_h),
    Check("two wells", "width c", 0.4474, FITTED, "D", lambda: WELLS.available_ratio),
    Check("two wells", "both wells [Ah]", 107.88, FITTED, "D", lambda: WELLS.capacity_ah),
    Check(
        "resistance",
        "cranking power left at 0 °C",
        0.65,
        CRANKING,
        "C",
        lambda: 1 / volts.resistance_ratio("flooded", 0),
        0.02,
    ),
    Check(
        "resistance",
        "cranking power left at -18 °C",
        0.40,
        CRANKING,
        "C",
        lambda: 1 / volts.resistance_ratio("flooded", -18),
        0.12,
    ),
    Check(
        "resistance",
        "lithium at 0 °C over 25 °C, 20 kJ/mol",
        2.092,
        "exp(20000/8.314 (1/273.15 - 1/298.15)), law of Arrhenius",
        "D",
        lambda: volts.resistance_ratio("lifepo4", 0),
    ),
    Check(
        "resistance",
        "worn to 80 %",
        1.5,
        "IEEE 1188: 30 to 50 % over its first value",
        "M",
        lambda: volts.aged_ratio(0.8),
    ),
    Check(
        "set-point",
        "float of six cells, 13.5 V, ten kelvin colder [V]",
        13.68,
        COMPENSATION,
        "M",
        lambda: volts.compensated_v(13.5, 6, -3.0, 15),
    ),
    Check(
        "set-point",
        "absorption of six cells, 14.4 V, at 40 °C, -5 mV [V]",
        13.95,
        "14.4 - 6 × 5 mV × 15 K",
        "D",
        lambda: volts.compensated_v(14.4, 6, -5.0, 40),
    ),
    *(
        Check("voltage", f"LFP, {left:.0%} left [V]", value, SLOW, "L", _rests(left), 0.006)
        for left, value in ((0.95, 13.26), (0.9, 13.26), (0.8, 13.24), (0.7, 13.09), (0.4, 13.01), (0.3, 12.82))
    ),
    Check("voltage", "LFP, 10% left [V]", 11.91, SLOW, "L", _rests(0.1), 0.006),
    Check("voltage", "LFP, 5% left [V]", 11.14, SLOW, "L", _rests(0.05), 0.006),
    *(
        Check(
            "voltage under load", f"LFP, 2.3 Ah at {amps:g} A [V]", value, LOADED, "L", _under("lifepo4", amps), 0.003
        )
        for amps, value in ((0.23, 13.03), (0.46, 12.99), (1.15, 12.88), (2.3, 12.66))
    ),
    *(
        Check(
            "voltage under load",
            f"flooded, 17 Ah at {amps:g} A [V]",
            value,
            LOADED_LEAD,
            "L",
            _under("flooded", amps),
            0.008,
        )
        for amps, value in ((0.85, 12.15), (1.7, 12.12), (3.4, 12.06), (8.5, 11.91), (17.0, 11.74))
    ),
    Check(
        "cut-out",
        "AGM, 11 V, 0.4 V on the way, 100 A through 8 mohm: rests at 12.2 V",
        0.35,
        "between 12.1 V at a quarter and 12.35 V at half",
        "D",
        lambda: stops_at_ratio(volts.bank_curve("agm", 12), 11.0, 0.4, 100.0, 0.008) or 0.0,
    ),
]
