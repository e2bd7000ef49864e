"""The left half of a single-line diagram: sources, chargers and controllers; batteries, monitor and body."""

from __future__ import annotations

from dataclasses import dataclass, field

from quoting.drawings import symbols
from quoting.drawings.canvas import LINE_MM, Canvas, Piece, Token, stacked
from quoting.drawings.layout import BUS_X, JOINT_X, STORE_X, UNIT_X, Slot
from quoting.drawings.pen import FEEDER, TAG_PT, THIN, TINT, Pen, Run, bold
from quoting.drawings.placing import Rect
from quoting.drawings.plan import Plan, Store, Supply, Unit
from quoting.drawings.ports import Port
from quoting.drawings.runs import run
from quoting.sizing.appraisal import Circuit, Node

SOURCE_X = 7.0
STARTER_X = 19.0
BODY_X = 9.0
BAR_X = 15.5
SHUNT_X = 26.0
LINKED_STORE_X, LINK_X = 40.5, 85.0
LINKED_TEXT_MM = 8.6
MONITOR_MM = 29.0
NEGATIVE_X = 34.0
ZONE_UP = 9.8
INLET_END = 24.0
UNIT_TITLE_MM, FRAME_TITLE_MM, SOURCE_TITLE_MM, STARTER_TITLE_MM = 46.0, 58.0, 60.0, 42.0
FRAME_X0, FRAME_X1 = UNIT_X - 7.0, JOINT_X + 2.6

ROOM = {
    "alternator": (9.0, 8.0),
    "starter_battery": (9.0, 8.0),
    "panel": (9.5, 10.0),
    "inlet": (10.6, 10.2),
    "ac": (8.0, 7.0),
}
"""Least room above and below a source's line. [mm]"""


@dataclass(slots=True)
class UnitSlots:
    """A unit and the lines of its sources."""

    unit: Unit
    slots: list[Slot] = field(default_factory=list)


@dataclass(slots=True)
class StoreSlot:
    store: Store
    slot: Slot
    first: bool


def unit_slots(canvas: Canvas, unit: Unit) -> UnitSlots:
    """Rows a unit takes: one per source, one when it has none."""
    made = UnitSlots(unit)
    framed = len(_inputs(unit, [0.0] * max(1, len(unit.supplies)))) > 1
    wide = FRAME_TITLE_MM if framed else UNIT_TITLE_MM
    title = (len(canvas.node_lines(unit.node, wide)) - 1) * LINE_MM if unit.node else 0.0
    for index, supply in enumerate(unit.supplies):
        up, down = ROOM[supply.what]
        more = 0.0 if supply.interrupted else (len(canvas.node_lines(supply.node, SOURCE_TITLE_MM)) - 1) * LINE_MM
        if supply.what in ("panel", "inlet"):
            down += more
        else:
            up += more
        if supply.starter:
            down = 11.0 + len(canvas.node_lines(supply.starter, STARTER_TITLE_MM)) * LINE_MM
        if index == 0 and framed:
            up = max(up, 12.5 + title)
        elif index == 0:
            up = max(up, 10.0 + title)
        made.slots.append(Slot(up, down, stretch=7.0))
    if not made.slots:
        made.slots.append(Slot(10.0 + title, 7.0, stretch=7.0))
    if framed:
        made.slots[-1].down = max(made.slots[-1].down, 9.5)
    return made


def store_slot(canvas: Canvas, store: Store, first: bool, plan: Plan) -> StoreSlot:
    """Row of a battery: meter and negative busbar above the first, its facts below."""
    up = 7.5
    if first:
        bar = len(canvas.node_lines(plan.negative, 20.5)) * LINE_MM + 4.5 if plan.negative else 0.0
        meter = len(canvas.node_lines(plan.monitor, MONITOR_MM)) * LINE_MM + 7.2 if plan.monitor else 0.0
        up = max(up, 11.5 if plan.monitor else 0.0, meter, bar, 9.0 if plan.link else 0.0)
    down = (LINKED_TEXT_MM - 2.2 if plan.link else 4.0) + LINE_MM * len(_store_lines(canvas, store))
    if first and plan.bond:
        down = max(down, 14.5)
    return StoreSlot(store, Slot(up, max(down, 10.6), stretch=2.0, spring=first), first)


