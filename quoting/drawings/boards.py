"""Boards with their circuits and loads: fed from the main bus, through a converter, or by an interrupted line."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from quoting.drawings import symbols
from quoting.drawings.canvas import LINE_MM, Canvas, Token, stacked
from quoting.drawings.layout import BOARD_X, BRANCH_DOWN, BRANCH_UP, BUS_X, HEAD_MM, PITCH_MM, Slot, Stops
from quoting.drawings.pen import BAR, TAG_PT, Run
from quoting.drawings.plan import Board, Row
from quoting.drawings.ports import Port
from quoting.drawings.runs import changed, run
from quoting.sizing.appraisal import Node

THROUGH_MM, THROUGH_BAR_MM = 29.0, 49.0
"""A converter and the bar behind it, from the left edge of their column. [mm]"""
ORIGIN_BAR_MM = 34.0
"""The bar of a board that an interrupted line feeds, from the left edge of its column. [mm]"""
ORIGIN_UP_MM = 11.5
"""Room above an interrupted feeder for where it comes from. [mm]"""
CHASSIS_DOWN_MM = 5.4


@dataclass(slots=True)
class BoardSlots:
    board: Board
    stops: Stops
    slots: list[Slot] = field(default_factory=list)


def load_lines(canvas: Canvas, row: Row, width_mm: float) -> list[tuple[Run, ...]]:
    """Tag and name of a load, then its current and drop, then where it is when that is elsewhere."""
    return canvas.lines_once("load", row.circuit.tag, width_mm, lambda: _load_lines(canvas, row, width_mm))


def _load_lines(canvas: Canvas, row: Row, width_mm: float) -> list[tuple[Run, ...]]:
    circuit = row.circuit
    tag = (*canvas.tagged(circuit.tag), *changed(canvas, circuit))
    tokens: list[Token] = [tag, *((Run(word, bold=True, size_pt=TAG_PT),) for word in circuit.name.split())]
    drop, unit = canvas.quantity(circuit.drop_ratio * 100, "%", fixed=True)
    facts: list[Token] = [
        canvas.quantity(circuit.current_a, "A"),
        (Run(canvas.say("drawing.drop"), second=True), Run(drop.text, gap_mm=0.75), unit),
    ]
    if row.to:
        facts.append(canvas.onward(Port(circuit.tag, "row"), row.to.tag))
    return [*canvas.wrapped(tokens, width_mm), *canvas.wrapped(facts, width_mm)]


def main_stops(board: Board) -> Stops:
    """Stops of a board in the main picture."""
    left = BUS_X
    if board.through:
        return Stops(bar=left + THROUGH_BAR_MM + 2.0)
    return Stops(bar=left if board.is_bus else BOARD_X + 2.0 if board.origin else BOARD_X)


def column_stops(board: Board, column: Stops) -> Stops:
    """Stops of a board in a column of its own; what an interrupted line feeds keeps room for its feeder."""
    if board.moved or not board.origin:
        return column
    bar = column.left + (THROUGH_BAR_MM if board.through else ORIGIN_BAR_MM)
    return replace(column, bar=bar, load=column.load + 6.0, name=column.name + 6.0)


def board_slots(canvas: Canvas, board: Board, stops: Stops) -> BoardSlots:
    """Rows a board takes; one when its circuits stand in a column of their own."""
    made = BoardSlots(board, stops)
    rows = () if board.moved else board.rows
    halves = [len(load_lines(canvas, row, stops.name_width)) * LINE_MM / 2 + 0.35 for row in rows]
    head = 0.0 if board.is_bus else HEAD_MM + 1.6 + LINE_MM * (len(_head(canvas, board, stops)) - 1)
    below = 0.0
    for index, half in enumerate(halves):
        up = max(BRANCH_UP, half)
        after = halves[index + 1] if index + 1 < len(halves) else half
        least = CHASSIS_DOWN_MM if rows[index].circuit.return_by == "chassis" else BRANCH_DOWN
        down = max(least, half + after - max(BRANCH_UP, after))
        calm = max(0.0, PITCH_MM - below - up) if index else 3.0
        made.slots.append(Slot(up + (0.0 if index else head), down, stretch=calm))
        below = down
    if not made.slots:
        made.slots.append(Slot(head + 4.4, 5.0, stretch=3.0))
    made.slots[-1].down = max(made.slots[-1].down, 5.4)
    single = len(made.slots) == 1
    if board.origin and not board.moved:
        made.slots[0].up = max(made.slots[0].up, ORIGIN_UP_MM + (5.0 if board.through else 0.0))
        made.slots[-1].down = max(made.slots[-1].down, 7.0)
    if board.through and single:
        made.slots[0].up, made.slots[0].down = max(made.slots[0].up, 13.0), max(made.slots[0].down, 9.0)
    return made


def _head(canvas: Canvas, board: Board, stops: Stops) -> list[tuple[Run, ...]]:
    """A board's tag, name and rating; of a moved one where its feeder is, of a post where its node is."""
    wide = min(62.0, stops.edge - stops.bar)
    if board.refers or board.continued:
        head = canvas.tokens(board.node.tag, board.node.name, strong=True)
        if board.continued and not board.refers:
            head.append((Run(canvas.say("drawing.continued")),))
        head.append((Run(canvas.say("drawing.from"), second=True),))
        head.append(canvas.goes_on(Port(board.port, "row")))
        return canvas.wrapped(head, wide)
    head = canvas.tokens(board.node.tag, board.node.name, board.node.params, strong=True)
    return canvas.wrapped([*head, *canvas.mentioned(board.node)], wide)


