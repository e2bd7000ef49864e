"""The starter battery of a vehicle on its trip: from survey, alternator and engine charger to its simulation."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from quoting.sizing import keeping
from quoting.sizing.brief import Brief, Stop
from quoting.sizing.charging import Headroom
from quoting.sizing.driving import driving_share
from quoting.sizing.outlook import StarterOutlook
from quoting.sizing.own import clock
from quoting.sizing.simulation.starter import Drives, StarterBattery, outlook, simulate
from quoting.sizing.system import Book, System

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

CRANKS_PER_DRIVE = 1.0
"""Cold cranks for each drive. Common practice."""
IDLE_STOP_CRANKS_PER_H = 1.0
"""What the warm restarts of an idle-stop vehicle take in an hour of driving, in cold cranks: ten of a tenth each.
Common practice."""
IDLE_STOP_OVER_RATIO = 0.7
"""Charge under which a vehicle leaves its engine idling instead of stopping it. Common practice."""
SMART_FULL_RATIO = 0.8
"""Charge that a vehicle with an ECU-controlled alternator keeps its starter battery at, so that braking can charge it.
Common practice."""


def battery_of(brief: Brief) -> StarterBattery | None:
    """The vehicle's starter battery; ``None`` where the survey gives no capacity."""
    vehicle, policy = brief.vehicle, brief.policy
    if vehicle.starter_ah is None:
        return None
    crank_a, _ = keeping.crank_current(brief)
    lead = policy.chemistries["flooded"]
    return StarterBattery(
        capacity_ah=vehicle.starter_ah,
        takes_a=vehicle.starter_ah * policy.starter_take_per_h,
        tail_h=lead.tail_h,
        efficiency_ratio=lead.charge_efficiency_ratio,
        crank_ah=crank_a * policy.crank_s / 3600,
        crank_charge_ratio=policy.crank_charge_ratio,
        full_ratio=SMART_FULL_RATIO if vehicle.alternator_control == "smart" else 1.0,
    )


def drives_of(system: System, room: Headroom, stops: Sequence[tuple[Stop, int, float]]) -> Drives:
    """When the engine runs on the days of a trip, hour by hour.

    Parameters
    ----------
    system : System
        Chosen parts, with the Brief.
    room : Headroom
        What the alternator spares, the loads on the starter bus taken off.
    stops : sequence of (Stop, int, float)
        Each stop with its days that are worked out and the energy of a day that loads on the starter bus take. [Wh]

    Notes
    -----
    Where the engine stops at lights, the vehicle's own draw comes from the battery then, and it cranks more often; when
    the battery is low the engine keeps idling.
    """
    import numpy as np

    vehicle, policy = system.brief.vehicle, system.brief.policy
    driving = np.concatenate([np.tile(clock(s.driving_start_h, s.driving_h_per_day), days) for s, days, _ in stops])
    sleeping_a, volts = vehicle.standing_draw_a or 0.0, vehicle.nominal_v
    standing = np.concatenate([np.full(24 * days, sleeping_a + wh / 24 / volts) for _, days, wh in stops])
    begins = (driving > 0) & (np.concatenate([[0.0], driving[:-1]]) <= 0)
    cranks: Floats = np.where(begins, CRANKS_PER_DRIVE, 0.0)
    if vehicle.idle_stop:
        cranks = cranks + IDLE_STOP_CRANKS_PER_H * driving
    hours = len(driving)
    return Drives(
        step_h=1.0,
        driving=driving,
        cranks=cranks,
        standing_a=standing,
        idle_a=np.full(hours, room.idle_a),
        speed_a=np.full(hours, room.speed_a),
        idle_share_ratio=policy.idle_share_ratio,
        charging_at_idle=driving_share(system).ratio >= 1,
        stopped_a=room.own_draw_a if vehicle.idle_stop else 0.0,
        stops_over_ratio=IDLE_STOP_OVER_RATIO,
    )


