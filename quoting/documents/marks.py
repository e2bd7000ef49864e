"""What somebody fills in by hand: a line to write on, a box to tick."""

from __future__ import annotations

from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from quoting.documents import fonts
from quoting.documents.text import INK, shortened


class Line(Flowable):  # type: ignore[misc]
    """A line to write on, 14 mm under what stands above it."""

    def __init__(self, width: float, value: str, size: float) -> None:
        super().__init__()
        self.line_width, self.value, self.size = width, value, size

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        self.width, self.height = self.line_width, 14 * mm
        return self.width, self.height

    def draw(self) -> None:
        if self.value:
            self.canv.setFont(fonts.REGULAR, self.size)
            self.canv.setFillColor(HexColor(INK))
            self.canv.drawString(0, 1.4 * mm, shortened(self.value, self.line_width, size=self.size))
        self.canv.setStrokeColor(HexColor(INK))
        self.canv.setLineWidth(0.6)
        self.canv.line(0, 0, self.line_width, 0)


class Box(Flowable):  # type: ignore[misc]
    """A box to tick, 3.2 mm, as high as a line of text."""

    def __init__(self, ticked: bool = False, crossed: bool = False, leading: float = 11.34) -> None:
        super().__init__()
        self.ticked, self.crossed, self.leading = ticked, crossed, leading

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        self.width, self.height = 3.2 * mm, self.leading
        return self.width, self.height

    def draw(self) -> None:
        canvas, side = self.canv, 3.2 * mm
        y = (self.leading - side) / 2
        canvas.setStrokeColor(HexColor(INK))
        canvas.setFillColor(HexColor("#ffffff"))
        canvas.setLineWidth(0.6)
        canvas.rect(0, y, side, side, stroke=1, fill=1)
        canvas.setLineWidth(1.3)
        canvas.setLineCap(1)
        if self.ticked:
            points = [(0.7, 1.6), (1.35, 0.85), (2.6, 2.55)]
            path = canvas.beginPath()
            path.moveTo(points[0][0] * mm, y + points[0][1] * mm)
            for px, py in points[1:]:
                path.lineTo(px * mm, y + py * mm)
            canvas.drawPath(path, stroke=1, fill=0)
        elif self.crossed:
            canvas.line(0.8 * mm, y + 0.8 * mm, 2.4 * mm, y + 2.4 * mm)
            canvas.line(0.8 * mm, y + 2.4 * mm, 2.4 * mm, y + 0.8 * mm)
