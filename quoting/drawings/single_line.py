"""The single-line diagram: one ReportLab Drawing for the page (SVG) and for paper (PDF).

``draw`` makes one sheet however long; ``sheets`` keeps to the height of the paper and goes on to further sheets.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from quoting.drawings import boards, legend, supply, wording
from quoting.drawings.canvas import LINE_MM, Canvas, Piece, Sheet, stacked
from quoting.drawings.layout import BUS_X, Slot, needed, spread
from quoting.drawings.pen import BAR, HEAVY, Faces, Measure, Pen, Run, string_width
from quoting.drawings.placing import Rect, Register
from quoting.drawings.plan import Appraised, Board, Plan, Row, Store, Supply, Unit, read
from quoting.sizing.appraisal import Circuit
from quoting.sizing.errors import SizingError

WIDTH_MM, HEIGHT_MM = 261.0, 168.0
STUB_MM = 10.0
"""Room of a line that says what is on a later sheet. [mm]"""
BUS_OVER_MM = 6.0
"""How far the main bus runs past its uppermost circuit, so that its name clears that circuit's tags. [mm]"""
TOP_MM = 0.5
COLUMNS = (
    boards.Stops(bar=1.5, load=72.0, name=77.0, edge=127.0),
    boards.Stops(bar=135.5, load=206.0, name=211.0, edge=260.5),
)
"""Columns of a sheet that only has boards. [mm]"""


@dataclass(slots=True)
class _Stacks:
    """Slots of both halves of a sheet."""

    units: list[supply.UnitSlots] = field(default_factory=list)
    stores: list[supply.StoreSlot] = field(default_factory=list)
    stubs: list[Slot] = field(default_factory=list)
    panels: list[boards.BoardSlots] = field(default_factory=list)
    inversions: list[boards.InversionSlots] = field(default_factory=list)

    def left(self) -> list[Slot]:
        return [s for unit in self.units for s in unit.slots] + [made.slot for made in self.stores] + self.stubs

    def right(self) -> list[Slot]:
        return [s for board in self.panels for s in board.slots] + [s for inv in self.inversions for s in inv.slots]

    def height(self) -> float:
        return max(needed(self.left()), needed(self.right()))


@dataclass(frozen=True, slots=True)
class _Maker:
    """What every sheet of a drawing shares."""

    width_mm: float
    words: wording.Words
    faces: Faces
    measure: Measure

    def canvas(self, height_mm: float) -> Canvas:
        pen = Pen(self.width_mm, height_mm, self.faces, self.measure)
        return Canvas(pen, Register(Rect(0, 0, self.width_mm, height_mm)), self.words)

    def stacks(self, plan: Plan) -> _Stacks:
        canvas = self.canvas(HEIGHT_MM)
        return _Stacks(
            units=[supply.unit_slots(canvas, unit) for unit in plan.units],
            stores=[supply.store_slot(canvas, store, index == 0, plan) for index, store in enumerate(plan.stores)],
            stubs=[Slot(4.0, 6.0, spring=index == 0) for index, _ in enumerate(plan.elsewhere)],
            panels=[boards.board_slots(canvas, board) for board in plan.boards],
            inversions=[boards.inversion_slots(canvas, inversion) for inversion in plan.inversions],
        )

    def foot(self, plan: Plan) -> tuple[list[tuple[Run, ...]], float]:
        """Lines of the foot and the height it takes, key included. [mm]"""
        canvas = self.canvas(HEIGHT_MM)
        lines = legend.foot_lines(canvas, plan, self.width_mm - 1)
        rows = legend.key_rows(canvas, self.width_mm - 0.5, _symbols_of(plan))
        return lines, legend.foot_height(len(lines), len(rows))