def draw_board(canvas: Canvas, made: BoardSlots, from_bus: bool) -> list[float]:
    """Draw a board; return the heights at which the main bus is met."""
    board, stops = made.board, made.stops
    heights = [slot.y for slot in made.slots]
    rows = () if board.moved else board.rows
    for row, y in zip(rows, heights, strict=False):
        draw_row(canvas, row, stops, y)
    if board.is_bus and from_bus:
        return heights
    top, bottom = heights[0] - 4.0, heights[-1] + 4.0
    canvas.bar(stops.bar, top, bottom, BAR)
    canvas.text(10, [stacked(_head(canvas, board, stops), stops.bar - 0.55, top - 3.8, up=True)])
    middle = (heights[0] + heights[-1]) / 2
    if board.refers or board.continued:
        canvas.known.mark(Port(board.port, "row"), stops.bar, middle)
    else:
        canvas.stand(board.node, stops.bar, middle)
    if board.moved:
        _say_moved(canvas, board, stops, middle)
    if board.origin and board.feeder and not board.continued:
        _draw_origin(canvas, board, stops, middle)
        return []
    if not from_bus or not (board.feeder or board.through):
        return []
    if board.through:
        _draw_through(canvas, board, stops, BUS_X, middle)
    else:
        run(canvas, board.feeder, BUS_X, stops.bar, middle, named=True)
    return [middle]


def _say_moved(canvas: Canvas, board: Board, stops: Stops, y: float) -> None:
    """At the stub of a board: how many circuits, and where they stand."""
    tokens: list[Token] = [(Run(word),) for word in canvas.say("drawing.elsewhere", count=len(board.rows)).split()]
    for name in canvas.known.parts(board.port):
        port = Port(name, "node")
        canvas.known.mark(port, stops.bar, y)
        tokens.append(canvas.onward(port))
    canvas.wire([(stops.bar, y), (stops.bar + 4.0, y)])
    canvas.arrow(stops.bar + 6.2, y)
    lines = canvas.wrapped(tokens, stops.edge - stops.bar - 8.0)
    canvas.text(10, [stacked(lines, stops.bar + 8.0, y + 0.9 - (len(lines) - 1) * LINE_MM / 2)])


def _draw_origin(canvas: Canvas, board: Board, stops: Stops, y: float) -> None:
    """The feeder of a board from an interrupted line."""
    assert board.origin
    start = stops.left + 2.2
    canvas.arrow(start, y)
    port = Port(board.port, "row")
    canvas.known.mark(port, start, y)
    said = [(Run(canvas.say("drawing.from"), second=True),), canvas.tagged(board.origin.tag), canvas.goes_on(port)]
    lines = canvas.wrapped(said, stops.bar - stops.left - 2.0)
    above = stacked(lines, stops.left, y - 7.6, up=True)
    canvas.text(9, [above, stacked(lines, stops.left, y + 8.6), stacked(lines, stops.left, y - 10.6, up=True)])
    if board.through:
        _draw_through(canvas, board, stops, start, y)
    else:
        run(canvas, board.feeder, start, stops.bar, y, named=True)


def _draw_through(canvas: Canvas, board: Board, stops: Stops, start: float, y: float) -> None:
    half, x = symbols.CONVERTER_MM / 2, stops.bar - (THROUGH_BAR_MM - THROUGH_MM)
    canvas.symbol(symbols.converter, x, y)
    run(canvas, board.feeder, start, x - half, y, named=True)
    run(canvas, board.onward, x + half, stops.bar, y, named=True)
    if board.through:
        canvas.stand(board.through, x, y)
        lines = canvas.node_lines(board.through, 24.0)
        canvas.text(
            10,
            [
                stacked(lines, x - half, y - half - 1.4, up=True),
                stacked(lines, x - half, y + half + 3.0),
                stacked(lines, x + half, y - half - 1.4, "end", up=True),
                stacked(lines, x + half, y + half + 3.0, "end"),
            ],
        )


def kind_of(node: Node | None, ac: bool = False) -> str:
    """Which load symbol: what the record says (``symbol``), else by how it is used, else a plain appliance."""
    params = node.params if node else {}
    asked = params.get("symbol")
    if isinstance(asked, str) and asked in symbols.LOADS:
        return asked
    if node and node.what == "outlet":
        return "socket_earthed" if ac else "socket"
    by_use = {"cooling": "refrigerator", "recharge": "electronic"}
    return by_use.get(str(params.get("way", "")), "socket" if params.get("bus") == "usb" else "appliance")


def draw_row(canvas: Canvas, row: Row, stops: Stops, y: float) -> None:
    """A circuit from its bar to its load, or to the arrow that stands for a node drawn elsewhere."""
    if row.to:
        canvas.known.mark(Port(row.circuit.tag, "row"), stops.load, y)
        canvas.arrow(stops.load + 2.2, y)
        reach = stops.load
    else:
        rect = canvas.load(kind_of(row.load), stops.load, y)
        reach = rect.x0
        if row.load:
            canvas.stand(row.load, stops.load, y)
    run(canvas, row.circuit, stops.bar, reach, y, branch=True, weight=0.75)
    if row.circuit.return_by == "chassis":
        canvas.used.add("chassis")
        canvas.wire([(stops.load, y + 2.4), (stops.load, y + 2.9)])
        canvas.symbol(symbols.body, stops.load, y + 2.9)
    say_load(canvas, load_lines(canvas, row, stops.name_width), stops.name, y)


def say_load(canvas: Canvas, lines: list[tuple[Run, ...]], x: float, y: float) -> None:
    """Set a load's lines beside it, their middle on its line."""
    first = y - (len(lines) - 1) * LINE_MM / 2 + 0.85
    canvas.text(15, [stacked(lines, x, first)])
