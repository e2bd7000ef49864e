"""How much of a drive the engine's charger charges in, by its undervoltage stop and the engine's own stops."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from catalog.kinds.capabilities import EngineCharging
from quoting.sizing import charging
from quoting.sizing.appraisal import Chosen
from quoting.sizing.brief import Brief
from quoting.sizing.errors import SizingError
from quoting.sizing.system import System
from quoting.sizing.trace import Step, step

Why = Literal["", "idle_stop", "idle_voltage", "steady_voltage"]

GUESSED_FEED_A = 50.0
"""Current at which a feed that is not designed yet is taken to lose what the drop limit allows. [A] C"""


@dataclass(frozen=True, slots=True)
class DrivingShare:
    """Share of driving time in which the charger charges, and what keeps it from the rest."""

    ratio: float
    why: Why = ""
    voltage_v: float | None = None
    """At its input where it stops. [V]"""


def feed_ohm(system: System) -> float:
    """Resistance of the engine feed as designed; before it is, what the drop limit allows. [Ω]"""
    if system.feed_ohm is not None:
        return system.feed_ohm
    return system.brief.policy.drop_critical_ratio * system.brief.vehicle.nominal_v / GUESSED_FEED_A


def driving_share(system: System) -> DrivingShare:
    """Share of driving time in which the engine's charger charges.

    Nothing at idle where the engine stops then, or where the voltage that the feed leaves is under the charger's stop;
    nothing at all where an ECU lowers the voltage of a steady drive under it.

    Notes
    -----
    The charger is taken at its set output, where the feed loses most.
    """
    brief = system.brief
    idling = brief.policy.idle_share_ratio
    off = DrivingShare(1 - idling, "idle_stop") if brief.vehicle.idle_stop else None
    if system.engine is None:
        return off or DrivingShare(1.0)
    if brief.vehicle.alternator_control == "smart":
        left_v = input_v(system, *system.engine, charging.steady_v(brief.vehicle))
        if left_v < system.engine[1].stop_below_v:
            return DrivingShare(0.0, "steady_voltage", left_v)
    if off is None:
        left_v = input_v(system, *system.engine, charging.idle_v(brief.vehicle))
        if left_v < system.engine[1].stop_below_v:
            return DrivingShare(1 - idling, "idle_voltage", left_v)
    return off or DrivingShare(1.0)


def driving_steps(brief: Brief, share: DrivingShare) -> tuple[Step, ...]:
    """The line of a sum for a drive that is not charged in all the time; none when it is."""
    if share.ratio >= 1:
        return ()
    idle = brief.policy.idle_share_ratio
    code = "steady_share" if share.why == "steady_voltage" else "driving_share"
    return (step(code, share.ratio, "", "×", "policy", idle_ratio=idle),)


def input_v(system: System, one: Chosen, can: EngineCharging, source_v: float) -> float:
    """Voltage at the charger's input at its set output; half the source's where the feed cannot bring that. [V]"""
    limit = one.output_limit_a
    amps = can.output_a if limit is None else min(limit, can.output_a)
    try:
        watts = amps * system.absorption_v
        return charging.charger_input(watts, can.efficiency_ratio, source_v, feed_ohm(system))[1]
    except SizingError:
        return source_v / 2