def draw(
    appraised: Appraised,
    *,
    width_mm: float = WIDTH_MM,
    height_mm: float = HEIGHT_MM,
    words: wording.Words = wording.english,
    faces: Faces | None = None,
    measure: Measure = string_width,
) -> Sheet:
    """Draw everything on one sheet, which grows beyond ``height_mm`` when it must.

    Parameters
    ----------
    appraised : Appraised
        Nodes and circuits; an ``Appraisal`` is one.
    width_mm, height_mm : float
        Size of the sheet. [mm] The layout is made for 261 mm; a wider sheet leaves the rest white.
    words : callable
        ``words(code, **params)`` says a code of ``wording.MESSAGES``, and ``number`` with ``value`` and ``digits``.
    faces : Faces, optional
        Registered fonts; Inter by default.
    measure : callable
        Width of a text in a font at a size. [pt]

    Returns
    -------
    Sheet
        With ``unplaced`` empty when every text found a free place.

    Raises
    ------
    SizingError
        If there is nothing to draw or the sheet is narrower than the layout. [mm]
    """
    maker, plan = _begin(appraised, width_mm, height_mm, words, faces, measure)
    return _draw_plan(maker, plan, height_mm)


def sheets(
    appraised: Appraised,
    *,
    width_mm: float = WIDTH_MM,
    height_mm: float = HEIGHT_MM,
    words: wording.Words = wording.english,
    faces: Faces | None = None,
    measure: Measure = string_width,
) -> tuple[Sheet, ...]:
    """Draw on as many sheets of ``height_mm`` as it takes; the parameters are those of :func:`draw`.

    The first sheet keeps the bus, inverters and as many sources and boards as fit; a board that does not is a stub
    there that names its sheet.
    """
    maker, plan = _begin(appraised, width_mm, height_mm, words, faces, measure)
    _, foot = maker.foot(plan)
    room = height_mm - TOP_MM - foot - LINE_MM
    if maker.stacks(plan).height() <= room + LINE_MM:
        return (_draw_plan(maker, plan, height_mm),)
    lefts = _split_left(maker, plan, room)
    first, later = _split_boards(maker, replace(plan, units=(), stores=()), room, len(lefts))
    columns = _columns(maker, later, room)
    total = len(lefts) + len(columns)
    sheet_of = {
        board.node.tag: len(lefts) + 1 + index
        for index, pair in reversed(list(enumerate(columns)))
        for column in pair
        for board in column
    }
    kept = tuple(replace(b, elsewhere=sheet_of[b.node.tag]) if b.elsewhere else b for b in first)
    made = []
    for index, (units, stores) in enumerate(lefts):
        part = replace(plan, units=units, stores=stores)
        if index == 0:
            part = replace(part, boards=kept, elsewhere=tuple(_elsewhere(lefts)))
        else:
            part = replace(part, boards=(), inversions=(), others=(), notes=())
        if not stores:
            part = replace(part, monitor=None, body=None, bond=None, link=None, main=None, negative=None)
        made.append(_draw_plan(maker, part, height_mm, (index + 1, total)))
    for index, pair in enumerate(columns):
        made.append(_draw_columns(maker, pair, height_mm, (len(lefts) + index + 1, total)))
    return tuple(made)


def _begin(
    appraised: Appraised,
    width_mm: float,
    height_mm: float,
    words: wording.Words,
    faces: Faces | None,
    measure: Measure,
) -> tuple[_Maker, Plan]:
    if width_mm < WIDTH_MM:
        raise SizingError("width_mm", value=width_mm, minimum=WIDTH_MM, unit="mm")
    if height_mm < 100:
        raise SizingError("height_mm", value=height_mm, minimum=100, unit="mm")
    if not appraised.nodes:
        raise SizingError("nodes", code="missing")
    return _Maker(width_mm, words, faces or Faces(), measure), read(appraised)


def _symbols_of(plan: Plan) -> set[str]:
    """Every symbol the key must explain."""
    used: set[str] = set()
    circuits: list[Circuit | None] = [s.circuit for u in plan.units for s in u.supplies]
    circuits += [c for u in plan.units for c in u.outputs[:1]] + [plan.main, *(s.circuit for s in plan.stores)]
    for board in plan.boards:
        circuits += [board.feeder, board.onward]
        if board.elsewhere:
            continue
        circuits += [row.circuit for row in board.rows]
        used |= {boards.kind_of(row.load, row.circuit) for row in board.rows}
    for inversion in plan.inversions:
        circuits += [inversion.feed, *(row.circuit for row in inversion.rows)]
        used |= {boards.kind_of(row.load, row.circuit, ac=True) for row in inversion.rows}
        if inversion.outlets:
            used.add("socket_earthed")
        if inversion.rows or inversion.outlets:
            used.add("three_conductors")
    if any(s.node.what == "inlet" for u in plan.units for s in u.supplies):
        used.add("three_conductors")
    if any(circuit and circuit.crosses_hitch for circuit in circuits):
        used.add("coupling")
    return used | {device.what for circuit in circuits if circuit for device in circuit.devices}


