"""Graphical symbols after IEC 60617, in plain ink lines. Millimetres, y down; current flows from left to right.

Each function draws one symbol about (``x``, ``y``) and returns the rectangle it stands in. Terminals lie on ``y`` at
its left and right edge unless said otherwise. The mark of a contact (cross, bar, half circle) is on its
fixed side, where the supply is.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from quoting.drawings.pen import FEEDER, INK, LINK, SYMBOL_PT, THIN, Pen, Run
from quoting.drawings.placing import Rect

Symbol = Callable[[Pen, float, float], Rect]
Supply = Literal["dc", "ac"]

FUSE_MM = (8.0, 3.0)
CONTACT_MM = 8.0
BLADE_MM = 2.5
COUPLING_MM = 5.0
CONVERTER_MM = 10.0
LOAD_MM = 6.4
CHANGEOVER_MM = 2.6
"""Half the distance of a changeover's two sides. [mm]"""


def _around(x: float, y: float, width: float, height: float) -> Rect:
    return Rect(x - width / 2, y - height / 2, x + width / 2, y + height / 2)


def _letter(pen: Pen, text: str, x: float, y: float, size_pt: float = SYMBOL_PT + 1) -> None:
    pen.text([Run(text, bold=True, size_pt=size_pt)], x, y + size_pt * 0.128, "middle")


def _sign(pen: Pen, supply: Supply, x: float, y: float) -> None:
    """Direct current: a line over a broken one; alternating: one period of a sine."""
    if supply == "dc":
        pen.line([(x - 1.4, y - 0.5), (x + 1.4, y - 0.5)], LINK + 0.1)
        for start in (-1.4, -0.35, 0.7):
            pen.line([(x + start, y + 0.5), (x + start + 0.7, y + 0.5)], LINK + 0.1)
    else:
        pen.arc(x - 0.75, y, 0.75, 0, 180, LINK + 0.1)
        pen.arc(x + 0.75, y, 0.75, 180, 360, LINK + 0.1)


def fuse(pen: Pen, x: float, y: float) -> Rect:
    rect = _around(x, y, *FUSE_MM)
    pen.box(rect)
    pen.line([(rect.x0, y), (rect.x1, y)])
    return rect


def _contact(pen: Pen, x: float, y: float) -> Rect:
    half = CONTACT_MM / 2
    pen.line([(x - half, y), (x - half + 1.2, y)])
    pen.line([(x + half - 1.6, y), (x + half, y)])
    pen.line([(x + half - 1.6, y), (x - half + 1.6, y - BLADE_MM)])
    return Rect(x - half, y - BLADE_MM - 0.1, x + half, y + 0.9)


def breaker(pen: Pen, x: float, y: float) -> Rect:
    rect = _contact(pen, x, y)
    cx = x - CONTACT_MM / 2 + 1.2
    for lean in (-0.8, 0.8):
        pen.line([(cx - 0.8, y + lean), (cx + 0.8, y - lean)])
    return rect


def isolator(pen: Pen, x: float, y: float) -> Rect:
    rect = _contact(pen, x, y)
    cx = x - CONTACT_MM / 2 + 1.2
    pen.line([(cx, y - 1.0), (cx, y + 1.0)])
    return Rect(rect.x0, rect.y0, rect.x1, y + 1.0)


def contactor(pen: Pen, x: float, y: float) -> Rect:
    """A contactor, relay or switched output."""
    rect = _contact(pen, x, y)
    pen.arc(x - CONTACT_MM / 2 + 2.0, y, 0.8, 180, 360)
    return rect


def residual(pen: Pen, x: float, y: float) -> Rect:
    """Residual-current breaker: the contact, the current sensor round the conductors, and the link between them."""
    breaker(pen, x - 3.5, y)
    ring = x + 5.0
    pen.line([(x + 0.5, y), (x + 7.5, y)])
    pen.ellipse(ring, y, 0.9, 1.9)
    blade = (x - 3.6, y - 1.3)
    pen.line([blade, (blade[0], y - 3.2), (ring, y - 3.2), (ring, y - 1.9)], LINK, dash=(1.0, 0.9))
    return Rect(x - 7.5, y - 3.3, x + 7.5, y + 1.9)


def residual_two_pole(pen: Pen, x: float, y: float) -> Rect:
    """Residual-current breaker that opens both poles: two strokes across its contact's line."""
    rect = residual(pen, x, y)
    for shift in (0.0, 1.0):
        pen.line([(x + 1.4 + shift, y + 1.3), (x + 2.2 + shift, y - 1.3)], LINK + 0.15)
    return rect


def changeover(pen: Pen, x: float, y: float) -> Rect:
    """Changeover contact with a break between its two sides; what is common is on the right."""
    half, apart = CONTACT_MM / 2, CHANGEOVER_MM
    for side in (-apart, apart):
        pen.line([(x - half, y + side), (x - half + 1.6, y + side)])
        pen.circle(x - half + 2.0, y + side, 0.4)
    pen.line([(x + half - 1.6, y), (x + half, y)])
    pen.line([(x + half - 1.6, y), (x - half + 2.4, y - apart + 0.5)])
    return Rect(x - half, y - apart - 0.5, x + half, y + apart + 0.5)


