"""One run designed: the smallest conductor and the smallest device that meet every rule of a circuit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from catalog.kinds.capabilities import Conducting, Isolating, Protecting
from quoting.sizing import conductors, protection
from quoting.sizing.appraisal import Circuit, Device, Shortfall
from quoting.sizing.parts import Able, Catalogue, short
from quoting.sizing.policy import Policy
from quoting.sizing.protection import Supply
from quoting.sizing.runs_ask import Ask, Picked
from quoting.sizing.runs_devices import devices_for, holder_for, series_of
from quoting.sizing.runs_steps import steps_of
from quoting.sizing.topology import Way

POSITIVE, NEGATIVE = ("red",), ("black", "yellow")
"""Conductor colours by polarity. ISO 10133:2012, 6."""

LUG_OHM = 0.00002
"""One bolted joint, clean and torqued. [Ω] C"""

PLUG_JOINTS_TO_A = 20.0
"""Up to here the policy's resistance of joints holds; joints for more current lose no more volts than at this. [A] C"""

MOST_FAULT_S = 3600.0
"""A fault that no device ends is reckoned as this long. [s]"""

COLD_C = 20.0
"""Conductor temperature of the largest fault. [°C]"""


@dataclass(frozen=True, slots=True)
class Designed:
    """A run with its circuit (tags still to be given) and its resistance for what lies behind."""

    ask: Ask
    circuit: Circuit
    cold_ohm: float
    """Loop and devices, cold, no joints: the largest fault behind it. [Ω]"""
    hot_ohm: float
    """Loop at the loaded conductor, devices and joints. [Ω]"""

    def strong(self, ask_supply: Supply) -> Supply:
        return ask_supply.behind(self.cold_ohm)

    def weak(self, ask_supply: Supply) -> Supply:
        return ask_supply.behind(self.hot_ohm)


@dataclass(frozen=True, slots=True)
class Trial:
    """One cable tried for a run, with every figure of the verdict."""

    cable: Able[Conducting]
    ampacity_a: float
    least_a: float
    device: Picked | None
    isolator: Able[Isolating] | None
    conductor_c: float
    conductor_v: float
    joints_ohm: float
    drop_v: float
    total_v: float
    voltage_v: float
    start_v: float | None
    fault_a: float | None
    fault_end_a: float | None
    clears_s: float | None
    failed: str
    """Empty, or the rule that refuses this cable."""


def joint_ohm(policy: Policy, current_a: float) -> float:
    """Devices and joints of an appliance circuit; over 20 A they are made for their current. [Ω] C"""
    return policy.joint_ohm * min(1.0, PLUG_JOINTS_TO_A / max(current_a, 1e-9))


def cables(parts: Catalogue, way: Way, colours: Sequence[str]) -> list[Able[Conducting]]:
    """Conductors of those colours that stand the heat of the way: thinnest first, cheapest of a size first.

    Of equal ones only the cheapest: the rest could never be taken.
    """
    good = [
        a
        for a in parts.having(Conducting)
        if a.can.colour in colours
        and a.can.area_mm2 >= conductors.LEAST_AREA_MM2
        and a.can.insulation_c > way.ambient_c + 1
    ]
    found: dict[tuple[float, float, float, str], Able[Conducting]] = {}
    for a in sorted(good, key=lambda a: (a.can.area_mm2, *a.order)):
        found.setdefault((a.can.area_mm2, a.can.insulation_c, a.can.ohm_per_km_20c, a.can.colour), a)
    return list(found.values())


def design_run(parts: Catalogue, policy: Policy, ask: Ask) -> Designed | Shortfall:
    """Design one run.

    Parameters
    ----------
    parts : Catalogue
        What can be had.
    policy : Policy
        Margins and limits.
    ask : Ask
        The run.

    Returns
    -------
    Designed or Shortfall
        The smallest conductor that passes every rule with the smallest device that does; or the first thing
        the catalogue lacks.
    """
    choices = cables(parts, ask.way, POSITIVE)
    if not choices:
        anything = parts.having(Conducting)
        code = "no_match" if anything else "none_of_kind"
        return short(
            code, "conducting", ask.subject, best=anything[-1] if anything else None, ambient_c=ask.way.ambient_c
        )
    isolators = _isolators(parts, ask)
    if isinstance(isolators, Shortfall):
        return isolators
    trials = [_try(parts, policy, ask, cable, isolators) for cable in choices]
    good = [t for t in trials if not t.failed]
    if good and ask.target_v is not None:
        near = [t for t in good if t.conductor_v <= ask.target_v + 1e-9]
        chosen = near[0] if near else good[-1]
        decided = _decided(trials, chosen) if chosen is good[0] else "drop"
    elif good:
        chosen, decided = good[0], _decided(trials, good[0])
    else:
        return _lacking(parts, policy, ask, trials)
    return _designed(policy, ask, chosen, decided)


