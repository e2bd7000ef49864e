"""The frame of a sheet: numbers across, letters down, so that a reference can name a field (ISO 5457)."""

from __future__ import annotations

from quoting.drawings.canvas import Canvas
from quoting.drawings.layout import FRAME_LEFT_MM, FRAME_TOP_MM
from quoting.drawings.pen import HAIR, HAIRLINE, Run
from quoting.drawings.ports import LETTERS


def draw_frame(canvas: Canvas) -> None:
    """Draw two edges with the fields' names, and a short stroke between fields."""
    pen, (width, height), (across, down) = canvas.pen, canvas.known.size_mm, canvas.known.grid
    pen.line([(width - 0.2, -0.6), (-0.6, -0.6), (-0.6, height - 0.2)], HAIRLINE, HAIR)
    for index in range(across):
        x = (index + 0.5) * width / across
        pen.text((Run(str(index + 1), second=True),), x, -1.5, "middle")
        if index:
            edge = index * width / across
            pen.line([(edge, -FRAME_TOP_MM + 1.4), (edge, -0.6)], HAIRLINE, HAIR)
    for index in range(down):
        y = (index + 0.5) * height / down
        pen.text((Run(LETTERS[index], second=True),), -2.6, y + 0.9, "middle")
        if index:
            edge = index * height / down
            pen.line([(-FRAME_LEFT_MM + 1.4, edge), (-0.6, edge)], HAIRLINE, HAIR)
