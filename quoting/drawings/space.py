"""Roof areas and battery spaces from above, to scale: what stands in them, and what lies or stands there by design.

The front is at the left and the vehicle's right side above, as on the vehicle plan.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from quoting.drawings import wording
from quoting.drawings.canvas import Sheet
from quoting.drawings.pen import ACCENT, HAIR, HAIRLINE, INK, PALE, THIN, TINT, Faces, Measure, Pen, Run, string_width
from quoting.drawings.placing import Rect
from quoting.sizing.appraisal import BatteryPlace, PanelPlace
from quoting.sizing.brief_choosing import BatterySpace, RoofArea

WIDTH_MM = 132.0
LEFT_MM, HEAD_MM, GAP_MM, FOOT_MM = 9.0, 6.5, 5.0, 5.5
SCALES = (2, 5, 10, 20, 25, 50, 75, 100, 200)
LABEL_PT, SMALL_PT = 7.5, 6.0


@dataclass(frozen=True, slots=True)
class Floor:
    """A rectangle with rectangles in it: x from its front edge, y from its left edge. [m]"""

    name: str
    length_m: float
    width_m: float
    taken: tuple[Rect, ...] = ()
    pieces: tuple[Rect, ...] = ()


def of_roof(areas: Sequence[RoofArea], panels: Sequence[PanelPlace] = ()) -> tuple[Floor, ...]:
    """Roof areas with the panels that lie on them."""
    return tuple(
        Floor(
            area.name,
            area.length_m,
            area.width_m,
            tuple(Rect(t.x_m, t.y_m, t.x_m + t.length_m, t.y_m + t.width_m) for t in area.taken),
            tuple(
                Rect(p.x_m, p.y_m, p.x_m + p.length_m, p.y_m + p.width_m) for p in panels if p.area == area.key
            ),
        )
        for area in areas
    )  # fmt: skip


def of_spaces(spaces: Sequence[BatterySpace], batteries: Sequence[BatteryPlace] = ()) -> tuple[Floor, ...]:
    """Battery spaces with the batteries that stand in them."""
    return tuple(
        Floor(
            space.name,
            space.length_mm / 1000,
            space.width_mm / 1000,
            pieces=tuple(
                Rect(*(v / 1000 for v in (b.x_mm, b.y_mm, b.x_mm + b.length_mm, b.y_mm + b.width_mm)))
                for b in batteries
                if b.space == space.key
            ),
        )
        for space in spaces
    )


def draw_space(
    floors: Sequence[Floor],
    *,
    in_mm: bool = False,
    words: wording.Words = wording.english,
    faces: Faces | None = None,
    measure: Measure = string_width,
) -> tuple[Sheet, int]:
    """Draw floors one under another to one scale, and say which.

    Parameters
    ----------
    floors : sequence of Floor
        At least one. [m]
    in_mm : bool
        Say sizes in millimetres instead of metres.
    words, faces, measure
        As for ``single_line.sheets``.

    Returns
    -------
    tuple of Sheet and int
        The drawing, and how many times smaller than life it is.
    """
    scale = _scale(max(f.length_m for f in floors))
    high = sum(f.width_m * 1000 / scale + HEAD_MM + GAP_MM for f in floors) + FOOT_MM
    pen = Pen(WIDTH_MM, high, faces or Faces(), measure)
    top = HEAD_MM
    for floor in floors:
        _floor(pen, floor, top, scale, in_mm, words)
        top += floor.width_m * 1000 / scale + HEAD_MM + GAP_MM
    said = [Run(words("drawing.plan.scale", scale=scale), second=True, size_pt=SMALL_PT)]
    pen.text(said, LEFT_MM, high - 1.5)
    return Sheet(pen.drawing, (), (), WIDTH_MM, high), scale


def _floor(pen: Pen, floor: Floor, top: float, scale: int, in_mm: bool, words: wording.Words) -> None:
    def sheet(rect: Rect) -> Rect:
        """Metres from the front and left edge to the sheet: the left edge is below."""
        low = top + floor.width_m * 1000 / scale
        x0, x1 = (LEFT_MM + x * 1000 / scale for x in (rect.x0, rect.x1))
        return Rect(x0, low - rect.y1 * 1000 / scale, x1, low - rect.y0 * 1000 / scale)

    whole = sheet(Rect(0, 0, floor.length_m, floor.width_m))
    size = Run(_sides(words, floor.length_m, floor.width_m, in_mm), second=True, gap_mm=1.6, size_pt=LABEL_PT)
    pen.text([Run(floor.name, bold=True, size_pt=LABEL_PT), size], LEFT_MM, top - 1.8)
    for one in floor.pieces:
        rect = sheet(one)
        pen.box(rect, THIN, ACCENT, fill=PALE)
        _size_inside(pen, one, rect, in_mm, words)
    for one in floor.taken:
        rect = sheet(one)
        pen.box(rect, HAIRLINE, INK, fill=TINT)
        pen.line([(rect.x0, rect.y0), (rect.x1, rect.y1)], HAIRLINE, HAIR)
        pen.line([(rect.x0, rect.y1), (rect.x1, rect.y0)], HAIRLINE, HAIR)
    pen.box(whole, THIN)
    middle, tip = (whole.y0 + whole.y1) / 2, 1.5
    pen.line([(LEFT_MM - 2.0, middle), (tip, middle)], HAIRLINE)
    pen.line([(tip + 1.6, middle - 0.9), (tip, middle), (tip + 1.6, middle + 0.9)], HAIRLINE)
    front = [Run(words("drawing.plan.front"), second=True, size_pt=SMALL_PT)]
    pen.text(front, 0.5, middle - 1.6)


def _size_inside(pen: Pen, one: Rect, rect: Rect, in_mm: bool, words: wording.Words) -> None:
    """The sides of a piece in its middle, where they have room."""
    said = [Run(_sides(words, one.x1 - one.x0, one.y1 - one.y0, in_mm), size_pt=SMALL_PT)]
    if pen.width_of(said) < rect.x1 - rect.x0 - 1 and rect.y1 - rect.y0 > 4:
        pen.text(said, (rect.x0 + rect.x1) / 2, (rect.y0 + rect.y1) / 2 + 0.8, "middle")


def _sides(words: wording.Words, length_m: float, width_m: float, in_mm: bool) -> str:
    """Two sides with their unit: metres with two decimals, or whole millimetres."""
    factor, digits = (1000, 0) if in_mm else (1, 2)
    length, width = (words("number", value=side * factor, digits=digits) for side in (length_m, width_m))
    return words("drawing.space.sides_mm" if in_mm else "drawing.space.sides_m", length=length, width=width)


def _scale(long_m: float) -> int:
    """The largest scale that fits the sheet, or the smallest there is."""
    room = WIDTH_MM - LEFT_MM - 1
    return next((s for s in SCALES if long_m * 1000 / s <= room), SCALES[-1])
