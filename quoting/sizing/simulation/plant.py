"""What the trip simulation works on and what it gives: plain arrays, many members side by side.

A member is one candidate system in one weather. Members lie along the last axis, ``n`` of them; time runs along the
first, ``steps`` of it. A value that is the same for all members may have one column instead of ``n``. Energy is counted
at the bank's nominal voltage, as everywhere in the sizing: a watt-hour here is an ampere-hour times ``nominal_v``.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from catalog.kinds.capabilities import Curve

if TYPE_CHECKING:
    from numpy import bool_, float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]
    Flags = NDArray[bool_]


@dataclass(frozen=True, slots=True)
class ShedGroup:
    """Loads that are let go together: under a state of charge as the monitor reads it, or by the voltage backstop."""

    below_ratio: float
    restore_ratio: float
    """State of charge, over ``below_ratio``, at which it comes back; at 0.99, shown as full, in any case."""
    keys: tuple[str, ...] = ()
    """Of the loads in it."""


@dataclass(frozen=True, slots=True)
class Plant:
    """The system, or candidates side by side. Every array has shape ``(n,)`` or ``(1,)``."""

    energy_wh: Floats
    """Full, as it is now (worn if it is worn). [Wh]"""
    charge_limit_w: Floats
    discharge_limit_w: Floats
    charge_efficiency_ratio: Floats
    """Stored of what goes in."""
    tail_h: Floats
    """Time constant of the current near full. [h]"""
    nominal_v: float
    available_ratio: Floats
    """Width c of the available well of the kinetic model; 1: one well, nothing bound."""
    well_rate_per_h: Floats
    """Constant k of the kinetic model, unused where c is 1. [1/h]"""
    open_circuit: Curve = ()
    """State of charge against resting voltage of the bank. [V] Empty: no voltage is worked out."""
    resistance_ohm: Floats | None = None
    """Of the bank, warm. ``None``: not known, and no voltage is worked out."""
    cutoff_v: float = 0.0
    """Under this its own protection opens: nothing is given in that step. [V]"""
    backstop_v: float = 0.0
    """Voltage at which every shed group is let go whatever the monitor reads; 0: there is no backstop. [V]"""
    backstop_restore_v: float = 0.0
    backstop_delay_h: float = 0.0
    """How long it must be under. Steps shorter than this wait; longer ones act at their own end. [h]"""
    monitor_drift_per_day: float = 0.0
    """How much too high the monitor reads after a day without a full charge. [1/day] A full charge sets it right."""
    sheds: tuple[ShedGroup, ...] = ()
    start_ratio: float = 1.0


@dataclass(frozen=True, slots=True)
class Course:
    """What the trip asks and offers, step by step. Every array has shape ``(steps, n)`` or ``(steps, 1)``. [W]"""

    step_h: float
    load_w: Floats
    """All loads, sheddable ones and the parts' own draw included."""
    essential_w: Floats
    """The part of ``load_w`` that is essential, of loads that are never shed."""
    shed_w: tuple[Floats, ...]
    """The part of ``load_w`` in each group of ``Plant.sheds``, in the same order."""
    engine_w: Floats
    mains_w: Floats
    sun_w: Floats
    """What each source could put into battery and loads, after its own losses."""
    charge_share: Floats
    """Share of its charging limit that the battery takes, by its cells' temperature. [0..1]"""
    resistance_ratio: Floats
    """Resistance at the cells' temperature over warm."""
    peak_w: Floats
    """Largest running power at one time in that step, for the voltage under it."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of it. Arrays have shape ``(steps, n)``; powers are means over the step. [W]

    Powers and charge that were not asked for have no rows.
    """

    charge_ratio: Floats
    """At the end of each step."""
    given_w: Floats
    unserved_w: Floats
    """Asked, not shed, and not given."""
    dark_w: Floats
    """The essential part of what was not given."""
    shed_w: Floats
    charge_w: Floats
    """Into the battery's posts."""
    discharge_w: Floats
    loss_w: Floats
    """Lost in the battery."""
    taken_w: Floats
    """Of all sources together."""
    off: tuple[Flags, ...]
    """Of each shed group: it was off in that step."""
    volts_v: Floats | None = None
    """At the posts under the step's largest running power. ``None`` where no voltage is worked out."""
    opened: Flags | None = None
    """The battery's own protection was open."""
    let_go: Flags | None = None
    """The voltage backstop held every shed group off in that step. ``None`` where there is none."""
    monitor_error: Floats | None = None
    """What the monitor reads over the truth, at the end of each step. ``None`` without drift."""
    notes: dict[str, float] = field(default_factory=dict)
