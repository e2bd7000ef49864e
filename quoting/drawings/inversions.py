"""An inverter and, where the AC side has no ways of its own, its circuits and outlets in a tinted 230 V zone."""

from __future__ import annotations

from dataclasses import dataclass, field

from quoting.drawings import symbols
from quoting.drawings.boards import kind_of, load_lines, say_load
from quoting.drawings.canvas import LINE_MM, Canvas, Piece, stacked
from quoting.drawings.layout import BUS_X, EDGE_X, LOAD_X, NAME_X, Slot
from quoting.drawings.pen import TAG_PT, TINT, Pen, Run, bold
from quoting.drawings.placing import Rect
from quoting.drawings.plan import Inversion
from quoting.drawings.runs import run
from quoting.sizing.appraisal import Node

INVERTER_X = 163.5
EARTH_X = INVERTER_X + 2.6
TITLE_MM = 34.5
NAME_MM = EDGE_X - NAME_X


@dataclass(slots=True)
class InversionSlots:
    inversion: Inversion
    slots: list[Slot] = field(default_factory=list)

    bare: bool = False
    """Its AC side stands in a zone of its own."""


def inversion_slots(canvas: Canvas, inversion: Inversion) -> InversionSlots:
    """Rows an inverter takes: one per AC circuit or outlet, one when it has none."""
    made = InversionSlots(inversion)
    titles = len(canvas.node_lines(inversion.node, TITLE_MM))
    count = max(1, len(inversion.rows) or len(inversion.outlets))
    for index in range(count):
        half = _ac_lines(canvas, inversion, index) * LINE_MM / 2
        up = max(13.0, half + 9.0) if index == 0 else max(7.5, half + 1.0)
        made.slots.append(Slot(up, max(7.0, half + 1.0), stretch=0.0, spring=index == 0))
    made.bare = any(mention.code for mention in canvas.mentions.get(inversion.node.tag, ()))
    if made.bare:
        half = max(7.0, titles * LINE_MM / 2 + 2.0)
        made.slots[0].up, made.slots[0].down = half + 1.0, half
        return made
    made.slots[-1].down = max(
        made.slots[-1].down, 12.5 if count == 1 else 10.0, 9.6 + (titles - 1) * LINE_MM if count == 1 else 0.0
    )
    return made


def _ac_lines(canvas: Canvas, inversion: Inversion, index: int) -> int:
    """Lines of text beside an AC circuit or outlet."""
    if index < len(inversion.rows):
        return len(load_lines(canvas, inversion.rows[index], NAME_MM))
    if index < len(inversion.outlets):
        return len(_outlet_lines(canvas, inversion.outlets[index]))
    return 0


def _outlet_lines(canvas: Canvas, node: Node) -> list[tuple[Run, ...]]:
    return canvas.wrapped(canvas.tokens(node.tag, node.name, node.params, strong=True), NAME_MM)


def draw_tint(pen: Pen, made: InversionSlots) -> None:
    """Tint the 230 V zone behind an inverter; before anything else, so that it lies below."""
    if made.bare:
        return
    first, last = made.slots[0].y, made.slots[-1].y
    up, down = max(9.8, made.slots[0].up - 3.2), max(8.0, made.slots[-1].down - 4.6)
    pen.box(Rect(INVERTER_X, first - up, EDGE_X, last + down), weight=0, fill=TINT)


def draw_inversion(canvas: Canvas, made: InversionSlots) -> list[float]:
    """Draw an inverter with its AC circuits; return the heights at which the main bus is met."""
    inversion = made.inversion
    heights = [slot.y for slot in made.slots]
    y, half = heights[0], symbols.CONVERTER_MM / 2
    canvas.symbol(symbols.inverter, INVERTER_X, y)
    run(canvas, inversion.feed, BUS_X, INVERTER_X - half, y, named=True, weight=1.6)
    canvas.stand(inversion.node, INVERTER_X, y)
    if made.bare:
        return _draw_bare(canvas, inversion, y)
    canvas.text(
        9,
        [
            (
                Piece(
                    (bold(canvas.say("drawing.zone"), TAG_PT),),
                    EDGE_X - 1.5,
                    y - max(6.4, made.slots[0].up - 6.6),
                    "end",
                ),
            )
        ],
    )
    lines = canvas.node_lines(inversion.node, TITLE_MM)
    canvas.text(
        10,
        [
            stacked(lines, BUS_X + 1.8, y + 8.6),
            stacked(lines, INVERTER_X - half - 0.8, y + 8.6, "end"),
            stacked(lines, INVERTER_X - half - 0.8, y - 6.4, "end", up=True),
        ],
    )
    canvas.wire([(EARTH_X, y + half), (EARTH_X, y + 8.6)])
    canvas.symbol(symbols.earth, EARTH_X, y + 8.6)
    canvas.text(
        13,
        [
            (
                Piece(
                    (Run(canvas.say("drawing.earth")),),
                    EARTH_X + 4.2,
                    heights[-1] + max(11.0, made.slots[-1].down - 1.4),
                ),
            )
        ],
    )
    _draw_ac(canvas, inversion, heights)
    return [y]


def _draw_bare(canvas: Canvas, inversion: Inversion, y: float) -> list[float]:
    """The inverter alone; its output goes on to the AC side by an interrupted line."""
    half = symbols.CONVERTER_MM / 2
    start, end = INVERTER_X + half, INVERTER_X + half + 9.0
    canvas.wire([(start, y), (end, y)])
    canvas.symbol(symbols.three_conductors, (start + end) / 2, y)
    canvas.used.add("three_conductors")
    canvas.arrow(end + 2.2, y)
    lines = canvas.node_lines(inversion.node, EDGE_X - end - 5.0)
    places = [stacked(lines, end + 4.4, y + 0.9 - (len(lines) - 1) * LINE_MM / 2), stacked(lines, end + 4.4, y + 6.0)]
    canvas.text(10, [*places, stacked(lines, INVERTER_X - half, y + 8.6)])
    return [y]


def _draw_ac(canvas: Canvas, inversion: Inversion, heights: list[float]) -> None:
    start = INVERTER_X + symbols.CONVERTER_MM / 2
    count = max(len(inversion.rows), len(inversion.outlets))
    if count > 1:
        canvas.wire([(start, heights[0]), (172.5, heights[0])])
        start = 172.5
        canvas.wire([(start, heights[0]), (start, heights[-1])], 1.6)
    canvas.used.add("three_conductors") if count else None
    for row, y in zip(inversion.rows, heights, strict=False):
        rect = canvas.load(kind_of(row.load, ac=True), LOAD_X, y)
        if row.load:
            canvas.stand(row.load, LOAD_X, y)
        canvas.symbol(symbols.three_conductors, rect.x0 - 3.0, y)
        run(canvas, row.circuit, start, rect.x0, y, branch=True, weight=0.75)
        say_load(canvas, load_lines(canvas, row, NAME_MM), NAME_X, y)
    if inversion.rows:
        return
    for node, y in zip(inversion.outlets, heights, strict=False):
        rect = canvas.load("socket_earthed", LOAD_X, y)
        canvas.stand(node, LOAD_X, y)
        canvas.symbol(symbols.three_conductors, rect.x0 - 3.0, y)
        canvas.wire([(start, y), (rect.x0, y)])
        say_load(canvas, _outlet_lines(canvas, node), NAME_X, y)
