"""The wiring lists on paper: schedule, outputs, inputs, cable to cut, terminals, conduits."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext as _
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, PageBreak

from quoting.documents import fonts
from quoting.documents.content_wiring import CableBlock, DiagramContent, Piece, WiringContent
from quoting.documents.forms import page_of
from quoting.documents.grid import GROUP, Block, Cell, Grid, Row
from quoting.documents.layout import WIDE, WORKING, Built, Sheet, build
from quoting.documents.marks import Box
from quoting.documents.schedule import cells, edges_of, hand_grid, head, keep_first, plain_table, schedule_grid
from quoting.documents.text import ACCENT, INK, SECOND, quiet
from quoting.sizing.appraisal import Appraisal

BY_HAND = 8 * mm


def wiring_pdf(content: WiringContent, appraisal: Appraisal, form: str) -> Built:
    """Print the wiring lists."""
    sheet = Sheet(WIDE[page_of("wiring", form)], WORKING)
    return build(content.frame, lambda each: _story(content, each), sheet)


def _story(content: WiringContent, sheet: Sheet) -> list[Flowable]:
    if not content.schedule:
        empty = sheet.titled(_("Circuit schedule"), sheet.words(_("No circuit is designed yet.")), 0)
        return [empty, *closing(content, sheet)]
    story = schedule_part(content, sheet)
    if content.modules:
        story.append(sheet.titled(_("Switched outputs"), _outputs(content, sheet)))
    if content.shedding:
        story.append(sheet.titled(_("Shed groups, in the order in which they go off"), _shedding(content, sheet)))
    if content.inputs:
        story.append(sheet.titled(_("Sensing inputs"), _inputs(content, sheet)))
    story.append(PageBreak())
    if content.cables:
        words = _("Tick what is cut. A piece is as long as it lies; spare is for ends, bends and what is spoilt.")
        story.append(sheet.titled(_("Cable to cut"), sheet.note(words), 0))
        story.append(Block(_cables(content.cables, sheet), 2 * mm))
    if content.terminals:
        story.append(sheet.titled(_("Terminals and lugs"), _terminals(content, sheet)))
    if content.sleeves:
        story.append(sheet.titled(_("Conduits"), _sleeves(content, sheet)))
    if content.ac:
        story.append(sheet.titled(_("Mains-voltage ways: the licensed person decides"), _ac(content, sheet)))
        story += [*_questions(content, sheet), *sheet.notices(_("Findings"), content.notices)]
        return [*story, *sheet.bullets(_("Cautions"), content.cautions)]
    return [*story, *closing(content, sheet)]


def schedule_part(content: DiagramContent | WiringContent, sheet: Sheet) -> list[Flowable]:
    """The schedule, what its columns mean, and what was settled by hand."""
    story: list[Flowable] = [sheet.titled(_("Circuit schedule"), schedule_grid(content.schedule, sheet), 0)]
    for note in content.notes:
        story.append(Block(sheet.note(note), 0.8 * mm))
    if content.by_hand:
        story.append(sheet.titled(_("Settled by hand"), hand_grid(content.by_hand, sheet)))
    return story


def closing(content: DiagramContent | WiringContent, sheet: Sheet) -> list[Flowable]:
    """Findings, questions for the licensed person, cautions."""
    story = sheet.notices(_("Findings"), content.notices)
    story += _questions(content, sheet)
    story += sheet.bullets(_("Cautions"), content.cautions)
    return story


def _questions(content: DiagramContent | WiringContent, sheet: Sheet) -> list[Flowable]:
    """What the licensed person is asked, numbered, for the ways of the mains-voltage side name the numbers."""
    numbered = [sheet.words(f"{i}. {text}", indent=sheet.hang) for i, text in enumerate(content.questions, 1)]
    return sheet.hung(_("For the licensed person"), numbered)


# --- outputs and inputs ------------------------------------------------------------------------------

OUTPUTS = (0, 70, 84, 98, 176, 196, 213, 238, 261)


def _outputs(content: WiringContent, sheet: Sheet) -> Grid:
    edges = edges_of(sheet, OUTPUTS)
    titles = (
        (_("Module"), False),
        (_("Output"), False),
        (_("Tag"), False),
        (_("Circuit"), False),
        (_("Load, A"), True),
        (_("Limit, A"), True),
        (_("When parked"), False),
        (_("Goes off"), False),
    )
    rows: list[Row] = []
    for block in content.modules:
        for number, row in enumerate(block.outputs):
            name: list[Flowable] = []
            if number == 0:
                name = [sheet.words(block.name, face=fonts.SEMIBOLD)]
            elif number == 1 and block.carries:
                name = [sheet.words(block.carries, ink=SECOND)]
            rows.append(
                Row(
                    cells(
                        sheet,
                        edges,
                        [
                            name,
                            [sheet.words(row.channel)],
                            [sheet.words(row.tag, face=fonts.SEMIBOLD)],
                            [sheet.words(row.circuit, ink=INK if row.tag else SECOND)],
                            [sheet.words(row.load, right=True)],
                            [sheet.words(row.limit, right=True)],
                            [sheet.words(row.group)],
                            [sheet.words(row.order)],
                        ],
                    ),
                    above=GROUP if number == 0 and rows else None,
                    below_left=edges[1] * mm,
                    keep=number == 0 and len(block.outputs) > 1,
                    continued=None if number < 2 else _continued(block.name, sheet, edges[1]),
                )
            )
    return Grid(keep_first(rows), [head(sheet, edges, titles)], sheet.page.height)


def _continued(name: str, sheet: Sheet, width_mm: float) -> Cell:
    return sheet.cell(0, (width_mm - 2) * mm, sheet.words(_("%s, continued") % name, ink=SECOND))


SHEDDING = (0, 12, 34, 56, 136, 200, 261)


def _shedding(content: WiringContent, sheet: Sheet) -> Grid:
    titles = (
        (_("Order"), False),
        (_("Off below"), False),
        (_("Back at"), False),
        (_("Voltage backstop"), False),
        (_("Circuits"), False),
        (_("Outputs"), False),
    )
    rows = [[row.order, row.below, row.restore, row.backstop, row.circuits, row.outputs] for row in content.shedding]
    return plain_table(sheet, SHEDDING, titles, rows)


INPUTS = (0, 80, 100, 140, 230, 261)


def _inputs(content: WiringContent, sheet: Sheet) -> Grid:
    titles = (
        (_("Part"), False),
        (_("Input"), False),
        (_("Senses"), False),
        (_("What is watched"), False),
        (_("Circuit"), False),
    )
    rows = [[row.part, row.channel, row.sense, row.watched, row.circuit] for row in content.inputs]
    last = ""
    for row in rows:
        row[0], last = ("" if row[0] == last else row[0]), row[0]
    return plain_table(sheet, INPUTS, titles, rows)


# --- cable -------------------------------------------------------------------------------------------


def _cables(blocks: Sequence[CableBlock], sheet: Sheet) -> Grid:
    """Pieces side by side under the name of their cable, each with a box to tick."""
    columns = round(sheet.page.width / (87 * mm))
    rows: list[Row] = []
    for block in blocks:
        rows.append(_cable_head(block, sheet, bool(rows)))
        pieces = block.pieces
        down = -(-len(pieces) // columns)
        for i in range(down):
            side_by_side = [pieces[i + down * c] for c in range(columns) if i + down * c < len(pieces)]
            made = tuple(
                cell
                for c, piece in enumerate(side_by_side)
                for cell in _piece(piece, c, columns, sheet, bool(block.buy))
            )
            rows.append(Row(made, keep=i == 0 and down > 1, pad=0.5 * mm))
    return Grid(keep_first(rows), [], sheet.page.height)


def _cable_head(block: CableBlock, sheet: Sheet, space: bool) -> Row:
    width = sheet.page.width
    said = _("%(n)d pieces, laid %(laid)s") % {"n": len(block.pieces), "laid": block.laid}
    if len(block.pieces) == 1:
        said = _("1 piece, laid %s") % block.laid
    if block.buy:
        said = _("%(said)s, spare %(spare)s") % {"said": said, "spare": block.spare}
    buy = [sheet.words(_("to buy %s") % block.buy, face=fonts.SEMIBOLD, right=True)] if block.buy else []
    return Row(
        (
            sheet.cell(0, 38 * mm, sheet.words(block.size, face=fonts.SEMIBOLD, ink=ACCENT)),
            sheet.cell(40 * mm, width * 0.5 - 42 * mm, sheet.words(block.name, ink=SECOND)),
            sheet.cell(width * 0.5, width * 0.34, sheet.words(said, ink=SECOND, right=True)),
            sheet.cell(width * 0.85, width * 0.15, *buy),
        ),
        below=GROUP,
        space=3 * mm * space,
        keep=True,
    )


def _piece(piece: Piece, column: int, columns: int, sheet: Sheet, cut: bool) -> tuple[Cell, ...]:
    wide = sheet.page.width / columns
    left, right = column * wide, (column + 1) * wide - 5 * mm * (column + 1 < columns)
    box = [Box()] if cut else []
    words = [sheet.words(piece.ends)]
    if piece.terminals:
        words.append(sheet.note(piece.terminals))
    return (
        sheet.cell(left, 4 * mm, *box),
        sheet.cell(left + 5.5 * mm, 13 * mm, sheet.words(piece.circuit, face=fonts.SEMIBOLD)),
        sheet.cell(left + 19 * mm, right - left - 37 * mm, *words),
        sheet.cell(right - 17 * mm, 17 * mm, sheet.words(f"{piece.length}\u00a0{quiet('m')}", right=True)),
    )


# --- terminals and conduits --------------------------------------------------------------------------

TERMINALS = (0, 16, 30, 90, 106, 206, 232, 261)


def _terminals(content: WiringContent, sheet: Sheet) -> Grid:
    """Die and torque are filled in by hand where the catalogue does not state them."""
    edges = edges_of(sheet, TERMINALS)
    titles = (
        (_("mm²"), True),
        (_("Stud"), False),
        (_("What"), False),
        (_("How many"), True),
        (_("Where"), False),
        (_("Die"), False),
        (_("Torque"), False),
    )
    rows = [
        Row(
            cells(
                sheet,
                edges,
                [
                    [sheet.words(row.area, right=True, face=fonts.SEMIBOLD)],
                    [sheet.words(row.stud)],
                    [sheet.words(row.what)],
                    [sheet.words(row.count, right=True, face=fonts.SEMIBOLD)],
                    [sheet.note(row.where)],
                    [sheet.words(row.die or "………………")],
                    [sheet.words(row.torque or ("………………" if row.stud != "–" else ""))],
                ],
            ),
            least=6 * mm,
        )
        for row in content.terminals
    ]
    return Grid(keep_first(rows), [head(sheet, edges, titles)], sheet.page.height)


AC = (0, 16, 90, 130, 152, 261)


def _ac(content: WiringContent, sheet: Sheet) -> Grid:
    """What is there, and what is asked of the licensed person; no size and no rating is given."""
    titles = (
        (_("Tag"), False),
        (_("What"), False),
        (_("From – to"), False),
        (_("Conductors"), True),
        (_("Asked, by its number below"), False),
    )
    rows = [[r.tag, r.name, r.way, r.conductors, " ".join(filter(None, r.questions))] for r in content.ac]
    return plain_table(sheet, AC, titles, rows)


SLEEVES = (0, 62, 74, 130, 168, 182, 196, 261)


def _sleeves(content: WiringContent, sheet: Sheet) -> Grid:
    titles = (
        (_("Way"), False),
        (_("m"), True),
        (_("Conduit"), False),
        (_("Conductors"), False),
        (_("Full"), True),
        (_("At most"), True),
        (_("Circuits"), False),
    )
    rows = [[r.way, r.length, r.what, r.conductors, r.fill, r.limit, r.circuits] for r in content.sleeves]
    return plain_table(sheet, SLEEVES, titles, rows)
