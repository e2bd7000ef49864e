"""Inverter losses, refrigeration, engine, mains, tax."""

from decimal import Decimal

from quoting import money
from quoting.sizing import charging
from quoting.sizing.inverter import loss_curve
from quoting.sizing.loads import cooling_duty_ratio, refrigeration
from quoting.sizing.methods import run
from quoting.sizing.policy import Policy
from tests.reference.table import Check

POLYNOMIAL = "8 W + 2 % + 4 % P²/2000 at 12.0 V"
TYPE_I = "Schmidt and Sauer (1996), type I: p0 0.0145, k 0.0437"
TYPE_II = "Schmidt and Sauer (1996), type II: p0 0.0072, k 0.0345"
CARNOT = "UA 0.9 W/K, inside 4 °C, 12 and 15 K, 0.35 of the ideal cycle"
MARINE = "manualshelf.com, marine diesel data p. 83: hot 16/41/48 A, cold 24/50 A"
EXAMPLE = loss_curve(2000, 8, 1000 / 1048, 2000 / 2128)


def _kind(p0, half, full, load):
    curve = loss_curve(1000, 1000 * p0, half, full)
    return lambda: 1000 * load / curve.dc_w(1000 * load)


def _type(p0, k):
    return p0, 0.5 / (0.5 + p0 + k * 0.25), 1 / (1 + p0 + k)


CHECKS = [
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
