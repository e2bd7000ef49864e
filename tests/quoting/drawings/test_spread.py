from __future__ import annotations

import pytest

from quoting.drawings.pen import ACCENT, INK, PALE
from quoting.drawings.spread import Spread, Stretch, charge_spread, day_step
from quoting.sizing.errors import SizingError

from .looking import MM, outside, overlaps, shapes_of, strings

TWO = (Stretch("Cinder Ridge, July", 96), Stretch("Cinder Ridge, November", 120))
MEDIAN = tuple(0.8 - 0.001 * hour for hour in range(216))
SPREAD = Spread([ratio - 0.2 for ratio in MEDIAN], MEDIAN, [min(1.0, ratio + 0.1) for ratio in MEDIAN], 1.0)


def drawn(spread=SPREAD, stretches=TWO, **more):
    return charge_spread(spread, stretches, width_mm=130, **more)


def path(sheet, wanted):
    """Points of the one path that is wanted, x and y. [mm]"""
    (found,) = [shape for shape in shapes_of(sheet.drawing) if hasattr(shape, "points") and wanted(shape)]
    return [(x / MM, y / MM) for x, y in zip(found.points[0::2], found.points[1::2], strict=True)]


def test_line_is_the_median_in_a_band_between_the_percentiles():
    sheet = drawn()

    line = path(sheet, lambda shape: shape.strokeColor == ACCENT)
    band = path(sheet, lambda shape: shape.fillColor == PALE)
    full, empty = (path(sheet, lambda s, y=y: s.strokeWidth == 0.35 and _flat_at(s, y))[0][1] for y in (36.5, 6.5))

    def ratio(y_mm):
        return (y_mm - empty) / (full - empty)

    assert [ratio(y) for _x, y in line] == pytest.approx(MEDIAN)
    assert [ratio(y) for _x, y in band[:216]] == pytest.approx(SPREAD.high)
    assert [ratio(y) for _x, y in reversed(band[216:])] == pytest.approx(SPREAD.low)
    assert line[-1][0] == pytest.approx(120.0)


def _flat_at(shape, y_mm):
    ys = {round(y / MM, 3) for y in shape.points[1::2]}
    return ys == {y_mm}


def test_stops_days_and_levels_are_named_and_nothing_stands_over_another():
    sheet = drawn(levels=(0.2, 0.3, 0.3))

    said = [seen.text for seen in strings(sheet.drawing)]
    assert sheet.unplaced == ()
    assert overlaps(sheet.drawing) == []
    assert outside(sheet.drawing) == []
    assert {"0", "1", "8", "9 days", "20", "30", "100"} <= set(said)
    assert "Cinder Ridge, November" in " ".join(said)
    dashed = [shape for shape in shapes_of(sheet.drawing) if getattr(shape, "strokeDashArray", None)]
    assert len(dashed) == 2
    assert {shape.strokeColor for shape in dashed} == {INK}


@pytest.mark.parametrize(("days", "step"), [(0.5, 1), (10, 1), (11, 2), (21, 5), (60, 7), (365, 60)])
def test_days_are_marked_at_most_ten_times(days, step):
    assert day_step(days) == step


@pytest.mark.parametrize("days", [1, 14, 300])
def test_short_and_long_trips_fit(days):
    flat = [0.5] * (24 * days)
    stretches = [Stretch("A place with rather a long name, December", 24 * days)]

    sheet = drawn(Spread(flat, flat, flat, 1.0), stretches)

    assert sheet.unplaced == ()
    assert outside(sheet.drawing) == []


@pytest.mark.parametrize(
    ("spread", "stretches", "field"),
    [
        (SPREAD, (), "stretches"),
        (SPREAD, (Stretch("Here", 10),), "low"),
        (Spread(MEDIAN, MEDIAN[:9], MEDIAN, 1.0), TWO, "median"),
    ],
)
def test_curves_must_fit_the_stops(spread, stretches, field):
    with pytest.raises(SizingError) as refused:
        charge_spread(spread, stretches)
    assert refused.value.field == field