def battery(pen: Pen, x: float, y: float) -> Rect:
    """A battery; the long plates are positive and face right, the bus."""
    half = 2.6
    for plate, tall, thick in (
        (-half, 1.5, 1.6),
        (-half + 1.5, 3.0, THIN),
        (half - 1.5, 1.5, 1.6),
        (half, 3.0, THIN),
    ):
        pen.line([(x + plate, y - tall), (x + plate, y + tall)], thick)
    for start in (-0.85, -0.25, 0.35):
        pen.line([(x + start, y), (x + start + 0.4, y)], LINK)
    return Rect(x - half - 0.3, y - 3.0, x + half, y + 3.0)


def battery_down(pen: Pen, x: float, y: float) -> Rect:
    """A battery hanging from its positive at (``x``, ``y``), body connection below."""
    pen.line([(x, y), (x, y + 3.0)])
    pen.line([(x - 3.0, y + 3.0), (x + 3.0, y + 3.0)])
    pen.line([(x - 1.5, y + 4.4), (x + 1.5, y + 4.4)], 1.6)
    pen.line([(x, y + 4.4), (x, y + 7.0)])
    body(pen, x, y + 7.0)
    return Rect(x - 4.1, y + 2.8, x + 3.2, y + 9.2)


def alternator(pen: Pen, x: float, y: float) -> Rect:
    pen.circle(x, y, 5.0)
    _letter(pen, "G", x, y - 1.4)
    _sign(pen, "dc", x, y + 2.0)
    return _around(x, y, 10.0, 10.0)


def panel(pen: Pen, x: float, y: float) -> Rect:
    """Photovoltaic generator: a generator with a cell, and light falling on it."""
    rect = _around(x, y, 10.0, 10.0)
    pen.box(rect)
    _letter(pen, "G", x, y - 1.6)
    pen.line([(x - 2.2, y + 2.4), (x - 0.6, y + 2.4)])
    pen.line([(x - 0.6, y + 1.7), (x - 0.6, y + 3.1)], 1.2)
    pen.line([(x + 0.5, y + 1.0), (x + 0.5, y + 3.8)])
    pen.line([(x + 0.5, y + 2.4), (x + 2.2, y + 2.4)])
    for shift in (0.0, 2.2):
        ax, ay = rect.x0 - 0.5 + shift, rect.y0 - 3.0
        bx, by = ax + 2.1, ay + 2.3
        pen.line([(ax, ay), (bx, by)])
        pen.line([(bx - 1.25, by - 0.55), (bx, by), (bx - 0.45, by - 1.3)])
    return Rect(rect.x0 - 0.6, rect.y0 - 3.1, rect.x1, rect.y1)


def inlet(pen: Pen, x: float, y: float) -> Rect:
    """Inlet for three conductors."""
    pen.circle(x, y, 3.6)
    for dx, dy in ((-1.3, -0.6), (1.3, -0.6), (0.0, 1.4)):
        pen.circle(x + dx, y + dy, 0.42, weight=0, fill=INK)
    return _around(x, y, 7.2, 7.2)


def converter(pen: Pen, x: float, y: float, takes: Supply = "dc", gives: Supply = "dc") -> Rect:
    rect = _around(x, y, CONVERTER_MM, CONVERTER_MM)
    pen.box(rect)
    pen.line([(rect.x0, rect.y1), (rect.x1, rect.y0)])
    _sign(pen, takes, x - 2.3, y - 2.4)
    _sign(pen, gives, x + 2.3, y + 2.4)
    return rect


def rectifier(pen: Pen, x: float, y: float) -> Rect:
    return converter(pen, x, y, "ac", "dc")


def inverter(pen: Pen, x: float, y: float) -> Rect:
    return converter(pen, x, y, "dc", "ac")


def lamp(pen: Pen, x: float, y: float) -> Rect:
    radius = LOAD_MM / 2
    reach = radius * 0.7071
    pen.circle(x, y, radius)
    pen.line([(x - reach, y - reach), (x + reach, y + reach)])
    pen.line([(x - reach, y + reach), (x + reach, y - reach)])
    return _around(x, y, LOAD_MM, LOAD_MM)


def motor(pen: Pen, x: float, y: float) -> Rect:
    pen.circle(x, y, LOAD_MM / 2)
    _letter(pen, "M", x, y)
    return _around(x, y, LOAD_MM, LOAD_MM)


def socket(pen: Pen, x: float, y: float) -> Rect:
    """Socket outlet, its mouth to the right."""
    pen.line([(x - 3.2, y), (x - 0.6, y)])
    pen.arc(x + 2.0, y, 2.6, 90, 270)
    return Rect(x - 3.2, y - 2.7, x + 3.2, y + 2.7)


