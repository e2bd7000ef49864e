"""The AC side in a tinted zone: inlets, residual-current devices, changeover and outlets, from left to right.

Nothing of it is decided here: the zone shows what there is and asks the licensed person.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise

from quoting.drawings import symbols
from quoting.drawings.boards import kind_of
from quoting.drawings.canvas import LINE_MM, Canvas, Piece, stacked
from quoting.drawings.pen import TAG_PT, TINT, Run, bold
from quoting.drawings.placing import Rect
from quoting.drawings.plan import Zone
from quoting.drawings.ports import Port
from quoting.sizing.appraisal import Node
from quoting.sizing.wiring_records import AcLink

TOP_MM, FOOT_MM = 8.6, 5.4
"""Room of the zone's title and of what it asks. [mm]"""
LEAST_UP, LEAST_DOWN = 7.0, 4.4
MOST_STEP_MM = 66.0


@dataclass(slots=True)
class _Cell:
    """A node, or a bend of a way that passes a column, in column ``level`` and row ``lane``."""

    key: str
    node: Node | None
    level: int
    lane: int = 0
    y: float = 0.0
    into: list[_Cell] = field(default_factory=list)
    out: list[_Cell] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Way:
    link: AcLink
    cells: tuple[_Cell, ...]


@dataclass(slots=True)
class ZoneLaid:
    """A zone with its columns and rows, ready to be drawn at any height of a sheet."""

    zone: Zone
    levels: list[list[_Cell]]
    ways: list[_Way]
    lanes: list[tuple[float, float]]
    step_mm: float
    width_mm: float

    @property
    def height_mm(self) -> float:
        return TOP_MM + sum(up + down for up, down in self.lanes) + FOOT_MM


def lay(canvas: Canvas, zone: Zone, width_mm: float) -> ZoneLaid:
    """Put the AC side into columns by how far each part is from a source, and into rows without needless bends."""
    levels, ways = _levels(zone)
    step = min(MOST_STEP_MM, (width_mm - 6.0) / len(levels))
    for cells in levels:
        if cells and cells[0].level:
            cells.sort(key=lambda cell: sum(c.lane for c in cell.into) / max(1, len(cell.into)))
        at = 0
        for cell in cells:
            wish = round(sum(c.lane for c in cell.into) / len(cell.into)) if cell.into else at
            cell.lane = max(at, wish)
            at = cell.lane + 1
    count = 1 + max(cell.lane for cells in levels for cell in cells)
    lanes = [(LEAST_UP, LEAST_DOWN)] * count
    for cell in (cell for cells in levels for cell in cells if cell.node):
        up, down = lanes[cell.lane]
        below = 5.6 + LINE_MM * len(_lines(canvas, zone, cell, step))
        lanes[cell.lane] = (up, max(down, below))
    return ZoneLaid(zone, levels, ways, lanes, step, width_mm)


def _levels(zone: Zone) -> tuple[list[list[_Cell]], list[_Way]]:
    nodes = {node.tag: node for node in (*zone.nodes, *zone.guests)}
    depth = dict.fromkeys(nodes, 0)
    for _ in nodes:  # the longest way to each; a ring stops growing after so many rounds
        for link in zone.links:
            depth[link.target] = min(len(nodes) - 1, max(depth[link.target], depth[link.source] + 1))
    cells = {tag: _Cell(tag, node, depth[tag]) for tag, node in nodes.items()}
    levels: list[list[_Cell]] = [[] for _ in range(1 + max(depth.values()))]
    for cell in cells.values():
        levels[cell.level].append(cell)
    ways = []
    for link in zone.links:
        first, last = cells[link.source], cells[link.target]
        chain = [first]
        for level in range(first.level + 1, last.level):
            bend = _Cell(f"{link.tag} {level}", None, level)
            levels[level].append(bend)
            chain.append(bend)
        chain.append(last)
        for a, b in pairwise(chain):
            a.out.append(b)
            b.into.append(a)
        ways.append(_Way(link, tuple(chain)))
    return [level for level in levels if level], ways


def draw_zone(canvas: Canvas, laid: ZoneLaid, top: float) -> None:
    """Draw a zone from ``top`` down. [mm]"""
    zone = laid.zone
    canvas.pen.box(Rect(0.0, top, laid.width_mm - 0.3, top + laid.height_mm - 1.0), weight=0, fill=TINT)
    canvas.text(5, [(Piece((bold(canvas.say("drawing.zone"), TAG_PT),), 2.0, top + 4.2),)])
    asked = [(Run(word),) for word in canvas.say("drawing.asked").split()]
    line = canvas.wrapped(asked, laid.width_mm - 6.0)
    canvas.text(6, [stacked(line, 2.0, top + laid.height_mm - 2.6, up=True)])
    at = top + TOP_MM
    heights = []
    for up, down in laid.lanes:
        heights.append(at + up)
        at += up + down
    for cell in (cell for cells in laid.levels for cell in cells):
        cell.y = heights[cell.lane]
    edges = {cell.key: _draw_cell(canvas, zone, cell, laid.step_mm) for cells in laid.levels for cell in cells}
    for way in laid.ways:
        _draw_way(canvas, way, edges)
    for cell in (cell for cells in laid.levels for cell in cells if cell.node and cell.out):
        tags = [way.link.tag for way in laid.ways if way.cells[0] is cell]
        _say_ways(canvas, cell, tags, edges[cell.key][1], laid.step_mm)


