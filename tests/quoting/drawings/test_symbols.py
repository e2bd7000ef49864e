from __future__ import annotations

import pytest

from quoting.drawings import symbols
from quoting.drawings.pen import Pen

MM = 72 / 25.4
LINE_MM = 0.7
"""Half the thickest line and mitre that may stand over a symbol's rectangle. [mm]"""

NAMES = (
    "fuse", "breaker", "isolator", "contactor", "residual", "coupling", "battery", "battery_down", "alternator",
    "panel", "inlet",
    "converter", "rectifier", "inverter", "lamp", "motor", "socket", "socket_earthed", "appliance", "heater", "shunt",
    "body", "earth", "three_conductors", "changeover", "residual_two_pole", "refrigerator", "electronic",
)  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_a_symbol_stands_inside_the_rectangle_it_registers(name):
    pen = Pen(60, 60)

    rect = getattr(symbols, name)(pen, 30.0, 30.0)

    x0, y0, x1, y1 = (value / MM for value in pen.drawing.getBounds())
    if name == "battery_down":  # its lead down from the wire is the wire's own
        y1 = 60 - rect.y0
    if name == "body":
        y1 = min(y1, 60 - rect.y0)
    assert pen.drawing.contents
    assert x0 >= rect.x0 - LINE_MM
    assert x1 <= rect.x1 + LINE_MM
    assert 60 - y0 <= rect.y1 + LINE_MM
    assert 60 - y1 >= rect.y0 - LINE_MM


def test_a_sensor_is_an_instruments_circle_with_the_letter_of_what_it_measures():
    """IEC 60617, instruments: a circle with a letter for the quantity (C); L for a level, ISO 14617-6 (M)."""
    pen = Pen(60, 60)

    rect = symbols.instrument("L")(pen, 30.0, 30.0)

    circle, letter = pen.drawing.contents
    assert circle.r / MM == pytest.approx(2.4)
    assert letter.text == "L"
    assert (rect.x0, rect.x1) == (27.6, 32.4)


def test_a_changeover_has_two_sides_on_its_left_and_what_is_common_on_its_right():
    """IEC 60617, change-over contact, break before make: the blade stands on one side, the other is open (C)."""
    pen = Pen(60, 60)

    symbols.changeover(pen, 30.0, 30.0)

    ends = {
        (round(s.points[0] / MM, 1), round(60 - s.points[1] / MM, 1))
        for s in pen.drawing.contents
        if hasattr(s, "points")
    }
    assert {(26.0, 27.4), (26.0, 32.6)} <= ends
    tips = [
        (round(s.points[-2] / MM, 1), round(60 - s.points[-1] / MM, 1))
        for s in pen.drawing.contents
        if hasattr(s, "points")
    ]
    assert (34.0, 30.0) in tips


@pytest.mark.parametrize("name", ["fuse", "breaker", "isolator", "contactor", "residual", "coupling"])
def test_a_device_reaches_from_terminal_to_terminal_on_its_line(name):
    pen = Pen(60, 60)

    rect = getattr(symbols, name)(pen, 30.0, 30.0)

    ends = {round(p / MM, 2) for s in pen.drawing.contents if hasattr(s, "points") for p in s.points[0::2]}
    assert {round(rect.x0, 2), round(rect.x1, 2)} <= ends


def test_a_fuse_is_a_box_with_the_conductor_through_it():
    """IEC 60617, fuse: a rectangle, the conductor drawn through it (C)."""
    pen = Pen(60, 60)

    symbols.fuse(pen, 30.0, 30.0)

    box, line = pen.drawing.contents
    assert len(box.points) == 8
    assert [round(v / MM, 2) for v in line.points] == [26, 30, 34, 30]


def test_the_long_plate_of_a_battery_is_positive_and_faces_the_bus():
    """IEC 60617, battery of primary or secondary cells: the longer line is the positive pole (C)."""
    pen = Pen(60, 60)

    symbols.battery(pen, 30.0, 30.0)

    plates = [s.points for s in pen.drawing.contents if abs(s.points[0] - s.points[2]) < 0.01]
    rightmost = max(plates, key=lambda p: p[0])
    leftmost = min(plates, key=lambda p: p[0])
    assert abs(rightmost[1] - rightmost[3]) > abs(leftmost[1] - leftmost[3])
