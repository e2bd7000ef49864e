"""The left half of a single-line diagram: sources, chargers and controllers; batteries, monitor and body."""

from __future__ import annotations

from dataclasses import dataclass, field

from quoting.drawings import symbols
from quoting.drawings.canvas import LINE_MM, Canvas, Piece, stacked
from quoting.drawings.layout import BUS_X, JOINT_X, STORE_X, UNIT_X, Slot
from quoting.drawings.pen import TAG_PT, TINT, Pen, Run, bold
from quoting.drawings.placing import Rect
from quoting.drawings.plan import Store, Supply, Unit
from quoting.drawings.runs import run
from quoting.sizing.appraisal import Circuit, Node

SOURCE_X = 7.0
STARTER_X = 19.0
BODY_X = 9.0
SHUNT_X = 26.0
NEGATIVE_X = 34.0
ZONE_UP = 9.8
INLET_END = 24.0
UNIT_TITLE_MM, FRAME_TITLE_MM, SOURCE_TITLE_MM, STARTER_TITLE_MM = 46.0, 58.0, 60.0, 42.0
FRAME_X0, FRAME_X1 = UNIT_X - 7.0, JOINT_X + 2.6

ROOM = {"alternator": (9.0, 8.0), "starter_battery": (9.0, 8.0), "panel": (9.5, 10.0), "inlet": (10.6, 10.2)}
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
    wide = FRAME_TITLE_MM if len(unit.supplies) > 1 else UNIT_TITLE_MM
    title = (len(canvas.node_lines(unit.node, wide)) - 1) * LINE_MM if unit.node else 0.0
    for index, supply in enumerate(unit.supplies):
        up, down = ROOM[supply.node.what]
        more = (len(canvas.node_lines(supply.node, SOURCE_TITLE_MM)) - 1) * LINE_MM
        if supply.node.what in ("panel", "inlet"):
            down += more
        else:
            up += more
        if supply.starter:
            down = 11.0 + len(canvas.node_lines(supply.starter, STARTER_TITLE_MM)) * LINE_MM
        if index == 0 and len(unit.supplies) > 1:
            up = max(up, 12.5 + title)
        elif index == 0:
            up = max(up, 10.0 + title)
        made.slots.append(Slot(up, down, stretch=7.0))
    if not made.slots:
        made.slots.append(Slot(10.0 + title, 7.0, stretch=7.0))
    if len(made.slots) > 1:
        made.slots[-1].down = max(made.slots[-1].down, 9.5)
    return made


def store_slot(canvas: Canvas, store: Store, first: bool, monitored: bool) -> StoreSlot:
    """Row of a battery: the meter above the first, its facts below."""
    up = 11.5 if first and monitored else 7.5
    down = 4.0 + LINE_MM * len(_store_lines(canvas, store))
    return StoreSlot(store, Slot(up, max(down, 10.6), stretch=2.0, spring=first), first)


def draw_tint(pen: Pen, unit: UnitSlots) -> None:
    """Tint the 230 V zone of inlets; before anything else, so that it lies below."""
    for supply, slot in zip(unit.unit.supplies, unit.slots, strict=False):
        if supply.node.what == "inlet":
            right = UNIT_X if unit.unit.node else BUS_X
            pen.box(Rect(0.0, slot.y - ZONE_UP, right, slot.y + slot.down - 0.8), weight=0, fill=TINT)