def socket_earthed(pen: Pen, x: float, y: float) -> Rect:
    """Socket outlet with protective contact."""
    socket(pen, x, y)
    pen.line([(x - 0.6, y - 2.4), (x - 0.6, y + 2.4)])
    return Rect(x - 3.2, y - 2.7, x + 3.2, y + 2.7)


def appliance(pen: Pen, x: float, y: float) -> Rect:
    rect = _around(x, y, LOAD_MM, 4.8)
    pen.box(rect)
    return rect


def heater(pen: Pen, x: float, y: float) -> Rect:
    """Heating element."""
    rect = appliance(pen, x, y)
    for part in (1, 2, 3):
        at = rect.x0 + part * LOAD_MM / 4
        pen.line([(at, rect.y0), (at, rect.y1)])
    return rect


def refrigerator(pen: Pen, x: float, y: float) -> Rect:
    """Refrigerator: an appliance with a star of frost."""
    rect = appliance(pen, x, y)
    for dx, dy in ((1.5, 0.0), (0.75, 1.3), (-0.75, 1.3)):
        pen.line([(x - dx, y - dy), (x + dx, y + dy)], LINK + 0.15)
    return rect


def electronic(pen: Pen, x: float, y: float) -> Rect:
    """Electronic equipment: an appliance with the sign of a semiconductor."""
    rect = appliance(pen, x, y)
    pen.line([(x - 1.0, y - 1.3), (x - 1.0, y + 1.3), (x + 1.0, y), (x - 1.0, y - 1.3)], LINK + 0.15)
    pen.line([(x + 1.0, y - 1.3), (x + 1.0, y + 1.3)], LINK + 0.15)
    return rect


def instrument(letter: str) -> Symbol:
    """A sensor: an instrument's circle with the letter of what it measures."""

    def draw(pen: Pen, x: float, y: float) -> Rect:
        pen.circle(x, y, 2.4)
        if letter:
            _letter(pen, letter, x, y, SYMBOL_PT)
        return _around(x, y, 4.8, 4.8)

    return draw


def shunt(pen: Pen, x: float, y: float) -> Rect:
    """Shunt with its two taps and the ampere-hour meter above."""
    rect = _around(x, y, 8.0, 3.0)
    pen.box(rect, fill=None)
    pen.line([(rect.x0, y), (rect.x1, y)], LINK)
    top = y - 7.5
    for side in (-1, 1):
        pen.line([(x + side * 2.2, y - 1.5), (x + side * 2.2, top + 1.4)], LINK)
    pen.circle(x, top, 2.7)
    _letter(pen, "Ah", x, top, SYMBOL_PT)
    return Rect(rect.x0, top - 2.7, rect.x1, rect.y1)


def body(pen: Pen, x: float, y: float) -> Rect:
    """Connection to body or frame, hanging from (``x``, ``y``)."""
    pen.line([(x - 2.8, y), (x + 2.8, y)])
    for start in (-2.8, 0.0, 2.8):
        pen.line([(x + start, y), (x + start - 1.3, y + 2.0)])
    return Rect(x - 4.1, y - 0.2, x + 2.9, y + 2.1)


def earth(pen: Pen, x: float, y: float) -> Rect:
    """Earth, hanging from (``x``, ``y``)."""
    for index, half in enumerate((2.6, 1.7, 0.8)):
        pen.line([(x - half, y + index * 1.0), (x + half, y + index * 1.0)], FEEDER)
    return Rect(x - 2.6, y - 0.3, x + 2.6, y + 2.3)


def three_conductors(pen: Pen, x: float, y: float) -> Rect:
    """Three strokes across a line: live, neutral and protective conductor."""
    for shift in (-1.1, 0.0, 1.1):
        pen.line([(x + shift - 0.6, y + 1.6), (x + shift + 0.6, y - 1.6)], LINK + 0.15)
    return Rect(x - 1.8, y - 1.7, x + 1.8, y + 1.7)


def coupling(pen: Pen, x: float, y: float) -> Rect:
    """Plug and socket, mated: the half circle of the socket takes the plug's pin."""
    half, radius = COUPLING_MM / 2, 1.5
    pen.line([(x - half, y), (x - 0.3, y)])
    pen.line([(x - 1.5, y), (x - 0.1, y)], 2.2)
    pen.arc(x, y, radius, 270, 450)
    pen.line([(x + radius, y), (x + half, y)])
    return Rect(x - half, y - radius, x + half, y + radius)


DEVICES: dict[str, tuple[Symbol, float]] = {
    "fuse": (fuse, FUSE_MM[0]),
    "breaker": (breaker, CONTACT_MM),
    "isolator": (isolator, CONTACT_MM),
    "channel": (contactor, CONTACT_MM),
    "residual": (residual, 15.0),
    "coupling": (coupling, COUPLING_MM),
}
"""What a device is drawn as, and how wide; a coupling is none, but stands in the line as one does. [mm]"""

LOADS: dict[str, Symbol] = {
    "appliance": appliance,
    "lamp": lamp,
    "motor": motor,
    "socket": socket,
    "socket_earthed": socket_earthed,
    "heater": heater,
    "refrigerator": refrigerator,
    "electronic": electronic,
}