def _decided(trials: list[Trial], chosen: Trial) -> str:
    """The rule that refused the next thinner area; ``least`` when there was none."""
    thinner = [t for t in trials if t.cable.can.area_mm2 < chosen.cable.can.area_mm2 - 1e-9]
    return thinner[-1].failed or "least" if thinner else "least"


def _isolators(parts: Catalogue, ask: Ask) -> tuple[Able[Isolating], ...] | Shortfall:
    """Isolators for the run's voltage and current, cheapest first; empty when it wants none."""
    if not ask.isolator:
        return ()
    models = [a for a in parts.having(Isolating) if a.can.max_v >= ask.high_v]
    able = tuple(a for a in models if a.can.rating_a >= ask.current_a)
    if able:
        return able
    near = max(models, key=lambda a: (a.can.rating_a, a.part.key), default=None)
    code = "too_small" if near else "none_of_kind"
    value = near.can.rating_a if near else None
    return short(code, "isolating", ask.subject, best=near, best_value=value, asked=ask.current_a, unit="A")


def _isolator_for(isolators: tuple[Able[Isolating], ...], device: Picked | None) -> Able[Isolating] | None:
    """The first isolator that the device protects; failing that the largest, which is then refused."""
    if not isolators:
        return None
    rating_a = device.able.can.rating_a if device else 0.0
    fitting = (a for a in isolators if a.can.rating_a >= rating_a)
    return next(fitting, max(isolators, key=lambda a: a.can.rating_a))


def _try(
    parts: Catalogue, policy: Policy, ask: Ask, cable: Able[Conducting], isolators: tuple[Able[Isolating], ...]
) -> Trial:
    """One cable with the first device that passes everything; wished limits first, then the rules alone."""
    c, way, amps = cable.can, ask.way, ask.current_a
    ampacity = conductors.ampacity_a(c.area_mm2, c.insulation_c, way.ambient_c, way.bundled, way.engine_space)
    least = ask.least_rating_a or protection.least_rating_a(
        amps, policy.fuse_continuous_ratio, policy.fuse_temperature_ratio
    )
    most = min(ampacity, ask.most_rating_a or math.inf)
    first: Trial | None = None
    passing: Trial | None = None
    for device in devices_for(parts, policy, ask, least, most):
        trial = _trial(policy, ask, cable, isolators, ampacity, least, device)
        first = first or trial
        if trial.failed:
            continue
        if ask.target_joints_v is None or amps * trial.joints_ohm <= ask.target_joints_v:
            return trial
        passing = passing or trial
    return passing or first or _trial(policy, ask, cable, isolators, ampacity, least, None)


def _trial(
    policy: Policy,
    ask: Ask,
    cable: Able[Conducting],
    isolators: tuple[Able[Isolating], ...],
    ampacity: float,
    least: float,
    device: Picked | None,
) -> Trial:
    isolator = _isolator_for(isolators, device)
    c, way, amps = cable.can, ask.way, ask.current_a
    warm = (
        conductors.loaded_conductor_c(amps, ampacity, way.ambient_c, c.insulation_c) if ampacity > 0 else c.insulation_c
    )
    conductor_v = conductors.voltage_drop_v(amps, way.run_m, c.ohm_per_km_20c, warm)
    stated = (device.able.can.resistance_ohm * len(ask.ends) if device else 0.0) + ask.extra_ohm
    stated += isolator.can.resistance_ohm if isolator else 0.0
    lugs = 4 + 2 * len(ask.ends) + (2 if isolator else 0)
    joints = stated + lugs * LUG_OHM if ask.lugged else max(joint_ohm(policy, amps), stated)
    joints += ask.contact_ohm
    drop = conductor_v + amps * joints
    total = drop + ask.upstream_v
    start_v = None
    if ask.peak_a > amps:
        hot = 2 * conductors.conductor_ohm(way.run_m, c.ohm_per_km_20c, warm)
        start_v = ask.low_v - ask.upstream_peak_v - ask.peak_a * (hot + joints)
    hottest = 2 * conductors.conductor_ohm(way.run_m, c.ohm_per_km_20c, c.insulation_c)
    fault, fault_end = ask.strong.fault_a, ask.weak.behind(hottest + joints).fault_a
    clears = None
    if device and fault_end is not None and not ask.limited:
        can = device.able.can
        clears = protection.clears_s(series_of(can), can.rating_a, fault_end)
    trial = Trial(
        cable, ampacity, least, device, isolator, warm, conductor_v, joints, drop, total, ask.low_v - total, start_v,
        fault, fault_end, clears, "",
    )  # fmt: skip
    return replace(trial, failed=_fails(policy, ask, trial))


