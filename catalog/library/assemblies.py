"""Assemblies to start with: what most jobs take besides what a design chooses. Quantities are common practice.

Ties, labels on conductors, heat-shrink and conduit a design counts by itself; screws are in the sundries of a quote. So
none of these has any. What an assembly brings of mountings, warnings and glands stands in for the design's own.
"""

from __future__ import annotations

from typing import Any


def _part(name: str, each: float, per: str, *, fixed: float = 0.0, whole: bool = True) -> dict[str, Any]:
    return {"component": name, "fixed": fixed, "each": each, "per": per, "round_up": whole}


def _labour(code: str, each: float, per: str) -> dict[str, Any]:
    return {"labour": code, "fixed": 0.0, "each": each, "per": per, "round_up": False}


ASSEMBLIES: list[dict[str, Any]] = [
    {
        "name": "Grommets at metal edges",
        "what_for": "A grommet for each circuit, where metal is passed that the survey's cable runs do not tell of",
        "lines": [
            _part("Ossery GR-16", 1.0, "circuit"),
        ],
    },
    {
        "name": "Panel mounting kit",
        "what_for": "Brackets for each panel of up to 15 kg, a roof gland and a warning for every four",
        "lines": [
            _part("Stannick MT-P-Z", 1.0, "panel"),
            _part("Ossery GL-ROOF", 0.25, "panel"),
            _part("Pimbury LB-SUN", 0.25, "panel"),
        ],
    },
    {
        "name": "Battery fixing kit",
        "what_for": "A tray with straps for each battery of up to 35 kg, and the sign at its isolator",
        "lines": [
            _part("Stannick MT-B-M", 1.0, "battery"),
            _part("Pimbury LB-OFF", 0.0, "assembly", fixed=1.0),
        ],
    },
    {
        "name": "Outlet with its switch",
        "what_for": "One more 12 V outlet of 16 A where somebody asks for it, on a circuit whose device is no larger",
        "lines": [
            _part("Stannick OS-12-21", 1.0, "assembly"),
            _part("Stannick SW-R16", 1.0, "assembly"),
            _labour("fit_outlet", 1.0, "assembly"),
            _labour("fit_switch", 1.0, "assembly"),
            _labour("terminate", 4.0, "assembly"),
        ],
    },
]
