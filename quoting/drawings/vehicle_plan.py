"""The vehicle from above, to scale: positions, what sits there, and the cable runs between them.

The front is at the left, the right side above; a trailer stands behind. A run is drawn straight along and across the
vehicle whatever its cable does; the length that is said is the cable's.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from quoting.drawings import plan_names, wording
from quoting.drawings.canvas import Canvas, Sheet
from quoting.drawings.pen import ACCENT, HAIR, INK, MM, Faces, Measure, Pen, Point, string_width
from quoting.drawings.placing import Rect, Register
from quoting.drawings.plan_body import LEFT_MM, Frame, body, draw_mark, front
from quoting.drawings.plan_discs import lengths, line_weight, numbers
from quoting.drawings.plan_foot import MARK_MM, foot
from quoting.drawings.plan_names import Band, Named
from quoting.drawings.plan_places import Placed, Spot, place
from quoting.drawings.plan_routes import Route, lay
from quoting.drawings.plan_rows import Designed, Lane, Nothing, lanes, sitting
from quoting.drawings.plan_space import placed_areas, roof
from quoting.sizing.brief import Vehicle
from quoting.sizing.errors import SizingError

PAPERS_MM = {"a4": (261.0, 168.0), "a3": (384.0, 261.0)}
"""What a landscape page leaves for a drawing. [mm]"""
SCALES = (10, 20, 25, 50, 75, 100, 200, 500)
"""Drawn small by so much; after ISO 5455, with 1:25 as workshops use it."""
RIGHT_MM, TOP_MM = 4.0, 1.0
"""Kept free behind the vehicle and above the names. [mm]"""
BAND_GAP_MM = 3.0
"""Between names and vehicle. [mm]"""
COUPLING_GAP_M = 0.25
"""Between the rear of the tow vehicle and the trailer's coupling, on the drawing. [m] C"""


@dataclass(frozen=True, slots=True)
class VehiclePlan:
    """The drawing and the figures that stand beside it."""

    sheet: Sheet
    scale: int
    lanes: tuple[Lane, ...]
    placed: Placed
    letters: dict[str, str]
    """By position, where its name did not fit on the drawing: what stands for it there. Empty otherwise."""
    centres_mm: dict[str, Point]
    """Where each position is on the sheet, from its upper left corner. [mm]"""
    origin_mm: Point
    """Where the middle of the front is on the sheet. [mm]"""


def draw_plan(
    vehicle: Vehicle,
    designed: Designed | None = None,
    *,
    paper: str = "a4",
    picked: str = "",
    words: wording.Words = wording.english,
    faces: Faces | None = None,
    measure: Measure = string_width,
) -> VehiclePlan:
    """Draw a vehicle, and the trailer behind it, from above.

    Parameters
    ----------
    vehicle : Vehicle
        With positions, runs and what is known of their places.
    designed : Designed, optional
        What sits where, and which circuits lie in which run.
    paper : str
        ``a4`` or ``a3``: the scale is the largest that fits, the sheet no higher than it must be.
    picked : str
        Tag of a circuit whose way is drawn out; the others go back.
    words, faces, measure
        As for ``single_line.sheets``.

    Returns
    -------
    VehiclePlan
        With ``sheet.unplaced`` empty when every text found a free place.

    Raises
    ------
    SizingError
        For a paper that is not known.
    """
    if paper not in PAPERS_MM:
        raise SizingError("paper", value=paper, code="not_a_choice")
    maker = _Maker(vehicle, designed or Nothing(), paper, picked, words, faces or Faces(), measure)
    return maker.made()