def _fails(policy: Policy, ask: Ask, t: Trial) -> str:
    if t.ampacity_a < ask.current_a:
        return "ampacity"
    if t.device is None:
        return "device"
    if t.isolator is not None and t.isolator.can.rating_a < t.device.able.can.rating_a:
        return "isolator"
    if t.total_v + ask.reserved_v > ask.limit_ratio * ask.nominal_v + 1e-9:
        return "drop"
    if ask.cutout_v is not None and min(t.voltage_v, math.inf if t.start_v is None else t.start_v) < ask.cutout_v:
        return "cutout"
    if ask.limited:
        return ""
    if ask.source_limit_a is not None and t.ampacity_a >= ask.source_limit_a:
        return ""  # the conductor carries for good what the source gives into a fault
    can, c = t.device.able.can, t.cable.can
    fault = t.fault_a if t.fault_a is not None else policy.unknown_battery_breaking_a
    if not protection.withstands(c.area_mm2, c.insulation_c, series_of(can), can.rating_a, fault):
        return "adiabatic"
    if t.clears_s is not None and t.clears_s > protection.DISCONNECT_S:
        return "disconnection"
    if not protection.withstands(c.area_mm2, c.insulation_c, series_of(can), can.rating_a, t.fault_end_a or 0.0):
        return "adiabatic"
    return ""


def _lacking(parts: Catalogue, policy: Policy, ask: Ask, trials: list[Trial]) -> Shortfall:
    """Say what stops the thickest cable: its size, or a device that is not there."""
    last = trials[-1]
    c = last.cable.can
    if last.failed == "device":
        return _no_device(parts, policy, ask, last)
    if last.failed == "isolator":
        assert last.isolator is not None
        assert last.device is not None
        near, asked_a = last.isolator, last.device.able.can.rating_a
        return short(
            "too_small", "isolating", ask.subject, best=near, best_value=near.can.rating_a, asked=asked_a, unit="A"
        )
    values: dict[str, tuple[float, float, str]] = {
        "ampacity": (last.ampacity_a, ask.current_a, "A"),
        "drop": (ask.limit_ratio * ask.nominal_v, last.total_v + ask.reserved_v, "V"),
        "cutout": (min(last.voltage_v, last.start_v or math.inf), ask.cutout_v or 0.0, "V"),
        "adiabatic": (c.area_mm2, _adiabatic_mm2(policy, last) if last.failed == "adiabatic" else 0.0, "mm²"),
        "disconnection": (protection.DISCONNECT_S, min(last.clears_s or 0.0, MOST_FAULT_S), "s"),
    }
    value, asked, unit = values[last.failed]
    return short(
        "too_small",
        "conducting",
        ask.subject,
        best=last.cable,
        best_value=value,
        asked=asked,
        unit=unit,
        rule=last.failed,
    )


def _adiabatic_mm2(policy: Policy, t: Trial) -> float:
    assert t.device is not None
    can, faults = t.device.able.can, [t.fault_a or policy.unknown_battery_breaking_a, t.fault_end_a or 0.0]
    let_through = [
        fault * math.sqrt(min(protection.clears_s(series_of(can), can.rating_a, fault), MOST_FAULT_S))
        for fault in faults
        if fault > 0
    ]
    return max(let_through) / protection.adiabatic_k(t.cable.can.insulation_c)


