"""Sensing and control leads: one bundle from the part that reads them, its rows in two columns."""

from __future__ import annotations

from collections.abc import Sequence

from quoting.drawings import symbols
from quoting.drawings.boards import BoardSlots
from quoting.drawings.canvas import LINE_MM, Canvas, Token, stacked
from quoting.drawings.layout import Slot, Stops
from quoting.drawings.pen import TAG_PT, Run
from quoting.drawings.plan import Board, Row, ends
from quoting.drawings.ports import Port
from quoting.drawings.runs import BEFORE_DEVICE_MM, changed, device_ratings
from quoting.drawings.symbols import DEVICES
from quoting.sizing.appraisal import Device, Node

ABREAST = 2
"""Leads beside each other in one row."""
LEAD_MM = 12.0
DEVICE_MM = 18.0
"""Length of a lead without a device and with one. [mm]"""
COUPLING_LEAD_MM = 13.0
"""What a lead across the trailer's coupling is longer by, so that the outline passes before what follows. [mm]"""
TITLE_MM = 6.2
"""Room above a bundle's trunk for its name. [mm]"""
LETTERS = {
    "tank": "L",
    "resistance": "L",
    "temperature": "T",
    "voltage": "V",
    "current": "A",
    "digital": "D",
}
"""What a sensor measures, as letters stand in an instrument's circle (C)."""


def abreast(rows: Sequence[Row]) -> list[tuple[Row, ...]]:
    """Leads by the row they share; one across the trailer's coupling has a row to itself, below the others."""
    here = [row for row in rows if not row.circuit.crosses_hitch]
    pairs = [tuple(here[index : index + ABREAST]) for index in range(0, len(here), ABREAST)]
    return [*pairs, *((row,) for row in rows if row.circuit.crosses_hitch)]


def signal_slots(canvas: Canvas, board: Board, stops: Stops) -> BoardSlots:
    """Rows a bundle takes."""
    made = BoardSlots(board, stops)
    head = TITLE_MM + LINE_MM * (len(_head(canvas, board, stops)) - 1)
    for index, row in enumerate(abreast(board.rows)):
        up, down = _room(canvas, board, stops, row)
        made.slots.append(Slot(up + (0.0 if index else head), down, stretch=2.0 * bool(index)))
    made.slots[-1].down += 1.2
    return made


def _room(canvas: Canvas, board: Board, stops: Stops, leads: Sequence[Row]) -> tuple[float, float]:
    """Least room above and below the line of some leads; the trunk runs above it. [mm]"""
    half = max(len(_lines(canvas, row, _text_width(board, stops, row))) for row in leads) * LINE_MM / 2 + 0.6
    above = 5.6 if any(row.circuit.devices for row in leads) else 4.2
    return max(above, half), max(3.4, half)


def draw_signals(canvas: Canvas, made: BoardSlots) -> None:
    """Draw a bundle and its leads."""
    board, stops = made.board, made.stops
    heights = [slot.y for slot in made.slots]
    rows = abreast(board.rows)
    top = heights[0] - _room(canvas, board, stops, rows[0])[0]
    if board.refers or board.continued:
        canvas.known.mark(Port(board.port, "row"), stops.left + 1.5, heights[0])
    else:
        canvas.stand(board.node, stops.left + 1.5, heights[0])
    head = _head(canvas, board, stops)
    canvas.text(10, [stacked(head, stops.left + 1.0, top - 2.4, up=True)])
    step = _step(stops)
    for across in range(max(map(len, rows))):
        x = stops.left + 1.5 + across * step
        last = max(y for row, y in zip(rows, heights, strict=True) if len(row) > across)
        canvas.signal([(x, top), (x, last)])
        if across:
            canvas.signal([(x - step, top), (x, top)])
    for row, y in zip(rows, heights, strict=True):
        for across, lead in enumerate(row):
            x = stops.left + 1.5 + across * step
            _draw_lead(canvas, lead, x, y, _reach(board, lead), _text_width(board, stops, lead))


def _step(stops: Stops) -> float:
    return (stops.edge - stops.left) / ABREAST


def _reach(board: Board, row: Row) -> float:
    reach = DEVICE_MM if any(other.circuit.devices for other in board.rows) else LEAD_MM
    return reach + COUPLING_LEAD_MM * row.circuit.crosses_hitch


def _text_width(board: Board, stops: Stops, row: Row) -> float:
    wide = stops.edge - stops.left if row.circuit.crosses_hitch else _step(stops)
    return wide - _reach(board, row) - 9.5


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


def _on_the_way(row: Row) -> list[Device | None]:
    """What stands on a lead, from the part that reads it outwards; nothing stands for the trailer's coupling."""
    near, far = ends(row.circuit.devices)
    away = row.load or row.to
    if away and away.tag == row.circuit.source:
        near, far = far[::-1], near[::-1]
    return [*near, *([None] if row.circuit.crosses_hitch else []), *far]


def _draw_lead(canvas: Canvas, row: Row, x: float, y: float, reach: float, width: float) -> None:
    end = x + reach
    at = x
    for device in _on_the_way(row):
        what = device.what if device else "coupling"
        half = DEVICES[what][1] / 2
        centre = at + 3.0 + half
        canvas.signal([(at, y), (centre - half, y)])
        canvas.device(what, centre, y)
        at = centre + half
        if device is None:
            canvas.couplings[row.circuit.tag] = centre
            at += BEFORE_DEVICE_MM - 3.0
            canvas.signal([(centre + half, y), (at, y)])
            continue
        first, *rest = device_ratings(canvas, device)
        said = (*canvas.tagged(device.tag), Run(first.text, gap_mm=1.0), *rest)
        canvas.text(20, [stacked([said], centre - half, y - 2.6), stacked([said], centre - half, y + 4.4)])
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


__all__ = ["abreast", "draw_signals", "letter_of", "signal_slots"]
