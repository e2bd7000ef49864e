"""The single-line diagram on paper, and the schedules that follow it."""

from __future__ import annotations

from django.utils.translation import gettext as _
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, PageBreak

from quoting.documents import fonts
from quoting.documents.content import DiagramContent
from quoting.documents.drawn import Drawn, complete
from quoting.documents.forms import page_of
from quoting.documents.grid import GROUP, HEAD, Block, Cell, Grid, Row
from quoting.documents.layout import WIDE, WORKING, Built, Sheet, build
from quoting.documents.text import SECOND
from quoting.sizing.appraisal import Appraisal
from quoting.words import drawing_words


def diagram_pdf(content: DiagramContent, appraisal: Appraisal, form: str) -> Built:
    """Print the diagram. Raises :class:`DrawingIncomplete` rather than leave a text out."""
    sheet = Sheet(WIDE[page_of("diagram", form)], WORKING)
    drawn = _drawings(appraisal)
    return build(content.frame, lambda each: _story(content, drawn, each), sheet)


def _story(content: DiagramContent, drawings: list[Drawn], sheet: Sheet) -> list[Flowable]:
    story: list[Flowable] = []
    for drawn in drawings:
        story += [drawn, PageBreak()]
    if not content.schedule:
        story.append(sheet.titled(_("Circuit schedule"), sheet.words(_("No circuit is designed yet.")), 0))
        return [*story, *_closing(content, sheet)]
    story.append(sheet.titled(_("Circuit schedule"), _schedule(content, sheet), 0))
    for note in content.notes:
        story.append(Block(sheet.note(note), 0.8 * mm))
    if content.outputs:
        story.append(sheet.titled(_("Switched outputs"), _outputs(content, sheet)))
    story.append(sheet.titled(_("Cable to cut"), _cuts(content, sheet)))
    return [*story, *_closing(content, sheet)]


def _closing(content: DiagramContent, sheet: Sheet) -> list[Flowable]:
    story = sheet.notices(_("Findings"), content.notices)
    story += sheet.bullets(_("For the licensed person"), content.questions)
    story += sheet.bullets(_("Cautions"), content.cautions)
    return story


def _drawings(appraisal: Appraisal) -> list[Drawn]:
    from quoting.drawings import single_line

    return complete(single_line.sheets(appraisal, words=drawing_words)) if appraisal.nodes else []


SCHEDULE = (0, 10, 49, 96, 107, 116, 127, 139, 154, 169, 201, 216.5, 230.5, 261)
"""Left edges of the schedule's columns and its right end. [mm]"""


def _cells(sheet: Sheet, edges: tuple[float, ...], contents: list[list[Flowable]]) -> tuple[Cell, ...]:
    """Contents between edges, 2 mm apart, 1.5 mm more where text follows a right-aligned figure."""
    cells = []
    for i, content in enumerate(contents):
        after_figures = i > 0 and _is_right(contents[i - 1]) and not _is_right(content)
        left = edges[i] + 1.5 * after_figures
        cells.append(sheet.cell(left * mm, (edges[i + 1] - left - 2.0 * (i < len(contents) - 1)) * mm, *content))
    return tuple(cells)


def _is_right(content: list[Flowable]) -> bool:
    return bool(content) and bool(content[0].style.alignment)


def _schedule(content: DiagramContent, sheet: Sheet) -> Grid:
    titles = (
        (_("Tag"), False),
        (_("What"), False),
        (_("From – to"), False),
        (_("A"), True),
        (_("m"), True),
        (_("mm²"), True),
        (_("Drop, V"), True),
        (_("In all, %"), True),
        (_("Carries, A"), True),
        (_("Device and rating"), False),
        (_("Breaks, kA"), True),
        (_("Fault, kA"), True),
        (_("Decided by"), False),
    )
    head = Row(_cells(sheet, SCHEDULE, [[sheet.note(text, right=right)] for text, right in titles]), below=HEAD)
    areas = sheet.figures([row.area for row in content.schedule])
    rows = []
    for row, area in zip(content.schedule, areas, strict=True):
        rows.append(
            Row(
                _cells(
                    sheet,
                    SCHEDULE,
                    [
                        [sheet.words(row.tag, face=fonts.SEMIBOLD)],
                        [sheet.words(row.what)],
                        [sheet.words(row.way, ink=SECOND)],
                        [sheet.words(row.current, right=True)],
                        [sheet.words(row.length, right=True)],
                        [area],
                        [sheet.words(row.drop, right=True)],
                        [sheet.words(row.drop_total, right=True)],
                        [sheet.words(row.ampacity, right=True)],
                        [sheet.words(text) for text in row.devices] or [sheet.words("–")],
                        [sheet.words(text, right=True) for text in row.breaking] or [sheet.words("–", right=True)],
                        [sheet.words(text, right=True) for text in row.fault] or [sheet.words("–", right=True)],
                        [sheet.words(row.decided, ink=SECOND)],
                    ],
                )
            )
        )
    return Grid(_keep_first(rows), [head], sheet.page.height)


OUTPUTS = (0, 60, 80, 160, 180, 200, 230, 261)
CUTS = (0, 70, 180, 240, 261)


def _outputs(content: DiagramContent, sheet: Sheet) -> Grid:
    titles = (
        (_("Module"), False),
        (_("Output"), False),
        (_("Circuit"), False),
        (_("Load, A"), True),
        (_("Limit, A"), True),
        (_("When parked"), False),
        (_("Goes off"), False),
    )
    head = Row(_cells(sheet, OUTPUTS, [[sheet.note(text, right=right)] for text, right in titles]), below=HEAD)
    rows = [
        Row(
            _cells(
                sheet,
                OUTPUTS,
                [
                    [sheet.words(row.part)],
                    [sheet.words(row.channel, face=fonts.SEMIBOLD)],
                    [sheet.words(row.circuit)],
                    [sheet.words(row.load, right=True)],
                    [sheet.words(row.limit, right=True)],
                    [sheet.words(row.group)],
                    [sheet.words(row.order)],
                ],
            )
        )
        for row in content.outputs
    ]
    return Grid(_keep_first(rows), [head], sheet.page.height)


def _cuts(content: DiagramContent, sheet: Sheet) -> Grid:
    titles = (
        (_("Cable"), False),
        (_("For"), False),
        (_("Pieces"), False),
        (_("m each"), True),
    )
    head = Row(_cells(sheet, CUTS, [[sheet.note(text, right=right)] for text, right in titles]), below=HEAD)
    rows: list[Row] = []
    last = ""
    for row in content.cuts:
        cable = [sheet.words(row.cable, face=fonts.SEMIBOLD)] if row.cable != last else []
        rows.append(
            Row(
                _cells(
                    sheet,
                    CUTS,
                    [
                        cable,
                        [sheet.words(row.circuits)],
                        [sheet.words(row.colour)],
                        [sheet.words(row.length, right=True)],
                    ],
                ),
                above=GROUP if cable and rows else None,
                below_left=CUTS[1] * mm,
                continued=None
                if cable
                else sheet.cell(0, 68 * mm, sheet.words(_("%s, continued") % row.cable, ink=SECOND)),
            )
        )
        last = row.cable
    return Grid(_keep_first(rows), [head], sheet.page.height)


def _keep_first(rows: list[Row]) -> list[Row]:
    """The head with two rows at least, and never one row alone on the last page."""
    from dataclasses import replace

    return [replace(row, keep=len(rows) > 1 and i in (0, len(rows) - 2)) for i, row in enumerate(rows)]
