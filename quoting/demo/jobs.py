"""What the demo's customers want to run, where they go, and how far each job has come."""

from __future__ import annotations

from typing import Any


def steady(name: str, power_w: float, hours: float, **more: Any) -> dict[str, Any]:
    return {
        "name": name,
        "way": "steady",
        "use": {"power_w": power_w, "hours_per_day": hours, "duty_ratio": 1.0},
        **more,
    }


def cools(name: str, power_w: float, duty: float, inside_c: float = 4.0, **more: Any) -> dict[str, Any]:
    use = {"power_w": power_w, "rated_duty_ratio": duty, "rated_ambient_c": 25.0, "inside_c": inside_c}
    fixed = {"essential": True, "always_live": True, "start_multiple": 4.0, "start_s": 0.5}
    return {"name": name, "way": "cooling", "use": use, "min_voltage_v": 10.4, **fixed, **more}


def recharge(name: str, pack_wh: float, charges: float, power_w: float, **more: Any) -> dict[str, Any]:
    use = {
        "pack_wh": pack_wh,
        "charges_per_day": charges,
        "charger_efficiency_ratio": 0.86,
        "power_w": power_w,
    }
    return {"name": name, "way": "recharge", "use": use, **more}


def event(name: str, power_w: float, minutes: float, times: float, **more: Any) -> dict[str, Any]:
    use = {"power_w": power_w, "minutes": minutes, "times_per_day": times}
    return {"name": name, "way": "event", "use": use, **more}


EVENING = {"window_start_h": 18.0, "window_end_h": 23.0}

CAMPER: dict[str, Any] = {"behind": "Kitchen", "circuit": "Camper"}
"""On the trailer, in one circuit: each that crosses the drawbar takes pins of the coupling."""

