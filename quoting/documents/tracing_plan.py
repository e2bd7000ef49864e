"""Numbers of the vehicle plan which no leaf of the snapshot holds, by what they are made of."""

from __future__ import annotations

from quoting.documents.build_plan import lanes_of, vehicle_of
from quoting.documents.common import Frozen
from quoting.documents.speech import figure
from quoting.drawings.plan_places import place
from quoting.drawings.plan_rows import sitting
from quoting.drawings.plan_space import Laid, batteries_stood, panels_laid
from quoting.drawings.vehicle_plan import SCALES


def derived(frozen: Frozen) -> dict[str, set[str]]:
    """Numbers by what they are made of, as they are printed."""
    vehicle = vehicle_of(frozen)
    placed = place(vehicle)
    lanes = lanes_of(frozen, vehicle, placed)
    outlines = [outline for outline in (placed.tow, placed.trailer) if outline is not None]
    tags = {tag for spot in placed.spots for tag in sitting(frozen.appraisal, spot.position.key)}
    tags |= {c.tag for lane in lanes for c in lane.circuits}
    panels = panels_laid(vehicle, frozen.appraisal.panels)
    batteries = batteries_stood(vehicle, frozen.appraisal.batteries)
    return {
        "panels on the roof": {number for one in panels for number in _said(one, 2)},
        "batteries in their spaces": {number for one in batteries for number in _said(one, 0)},
        "scale of the plan and its bar": {str(scale) for scale in SCALES} | {"0", "1", "2", "5", "10", "20"},
        "numbers of the runs": {str(lane.number) for lane in lanes},
        "circuits in a run": {str(len(lane.circuits)) for lane in lanes},
        "straight distances": {figure(lane.straight_m, 2) for lane in lanes if lane.straight_m is not None},
        "lengths of the runs": {figure(lane.length_m, digits) for lane in lanes for digits in (0, 1, 2)},
        "places": {figure(abs(value), 2) for spot in placed.spots for value in (spot.x_m, spot.y_m)},
        "sizes of the outlines": {figure(value, 1) for o in outlines for value in (o.length_m, o.width_m)},
        "tags in a row": {part.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ") for tag in tags for part in tag.split("–")},
    }


def _said(one: Laid, digits: int) -> set[str]:
    sides = (one.from_front, one.from_left, one.along, one.across)
    return {str(one.number), *(figure(value, digits) for value in sides)}
