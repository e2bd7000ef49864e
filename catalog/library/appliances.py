"""Typical power requirements. Every figure is common practice and is to be checked on the rating plate.

Columns: name, group, bus, way, use, and what differs from a resistive load that may be let go.
"""

from __future__ import annotations

from typing import Any

SOURCE = "common practice"


def _one(name: str, group: str, bus: str, way: str, use: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {"name": name, "group": group, "bus": bus, "way": way, "use": use, "values": more}


def _steady(power_w: float, hours_per_day: float, duty_ratio: float = 1.0) -> dict[str, float]:
    return {"power_w": power_w, "hours_per_day": hours_per_day, "duty_ratio": duty_ratio}


def _cooling(power_w: float, duty: float, inside_c: float, ambient_c: float = 32.0) -> dict[str, float]:
    return {"power_w": power_w, "rated_duty_ratio": duty, "rated_ambient_c": ambient_c, "inside_c": inside_c}


def _recharge(pack_wh: float, charges: float, power_w: float, efficiency: float = 0.85) -> dict[str, float]:
    return {
        "pack_wh": pack_wh,
        "charges_per_day": charges,
        "charger_efficiency_ratio": efficiency,
        "power_w": power_w,
    }


def _event(power_w: float, minutes: float, times: float) -> dict[str, float]:
    return {"power_w": power_w, "minutes": minutes, "times_per_day": times}


COMPRESSOR: dict[str, Any] = {
    "start_multiple": 3.0,
    "start_s": 0.5,
    "min_voltage_v": 10.4,
    "restart_voltage_v": 11.7,
    "essential": True,
    "critical": True,
}
"""A 12 V compressor with its own cut-out."""
PUMP: dict[str, Any] = {"start_multiple": 4.0, "start_s": 0.3, "min_voltage_v": 10.5}
MOTOR_AC: dict[str, Any] = {"start_multiple": 5.0, "start_s": 0.6, "power_factor": 0.75}
EVENING: dict[str, Any] = {"window_start_h": 18.0, "window_end_h": 23.0}
DAY: dict[str, Any] = {"window_start_h": 8.0, "window_end_h": 18.0}

APPLIANCES: list[dict[str, Any]] = [
    _one("Refrigerator 40 L, compressor", "cooling", "house", "cooling", _cooling(45, 0.30, 4), **COMPRESSOR),
    _one("Refrigerator 60 L, compressor", "cooling", "house", "cooling", _cooling(50, 0.35, 4), **COMPRESSOR),
    _one("Refrigerator 90 L, upright", "cooling", "house", "cooling", _cooling(55, 0.40, 4), **COMPRESSOR),
    _one("Refrigerator 130 L, upright", "cooling", "house", "cooling", _cooling(65, 0.42, 4), **COMPRESSOR),
    _one("Freezer 40 L, compressor", "cooling", "house", "cooling", _cooling(50, 0.50, -15), **COMPRESSOR),
    _one("Sample cooler 30 L", "field", "house", "cooling", _cooling(45, 0.35, 2), **COMPRESSOR),
    _one("Milk refrigerator 50 L", "cooling", "ac", "cooling", _cooling(90, 0.35, 3), **MOTOR_AC, essential=True),
    _one("Water pump, pressure", "water", "house", "event", _event(60, 3, 10), **PUMP),
    _one("Water pump, transfer", "water", "house", "event", _event(100, 10, 1), **PUMP),
    _one("Wash-down pump, high flow", "water", "house", "event", _event(180, 8, 6), **PUMP),
    _one("Diesel water heater", "water", "house", "event", _event(40, 20, 2), critical=True, min_voltage_v=10.5),
    _one("LED lights, living space", "light", "house", "steady", _steady(18, 4), **EVENING, shed_below_ratio=0.15),
    _one("LED awning light", "light", "house", "steady", _steady(10, 3), **EVENING, shed_below_ratio=0.3),
    _one("LED work lights, pair", "light", "house", "steady", _steady(60, 1.5), **EVENING, shed_below_ratio=0.3),
    _one("Kettle, small", "cooking", "ac", "event", _event(750, 5, 3), at_once=True),
    _one("Kettle, household", "cooking", "ac", "event", _event(1800, 3.5, 2)),
    _one("Induction hob, one ring", "cooking", "ac", "event", _event(1800, 15, 2), power_factor=0.95),
    _one(
        "Microwave oven",
        "cooking",
        "ac",
        "event",
        _event(1200, 6, 2),
        power_factor=0.9,
        start_multiple=1.5,
        start_s=0.5,
    ),
    _one("Coffee machine, pod", "cooking", "ac", "event", _event(1300, 2, 4)),
    _one("Travel oven 12 V", "cooking", "house", "event", _event(140, 45, 1), critical=True),
    _one(
        "Coffee grinder",
        "cooking",
        "ac",
        "event",
        _event(350, 0.3, 60),
        start_multiple=3.0,
        start_s=0.3,
        power_factor=0.8,
    ),
    _one("Roof fan", "air", "house", "steady", _steady(25, 6), shed_below_ratio=0.3),
    _one(
        "Diesel air heater",
        "air",
        "house",
        "steady",
        _steady(22, 6),
        start_multiple=4.5,
        start_s=60.0,
        critical=True,
        min_voltage_v=10.5,
    ),
    _one(
        "Roof air conditioner, 12 V",
        "air",
        "house",
        "steady",
        _steady(600, 2, 0.7),
        start_multiple=1.5,
        start_s=3.0,
        critical=True,
    ),
    _one("Grooming dryer", "tools", "ac", "event", _event(1400, 8, 6), **DAY, start_multiple=2.0, start_s=0.5),
    _one("Laptop, USB-C", "office", "usb", "recharge", _recharge(60, 1.5, 65)),
    _one("Laptop, mains adapter", "office", "ac", "recharge", _recharge(60, 1.5, 70), power_factor=0.6),
    _one("Telephone", "office", "usb", "recharge", _recharge(18, 1, 20)),
    _one("Tablet", "office", "usb", "recharge", _recharge(30, 0.7, 30)),
    _one("Television 24 inch, 12 V", "office", "house", "steady", _steady(30, 2.5), **EVENING, shed_below_ratio=0.4),
    _one("Label and receipt printer", "office", "house", "event", _event(40, 1, 20)),
    _one("Card terminal", "office", "usb", "recharge", _recharge(12, 1, 15)),
    _one(
        "Two-way radio, mobile",
        "radio",
        "house",
        "steady",
        _steady(12, 10, 1.0),
        essential=True,
        critical=True,
        min_voltage_v=11.0,
    ),
    _one("Mobile router", "radio", "house", "steady", _steady(9, 24), always_live=True, essential=True),
    _one("Satellite terminal", "radio", "house", "steady", _steady(60, 6), critical=True, shed_below_ratio=0.3),
    _one("Vehicle tracker", "radio", "house", "steady", _steady(0.6, 24), always_live=True, essential=True),
    _one("Drone packs", "field", "ac", "recharge", _recharge(90, 4, 120), **DAY, power_factor=0.9),
    _one("Camera batteries", "field", "usb", "recharge", _recharge(16, 3, 20)),
    _one("Survey receiver batteries", "field", "ac", "recharge", _recharge(40, 2, 45), power_factor=0.7),
    _one("Tool batteries 18 V", "tools", "ac", "recharge", _recharge(90, 3, 110), power_factor=0.7),
    _one(
        "Angle grinder 125 mm",
        "tools",
        "ac",
        "event",
        _event(1100, 2, 8),
        **DAY,
        start_multiple=3.0,
        start_s=0.4,
        power_factor=0.95,
    ),
    _one(
        "Air compressor, 12 V",
        "tools",
        "house",
        "event",
        _event(400, 8, 1),
        start_multiple=2.5,
        start_s=0.5,
        min_voltage_v=11.0,
    ),
    _one(
        "Breathing aid, with humidifier off",
        "care",
        "house",
        "steady",
        _steady(20, 8),
        window_start_h=21.0,
        window_end_h=7.0,
        essential=True,
        critical=True,
        min_voltage_v=11.0,
    ),
    _one("Medicine cooler", "care", "house", "cooling", _cooling(35, 0.30, 5), **COMPRESSOR),
    _one("Gas detector", "care", "house", "steady", _steady(1.5, 24), always_live=True, essential=True),
]
