"""A plant and a course in the terms of the loop: everything that does not hang on the charge, worked out beforehand.

Charge is counted as the power that makes it in one step, so that no step length stands in the loop; flows are counted
as what the battery stores of them, charging positive.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from quoting.sizing.errors import SizingError, require
from quoting.sizing.simulation.plant import Course, Plant

if TYPE_CHECKING:
    from quoting.sizing.simulation.plant import Floats

MOST_TAKEN = 1 - 1e-12
"""Share of the room that a step may fill: under 1, so that rounding never fills a battery over full."""
MOST_W = 1e15
"""What stands for no limit, so that nothing times infinity is ever worked out. [W]"""


@dataclass(frozen=True, slots=True)
class Wells:
    """The two wells of Manwell and McGowan (1993) over one step: the available one ends at ``part`` of both, less flow.

    With a steady power P drawn over a step h and both wells together Q, the available well goes from y to
    y e^(-kh) + Q c (1 - e^(-kh)) - P ((1 - e^(-kh)) + c (kh - 1 + e^(-kh))) / k. The least and the most flow of a
    step are those that bring it to nothing and to its brim: it moves one way, or turns once away from the bound, so
    that the ends of a step bound it.
    """

    own: Floats
    """What is left of the available well, over ``pull``."""
    both: Floats
    """What flows to it of both, over ``pull``."""
    brim: Floats
    """The available well, full, over ``pull``."""
    pull: Floats
    """How far a flow of one watt moves it in the step."""
    per_brim: Floats


@dataclass(frozen=True, slots=True)
class Fixed:
    """What the loop asks of a plant. Arrays of shape ``(n,)`` or ``()``."""

    members: int
    steps: int
    full: Floats
    per_full: Floats
    taking: Floats
    """Share of the room near full that is filled in a step at the most."""
    efficiency: Floats
    charge_limit: Floats
    """Of what is stored. [W]"""
    floor: Floats
    """The limit of discharging, negative. [W]"""
    wells: Wells | None


def fixed(plant: Plant, course: Course) -> Fixed:
    """Work a plant out for one course's steps; refuse what no simulation can be made of.

    Raises
    ------
    SizingError
        For a step that is not over 0 and up to an hour, shapes that do not fit one another, or a number out of range.
    """
    h = require("step_h", course.step_h, minimum=1e-4, maximum=1, unit="h")
    require("start_ratio", plant.start_ratio, minimum=0, maximum=1)
    require("nominal_v", plant.nominal_v, minimum=1, maximum=1000, unit="V")
    steps, members = _shape(plant, course)
    energy = _in_range("energy_wh", plant.energy_wh, 0, 1e12, "Wh")
    efficiency = _in_range("charge_efficiency_ratio", plant.charge_efficiency_ratio, 0.01, 1)
    tail = _in_range("tail_h", plant.tail_h, 0, 100, "h")
    charge = _in_range("charge_limit_w", np.minimum(plant.charge_limit_w, MOST_W), 0, MOST_W, "W")
    give = _in_range("discharge_limit_w", np.minimum(plant.discharge_limit_w, MOST_W), 0, MOST_W, "W")
    share = _in_range("available_ratio", plant.available_ratio, 0.01, 1)
    full = energy / h
    return Fixed(
        members=members,
        steps=steps,
        full=_slim(full),
        per_full=_slim(_inverse(full)),
        taking=_slim(np.minimum(-np.expm1(-h / np.maximum(tail, 1e-9)), MOST_TAKEN)),
        efficiency=_slim(efficiency),
        charge_limit=_slim(charge * efficiency),
        floor=_slim(-give),
        wells=None if np.all(share == 1) else _wells(plant, share, full, h),
    )


def _wells(plant: Plant, share: Floats, full: Floats, h: float) -> Wells:
    """Where the available well is all there is, nothing of it is left behind and nothing is bound."""
    one = share == 1
    rate = np.where(one, 1.0, plant.well_rate_per_h)
    rate = _in_range("well_rate_per_h", rate, 1e-6, 1e4, "1/h")
    kh = rate * h
    gone = -np.expm1(-kh)
    own = np.where(one, 0.0, 1 - gone)
    both = np.where(one, 1.0, share * gone)
    pull = np.where(one, 1.0, (gone + share * (kh - gone)) / kh)
    brim = share * full
    return Wells(*(_slim(x) for x in (own / pull, both / pull, brim / pull, pull, _inverse(brim))))


def _shape(plant: Plant, course: Course) -> tuple[int, int]:
    steps, members = course.load_w.shape[0], 1
    if len(course.shed_w) != len(plant.sheds):
        raise SizingError("shed_w", code="conflict", message="as many loads as shed groups are needed")
    for name, array in rows_of(course):
        if array.ndim != 2 or array.shape[0] != steps or array.shape[1] < 1:
            raise SizingError(name, code="conflict", message=f"its shape {array.shape} is not ({steps}, members)")
        members = max(members, array.shape[1])
    for name, array in _columns_of(plant):
        if array.ndim != 1 or array.shape[0] < 1:
            raise SizingError(name, code="conflict", message=f"its shape {array.shape} is not (members,)")
        members = max(members, array.shape[0])
    for name, array in (*rows_of(course), *_columns_of(plant)):
        if array.shape[-1] not in (1, members):
            raise SizingError(name, code="conflict", message=f"it has {array.shape[-1]} members, others {members}")
        if (
            array.shape[-1] == 1
            and not np.isfinite(array).all()
            and name not in ("charge_limit_w", "discharge_limit_w")
        ):
            raise SizingError(name, value=float("nan"), code="not_a_number")
    if steps < 1:
        raise SizingError("load_w", code="conflict", message="there are no steps")
    return steps, members


def rows_of(course: Course) -> tuple[tuple[str, Floats], ...]:
    """Every array of a course with its name."""
    names = ("load_w", "essential_w", "engine_w", "mains_w", "sun_w", "charge_share", "resistance_ratio", "peak_w")
    return (*((name, getattr(course, name)) for name in names), *(("shed_w", x) for x in course.shed_w))


def _columns_of(plant: Plant) -> tuple[tuple[str, Floats], ...]:
    names = (
        "energy_wh", "charge_limit_w", "discharge_limit_w", "charge_efficiency_ratio", "tail_h", "available_ratio",
        "well_rate_per_h",
    )  # fmt: skip
    known = () if plant.resistance_ohm is None else (("resistance_ohm", plant.resistance_ohm),)
    return (*((name, getattr(plant, name)) for name in names), *known)


def _in_range(name: str, values: Floats, low: float, high: float, unit: str = "") -> Floats:
    bad = ~((values >= low) & (values <= high))
    if bad.any():
        raise SizingError(name, value=float(values[bad][0]), minimum=low, maximum=high, unit=unit)
    return np.asarray(values, dtype=np.float64)


def _slim(values: Floats) -> Floats:
    """One number without an axis: numpy works with it on a row at twice the speed of an axis of one."""
    return values.reshape(()) if values.shape == (1,) else values


def _inverse(values: Floats) -> Floats:
    """One over it; 0 where there is nothing."""
    return np.divide(1.0, values, out=np.zeros_like(values), where=values > 0)