def charger_inputs_a(system: System, room: Headroom, feed_ohm: float, engine_w: Floats, drives: Drives) -> Floats:
    """What the engine charger takes from the starter bus while it charges. [A]

    Parameters
    ----------
    system : System
        With its engine charger; without one it takes nothing.
    room : Headroom
        For the voltage at hot idle, where it takes most.
    feed_ohm : float
        Feed there and back, devices and joints. [Ω]
    engine_w : ndarray
        Taken of it, mean over each step, counted at the bank's nominal voltage, shape ``(steps, n)``. [W]
    drives : Drives
        When it charges.

    Notes
    -----
    :func:`quoting.sizing.charging.charger_input` for many values; a feed too thin is taken at its most.
    """
    import numpy as np

    if system.engine is None:
        return np.zeros_like(engine_w)
    share = drives.driving[:, None] * (1.0 if drives.charging_at_idle else 1 - drives.idle_share_ratio)
    # while it charges; what came while it did not is kept, for the simulation to refuse
    output_w = np.where(share > 0, engine_w / np.where(share > 0, share, 1.0), engine_w)
    charging_v = system.absorption_v / system.bank_v
    power_w = np.minimum(output_w * charging_v / system.engine[1].efficiency_ratio, _most_w(room.idle_v, feed_ohm))
    if feed_ohm < 1e-9:
        direct: Floats = power_w / room.idle_v
        return direct
    under = np.maximum(room.idle_v**2 - 4 * feed_ohm * power_w, 0.0)
    found: Floats = (room.idle_v - np.sqrt(under)) / (2 * feed_ohm)
    return found


def _most_w(source_v: float, feed_ohm: float) -> float:
    return source_v**2 / (4 * feed_ohm) if feed_ohm >= 1e-9 else math.inf


def over_trip(
    system: System,
    room: Headroom | None,
    feed_ohm: float,
    stops: Sequence[tuple[Stop, int, float]],
    engine_w: Floats,
    low_ratio: float = 0.0,
) -> StarterOutlook | None:
    """The starter battery beside the simulated trip.

    Parameters
    ----------
    system : System
        Chosen parts, with the Brief.
    room : Headroom or None
        What the alternator spares; without one nothing can be said.
    feed_ohm : float
        Of the engine charger's feed. [Ω]
    stops : sequence of (Stop, int, float)
        Each stop with its days that are worked out and the energy of a day that loads on the starter bus take. [Wh]
    engine_w : ndarray
        What was taken of the engine charger hour by hour, shape ``(24 x days, draws)``. [W]
    low_ratio : float
        Share of the weathers that may be worse than what is told.

    Returns
    -------
    StarterOutlook or None
        ``None`` where capacity, standing draw or alternator are not known.
    """
    brief = system.brief
    battery = battery_of(brief)
    if battery is None or room is None or brief.vehicle.standing_draw_a is None:
        return None
    drives = drives_of(system, room, stops)
    charger_a = charger_inputs_a(system, room, feed_ohm, engine_w, drives)
    course = simulate(battery, drives, charger_a)
    return outlook(battery, drives, course, float(drives.standing_a.max()), low_ratio)


def note(found: StarterOutlook | None, brief: Brief, book: Book) -> None:
    """Say where the trip leaves the starter battery too low to crank, or never full."""
    if found is None:
        return
    if found.no_crank:
        crank_ratio = brief.policy.crank_charge_ratio
        book.note(
            "warning", "starter_no_crank", "starter", lowest_ratio=found.lowest_ratio, crank_ratio=crank_ratio,
            deficit_ah=found.idle_deficit_ah_day,
        )  # fmt: skip
    if brief.vehicle.alternator_control == "smart" and found.days_parked is not None:
        book.note(
            "info", "starter_kept_partial", "starter", full_ratio=SMART_FULL_RATIO, days=found.days_parked,
        )  # fmt: skip
    if brief.vehicle.idle_stop:
        book.note("info", "starter_restarts", "starter")
