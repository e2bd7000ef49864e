"""The starter battery over the trip, beside the auxiliary one.

It pays what the engine charger takes at idle over what the alternator spares, is charged at speed from what is left,
cranks at every start, and feeds what stands on its bus while parked. With the engine off the auxiliary system takes
nothing from it: the charger has taken nothing then, or the input is refused.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from quoting.sizing.charging import days_parked
from quoting.sizing.errors import SizingError, require
from quoting.sizing.outlook import StarterOutlook

if TYPE_CHECKING:
    from numpy import bool_, float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]
    Flags = NDArray[bool_]

LEAST_STANDING_A = 1e-4
"""Standing draw under which no days are counted. [A]"""
LEAST_CHARGER_A = 1e-6
"""Current with the engine off that is rounding. [A]"""


@dataclass(frozen=True, slots=True)
class StarterBattery:
    """The starter battery and what it can be charged with."""

    capacity_ah: float
    takes_a: float
    """Most current that it takes after a crank. [A]"""
    tail_h: float
    """Time constant of its current near full. [h]"""
    efficiency_ratio: float
    """Stored of what goes in."""
    crank_ah: float
    """Of one cold crank. [Ah]"""
    crank_charge_ratio: float
    """Under it, it may not crank."""
    full_ratio: float = 1.0
    """Charge that the vehicle keeps it at; the trip starts so."""


@dataclass(frozen=True, slots=True)
class Drives:
    """When the engine runs and what the starter battery meets, step by step: arrays of shape ``(steps,)``."""

    step_h: float
    driving: Floats
    """Share of the step with the engine running."""
    cranks: Floats
    standing_a: Floats
    """Drawn while parked: the vehicle asleep and the loads on its bus. [A]"""
    idle_a: Floats
    """Spared by the alternator at idle, the charger not yet fed; negative where it does not carry the vehicle. [A]"""
    speed_a: Floats
    idle_share_ratio: float
    """Share of driving time spent at idle."""
    charging_at_idle: bool = True
    """The engine charger charges at idle, too."""
    stopped_a: float = 0.0
    """The vehicle's own draw while its engine stands at lights; 0: it does not stop by itself. [A]"""
    stops_over_ratio: float = 1.0
    """Charge down to which it stops by itself; under it, it idles."""


@dataclass(frozen=True, slots=True)
class StarterCourse:
    """What came of it: arrays of shape ``(steps, n)``, charge in each step. [Ah]"""

    charge_ratio: Floats
    """At the end of each step."""
    lowest_ratio: Floats
    """Within each step."""
    in_ah: Floats
    out_ah: Floats
    lost_ah: Floats
    idle_ah: Floats
    """Taken at idle or with the engine stopped at lights, part of ``out_ah``."""
    short_ah: Floats
    """Asked and not there: it is empty."""
    no_crank: Flags
    """A crank was asked under the charge at which it may not crank."""


def simulate(battery: StarterBattery, drives: Drives, charger_a: Floats) -> StarterCourse:
    """Follow the starter battery through every step: crank, engine stopped at lights, idle, speed, parked.

    Parameters
    ----------
    battery : StarterBattery
        What it holds and takes.
    drives : Drives
        Engine, cranks and draws by steps.
    charger_a : ndarray
        What the engine charger takes while it charges, shape ``(steps, n)``. [A]

    Returns
    -------
    StarterCourse
        In every step the charge's change is ``in - lost - out``.

    Raises
    ------
    SizingError
        If the charger takes something while the engine is off all step long.
    """
    import numpy as np

    _check(battery, drives, charger_a)
    steps, members = charger_a.shape
    held = np.full(members, battery.full_ratio * battery.capacity_ah)
    out = {name: np.zeros((steps, members)) for name in ("charge", "lowest", "into", "out", "idle", "short")}
    no_crank = np.zeros((steps, members), dtype=bool)
    for k in range(steps):
        if drives.cranks[k] > 0:
            no_crank[k] = held < battery.crank_charge_ratio * battery.capacity_ah
        lowest = held
        for at_lights, net_ah, hours in _phases(battery, drives, charger_a[k], k, held):
            asked = np.maximum(-net_ah, 0.0)
            drawn = np.minimum(asked, held)
            held = held - drawn
            out["out"][k] += drawn
            out["short"][k] += asked - drawn
            lowest = np.minimum(lowest, held)
            if at_lights:
                out["idle"][k] += drawn
            if hours is not None:
                into = np.minimum(np.maximum(net_ah, 0.0), _most_in(battery, held, hours))
                held = held + into * battery.efficiency_ratio
                out["into"][k] += into
        out["charge"][k], out["lowest"][k] = held, lowest
    whole = battery.capacity_ah
    return StarterCourse(
        charge_ratio=out["charge"] / whole,
        lowest_ratio=out["lowest"] / whole,
        in_ah=out["into"],
        out_ah=out["out"],
        lost_ah=out["into"] * (1 - battery.efficiency_ratio),
        idle_ah=out["idle"],
        short_ah=out["short"],
        no_crank=no_crank,
    )


