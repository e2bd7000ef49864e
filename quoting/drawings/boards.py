"""The right half of a single-line diagram: boards with their circuits and loads, inverters with their 230 V zone."""

from __future__ import annotations

from dataclasses import dataclass, field

from quoting.drawings import symbols
from quoting.drawings.canvas import LINE_MM, Canvas, Piece, Token, stacked
from quoting.drawings.layout import BOARD_X, BRANCH_DOWN, BRANCH_UP, BUS_X, HEAD_MM, LOAD_X, NAME_X, PITCH_MM, Slot
from quoting.drawings.pen import BAR, TAG_PT, TINT, Pen, Run, bold
from quoting.drawings.placing import Rect
from quoting.drawings.plan import Board, Inversion, Row
from quoting.drawings.runs import run
from quoting.sizing.appraisal import Circuit, Node

INVERTER_X = 166.0
EARTH_X = INVERTER_X + 2.6
TITLE_MM = 34.5
THROUGH_X = 158.0
THROUGH_BOARD_X = 178.0


@dataclass(frozen=True, slots=True)
class Stops:
    """Where a column of branch rows has its bar, loads, names and right edge. [mm]"""

    bar: float = BOARD_X
    load: float = LOAD_X
    name: float = NAME_X
    edge: float = 260.5

    @property
    def name_width(self) -> float:
        return self.edge - self.name


@dataclass(slots=True)
class BoardSlots:
    board: Board
    stops: Stops
    slots: list[Slot] = field(default_factory=list)


@dataclass(slots=True)
class InversionSlots:
    inversion: Inversion
    slots: list[Slot] = field(default_factory=list)


def load_lines(canvas: Canvas, row: Row, width_mm: float, extra: tuple[Token, ...] = ()) -> list[tuple[Run, ...]]:
    """Tag and name of a load, then its current and drop."""
    circuit = row.circuit
    tokens: list[Token] = [(bold(circuit.tag),)]
    tokens += [(Run(word, bold=True, size_pt=TAG_PT),) for word in circuit.name.split()]
    drop, unit = canvas.quantity(circuit.drop_ratio * 100, "%", fixed=True)
    facts: list[Token] = [
        canvas.quantity(circuit.current_a, "A"),
        *extra,
        (Run(canvas.say("drawing.drop"), second=True), Run(drop.text, gap_mm=0.75), unit),
    ]
    return [*canvas.wrapped(tokens, width_mm), *canvas.wrapped(facts, width_mm)]


def board_slots(canvas: Canvas, board: Board, stops: Stops | None = None) -> BoardSlots:
    """Rows a board takes; one when its circuits are on another sheet."""
    if stops is None:
        stops = Stops(bar=THROUGH_BOARD_X if board.through else (BUS_X if board.is_bus else BOARD_X))
    made = BoardSlots(board, stops)
    rows = () if board.elsewhere else board.rows
    halves = [len(load_lines(canvas, row, stops.name_width)) * LINE_MM / 2 + 0.35 for row in rows]
    head = 0.0 if board.is_bus else HEAD_MM + 2.0 + LINE_MM * (len(_head(canvas, board)) - 1)
    below = 0.0
    for index, half in enumerate(halves):
        up = max(BRANCH_UP, half)
        after = halves[index + 1] if index + 1 < len(halves) else half
        down = max(BRANCH_DOWN, half + after - max(BRANCH_UP, after))
        calm = max(0.0, PITCH_MM - below - up) if index else 3.0
        made.slots.append(Slot(up + (0.0 if index else head), down, stretch=calm))
        below = down
    if not made.slots:
        made.slots.append(Slot(head + 4.0, 3.0, stretch=3.0))
    made.slots[-1].down = max(made.slots[-1].down, 4.8)
    if board.through and len(made.slots) == 1:
        made.slots[0].up, made.slots[0].down = max(made.slots[0].up, 11.0), max(made.slots[0].down, 7.0)
    return made


def _head(canvas: Canvas, board: Board) -> list[tuple[Run, ...]]:
    """A board's tag, name and rating."""
    head = canvas.tokens(board.node.tag, board.node.name, board.node.params, strong=True)
    if board.continued:
        head.append((Run(canvas.say("drawing.continued")),))
    return canvas.wrapped(head, 60.0)


def inversion_slots(canvas: Canvas, inversion: Inversion) -> InversionSlots:
    """Rows an inverter takes: one per AC circuit or outlet, one when it has none."""
    made = InversionSlots(inversion)
    titles = len(canvas.node_lines(inversion.node, TITLE_MM))
    count = max(1, len(inversion.rows) or len(inversion.outlets))
    for index in range(count):
        half = _ac_lines(canvas, inversion, index) * LINE_MM / 2
        up = max(13.0, half + 9.0) if index == 0 else max(7.5, half + 1.0)
        made.slots.append(Slot(up, max(7.0, half + 1.0), stretch=0.0, spring=index == 0))
    made.slots[-1].down = max(
        made.slots[-1].down, 12.5 if count == 1 else 10.0, 9.6 + (titles - 1) * LINE_MM if count == 1 else 0.0
    )
    return made


def _ac_lines(canvas: Canvas, inversion: Inversion, index: int) -> int:
    """Lines of text beside an AC circuit or outlet."""
    if index < len(inversion.rows):
        return len(load_lines(canvas, inversion.rows[index], 43.5))
    if index < len(inversion.outlets):
        return len(_outlet_lines(canvas, inversion.outlets[index]))
    return 0


def _outlet_lines(canvas: Canvas, node: Node) -> list[tuple[Run, ...]]:
    return canvas.wrapped(canvas.tokens(node.tag, node.name, node.params, strong=True), 43.5)


