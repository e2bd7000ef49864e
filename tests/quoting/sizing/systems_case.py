"""Invented systems for the tests of converters, a trailer and kept parts: the wagon's shelf, and what more it takes.

A 24 V truck has 12 V loads. A caravan has its own bank behind a tow vehicle.
"""

from __future__ import annotations

import copy
from typing import Any

from quoting.sizing.brief import read
from tests.quoting.sizing.wiring_case import battery, case, dcdc, part


def converter(
    key: str = "tarn_20", continuous_a: float = 20, cost: float = 120, peak_a: float | None = None, **change: Any
) -> dict[str, Any]:
    spec = {
        "input_nominal_v": 24, "input_min_v": 20, "input_max_v": 32, "output_v": 12.5, "continuous_a": continuous_a,
        "peak_a": peak_a or 1.5 * continuous_a, "peak_s": 2, "efficiency_ratio": 0.92, "no_load_w": 0.6,
        "isolated": False,
    }  # fmt: skip
    return part(key, "voltage_converter", cost, 0.9, **{**spec, **change})


def coupling(
    key: str = "brindle_50", pins: int = 1, pin_a: float = 50, cost: float = 60, **change: Any
) -> dict[str, Any]:
    spec = {"form": "high_current", "contacts": max(2, 2 * pins), "pins": pins, "pin_a": pin_a, "pin_ohm": 0.0004,
            "max_v": 60, "largest_mm2": 16, "dead_unhitched": ["charging"]}  # fmt: skip
    return part(key, "trailer_coupling", cost, 0.4, **{**spec, **change})


def sunny() -> dict[str, Any]:
    """The wagon in a June that has no more sun than there is at its latitude."""
    raw = case()
    raw["trip"][0]["site"]["ghi_kwh_m2_day"] = [3.0] * 12
    return raw


def truck(*more: dict[str, Any]) -> dict[str, Any]:
    """A 24 V vehicle and house bus; lights and radio want 12 V, a pump 24 V."""
    raw = sunny()
    raw["vehicle"] |= {"nominal_v": 24, "hot_idle_v": 27.0, "starter_ohm": 0.01, "cranking_v": 20.0}
    raw["wishes"] = {"system_v": 24}
    for found in raw["catalogue"]:
        if found["kind"] == "inverter":
            found["spec"] |= {"nominal_v": 24, "cutoff_v": 21.5}
        if found["kind"] == "mains_charger":
            found["spec"] |= {"output_nominal_v": 24}
    raw["catalogue"] += [
        dcdc("corrie_24", 25, 380, input_nominal_v=24, output_nominal_v=24, stop_below_v=23), converter(), *more,
    ]  # fmt: skip
    raw["loads"] = [
        {"key": "pump", "name": "Water pump", "position": "canopy",
         "use": {"way": "event", "power_w": 96, "minutes": 5, "times_per_day": 6}},
        {"key": "lights", "name": "Lights", "position": "rear", "bus": "house12",
         "use": {"way": "steady", "power_w": 48, "hours_per_day": 4}},
        {"key": "radio", "name": "Radio", "position": "canopy", "bus": "house12", "always_live": True,
         "essential": True, "start_multiple": 2, "start_s": 0.5,
         "use": {"way": "steady", "power_w": 96, "hours_per_day": 2}},
    ]  # fmt: skip
    return raw


def caravan(*more: dict[str, Any]) -> dict[str, Any]:
    """A tow vehicle and a trailer that has battery, board, charger, array and loads."""
    raw = sunny()
    raw["vehicle"]["positions"] = [
        {"key": "engine", "name": "Engine bay", "ambient_c": 70, "engine_space": True},
        {"key": "towbar", "name": "Tow bar", "ambient_c": 45},
        {"key": "drawbar", "name": "Drawbar", "ambient_c": 45, "on_trailer": True},
        {"key": "bench", "name": "Bench locker", "ambient_c": 45, "on_trailer": True},
        {"key": "rear", "name": "Galley", "ambient_c": 45, "on_trailer": True},
        {"key": "roof", "name": "Trailer roof", "ambient_c": 60, "on_trailer": True},
        {"key": "cab", "name": "Cab", "ambient_c": 50},
    ]
    raw["vehicle"]["runs"] = [
        {"a": "engine", "b": "towbar", "length_m": 6.0, "bundled": 1},
        {"a": "engine", "b": "cab", "length_m": 2.0, "bundled": 1},
        {"a": "drawbar", "b": "bench", "length_m": 2.5, "bundled": 1},
        {"a": "bench", "b": "rear", "length_m": 3.0, "bundled": 2},
        {"a": "bench", "b": "roof", "length_m": 3.0, "bundled": 2},
    ]
    raw["vehicle"]["places"] = {"starter": "engine", "battery": "bench", "board": "bench", "charger": "bench",
                                "inverter": "bench", "array": "roof", "inlet": "rear"}  # fmt: skip
    raw["vehicle"]["hitch"] = {"tow": "towbar", "trailer": "drawbar", "length_m": 1.5}
    for load in raw["loads"]:
        load["position"] = "rear"
    raw["catalogue"] += [coupling(), coupling("brindle_plug", 1, 20, 25, form="plug", pin_ohm=0.002),
                         coupling("brindle_175", 1, 175, 140, pin_ohm=0.0002), *more]  # fmt: skip
    stop = raw["trip"][0]
    raw["trip"] = [stop, {**copy.deepcopy(stop), "hitched": False}]
    return raw


def keeping(raw: dict[str, Any], *kept: tuple[str, int, str]) -> dict[str, Any]:
    """The same with parts that are kept: (part, quantity, role)."""
    return {**raw, "kept": [{"part": key, "quantity": count, "role": role} for key, count, role in kept]}


__all__ = ["battery", "caravan", "converter", "coupling", "dcdc", "keeping", "part", "read", "sunny", "truck"]
