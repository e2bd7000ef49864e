"""The drawing surface: millimetres with y down from the sheet's upper edge, onto one ReportLab Drawing.

Curves and broken lines are made of paths, never of ``shapes.Line``: the SVG side closes a Line, which fills the gaps of
a broken one.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

from reportlab.graphics import shapes
from reportlab.lib.colors import Color, HexColor
from reportlab.pdfbase.pdfmetrics import stringWidth

from quoting.drawings.placing import Rect

MM = 72 / 25.4
"""Points in a millimetre. [pt/mm]"""

INK = HexColor("#000000")
SECOND = HexColor("#595959")
HAIR = HexColor("#9a9a9a")
ACCENT = HexColor("#0a5957")
PALE = HexColor("#b3c9c7")
TINT = HexColor("#f0f0f0")
PAPER = HexColor("#ffffff")

THIN = 0.75
FEEDER = 1.05
HEAVY = 1.6
BAR = 3.2
LINK = 0.4
HAIRLINE = 0.35
"""Line weights. [pt]"""

TAG_PT = 7.5
NOTE_PT = 7.0
SYMBOL_PT = 6.0

Measure = Callable[[str, str, float], float]
"""Width of a text in a font at a size. [pt]"""
Point = tuple[float, float]

CAP_RATIO, DESCENT_RATIO = 0.75, 0.22
"""Height above and depth below the baseline over the size; Inter's capitals are 0.727, its descenders 0.2."""


def string_width(text: str, font: str, size_pt: float) -> float:
    """Width of a text in a font registered with ReportLab. [pt]"""
    return float(stringWidth(text, font, size_pt))


@dataclass(frozen=True, slots=True)
class Faces:
    """Font names as they are registered with ReportLab."""

    regular: str = "Inter"
    medium: str = "Inter-Medium"
    semibold: str = "Inter-SemiBold"


@dataclass(frozen=True, slots=True)
class Run:
    """A stretch of text in one weight and colour; ``gap_mm`` of white goes before it."""

    text: str
    bold: bool = False
    second: bool = False
    light: bool = False
    gap_mm: float = 0.0
    size_pt: float = NOTE_PT


@dataclass(slots=True)
class Pen:
    """Draws on one sheet.

    Parameters
    ----------
    width_mm, height_mm : float
        Size of the sheet. [mm]
    faces : Faces
        Fonts by name.
    measure : callable
        Width of a text; ReportLab's own by default, which needs the fonts registered. [pt]
    """

    width_mm: float
    height_mm: float
    faces: Faces = field(default_factory=Faces)
    measure: Measure = string_width
    drawing: Any = None
    widths: dict[tuple[str, str, float], float] = field(default_factory=dict)
    origin: Point = (0.0, 0.0)
    """Where (0, 0) lies on the sheet: a frame takes its room above and to the left. [mm]"""

    def __post_init__(self) -> None:
        if self.drawing is None:
            self.drawing = shapes.Drawing(self.width_mm * MM, self.height_mm * MM)

    def _xy(self, point: Point) -> Point:
        return (point[0] + self.origin[0]) * MM, (self.height_mm - point[1] - self.origin[1]) * MM

    def line(
        self,
        points: Sequence[Point],
        weight: float = THIN,
        colour: Color = INK,
        dash: Sequence[float] | None = None,
        closed: bool = False,
        fill: Color | None = None,
    ) -> None:
        """Draw straight pieces through the points; ``closed`` makes an area, which may be filled."""
        path = shapes.Path(
            strokeColor=colour if weight else None,
            strokeWidth=weight or 0,
            strokeLineCap=0,
            strokeLineJoin=0,
            strokeDashArray=list(dash) if dash else None,
            fillColor=fill,
        )
        path.moveTo(*self._xy(points[0]))
        for point in points[1:]:
            path.lineTo(*self._xy(point))
        if closed:
            path.closePath()
        self.drawing.add(path)

    def box(
        self,
        rect: Rect,
        weight: float = THIN,
        colour: Color = INK,
        dash: Sequence[float] | None = None,
        fill: Color | None = None,
    ) -> None:
        corners = [(rect.x0, rect.y0), (rect.x1, rect.y0), (rect.x1, rect.y1), (rect.x0, rect.y1)]
        self.line(corners, weight, colour, dash, closed=True, fill=fill)

    def circle(
        self, x: float, y: float, radius: float, weight: float = THIN, colour: Color = INK, fill: Color | None = None
    ) -> None:
        cx, cy = self._xy((x, y))
        stroke = colour if weight else None
        self.drawing.add(
            shapes.Circle(cx, cy, radius * MM, strokeColor=stroke, strokeWidth=weight or 0, fillColor=fill)
        )

    def ellipse(self, x: float, y: float, half_width: float, half_height: float, weight: float = THIN) -> None:
        cx, cy = self._xy((x, y))
        self.drawing.add(
            shapes.Ellipse(
                cx, cy, half_width * MM, half_height * MM, strokeColor=INK, strokeWidth=weight, fillColor=None
            )
        )

    def arc(self, x: float, y: float, radius: float, start_deg: float, end_deg: float, weight: float = THIN) -> None:
        """Draw an arc; degrees run against the clock from the right, as on paper."""
        cx, cy = self._xy((x, y))
        path = shapes.ArcPath(strokeColor=INK, strokeWidth=weight, strokeLineCap=0, fillColor=None)
        path.addArc(cx, cy, radius * MM, start_deg, end_deg)
        self.drawing.add(path)

    def dot(self, x: float, y: float, radius: float = 0.6) -> None:
        self.circle(x, y, radius, weight=0, fill=INK)

    def width_of(self, runs: Sequence[Run]) -> float:
        """Width of a text of several runs. [mm]"""
        return sum(run.gap_mm + self._wide(run) for run in runs)

    def _wide(self, run: Run) -> float:
        key = (run.text, self._face(run), run.size_pt)
        if key not in self.widths:
            self.widths[key] = self.measure(*key) / MM
        return self.widths[key]

    def rect_of(self, runs: Sequence[Run], x: float, y: float, anchor: str = "start") -> Rect:
        """Where a text on baseline ``y`` would stand. [mm]"""
        width = self.width_of(runs)
        left = x - {"start": 0.0, "middle": width / 2, "end": width}[anchor]
        size = max(run.size_pt for run in runs) / MM
        return Rect(left, y - CAP_RATIO * size, left + width, y + DESCENT_RATIO * size)

    def text(self, runs: Sequence[Run], x: float, y: float, anchor: str = "start") -> Rect:
        """Set a text on baseline ``y`` and return its rectangle. [mm]"""
        rect = self.rect_of(runs, x, y, anchor)
        at = rect.x0
        for run in runs:
            at += run.gap_mm
            px, py = self._xy((at, y))
            self.drawing.add(
                shapes.String(
                    px,
                    py,
                    run.text,
                    fontName=self._face(run),
                    fontSize=run.size_pt,
                    fillColor=PAPER if run.light else SECOND if run.second else INK,
                    textAnchor="start",
                )
            )
            at += self._wide(run)
        return rect

    def _face(self, run: Run) -> str:
        return self.faces.semibold if run.bold else self.faces.regular


def bold(text: str, size_pt: float = TAG_PT) -> Run:
    return Run(text, bold=True, size_pt=size_pt)


def plain_text(runs: Sequence[Run]) -> str:
    """The text as a person copies it from the sheet."""
    return "".join((" " if run.gap_mm > 0.6 else "") + run.text for run in runs).strip()
