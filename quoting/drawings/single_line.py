"""The single-line diagram: one ReportLab Drawing for the page (SVG) and for paper (PDF).

``sheets`` keeps to a form of paper and goes on to further sheets, with references both ways.
"""

from __future__ import annotations

from dataclasses import dataclass

from quoting.drawings import ac_zone, boards, inversions, legend, outlines, signals, supply, wording
from quoting.drawings.canvas import LINE_MM, Canvas, Piece, Sheet, stacked
from quoting.drawings.composing import TOP_MM, Composer, Page, Stacks, slots_of, stacks_of, zone_width
from quoting.drawings.frame import draw_frame
from quoting.drawings.layout import BUS_X, FORMS, FRAME_LEFT_MM, FRAME_TOP_MM, Form, Stops, spread
from quoting.drawings.pen import BAR, HEAVY, Faces, Measure, Pen, Run, string_width
from quoting.drawings.placing import Rect, Register
from quoting.drawings.plan import Appraised, Board, Plan
from quoting.drawings.ports import Known, Place, Port
from quoting.drawings.reading import read
from quoting.sizing.errors import SizingError

BUS_OVER_MM = 6.0
"""How far the main bus runs past its uppermost circuit, so that its name clears that circuit's tags. [mm]"""
PASSES = 4
"""Drawn so often at most, until every reference says what the pass before has found."""


@dataclass(frozen=True, slots=True)
class _Maker:
    """What every sheet of a drawing shares."""

    form: Form
    words: wording.Words
    faces: Faces
    measure: Measure
    widths: dict[tuple[str, str, float], float]

    def canvas(self, plan: Plan, height_mm: float, known: Known | None = None) -> Canvas:
        origin = (FRAME_LEFT_MM, FRAME_TOP_MM)
        pen = Pen(self.form.width_mm, height_mm, self.faces, self.measure, widths=self.widths, origin=origin)
        inner = (self.form.inner_width_mm, height_mm - FRAME_TOP_MM)
        known = known or Known()
        known.size_mm, known.grid = inner, self.form.grid
        return Canvas(
            pen,
            Register(Rect(0, 0, *inner)),
            self.words,
            known=known,
            mentions=plan.mentions,
            stays=plan.stays,
            colours=plan.colours,
            trailer=plan.trailer,
        )


def sheets(
    appraised: Appraised,
    *,
    paper: str = "A4",
    words: wording.Words = wording.english,
    faces: Faces | None = None,
    measure: Measure = string_width,
) -> tuple[Sheet, ...]:
    """Draw on as many sheets as it takes.

    The first keeps the bus and as many sources and boards as fit. What goes on elsewhere, on another sheet or the same
    one, is an interrupted line whose ends name each other's sheet and field of the frame.

    Parameters
    ----------
    appraised : Appraised
        Nodes and circuits; an ``Appraisal`` is one.
    paper : str
        One of ``layout.FORMS``: what the margins of that paper leave, landscape.
    words : callable
        ``words(code, **params)`` says a code of ``wording.MESSAGES``, and ``number`` with ``value`` and ``digits``.
    faces : Faces, optional
        Registered fonts; Inter by default.
    measure : callable
        Width of a text in a font at a size. [pt]

    Returns
    -------
    tuple of Sheet
        A text without room beside its part has a number there, and stands on a last sheet of notes.

    Raises
    ------
    SizingError
        If there is nothing to draw, or no such paper.
    """
    maker, plan = _begin(appraised, paper, words, faces, measure)
    earlier: dict[Port, Place] = {}
    made: list[Sheet] = []
    for _ in range(PASSES):
        canvas = maker.canvas(plan, maker.form.height_mm, Known(earlier=earlier))
        pages = Composer(canvas, maker.form, plan).pages()
        stretches = frozenset(board.port for page in pages for _, part in page.columns for board in part)
        knowns = [Known(n, earlier=earlier, stretches=stretches) for n in range(1, len(pages) + 1)]
        made = [
            _draw_page(maker, page, known, (known.sheet, len(pages)) if len(pages) > 1 else None)
            for page, known in zip(pages, knowns, strict=True)
        ]
        found = {port: (known.sheet, zone) for known in knowns for port, zone in known.marked.items()}
        if found == earlier:
            break
        earlier = found
    noted = [text for sheet in made for text in sheet.noted]
    return (*made, *_notes(maker, plan, noted)) if noted else tuple(made)


