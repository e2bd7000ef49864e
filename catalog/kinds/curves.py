"""Checks on what senders state: a curve that can be read backwards, from a resistance to what it means. Pure."""

from __future__ import annotations

from itertools import pairwise

from catalog.kinds.base import Field, Problem, Spec
from catalog.kinds.common import Check, conflict


def readable_backwards(field: Field) -> Check:
    """A check that a curve has two points and runs one way, so that each resistance has one meaning."""

    def check(spec: Spec) -> tuple[Problem, ...]:
        points = spec.get(field.name) or ()
        if not points:
            return ()
        if len(points) < 2:
            return conflict(field.name, f"{field.label}: one point is no curve; it needs at least 2.")
        rising = points[1][1] > points[0][1]
        for (x0, y0), (x1, y1) in pairwise(points):
            if y1 == y0 or (y1 > y0) != rising:
                return conflict(
                    field.name,
                    f"{field.label} must rise or fall all the way: {_at(field, x0, y0)} is followed by "
                    f"{_at(field, x1, y1)}.",
                )
        return ()

    return check


def _at(field: Field, x: float, y: float) -> str:
    return f"{y:g} {field.unit} at {x * field.x_shown_factor:g} {field.x_shown_unit}"
