"""The foot of a sheet: what is not drawn as a line, the cautions, the key of the symbols that were used."""

from __future__ import annotations

from collections.abc import Sequence

from quoting.drawings import boards, symbols, wording
from quoting.drawings.canvas import CHAIN, LINE_MM, Canvas, Token, stacked
from quoting.drawings.pen import HAIR, HAIRLINE, LINK, Pen, Run, bold
from quoting.drawings.placing import Rect
from quoting.drawings.plan import Board, Plan
from quoting.sizing.appraisal import Circuit

KEY_ORDER = (
    *("fuse", "breaker", "residual", "isolator", "channel", "changeover", "coupling"),
    *("lamp", "motor", "socket", "socket_earthed", "heater", "refrigerator", "electronic", "appliance"),
    *("three_conductors", "sensor", "signal", "arrow", "trailer"),
)
KEY_ROW_MM = 8.4
KEY_GAP_MM = 2.4


def symbols_of(plan: Plan, boards_drawn: Sequence[Board] = ()) -> set[str]:
    """Every symbol the key must explain; ``boards_drawn`` are those in columns."""
    used: set[str] = set()
    circuits: list[Circuit | None] = [s.circuit for u in plan.units for s in u.supplies]
    circuits += [c for u in plan.units for c in u.outputs[:1]] + [plan.main, *(s.circuit for s in plan.stores)]
    for board in (*plan.boards, *boards_drawn):
        circuits += [board.feeder, board.onward]
        used |= _of_board(board)
        circuits += [] if board.moved else [row.circuit for row in board.rows]
    for inversion in plan.inversions:
        circuits += [inversion.feed, *(row.circuit for row in inversion.rows)]
        used |= {boards.kind_of(row.load, ac=True) for row in inversion.rows} | {"three_conductors"}
        if inversion.outlets:
            used.add("socket_earthed")
    if any(s.what in ("inlet", "ac") for u in plan.units for s in u.supplies):
        used.add("three_conductors")
    if plan.zone:
        used |= {"three_conductors", "arrow"} | {OF_ZONE[n.what] for n in plan.zone.nodes if n.what in OF_ZONE}
        used |= {boards.kind_of(node, ac=True) for node in plan.zone.nodes if node.what == "load"}
    if plan.mentions or any(s.interrupted for u in plan.units for s in u.supplies):
        used.add("arrow")
    if any(circuit and circuit.crosses_hitch for circuit in circuits):
        used |= {"coupling"} | ({"trailer"} if plan.trailer else set())
    return used | {device.what for circuit in circuits if circuit for device in circuit.devices}


OF_ZONE = {"residual": "residual", "changeover": "changeover", "outlet": "socket_earthed"}


def _of_board(board: Board) -> set[str]:
    used = {"arrow"} if board.moved or board.origin or board.refers else set()
    if board.moved:
        return used
    if board.signal:
        return used | {"signal"} | {"sensor" if row.load else "arrow" for row in board.rows}
    return used | {"arrow" if row.to else boards.kind_of(row.load) for row in board.rows}


def caution_codes(plan: Plan) -> list[str]:
    """Cautions that apply to what is drawn."""
    codes = ["drawing.caution.fuse"]
    if plan.stores:
        codes.append("drawing.caution.battery")
    kinds = {supply.node.what for unit in plan.units for supply in unit.supplies}
    if "panel" in kinds:
        codes.append("drawing.caution.solar")
    if "inlet" in kinds or plan.inversions or plan.zone:
        codes.append("drawing.caution.mains")
    return [*codes, "drawing.caution.installer"]


def note_tokens(canvas: Canvas, plan: Plan) -> list[Token]:
    """Nodes and circuits without a place in the picture."""
    tokens: list[Token] = []
    for node in plan.others:
        tokens += [(bold(node.tag, 7.0),), *((Run(word),) for word in node.name.split())]
    for circuit in plan.notes:
        tokens += [(bold(circuit.tag, 7.0),), *((Run(word),) for word in circuit.name.split())]
        tokens += [canvas.quantity(circuit.area_mm2, "mm²", most=2), canvas.quantity(circuit.run_m, "m", fixed=True)]
        for device in circuit.devices:
            tokens += [(bold(device.tag, 7.0),), canvas.quantity(device.rating_a, "A")]
    if tokens:
        tokens = [*((Run(w, second=True),) for w in canvas.say("drawing.not_drawn").split()), *tokens]
    return tokens


def foot_lines(canvas: Canvas, plan: Plan, width_mm: float) -> list[tuple[Run, ...]]:
    """Notes, then cautions, broken to the sheet's width."""
    notes = canvas.wrapped(note_tokens(canvas, plan), width_mm)
    positive, negative = (_colour(canvas, colour) for colour in plan.colours)
    said = canvas.say("drawing.caution.dc")
    if positive and negative:
        said = canvas.say("drawing.caution.dc_colours", positive=positive, negative=negative)
    said = " ".join([said, *(canvas.say(code) for code in marks(plan)), *(canvas.say(c) for c in caution_codes(plan))])
    return [*notes, *canvas.wrapped([(Run(word, second=True),) for word in said.split()], width_mm)]


