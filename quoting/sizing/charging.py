"""Charging from the engine and from mains: what there is to spare, what a charger takes, what the battery gets."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quoting.sizing.brief import Vehicle
from quoting.sizing.errors import SizingError, require
from quoting.sizing.policy import Policy
from quoting.sizing.trace import Finding, Origin, Step, finding, step

SMART_LOW_V_PER_12 = 12.3
"""Voltage an ECU-controlled alternator falls to on a steady drive, per 12 V. Common practice."""
FIXED_IDLE_V_PER_12 = 13.5
"""Voltage at hot idle with a fixed regulator, per 12 V: ISO 8854's test voltage."""


STARTER_REST_V_PER_12 = 12.6
"""Resting voltage of a full starter battery, per 12 V. Common trade table."""


@dataclass(frozen=True, slots=True)
class Headroom:
    """What the alternator spares, hot."""

    idle_a: float
    speed_a: float
    plan_a: float
    """The policy's share of the rating for steady charging, less the vehicle's draw, at most ``speed_a``."""
    own_draw_a: float
    idle_v: float
    idle_steps: tuple[Step, ...]
    speed_steps: tuple[Step, ...]
    findings: tuple[Finding, ...]


def headroom(vehicle: Vehicle, policy: Policy, starter_loads_a: float = 0.0) -> Headroom | None:
    """Alternator output hot, at idle and at speed, less the vehicle's own draw. [A]

    ``None`` when there is no alternator or nothing is known of it; the findings of that are the caller's. Measured
    values come before the policy's shares of the rating; each assumption is a finding.
    """
    if vehicle.alternator_control == "none" or (vehicle.alternator_a is None and vehicle.hot_idle_a is None):
        return None
    findings: list[Finding] = []
    rating = vehicle.alternator_a
    if vehicle.hot_idle_a is not None:
        idle_out = vehicle.hot_idle_a
        idle_steps = [step("alternator_idle", idle_out, "A", origin="survey")]
    else:
        assert rating is not None
        idle_out = rating * policy.alternator_hot_idle_ratio
        idle_steps = [
            step("alternator", rating, "A", origin="survey"),
            step("alternator_idle_share", policy.alternator_hot_idle_ratio, "", "×", "policy"),
            step("alternator_idle", idle_out, "A", "="),
        ]
        findings.append(
            finding("warning", "alternator_assumed", "engine.headroom_idle_a", idle_a=idle_out, rating_a=rating)
        )
    if rating is not None:
        speed_out = max(idle_out, rating * policy.alternator_hot_speed_ratio)
        speed_steps = [
            step("alternator", rating, "A", origin="survey"),
            step("alternator_speed_share", policy.alternator_hot_speed_ratio, "", "×", "policy"),
            *([step("alternator_idle", idle_out, "A", "max", "survey")] if speed_out == idle_out else []),
            step("alternator_speed", speed_out, "A", "="),
        ]
        plan_out = rating * policy.alternator_plan_ratio
    else:
        speed_out = plan_out = idle_out
        speed_steps = [step("alternator_speed", idle_out, "A", origin="survey")]
    origin: Origin = "survey"
    if vehicle.own_draw_a is not None:
        draw = vehicle.own_draw_a
    else:
        draw, origin = policy.vehicle_draw_a, "policy"
        findings.append(finding("warning", "vehicle_draw_assumed", "engine.headroom_idle_a", draw_a=draw))
    minus = [step("vehicle_draw", draw, "A", "−", origin)]
    if starter_loads_a > 0:
        minus.append(step("starter_loads", starter_loads_a, "A", "−"))
    own = draw + starter_loads_a
    idle, speed = idle_out - own, speed_out - own
    return Headroom(
        idle_a=idle,
        speed_a=speed,
        plan_a=max(0.0, min(speed, plan_out - own)),
        own_draw_a=own,
        idle_v=idle_v(vehicle),
        idle_steps=(*idle_steps, *minus, step("headroom_idle", idle, "A", "=")),
        speed_steps=(*speed_steps, *minus, step("headroom_speed", speed, "A", "=")),
        findings=tuple(findings),
    )