def _x(cell: _Cell, step: float) -> float:
    return 12.0 + cell.level * step


def _draw_cell(canvas: Canvas, zone: Zone, cell: _Cell, step: float) -> tuple[float, float]:
    """Draw a node; return where ways meet it on its left and right. [mm]"""
    x, y, node = _x(cell, step), cell.y, cell.node
    if node is None:
        return x, x
    lines = _lines(canvas, zone, cell, step)
    canvas.text(10, [stacked(lines, x - 6.0, y + 7.4), stacked(lines, x - 6.0, y + 8.6)])
    if node in zone.guests:
        canvas.known.mark(Port(f"ac:{node.tag}", "row"), x, y)
        if cell.into:
            canvas.arrow(x + 2.2, y)
            return x, x
        canvas.arrow(x + 2.2, y)
        return x, x + 2.2
    canvas.stand(node, x, y)
    rect = _symbol(canvas, node, x, y)
    return rect.x0, rect.x1


def _symbol(canvas: Canvas, node: Node, x: float, y: float) -> Rect:
    if node.what == "inlet":
        return canvas.symbol(symbols.inlet, x, y)
    if node.what == "residual":
        canvas.used.add("residual")
        said = (Run(canvas.say("drawing.two_pole"), second=True),)
        canvas.text(20, [(Piece(said, x + dx, y + dy),) for dx, dy in ((-7.5, -4.4), (-3.0, -4.4), (1.0, 3.6))])
        return canvas.symbol(symbols.residual_two_pole, x, y)
    if node.what == "changeover":
        canvas.used.add("changeover")
        return canvas.symbol(symbols.changeover, x, y)
    if node.what == "load":
        return canvas.load(kind_of(node, ac=True), x, y)
    return canvas.load("socket_earthed", x, y)


def _lines(canvas: Canvas, zone: Zone, cell: _Cell, step: float) -> list[tuple[Run, ...]]:
    node = cell.node
    if node is None:
        return []
    said = canvas.tokens(node.tag, node.name, {} if node in zone.guests else node.params)
    if node in zone.guests:
        said.append(canvas.onward(Port(f"ac:{node.tag}", "row")))
    else:
        said += canvas.mentioned(node)
    return canvas.wrapped(said, step - 3.0)


def _draw_way(canvas: Canvas, way: _Way, edges: dict[str, tuple[float, float]]) -> None:
    """A way of three conductors, level but for one bend before each next column."""
    for a, b in pairwise(way.cells):
        start, end = edges[a.key][1], edges[b.key][0]
        enters = b.y + _entry(b, a)
        bend = end - 4.0 - 2.4 * (b.into.index(a) if len(b.into) > 1 else 0)
        points = list(_bent((start, a.y), (end, enters), bend))
        canvas.wire(points, 1.05)


def _say_ways(canvas: Canvas, cell: _Cell, tags: list[str], start: float, step: float) -> None:
    """Tags of the ways that leave a node, and the strokes that count their conductors."""
    bend = _x(cell, step) + step - 4.0 - symbols.CONVERTER_MM
    middle = (start + bend) / 2
    canvas.symbol(symbols.three_conductors, middle + 4.0, cell.y)
    canvas.used.add("three_conductors")
    said = (bold(", ".join(tags), 7.0),)
    canvas.text(20, [(Piece(said, middle + dx, cell.y - 1.2, "end"),) for dx in (0.0, -3.0)])


def _entry(cell: _Cell, source: _Cell) -> float:
    """Where a way enters a changeover: its two sides are apart, in the order of what comes. [mm]"""
    if cell.node is None or cell.node.what != "changeover" or len(cell.into) < 2:
        return 0.0
    order = sorted(cell.into, key=lambda c: c.lane).index(source)
    return symbols.CHANGEOVER_MM * (-1 if order == 0 else 1)


def _bent(start: tuple[float, float], end: tuple[float, float], x: float) -> Iterator[tuple[float, float]]:
    yield start
    if abs(start[1] - end[1]) > 0.01:
        yield (x, start[1])
        yield (x, end[1])
    yield end
