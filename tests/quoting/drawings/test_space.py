"""Roof areas and battery spaces drawn to scale, and on the vehicle plan."""

from __future__ import annotations

import pytest

from quoting.drawings.plan_space import batteries_stood, panels_laid
from quoting.drawings.space import SCALES, draw_space, of_roof, of_spaces
from quoting.drawings.vehicle_plan import draw_plan
from quoting.sizing.appraisal import BatteryPlace, PanelPlace
from quoting.sizing.brief import Position
from quoting.sizing.brief_choosing import BatterySpace, RoofArea, Taken
from tests.quoting.drawings import looking
from tests.quoting.drawings.test_vehicle_plan import vehicle

CANOPY = RoofArea(
    key="a", name="Canopy", length_m=2.4, width_m=1.4, x_m=1.5, y_m=0.0,
    taken=(Taken(x_m=1.0, y_m=0.5, length_m=0.4, width_m=0.4),),
)  # fmt: skip
PANELS = (
    PanelPlace(area="a", x_m=1.5, y_m=0.1, length_m=0.68, width_m=1.2),
    PanelPlace(area="a", x_m=0.03, y_m=0.1, length_m=0.68, width_m=1.2),
)
BOX = BatterySpace(key="b", name="Under the bench", length_mm=800, width_mm=400, height_mm=300)


class Designed:
    nodes = ()
    circuits = ()
    panels = PANELS


def test_the_scale_is_the_largest_that_fits():
    _, scale = draw_space(of_roof([CANOPY], PANELS))

    assert scale == 20  # 2400 mm / 20 = 120 mm of the 122 mm there are; at 1:10 it would be 240 mm
    assert scale in SCALES


@pytest.mark.parametrize("count", [1, 4])
def test_nothing_is_outside_and_no_text_over_another(count):
    sheet, _ = draw_space(of_roof([CANOPY] * count, PANELS))

    assert looking.overlaps(sheet.drawing) == []
    assert looking.outside(sheet.drawing) == []


def test_battery_spaces_are_drawn_in_millimetres():
    placed = (BatteryPlace(space="b", x_mm=10, y_mm=10, length_mm=330, width_mm=172),)

    sheet, scale = draw_space(of_spaces([BOX], placed), in_mm=True)

    assert scale == 10
    assert looking.outside(sheet.drawing) == []


def test_panels_are_counted_from_the_front_with_which_way_round():
    seen = vehicle([Position(key="p", name="Bay", x_m=1.0, y_m=0.0)], roof=(CANOPY,), battery_spaces=(BOX,))

    rows = panels_laid(seen, PANELS)

    assert [(r.place, r.number, r.from_front, r.is_lengthwise) for r in rows] == [
        ("Canopy", 1, 0.03, False),
        ("Canopy", 2, 1.5, False),
    ]
    (stood,) = batteries_stood(seen, [BatteryPlace(space="b", x_mm=10, y_mm=10, length_mm=330, width_mm=172)])
    assert (stood.place, stood.number, stood.is_lengthwise) == ("Under the bench", 1, True)


def test_the_vehicle_plan_shows_areas_that_have_a_place_and_says_what_the_lines_are():
    spots = [Position(key="p", name="Bay", x_m=1.0, y_m=0.0), Position(key="q", name="Rear", x_m=4.0, y_m=0.5)]
    lying = CANOPY.model_copy(update={"x_m": None, "y_m": None})

    with_place = draw_plan(vehicle(spots, roof=(CANOPY,)), Designed())
    without = draw_plan(vehicle(spots, roof=(lying,)), Designed())

    words = "Brokenlines:roofareas"
    assert words in "".join(t.text for t in with_place.sheet.texts)
    assert words not in "".join(t.text for t in without.sheet.texts)
    boxes = len(with_place.sheet.drawing.contents) - len(without.sheet.drawing.contents)
    assert boxes >= 1 + len(CANOPY.taken) + len(PANELS)
    assert looking.outside(with_place.sheet.drawing) == []
    assert with_place.sheet.unplaced == ()
