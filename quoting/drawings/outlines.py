"""The trailer's outline: a chain line round what stands behind the coupling.

Each row of a sheet says from where to where it is behind the coupling; the outline goes round the union of these
stretches, so that it passes a line only where the coupling is.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from quoting.drawings import signals
from quoting.drawings.boards import BoardSlots
from quoting.drawings.canvas import CHAIN, Canvas, Place, stacked
from quoting.drawings.composing import Stacks
from quoting.drawings.layout import BUS_X, EDGE_X, Slot
from quoting.drawings.pen import Point, bold
from quoting.drawings.placing import Rect
from quoting.drawings.plan import Board, Plan, Row
from quoting.drawings.symbols import COUPLING_MM
from quoting.sizing.appraisal import Circuit

LEFT_X = 0.3
LONE_MM, LONE_UP_MM = 64.0, 6.0
"""A stretch no longer than this is a load by itself; its outline keeps close to it. [mm]"""
BEHIND_MM = COUPLING_MM / 2 + 1.2
"""From the middle of a coupling to the outline: plug and socket are on the vehicle's side. [mm]"""


def draw_trailer(canvas: Canvas, plan: Plan, stacks: Stacks, top: float, bottom: float) -> None:
    """Outline what of a main picture is behind the coupling."""
    if not plan.trailer:
        return
    lefts = [*_units(canvas, plan, stacks), *_stores(plan, stacks)]
    rights = [*_boards(canvas, plan, stacks.panels), *_inversions(canvas, plan, stacks)]
    parts = [*_bands(lefts, top, bottom), *_bands(rights, top, bottom)]
    _outline(canvas, parts)


def draw_trailer_zone(canvas: Canvas, plan: Plan, rect: Rect) -> None:
    """Outline the AC side when all of it is behind the coupling."""
    if plan.zone and plan.zone.nodes and all(node.tag in plan.trailer for node in plan.zone.nodes):
        _outline(canvas, [rect])


def draw_trailer_column(canvas: Canvas, made: Sequence[BoardSlots]) -> None:
    """Outline what of a column is behind the coupling."""
    trailer = canvas.trailer
    if not trailer or not made:
        return
    rows = [row for each in made for row in _rows(canvas, trailer, each)]
    slots = [slot for each in made for slot in each.slots]
    _outline(canvas, _bands(rows, slots[0].y - slots[0].up, slots[-1].y + slots[-1].down))


Stretch = tuple[Slot, float, float]
"""A row, and from where to where it is behind the coupling; nowhere when both are the same. [mm]"""


def _cut(canvas: Canvas, circuit: Circuit | None) -> float | None:
    """Where a circuit's coupling stands."""
    return canvas.couplings.get(circuit.tag) if circuit else None


def _between(ends: tuple[float, float], behind: tuple[bool, bool], cut: float | None) -> tuple[float, float]:
    """The part of a row that is behind the coupling, by which of its two ends is."""
    if cut is None or behind[0] == behind[1]:
        return ends if all(behind) else (ends[0], ends[0])
    return (cut + BEHIND_MM, ends[1]) if behind[1] else (ends[0], cut - BEHIND_MM)


def _units(canvas: Canvas, plan: Plan, stacks: Stacks) -> Iterable[Stretch]:
    bus = bool(plan.bus and plan.bus.tag in plan.trailer)
    for made in stacks.units:
        unit = made.unit
        output = unit.outputs[0] if unit.outputs else None
        for index, slot in enumerate(made.slots):
            source = unit.supplies[index] if index < len(unit.supplies) else None
            at_unit = unit.node.tag in plan.trailer if unit.node else bus
            at_source = source.node.tag in plan.trailer if source and not source.interrupted else at_unit
            cut = _cut(canvas, source.circuit if source else None)
            if cut is None and at_source == at_unit:
                yield slot, *_between((LEFT_X, BUS_X), (at_unit, bus), _cut(canvas, output))
            else:
                yield slot, *_between((LEFT_X, BUS_X), (at_source, bus), cut)


def _stores(plan: Plan, stacks: Stacks) -> Iterable[Stretch]:
    for made in stacks.stores:
        behind = made.store.node.tag in plan.trailer
        yield made.slot, *_between((LEFT_X, BUS_X), (behind, behind), None)
    bus = bool(plan.bus and plan.bus.tag in plan.trailer)
    for slot in stacks.stubs:
        yield slot, *_between((LEFT_X, BUS_X), (bus, bus), None)


def _boards(canvas: Canvas, plan: Plan, panels: Sequence[BoardSlots]) -> Iterable[Stretch]:
    bus = bool(plan.bus and plan.bus.tag in plan.trailer)
    for made in panels:
        board = made.board
        feed_cut = _cut(canvas, board.feeder) or _cut(canvas, board.onward)
        at_board = board.node.tag in plan.trailer
        start = BUS_X if bus and at_board else made.stops.left
        for slot, (x0, x1) in _row_parts(canvas, plan.trailer, made, start):
            if at_board and feed_cut is not None and x0 < x1:
                yield slot, max(x0, feed_cut + BEHIND_MM), x1
            else:
                yield slot, x0, x1


def _rows(canvas: Canvas, trailer: frozenset[str], made: BoardSlots) -> Iterable[Stretch]:
    for slot, (x0, x1) in _row_parts(canvas, trailer, made, made.stops.left):
        yield slot, x0, x1


