"""The vehicle plan for pages: drawn once for what it shows, with every figure of it in tables beside."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.core.cache import cache
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from pydantic import ValidationError

from catalog.quantities import format_number
from fitouts.models import Vehicle, VehiclePosition, VehicleRun
from quoting.documents import fonts
from quoting.drawings import svg
from quoting.drawings.plan_places import Spot
from quoting.drawings.plan_rows import Lane, sitting
from quoting.drawings.plan_space import Laid, batteries_stood, panels_laid
from quoting.drawings.space import of_roof, of_spaces
from quoting.drawings.vehicle_plan import VehiclePlan, draw_plan
from quoting.models import Design
from quoting.queries.shown import Shown, shown
from quoting.queries.space import SpaceFigure, figure
from quoting.services import designs
from quoting.services.brief_vehicle import surveyed
from quoting.sizing.appraisal import Appraisal, Circuit
from quoting.sizing.brief import Vehicle as SizedVehicle
from quoting.sizing.wiring_records import SleeveUse
from quoting.words import drawing_words

KEPT_S = 24 * 3600
DRAWN = 4
"""Part of the key that a drawing is kept under: raised with a change of how it is drawn."""

HOW_WORDS = {
    "measured": lambda: _("measured"),
    "usual": lambda: _("usual place, not measured"),
    "lengths": lambda: _("by cable lengths, not measured"),
}


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing as a page shows it, and what a script needs to set a place on it. [mm]"""

    svg: str
    scale: int
    width_mm: float
    height_mm: float
    front_mm: float
    middle_mm: float

    @property
    def drawing(self) -> SafeString:
        return mark_safe(self.svg)  # noqa: S308 our own drawing; every typed text in it is escaped by to_svg


@dataclass(frozen=True, slots=True)
class SpotRow:
    """A position: where it is, how that is known, what sits there."""

    key: str
    name: str
    x: Shown | None
    y: Shown | None
    how: str
    is_measured: bool
    tags: tuple[str, ...]
    letters: str
    at_m: tuple[float, float]


@dataclass(frozen=True, slots=True)
class TagLink:
    tag: str
    name: str
    area: Shown | None
    is_picked: bool


@dataclass(frozen=True, slots=True)
class LaneRow:
    """A cable run: its length, what lies in it, the conduit it is laid in."""

    number: int
    start: str
    end: str
    length: Shown | None
    straight: Shown | None
    is_too_short: bool
    is_hitch: bool
    circuits: tuple[TagLink, ...]
    conduits: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LaidRow:
    """A panel on its roof area, or a battery in its space."""

    place: str
    number: int
    from_front: Shown
    from_left: Shown
    along: Shown
    across: Shown


@dataclass(frozen=True, slots=True)
class PlanPage:
    figure: Figure
    spots: tuple[SpotRow, ...]
    lanes: tuple[LaneRow, ...]
    picked: Circuit | None = None
    panels: tuple[LaidRow, ...] = ()
    batteries: tuple[LaidRow, ...] = ()
    roof: SpaceFigure | None = None
    boxes: SpaceFigure | None = None

    @property
    def all_by(self) -> str:
        """How every place is known, where none is measured and all are known alike: said once then."""
        known = {spot.how for spot in self.spots}
        return known.pop() if len(known) == 1 and not self.spots[0].is_measured else ""

    @property
    def short(self) -> tuple[LaneRow, ...]:
        """Runs shorter than the straight line between two measured places."""
        return tuple(lane for lane in self.lanes if lane.is_too_short)


def plan_page(design: Design, tag: str = "") -> PlanPage:
    """The plan of a design; ``tag`` of a circuit draws its way out, any other is no circuit."""
    appraisal, brief = designs.appraisal_of(design), designs.brief_of(design)
    picked = next((c for c in appraisal.circuits if c.tag == tag), None)
    key = f"{design.pk}:{design.key}:{picked.tag if picked else ''}"
    title = _("Vehicle plan of design %(number)d") % {"number": design.number}
    return _page(brief.vehicle, appraisal, key, title, picked)


def survey_plan(vehicle: Vehicle, positions: Iterable[VehiclePosition], runs: Iterable[VehicleRun]) -> PlanPage | None:
    """The plan of a vehicle as surveyed; nothing while it has no position, or a value no plan can show."""
    try:
        sized = surveyed(vehicle, positions, runs, vehicle.roof_areas.all())
    except ValidationError:
        return None  # kept before today's limits: its form says what is wrong
    if sized is None:
        return None
    key = hashlib.sha256(sized.model_dump_json().encode()).hexdigest()
    return _page(sized, None, key, _("Plan of the vehicle"), None)


