"""The handover sheet of a fault job on paper; and which of the two handover sheets a content is printed as."""

from __future__ import annotations

from django.utils.translation import gettext as _
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, PageBreak, Paragraph

from quoting.documents import fonts
from quoting.documents.content import CheckGroup, HandoverContent, MendedContent
from quoting.documents.grid import HEAD, Block, Grid, Row
from quoting.documents.handover import DangerRule, fitted_rows, handover_pdf, notice_rows
from quoting.documents.layout import CALM, PORTRAIT, Built, Sheet, build, style
from quoting.documents.text import DANGER, SECOND, markup
from quoting.sizing.appraisal import Appraisal


def owner_pdf(content: HandoverContent | MendedContent, appraisal: Appraisal | None, form: str) -> Built:
    """Print a handover sheet, of a system or of a fault that was mended."""
    if isinstance(content, MendedContent):
        return build(content.frame, lambda sheet: _story(content, sheet), Sheet(PORTRAIT, CALM))
    return handover_pdf(content, appraisal, form)


def _story(content: MendedContent, sheet: Sheet) -> list[Flowable]:
    story = sheet.opening(content.frame)
    if content.dangers:
        story.append(sheet.titled(_("Still dangerous"), notice_rows(content.dangers, sheet)))
    story.append(sheet.titled(_("What was found, and what was done"), notice_rows(content.defects, sheet)))
    if content.found:
        story.append(sheet.titled(_("Parts that were there"), sheet.ruled(content.found)))
    if content.fitted:
        story.append(sheet.titled(_("What was fitted"), fitted_rows(content.fitted, sheet)))
    if content.readings:
        story.append(sheet.titled(_("What was measured"), _readings(content.readings, sheet)))
    story.append(sheet.titled(_("What to watch"), sheet.ruled(content.watch)))
    bullets: list[Flowable] = [sheet.bullet(text, 0) for text in content.cautions]
    story += [sheet.titled(_("Cautions"), bullets[0]), *bullets[1:]]
    story.append(PageBreak())
    title = Paragraph(markup(_("Emergency")), style(26, 30, fonts.SEMIBOLD, DANGER))
    words = Paragraph(markup(content.emergency_words), style(15, 19, fonts.REGULAR))
    return [*story, DangerRule(), title, Block(words, 2 * mm), Block(sheet.ruled(content.emergency), 6 * mm)]


def _readings(groups: tuple[CheckGroup, ...], sheet: Sheet) -> Grid:
    head = Row(
        (
            sheet.over(1, 7, sheet.note(_("Reading"))),
            sheet.over(8, 2, sheet.note(_("Asked"), right=True)),
            sheet.over(10, 2, sheet.note(_("Measured"), right=True)),
            sheet.over(12, 1, sheet.note(_("Unit"))),
        ),
        below=HEAD,
    )
    rows = [
        Row(
            (
                sheet.over(1, 7, sheet.words(check.words)),
                sheet.over(8, 2, sheet.words(check.expected, ink=SECOND, right=True)),
                sheet.over(10, 2, sheet.words(check.measured or "–", face=fonts.SEMIBOLD, right=True)),
                sheet.over(12, 1, sheet.words(check.unit, ink=SECOND)),
            ),
            pad=1 * mm,
        )
        for group in groups
        for check in group.checks
    ]
    return Grid(rows, [head], sheet.page.height)