def draw_unit(canvas: Canvas, made: UnitSlots) -> list[float]:
    """Draw sources and unit; return the heights at which the bus is met."""
    unit, heights = made.unit, [slot.y for slot in made.slots]
    half = symbols.CONVERTER_MM / 2
    framed = len(heights) > 1
    reach = UNIT_X - half if unit.node else BUS_X
    if unit.node and framed:
        for y in heights:
            canvas.wire([(FRAME_X0, y), (reach, y)], 1.05)
        reach = FRAME_X0
    for supply, y in zip(unit.supplies, heights, strict=False):
        _draw_supply(canvas, supply, y, reach)
    if unit.node is None:
        return [y for supply, y in zip(unit.supplies, heights, strict=True) if supply.circuit]
    for index, y in enumerate(heights):
        ac = _is_ac(unit, index)
        canvas.symbol(symbols.rectifier if ac else symbols.converter, UNIT_X, y)
    out_y = heights[(len(heights) - 1) // 2]
    lines = canvas.node_lines(unit.node, FRAME_TITLE_MM if framed else UNIT_TITLE_MM)
    if not framed:
        canvas.wire([(UNIT_X + half, out_y), (JOINT_X - 2.0, out_y)], 1.05)
        top = out_y - half - 1.4
        canvas.text(
            10,
            [
                stacked(lines, UNIT_X - half, top, up=True),
                stacked(lines, UNIT_X - half, out_y + half + 3.0),
                stacked(lines, UNIT_X + half, top, "end", up=True),
            ],
        )
    else:
        for y in heights:
            canvas.wire([(UNIT_X + half, y), (JOINT_X, y)], 1.05)
        canvas.wire([(JOINT_X, heights[0]), (JOINT_X, heights[-1])], 1.05)
        canvas.pen.dot(JOINT_X, out_y)
        frame = Rect(FRAME_X0, heights[0] - 8.0, FRAME_X1, heights[-1] + 8.0)
        canvas.wire([(JOINT_X, out_y), (FRAME_X1, out_y)], 1.05)
        canvas.outline(frame)
        above = frame.y0 - 1.4
        canvas.text(10, [stacked(lines, frame.x0, above, up=True), stacked(lines, frame.x1, above, "end", up=True)])
    output = unit.outputs[0] if unit.outputs else None
    run(canvas, output, FRAME_X1 if framed else JOINT_X - 2.0, BUS_X, out_y, named=True, weight=1.05)
    return [out_y]


def _is_ac(unit: Unit, index: int) -> bool:
    if index < len(unit.supplies):
        return unit.supplies[index].node.what == "inlet"
    return bool(unit.node and unit.node.what == "mains_charger")


def _draw_supply(canvas: Canvas, supply: Supply, y: float, reach: float) -> None:
    what = supply.node.what
    start = SOURCE_X + 5.0
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
        canvas.wire([(start, y), (STARTER_X, y)], 1.05)
        start = STARTER_X + 2.6
        canvas.wire([(STARTER_X, y), (start, y)], 1.05)
        canvas.pen.dot(STARTER_X, y)
        canvas.symbol(symbols.battery_down, STARTER_X, y)
        lines = canvas.node_lines(supply.starter, STARTER_TITLE_MM)
        canvas.text(11, [stacked(lines, STARTER_X + 4.4, y + 8.2), stacked(lines, STARTER_X + 4.4, y + 10.4)])
    if supply.circuit:
        run(canvas, supply.circuit, start, reach, y, named=True)
    elif what == "inlet":
        canvas.wire([(start, y), (reach, y)])


def _draw_inlet(canvas: Canvas, node: Node, y: float) -> float:
    canvas.symbol(symbols.inlet, SOURCE_X, y)
    canvas.wire([(SOURCE_X + 3.6, y), (INLET_END, y)])
    canvas.symbol(symbols.three_conductors, 14.5, y)
    canvas.used.add("three_conductors")
    canvas.text(9, [(Piece((bold(canvas.say("drawing.zone"), TAG_PT),), 2.0, y - 6.4),)])
    lines = canvas.node_lines(node, SOURCE_TITLE_MM)
    canvas.text(10, [stacked(lines, 2.0, y + 7.8), stacked(lines, 20.0, y + 7.8)])
    return INLET_END


def draw_stores(
    canvas: Canvas, stores: list[StoreSlot], monitor: Node | None, body: Node | None, bond: Circuit | None
) -> list[float]:
    """Draw batteries and their negative side; return the heights at which the bus is met."""
    if not stores:
        return []
    heights = [made.slot.y for made in stores]
    y = heights[0]
    if body:
        canvas.wire([(SHUNT_X - 4.0, y), (BODY_X, y), (BODY_X, y + 4.0)], 1.6)
        canvas.symbol(symbols.body, BODY_X, y + 4.0)
        _say_body(canvas, body, bond, y)
    if monitor:
        canvas.symbol(symbols.shunt, SHUNT_X, y)
        lines = canvas.node_lines(monitor, 60.0)
        canvas.text(11, [stacked(lines, SHUNT_X + 4.6, y - 6.6), stacked(lines, SHUNT_X + 4.6, y - 8.4, up=True)])
    else:
        canvas.wire([(SHUNT_X - 4.0, y), (SHUNT_X + 4.0, y)], 1.6)
    canvas.wire([(SHUNT_X + 4.0, y), (NEGATIVE_X, y)], 1.6)
    if len(heights) > 1:
        canvas.wire([(NEGATIVE_X, y), (NEGATIVE_X, heights[-1])], 1.6)
        for height in heights[:-1]:
            canvas.pen.dot(NEGATIVE_X, height)
    for made in stores:
        _draw_store(canvas, made.store, made.slot.y)
    return heights


def _say_body(canvas: Canvas, body: Node, bond: Circuit | None, y: float) -> None:
    tokens = canvas.tokens(body.tag, body.name, body.params)
    if bond:
        tokens += [(bold(bond.tag, 7.0),), canvas.quantity(bond.area_mm2, "mm²", most=2)]
        tokens += [canvas.quantity(bond.run_m, "m", fixed=True)]
    lines = canvas.wrapped(tokens, 26.0)
    canvas.text(12, [stacked(lines, 2.0, y + 9.4), stacked(lines, 14.0, y + 5.2)])


def _store_lines(canvas: Canvas, store: Store) -> list[tuple[Run, ...]]:
    params = canvas.wrapped(canvas.tokens("", "", store.node.params), 28.0)
    return [*params, *canvas.wrapped([(Run(word),) for word in store.node.name.split()], 28.0)]


def _draw_store(canvas: Canvas, store: Store, y: float) -> None:
    rect = canvas.symbol(symbols.battery, STORE_X, y)
    canvas.wire([(NEGATIVE_X, y), (rect.x0 + 0.3, y)], 1.6)
    run(canvas, store.circuit, rect.x1, BUS_X, y, named=True, weight=1.6)
    canvas.text(11, [(Piece((bold(store.node.tag),), STORE_X, y - 4.0, "middle"),)])
    lines = _store_lines(canvas, store)
    canvas.text(12, [stacked(lines, STORE_X + 1.6, y + 6.2, "end"), stacked(lines, STORE_X, y + 6.2, "middle")])