def _no_device(parts: Catalogue, policy: Policy, ask: Ask, t: Trial) -> Shortfall:
    """Which property of the devices there are is missing: rating, breaking capacity, voltage or a holder."""
    most = min(t.ampacity_a, ask.most_rating_a or math.inf)
    every = parts.having(Protecting)
    rated = [a for a in every if t.least_a - 1e-9 <= a.can.rating_a <= most + 1e-9]
    volts = [a for a in rated if a.can.max_v >= ask.high_v]
    fault = ask.strong.fault_a
    asked_a = policy.unknown_battery_breaking_a if fault is None else fault
    breaking = [a for a in volts if protection.breaks(a.can.breaking_a, fault, policy.unknown_battery_breaking_a)]
    held = [a for a in breaking if not a.can.needs_holder or holder_for(parts, a.can, ask.high_v)]
    if breaking and not held:
        return short("none_of_kind", "holding", ask.subject, best=breaking[0], series=breaking[0].can.series)
    if not every:
        return short("none_of_kind", "protecting", ask.subject, asked=t.least_a, unit="A")
    if not rated:
        near = min(every, key=lambda a: (abs(a.can.rating_a - t.least_a), a.part.key))
        small = near.can.rating_a < t.least_a
        return short(
            "too_small" if small else "too_large", "protecting", ask.subject, best=near, best_value=near.can.rating_a,
            asked=t.least_a if small else most, unit="A", rule="device",
        )  # fmt: skip
    if not volts:
        top = max(rated, key=lambda a: (a.can.max_v, a.part.key))
        return short(
            "wrong_voltage", "protecting", ask.subject, best=top, best_value=top.can.max_v, asked=ask.high_v, unit="V"
        )
    if not breaking:
        strong = max(volts, key=lambda a: (a.can.breaking_a or 0.0, a.part.key))
        return short(
            "too_small", "protecting", ask.subject, best=strong, best_value=strong.can.breaking_a or 0.0, asked=asked_a,
            unit="A", rule="breaking",
        )  # fmt: skip
    return short("no_match", "protecting", ask.subject, best=held[0], rule="inrush")


def _designed(policy: Policy, ask: Ask, t: Trial, decided: str) -> Designed:
    c, way, device = t.cable.can, ask.way, t.device
    assert device is not None
    devices = [
        Device(
            tag="", what="fuse" if device.able.can.form == "fuse" else "breaker", rating_a=device.able.can.rating_a,
            breaking_a=device.able.can.breaking_a, fault_a=None if t.fault_a is None else round(t.fault_a, 1),
            end="source" if end == "source" else "load", part=device.able.part.key, name=device.able.part.name,
            position=way.positions[0] if end == "source" else way.positions[-1], distance_m=policy.place_m,
            series=device.able.can.series,
        )
        for end in ask.ends
    ]  # fmt: skip
    if t.isolator:
        devices.append(
            Device(
                tag="",
                what="isolator",
                rating_a=t.isolator.can.rating_a,
                end="load",
                part=t.isolator.part.key,
                name=t.isolator.part.name,
                position=way.positions[0],
                distance_m=policy.place_m,
            )
        )
    circuit = Circuit(
        tag=ask.key,
        name=ask.name,
        role=ask.role,  # type: ignore[arg-type]
        source=ask.source,
        target=ask.target,
        from_position=way.positions[0],
        to_position=way.positions[-1],
        loads=ask.peak_loads,
        group=ask.group,  # type: ignore[arg-type]
        current_a=round(ask.current_a, 3),
        peak_a=round(max(ask.peak_a, ask.current_a), 3),
        run_m=way.run_m,
        area_mm2=c.area_mm2,
        conductor=t.cable.part.key,
        insulation_c=c.insulation_c,
        ambient_c=way.ambient_c,
        bundled=way.bundled,
        ampacity_a=round(t.ampacity_a, 2),
        drop_v=round(t.drop_v, 4),
        drop_total_v=round(t.total_v, 4),
        drop_ratio=round(t.total_v / ask.nominal_v, 5),
        drop_limit_ratio=ask.limit_ratio,
        voltage_v=round(t.voltage_v, 3),
        drop_iso_v=round(conductors.iso10133_drop_v(ask.current_a, way.run_m, c.area_mm2), 4),
        fault_a=None if t.fault_a is None else round(t.fault_a, 1),
        fault_end_a=None if t.fault_end_a is None else round(t.fault_end_a, 1),
        clears_s=None if t.clears_s is None or math.isinf(t.clears_s) else round(t.clears_s, 4),
        devices=tuple(devices),
        colour=c.colour,
        decided_by=decided,
        steps=steps_of(policy, ask, t),
        crosses_hitch=way.crossings > 0,
        pin_pairs=ask.pin_pairs,
        pins_a=ask.pins_a,
        coupling_v=round(ask.current_a * ask.contact_ohm, 4),
        key=ask.stable or ask.key,
        passes=way.positions,
        surveyed_bundled=way.bundled,
    )
    stated = device.able.can.resistance_ohm * len(ask.ends) + (t.isolator.can.resistance_ohm if t.isolator else 0.0)
    cold = 2 * conductors.conductor_ohm(way.run_m, c.ohm_per_km_20c, COLD_C) + stated + ask.extra_ohm
    hot = 2 * conductors.conductor_ohm(way.run_m, c.ohm_per_km_20c, t.conductor_c) + t.joints_ohm
    return Designed(ask, circuit, cold, hot)
