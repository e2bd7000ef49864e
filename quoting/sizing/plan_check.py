"""What places on the plan tell of the survey's lengths: a cable way cannot be shorter than the straight line."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quoting.sizing.brief import Position, Run, Vehicle
from quoting.sizing.trace import Finding

WITHIN_M = 0.05
"""Difference that is let pass: both places are taken with a tape to the nearest five centimetres. [m] C"""


@dataclass(frozen=True, slots=True)
class TooShort:
    """A run that is shorter than the straight line between its ends."""

    run: Run
    a: Position
    b: Position
    straight_m: float


def straight_m(a: Position, b: Position) -> float | None:
    """Distance on the plan between two places of one vehicle; ``None`` where one is not known. [m]

    Heights are not on the plan, so a way is at least that long.
    """
    if a.on_trailer != b.on_trailer or None in (a.x_m, a.y_m, b.x_m, b.y_m):
        return None
    return math.hypot(float(a.x_m or 0) - float(b.x_m or 0), float(a.y_m or 0) - float(b.y_m or 0))


def too_short(vehicle: Vehicle) -> tuple[TooShort, ...]:
    """Runs shorter than the straight line between two places that were measured, by more than a tape's reading."""
    spots = {p.key: p for p in vehicle.positions}
    found = []
    for run in vehicle.runs:
        a, b = spots[run.a], spots[run.b]
        straight = None if a.usual_place or b.usual_place else straight_m(a, b)
        if straight is not None and run.length_m + WITHIN_M < straight:
            found.append(TooShort(run, a, b, straight))
    return tuple(found)


def findings(vehicle: Vehicle) -> tuple[Finding, ...]:
    """A warning for each such run: either its length or one of the places is wrong."""
    return tuple(
        Finding(
            level="warning",
            code="run_under_straight",
            subject=f"{each.run.a}-{each.run.b}"[:60],
            params={
                "start": each.a.name,
                "end": each.b.name,
                "length_m": each.run.length_m,
                "straight_m": round(each.straight_m, 2),
            },
        )
        for each in too_short(vehicle)
    )
