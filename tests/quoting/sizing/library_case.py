"""Briefs whose catalogue and loads are those of the starter library."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from catalog import library
from quoting.sizing.brief import Brief

EXAMPLE = Path(__file__).parents[2] / "examples" / "field_wagon.json"

LEAN = ("Refrigerator 40 L, compressor", "LED lights, living space", "Water pump, pressure", "Telephone")
STEADY = (
    "Refrigerator 60 L, compressor",
    "LED lights, living space",
    "LED strip, dimmed",
    "Water pump, pressure",
    "Roof fan",
    "Diesel air heater",
    "Laptop, USB-C",
    "Mobile router",
    "Kettle, small",
)
ROOMY = (
    "Refrigerator 130 L, upright",
    "Freezer 40 L, compressor",
    "LED lights, living space",
    "LED work lights, pair",
    "Cabin fan, small",
    "Signal booster",
    "Water pump, pressure",
    "Roof fan",
    "Diesel air heater",
    "Laptop, USB-C",
    "Satellite terminal",
    "Tool batteries 18 V",
    "Microwave oven",
)
KITCHEN = (*ROOMY, "Coffee machine, pod")
"""Nearly 3 kVA at once: more than conductors of 12 V carry; for 24 V only."""
DEMANDS = {"small": LEAN, "medium": STEADY, "large": ROOMY, "kitchen": KITCHEN}
APPLIANCES = {entry["name"]: entry for entry in library.APPLIANCES}
POSITIONS = {"light": "roof", "air": "roof", "water": "rear", "cooling": "side"}

AIRED = {"side": {"aired": True}}
"""Refrigerators stand where air passes through."""


def catalogue() -> list[dict[str, Any]]:
    """The library's components as the Brief takes them, keyed by part number."""
    return [
        {
            "key": entry["part_number"],
            "kind": entry["kind"],
            "name": entry["name"],
            "part_number": entry["part_number"],
            "spec": entry["spec"],
            "cost": entry["cost"],
            "mass_kg": entry["mass_kg"],
            "lead_days": entry["lead_days"],
        }
        for entry in library.COMPONENTS
    ]


def load(name: str) -> dict[str, Any]:
    entry = APPLIANCES[name]
    return {
        "key": name,
        "name": name,
        "bus": entry["bus"],
        "use": {**entry["use"], "way": entry["way"]},
        "position": POSITIONS.get(entry["group"], "cargo"),
        **entry["values"],
    }


def brief(system_v: int, chemistry: str, demand: str) -> Brief:
    """The field wagon's vehicle and trip, at a voltage and chemistry, with a demand made of library appliances."""
    raw = json.loads(EXAMPLE.read_text(encoding="utf-8"))
    vehicle = {**raw["vehicle"], "nominal_v": system_v, "payload_left_kg": 900.0}
    vehicle["positions"] = [{**p, **AIRED.get(p["key"], {})} for p in vehicle["positions"]]
    if system_v == 24:
        vehicle |= {
            "hot_idle_v": 25.2,
            "cranking_v": 20.8,
            "alternator_a": 110.0,
            "hot_idle_a": 60.0,
            "own_draw_a": 25.0,
        }
    raw |= {
        "title": f"{system_v} V, {chemistry}, {demand}",
        "vehicle": vehicle,
        "loads": [load(name) for name in DEMANDS[demand]],
        "wishes": {**raw["wishes"], "system_v": system_v, "chemistries": [chemistry]},
        "catalogue": catalogue(),
    }
    return Brief.model_validate_json(json.dumps(raw))