JOBS: tuple[dict[str, Any], ...] = (
    {
        "vehicle": "trailer",
        "title": "Coffee van, market days",
        "enquiry": "Grinder, pump, cold milk and lights from six to two, no generator noise.",
        "travellers": "two people",
        "until": "delivered",
        "wishes": {"autonomy_days": 1.0, "solar_share_ratio": 0.5},
        "lines": (
            cools("Milk refrigerator, 60 L", 55, 0.32, at="Kitchen"),
            event("Water pump", 60, 2, 30, at="Kitchen", start_multiple=3.0, start_s=0.3, bus="house"),
            event("Grinder", 280, 0.5, 80, bus="ac", at="Kitchen", power_factor=0.8, start_multiple=2.5, start_s=0.5),
            steady("Counter lights", 24, 6, at="Rear", window_start_h=6.0, window_end_h=14.0),
            steady("Card terminal and router", 14, 9, at="Kitchen", window_start_h=5.0, window_end_h=15.0),
        ),
        "stops": ({"like": "Birchip", "month": 7, "days": 2, "driving_h_per_day": 0.7, "mains_h_per_day": 10.0},),
    },
    {
        "vehicle": "van",
        "title": "Mobile dog-wash van",
        "enquiry": "Pump, water heater controls, dryer, two fridges of nothing but towels. Home every night.",
        "travellers": "one person",
        "until": "in_build",
        "wishes": {"autonomy_days": 1.0, "solar_share_ratio": 0.3},
        "lines": (
            event("Wash pump", 110, 6, 10, at="Rear", start_multiple=3.0, start_s=0.4),
            event("Dryer", 900, 5, 8, bus="ac", at="Rear", start_multiple=2.0, start_s=0.5),
            steady("Work lights", 36, 5, at="Rear", window_start_h=7.0, window_end_h=19.0),
            steady("Extractor fan", 28, 6, at="Rear", window_start_h=7.0, window_end_h=19.0),
            recharge("Clipper packs", 24, 6, 45, at="Kitchen", shed_below_ratio=0.3),
            steady("Router and booking tablet", 9, 10, at="Cabin", always_live=True),
        ),
        "stops": ({"like": "Birchip", "month": 6, "days": 1, "driving_h_per_day": 1.6, "mains_h_per_day": 12.0},),
    },
    {
        "vehicle": "wagon",
        "title": "Geologist’s field wagon",
        "enquiry": "Four to five days out, drone flights morning and evening, samples kept cold.",
        "travellers": "two people",
        "until": "quoted",
        "wishes": {"autonomy_days": 1.5, "solar_share_ratio": 0.6},
        "assemblies": {"Outlet with its switch": 2},
        "lines": (
            cools("Refrigerator-freezer, 60 L", 58, 0.36, at="Tailgate"),
            cools("Sample cooler, 22 L", 42, 0.24, at="Tailgate"),
            steady("Satellite terminal", 38, 5, at="Cabin", shed_below_ratio=0.2),
            recharge("Laptops, two", 72, 2, 90, at="Cabin", shed_below_ratio=0.2, **EVENING),
            recharge("Survey drone packs", 77, 3, 120, bus="ac", at="Tailgate", shed_below_ratio=0.3, **EVENING),
            recharge("Camera packs", 16, 3, 20, at="Tailgate", shed_below_ratio=0.3, **EVENING),
            steady("Position base and radio", 9, 8, at="Cabin"),
            event("Kettle", 750, 6, 2, bus="ac", at="Tailgate", shed_below_ratio=0.3),
            event("Shower pump", 55, 4, 2, at="Tailgate", start_multiple=3.0, start_s=0.3),
            steady("Camp and cargo lights", 22, 4, at="Tailgate", **EVENING),
        ),
        "stops": (
            {"like": "Coonamble", "month": 7, "days": 4, "driving_h_per_day": 2.0, "shade_ratio": 0.1},
            {"like": "Birchip", "month": 7, "days": 2, "driving_h_per_day": 4.0, "mains_h_per_day": 10.0},
        ),
    },
    {
        "vehicle": "family",
        "trailer": "camper",
        "title": "Touring wagon and camper, school holidays",
        "enquiry": "Fridges in car and camper, lights for the children, phones; the car goes on day trips.",
        "travellers": "two adults, two children",
        "until": "surveyed",
        "wishes": {"autonomy_days": 2.0, "chemistries": ["agm", "lifepo4"], "mains_charging": True},
        "lines": (
            cools("Refrigerator, 45 L", 45, 0.3, at="Tailgate"),
            steady("Camp lights", 18, 4, at="Tailgate", **EVENING),
            recharge("Telephones, four", 15, 4, 20, at="Cabin", **EVENING),
            recharge("Camera packs", 16, 2, 20, at="Cabin", **EVENING),
            cools("Camper refrigerator, 60 L", 50, 0.32, **CAMPER),
            steady("Camper lights", 20, 4, always_live=True, **CAMPER, **EVENING),
            event("Water pump", 50, 3, 4, always_live=True, start_multiple=3.0, start_s=0.3, **CAMPER),
        ),
        "stops": (
            {"like": "Emerald", "month": 7, "days": 8, "driving_h_per_day": 0.3, "shade_ratio": 0.3},
            {"like": "Emerald", "month": 10, "days": 2, "driving_h_per_day": 2.0, "hitched": False},
        ),
    },
    {
        "vehicle": "truck1",
        "title": "Tree-survey truck 1",
        "enquiry": "Twenty-four alike. Instruments, radio, tablets; lights at dusk; starts every morning.",
        "travellers": "a crew of two",
        "until": "accepted",
        "wishes": {"autonomy_days": 1.0, "solar_share_ratio": 0.5, "mains_charging": False, "shore_inlet": False},
        "package": "Tree-survey truck, 24 V",
        "lines": (
            cools("Crew refrigerator, 40 L", 50, 0.28, at="Body, work area", min_voltage_v=21.0),
            steady("Laser instrument", 60, 4, at="Body, work area", window_start_h=7.0, window_end_h=17.0),
            steady("Radio", 20, 9, at="Cabin", critical=True, window_start_h=6.0, window_end_h=18.0),
            steady("Work lights", 72, 1.5, at="Body, work area", **EVENING),
            recharge("Instrument packs", 98, 4, 120, bus="ac", at="Body, work area", shed_below_ratio=0.3, **EVENING),
        ),
        "stops": ({"like": "Birchip", "month": 6, "days": 5, "driving_h_per_day": 2.0, "shade_ratio": 0.3},),
    },
)
