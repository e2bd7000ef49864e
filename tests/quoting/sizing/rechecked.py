"""A wiring checked again, written for reading: every rule that nothing overrides, by sums of its own.

Only the published tables and the opening times of devices are shared with the sizing.
"""

from __future__ import annotations

import math
from collections import defaultdict
from itertools import pairwise

from quoting.sizing.appraisal import Circuit, Device
from quoting.sizing.brief import Brief
from quoting.sizing.circuits import Wiring
from quoting.sizing.conductor_tables import CFR_ENGINE_SPACE, CFR_TABLE_5, ISO_10133_A1, ISO_10133_ENGINE_SPACE
from quoting.sizing.conductors import awg_mm2
from quoting.sizing.protection import clears_s

FED_AT_BOTH = {"engine_feed", "charger_output", "controller_output", "mains_output"}
UNLOADED = {"sense", "negative_bond"}
ROUNDING = 0.02


def broken(brief: Brief, wiring: Wiring) -> list[str]:
    """Every rule that a circuit breaks; empty when the wiring is right."""
    bad: list[str] = []
    shelf = {p.key: p.spec for p in brief.catalogue}
    lying = {x.circuit: x for x in brief.existing}
    together = loaded_together(brief, wiring)
    for c in wiring.circuits:
        if c.role in UNLOADED:
            continue
        bad += [f"{c.tag} {c.name}: {said}" for said in _conductor(brief, shelf, lying, c, together[c.key])]
        bad += [f"{c.tag} {c.name}: {said}" for said in _devices(brief, shelf, lying, c)]
        bad += [f"{c.tag} {c.name}: {said}" for said in _volts(brief, c)]
        bad += [f"{c.tag} {c.name}: {said}" for said in _fault(brief, c)]
        bad += [f"{c.tag} {c.name}: {said}" for said in _return(brief, c)]
    return bad


def loaded_together(brief: Brief, wiring: Wiring) -> dict[str, int]:
    """Conductors that heat each circuit along its way: survey or design, those of little current left out.

    A conductor that carries no more than 30 % of what it could among all of them heats no other. IEC 60364-5-52 523.5.
    """
    ways: dict[frozenset[str], list[Circuit]] = defaultdict(list)
    for c in wiring.circuits:
        for pair in pairwise(c.passes):
            if c.role not in UNLOADED:
                ways[frozenset(pair)].append(c)
    surveyed = {frozenset((r.a, r.b)): r.bundled for r in brief.vehicle.runs}
    found: dict[str, int] = defaultdict(lambda: 1)
    for way, there in ways.items():
        close = [c for c in there if c.crosses_hitch or c.area_mm2 < brief.policy.laid_apart_mm2]
        every = sum(_wires(c) for c in close)
        heavy = [c for c in close if c.current_a > 0.3 * c.ampacity_a / bundle(c.bundled) * bundle(every)]
        for c in there:
            others = sum(_wires(x) for x in heavy if x is not c) if c in close else 0
            found[c.key] = max(found[c.key], others + _wires(c), surveyed.get(way, 1))
    return found


def _wires(c: Circuit) -> int:
    return 1 if c.return_by == "chassis" else 2


def bundle(conductors: int) -> float:
    """33 CFR 183.425 table 5 note 2: 4 to 6 loaded conductors 0.6, 7 to 24 0.5, 25 and more 0.4; 3 by NEC 0.7 (M)."""
    return (
        1.0
        if conductors <= 2
        else 0.7
        if conductors == 3
        else 0.6
        if conductors <= 6
        else 0.5
        if conductors <= 24
        else 0.4
    )


