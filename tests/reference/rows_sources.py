"""Inverter losses, refrigeration, chargers in the heat, engine, mains, tax."""

from decimal import Decimal

from pvlib import inverter
from scipy.optimize import brentq

from catalog.kinds.capabilities import EngineCharging, at
from quoting import money
from quoting.sizing import charging
from quoting.sizing.inverter import loss_curve
from quoting.sizing.loads import cooling_duty_ratio, refrigeration
from quoting.sizing.methods import run
from quoting.sizing.own_heat import loss_w, own_rise_k, warmed
from quoting.sizing.policy import Policy
from tests.reference.table import Check

POLYNOMIAL = "8 W + 2 % + 4 % P²/2000 at 12.0 V"
TYPE_I = "Schmidt and Sauer (1996), type I: p0 0.0145, k 0.0437"
TYPE_II = "Schmidt and Sauer (1996), type II: p0 0.0072, k 0.0345"
CARNOT = "UA 0.9 W/K, inside 4 °C, 12 and 15 K, 0.35 of the ideal cycle"
MARINE = "manualshelf.com, marine diesel data p. 83: hot 16/41/48 A, cold 24/50 A"
CHARGER = EngineCharging(12, 12, 40, 0.88, 11.5)
EXAMPLE = loss_curve(2000, 8, 1000 / 1048, 2000 / 2128)


def _kind(p0, half, full, load):
    curve = loss_curve(1000, 1000 * p0, half, full)
    return lambda: 1000 * load / curve.dc_w(1000 * load)


def _type(p0, k):
    return p0, 0.5 / (0.5 + p0 + k * 0.25), 1 / (1 + p0 + k)


TYPE_III = "Schmidt and Sauer (1996), type III: p0 0.0088, k 0.1149"
TYPES = {
    "I": (TYPE_I, 0.0145, 0.0437, {0.05: 0.774, 0.5: 0.952, 1.0: 0.945}),
    "II": (TYPE_II, 0.0072, 0.0345, {0.1: 0.930, 0.2: 0.959, 0.5: 0.969, 1.0: 0.960}),
    "III": (TYPE_III, 0.0088, 0.1149, {0.05: 0.846, 0.1: 0.910, 0.2: 0.937, 0.5: 0.930, 1.0: 0.890}),
}
PVWATTS_INVERTER = "pvlib 0.16.1 inverter.pvwatts, pdc0 1000 W, nominal 0.96"


def _pvwatts_ac(dc_w):
    return float(inverter.pvwatts(dc_w, 1000.0, 0.96))


def _like_pvwatts():
    """A curve as a catalogue would give it: draw with no load, efficiency at half and at full power."""
    no_load_w = brentq(lambda dc: inverter.pvwatts(dc, 1000.0, 0.96) - 1e-6, 1.0, 50.0)
    half_dc_w = brentq(lambda dc: _pvwatts_ac(dc) - 480.0, 300.0, 700.0)
    return loss_curve(960.0, no_load_w, 480.0 / half_dc_w, 0.96)


