"""Roof areas and panels on the vehicle plan, and where each panel lies and each battery stands, in figures."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from quoting.drawings.canvas import Canvas
from quoting.drawings.pen import HAIR, HAIRLINE, SECOND
from quoting.drawings.placing import Rect
from quoting.drawings.plan_body import Frame
from quoting.sizing.appraisal import BatteryPlace, PanelPlace
from quoting.sizing.brief import Vehicle
from quoting.sizing.brief_choosing import RoofArea

ABOVE = (2.4, 1.6)
"""Broken line of what lies above the plane of the drawing. [pt]"""


@dataclass(frozen=True, slots=True)
class Laid:
    """One panel on its area, or one battery in its space: its near corner from the front and left edge, its sides."""

    place: str
    """Name of the area or space."""
    number: int
    """Counted on its area, from the front."""
    from_front: float
    from_left: float
    along: float
    across: float
    is_lengthwise: bool
    """Its longer side lies along the vehicle."""


def panels_laid(vehicle: Vehicle, panels: Sequence[PanelPlace]) -> tuple[Laid, ...]:
    """Panels by area and from the front. [m]"""
    rows = ((p.area, p.x_m, p.y_m, p.length_m, p.width_m) for p in panels)
    return _laid({area.key: area.name for area in vehicle.roof}, rows)


def batteries_stood(vehicle: Vehicle, batteries: Sequence[BatteryPlace]) -> tuple[Laid, ...]:
    """Batteries by space and from the front. [mm]"""
    rows = ((b.space, b.x_mm, b.y_mm, b.length_mm, b.width_mm) for b in batteries)
    return _laid({space.key: space.name for space in vehicle.battery_spaces}, rows)


def _laid(names: dict[str, str], rows: Iterable[tuple[str, float, float, float, float]]) -> tuple[Laid, ...]:
    order = {key: i for i, key in enumerate(names)}
    made: list[Laid] = []
    for key, x, y, along, across in sorted(rows, key=lambda row: (order[row[0]], row[1:])):
        number = 1 + sum(one.place == names[key] for one in made)
        made.append(Laid(names[key], number, x, y, along, across, along >= across))
    return tuple(made)


def placed_areas(vehicle: Vehicle) -> tuple[RoofArea, ...]:
    """Roof areas whose place on the vehicle was measured."""
    return tuple(area for area in vehicle.roof if area.x_m is not None and area.y_m is not None)


def roof(canvas: Canvas, frame: Frame, vehicle: Vehicle, panels: Sequence[PanelPlace]) -> None:
    """Draw the roof areas that have a place, broken as they lie above, with what stands in them and the panels."""
    for area in placed_areas(vehicle):
        assert area.x_m is not None
        assert area.y_m is not None
        front, left = area.x_m, area.y_m - area.width_m / 2

        def sheet(x: float, y: float, along: float, across: float, area: RoofArea = area, front: float = front,
                  left: float = left) -> Rect:  # fmt: skip
            x0, x1 = (frame.x(front + value, area.on_trailer) for value in (x, x + along))
            return Rect(x0, frame.y(left + y + across), x1, frame.y(left + y))

        for one in area.taken:
            canvas.pen.box(sheet(one.x_m, one.y_m, one.length_m, one.width_m), HAIRLINE, HAIR)
        for panel in panels:
            if panel.area == area.key:
                canvas.pen.box(
                    sheet(panel.x_m, panel.y_m, panel.length_m, panel.width_m), 0.6, SECOND, dash=ABOVE
                )  # fmt: skip
        canvas.pen.box(sheet(0, 0, area.length_m, area.width_m), 0.6, HAIR, dash=(5, 2, 1, 2))
