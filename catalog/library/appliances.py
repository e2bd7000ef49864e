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
"""A compressor with its own cut-out, on 12 V; on 24 V it is to be typed anew, and a finding asks for it."""
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
    _one("Travel oven 12 V", "cooking", "house12", "event", _event(140, 45, 1), critical=True),
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
        "house12",
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
    _one("Television 24 inch, 12 V", "office", "house12", "steady", _steady(30, 2.5), **EVENING, shed_below_ratio=0.4),
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
        "house12",
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
    _one("Medicine cooler", "care", "house", "cooling", _cooling(35, 0.30, 5), **COMPRESSOR, always_live=True),
    _one("Gas detector", "care", "house", "steady", _steady(1.5, 24), always_live=True, essential=True),
    _one("Freezer 60 L, compressor", "cooling", "house", "cooling", _cooling(60, 0.52, -15), **COMPRESSOR),
    _one("Ice maker, portable", "cooling", "ac", "event", _event(120, 60, 2), **MOTOR_AC),
    _one(
        "Display refrigerator, glass door",
        "cooling",
        "ac",
        "cooling",
        _cooling(190, 0.45, 4),
        **MOTOR_AC,
        critical=True,
    ),
    _one("Waste pump, macerator", "water", "house", "event", _event(190, 2, 2), **PUMP),
    _one("Bilge and grey-water pump", "water", "house12", "event", _event(45, 3, 3), **PUMP),
    _one("Shower drain pump", "water", "house12", "event", _event(36, 6, 2), **PUMP),
    _one("Electric water heater 6 L", "water", "ac", "event", _event(850, 20, 2)),
    _one("Water purifier, ultraviolet", "water", "house12", "event", _event(25, 4, 8)),
    _one("Entry step and door light", "light", "house12", "event", _event(6, 2, 15)),
    _one("LED strip, dimmed", "light", "house12", "steady", _steady(12, 3, 0.6), **EVENING, shed_below_ratio=0.2),
    _one("Light mast, four lamps", "light", "house", "steady", _steady(240, 3), **EVENING, shed_below_ratio=0.4),
    _one("Warning beacon, amber", "light", "starter", "steady", _steady(30, 4, 0.5), **DAY, at_once=False),
    _one("Rice cooker", "cooking", "ac", "event", _event(500, 25, 1)),
    _one("Toaster, two slices", "cooking", "ac", "event", _event(850, 3, 2)),
    _one("Blender", "cooking", "ac", "event", _event(500, 1, 4), start_multiple=3.0, start_s=0.3, power_factor=0.8),
    _one("Espresso machine, one group", "cooking", "ac", "steady", _steady(1500, 8, 0.35), **DAY, essential=True),
    _one("Milk frother", "cooking", "ac", "event", _event(500, 2, 6)),
    _one("Cabin fan, small", "air", "house12", "steady", _steady(6, 8), shed_below_ratio=0.2),
    _one("Electric blanket, 12 V", "air", "house12", "steady", _steady(45, 2, 0.6), **EVENING, shed_below_ratio=0.4),
    _one("Evaporative cooler, 12 V", "air", "house12", "steady", _steady(75, 5), **DAY, shed_below_ratio=0.4),
    _one("Roof air conditioner, 230 V", "air", "ac", "steady", _steady(850, 2, 0.75), **MOTOR_AC, critical=True),
    _one("Projector, USB-C", "office", "usb", "steady", _steady(45, 2), **EVENING, shed_below_ratio=0.4),
    _one("Monitor 24 inch, USB-C", "office", "usb", "steady", _steady(22, 6), shed_below_ratio=0.3),
    _one(
        "Laser printer, small",
        "office",
        "ac",
        "event",
        _event(450, 1, 10),
        start_multiple=2.0,
        start_s=1.0,
        power_factor=0.65,
    ),
    _one("Vehicle radio and amplifier", "office", "starter", "steady", _steady(60, 3, 0.4), at_once=False),
    _one(
        "Two-way radio, base on starter bus",
        "radio",
        "starter",
        "steady",
        _steady(14, 8),
        essential=True,
        min_voltage_v=11.0,
    ),
    _one("Signal booster", "radio", "house12", "steady", _steady(14, 10), shed_below_ratio=0.2),
    _one(
        "Network recorder and four cameras",
        "radio",
        "house",
        "steady",
        _steady(28, 24),
        always_live=True,
        essential=True,
    ),
    _one("Camera, reversing", "radio", "starter", "steady", _steady(4, 2), at_once=False),
    _one(
        "Circular saw 165 mm",
        "tools",
        "ac",
        "event",
        _event(1200, 1, 15),
        **DAY,
        start_multiple=4.0,
        start_s=0.4,
        power_factor=0.95,
    ),
    _one(
        "Vacuum cleaner, workshop",
        "tools",
        "ac",
        "event",
        _event(1100, 10, 2),
        **DAY,
        start_multiple=3.0,
        start_s=0.5,
        power_factor=0.95,
    ),
    _one("Heat gun", "tools", "ac", "event", _event(1500, 4, 4), **DAY),
    _one("Soldering station", "tools", "ac", "event", _event(70, 30, 2), **DAY),
    _one(
        "Electric winch for gear",
        "tools",
        "starter",
        "event",
        _event(1200, 2, 1),
        start_multiple=3.0,
        start_s=0.5,
        at_once=False,
    ),
    _one("Tool batteries 18 V, USB-C charger", "tools", "usb", "recharge", _recharge(90, 2, 95), **DAY),
    _one("Weather station", "field", "house12", "steady", _steady(2.5, 24), always_live=True, essential=True),
    _one("Laboratory centrifuge, small", "field", "ac", "event", _event(180, 15, 4), **DAY, **MOTOR_AC),
    _one("Data logger", "field", "usb", "steady", _steady(1.5, 24), always_live=True, essential=True),
    _one("Drone packs, USB-C", "field", "usb", "recharge", _recharge(75, 4, 100), **DAY),
    _one(
        "Oxygen concentrator, portable",
        "care",
        "house",
        "steady",
        _steady(90, 8),
        essential=True,
        critical=True,
        min_voltage_v=11.5,
    ),
    _one(
        "Wheelchair lift", "care", "starter", "event", _event(900, 1, 4), start_multiple=2.5, start_s=0.5, at_once=False
    ),
    _one("Wheelchair charger", "care", "ac", "recharge", _recharge(600, 0.5, 180), power_factor=0.7, essential=True),
    _one(
        "Vaccine refrigerator 20 L", "care", "house", "cooling", _cooling(40, 0.30, 5), **COMPRESSOR, always_live=True
    ),
    _one("Instrument steriliser, small", "care", "ac", "event", _event(1100, 25, 1)),
    _one(
        "Electric gate and awning motor", "other", "house", "event", _event(150, 1, 4), start_multiple=3.0, start_s=0.4
    ),
    _one("Satellite dish, folding", "other", "house12", "event", _event(60, 2, 2), start_multiple=2.0, start_s=0.5),
    _one("Alarm and immobiliser", "other", "starter", "steady", _steady(0.5, 24), always_live=True, essential=True),
    _one("Hair dryer", "other", "ac", "event", _event(1200, 6, 1)),
    _one("Washing machine, compact", "other", "ac", "event", _event(350, 40, 0.5), **MOTOR_AC),
]
