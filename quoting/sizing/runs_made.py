"""The circuit of a run that passed: its conductor, devices, figures and sum. Tags are given later."""

from __future__ import annotations

import math

from quoting.sizing import conductors
from quoting.sizing.appraisal import Circuit, Device
from quoting.sizing.parts import Catalogue
from quoting.sizing.policy import Policy
from quoting.sizing.runs_ask import Ask
from quoting.sizing.runs_colours import negative_of_policy, return_for
from quoting.sizing.runs_steps import steps_of
from quoting.sizing.runs_trial import Trial, loop_ohm

COLD_C = 20.0
"""Conductor temperature of the largest fault. [°C]"""


BEFORE_THE_BOND = ("battery_main",)
"""Roles whose negative is the only way back to the battery."""


def circuit_of(parts: Catalogue, policy: Policy, ask: Ask, t: Trial, decided: str) -> Circuit:
    """Write down a run as a circuit."""
    c, way, lies = t.cable.can, ask.way, ask.lies
    back = None
    if lies is None and ask.chassis_ohm is None:
        back = return_for(parts, negative_of_policy(policy), c.area_mm2, c.insulation_c)
    iso_v = conductors.iso10133_drop_v(ask.flows_a, way.run_m, c.area_mm2) * ask.returns / 2
    return Circuit(
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
        conductor="" if lies else t.cable.part.key,
        insulation_c=c.insulation_c,
        ambient_c=way.ambient_c,
        bundled=t.bundled,
        ampacity_a=round(t.ampacity_a, 2),
        drop_v=round(t.drop_v, 4),
        drop_total_v=round(t.total_v, 4),
        drop_ratio=round(t.total_v / ask.nominal_v, 5),
        drop_limit_ratio=ask.limit_ratio,
        voltage_v=round(t.voltage_v, 3),
        drop_iso_v=round(iso_v, 4),
        fault_a=None if t.fault_a is None else round(t.fault_a, 1),
        fault_end_a=None if t.fault_end_a is None else round(t.fault_end_a, 1),
        clears_s=None if t.clears_s is None or math.isinf(t.clears_s) else round(t.clears_s, 4),
        devices=_devices(policy, ask, t),
        colour=c.colour,
        decided_by=decided,
        steps=steps_of(policy, ask, t),
        crosses_hitch=way.crossings > 0,
        pin_pairs=ask.pin_pairs,
        pins_a=ask.pins_a,
        coupling_v=round(ask.flows_a * ask.contact_ohm, 4),
        key=ask.stable_key,
        passes=way.positions,
        surveyed_bundled=way.bundled,
        drop_a=None if ask.drop_a is None else round(ask.drop_a, 3),
        negative=back.part.key if back else "",
        negative_colour=back.can.colour if back else "",
        return_by="conductor" if ask.chassis_ohm is None else "chassis",
        stays=lies is not None,
        stays_source=lies.source if lies else "",
    )


def _devices(policy: Policy, ask: Ask, t: Trial) -> tuple[Device, ...]:
    """A device at each end that has one, then the isolator."""
    assert t.device is not None
    way, lies, can = ask.way, ask.lies, t.device.able.can
    away_m = lies.distance_m if lies and lies.distance_m is not None else policy.place_m
    found = [
        Device(
            tag="",
            what="fuse" if can.form == "fuse" else "breaker",
            rating_a=can.rating_a,
            breaking_a=can.breaking_a,
            fault_a=None if t.fault_a is None else round(t.fault_a, 1),
            end="source" if end == "source" else "load",
            part="" if lies else t.device.able.part.key,
            name=t.device.able.part.name,
            position=way.positions[0] if end == "source" else way.positions[-1],
            distance_m=away_m,
            series=can.series,
            stays=lies is not None,
        )
        for end in ask.ends
    ]
    if t.isolator:
        found.append(
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
    return tuple(found)


def cold_of(ask: Ask, t: Trial) -> float:
    """Conductors and devices at the least resistance that they have, for the largest fault behind the run. [Ω]

    The system's negative is bonded to the body: a short to it returns past the negative conductor, so that only the
    feed is sure to count. Between the battery's posts and the bond nothing lies beside the negative.
    """
    assert t.device is not None
    copper = (2 if ask.role in BEFORE_THE_BOND else 1) * conductors.conductor_ohm(
        ask.way.run_m, t.cable.can.ohm_per_km_20c, COLD_C
    )
    stated = t.device.able.can.resistance_ohm * len(ask.ends) + (t.isolator.can.resistance_ohm if t.isolator else 0.0)
    return copper + stated + ask.extra_ohm


def hot_of(ask: Ask, t: Trial) -> float:
    """Loop at the loaded conductor, devices and joints. [Ω]"""
    return loop_ohm(ask, t.cable.can.ohm_per_km_20c, t.conductor_c) + t.joints_ohm
