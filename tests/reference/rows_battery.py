"""Rate, temperature, bank size, resting voltage, charging time."""

from quoting.sizing import battery
from quoting.sizing.battery import TwoWells
from tests.reference.table import Check

PEUKERT = "t = H (C/(I H))^k"
PUBLISHED = "oracletutoring.ca, Peukert's law, worked example: 120 Ah at 20 h, 120 A, k 1.4"
PYSAM = "NREL-PySAM 7.1.1 BatteryStateful LeadAcid, q20 100, q10 93.2, q1 58.12 Ah, 1-minute steps"
PRADA = "PyBaMM 26.10 SPM, Prada2013, CC-CV to 3.55 V/cell, end C/20, from 20 %"
REST = "PyBaMM 26.10, Prada2013, C/200 discharge, 4 cells"
KINETIC = "Manwell and McGowan (1993), fitted to 100 Ah/20 h, 93.2 Ah/10 h, 58.12 Ah/1 h with scipy 1.17.1"

WELLS = TwoWells(capacity_ah=107.88, available_ratio=0.4474, rate_per_h=0.7840)


def _hours(capacity_ah, rate_h, current_a, exponent):
    return lambda: battery.peukert_time_h(capacity_ah, rate_h, current_a, exponent)


def _charge(current_a):
    return lambda: sum(battery.charge_time_h(100, 0.2, current_a, 0.05))


CHECKS = [
    Check("rate", "120 Ah, 120 A, k 1.4 [h]", 0.3017, PUBLISHED, "P", _hours(120, 20, 120, 1.4)),
    Check("rate", "100 Ah, 5 A, k 1.2 [h]: the H-hour form, not 14.5", 20.0, PEUKERT, "D", _hours(100, 20, 5, 1.2)),
    Check("rate", "100 Ah, 10 A, k 1.2 [h]", 8.706, PEUKERT, "D", _hours(100, 20, 10, 1.2)),
    Check("rate", "100 Ah, 20 A, k 1.2 [h]", 3.789, PEUKERT, "D", _hours(100, 20, 20, 1.2)),
    Check("rate", "200 Ah, 25 A, k 1.15 [h]", 6.973, PEUKERT, "D", _hours(200, 20, 25, 1.15)),
    Check("rate", "100 Ah at 10 h, 25 A, k 1.25 [h]", 3.181, PEUKERT, "D", _hours(100, 10, 25, 1.25)),
    Check("rate", "k of 100 Ah/20 h, 80 Ah/5 h", 1.192, PEUKERT, "D", lambda: battery.peukert_exponent(100, 20, 80, 5)),
    Check("rate", "k of 100 Ah/20 h, 60 Ah/1 h", 1.206, PEUKERT, "D", lambda: battery.peukert_exponent(100, 20, 60, 1)),
    Check("two wells", "Ah in 20 h", 100.0, KINETIC, "D", lambda: WELLS.delivered_ah(20)),
    Check("two wells", "Ah in 10 h", 93.2, KINETIC, "D", lambda: WELLS.delivered_ah(10)),
    Check("two wells", "Ah at 100 A", 53.7, KINETIC, "D", lambda: WELLS.runtime_h(100) * 100),
    Check("two wells", "Ah at 5 A", 98.2, PYSAM, "L", lambda: WELLS.runtime_h(5) * 5, 0.03),
    Check("two wells", "Ah at 9.32 A", 91.3, PYSAM, "L", lambda: WELLS.runtime_h(9.32) * 9.32, 0.03),
    Check("two wells", "Ah at 20 A", 76.3, PYSAM, "L", lambda: WELLS.runtime_h(20) * 20, 0.03),
    Check("two wells", "Ah at 58.12 A", 57.2, PYSAM, "L", lambda: WELLS.runtime_h(58.12) * 58.12, 0.03),
    Check(
        "temperature", "factor at 10 °C", 1.19, "IEEE 485 table 1", "M", lambda: battery.temperature_factor("agm", 10)
    ),
    Check(
        "temperature", "factor at 1.7 °C", 1.35, "IEEE 485 table 1", "M", lambda: battery.temperature_factor("gel", 1.7)
    ),
    Check(
        "temperature",
        "capacity left at 10 °C",
        0.834,
        "NREL-PySAM 7.1.1 LeadAcid cap_vs_temp, over 25 °C",
        "L",
        lambda: 1 / battery.temperature_factor("flooded", 10),
        0.01,
    ),
    Check(
        "temperature",
        "capacity left at 1.7 °C",
        0.744,
        "NREL-PySAM 7.1.1 LeadAcid cap_vs_temp, over 25 °C",
        "L",
        lambda: 1 / battery.temperature_factor("flooded", 1.7),
        0.01,
    ),
    Check(
        "bank",
        "62 Ah/day, 3 days, 50 %, 20 %, 80 %, 10 °C, 1.10 [Ah]",
        486.9,
        "IEEE 1013 method: 186/0.5 × 1.19 × 1.10",
        "D",
        lambda: battery.asked_lead_acid_ah(62, 3, 0.5, 0.2, 0.8, 1.19, 1.10).capacity_ah,
    ),
    Check(
        "bank",
        "140 Ah/day, 1.5 days, lithium 0.9 × 0.8, 1.05 [Ah]",
        306.25,
        "140 × 1.5 ÷ 0.9 ÷ 0.8 × 1.05",
        "D",
        lambda: battery.asked_lithium_ah(140, 1.5, 0.9, 0.8, 0.8, 1.05).capacity_ah,
    ),
    Check("voltage", "LFP, half full [V]", 13.06, REST, "L", lambda: battery.open_circuit_v("lifepo4", 0.5, 12), 0.01),
    Check("voltage", "LFP, 20 % left [V]", 12.67, REST, "L", lambda: battery.open_circuit_v("lifepo4", 0.2, 12), 0.01),
    Check(
        "voltage",
        "flooded, full [V]: 6 × (1.265 + 0.84)",
        12.63,
        "electrapk.com: cell voltage = specific gravity + 0.84",
        "P",
        lambda: battery.open_circuit_v("flooded", 1.0, 12),
        0.01,
    ),
    Check(
        "voltage",
        "flooded, half full [V]",
        12.2,
        "lists.ettus.com, table of resting voltages",
        "P",
        lambda: battery.open_circuit_v("flooded", 0.5, 12),
        0.01,
    ),
    Check("charge time", "LFP at 0.1C from 20 % [h]", 7.99, PRADA, "L", _charge(10), 0.03),
    Check("charge time", "LFP at 0.2C from 20 % [h]", 4.00, PRADA, "L", _charge(20), 0.03),
    Check("charge time", "LFP at 0.5C from 20 % [h]", 1.62, PRADA, "L", _charge(50), 0.03),
    Check("charge time", "LFP at 1C from 20 % [h]", 0.83, PRADA, "L", _charge(100), 0.06),
    Check(
        "ventilation",
        "6 cells, 100 Ah, vented, boost [m³/h]",
        0.6,
        "IEC 62485-2, Q = 0.05 n I C / 1000 with 20 mA/Ah",
        "M",
        lambda: battery.ventilation_m3_h(6, 20, 100),
    ),
]
