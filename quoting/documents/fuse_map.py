"""The fuse map on paper: large enough to be read at night with a torch, on A4 or A5."""

from __future__ import annotations

from dataclasses import replace

from django.utils.translation import gettext as _
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, Paragraph
from reportlab.platypus.flowables import KeepTogether

from quoting.documents import fonts
from quoting.documents.content_wiring import FuseMapContent, FusePlace, FuseRow
from quoting.documents.forms import page_of
from quoting.documents.grid import GROUP, HEAD, Block, Cell, Grid, Row
from quoting.documents.handover import DangerRule
from quoting.documents.layout import PORTRAIT, PORTRAIT_A5, Built, Page, Sheet, Type, build, headed, style
from quoting.documents.text import ACCENT, DANGER, SECOND, markup, strong
from quoting.sizing.appraisal import Appraisal

SIZES = {
    "a4": (PORTRAIT, Type(11, 14.2, 24, 28, 14, 17, 8.6, 11, 6 * mm)),
    "a5": (PORTRAIT_A5, Type(9, 11.4, 17, 20, 11, 13.5, 7, 8.6, 3.5 * mm)),
}
COLUMNS = {"a4": (0, 17, 37, 106, 174), "a5": (0, 13, 28, 70, 112)}
"""Left edges of tag, rating, what it feeds and what it is, and the right end. [mm]"""


def fuse_map_pdf(content: FuseMapContent, appraisal: Appraisal, form: str) -> Built:
    """Print the fuse map."""
    code = page_of("fuse_map", form)
    page: Page
    page, sizes = SIZES[code]
    if not page.width > PORTRAIT_A5.width:  # the telephone alone, and whole: at night it is what counts
        content = replace(content, frame=replace(content.frame, reach=content.frame.reach[:1]))
    return build(content.frame, lambda sheet: _story(content, sheet, COLUMNS[code]), Sheet(page, sizes))


def _story(content: FuseMapContent, sheet: Sheet, columns: tuple[float, ...]) -> list[Flowable]:
    story = sheet.opening(content.frame)
    story += [Block(DangerRule(), sheet.sizes.gap * 0.6), *_kill(content, sheet)]
    story.append(Block(sheet.words(content.warning, face=fonts.SEMIBOLD), sheet.sizes.gap * 0.8))
    if content.places:
        story.append(Block(_places(content.places, sheet, columns), sheet.sizes.gap * 0.8))
    else:
        story.append(Block(sheet.words(_("No circuit is designed yet.")), sheet.sizes.gap))
    if content.spares:
        spares = sheet.titled(_("Fuses to carry, one of each at least"), _spares(content, sheet, columns))
        story.append(KeepTogether([spares]))
    story.append(Block(sheet.bullet(content.notes[0], 0), sheet.sizes.gap))
    story += [sheet.bullet(note, 0) for note in content.notes[1:]]
    return [*story, *_notices(content, sheet)]


def _notices(content: FuseMapContent, sheet: Sheet) -> list[Flowable]:
    """Dangers in full; of the rest what it is about, for at night a fuse is looked for and nothing else."""
    grave = [each for each in content.notices if each.level == "danger"]
    rest = [each.title for each in content.notices if each.level != "danger"]
    story = [Block(sheet.note(f"{strong(headed(each))} {each.sentence}"), 1 * mm) for each in grave]
    if rest:
        words = _("To know about this system, told in full on the other papers of the job: %s.") % "; ".join(rest)
        story.append(Block(sheet.note(words), 1 * mm))
    return story


def _kill(content: FuseMapContent, sheet: Sheet) -> list[Flowable]:
    size = sheet.sizes.section
    title = Paragraph(
        markup(_("Emergency: turn everything off")),
        style(size, sheet.sizes.section_leading, fonts.SEMIBOLD, DANGER),
    )
    steps = [sheet.words(f"{number}. {step}") for number, step in enumerate(content.kill, 1)]
    return [title, *steps, sheet.words(content.call, face=fonts.SEMIBOLD)]


def _places(places: tuple[FusePlace, ...], sheet: Sheet, columns: tuple[float, ...]) -> Grid:
    rows: list[Row] = []
    for place in places:
        heading = sheet.words(place.name, face=fonts.SEMIBOLD, ink=ACCENT)
        rows.append(
            Row(
                (sheet.cell(0, sheet.page.width, heading),),
                below=GROUP,
                pad=0.6 * mm,
                space=2 * mm * bool(rows),
                keep=True,
            )
        )
        rows += [
            Row(
                _cells(device, sheet, columns),
                pad=0.5 * mm,
                keep=number == 0 and len(place.devices) > 1,
                continued=None,
            )
            for number, device in enumerate(place.devices)
        ]
    titles = (_("Tag"), _("Rating"), _("Feeds"), _("What it is"))
    head = tuple(
        sheet.cell(columns[i] * mm, (columns[i + 1] - columns[i] - 2) * mm, sheet.note(title))
        for i, title in enumerate(titles)
    )
    return Grid(rows, [Row(head, below=HEAD)], sheet.page.height)


def _cells(device: FuseRow, sheet: Sheet, columns: tuple[float, ...]) -> tuple[Cell, ...]:
    texts = (
        sheet.words(device.tag, face=fonts.SEMIBOLD),
        sheet.words(device.rating, face=fonts.SEMIBOLD),
        sheet.words(device.feeds),
        sheet.note(device.what),
    )
    return tuple(
        sheet.cell(columns[i] * mm, (columns[i + 1] - columns[i] - 2) * mm, text) for i, text in enumerate(texts)
    )


def _spares(content: FuseMapContent, sheet: Sheet, columns: tuple[float, ...]) -> Grid:
    left, width = columns[2] * mm, sheet.page.width
    rows = [
        Row(
            (
                sheet.cell(0, left - 2 * mm, sheet.words(rating, face=fonts.SEMIBOLD)),
                sheet.cell(left, width * 0.53, sheet.words(shape)),
                sheet.cell(left + width * 0.54, width * 0.46 - left, sheet.words(tags, ink=SECOND)),
            ),
            pad=0.4 * mm,
        )
        for rating, shape, tags in content.spares
    ]
    return Grid(rows, page_height=sheet.page.height)
