"""What a vehicle of a fleet came to, small enough to read a hundred at once. No money is in it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

from catalog import kinds
from catalog.kinds.capabilities import Panel
from quoting import words
from quoting.models import Design
from quoting.services import designs
from quoting.sizing.appraisal import Appraisal, Circuit
from quoting.sizing.brief import Brief

VEHICLE_VALUES = ("nominal_v", "alternator_a", "alternator_control", "payload_left_kg")


def facts_of(design: Design) -> dict[str, Any]:
    """Battery, array, mass, outlook, parts, circuits and what is wrong, of a kept design, as JSON."""
    appraisal, brief = designs.appraisal_of(design), designs.brief_of(design)
    outlook = appraisal.outlook
    return {
        "vehicle": {name: getattr(brief.vehicle, name) for name in VEHICLE_VALUES},
        "battery_ah": _value(appraisal, "battery.got_ah"),
        "array_w": _array_w(appraisal, brief),
        "days": _value(appraisal, "battery.days"),
        "mass_kg": appraisal.mass_kg,
        "dark_ratio": outlook.dark.chance_ratio if outlook else None,
        "dark_high_ratio": outlook.dark.chance_high_ratio if outlook else None,
        "warnings": sum(finding.level == "warning" for finding in appraisal.findings),
        "open": [words.shortfall_words(each) for each in appraisal.shortfalls]
        + [words.finding_words(each)[1] for each in appraisal.findings if each.level == "danger"],
        "parts": _parts(appraisal),
        "circuits": dict(_circuits(appraisal, brief)),
    }


def _value(appraisal: Appraisal, code: str) -> float | None:
    figure = appraisal.figures.get(code)
    return figure.value if figure else None


def _array_w(appraisal: Appraisal, brief: Brief) -> float | None:
    """Of the panels there are, at standard test conditions. [W]"""
    many = {part.part: part.quantity for part in appraisal.chosen if part.role == "panel"}
    found = 0.0
    for part in brief.catalogue if many else ():
        if part.key in many:
            kind = kinds.get(part.kind)
            powers = [can.power_w for can in kind.capabilities(kind.clean(part.spec)) if isinstance(can, Panel)]
            found += many[part.key] * sum(powers)
    return found or None


def _parts(appraisal: Appraisal) -> dict[str, list[list[Any]]]:
    """By role: quantity and name of each part that is there for it."""
    found: dict[str, list[list[Any]]] = {}
    for part in appraisal.chosen:
        found.setdefault(part.role, []).append([part.quantity, part.name])
    return found


def _circuits(appraisal: Appraisal, brief: Brief) -> Iterator[tuple[str, dict[str, Any]]]:
    """Circuits under a name that is the same in every vehicle: lines have keys of their own in each job."""
    place = {f"load:{load.key}": f"load:{at}" for at, load in enumerate(brief.loads)}
    seen: Counter[str] = Counter()
    for circuit in appraisal.circuits:
        plain, at, rest = circuit.key.partition("@")
        key = place.get(plain, plain) + at + rest if circuit.key else circuit.name
        seen[key] += 1
        yield (key if seen[key] == 1 else f"{key}#{seen[key]}"), _circuit(circuit)


def _circuit(circuit: Circuit) -> dict[str, Any]:
    guards = [device.rating_a for device in circuit.devices if device.what in ("fuse", "breaker")]
    return {
        "name": circuit.name,
        "run_m": circuit.run_m,
        "area_mm2": circuit.area_mm2,
        "rating_a": guards[0] if guards else None,
    }