def draw_tint(pen: Pen, unit: UnitSlots) -> None:
    """Tint the 230 V zone of inlets; before anything else, so that it lies below."""
    for supply, slot in zip(unit.unit.supplies, unit.slots, strict=False):
        if supply.what == "inlet":
            right = UNIT_X if unit.unit.node else BUS_X
            pen.box(Rect(0.0, slot.y - ZONE_UP, right, slot.y + slot.down - 0.8), weight=0, fill=TINT)


def draw_unit(canvas: Canvas, made: UnitSlots) -> list[float]:
    """Draw sources and unit; return the heights at which the bus is met.

    Sources of one kind, as the strings of an array, meet before one input; each kind has a converter of its own, and
    several of them share one housing.
    """
    unit, heights = made.unit, [slot.y for slot in made.slots]
    if unit.node is None:
        for supply, y in zip(unit.supplies, heights, strict=True):
            _draw_supply(canvas, supply, y, BUS_X)
        return [y for supply, y in zip(unit.supplies, heights, strict=True) if supply.circuit]
    half = symbols.CONVERTER_MM / 2
    inputs = _inputs(unit, heights)
    framed = len(inputs) > 1
    edge = FRAME_X0 if framed else UNIT_X - half
    levels = []
    for what, rows in inputs:
        level = rows[(len(rows) - 1) // 2][1]
        levels.append(level)
        reach = edge - 4.0 if len(rows) > 1 else edge
        for source, y in rows:
            if source:
                _draw_supply(canvas, source, y, reach)
        if len(rows) > 1:
            canvas.wire([(reach, rows[0][1]), (reach, rows[-1][1])], THIN)
            canvas.pen.dot(reach, level)
        if rows[0][0]:
            thin = what in ("panel", "inlet", "ac")
            canvas.wire([(reach, level), (UNIT_X - half, level)], THIN if thin else FEEDER)
        ac = what in ("inlet", "ac") or (not what and unit.node.what == "mains_charger")
        canvas.symbol(symbols.rectifier if ac else symbols.converter, UNIT_X, level)
    out_y = levels[(len(levels) - 1) // 2]
    canvas.stand(unit.node, UNIT_X, out_y)
    _say_unit(canvas, unit.node, levels, out_y)
    output = unit.outputs[0] if unit.outputs else None
    run(canvas, output, FRAME_X1 if framed else JOINT_X - 2.0, BUS_X, out_y, named=True, weight=FEEDER)
    return [out_y]


def _say_unit(canvas: Canvas, node: Node, levels: list[float], out_y: float) -> None:
    """A unit's outputs joined, its housing and its name."""
    half = symbols.CONVERTER_MM / 2
    if len(levels) == 1:
        lines = canvas.node_lines(node, UNIT_TITLE_MM)
        canvas.wire([(UNIT_X + half, out_y), (JOINT_X - 2.0, out_y)], FEEDER)
        top = out_y - half - 1.4
        canvas.text(
            10,
            [
                stacked(lines, UNIT_X - half, top, up=True),
                stacked(lines, UNIT_X - half, out_y + half + 3.0),
                stacked(lines, UNIT_X + half, top, "end", up=True),
            ],
        )
        return
    lines = canvas.node_lines(node, FRAME_TITLE_MM)
    for y in levels:
        canvas.wire([(UNIT_X + half, y), (JOINT_X, y)], FEEDER)
    canvas.wire([(JOINT_X, levels[0]), (JOINT_X, levels[-1])], FEEDER)
    canvas.pen.dot(JOINT_X, out_y)
    frame = Rect(FRAME_X0, levels[0] - 8.0, FRAME_X1, levels[-1] + 8.0)
    canvas.wire([(JOINT_X, out_y), (FRAME_X1, out_y)], FEEDER)
    canvas.outline(frame)
    narrow = canvas.node_lines(node, UNIT_TITLE_MM)
    places = [
        stacked(lines, frame.x0, frame.y0 - 1.4, up=True),
        stacked(lines, frame.x1, frame.y0 - 1.4, "end", up=True),
    ]
    places += [stacked(narrow, frame.x0, frame.y0 - 1.4, up=True), stacked(narrow, frame.x0, frame.y1 + 3.2)]
    canvas.text(10, places)


Input = tuple[str, list[tuple[Supply | None, float]]]
"""Kind of a unit's input, and its sources with their heights."""


def _inputs(unit: Unit, heights: list[float]) -> list[Input]:
    if not unit.supplies:
        return [("", [(None, heights[0])])]
    found: list[Input] = []
    for supply, y in zip(unit.supplies, heights, strict=True):
        kind = "alternator" if supply.what == "starter_battery" else supply.what
        if found and found[-1][0] == kind:
            found[-1][1].append((supply, y))
        else:
            found.append((kind, [(supply, y)]))
    return found


def _draw_supply(canvas: Canvas, supply: Supply, y: float, reach: float) -> None:
    if supply.interrupted:
        _draw_from_zone(canvas, supply.node, y, reach)
        return
    what = supply.node.what
    start = SOURCE_X + 5.0
    canvas.stand(supply.node, SOURCE_X, y)
    if what == "alternator":
        canvas.symbol(symbols.alternator, SOURCE_X, y)
        lines = canvas.node_lines(supply.node, SOURCE_TITLE_MM)
        canvas.text(10, [stacked(lines, 2.0, y - 6.3, up=True), stacked(lines, 13.0, y - 6.3, up=True)])
    elif what == "starter_battery":
        start = SOURCE_X + 2.6
        canvas.symbol(symbols.battery, SOURCE_X, y)
        canvas.text(10, [stacked(canvas.node_lines(supply.node, SOURCE_TITLE_MM), 2.0, y - 4.6, up=True)])
    elif what == "panel":
        canvas.symbol(symbols.panel, SOURCE_X, y)
        lines = canvas.node_lines(supply.node, SOURCE_TITLE_MM)
        canvas.text(10, [stacked(lines, 2.0, y + 8.0), stacked(lines, 16.0, y + 6.0)])
    else:
        start = _draw_inlet(canvas, supply.node, y)
    if supply.starter:
        canvas.wire([(start, y), (STARTER_X, y)], FEEDER)
        start = STARTER_X + 2.6
        canvas.wire([(STARTER_X, y), (start, y)], FEEDER)
        canvas.pen.dot(STARTER_X, y)
        canvas.symbol(symbols.battery_down, STARTER_X, y)
        canvas.stand(supply.starter, STARTER_X, y + 4.0)
        lines = canvas.node_lines(supply.starter, STARTER_TITLE_MM)
        low = y + 12.4
        places = [stacked(lines, STARTER_X + 4.4, y + 8.2), stacked(lines, STARTER_X + 4.4, y + 10.4)]
        places += [stacked(lines, STARTER_X - 4.0, low), stacked(lines, 2.0, low), stacked(lines, 0.9, low - 4.0)]
        canvas.text(11, places)
    if supply.circuit:
        run(canvas, supply.circuit, start, reach, y, named=True)
    elif what == "inlet":
        canvas.wire([(start, y), (reach, y)])


def _draw_from_zone(canvas: Canvas, unit: Node, y: float, reach: float) -> None:
    """The AC input of a unit, from the AC side by an interrupted line."""
    port = Port(f"ac:{unit.tag}", "node")
    start = reach - 20.0
    canvas.arrow(start, y)
    canvas.known.mark(port, start, y)
    canvas.wire([(start, y), (reach, y)])
    canvas.symbol(symbols.three_conductors, reach - 6.0, y)
    canvas.used.add("three_conductors")
    said = [(Run(word),) for word in f"{canvas.say('drawing.from')} {canvas.say('drawing.ac')}".split()]
    lines = canvas.wrapped([*said, canvas.goes_on(port)], start - 6.0)
    canvas.text(10, [stacked(lines, start - 3.6, y + 0.9, "end"), stacked(lines, start - 2.0, y + 4.4, "end")])


def _draw_inlet(canvas: Canvas, node: Node, y: float) -> float:
    canvas.symbol(symbols.inlet, SOURCE_X, y)
    canvas.wire([(SOURCE_X + 3.6, y), (INLET_END, y)])
    canvas.symbol(symbols.three_conductors, 14.5, y)
    canvas.used.add("three_conductors")
    canvas.text(9, [(Piece((bold(canvas.say("drawing.zone"), TAG_PT),), 2.0, y - 6.4),)])
    lines = canvas.node_lines(node, SOURCE_TITLE_MM)
    canvas.text(10, [stacked(lines, 2.0, y + 7.8), stacked(lines, 20.0, y + 7.8)])
    return INLET_END


def draw_stores(canvas: Canvas, stores: list[StoreSlot], plan: Plan) -> list[float]:
    """Draw batteries and their negative side; return the heights at which the bus is met."""
    if not stores:
        return []
    heights = [made.slot.y for made in stores]
    y = heights[0]
    _draw_negative(canvas, plan, y)
    canvas.wire([(SHUNT_X + 4.0, y), (NEGATIVE_X, y)], 1.6)
    if len(heights) > 1:
        canvas.wire([(NEGATIVE_X, y), (NEGATIVE_X, heights[-1])], 1.6)
        for height in heights[:-1]:
            canvas.pen.dot(NEGATIVE_X, height)
    for made in stores:
        _draw_store(canvas, made.store, made.slot.y, linked=plan.link is not None)
    if plan.link is None:
        return heights
    top, bottom = heights[0] - 4.0, heights[-1] + 4.0
    canvas.bar(LINK_X, top, bottom, 3.2)
    lines = canvas.node_lines(plan.link, 40.0)
    canvas.stand(plan.link, LINK_X, top)
    canvas.text(9, [stacked(lines, LINK_X - 0.6, top - 1.3, up=True), stacked(lines, LINK_X - 0.6, bottom + 3.2)])
    middle = (heights[0] + heights[-1]) / 2
    run(canvas, plan.main, LINK_X, BUS_X, middle, named=True, weight=1.6)
    return [middle]


def _draw_negative(canvas: Canvas, plan: Plan, y: float) -> None:
    """From the shunt, or where it would be, to the negative busbar and the body."""
    if plan.body:
        canvas.wire([(SHUNT_X - 4.0, y), (BODY_X, y), (BODY_X, y + 4.0)], 1.6)
        canvas.symbol(symbols.body, BODY_X, y + 4.0)
        canvas.stand(plan.body, BODY_X, y + 4.0)
        _say_body(canvas, plan.body, plan.bond, y)
    if plan.negative:
        canvas.bar(BAR_X, y - 3.5, y + 3.5, 3.2)
        canvas.stand(plan.negative, BAR_X, y)
        lines = canvas.node_lines(plan.negative, 20.5)
        canvas.text(9, [stacked(lines, 1.0, y - 4.8, up=True)])
    if plan.monitor:
        canvas.symbol(symbols.shunt, SHUNT_X, y)
        canvas.stand(plan.monitor, SHUNT_X, y - 4.0)
        lines = canvas.node_lines(plan.monitor, MONITOR_MM)
        places = [stacked(lines, SHUNT_X + 4.6, y - 6.6), stacked(lines, SHUNT_X + 4.6, y - 7.6, up=True)]
        canvas.text(10, places[::-1] if plan.link else places)
    else:
        canvas.wire([(SHUNT_X - 4.0, y), (SHUNT_X + 4.0, y)], 1.6)


def _say_body(canvas: Canvas, body: Node, bond: Circuit | None, y: float) -> None:
    lines = canvas.node_lines(body, 26.0)
    if bond:
        tokens: list[Token] = [canvas.tagged(bond.tag, 7.0), canvas.quantity(bond.area_mm2, "mm²", most=2)]
        lines += canvas.wrapped([*tokens, canvas.quantity(bond.run_m, "m", fixed=True)], 26.0)
    canvas.text(12, [stacked(lines, 2.0, y + 9.4), stacked(lines, 14.0, y + 5.2)])


def _store_lines(canvas: Canvas, store: Store) -> list[tuple[Run, ...]]:
    params = canvas.wrapped(canvas.tokens("", "", store.node.params), 28.0)
    named = [(Run(word),) for word in store.node.name.split()]
    return [*params, *canvas.wrapped([*named, *canvas.mentioned(store.node)], 28.0)]


def _draw_store(canvas: Canvas, store: Store, y: float, linked: bool) -> None:
    x = LINKED_STORE_X if linked else STORE_X
    rect = canvas.symbol(symbols.battery, x, y)
    canvas.stand(store.node, x, y)
    canvas.wire([(NEGATIVE_X, y), (rect.x0 + 0.3, y)], 1.6)
    run(canvas, store.circuit, rect.x1, LINK_X if linked else BUS_X, y, named=True, weight=1.6)
    canvas.text(11, [(Piece(canvas.tagged(store.node.tag), x, y - 4.0, "middle"),)])
    lines = _store_lines(canvas, store)
    if linked:
        canvas.text(12, [stacked(lines, x - 2.8, y + LINKED_TEXT_MM)])
    else:
        canvas.text(12, [stacked(lines, x + 1.6, y + 6.2, "end"), stacked(lines, x, y + 6.2, "middle")])
