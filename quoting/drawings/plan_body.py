"""A vehicle's outline on the plan, its front, and the way from metres to millimetres on the sheet."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quoting.drawings import plan_names
from quoting.drawings.canvas import Canvas, Piece
from quoting.drawings.pen import INK, MM, PAPER, Point, Run
from quoting.drawings.placing import Rect
from quoting.drawings.plan_places import Outline, Spot

LEFT_MM = 13.0
"""Kept free before the front, for the arrow to it. [mm]"""
OUTLINE_PT = 1.05
SIDE_PT = 6.5


@dataclass(frozen=True, slots=True)
class Frame:
    """From metres in a vehicle's own frame to millimetres on the sheet."""

    scale: int
    left: float
    middle: float
    along: dict[bool, float]

    def x(self, x_m: float, on_trailer: bool) -> float:
        return self.left + (self.along[on_trailer] + x_m) * 1000 / self.scale

    def y(self, y_m: float) -> float:
        return self.middle - y_m * 1000 / self.scale

    def point(self, spot: Spot) -> Point:
        return self.x(spot.x_m, spot.position.on_trailer), self.y(spot.y_m)


def body(canvas: Canvas, frame: Frame, outline: Outline, *, on_trailer: bool) -> None:
    x0, x1 = frame.x(outline.drawbar_m, on_trailer), frame.x(outline.length_m, on_trailer)
    y0, y1 = frame.y(outline.width_m / 2), frame.y(-outline.width_m / 2)
    blunt = min(0.12 * outline.width_m, 0.25) * 1000 / frame.scale
    nose = blunt if outline.drawbar_m else 2.2 * blunt
    corners = _rounded(Rect(x0, y0, x1, y1), nose, blunt)
    canvas.pen.line(corners, OUTLINE_PT, closed=True)
    canvas.register.wire([*corners, corners[0]], OUTLINE_PT / MM)
    if outline.drawbar_m:
        tip = frame.x(0.0, on_trailer), frame.middle
        reach = 0.28 * (y1 - y0)
        for y in (frame.middle - reach, frame.middle + reach):
            canvas.pen.line([tip, (x0, y)], OUTLINE_PT)
            canvas.register.wire([tip, *plan_names.between(tip, (x0, y))], OUTLINE_PT / MM)
        canvas.pen.circle(*tip, 0.9, weight=0.75, fill=PAPER)


def _rounded(rect: Rect, front: float, rear: float) -> list[Point]:
    """A box with round corners as straight pieces, from the upper left one on."""
    turns = (
        (rect.x0 + front, rect.y0 + front, front, 180),
        (rect.x1 - rear, rect.y0 + rear, rear, 270),
        (rect.x1 - rear, rect.y1 - rear, rear, 0),
        (rect.x0 + front, rect.y1 - front, front, 90),
    )
    return [
        (x + r * math.cos(math.radians(start + 6 * k)), y + r * math.sin(math.radians(start + 6 * k)))
        for x, y, r, start in turns
        for k in range(16)
    ]


def front(canvas: Canvas, frame: Frame, tow: Outline) -> None:
    """An arrow to the front, and which side is which."""
    tip = frame.x(0.0, False) - LEFT_MM + 4.0
    canvas.pen.line([(tip + 6.5, frame.middle), (tip, frame.middle)], 0.75)
    canvas.pen.line([(tip + 2.2, frame.middle - 1.1), (tip, frame.middle), (tip + 2.2, frame.middle + 1.1)], 0.75)
    canvas.register.add("symbol", Rect(tip, frame.middle - 1.1, tip + 6.5, frame.middle + 1.1))
    half = tow.width_m / 2
    for code, y, step in (
        ("drawing.plan.front", frame.middle - 2.0, -1.0),
        ("drawing.plan.right", frame.y(half) + 2.4, 1.0),
        ("drawing.plan.left", frame.y(-half), -1.0),
    ):
        run = Run(canvas.say(code), second=True, size_pt=SIDE_PT)
        x = frame.x(0.0, False) - 2.0
        canvas.text(1, [(Piece((run,), x, y + step * k, "end"),) for k in range(int(half * 1000 / frame.scale))])


def draw_mark(canvas: Canvas, how: str, rect: Rect) -> None:
    """Filled where it was measured, empty at a usual place, broken where the lengths of the cables put it."""
    fill = INK if how == "measured" else PAPER
    canvas.pen.box(rect, 0.9, dash=(1.6, 1.2) if how == "lengths" else None, fill=fill)
