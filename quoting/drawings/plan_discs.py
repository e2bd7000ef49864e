"""A number on every cable run of the plan, and beside it how many circuits and how long. Millimetres."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from quoting.drawings import wording
from quoting.drawings.canvas import Canvas
from quoting.drawings.pen import HAIRLINE, MM, PAPER, Point, Run
from quoting.drawings.placing import Rect, Register, TextBox
from quoting.drawings.plan_routes import Route
from quoting.drawings.plan_rows import Lane

DISC_MM = 1.9
"""Radius of a run's number. [mm]"""


def line_weight(circuits: int) -> float:
    """Weight of a run's line by what lies in it. [pt]

    >>> [round(line_weight(n), 2) for n in (0, 1, 4, 100)]
    [0.5, 0.95, 1.4, 2.6]
    """
    return min(0.5 + 0.45 * math.sqrt(circuits), 2.6)


def _points(route: Route, shares: Sequence[float]) -> list[tuple[Point, bool]]:
    """Points along a route's pieces, the longest piece first, and whether that piece lies along the vehicle."""
    pieces = sorted(pairwise(route), key=lambda piece: -math.dist(*piece))
    return [
        ((p[0] + share * (q[0] - p[0]), p[1] + share * (q[1] - p[1])), abs(p[1] - q[1]) <= abs(p[0] - q[0]))
        for p, q in pieces
        for share in shares
    ]


ON_LINE = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.12, 0.88)
BESIDE_MM = (4.0, 5.5, 7.0, 9.0, 12.0, 16.0, 21.0, 27.0, 34.0)


@dataclass(frozen=True, slots=True)
class Disc:
    """A run's number; ``is_along`` where it stands on a piece along the vehicle."""

    centre: Point
    is_along: bool
    is_off: bool = False


def numbers(canvas: Canvas, found: Sequence[Lane], routes: Sequence[Route], picked: str) -> list[Disc]:
    """A disc with its number on every run, those with the least room first; beside it where it has none."""
    made: dict[int, Disc] = {}
    order = sorted(range(len(found)), key=lambda i: (max(math.dist(*piece) for piece in pairwise(routes[i])), i))
    for i in order:
        disc = made[i] = _disc(canvas, routes[i], line_weight(len(found[i].circuits)))
        if disc.is_off:
            nearest = min((p for p, _ in _points(routes[i], ON_LINE)), key=lambda p: math.dist(p, disc.centre))
            canvas.pen.line([nearest, disc.centre], HAIRLINE)
        canvas.pen.circle(*disc.centre, DISC_MM, weight=0.6, fill=PAPER)
        run = Run(str(found[i].number), bold=any(c.tag == picked for c in found[i].circuits), size_pt=6.0)
        rect = canvas.pen.text((run,), disc.centre[0], disc.centre[1] + 0.77, "middle")
        canvas.register.add("symbol", _around(disc.centre))
        canvas.register.texts.append(TextBox(run.text, rect))
    return [made[i] for i in range(len(found))]


def _around(centre: Point) -> Rect:
    return Rect(centre[0] - DISC_MM, centre[1] - DISC_MM, centre[0] + DISC_MM, centre[1] + DISC_MM)


def _disc(canvas: Canvas, route: Route, weight: float) -> Disc:
    """The best place for a run's number: on it and clear of all, on it and over a line, beside it."""
    own = Register(Rect(0, 0, 0, 0))
    own.wire(route, weight / MM)
    mine = {rect for _, rect in own.things}
    symbols = [rect for thing, rect in canvas.register.things if thing != "wire"]
    wires = [rect for thing, rect in canvas.register.things if thing == "wire" and rect not in mine]
    on = _points(route, ON_LINE)
    for barred in ([*symbols, *wires], symbols):
        for point, is_along in on:
            rect = _around(point).grown(0.2)
            if not any(rect.meets(each) for each in barred):
                return Disc(point, is_along)
    middle, is_along = on[0]
    for radius in BESIDE_MM:
        for turn in range(0, 360, 15):
            x, y = radius * math.cos(math.radians(turn)), radius * math.sin(math.radians(turn))
            point = middle[0] + x, middle[1] + y
            rect = _around(point).grown(0.2)
            if rect.inside(canvas.register.bounds) and not any(rect.meets(each) for each in (*symbols, *wires, *mine)):
                return Disc(point, is_along, is_off=True)
    canvas.register.unplaced.append(canvas.say("drawing.plan.run"))
    return Disc(middle, is_along)


def lengths(canvas: Canvas, found: Sequence[Lane], discs: Sequence[Disc]) -> None:
    """How many circuits and how long, at each number where there is room; the table says it in any case."""
    for lane, disc in zip(found, discs, strict=True):
        text = _length_runs(canvas, lane)
        x, y = disc.centre
        aside = DISC_MM + 0.6
        beside = [(x + aside, y + 0.77, "start"), (x - aside, y + 0.77, "end")]
        tries = [
            *[(x + side * aside, y - 1.2, "start" if side > 0 else "end") for side in (1, -1)],
            *[(x + side * aside, y + 2.6, "start" if side > 0 else "end") for side in (1, -1)],
        ]
        spots = [(canvas.pen.rect_of(text, *each), each) for each in (tries if disc.is_along else beside)]
        free = next((each for rect, each in spots if canvas.register.is_free(rect)), None)
        if free is not None:
            rect = canvas.pen.text(text, *free)
            canvas.register.add("text", rect)
            canvas.register.texts.append(TextBox("".join(run.text for run in text), rect))


def _length_runs(canvas: Canvas, lane: Lane) -> tuple[Run, ...]:
    digits = wording.digits_for(lane.length_m, 1)
    length = Run(canvas.say("number", value=lane.length_m, digits=digits), size_pt=6.0, second=True)
    unit = Run("m", second=True, gap_mm=0.4, size_pt=6.0)
    if not lane.circuits:
        return length, unit
    count = Run(f"{len(lane.circuits)}\u2009×", size_pt=6.0, second=True)
    return count, Run(length.text, second=True, gap_mm=0.9, size_pt=6.0), unit