def _draw_plan(maker: _Maker, plan: Plan, height_mm: float, number: tuple[int, int] | None = None) -> Sheet:
    stacks = maker.stacks(plan)
    lines, foot = maker.foot(plan)
    top = TOP_MM + (LINE_MM if number else 0.0)
    height_mm = max(height_mm, top + stacks.height() + foot)
    canvas = maker.canvas(height_mm)
    bottom = height_mm - foot
    spread(stacks.left(), top, bottom)
    spread(stacks.right(), top, bottom)
    for unit in stacks.units:
        supply.draw_tint(canvas.pen, unit)
    for inversion in stacks.inversions:
        boards.draw_tint(canvas.pen, inversion)
    heights = [y for unit in stacks.units for y in supply.draw_unit(canvas, unit)]
    heights += supply.draw_stores(canvas, stacks.stores, plan)
    for (code, sheet), slot in zip(plan.elsewhere, stacks.stubs, strict=True):
        canvas.wire([(BUS_X - 12.0, slot.y), (BUS_X, slot.y)], HEAVY)
        canvas.text(10, [(Piece((Run(canvas.say(code, sheet=sheet)),), BUS_X - 13.5, slot.y + 0.9, "end"),)])
        heights.append(slot.y)
    for board in stacks.panels:
        heights += boards.draw_board(canvas, board, from_bus=plan.bus is not None)
    for inversion in stacks.inversions:
        heights += boards.draw_inversion(canvas, inversion)
    if plan.bus and heights:
        bar_top, bar_bottom = min(heights) - BUS_OVER_MM, max(heights) + 4.5
        canvas.bar(BUS_X, bar_top, bar_bottom, BAR + 0.3)
        name = canvas.node_lines(plan.bus, 44.0)
        places = [stacked(name, BUS_X + dx, bar_top - 1.3, anchor, up=True) for dx, anchor in _BUS_PLACES]
        places += [stacked(name, BUS_X + dx, bar_bottom + 3.2, anchor) for dx, anchor in _BUS_PLACES]
        canvas.text(8, places)
    return _finish(canvas, plan, lines, number)


_BUS_PLACES = ((0.0, "middle"), (0.6, "end"), (-0.6, "start"))


def _draw_columns(maker: _Maker, pair: Sequence[Sequence[Board]], height_mm: float, number: tuple[int, int]) -> Sheet:
    plan = Plan(boards=tuple(board for column in pair for board in column))
    lines, foot = maker.foot(plan)
    canvas = maker.canvas(height_mm)
    for stops, column in zip(COLUMNS, pair, strict=False):
        made = [boards.board_slots(canvas, board, stops) for board in column]
        slots = [slot for board in made for slot in board.slots]
        spread(slots, TOP_MM + LINE_MM, height_mm - foot)
        for board in made:
            boards.draw_board(canvas, board, from_bus=False)
    return _finish(canvas, plan, lines, number)


def _finish(canvas: Canvas, plan: Plan, lines: list[tuple[Run, ...]], number: tuple[int, int] | None) -> Sheet:
    pen = canvas.pen
    rows = legend.key_rows(canvas, pen.width_mm - 0.5, _symbols_of(plan))
    top = pen.height_mm - legend.foot_height(len(lines), len(rows))
    canvas.text(35, [stacked(lines, 0.4, top + 3.4)])
    legend.draw_key(canvas, rows, pen.width_mm, top + len(lines) * LINE_MM + 2.2)
    if number:
        said = canvas.say("drawing.sheet", number=number[0], count=number[1])
        canvas.text(5, [(Piece((Run(said, second=True),), pen.width_mm - 0.5, 2.6, "end"),)])
    return canvas.sheet()


def _elsewhere(lefts: Sequence[tuple[tuple[Unit, ...], tuple[Store, ...]]]) -> Iterator[tuple[str, int]]:
    """What of the left half is on which later sheet."""
    for index, (units, stores) in enumerate(lefts[1:], start=2):
        if units:
            yield "drawing.sources_on", index
        if stores:
            yield "drawing.batteries_on", index


