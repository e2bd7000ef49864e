"""The circuit schedule on paper: two lines to a circuit, on A4 and wider on A3."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from django.utils.translation import gettext as _
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, Paragraph

from quoting.documents import fonts
from quoting.documents.circuit_words import without_standards
from quoting.documents.content_wiring import DeviceWords, HandNote, ScheduleRow
from quoting.documents.grid import HEAD, Cell, Grid, Row
from quoting.documents.layout import LANDSCAPE, Sheet
from quoting.documents.text import SECOND, shortened

SCHEDULE = (0, 10.5, 60, 76, 87, 121, 143, 158, 174, 219, 234, 247, 261)
"""Left edges of the schedule's columns and its right end, on A4; A3 is as much wider as its page. [mm]"""


def edges_of(sheet: Sheet, edges: Sequence[float]) -> tuple[float, ...]:
    """Edges given for A4 landscape, for the sheet at hand. [mm]"""
    factor = sheet.page.width / LANDSCAPE.width
    return tuple(edge * factor for edge in edges)


def cells(sheet: Sheet, edges: Sequence[float], contents: Sequence[Sequence[Flowable]]) -> tuple[Cell, ...]:
    """Contents between edges, 2 mm apart, 1.5 mm more where text follows a right-aligned figure."""
    made = []
    for i, content in enumerate(contents):
        after_figures = i > 0 and _is_right(contents[i - 1]) and not _is_right(content)
        left = edges[i] + 1.5 * after_figures
        made.append(sheet.cell(left * mm, (edges[i + 1] - left - 2.0 * (i < len(contents) - 1)) * mm, *content))
    return tuple(made)


def head(sheet: Sheet, edges: Sequence[float], titles: Sequence[tuple[str, bool]]) -> Row:
    """A table's head: titles, and whether each stands over figures."""
    return Row(cells(sheet, edges, [[sheet.note(text, right=right)] for text, right in titles]), below=HEAD)


def keep_first(rows: list[Row]) -> list[Row]:
    """The head with two rows at least, and never one row alone on the last page."""
    return [replace(row, keep=row.keep or (len(rows) > 1 and i in (0, len(rows) - 2))) for i, row in enumerate(rows)]


def plain_table(
    sheet: Sheet, measures: Sequence[float], titles: Sequence[tuple[str, bool]], rows: Sequence[Sequence[str]]
) -> Grid:
    """A table of words and figures; the first column in the heavier weight."""
    edges = edges_of(sheet, measures)
    made = [
        Row(
            cells(
                sheet,
                edges,
                [
                    [sheet.words(text, right=right, face=fonts.REGULAR if i else fonts.SEMIBOLD)]
                    for i, (text, (_title, right)) in enumerate(zip(row, titles, strict=True))
                ],
            )
        )
        for row in rows
    ]
    return Grid(keep_first(made), [head(sheet, edges, titles)], sheet.page.height)


def _is_right(content: Sequence[Flowable]) -> bool:
    return bool(content) and isinstance(content[0], Paragraph) and bool(content[0].style.alignment)


def schedule_grid(schedule: Sequence[ScheduleRow], sheet: Sheet) -> Grid:
    """Every circuit in two lines."""
    edges = edges_of(sheet, SCHEDULE)
    titles = (
        (_("Tag"), False),
        (_("Circuit, from – to"), False),
        (_("Design, A"), True),
        (_("m"), True),
        (_("Conductor, return"), False),
        (_("Drop, V; in all"), True),
        (_("At load, V"), True),
        (_("Carries, A"), True),
        (_("Device and rating"), False),
        (_("Breaks; fault, kA"), True),
        (_("Clears, s"), True),
        (_("By"), False),
    )
    rows = [Row(cells(sheet, edges, _row(row, sheet)), pad=0.7 * mm) for row in schedule]
    return Grid(keep_first(rows), [head(sheet, edges, titles)], sheet.page.height)


def _row(row: ScheduleRow, sheet: Sheet) -> list[list[Flowable]]:
    under = [sheet.note(", ".join(each for each in (row.insulation, row.back) if each))]
    return [
        [sheet.words(row.tag, face=fonts.SEMIBOLD)],
        [sheet.words(row.name), sheet.note(row.way)],
        _over(row.current, row.peak, sheet),
        [sheet.words(row.length, right=True)],
        [sheet.words(row.conductor), *under],
        _over(row.drop, row.drop_total, sheet),
        [sheet.words(row.volts, right=True)],
        _over(row.ampacity, row.left, sheet),
        [part for device in row.devices for part in _device(device, sheet)] or [sheet.words("–")],
        [part for device in row.devices for part in _broken(device, sheet)] or [sheet.words("–", right=True)],
        [sheet.words(row.clears, right=True)],
        [
            *([sheet.note(row.decided)] if row.decided else []),
            *(sheet.words(mark, face=fonts.SEMIBOLD, note=True) for mark in row.marks),
        ],
    ]


def _over(text: str, under: str, sheet: Sheet) -> list[Flowable]:
    return [sheet.words(text, right=True), *([sheet.note(under, right=True)] if under else [])]


def _device(device: DeviceWords, sheet: Sheet) -> list[Flowable]:
    """As many lines as what it breaks, so that the two stand beside each other."""
    edges = edges_of(sheet, SCHEDULE)
    room = (edges[9] - edges[8] - 3.5) * mm - 0.5
    words = [sheet.words(shortened(device.words, room, fonts.REGULAR, sheet.sizes.text))]
    under = shortened(device.under, room, fonts.REGULAR, sheet.sizes.note) or "\u00a0"
    if under.endswith("…"):  # the shape is what is looked for; its standard is on the bill
        under = shortened(without_standards(device.under), room, fonts.REGULAR, sheet.sizes.note)
    return [*words, sheet.note(under)] if _is_double(device) else words


def _broken(device: DeviceWords, sheet: Sheet) -> list[Flowable]:
    breaks = [sheet.words(device.breaks, right=True)]
    return [*breaks, sheet.note(device.fault, right=True)] if _is_double(device) else breaks


def _is_double(device: DeviceWords) -> bool:
    """Whether there is anything for the second line of a device."""
    return bool(device.under) or device.fault != "–"


HAND = (0, 10, 80, 160, 261)


def hand_grid(notes: Sequence[HandNote], sheet: Sheet) -> Grid:
    """What a person settled and why."""
    edges = edges_of(sheet, HAND)
    titles = ((_("Note"), False), (_("Circuit"), False), (_("Settled by hand"), False), (_("Because"), False))
    rows = [
        Row(
            cells(
                sheet,
                edges,
                [
                    [sheet.words(note.no, face=fonts.SEMIBOLD)],
                    [sheet.words(note.circuit)],
                    [sheet.words(note.words)],
                    [sheet.words(note.reason, ink=SECOND)],
                ],
            )
        )
        for note in notes
    ]
    return Grid(keep_first(rows), [head(sheet, edges, titles)], sheet.page.height)