def _phases(
    battery: StarterBattery, drives: Drives, charger_a: Floats, k: int, held_ah: Floats
) -> Iterator[tuple[bool, Floats, Floats | None]]:
    """What one step consists of: at lights or not, charge offered (negative: asked) [Ah], hours it may be taken in."""
    import numpy as np

    crank_ah, on_h = drives.cranks[k] * battery.crank_ah, drives.driving[k] * drives.step_h
    if crank_ah > 0:
        yield False, np.full_like(held_ah, -crank_ah), None
    if on_h > 0:
        idle_h = np.full_like(held_ah, on_h * drives.idle_share_ratio)
        if drives.stopped_a > 0:
            spare_ah = np.maximum(held_ah - crank_ah - drives.stops_over_ratio * battery.capacity_ah, 0.0)
            stopped_h = np.minimum(idle_h, spare_ah / drives.stopped_a)
            yield True, -drives.stopped_a * stopped_h, None
            idle_h = idle_h - stopped_h
        idling_a = drives.idle_a[k] - (charger_a if drives.charging_at_idle else 0.0)
        yield True, idling_a * idle_h, idle_h
        speed_h = np.full_like(held_ah, on_h * (1 - drives.idle_share_ratio))
        yield False, (drives.speed_a[k] - charger_a) * speed_h, speed_h
    if on_h < drives.step_h:
        yield False, np.full_like(held_ah, -drives.standing_a[k] * (drives.step_h - on_h)), None


def _most_in(battery: StarterBattery, held_ah: Floats, hours: Floats) -> Floats:
    """Most that goes in: its current limit, near full what its tail allows, up to where the vehicle keeps it. [Ah]"""
    import numpy as np

    tail = (battery.capacity_ah - held_ah) * -np.expm1(-hours / battery.tail_h)
    kept = np.maximum(battery.full_ratio * battery.capacity_ah - held_ah, 0.0)
    most: Floats = np.minimum(np.minimum(tail, kept) / battery.efficiency_ratio, battery.takes_a * hours)
    return most


def _check(battery: StarterBattery, drives: Drives, charger_a: Floats) -> None:
    require("capacity_ah", battery.capacity_ah, minimum=1, maximum=10000, unit="Ah")
    require("efficiency_ratio", battery.efficiency_ratio, minimum=0.1, maximum=1)
    require("full_ratio", battery.full_ratio, minimum=0, maximum=1)
    require("tail_h", battery.tail_h, minimum=1e-3, maximum=24, unit="h")
    require("step_h", drives.step_h, minimum=1e-3, maximum=24, unit="h")
    require("idle_share_ratio", drives.idle_share_ratio, minimum=0, maximum=1)
    require("stopped_a", drives.stopped_a, minimum=0, maximum=1000, unit="A")
    parked = drives.driving <= 0
    most = float(charger_a[parked].max()) if parked.any() and charger_a.shape[1] else 0.0
    if most > LEAST_CHARGER_A:
        raise SizingError(
            "charger_a", value=most, unit="A", code="conflict", message="the charger takes current with the engine off"
        )


def outlook(
    battery: StarterBattery, drives: Drives, course: StarterCourse, standing_a: float, low_ratio: float = 0.0
) -> StarterOutlook:
    """What a person is told of it: of the worst weather, or of the one that so small a share are worse than.

    Parameters
    ----------
    battery : StarterBattery
        As simulated.
    drives : Drives
        As simulated.
    course : StarterCourse
        What came of it.
    standing_a : float
        Largest draw while parked. [A]
    low_ratio : float
        Share of the weathers that may be worse; 0: none is.
    """
    import numpy as np

    lowest = course.lowest_ratio.min(axis=0)
    member = int(np.argsort(lowest, kind="stable")[math.floor(low_ratio * (len(lowest) - 1))])
    per_day = course.idle_ah[:, member]
    day = round(24 / drives.step_h)
    whole = np.pad(per_day, (0, -len(per_day) % day)).reshape(-1, day).sum(axis=1)
    days = None
    if standing_a >= LEAST_STANDING_A:
        above = max(0.0, battery.full_ratio - battery.crank_charge_ratio)
        days = days_parked(battery.capacity_ah, 1 - above, standing_a)
    return StarterOutlook(
        lowest_ratio=float(lowest[member]),
        end_ratio=float(course.charge_ratio[-1, member]),
        no_crank=bool(lowest[member] < battery.crank_charge_ratio - 1e-12),
        idle_deficit_ah_day=float(whole.max(initial=0.0)),
        days_parked=days,
    )