def _split_left(maker: _Maker, plan: Plan, room: float) -> list[tuple[tuple[Unit, ...], tuple[Store, ...]]]:
    """Share units and batteries over sheets, in order; one that is too tall by itself is repeated with its rest."""
    room -= 2 * STUB_MM

    def fits(units: tuple[Unit, ...], stores: tuple[Store, ...] = ()) -> bool:
        part = replace(plan, units=units, stores=stores, boards=(), inversions=())
        return needed(maker.stacks(part).left()) <= room

    groups: list[tuple[tuple[Unit, ...], tuple[Store, ...]]] = []
    units: tuple[Unit, ...] = ()
    for unit in (part for whole in plan.units for part in _parted(whole, fits)):
        if units and not fits((*units, unit)):
            groups.append((units, ()))
            units = ()
        units = (*units, unit)
    if fits(units, plan.stores):
        return [*groups, (units, plan.stores)]
    stores: tuple[Store, ...] = ()
    groups += [(units, ())] if units else []
    for store in plan.stores:
        if stores and not fits((), (*stores, store)):
            groups.append(((), stores))
            stores = ()
        stores = (*stores, store)
    return [*groups, ((), stores)] if stores else groups


def _parted(unit: Unit, fits: Callable[[tuple[Unit, ...]], bool]) -> list[Unit]:
    """A unit, or as many of it as its sources need to fit a sheet each."""
    if fits((unit,)) or len(unit.supplies) < 2:
        return [unit]
    parts: list[Unit] = []
    held: tuple[Supply, ...] = ()
    for source in unit.supplies:
        if held and not fits((replace(unit, supplies=(*held, source)),)):
            parts.append(replace(unit, supplies=held))
            held = ()
        held = (*held, source)
    return [*parts, replace(unit, supplies=held)]


def _split_boards(maker: _Maker, plan: Plan, room: float, lefts: int) -> tuple[tuple[Board, ...], list[Board]]:
    """Keep on the first sheet what fits; the largest boards go on to later sheets, a stub of each staying."""
    kept = list(plan.boards)
    moved: list[Board] = []
    while needed(maker.stacks(replace(plan, boards=tuple(kept))).right()) > room:
        whole = [board for board in kept if not board.elsewhere and board.rows]
        if not whole:
            break
        largest = max(whole, key=lambda board: len(board.rows))
        moved.append(largest)
        kept[kept.index(largest)] = replace(largest, elsewhere=lefts + 1, is_bus=False)
    order = [board.node.tag for board in plan.boards]
    return tuple(kept), sorted(moved, key=lambda board: order.index(board.node.tag))


def _columns(maker: _Maker, moved: list[Board], room: float) -> list[list[list[Board]]]:
    """Fill columns with boards, two columns to a sheet, as evenly as their rows allow."""
    fewest = len(_filled(maker, moved, room))
    count = fewest + fewest % 2
    low, high = 0.0, room
    for _ in range(12):
        middle = (low + high) / 2
        if len(_filled(maker, moved, middle)) <= count:
            high = middle
        else:
            low = middle
    columns = _filled(maker, moved, high)
    return [columns[index : index + 2] for index in range(0, len(columns), 2)]


def _filled(maker: _Maker, moved: list[Board], room: float) -> list[list[Board]]:
    """Columns no taller than ``room``, filled row by row. [mm]"""
    canvas = maker.canvas(HEIGHT_MM)
    columns: list[list[Board]] = []
    left = 0.0
    for board in moved:
        slots = boards.board_slots(canvas, replace(board, is_bus=False), COLUMNS[0]).slots
        part: list[Row] = []
        for row, slot in zip(board.rows, slots, strict=True):
            height = slot.up + slot.down + (0.0 if part else 7.0)
            if height > left:
                if part:
                    columns[-1].append(_part(board, part))
                columns.append([])
                part, left = [], room
            part.append(row)
            left -= height
        if part:
            columns[-1].append(_part(board, part))
    return columns


def _part(board: Board, rows: list[Row]) -> Board:
    """A stretch of a board's rows as a board of its own."""
    return replace(
        board, rows=tuple(rows), is_bus=False, elsewhere=0, continued=True, feeder=None, through=None, onward=None
    )


__all__ = ["Sheet", "draw", "sheets"]
