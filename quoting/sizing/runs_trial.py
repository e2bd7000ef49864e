"""One cable tried for a run: every figure of it, and the rule that refuses it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from catalog.kinds.capabilities import Conducting, Isolating
from quoting.sizing import conductors, protection
from quoting.sizing.parts import Able, Catalogue
from quoting.sizing.policy import Policy
from quoting.sizing.runs_ask import Ask, Picked
from quoting.sizing.runs_devices import devices_for, series_of

LUG_OHM = 0.00002
"""One bolted joint, clean and torqued. [Ω] C"""

PLUG_JOINTS_TO_A = 20.0
"""Up to here the policy's resistance of joints holds; joints for more current lose no more volts than at this. [A] C"""


@dataclass(frozen=True, slots=True)
class Trial:
    """One cable tried for a run, with every figure of the verdict."""

    cable: Able[Conducting]
    ampacity_a: float
    bundled: int
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


def lies_apart(policy: Policy, ask: Ask, area_mm2: float) -> bool:
    """Say whether a conductor is laid apart from other circuits; one in the hitch's cable never is."""
    return area_mm2 >= policy.laid_apart_mm2 and not ask.way.crossings


def bundled_of(policy: Policy, ask: Ask, area_mm2: float) -> int:
    """Loaded conductors together: the larger of the survey and of what this design lays there."""
    own = ask.returns if lies_apart(policy, ask, area_mm2) else ask.counted
    return max(ask.way.bundled, own)


def loop_ohm(ask: Ask, ohm_per_km_20c: float, conductor_c: float) -> float:
    """Conductors of a run at one temperature, and the body where it is the return. [Ω]"""
    copper = ask.returns * conductors.conductor_ohm(ask.way.run_m, ohm_per_km_20c, conductor_c)
    return copper + (ask.chassis_ohm or 0.0)


def least_rating(policy: Policy, ask: Ask) -> float:
    """Least rating of the device. A person may go under the margin, never under what the heat leaves of it. [A]"""
    if ask.least_rating_a is not None:
        return max(ask.least_rating_a, ask.maker_least_a)
    margin = 1.0 if ask.hand is not None and ask.hand.rating_a is not None else policy.fuse_continuous_ratio
    return max(protection.least_rating_a(ask.current_a, margin, policy.fuse_temperature_ratio), ask.maker_least_a)


def isolator_for(isolators: Sequence[Able[Isolating]], device: Picked | None) -> Able[Isolating] | None:
    """The first isolator that the device protects; failing that the largest, which is then refused."""
    if not isolators:
        return None
    rating_a = device.able.can.rating_a if device else 0.0
    fitting = (a for a in isolators if a.can.rating_a >= rating_a)
    return next(fitting, max(isolators, key=lambda a: a.can.rating_a))


def try_cable(
    parts: Catalogue, policy: Policy, ask: Ask, cable: Able[Conducting], isolators: Sequence[Able[Isolating]]
) -> Trial:
    """One cable with the first device that passes everything; wished limits first, then the rules alone."""
    ampacity, least = carried_a(policy, ask, cable.can), least_rating(policy, ask)
    most = min(ampacity, ask.most_rating_a or math.inf)
    first: Trial | None = None
    passing: Trial | None = None
    for device in devices_for(parts, policy, ask, least, most):
        trial = try_with(policy, ask, cable, isolators, device)
        first = first or trial
        if trial.failed:
            continue
        if ask.target_joints_v is None or ask.current_a * trial.joints_ohm <= ask.target_joints_v:
            return trial
        passing = passing or trial
    return passing or first or try_with(policy, ask, cable, isolators, None)


def carried_a(policy: Policy, ask: Ask, can: Conducting) -> float:
    """Corrected ampacity of a conductor where it lies. [A]"""
    way, bundled = ask.way, bundled_of(policy, ask, can.area_mm2)
    return conductors.ampacity_a(can.area_mm2, can.insulation_c, way.ambient_c, bundled, way.engine_space)


def try_with(
    policy: Policy, ask: Ask, cable: Able[Conducting], isolators: Sequence[Able[Isolating]], device: Picked | None
) -> Trial:
    """One cable with one device."""
    c, way, flows = cable.can, ask.way, ask.flows_a
    ampacity, isolator = carried_a(policy, ask, c), isolator_for(isolators, device)
    warm = c.insulation_c
    if ampacity > 0:
        warm = conductors.loaded_conductor_c(flows, ampacity, way.ambient_c, c.insulation_c)
    conductor_v = ask.returns / 2 * conductors.voltage_drop_v(flows, way.run_m, c.ohm_per_km_20c, warm)
    joints = joints_of(policy, ask, device, isolator)
    drop = conductor_v + flows * (joints + (ask.chassis_ohm or 0.0))
    total = drop + ask.upstream_v
    start_v = None
    if ask.peak_a > ask.current_a:
        hot = loop_ohm(ask, c.ohm_per_km_20c, warm)
        start_v = ask.low_v - ask.upstream_peak_v - ask.peak_a * (hot + joints)
    hottest = loop_ohm(ask, c.ohm_per_km_20c, c.insulation_c)
    fault, fault_end = ask.strong.fault_a, ask.weak.behind(hottest + joints).fault_a
    clears = None
    if device and fault_end is not None and not ask.limited:
        clears = protection.clears_s(series_of(device.able.can), device.able.can.rating_a, fault_end)
    trial = Trial(
        cable, ampacity, bundled_of(policy, ask, c.area_mm2), least_rating(policy, ask), device, isolator, warm,
        conductor_v, joints, drop, total, ask.low_v - total, start_v, fault, fault_end, clears, "",
    )  # fmt: skip
    return replace(trial, failed=_fails(policy, ask, trial))


def joints_of(policy: Policy, ask: Ask, device: Picked | None, isolator: Able[Isolating] | None) -> float:
    """Devices and joints of a run. [Ω]

    What was found states nothing, so the policy's resistance holds; what our own record states is reckoned as new.
    """
    unstated = ask.lies is not None and ask.lies.device_ohm is None
    stated = (device.able.can.resistance_ohm * len(ask.ends) if device else 0.0) + ask.extra_ohm
    stated += isolator.can.resistance_ohm if isolator else 0.0
    if ask.lugged and not unstated:
        lugs = 4 + 2 * len(ask.ends) + (2 if isolator else 0)
        return stated + lugs * LUG_OHM + ask.contact_ohm
    usual = joint_ohm(policy, ask.flows_a)
    return (usual + stated if unstated else max(usual, stated)) + ask.contact_ohm


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
