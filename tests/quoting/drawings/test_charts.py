from __future__ import annotations

import math

import pytest

from quoting.drawings import charts
from quoting.drawings.pen import ACCENT, PALE, TINT
from quoting.sizing.appraisal import StopResult
from quoting.sizing.errors import SizingError

from .looking import MM, outside, overlaps, shapes_of, strings

NONE = (0.0,) * 24


def stop(name: str = "Cinder Ridge, July", start: float = 0.8, sun: bool = True) -> StopResult:
    sun_w = tuple(max(0.0, 300 * math.sin((h - 6) / 12 * math.pi)) if sun and 6 <= h < 18 else 0.0 for h in range(24))
    ratio, charge = start, []
    for hour in range(24):
        ratio = min(1.0, max(0.05, ratio - 0.02 + sun_w[hour] / 4000))
        charge.append(ratio)
    return StopResult(
        index=0, name=name, month=7, days=4.0, load_w=NONE, engine_w=NONE, mains_w=NONE, sun_w=sun_w, taken_w=NONE,
        charge_ratio=tuple(charge), start_ratio=start, end_ratio=ratio, lowest_ratio=min(charge),
        lowest_hour=charge.index(min(charge)), load_wh=0.0, engine_wh=0.0, mains_wh=0.0, sun_wh=0.0, spilled_wh=0.0,
        unserved_wh=0.0, loss_wh=0.0,
    )  # fmt: skip


BARS = (
    charts.Lasts("Your whole day", "until the inverter goes off", 24, 30),
    charts.Lasts("All but 230 V", "until the Away set goes off", 31, 39),
    charts.Lasts("Refrigerator, radio and whatever else somebody named", "until the refrigerator goes off", 55, 68),
    charts.Lasts("Refrigerator alone", "until it goes off", 66, 82),
)
THRESHOLDS = (
    charts.Threshold(0.2, "the refrigerator, radio and monitor staying,"),
    charts.Threshold(0.3, "the inverter"),
    charts.Threshold(0.25, "lights, USB-C, sockets and pump (the Away set)"),
)


def checked(sheet):
    assert sheet.unplaced == ()
    assert overlaps(sheet.drawing) == []
    assert outside(sheet.drawing) == []
    return {seen.text for seen in strings(sheet.drawing)}


def filled(sheet, colour):
    """Width and left edge of areas of a colour. [mm]"""
    found = []
    for shape in shapes_of(sheet.drawing):
        if getattr(shape, "fillColor", None) == colour and hasattr(shape, "points"):
            xs = shape.points[0::2]
            found.append((round((max(xs) - min(xs)) / MM, 3), round(min(xs) / MM, 3)))
    return found


def test_bars_are_as_long_as_their_times():
    sheet = charts.lasting_bars(BARS)

    said = checked(sheet)

    dark, pale = filled(sheet, ACCENT), filled(sheet, PALE)
    for bar, (worn_mm, _), (new_mm, _) in zip(BARS, dark, pale, strict=True):
        assert worn_mm / dark[0][0] == pytest.approx(bar.worn_h / 24, abs=1e-3)
        assert new_mm / dark[0][0] == pytest.approx(bar.new_h / 24, abs=1e-3)
    assert {"1 day", "4 days", "worn", "new", "24", "82"} <= said


def test_a_bar_ends_on_the_scale_line_of_its_time():
    sheet = charts.lasting_bars([charts.Lasts("Pump", "", 24, 48), charts.Lasts("Fan", "", 48, 96)])

    lines = sorted({round(s.points[0] / MM, 3) for s in shapes_of(sheet.drawing) if len(getattr(s, "points", ())) == 4})

    assert lines[1] == pytest.approx(sum(filled(sheet, ACCENT)[0]), abs=0.01)  # 24 h is the first line after 0


def test_short_times_are_in_minutes_and_hours():
    said = checked(charts.lasting_bars([charts.Lasts("Core saw", "1 300 W while it cuts", 58 / 60, 73 / 60)]))

    assert {"58", "73", "min"} <= said


def test_shedding_segments_meet_at_the_thresholds_and_the_deepest_is_lowest():
    sheet = charts.shedding_bar(THRESHOLDS)

    said = checked(sheet)

    assert filled(sheet, ACCENT) == [(pytest.approx(0.7 * 174, abs=0.01), 0)]
    assert filled(sheet, PALE) == [(pytest.approx(0.05 * 174, abs=0.01), pytest.approx(0.7 * 174, abs=0.01))]
    assert filled(sheet, TINT) == [(pytest.approx(0.05 * 174, abs=0.01), pytest.approx(0.75 * 174, abs=0.01))]
    level = {seen.text: seen.y0 for seen in strings(sheet.drawing)}
    assert level["inverter"] > level["lights,"] > level["refrigerator,"]
    assert {"everything runs", "kept back", "empty", "100"} <= said


def test_equal_thresholds_share_a_line():
    said = checked(charts.shedding_bar([charts.Threshold(0.25, "lights"), charts.Threshold(0.25, "pump")]))

    assert {"lights,", "pump", "off"} <= said


def test_a_high_threshold_wraps_its_words():
    checked(charts.shedding_bar([charts.Threshold(0.9, "the large inverter and its sockets"), *THRESHOLDS]))


def test_charge_charts_mark_the_lowest_point_and_the_night():
    sheet = charts.charge_charts([stop(), stop("Home", sun=False)], thresholds=THRESHOLDS[:2])

    said = checked(sheet)

    assert len(filled(sheet, TINT)) == 2  # night before and after the sun of the first stop; the second has none
    lowest = {f"{round(min(s.charge_ratio) * 100)}" for s in (stop(), stop("Home", sun=False))}
    assert {"lowest", "Cinder", "Home", "6:00", "24:00", *lowest} <= said


def test_long_names_of_stops_and_thresholds_are_kept_whole():
    name = "Cinder Ridge survey camp, above the old quarry road, in the middle of July"
    level = charts.Threshold(0.25, "lights, USB-C outlets, sockets, pump and everything else of the Away set go off")
    sheet = charts.charge_charts([stop(name), stop()], thresholds=[level])

    said = checked(sheet)

    assert set(name.split()) | set(level.name.split()) <= said


@pytest.mark.parametrize("start", [0.1, 0.3, 0.5, 0.75, 1.0])
@pytest.mark.parametrize("sun", [True, False])
def test_charge_charts_hold_their_words_at_any_charge(start, sun):
    checked(charts.charge_charts([stop(start=start, sun=sun)] * 3, thresholds=THRESHOLDS[1:2]))


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: charts.lasting_bars([]), "bars is 0"),
        (
            lambda: charts.lasting_bars([charts.Lasts("x", "", 5, 4)]),
            r"bars\[0\].new_h is 4 h; it must be at least 5 h",
        ),
        (lambda: charts.lasting_bars([charts.Lasts("x", "", -1, 4)]), r"bars\[0\].worn_h is -1 h"),
        (lambda: charts.shedding_bar([charts.Threshold(1.2, "x")]), r"thresholds\[0\].ratio is 1.2"),
        (lambda: charts.charge_charts([]), "stops is 0"),
    ],
)
def test_impossible_input_is_refused(call, message):
    with pytest.raises(SizingError, match=message):
        call()