def draw_board(canvas: Canvas, made: BoardSlots, from_bus: bool) -> list[float]:
    """Draw a board; return the heights at which the main bus is met."""
    board, stops = made.board, made.stops
    heights = [slot.y for slot in made.slots]
    rows = () if board.elsewhere else board.rows
    for row, y in zip(rows, heights, strict=False):
        _draw_row(canvas, row, stops, y)
    if board.is_bus and from_bus:
        return heights
    top, bottom = heights[0] - 4.0, heights[-1] + 4.0
    canvas.bar(stops.bar, top, bottom, BAR)
    canvas.text(10, [stacked(_head(canvas, board), stops.bar - 0.55, top - 2.9, up=True)])
    if board.elsewhere:
        said = canvas.say("drawing.elsewhere", count=len(board.rows), sheet=board.elsewhere)
        canvas.text(10, [(Piece((Run(said),), stops.bar + 3.0, heights[0] + 0.9),)])
    if not from_bus or not (board.feeder or board.through):
        return []
    middle = (heights[0] + heights[-1]) / 2
    if board.through:
        _draw_through(canvas, board, stops, middle)
    else:
        run(canvas, board.feeder, BUS_X, stops.bar, middle, named=True)
    return [middle]


def _draw_through(canvas: Canvas, board: Board, stops: Stops, y: float) -> None:
    half = symbols.CONVERTER_MM / 2
    canvas.symbol(symbols.converter, THROUGH_X, y)
    run(canvas, board.feeder, BUS_X, THROUGH_X - half, y, named=True)
    run(canvas, board.onward, THROUGH_X + half, stops.bar, y, named=True)
    if board.through:
        lines = canvas.node_lines(board.through, 24.0)
        canvas.text(
            10,
            [
                stacked(lines, THROUGH_X - half, y - half - 1.4, up=True),
                stacked(lines, THROUGH_X - half, y + half + 3.0),
                stacked(lines, THROUGH_X + half, y - half - 1.4, "end", up=True),
                stacked(lines, THROUGH_X + half, y + half + 3.0, "end"),
            ],
        )


def kind_of(node: Node | None, circuit: Circuit, ac: bool = False) -> str:
    """Which load symbol: what the record says (``symbol``), else by how it is used, else a plain appliance."""
    params = node.params if node else {}
    asked = params.get("symbol")
    if isinstance(asked, str) and asked in symbols.LOADS:
        return asked
    if node and node.what == "outlet":
        return "socket_earthed" if ac else "socket"
    if params.get("way") == "cooling":
        return "motor"
    if params.get("bus") == "usb":
        return "socket"
    return "appliance"


def _draw_row(canvas: Canvas, row: Row, stops: Stops, y: float) -> None:
    rect = canvas.load(kind_of(row.load, row.circuit), stops.load, y)
    run(canvas, row.circuit, stops.bar, rect.x0, y, branch=True, weight=0.75)
    _say_load(canvas, load_lines(canvas, row, stops.name_width), stops.name, y)


def _say_load(canvas: Canvas, lines: list[tuple[Run, ...]], x: float, y: float) -> None:
    first = y - (len(lines) - 1) * LINE_MM / 2 + 0.85
    canvas.text(15, [stacked(lines, x, first)])


def draw_tint(pen: Pen, made: InversionSlots) -> None:
    """Tint the 230 V zone behind an inverter; before anything else, so that it lies below."""
    first, last = made.slots[0].y, made.slots[-1].y
    up, down = max(9.8, made.slots[0].up - 3.2), max(8.0, made.slots[-1].down - 4.6)
    pen.box(Rect(INVERTER_X, first - up, 261.0, last + down), weight=0, fill=TINT)


def draw_inversion(canvas: Canvas, made: InversionSlots) -> list[float]:
    """Draw an inverter with its AC circuits; return the heights at which the main bus is met."""
    inversion = made.inversion
    heights = [slot.y for slot in made.slots]
    y, half = heights[0], symbols.CONVERTER_MM / 2
    canvas.symbol(symbols.inverter, INVERTER_X, y)
    run(canvas, inversion.feed, BUS_X, INVERTER_X - half, y, named=True, weight=1.6)
    canvas.text(
        9, [(Piece((bold(canvas.say("drawing.zone"), TAG_PT),), 259.0, y - max(6.4, made.slots[0].up - 6.6), "end"),)]
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


def _draw_ac(canvas: Canvas, inversion: Inversion, heights: list[float]) -> None:
    start = INVERTER_X + symbols.CONVERTER_MM / 2
    count = max(len(inversion.rows), len(inversion.outlets))
    if count > 1:
        canvas.wire([(start, heights[0]), (175.0, heights[0])])
        start = 175.0
        canvas.wire([(start, heights[0]), (start, heights[-1])], 1.6)
    canvas.used.add("three_conductors") if count else None
    for row, y in zip(inversion.rows, heights, strict=False):
        rect = canvas.load(kind_of(row.load, row.circuit, ac=True), LOAD_X, y)
        canvas.symbol(symbols.three_conductors, rect.x0 - 3.0, y)
        run(canvas, row.circuit, start, rect.x0, y, branch=True, weight=0.75)
        _say_load(canvas, load_lines(canvas, row, 43.5), NAME_X, y)
    if inversion.rows:
        return
    for node, y in zip(inversion.outlets, heights, strict=False):
        rect = canvas.load("socket_earthed", LOAD_X, y)
        canvas.symbol(symbols.three_conductors, rect.x0 - 3.0, y)
        canvas.wire([(start, y), (rect.x0, y)])
        _say_load(canvas, _outlet_lines(canvas, node), NAME_X, y)
