"""From a frozen design to the vehicle plan: the drawing's vehicle, its cable runs and positions in figures."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.quantities import UNIT_SPACE
from quoting.documents import cautions
from quoting.documents.build_wiring import wiring_frame
from quoting.documents.by_hand import hand_notes
from quoting.documents.common import Frozen
from quoting.documents.content_plan import LaidRow, LaneRow, PlanContent, SpotRow
from quoting.documents.speech import figure, percent
from quoting.drawings.plan_places import Placed, Spot, place
from quoting.drawings.plan_rows import Lane, in_ranges, lanes, sitting
from quoting.drawings.plan_space import Laid, batteries_stood, panels_laid
from quoting.sizing.brief import Vehicle
from quoting.sizing.wiring_records import SleeveUse

HOW: dict[str, Any] = {
    "measured": gettext_lazy("measured"),
    "usual": gettext_lazy("usual place, not measured"),
    "lengths": gettext_lazy("by cable lengths, not measured"),
}


WAY: dict[bool, Any] = {True: gettext_lazy("lengthwise"), False: gettext_lazy("across the vehicle")}
"""Which way round a panel or battery lies, by whether its longer side is along the vehicle."""


def plan_content(frozen: Frozen) -> PlanContent:
    """Everything beside the drawing, and the vehicle to draw."""
    vehicle = vehicle_of(frozen)
    placed = place(vehicle)
    return PlanContent(
        frame=wiring_frame(frozen, _("Vehicle plan"), _("Vehicle plan with cable runs")),
        vehicle=vehicle,
        lanes=tuple(_lane(frozen, lane) for lane in lanes_of(frozen, vehicle, placed)),
        spots=tuple(_spot(frozen, spot) for spot in placed.spots),
        notes=(
            _(
                "Length is the cable's along its way, one way; straight is on the plan, without height. A cable is cut "
                "by its piece in the wiring lists, never by this plan."
            ),
            _(
                "Behind the front of the vehicle, of a trailer behind its coupling; right of the middle looking "
                "forwards, left is negative."
            ),
        ),
        notices=tuple(notice for notice in frozen.notices()),
        cautions=(
            _(
                "Look behind each panel before drilling or pulling cable: airbags, fuel and brake lines, the vehicle's "
                "own looms and high-voltage cables are not on this plan."
            ),
            *cautions.wiring(frozen),
        ),
        by_hand=hand_notes(frozen),
        panels=tuple(_laid(one, 2) for one in panels_laid(vehicle, frozen.appraisal.panels)),
        batteries=tuple(_laid(one, 0) for one in batteries_stood(vehicle, frozen.appraisal.batteries)),
    )


def vehicle_of(frozen: Frozen) -> Vehicle:
    """The vehicle as the design saw it."""
    return Vehicle.model_validate_json(json.dumps(frozen.brief["vehicle"], default=str))


def lanes_of(frozen: Frozen, vehicle: Vehicle, placed: Placed) -> tuple[Lane, ...]:
    """Cable runs as they are numbered on the drawing."""
    return lanes(vehicle, placed, frozen.appraisal)


def _lane(frozen: Frozen, lane: Lane) -> LaneRow:
    ends = {lane.a.position.key, lane.b.position.key}
    uses = [use for use in frozen.appraisal.sleeves if {use.a, use.b} == ends]
    way = f"{frozen.place(lane.a.position.key)} – {frozen.place(lane.b.position.key)}"
    if lane.is_hitch:
        way = _("%s, across the drawbar") % way
    straight = "–" if lane.straight_m is None else figure(lane.straight_m, 2)
    return LaneRow(
        number=str(lane.number),
        way=way,
        length=figure(lane.length_m, 2),
        straight=_("%s, check") % straight if lane.is_too_short else straight,
        circuits="; ".join(_by_area(lane)) or "–",
        conduit="; ".join(_conduit(use) for use in uses) or "–",
    )


def _laid(one: Laid, digits: int) -> LaidRow:
    return LaidRow(
        place=one.place,
        number=str(one.number),
        from_front=figure(one.from_front, digits),
        from_left=figure(one.from_left, digits),
        sides=f"{figure(one.along, digits)} × {figure(one.across, digits)}",
        way=str(WAY[one.is_lengthwise]),
    )


def _by_area(lane: Lane) -> Iterator[str]:
    """Tags of circuits by their conductor, the thickest first."""
    for area in sorted({c.area_mm2 for c in lane.circuits}, reverse=True):
        tags = in_ranges(c.tag for c in lane.circuits if c.area_mm2 == area)
        yield f"{figure(area)}{UNIT_SPACE}mm²: {', '.join(tags)}"


def _conduit(use: SleeveUse) -> str:
    if not use.part or use.fill_ratio is None:
        return _("none in the catalogue")
    name = use.name if use.count == 1 else _("%(n)d × %(name)s") % {"n": use.count, "name": use.name}
    words = _("%(name)s, %(fill)s full") % {"name": name, "fill": percent(use.fill_ratio, 0)}
    return _("%(words)s, for %(tags)s") % {"words": words, "tags": ", ".join(use.circuits)} if use.alone else words


def _spot(frozen: Frozen, spot: Spot) -> SpotRow:
    key = spot.position.key
    return SpotRow(
        name=frozen.place(key),
        x=figure(spot.x_m, 2),
        y=figure(spot.y_m, 2),
        how=str(HOW[spot.how]),
        sits=", ".join(sitting(frozen.appraisal, key)) or "–",
    )
