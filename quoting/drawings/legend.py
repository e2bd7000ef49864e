"""The foot of a sheet: what is not drawn as a line, the cautions, the key of the symbols that were used."""

from __future__ import annotations

from quoting.drawings import symbols
from quoting.drawings.canvas import LINE_MM, Canvas, Token, stacked
from quoting.drawings.pen import HAIR, HAIRLINE, Run, bold
from quoting.drawings.plan import Plan

KEY_ORDER = (
    *("fuse", "breaker", "residual", "isolator", "channel", "coupling", "lamp", "motor", "socket", "socket_earthed"),
    *("heater", "appliance", "three_conductors"),
)
KEY_ROW_MM = 8.4
KEY_GAP_MM = 2.4


def caution_codes(plan: Plan) -> list[str]:
    """Cautions that apply to what is drawn."""
    codes = ["drawing.caution.dc", "drawing.caution.fuse"]
    if plan.stores:
        codes.append("drawing.caution.battery")
    kinds = {supply.node.what for unit in plan.units for supply in unit.supplies}
    if "panel" in kinds:
        codes.append("drawing.caution.solar")
    if "inlet" in kinds or plan.inversions:
        codes.append("drawing.caution.mains")
    return [*codes, "drawing.caution.installer"]


def note_tokens(canvas: Canvas, plan: Plan) -> list[Token]:
    """Nodes and circuits without a place in the picture."""
    tokens: list[Token] = []
    for node in plan.others:
        tokens += [(bold(node.tag, 7.0),), *((Run(word),) for word in node.name.split())]
    strays = [output for unit in plan.units for output in unit.outputs[1:]]
    for circuit in (*plan.notes, *strays):
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
    said = " ".join(canvas.say(code) for code in caution_codes(plan))
    return [*notes, *canvas.wrapped([(Run(word, second=True),) for word in said.split()], width_mm)]


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
    if code == "three_conductors":
        return symbols.three_conductors
    return symbols.DEVICES[code][0] if code in symbols.DEVICES else symbols.LOADS[code]


def _symbol_width(code: str) -> float:
    if code == "three_conductors":
        return 3.6
    return symbols.DEVICES[code][1] if code in symbols.DEVICES else symbols.LOAD_MM