CHECKS = [
    *(
        Check("inverter", f"type {name} at {load:g} of full", value, source, "M", _kind(*_type(p0, k), load))
        for name, (source, p0, k, points) in TYPES.items()
        for load, value in points.items()
    ),
    *(
        Check(
            "inverter",
            f"input of {dc_w:g} W",
            dc_w,
            PVWATTS_INVERTER,
            "L",
            lambda dc=dc_w: _like_pvwatts().dc_w(_pvwatts_ac(dc)),
            0.003,
        )
        for dc_w in (50.0, 100.0, 200.0, 500.0, 750.0, 1000.0)
    ),
    Check(
        "refrigeration",
        "ideal cycle between −10 and 40 °C",
        5.26,
        "Carnot, 263.15 ÷ 50; CoolProp 8.0.0 has 77 % of it for R134a",
        "D",
        lambda: refrigeration(1.0, 25, 0, 1.0, 10, 15)[1],
    ),
    Check(
        "refrigeration",
        "energy at 43 °C over 25 °C",
        599 / 235,
        CARNOT,
        "D",
        lambda: cooling_duty_ratio(0.2174, 25, 4, 43, 12, 15) / cooling_duty_ratio(0.2174, 25, 4, 25, 12, 15),
    ),
    Check(
        "refrigeration",
        "freezer that holds 0.905 of the time at 32 °C, 1.262 at 43 °C",
        56.8 / 45,
        CARNOT,
        "D",
        lambda: cooling_duty_ratio(0.905, 32, -18, 43, 12, 15),
    ),
    # 40 A × 14.4 V × (1 ÷ 0.88 − 1) = 78.5 W; × 0.05 K/W
    Check(
        "heat",
        "rise by a 40 A charger's own losses [K]",
        3.927,
        "conservation of energy, by hand",
        "D",
        lambda: own_rise_k((), 25.0, loss_w(CHARGER, 12, Policy()), 0.05),
    ),
    # between 40 °C (all) and 60 °C (half): y = 1 − (45 + 3.927 y − 40) ÷ 40, so y = 0.875 ÷ 1.0982
    Check(
        "heat",
        "what is left of it in air of 45 °C",
        0.7968,
        "a maker's line and its own heat, by hand",
        "D",
        lambda: at(warmed(((40.0, 1.0), (60.0, 0.5)), loss_w(CHARGER, 12, Policy()), 0.05), 45.0),
    ),
    Check("inverter", "no load [A]", 0.667, POLYNOMIAL, "D", lambda: EXAMPLE.dc_w(0) / 12),
    Check("inverter", "100 W [A]", 9.18, POLYNOMIAL, "D", lambda: EXAMPLE.dc_w(100) / 12),
    Check("inverter", "500 W [A]", 43.58, POLYNOMIAL, "D", lambda: EXAMPLE.dc_w(500) / 12),
    Check("inverter", "2000 W [A]", 177.3, POLYNOMIAL, "D", lambda: EXAMPLE.dc_w(2000) / 12),
    Check("inverter", "type I at a tenth", 0.870, TYPE_I, "M", _kind(*_type(0.0145, 0.0437), 0.1)),
    Check("inverter", "type I at a fifth", 0.925, TYPE_I, "M", _kind(*_type(0.0145, 0.0437), 0.2)),
    Check("inverter", "type II at a twentieth", 0.873, TYPE_II, "M", _kind(*_type(0.0072, 0.0345), 0.05)),
    Check("refrigeration", "gain at 32 °C [W]", 25.2, CARNOT, "D", lambda: refrigeration(0.9, 32, 4, 0.35, 12, 15)[0]),
    Check("refrigeration", "COP at 32 °C", 1.687, CARNOT, "D", lambda: refrigeration(0.9, 32, 4, 0.35, 12, 15)[1]),
    Check(
        "refrigeration", "power at 43 °C [W]", 24.96, CARNOT, "D", lambda: refrigeration(0.9, 43, 4, 0.35, 12, 15)[2]
    ),
    Check(
        "refrigeration", "freezer at 25 °C [W]", 31.8, CARNOT, "D", lambda: refrigeration(0.9, 25, -18, 0.35, 12, 15)[2]
    ),
    Check(
        "refrigeration", "duty 25 → 43 °C", 0.555, CARNOT, "D", lambda: cooling_duty_ratio(0.2174, 25, 4, 43, 12, 15)
    ),
    Check(
        "refrigeration", "duty 25 → 32 °C", 0.332, CARNOT, "D", lambda: cooling_duty_ratio(0.2174, 25, 4, 32, 12, 15)
    ),
    Check(
        "refrigeration", "duty 25 → 20 °C", 0.148, CARNOT, "D", lambda: cooling_duty_ratio(0.2174, 25, 4, 20, 12, 15)
    ),
    Check(
        "alternator",
        "hot idle over hot maximum",
        16 / 48,
        MARINE,
        "P",
        lambda: Policy().alternator_hot_idle_ratio * Policy().alternator_hot_speed_ratio,
        0.15,
    ),
    Check("alternator", "hot over cold, mean", 0.745, MARINE, "P", lambda: Policy().alternator_hot_speed_ratio, 0.1),
    Check(
        "alternator",
        "40 A charger with 11.8 V left [A]",
        55.47,
        "40 × 14.4 ÷ (0.88 × 11.8)",
        "D",
        lambda: charging.charger_input(40 * 14.4, 0.88, 11.8, 0)[0],
    ),
    Check(
        "alternator",
        "and with the drop solved: V − I R [V]",
        11.8,
        "12.3547 V − 55.47 A × 10 mΩ",
        "D",
        lambda: charging.charger_input(40 * 14.4, 0.88, 12.3547, 0.01)[1],
    ),
    Check(
        "mains",
        "500 W, power factor 0.6, 230 V [A]",
        3.62,
        "S = P/PF, I = S/V",
        "D",
        lambda: charging.outlet_a(500, 1, 0.6, 230),
    ),
    Check(
        "tax",
        "contained in 110.00 at 10 %",
        10.0,
        "ATO: GST = price ÷ 11",
        "P",
        lambda: float(money.tax_inside(Decimal("110"), Decimal("0.10"))),
    ),
    Check(
        "tax",
        "contained in 23.00 at 15 %",
        3.0,
        "NZ GST Act s 19O: × 3/23",
        "P",
        lambda: float(money.tax_inside(Decimal("23"), Decimal("0.15"))),
    ),
    Check(
        "tax",
        "contained in 12.00 at 20 %",
        2.0,
        "HMRC VATREC12010: ÷ 6",
        "P",
        lambda: float(money.tax_inside(Decimal("12"), Decimal("0.20"))),
    ),
    Check(
        "tax",
        "three lines of 10.04 at 10 %, on the sum",
        3.01,
        "GST Act 1999 (Cth) s 9-90(2), first choice",
        "P",
        lambda: run("tax-on-lines", {"amounts": "10.04;10.04;10.04", "rate_ratio": "0.1"}).figure.value,
        1e-9,
    ),
    Check(
        "tax",
        "three lines of 10.04 at 10 %, each",
        3.00,
        "GST Act 1999 (Cth) s 9-90(2), second choice",
        "P",
        lambda: (
            run("tax-on-lines", {"amounts": "10.04;10.04;10.04", "rate_ratio": "0.1", "rounding": "line"}).figure.value
        ),
        1e-9,
    ),
    Check(
        "tax",
        "15 % of 1.50, an exact half disregarded",
        0.22,
        "NZ GST Act s 19O",
        "P",
        lambda: run("tax-on-lines", {"amounts": "1.5", "rate_ratio": "0.15", "half": "down"}).figure.value,
        1e-9,
    ),
]