@dataclass(slots=True)
class _Maker:
    vehicle: Vehicle
    designed: Designed
    paper: str
    picked: str
    words: wording.Words
    faces: Faces
    measure: Measure

    def made(self) -> VehiclePlan:
        placed = place(self.vehicle)
        found = lanes(self.vehicle, placed, self.designed)
        named = [
            Named(s.position.key, s.position.name, sitting(self.designed, s.position.key), _letters(i))
            for i, s in enumerate(placed.spots)
        ]
        along = {False: 0.0, True: placed.tow.length_m + COUPLING_GAP_M}
        width, height = PAPERS_MM[self.paper]
        probe = self._canvas(width, height)
        at = [(along[s.position.on_trailer] + s.x_m, s.y_m) for s in placed.spots]
        above, below = plan_names.bands(probe, named, at, width - 1.0)
        notes = foot(probe, placed, found, width, has_roof=bool(placed_areas(self.vehicle)))
        rest = TOP_MM + above.height_mm + below.height_mm + 2 * BAND_GAP_MM + notes.height_mm
        wide_m = max(o.width_m for o in (placed.tow, placed.trailer) if o is not None)
        long_m = along[True] + (placed.trailer.length_m if placed.trailer else -COUPLING_GAP_M)
        scale = _scale(long_m, wide_m, width - LEFT_MM - RIGHT_MM, height - rest)
        body_mm = wide_m * 1000 / scale
        canvas = self._canvas(width, math.ceil(body_mm + rest))
        left = LEFT_MM + (width - LEFT_MM - RIGHT_MM - long_m * 1000 / scale) / 2
        top = TOP_MM + above.height_mm + BAND_GAP_MM
        frame = Frame(scale, left, top + body_mm / 2, along)
        self._draw(canvas, frame, placed, found, (above, below), (top, top + body_mm))
        notes.write(canvas, top + body_mm + BAND_GAP_MM + below.height_mm, scale)
        by_letter = [named[i] for band in (above, below) if band.by_letter for i in band.order]
        return VehiclePlan(
            canvas.sheet(),
            scale,
            found,
            placed,
            {each.key: each.letters for each in by_letter},
            {s.position.key: frame.point(s) for s in placed.spots},
            (frame.x(0.0, False), frame.middle),
        )

    def _canvas(self, width_mm: float, height_mm: float) -> Canvas:
        pen = Pen(width_mm, height_mm, self.faces, self.measure)
        return Canvas(pen, Register(Rect(0, 0, width_mm, height_mm)), self.words)

    def _draw(
        self,
        canvas: Canvas,
        frame: Frame,
        placed: Placed,
        found: tuple[Lane, ...],
        bands: tuple[Band, Band],
        edges: tuple[float, float],
    ) -> None:
        body(canvas, frame, placed.tow, on_trailer=False)
        if placed.trailer is not None:
            body(canvas, frame, placed.trailer, on_trailer=True)
        front(canvas, frame, placed.tow)
        roof(canvas, frame, self.vehicle, self.designed.panels)
        marks = [frame.point(s) for s in placed.spots]
        inside = Rect(frame.x(0.0, False), edges[0], canvas.pen.width_mm - RIGHT_MM, edges[1])
        routes = lay([(frame.point(lane.a), frame.point(lane.b)) for lane in found], marks, inside)
        halves = _halves(placed.spots, found, routes, marks)
        self._runs(canvas, found, routes)
        reach = [half[1] for half in halves]
        for band, edge, up in ((bands[0], edges[0] - BAND_GAP_MM, True), (bands[1], edges[1] + BAND_GAP_MM, False)):
            plan_names.write(canvas, band, marks, reach, edge, up=up)
        for spot, mark, half in zip(placed.spots, marks, halves, strict=True):
            _mark(canvas, spot, mark, half)
        discs = numbers(canvas, found, routes, self.picked)
        canvas.settle()
        lengths(canvas, found, discs)

    def _runs(self, canvas: Canvas, found: tuple[Lane, ...], routes: Sequence[Route]) -> None:
        order = sorted(range(len(found)), key=lambda i: self._is_picked(found[i]))
        for i in order:
            weight = line_weight(len(found[i].circuits))
            colour = INK if not self.picked else ACCENT if self._is_picked(found[i]) else HAIR
            weight = max(weight, 1.6) if self._is_picked(found[i]) else weight
            canvas.pen.line(routes[i], weight, colour, dash=(4, 2) if found[i].is_hitch else None)
            canvas.register.wire(routes[i], line_weight(len(found[i].circuits)) / MM)

    def _is_picked(self, lane: Lane) -> bool:
        return bool(self.picked) and any(c.tag == self.picked for c in lane.circuits)


def _scale(long_m: float, wide_m: float, room_mm: float, high_mm: float) -> int:
    """The largest scale that fits, or the smallest there is."""
    fitting = (
        s for s in SCALES if long_m * 1000 / s <= room_mm and math.ceil(wide_m * 1000 / s) <= math.floor(high_mm)
    )
    return next(fitting, SCALES[-1])


def _letters(index: int) -> str:
    """a, b ... z, aa, ab ..."""
    made = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        made = chr(ord("a") + rest) + made
    return made


def _halves(
    spots: Sequence[Spot], found: Sequence[Lane], routes: Sequence[Route], marks: Sequence[Point]
) -> list[tuple[float, float]]:
    """Half of each mark's width and height: wide enough for the runs that end there side by side. [mm]"""
    index = {s.position.key: i for i, s in enumerate(spots)}
    reach = [[MARK_MM, MARK_MM] for _ in spots]
    for lane, route in zip(found, routes, strict=True):
        for spot, end in ((lane.a, route[0]), (lane.b, route[-1])):
            i = index[spot.position.key]
            for axis in (0, 1):
                reach[i][axis] = max(reach[i][axis], abs(end[axis] - marks[i][axis]) + 0.8)
    return [(half[0], half[1]) for half in reach]


def _mark(canvas: Canvas, spot: Spot, mark: Point, half: tuple[float, float]) -> None:
    rect = Rect(mark[0] - half[0], mark[1] - half[1], mark[0] + half[0], mark[1] + half[1])
    draw_mark(canvas, spot.how, rect)
    canvas.register.add("symbol", rect)