def carries_a(area: float, insulation: float, air: float, conductors: int, engine: bool) -> float:
    """The lower of both tables at the next smaller size and class, x air, x bundle."""
    iso_class = sum(insulation >= c for c in (60, 70, 85, 105, 125, 200)) - 1
    cfr_class = sum(insulation >= c for c in (60, 75, 80, 90, 105, 125, 200)) - 1
    iso = ISO_10133_A1[max(a for a in ISO_10133_A1 if a <= area + 1e-9)][iso_class]
    cfr = CFR_TABLE_5[min(n for n in CFR_TABLE_5 if awg_mm2(n) <= area + 1e-9)][cfr_class]
    heat = min(1.0, math.sqrt(max(insulation - air, 0.0) / (insulation - 30)))
    iso_heat = min(heat, ISO_10133_ENGINE_SPACE[iso_class]) if engine else heat
    cfr_heat = min(heat, CFR_ENGINE_SPACE[cfr_class]) if engine else heat
    return min(iso * iso_heat, cfr * cfr_heat) * bundle(conductors)


def _conductor(brief: Brief, shelf: dict, lying: dict, c: Circuit, together: int) -> list[str]:
    bad = []
    spots = {p.key: p for p in brief.vehicle.positions}
    air = max(spots[key].ambient_c for key in c.passes)
    engine = any(spots[key].engine_space for key in c.passes)
    carries = carries_a(c.area_mm2, c.insulation_c, air, together, engine)
    if c.bundled < together:
        bad.append(f"lies among {together} loaded conductors, designed for {c.bundled}")
    if c.ampacity_a > carries + ROUNDING:
        bad.append(f"said to carry {c.ampacity_a} A, carries {carries:.2f} A")
    if c.current_a > carries + ROUNDING:
        bad.append(f"{c.current_a} A on a conductor of {carries:.2f} A")
    if c.insulation_c <= air:
        bad.append("insulation cooler than the air")
    made_of = lying[c.key] if c.stays else shelf[c.conductor]
    if c.stays:
        if (made_of.area_mm2, made_of.insulation_c) != (c.area_mm2, c.insulation_c):
            bad.append("stays, but is not what lies there")
    elif (made_of["area_mm2"], made_of["insulation_c"], made_of["colour"]) != (c.area_mm2, c.insulation_c, c.colour):
        bad.append("is not its part of the catalogue")
    if c.negative:
        back = shelf[c.negative]
        if back["area_mm2"] < c.area_mm2 or back["insulation_c"] < c.insulation_c or back["colour"] == c.colour:
            bad.append("its return is thinner, cooler or of the positive's colour")
    return bad


def protecting(c: Circuit) -> list[Device]:
    return [d for d in c.devices if d.what in ("fuse", "breaker")]


def _devices(brief: Brief, shelf: dict, lying: dict, c: Circuit) -> list[str]:
    bad, ends = [], {d.end for d in protecting(c)}
    both = c.role in FED_AT_BOTH or (c.role == "battery_main" and c.target == "W4")
    if both and ends != {"source", "load"}:
        bad.append(f"a source at each end, devices at {sorted(ends)}")
    if not ends:
        bad.append("no device")
    for d in protecting(c):
        if d.rating_a > c.ampacity_a + ROUNDING:
            bad.append(f"{d.rating_a} A over its conductor's {c.ampacity_a} A")
        # 1.56 of an array already holds 1.25 for the device. NEC 690.8, 690.9 (P)
        left = 1.0 if c.role == "solar_array" else brief.policy.fuse_temperature_ratio
        if d.rating_a * left < c.current_a - ROUNDING:
            bad.append(f"{d.rating_a} A opens at {c.current_a} A in its heat")
        least = brief.policy.unknown_battery_breaking_a if d.fault_a is None else d.fault_a
        if d.breaking_a is None or d.breaking_a < least:
            bad.append(f"breaks {d.breaking_a} A of {least} A")
        if d.distance_m > brief.policy.place_m:
            bad.append("a device too far from its source")
        if not d.stays and shelf[d.part]["rating_a"] != d.rating_a:
            bad.append("a device that is not its part of the catalogue")
        if d.stays and lying[c.key].rating_a != d.rating_a:
            bad.append("a device that is not what is there")
        if c.pins_a is not None and d.rating_a > c.pins_a + ROUNDING:
            bad.append("a device over the coupling's pins")
    if c.role == "solar_array":
        panel = next(shelf[n.part] for n in brief_chosen(brief, shelf))
        if any(d.rating_a > panel["max_series_fuse_a"] for d in protecting(c)):
            bad.append("over the module's series fuse")
    for d in c.devices:
        if d.what == "isolator" and d.rating_a < max(x.rating_a for x in protecting(c)):
            bad.append("an isolator that its device does not protect")
    return bad