def _row_parts(
    canvas: Canvas, trailer: frozenset[str], made: BoardSlots, start: float
) -> Iterable[tuple[Slot, tuple[float, float]]]:
    board, edge = made.board, made.stops.edge
    at_board = board.node.tag in trailer
    alone = _alone(board)
    for index, slot in enumerate(made.slots):
        row = alone[index] if index < len(alone) else None
        far = (row.load or (row.to if board.signal else None)) if row else None
        at_load = far.tag in trailer if far else at_board
        yield slot, _between((start, edge), (at_board, at_load), _cut(canvas, row.circuit if row else None))


def _alone(board: Board) -> list[Row | None]:
    """The circuit of each row; nothing where several share one, which are all on one side of the coupling."""
    if board.moved:
        return []
    if not board.signal:
        return list(board.rows)
    return [leads[0] if leads[0].circuit.crosses_hitch else None for leads in signals.abreast(board.rows)]


def _inversions(canvas: Canvas, plan: Plan, stacks: Stacks) -> Iterable[Stretch]:
    bus = bool(plan.bus and plan.bus.tag in plan.trailer)
    for made in stacks.inversions:
        behind = made.inversion.node.tag in plan.trailer
        for slot in made.slots:
            yield slot, *_between((BUS_X, EDGE_X), (bus, behind), _cut(canvas, made.inversion.feed))


def _bands(stretches: Iterable[Stretch], top: float, bottom: float) -> list[Rect]:
    """Rows as bands that touch: each reaches half way to its neighbours, the outer ones to the picture's edges."""
    rows = sorted(stretches, key=lambda stretch: stretch[0].y)
    made = []
    for index, (slot, x0, x1) in enumerate(rows):
        above, below = rows[index - 1][0] if index else None, rows[index + 1][0] if index + 1 < len(rows) else None
        y0 = (above.y + above.down + slot.y - slot.up) / 2 if above else top - 0.3
        y1 = (slot.y + slot.down + below.y - below.up) / 2 if below else bottom
        if x1 - x0 > LONE_MM:
            made.append(Rect(x0, y0, x1, y1))
        elif x1 - x0 > 1.0:
            made.append(Rect(x0, max(y0, slot.y - LONE_UP_MM), x1, min(y1, slot.y + LONE_UP_MM)))
    return made


def _outline(canvas: Canvas, parts: Sequence[Rect]) -> None:
    if not parts:
        return
    for line in _edges(parts):
        canvas.pen.line(line, 0.5, dash=CHAIN)
        canvas.register.wire(line, 0.2)
    canvas.used.add("trailer")
    for island in _islands(parts):
        canvas.text(16, _name_places(canvas, island))


def _name_places(canvas: Canvas, parts: Sequence[Rect]) -> list[Place]:
    """Where an outline may say what it is: at its upper corners, else at its lower ones."""
    name = [(bold(canvas.say("drawing.trailer")),)]
    corner = min(parts, key=lambda rect: (rect.y0, rect.x0))
    low = max(parts, key=lambda rect: (rect.y1, -rect.x0))
    places = [stacked(name, corner.x0 + 1.2, corner.y0 + 3.4), stacked(name, corner.x1 - 1.2, corner.y0 + 3.4, "end")]
    return [*places, stacked(name, low.x1 - 1.2, low.y1 - 1.4, "end"), stacked(name, low.x0 + 1.2, low.y1 - 1.4)]


def _islands(parts: Sequence[Rect]) -> list[list[Rect]]:
    """Rectangles that touch, put together."""
    found: list[list[Rect]] = []
    for rect in parts:
        near = [island for island in found if any(rect.grown(0.05).meets(other) for other in island)]
        found = [island for island in found if island not in near]
        found.append([*(other for island in near for other in island), rect])
    return found


def _edges(parts: Sequence[Rect]) -> list[list[Point]]:
    """Straight pieces round the union of rectangles."""
    xs = sorted({round(x, 3) for rect in parts for x in (rect.x0, rect.x1)})
    ys = sorted({round(y, 3) for rect in parts for y in (rect.y0, rect.y1)})

    def covered(i: int, j: int) -> bool:
        if not (0 <= i < len(xs) - 1 and 0 <= j < len(ys) - 1):
            return False
        x, y = (xs[i] + xs[i + 1]) / 2, (ys[j] + ys[j + 1]) / 2
        return any(rect.x0 < x < rect.x1 and rect.y0 < y < rect.y1 for rect in parts)

    cells = [[covered(i, j) for j in range(-1, len(ys))] for i in range(-1, len(xs))]
    lines: list[list[Point]] = []
    for i, x in enumerate(xs):
        open_at = [cells[i][j + 1] != cells[i + 1][j + 1] for j in range(len(ys) - 1)]
        lines += [[(x, ys[a]), (x, ys[b])] for a, b in _stretches(open_at)]
    for j, y in enumerate(ys):
        open_at = [cells[i + 1][j] != cells[i + 1][j + 1] for i in range(len(xs) - 1)]
        lines += [[(xs[a], y), (xs[b], y)] for a, b in _stretches(open_at)]
    return lines


def _stretches(flags: Sequence[bool]) -> Iterable[tuple[int, int]]:
    start = None
    for index, flag in enumerate([*flags, False]):
        if flag and start is None:
            start = index
        elif not flag and start is not None:
            yield start, index
            start = None


__all__ = ["draw_trailer", "draw_trailer_column", "draw_trailer_zone"]