def _page(vehicle: SizedVehicle, appraisal: Appraisal | None, key: str, title: str, picked: Circuit | None) -> PlanPage:
    key = f"plan:{DRAWN}:{key}:{get_language()}"
    made: PlanPage | None = cache.get(key)
    if made is None:
        fonts.register()
        plan = draw_plan(vehicle, appraisal, picked=picked.tag if picked else "", words=drawing_words)
        sleeves = appraisal.sleeves if appraisal is not None else ()
        made = PlanPage(
            figure=_figure(plan, title),
            spots=tuple(_spot(plan, spot, appraisal) for spot in plan.placed.spots),
            lanes=tuple(_lane(lane, sleeves, picked) for lane in plan.lanes),
            picked=picked,
            **(_space(vehicle, appraisal) if appraisal is not None else {}),
        )
        cache.set(key, made, KEPT_S)
    return made


def _space(vehicle: SizedVehicle, appraisal: Appraisal) -> dict[str, Any]:
    """Where panels lie and batteries stand, drawn and in figures."""
    roof = figure(of_roof(vehicle.roof, appraisal.panels), _("Roof from above"), _("Panels on the roof"))
    spaces = of_spaces(vehicle.battery_spaces, appraisal.batteries)
    boxes = figure(spaces, _("Battery spaces from above"), _("Batteries in their spaces"), in_mm=True)
    return {
        "panels": tuple(_laid(one, 2, "m") for one in panels_laid(vehicle, appraisal.panels)),
        "batteries": tuple(_laid(one, 0, "mm") for one in batteries_stood(vehicle, appraisal.batteries)),
        "roof": roof,
        "boxes": boxes,
    }


def _laid(one: Laid, digits: int, unit: str) -> LaidRow:
    sides = (one.from_front, one.from_left, one.along, one.across)
    return LaidRow(one.place, one.number, *(Shown(format_number(value, digits), unit) for value in sides))


def _figure(plan: VehiclePlan, title: str) -> Figure:
    words = _("%(positions)d positions and %(runs)d cable runs, to scale; the tables beside say the same in figures.")
    words %= {"positions": len(plan.placed.spots), "runs": len(plan.lanes)}
    sheet = plan.sheet
    front, middle = plan.origin_mm
    drawn = svg.to_svg(sheet.drawing, title, words)
    return Figure(drawn, plan.scale, sheet.width_mm, sheet.height_mm, front, middle)


def _spot(plan: VehiclePlan, spot: Spot, appraisal: Appraisal | None) -> SpotRow:
    key = spot.position.key
    return SpotRow(
        key=key,
        name=name_of(spot),
        x=_metres(spot.x_m),
        y=_metres(spot.y_m),
        how=str(HOW_WORDS[spot.how]()),
        is_measured=spot.how == "measured",
        tags=sitting(appraisal, key) if appraisal is not None else (),
        letters=plan.letters.get(key, ""),
        at_m=(spot.x_m, spot.y_m),
    )


def _metres(value_m: float) -> Shown:
    """Metres with the decimals of the paper, so that a column lines up."""
    return Shown(format_number(value_m, 2), "m")


def name_of(spot: Spot) -> str:
    """A position's name, with the trailer before it where it is there."""
    return _("Trailer: %s") % spot.position.name if spot.position.on_trailer else spot.position.name


def _lane(lane: Lane, sleeves: Iterable[SleeveUse], picked: Circuit | None) -> LaneRow:
    ends = {lane.a.position.key, lane.b.position.key}
    return LaneRow(
        number=lane.number,
        start=name_of(lane.a),
        end=name_of(lane.b),
        length=_metres(lane.length_m),
        straight=_metres(lane.straight_m) if lane.straight_m is not None else None,
        is_too_short=lane.is_too_short,
        is_hitch=lane.is_hitch,
        circuits=tuple(
            TagLink(c.tag, c.name, shown(c.area_mm2, "mm²"), picked is not None and c.tag == picked.tag)
            for c in lane.circuits
        ),
        conduits=tuple(conduit_words(use) for use in sleeves if {use.a, use.b} == ends),
    )


def conduit_words(use: SleeveUse) -> str:
    """A conduit with how many lie side by side and how full the fullest is."""
    if not use.part or use.fill_ratio is None:
        return _("none chosen, %(count)d conductors") % {"count": use.conductors}
    name = use.name if use.count == 1 else _("%(count)d × %(name)s") % {"count": use.count, "name": use.name}
    fill = _("%(fill)s of %(limit)s %% filled") % {
        "fill": format_number(round(100 * use.fill_ratio), 0),
        "limit": format_number(round(100 * use.limit_ratio), 0),
    }
    alone = _(", for %(tags)s alone") % {"tags": ", ".join(use.circuits)} if use.alone else ""
    return f"{name}, {fill}{alone}"