def idle_v(vehicle: Vehicle) -> float:
    """Voltage at the starter battery at hot idle: measured, or what the regulator holds there. [V]"""
    if vehicle.hot_idle_v is not None:
        return vehicle.hot_idle_v
    per_12 = SMART_LOW_V_PER_12 if vehicle.alternator_control == "smart" else FIXED_IDLE_V_PER_12
    return per_12 * vehicle.nominal_v / 12


def steady_v(vehicle: Vehicle) -> float:
    """Voltage at the starter battery on a steady drive: an ECU that rules it lowers it. [V]"""
    if vehicle.alternator_control != "smart":
        return max(idle_v(vehicle), FIXED_IDLE_V_PER_12 * vehicle.nominal_v / 12)
    return SMART_LOW_V_PER_12 * vehicle.nominal_v / 12


def charger_input(output_w: float, efficiency_ratio: float, source_v: float, feed_ohm: float) -> tuple[float, float]:
    r"""Current a charger takes and the voltage left at its input, solved together. [A, V]

    .. math:: I (V - I R) \eta = P

    Parameters
    ----------
    output_w : float
        Into the battery. [W]
    efficiency_ratio : float
        Output over input.
    source_v : float
        At the starter battery. [V]
    feed_ohm : float
        Feed there and back, devices and joints. [Ω]

    Raises
    ------
    SizingError
        If no current brings that power through the feed.

    Examples
    --------
    >>> amps, volts = charger_input(40 * 14.4, 0.88, 12.35, 0.01)
    >>> round(amps, 1), round(volts, 1)
    (55.5, 11.8)
    """
    require("output_w", output_w, minimum=0, maximum=1e6, unit="W")
    require("efficiency_ratio", efficiency_ratio, minimum=0.3, maximum=1)
    require("source_v", source_v, minimum=1, maximum=1000, unit="V")
    require("feed_ohm", feed_ohm, minimum=0, maximum=100, unit="Ω")
    power = output_w / efficiency_ratio
    if feed_ohm < 1e-9:
        return power / source_v, source_v
    most = source_v * source_v / (4 * feed_ohm)
    if power > most:
        raise SizingError(
            "output_w", value=round(output_w, 1), minimum=0, maximum=round(most * efficiency_ratio, 1), unit="W"
        )
    amps = (source_v - math.sqrt(max(0.0, source_v * source_v - 4 * feed_ohm * power))) / (2 * feed_ohm)
    return amps, source_v - amps * feed_ohm


@dataclass(frozen=True, slots=True)
class IdleCheck:
    """How a charger fares at hot idle and over a whole drive."""

    deficit_a: float
    """Taken from the starter battery at hot idle. [A]"""
    mean_loss_a: float
    """Mean over a drive: positive when the starter battery loses. [A]"""
    suggested_output_a: float | None
    """Largest setting that hot idle holds; ``None`` when no setting does."""


def idle_check(
    room: Headroom, policy: Policy, output_v: float, output_a: float, efficiency: float, feed_ohm: float,
    limit_steps_a: tuple[float, ...],
) -> IdleCheck:  # fmt: skip
    """Hold a charger's input current against what the alternator spares at idle and over a drive."""
    amps = input_a(output_v * output_a, efficiency, room.idle_v, feed_ohm)
    deficit = max(0.0, amps - room.idle_a)
    share = policy.idle_share_ratio
    mean_loss = share * deficit - (1 - share) * (room.speed_a - amps)
    if deficit <= 0:
        return IdleCheck(0.0, mean_loss, output_a)
    fitting = [
        limit
        for limit in sorted(limit_steps_a)
        if limit < output_a and input_a(output_v * limit, efficiency, room.idle_v, feed_ohm) <= room.idle_a
    ]
    return IdleCheck(deficit, mean_loss, fitting[-1] if fitting else None)