def brief_chosen(brief: Brief, shelf: dict) -> list:
    """Panels of the catalogue, the strictest first."""
    panels = [p for p in brief.catalogue if p.kind == "solar_panel"]
    return sorted((type("P", (), {"part": p.key}) for p in panels), key=lambda p: shelf[p.part]["max_series_fuse_a"])


def _volts(brief: Brief, c: Circuit) -> list[str]:
    """At least what the conductors at their heat lose; at most the limit; the appliance's lowest voltage kept."""
    bad = []
    flows = c.current_a if c.drop_a is None else c.drop_a
    warm = c.ambient_c + (c.insulation_c - c.ambient_c) * min(flows / c.ampacity_a, 1.0) ** 2
    copper = _wires(c) * flows * c.run_m / 58 / c.area_mm2 * (1 + 0.00393 * (warm - 20))
    if c.drop_v < copper * 0.97 - 0.001:
        bad.append(f"said to lose {c.drop_v} V, copper alone loses {copper:.3f} V")
    settled = next((float(x.after) for x in c.changed if x.field == "drop_limit_ratio"), None)
    most = settled or max(brief.policy.drop_critical_ratio, brief.policy.drop_other_ratio)
    if c.drop_ratio > c.drop_limit_ratio + 1e-5 or c.drop_limit_ratio > max(most, 1e-9) + 1e-9:
        bad.append(f"loses {c.drop_ratio}, limit {c.drop_limit_ratio}, allowed {most}")
    for load in brief.loads:
        least_v = load.min_voltage_v if load.bus == "house" and load.key in c.loads else None
        if c.role == "load" and least_v is not None and c.voltage_v < least_v:
            bad.append(f"{load.name} gets {c.voltage_v} V of {least_v} V")
    return bad


def _fault(brief: Brief, c: Circuit) -> list[str]:
    """A far-end fault ends in 5 s; neither it nor the largest heats the conductor too far.

    Not so where the source limits itself to what the conductor carries for good: arrays, and converters.
    """
    if c.role in ("solar_array", "converter_output") or (c.fault_a is not None and c.ampacity_a >= c.fault_a):
        return []
    bad = []
    k = 143.0 if c.insulation_c >= 90 else 115.0 if c.insulation_c >= 70 else 103.0
    for d in protecting(c):
        series = "breaker" if d.what == "breaker" else d.series if d.series != "breaker" else "fuse"
        largest = brief.policy.unknown_battery_breaking_a if c.fault_a is None else c.fault_a
        for fault in (largest, c.fault_end_a or 0.0):
            if fault > 0 and fault**2 * clears_s(series, d.rating_a, fault) > (k * c.area_mm2) ** 2 * 1.001:
                bad.append(f"{fault} A heats it too far")
        if clears_s(series, d.rating_a, c.fault_end_a or 0.0) > 5.01:
            bad.append("a far-end fault lasts more than 5 s")
    return bad


def _return(brief: Brief, c: Circuit) -> list[str]:
    if c.return_by == "conductor":
        return []
    side = {p.key: p.on_trailer for p in brief.vehicle.positions}
    on_trailer, own = side[c.from_position], "starter" if c.key.endswith("@starter") else "battery"
    body = brief.vehicle.trailer_body if on_trailer else brief.vehicle.body
    allowed = brief.policy.chassis_return_allowed and body == "steel" and c.role == "load" and not c.crosses_hitch
    bonded = side[brief.vehicle.places[own]] == on_trailer
    return [] if allowed and bonded else ["returns through the body"]