def _colour(canvas: Canvas, colour: str) -> str:
    """A colour by its name, and by the letters that stand for it at the lines."""
    code = wording.colour_code(colour)
    return f"{canvas.say(f'drawing.colour.{colour}')} ({code})" if colour in wording.COLOURS else code


def marks(plan: Plan) -> list[str]:
    """Signs that stand beside tags, as far as any circuit or node has them."""
    circuits = [row.circuit for board in plan.boards for row in board.rows]
    circuits += [s.circuit for u in plan.units for s in u.supplies if s.circuit]
    circuits += [c for u in plan.units for c in u.outputs] + [s.circuit for s in plan.stores if s.circuit]
    circuits += [c for b in plan.boards for c in (b.feeder, b.onward) if c]
    circuits += [i.feed for i in plan.inversions if i.feed]
    circuits += [c for c in (plan.main, plan.bond) if c]
    found = ["drawing.mark.changed"] if any(circuit.changed for circuit in circuits) else []
    found += ["drawing.mark.stays"] if plan.stays else []
    return found + (["drawing.caution.chassis"] if any(c.return_by == "chassis" for c in circuits) else [])


def foot(
    canvas: Canvas, plan: Plan, width_mm: float, boards_drawn: Sequence[Board] = ()
) -> tuple[list[tuple[Run, ...]], float]:
    """Lines of the foot and the height it takes, key included. [mm]"""
    lines = foot_lines(canvas, plan, width_mm - 1)
    rows = key_rows(canvas, width_mm - 0.5, symbols_of(plan, boards_drawn))
    return lines, foot_height(len(lines), len(rows))


def key_rows(canvas: Canvas, width_mm: float, used: set[str]) -> list[list[tuple[str, float]]]:
    """The used symbols and their widths with their words, in rows of equal number no wider than the sheet. [mm]"""
    if "socket" in used:
        used = used - {"socket_earthed"}
    entries = [
        (code, _symbol_width(code) + 1.6 + canvas.pen.width_of((Run(canvas.say(f"drawing.key.{code}")),)))
        for code in KEY_ORDER
        if code in used
    ]
    for count in range(1, len(entries) + 1):
        size = -(-len(entries) // count)
        rows = [entries[index : index + size] for index in range(0, len(entries), size)]
        if all(sum(wide for _, wide in row) + KEY_GAP_MM * (len(row) - 1) <= width_mm for row in rows):
            return rows
    return [[entry] for entry in entries]


def draw_key(canvas: Canvas, rows: list[list[tuple[str, float]]], width_mm: float, top: float) -> None:
    """A hairline, then the key below it."""
    canvas.pen.line([(0, top), (width_mm, top)], HAIRLINE, HAIR)
    for index, row in enumerate(rows):
        gap = (width_mm - 0.5 - sum(wide for _, wide in row)) / max(1, len(row) - 1)
        gap = min(gap, 12.0)
        x, y = 0.0, top + 5.0 + index * KEY_ROW_MM
        for code, wide in row:
            half = _symbol_width(code) / 2
            canvas.symbol(_symbol(code), x + half, y)
            said = canvas.say(f"drawing.key.{code}")
            canvas.text(40, [stacked([(Run(said),)], x + half * 2 + 1.6, y + 0.9)])
            x += wide + gap


def foot_height(lines: int, rows: int) -> float:
    """Room the foot takes. [mm]"""
    return lines * LINE_MM + 3.0 + rows * KEY_ROW_MM + 0.6


def _symbol(code: str) -> symbols.Symbol:
    return OTHERS[code][0] if code in OTHERS else _symbol_of_device(code)


def _symbol_of_device(code: str) -> symbols.Symbol:
    return symbols.DEVICES[code][0] if code in symbols.DEVICES else symbols.LOADS[code]


def _sign_signal(pen: Pen, x: float, y: float) -> Rect:
    pen.line([(x - 4, y), (x + 4, y)], LINK + 0.1, dash=(2.2, 1.4))
    return Rect(x - 4, y - 0.3, x + 4, y + 0.3)


def _sign_arrow(pen: Pen, x: float, y: float) -> Rect:
    pen.line([(x - 3, y), (x + 0.8, y)])
    pen.line([(x + 0.8, y - 1.1), (x + 3, y), (x + 0.8, y + 1.1)], LINK + 0.1, closed=True)
    return Rect(x - 3, y - 1.1, x + 3, y + 1.1)


def _sign_trailer(pen: Pen, x: float, y: float) -> Rect:
    rect = Rect(x - 4, y - 1.8, x + 4, y + 1.8)
    pen.box(rect, 0.5, dash=CHAIN)
    return rect


OTHERS: dict[str, tuple[symbols.Symbol, float]] = {
    "three_conductors": (symbols.three_conductors, 3.6),
    "changeover": (symbols.changeover, symbols.CONTACT_MM),
    "sensor": (symbols.instrument(""), 4.8),
    "signal": (_sign_signal, 8.0),
    "arrow": (_sign_arrow, 6.0),
    "trailer": (_sign_trailer, 8.0),
}
"""Signs that are neither device nor load, and their widths. [mm]"""


def _symbol_width(code: str) -> float:
    if code in OTHERS:
        return OTHERS[code][1]
    return symbols.DEVICES[code][1] if code in symbols.DEVICES else symbols.LOAD_MM