def input_a(output_w: float, efficiency: float, source_v: float, feed_ohm: float) -> float:
    """As :func:`charger_input`, but infinite draw through too thin a feed is taken at the feed's most. [A]"""
    try:
        return charger_input(output_w, efficiency, source_v, feed_ohm)[0]
    except SizingError:
        return source_v / (2 * feed_ohm)


def outlet_a(output_w: float, efficiency_ratio: float, power_factor: float, mains_v: float) -> float:
    """Current a mains charger takes from the outlet. [A]

    Parameters
    ----------
    output_w : float
        Into the battery. [W]
    efficiency_ratio, power_factor : float
        Of the charger.
    mains_v : float
        Of the outlet. [V]

    Examples
    --------
    >>> round(outlet_a(30 * 14.4, 0.91, 1.0, 230), 1)
    2.1
    """
    require("output_w", output_w, minimum=0, maximum=1e6, unit="W")
    require("efficiency_ratio", efficiency_ratio, minimum=0.3, maximum=1)
    require("power_factor", power_factor, minimum=0.1, maximum=1)
    require("mains_v", mains_v, minimum=50, maximum=500, unit="V")
    return output_w / efficiency_ratio / power_factor / mains_v


def days_parked(starter_ah: float, crank_charge_ratio: float, standing_draw_a: float) -> float:
    """Days until a full starter battery may no longer crank. [day]

    Parameters
    ----------
    starter_ah : float
        Capacity. [Ah]
    crank_charge_ratio : float
        Charge below which it may not crank.
    standing_draw_a : float
        Draw with everything asleep. [A]

    Examples
    --------
    >>> round(days_parked(70, 0.6, 0.035), 1)
    33.3
    """
    require("starter_ah", starter_ah, minimum=1, maximum=1000, unit="Ah")
    require("crank_charge_ratio", crank_charge_ratio, minimum=0, maximum=1)
    require("standing_draw_a", standing_draw_a, minimum=1e-4, maximum=1000, unit="A")
    return starter_ah * (1 - crank_charge_ratio) / standing_draw_a / 24


def crank_charge(crank_a: float, crank_s: float, stored_ratio: float, charging_a: float) -> tuple[float, float]:
    """Charge to put back after one crank, and minutes that it takes. [Ah, min]

    Parameters
    ----------
    crank_a : float
        Mean current of the crank. [A]
    crank_s : float
        Its length. [s]
    stored_ratio : float
        Stored of what goes in.
    charging_a : float
        Into the starter battery, driving. [A]

    Examples
    --------
    >>> charge, minutes = crank_charge(200, 5, 0.85, 8)
    >>> round(charge, 3), round(minutes, 2)
    (0.327, 2.45)
    """
    require("crank_a", crank_a, minimum=0, maximum=1e5, unit="A")
    require("crank_s", crank_s, minimum=0, maximum=3600, unit="s")
    require("stored_ratio", stored_ratio, minimum=0.1, maximum=1)
    require("charging_a", charging_a, minimum=1e-6, maximum=1e5, unit="A")
    charge = crank_a * crank_s / 3600 / stored_ratio
    return charge, charge / charging_a * 60


def vehicle_findings(vehicle: Vehicle, wants_engine: bool) -> tuple[Finding, ...]:
    """What the vehicle's kind of supply means for charging from it."""
    if not wants_engine:
        return ()
    found = []
    if vehicle.alternator_control == "none":
        found.append(finding("warning", "no_alternator", "engine"))
    elif vehicle.alternator_a is None and vehicle.hot_idle_a is None:
        found.append(finding("warning", "alternator_unknown", "engine"))
    if vehicle.alternator_control == "smart":
        found.append(finding("info", "smart_alternator", "engine"))
    if vehicle.idle_stop:
        found.append(finding("info", "idle_stop", "engine"))
    if vehicle.hybrid:
        found.append(finding("warning", "hybrid", "engine"))
    return tuple(found)
