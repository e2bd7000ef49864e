"""Sensing and control leads: one bundle from the part that reads them, its rows in two columns."""

from __future__ import annotations

from quoting.drawings import symbols
from quoting.drawings.boards import BoardSlots
from quoting.drawings.canvas import LINE_MM, Canvas, Token, stacked
from quoting.drawings.layout import HEAD_MM, Slot, Stops
from quoting.drawings.pen import TAG_PT, Run
from quoting.drawings.plan import Board, Row
from quoting.drawings.ports import Port
from quoting.drawings.runs import changed, device_ratings
from quoting.drawings.symbols import DEVICES
from quoting.sizing.appraisal import Node

ABREAST = 2
"""Leads beside each other in one row."""
LEAD_MM = 12.0
DEVICE_MM = 18.0
"""Length of a lead without a device and with one. [mm]"""
LETTERS = {
    "tank": "L",
    "resistance": "L",
    "temperature": "T",
    "voltage": "V",
    "current": "A",
    "digital": "D",
}
"""What a sensor measures, as letters stand in an instrument's circle (C)."""


def signal_slots(canvas: Canvas, board: Board, stops: Stops) -> BoardSlots:
    """Rows a bundle takes."""
    made = BoardSlots(board, stops)
    width = _text_width(board, stops)
    pairs = [board.rows[index : index + ABREAST] for index in range(0, len(board.rows), ABREAST)]
    head = HEAD_MM + 1.0 + LINE_MM * (len(_head(canvas, board, stops)) - 1)
    for index, pair in enumerate(pairs):
        half = max(len(_lines(canvas, row, width)) for row in pair) * LINE_MM / 2 + 0.6
        above = 5.6 if any(row.circuit.devices for row in pair) else 3.4
        made.slots.append(Slot(max(above, half) + (0.0 if index else head), max(3.4, half), stretch=2.0 * bool(index)))
    made.slots[-1].down += 1.2
    return made


def draw_signals(canvas: Canvas, made: BoardSlots) -> None:
    """Draw a bundle and its leads."""
    board, stops = made.board, made.stops
    heights = [slot.y for slot in made.slots]
    top = heights[0] - 3.4
    if board.refers or board.continued:
        canvas.known.mark(Port(board.port, "row"), stops.left + 1.5, heights[0])
    else:
        canvas.stand(board.node, stops.left + 1.5, heights[0])
    head = _head(canvas, board, stops)
    canvas.text(10, [stacked(head, stops.left + 1.0, top - 2.4, up=True)])
    step = _step(stops)
    for across in range(min(ABREAST, len(board.rows))):
        x = stops.left + 1.5 + across * step
        last = heights[(len(board.rows) - 1 - across) // ABREAST]
        canvas.signal([(x, top), (x, last)])
        if across:
            canvas.signal([(x - step, top), (x, top)])
    width = _text_width(board, stops)
    for index, row in enumerate(board.rows):
        x = stops.left + 1.5 + index % ABREAST * step
        _draw_lead(canvas, row, x, heights[index // ABREAST], _reach(board), width)


def _step(stops: Stops) -> float:
    return (stops.edge - stops.left) / ABREAST


def _reach(board: Board) -> float:
    return DEVICE_MM if any(row.circuit.devices for row in board.rows) else LEAD_MM


def _text_width(board: Board, stops: Stops) -> float:
    return _step(stops) - _reach(board) - 9.5


def _head(canvas: Canvas, board: Board, stops: Stops) -> list[tuple[Run, ...]]:
    head = canvas.tokens(board.node.tag, board.node.name, strong=True)
    if not (board.refers or board.continued):
        head = [*canvas.tokens(board.node.tag, board.node.name, board.node.params, strong=True)]
        return canvas.wrapped([*head, *canvas.mentioned(board.node)], stops.edge - stops.left - 4.0)
    head.append((Run(canvas.say("drawing.signals")),))
    head += [(Run(canvas.say("drawing.from"), second=True),), canvas.goes_on(Port(board.port, "row"))]
    return canvas.wrapped(head, stops.edge - stops.left - 4.0)


def _lines(canvas: Canvas, row: Row, width_mm: float) -> list[tuple[Run, ...]]:
    """Tag and name of what is sensed; below it the lead's own tag, size and length."""
    return canvas.lines_once("lead", row.circuit.tag, width_mm, lambda: _lead_lines(canvas, row, width_mm))


def _lead_lines(canvas: Canvas, row: Row, width_mm: float) -> list[tuple[Run, ...]]:
    circuit = row.circuit
    far = row.load or row.to
    name = row.load.name if row.load else circuit.name
    tokens: list[Token] = [canvas.tagged(far.tag)] if far else []
    tokens += [(Run(word, bold=True, size_pt=TAG_PT),) for word in name.split()]
    facts: list[Token] = [
        (*canvas.tagged(circuit.tag, 7.0), *changed(canvas, circuit)),
        canvas.quantity(circuit.area_mm2, "mm²", most=2),
        canvas.quantity(circuit.run_m, "m", fixed=True),
    ]
    if row.to:
        facts.append(canvas.onward(Port(circuit.tag, "row")))
    return [*canvas.wrapped(tokens, width_mm), *canvas.wrapped(facts, width_mm)]


def _draw_lead(canvas: Canvas, row: Row, x: float, y: float, reach: float, width: float) -> None:
    end = x + reach
    at = x
    for device in row.circuit.devices:
        half = DEVICES[device.what][1] / 2
        centre = at + 3.0 + half
        canvas.signal([(at, y), (centre - half, y)])
        canvas.device(device.what, centre, y)
        first, *rest = device_ratings(canvas, device)
        said = (*canvas.tagged(device.tag), Run(first.text, gap_mm=1.0), *rest)
        canvas.text(20, [stacked([said], centre - half, y - 2.6), stacked([said], centre - half, y + 4.4)])
        at = centre + half
    canvas.signal([(at, y), (end, y)])
    if row.load:
        canvas.symbol(symbols.instrument(letter_of(row.load)), end + 2.4, y)
        canvas.used.add("sensor")
        canvas.stand(row.load, end + 2.4, y)
    else:
        canvas.arrow(end + 2.2, y)
        canvas.known.mark(Port(row.circuit.tag, "row"), end, y)
    lines = _lines(canvas, row, width)
    canvas.text(15, [stacked(lines, end + 6.2, y + 0.9 - (len(lines) - 1) * LINE_MM / 2)])


def letter_of(node: Node) -> str:
    """Letter in a sensor's circle."""
    said = [str(node.params.get(key, "")) for key in ("watches", "watched", "what", "sense")]
    return next((LETTERS[word] for word in said if word in LETTERS), "")


__all__ = ["ABREAST", "draw_signals", "letter_of", "signal_slots"]