def _begin(
    appraised: Appraised, paper: str, words: wording.Words, faces: Faces | None, measure: Measure
) -> tuple[_Maker, Plan]:
    if paper not in FORMS:
        allowed = f"no such paper as {paper!r}; it must be one of {', '.join(FORMS)}"
        raise SizingError("paper", value=paper, code="not_a_choice", message=allowed)
    if not appraised.nodes:
        raise SizingError("nodes", code="missing")
    return _Maker(FORMS[paper], words, faces or Faces(), measure, {}), read(appraised)


def _draw_page(maker: _Maker, page: Page, known: Known, number: tuple[int, int] | None) -> Sheet:
    plan, form = page.plan, maker.form
    canvas = maker.canvas(plan, form.height_mm, known)
    draw_frame(canvas)
    boards_drawn = [board for _, part in page.columns for board in part]
    width = form.inner_width_mm
    lines, foot = legend.foot(canvas, plan, width, boards_drawn)
    top = TOP_MM + (LINE_MM if number else 0.0)
    bottom = form.inner_height_mm - foot
    picture_bottom = bottom
    has_picture = bool(plan.units or plan.stores or plan.boards or plan.inversions or plan.bus)
    if page.has_zone and plan.zone:
        laid = ac_zone.lay(canvas, plan.zone, zone_width(form))
        picture_bottom -= laid.height_mm
        alone = not has_picture and not page.columns
        zone_top = top + 2.0 if alone else picture_bottom
        ac_zone.draw_zone(canvas, laid, zone_top)
        rect = Rect(0.3, zone_top + 0.6, laid.width_mm - 0.6, zone_top + laid.height_mm - 1.6)
        outlines.draw_trailer_zone(canvas, plan, rect)
    if has_picture:
        _draw_picture(canvas, plan, top, picture_bottom)
    side = bool(form.side) and has_picture
    for stops, part in page.columns:
        _draw_column(canvas, stops, part, top, bottom if side else picture_bottom)
    canvas.text(35, [stacked(lines, 0.4, bottom + 3.4)])
    rows = legend.key_rows(canvas, width - 0.5, legend.symbols_of(plan, boards_drawn))
    legend.draw_key(canvas, rows, width, bottom + len(lines) * LINE_MM + 2.2)
    if number:
        said = canvas.say("drawing.sheet", number=number[0], count=number[1])
        canvas.text(5, [(Piece((Run(said, second=True),), width - 0.5, 2.6, "end"),)])
    return canvas.sheet()


def _draw_picture(canvas: Canvas, plan: Plan, top: float, bottom: float) -> None:
    """Sources, batteries, main bus, boards and inverters."""
    stacks = stacks_of(canvas, plan)
    spread(stacks.left(), top, bottom)
    spread(stacks.right(), top, bottom)
    for unit in stacks.units:
        supply.draw_tint(canvas.pen, unit)
    for inversion in stacks.inversions:
        inversions.draw_tint(canvas.pen, inversion)
    heights = [y for unit in stacks.units for y in supply.draw_unit(canvas, unit)]
    heights += supply.draw_stores(canvas, stacks.stores, plan)
    heights += _draw_stubs(canvas, plan, stacks)
    for board in stacks.panels:
        heights += _draw_board(canvas, board, from_bus=plan.bus is not None)
    for inversion in stacks.inversions:
        heights += inversions.draw_inversion(canvas, inversion)
    outlines.draw_trailer(canvas, plan, stacks, top, bottom)
    if plan.bus and heights:
        _draw_bus(canvas, plan, min(heights) - BUS_OVER_MM, max(heights) + 4.5)


