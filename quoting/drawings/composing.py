"""Shares a plan out over sheets: what stays in the main picture, what stands in columns, where the AC side is.

A board whose rows go elsewhere leaves a stub; a bundle of signals, and what an interrupted line feeds anyway, leaves
none. Sources, batteries and boards that are too many for one main picture go on round the same bus on further sheets.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from quoting.drawings import ac_zone, boards, inversions, legend, signals, supply
from quoting.drawings.canvas import LINE_MM, Canvas
from quoting.drawings.layout import Form, Slot, Stops, needed
from quoting.drawings.plan import Board, Inversion, Plan, Row, Store, Supply, Unit

TOP_MM = 0.6
STUB_MM = 10.0
"""Room of a line that says what is on a later sheet. [mm]"""
STUB_ROWS = 2
"""A board of no more rows is as low as its stub would be, and stays whole."""
COLUMN_GAP_MM = 2.0

Maker = Callable[[Plan], Canvas]
"""Makes a canvas to measure on, for a plan."""
Column = tuple[Stops, tuple[Board, ...]]


@dataclass(slots=True)
class Stacks:
    """Slots of both halves of a main picture."""

    units: list[supply.UnitSlots] = field(default_factory=list)
    stores: list[supply.StoreSlot] = field(default_factory=list)
    stubs: list[Slot] = field(default_factory=list)
    panels: list[boards.BoardSlots] = field(default_factory=list)
    inversions: list[inversions.InversionSlots] = field(default_factory=list)

    def left(self) -> list[Slot]:
        return [s for unit in self.units for s in unit.slots] + [made.slot for made in self.stores] + self.stubs

    def right(self) -> list[Slot]:
        return [s for board in self.panels for s in board.slots] + [s for inv in self.inversions for s in inv.slots]


@dataclass(frozen=True, slots=True)
class Page:
    """One sheet: a main picture (with ``plan.bus`` or not), columns, the AC side or none of it."""

    plan: Plan
    columns: tuple[Column, ...] = ()
    has_zone: bool = False


def slots_of(canvas: Canvas, board: Board, stops: Stops) -> boards.BoardSlots:
    """Rows of a board or of a bundle of signals."""
    return signals.signal_slots(canvas, board, stops) if board.signal else boards.board_slots(canvas, board, stops)


def stacks_of(canvas: Canvas, plan: Plan) -> Stacks:
    """Slots of a plan's main picture."""
    return Stacks(
        units=[supply.unit_slots(canvas, unit) for unit in plan.units],
        stores=[supply.store_slot(canvas, store, index == 0, plan) for index, store in enumerate(plan.stores)],
        stubs=[Slot(4.6, 6.0, spring=index == 0) for index, _ in enumerate(plan.elsewhere)],
        panels=[slots_of(canvas, board, boards.main_stops(board)) for board in plan.boards],
        inversions=[inversions.inversion_slots(canvas, inversion) for inversion in plan.inversions],
    )


