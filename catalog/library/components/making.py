"""What every family of the invented catalogue is made with."""

from __future__ import annotations

from typing import Any

SORREL, HALT, WICK = "Sorrel Supplies", "Halt & Marrow", "Wick & Daughter"

SUPPLIERS: list[dict[str, Any]] = [
    {
        "name": SORREL,
        "contact": "Ilse Sorrel",
        "email": "orders@sorrel.example",
        "phone": "(08) 5550 0114",
        "closes_at": "16:30",
    },
    {
        "name": HALT,
        "contact": "Counter",
        "email": "counter@haltmarrow.example",
        "phone": "(08) 5550 0127",
        "closes_at": "17:00",
    },
    {"name": WICK, "contact": "Nan Wick", "email": "nan@wick.example", "phone": "(08) 5550 0138", "closes_at": "15:00"},
]

ALL_PROFILES = ["lifepo4", "agm", "gel", "flooded"]
HEAT = [[25.0, 1.0], [40.0, 0.93], [50.0, 0.82], [60.0, 0.65]]
"""Derating of chargers."""
INVERTER_HEAT = [[30.0, 1.0], [45.0, 0.92], [50.0, 0.85], [60.0, 0.6]]


def part(
    kind: str, maker: str, code: str, supplier: str, cost: str, mass_kg: float, stock: int, lead_days: int, **spec: Any
) -> dict[str, Any]:
    return {
        "kind": kind,
        "name": f"{maker} {code}",
        "maker": maker,
        "part_number": code,
        "supplier": supplier,
        "cost": cost,
        "mass_kg": mass_kg,
        "stock": stock,
        "lead_days": lead_days,
        "spec": spec,
    }