def _draw_bus(canvas: Canvas, plan: Plan, top: float, bottom: float) -> None:
    assert plan.bus
    canvas.bar(BUS_X, top, bottom, BAR + 0.3)
    if plan.bus_continued:
        port = Port(f"{plan.bus.tag}#{canvas.known.sheet}", "row")
        canvas.known.mark(port, BUS_X, top)
        said = canvas.tokens(plan.bus.tag, plan.bus.name)
        said += [(Run(canvas.say("drawing.continued")),), (Run(canvas.say("drawing.from"), second=True),)]
        name = canvas.wrapped([*said, canvas.goes_on(port)], 44.0)
    else:
        canvas.stand(plan.bus, BUS_X, top)
        name = canvas.node_lines(plan.bus, 44.0)
    order = _BUS_PLACES if len(name) <= 2 else (*_BUS_PLACES[1:], _BUS_PLACES[0])
    places = [stacked(name, BUS_X + dx, top - 1.3, anchor, up=True) for dx, anchor in order]
    places += [stacked(name, BUS_X + dx, bottom + 3.2, anchor) for dx, anchor in order]
    canvas.text(8, places)


_BUS_PLACES = ((-0.6, "start"), (0.0, "middle"), (0.6, "end"))
"""Over its own bar first, as boards are named; beside a unit's name it would read on from there. A tall
name goes over the middle first, clear of the boards'."""


def _draw_stubs(canvas: Canvas, plan: Plan, stacks: Stacks) -> list[float]:
    """What else meets the bus on later sheets."""
    heights = []
    for (code, sheet), slot in zip(plan.elsewhere, stacks.stubs, strict=True):
        port = Port(f"{plan.bus.tag if plan.bus else ''}#{sheet}", "node")
        canvas.known.mark(port, BUS_X, slot.y)
        canvas.wire([(BUS_X - 9.8, slot.y), (BUS_X, slot.y)], HEAVY)
        canvas.arrow(BUS_X - 9.8, slot.y)
        lines = canvas.wrapped([*((Run(w),) for w in canvas.say(code).split()), canvas.goes_on(port)], 60.0)
        canvas.text(10, [stacked(lines, BUS_X - 13.5, slot.y + 0.9, "end")])
        heights.append(slot.y)
    return heights


def _draw_board(canvas: Canvas, made: boards.BoardSlots, *, from_bus: bool) -> list[float]:
    if made.board.signal:
        signals.draw_signals(canvas, made)
        return []
    return boards.draw_board(canvas, made, from_bus)


def _draw_column(canvas: Canvas, stops: Stops, part: tuple[Board, ...], top: float, bottom: float) -> None:
    made = [slots_of(canvas, board, boards.column_stops(board, stops)) for board in part]
    slots = [slot for each in made for slot in each.slots]
    spread(slots, top, bottom)
    for each in made:
        _draw_board(canvas, each, from_bus=False)
    outlines.draw_trailer_column(canvas, made)


def _notes(maker: _Maker, plan: Plan, noted: list[str]) -> list[Sheet]:
    """Sheets of the texts that found no room beside their part, by number."""
    canvas = maker.canvas(plan, maker.form.height_mm)
    wide = maker.form.inner_width_mm - 2
    lines: list[tuple[Run, ...]] = [(Run(canvas.say("drawing.notes"), bold=True),)]
    for index, text in enumerate(noted, start=1):
        words = [(Run(canvas.say("drawing.note", number=index), second=True),), *((Run(w),) for w in text.split())]
        lines += canvas.wrapped(words, wide)
    many = int((maker.form.inner_height_mm - 4.0) / LINE_MM)
    made = []
    for start in range(0, len(lines), many):
        canvas = maker.canvas(plan, maker.form.height_mm)
        canvas.text(1, [stacked(lines[start : start + many], 0.4, 4.0)])
        made.append(canvas.sheet())
    return made


__all__ = ["Sheet", "sheets"]