@dataclass(slots=True)
class Composer:
    """Shares one plan out over sheets of one form."""

    canvas: Canvas
    form: Form
    plan: Plan
    zone_mm: float = 0.0

    def __post_init__(self) -> None:
        if self.plan.zone:
            self.zone_mm = ac_zone.lay(self.canvas, self.plan.zone, zone_width(self.form)).height_mm

    def room(self, *, numbered: bool = True) -> float:
        """Height that a sheet leaves for its picture. [mm]"""
        _, foot = legend.foot(self.canvas, self.plan, self.form.inner_width_mm)
        return self.form.inner_height_mm - TOP_MM - foot - (LINE_MM if numbered else 0.0)

    def pages(self) -> list[Page]:
        """As few sheets as it takes."""
        stacks = stacks_of(self.canvas, self.plan)
        room = self.room(numbered=False) - self.zone_mm
        if needed(stacks.left()) <= room and needed(stacks.right()) <= room:
            return [Page(self.plan, has_zone=bool(self.plan.zone))]
        tries = [self._shared(zone_first=False)]
        if self.plan.zone and self.room() - self.zone_mm > 60.0:
            tries += [self._shared(zone_first=True), self._shared(zone_first=False, low_columns=True)]
        return min(tries, key=lambda pages: (len(pages), sum(page.plan.bus is not None for page in pages)))

    def _shared(self, *, zone_first: bool, low_columns: bool = False) -> list[Page]:
        plan, room = self.plan, self.room() - (self.zone_mm if zone_first else 0.0)
        lefts = self._lefts(room)
        kept, moved = self._kept(room)
        rights = self._rights(kept, room - STUB_MM * (len(lefts) > 1))
        count = max(len(lefts), len(rights))
        lefts += [((), ())] * (count - len(lefts))
        rights += [((), ())] * (count - len(rights))
        pages = []
        for index, ((units, stores), (panels, inverters)) in enumerate(zip(lefts, rights, strict=True)):
            part = replace(plan, units=units, stores=stores, boards=panels, inversions=inverters, zone=None)
            part = replace(part, elsewhere=tuple(_elsewhere(lefts, rights)) if index == 0 else ())
            part = replace(part, bus_continued=index > 0)
            if index:
                part = replace(part, others=(), notes=())
            if not stores:
                part = replace(part, monitor=None, body=None, bond=None, link=None, main=None, negative=None)
            pages.append(Page(part))
        pages = self._with_columns(pages, moved, self.room() - (self.zone_mm if low_columns else 0.0))
        return self._with_zone(pages, zone_first)

    def _with_columns(self, pages: list[Page], moved: list[Board], room: float) -> list[Page]:
        side, columns = self.form.side, self.form.columns
        filled = self._filled(moved, [*side], columns, room)
        beside, later = filled[: len(side)], filled[len(side) :]
        if later:
            rest = [board for _, part in later for board in part]
            later = self._evened(rest, columns, room, len(later))
        first = Page(pages[0].plan, tuple(beside))
        more = [later[index : index + len(columns)] for index in range(0, len(later), len(columns))]
        empty = replace(self.plan, bus=None, units=(), stores=(), boards=(), inversions=(), others=(), notes=())
        empty = replace(empty, monitor=None, body=None, bond=None, link=None, main=None, negative=None, zone=None)
        return [first, *pages[1:], *(Page(empty, tuple(part)) for part in more)]

    def _with_zone(self, pages: list[Page], zone_first: bool) -> list[Page]:
        if not self.plan.zone:
            return pages
        if zone_first:
            return [_zoned(pages[0], self.plan), *pages[1:]]
        last, room = pages[-1], self.room() - self.zone_mm
        only_columns = last.plan.bus is None
        if only_columns and all(self._height(stops, part) <= room for stops, part in last.columns):
            return [*pages[:-1], _zoned(last, self.plan)]
        empty = replace(self.plan, bus=None, units=(), stores=(), boards=(), inversions=(), others=(), notes=())
        empty = replace(empty, monitor=None, body=None, bond=None, link=None, main=None, negative=None)
        return [*pages, Page(empty, has_zone=True)]

    # --- the left half -------------------------------------------------------------------------------------------

    def _lefts(self, room: float) -> list[tuple[tuple[Unit, ...], tuple[Store, ...]]]:
        """Share units and batteries over sheets, in order; one too tall by itself is repeated with its rest."""
        room -= 2 * STUB_MM
        plan = self.plan

        def fits(units: tuple[Unit, ...], stores: tuple[Store, ...] = ()) -> bool:
            part = replace(plan, units=units, stores=stores, boards=(), inversions=())
            return needed(stacks_of(self.canvas, part).left()) <= room

        if needed(stacks_of(self.canvas, replace(plan, boards=(), inversions=())).left()) <= room + 2 * STUB_MM:
            return [(plan.units, plan.stores)]
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

    # --- the right half ------------------------------------------------------------------------------------------

    def _kept(self, room: float) -> tuple[tuple[Board, ...], list[Board]]:
        """Boards of the main picture, some as stubs, and what goes into columns: signals first, then the largest."""
        kept, moved = list(self.plan.boards), []
        while needed(stacks_of(self.canvas, replace(self.plan, boards=tuple(kept))).right()) > room:
            loose = [board for board in kept if board.signal or board.refers or (board.origin and not board.moved)]
            whole = [b for b in kept if not b.moved and len(b.rows) > STUB_ROWS and b not in loose]
            if loose:
                chosen = max(loose, key=lambda board: (board.signal, len(board.rows)))
                kept.remove(chosen)
            elif whole:
                chosen = max(whole, key=lambda board: len(board.rows))
                kept[kept.index(chosen)] = replace(chosen, moved=True, is_bus=False)
                chosen = replace(chosen, continued=True, is_bus=False, feeder=None, through=None, onward=None)
            else:
                break
            moved.append(chosen)
        order = {(board.node.tag, board.signal): index for index, board in enumerate(self.plan.boards)}
        return tuple(kept), sorted(moved, key=lambda board: order[(board.node.tag, board.signal)])

    def _rights(self, kept: tuple[Board, ...], room: float) -> list[tuple[tuple[Board, ...], tuple[Inversion, ...]]]:
        """Share what is still too tall over several main pictures."""

        def fits(panels: tuple[Board, ...], inverters: tuple[Inversion, ...]) -> bool:
            part = replace(self.plan, boards=panels, inversions=inverters)
            return needed(stacks_of(self.canvas, part).right()) <= room

        groups: list[tuple[tuple[Board, ...], tuple[Inversion, ...]]] = []
        panels: tuple[Board, ...] = ()
        inverters: tuple[Inversion, ...] = ()
        for board in kept:
            if panels and not fits((*panels, board), ()):
                groups.append((panels, ()))
                panels = ()
            panels = (*panels, board)
        for inversion in self.plan.inversions:
            if (panels or inverters) and not fits(panels, (*inverters, inversion)):
                groups.append((panels, inverters))
                panels, inverters = (), ()
            inverters = (*inverters, inversion)
        return [*groups, (panels, inverters)]

    # --- columns -------------------------------------------------------------------------------------------------

    def _height(self, stops: Stops, part: Sequence[Board]) -> float:
        made = [slots_of(self.canvas, board, boards.column_stops(board, stops)) for board in part]
        return sum(needed(each.slots) for each in made) + COLUMN_GAP_MM * len(made)

    def _evened(self, rest: list[Board], columns: tuple[Stops, ...], room: float, fewest: int) -> list[Column]:
        """Columns as equal in height as their rows allow, no more sheets than it takes."""
        whole = _joined(rest)
        count = -(-fewest // len(columns)) * len(columns)
        low, high = 0.0, room
        for _ in range(9):
            middle = (low + high) / 2
            if len(self._filled(whole, [], columns, middle)) <= count:
                high = middle
            else:
                low = middle
        return self._filled(whole, [], columns, high)

    def _filled(
        self, moved: Sequence[Board], side: list[Stops], columns: tuple[Stops, ...], room: float
    ) -> list[Column]:
        """Columns no taller than ``room``, filled row by row. [mm]"""
        made: list[tuple[Stops, list[Board]]] = []
        left = 0.0

        def following() -> Stops:
            index = len(made)
            return side[index] if index < len(side) else columns[(index - len(side)) % len(columns)]

        for board in moved:
            number = board.part
            chunks = _chunks(board)
            while chunks:
                stops = made[-1][0] if made and left > 0 else following()
                fit, height = self._fitting(replace(board, part=number), chunks, stops, left if made else 0.0)
                if not fit:
                    stops = following()
                    made.append((stops, []))
                    left = room
                    fit, height = self._fitting(replace(board, part=number), chunks, stops, left)
                    fit = fit or 1
                rows = tuple(row for chunk in chunks[:fit] for row in chunk)
                made[-1][1].append(_part(board, rows, number))
                left -= height + COLUMN_GAP_MM
                chunks, number = chunks[fit:], number + 1
        return [(stops, tuple(part)) for stops, part in made]

    def _fitting(self, board: Board, chunks: Sequence[tuple[Row, ...]], stops: Stops, room: float) -> tuple[int, float]:
        """How many rows of a board fit, and how tall they are; never the first of several alone. [mm]"""
        if room <= 0:
            return 0, 0.0
        part = _part(board, tuple(row for chunk in chunks for row in chunk), board.part)
        slots = slots_of(self.canvas, part, boards.column_stops(part, stops)).slots
        height, fit = 0.0, 0
        for slot in slots:
            if height + slot.up + slot.down > room:
                break
            height += slot.up + slot.down
            fit += 1
        if fit == 1 and len(chunks) > 2:
            return 0, 0.0
        return fit, height


def zone_width(form: Form) -> float:
    """Width of the AC side: that of the main picture. [mm]"""
    return min(form.inner_width_mm, 256.6)


def _zoned(page: Page, plan: Plan) -> Page:
    return Page(replace(page.plan, zone=plan.zone), page.columns, has_zone=True)


def _chunks(board: Board) -> list[tuple[Row, ...]]:
    """Rows by the slot they share."""
    return signals.abreast(board.rows) if board.signal else [(row,) for row in board.rows]


def _part(board: Board, rows: tuple[Row, ...], number: int) -> Board:
    """A stretch of a board's rows as a board of its own; only the first has the feeder."""
    if number == 0:
        return replace(board, rows=rows)
    bare = replace(board, rows=rows, part=number, feeder=None, through=None, onward=None, origin=None)
    return replace(bare, continued=True)


def _joined(rest: Sequence[Board]) -> list[Board]:
    """Stretches of one board put together again."""
    made: list[Board] = []
    for board in rest:
        if made and made[-1].node.tag == board.node.tag and made[-1].signal == board.signal:
            made[-1] = replace(made[-1], rows=made[-1].rows + board.rows)
        else:
            made.append(board)
    return made


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


Lefts = Sequence[tuple[tuple[Unit, ...], tuple[Store, ...]]]
Rights = Sequence[tuple[tuple[Board, ...], tuple[Inversion, ...]]]


def _elsewhere(lefts: Lefts, rights: Rights) -> Iterator[tuple[str, int]]:
    """What of the main picture is on which later sheet."""
    for index, ((units, stores), (panels, inverters)) in enumerate(zip(lefts, rights, strict=True), start=1):
        if index == 1:
            continue
        if units:
            yield "drawing.sources_on", index
        if stores:
            yield "drawing.batteries_on", index
        if panels or inverters:
            yield "drawing.boards_on", index
