"""The handover sheet on paper: larger type, for the owner, the emergency alone on its last page."""

from __future__ import annotations

from django.utils.translation import gettext as _
from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, PageBreak, Paragraph
from reportlab.platypus.flowables import KeepTogether

from quoting.documents import fonts
from quoting.documents.content import FittedRow, HandoverContent, Notice
from quoting.documents.drawn import Drawn, complete
from quoting.documents.grid import GROUP, HEAD, Block, Grid, Row, Stacked
from quoting.documents.layout import CALM, PORTRAIT, Built, Sheet, build, style
from quoting.documents.text import ACCENT, DANGER, SECOND, held, markup
from quoting.sizing.appraisal import Appraisal
from quoting.words import drawing_words


def handover_pdf(content: HandoverContent, appraisal: Appraisal | None, form: str) -> Built:
    """Print a handover sheet."""
    bars, shedding = _drawings(content)
    return build(content.frame, lambda sheet: _story(content, bars, shedding, sheet), Sheet(PORTRAIT, CALM))


def _drawings(content: HandoverContent) -> tuple[list[Drawn], list[Drawn]]:
    from quoting.drawings import charts

    fonts.register()
    bars = [
        charts.lasting_bars(
            [charts.Lasts(held(b.name), b.condition, b.worn_h, b.new_h) for b in chart.bars], words=drawing_words
        )
        for chart in content.charts
    ]
    steps = [charts.Threshold(step.ratio, step.names) for step in content.shedding]
    return complete(bars), complete([charts.shedding_bar(steps, words=drawing_words)] if steps else [])


def _story(content: HandoverContent, bars: list[Drawn], shedding: list[Drawn], sheet: Sheet) -> list[Flowable]:
    story = sheet.opening(content.frame)
    story += [Block(sheet.words(text), 6 * mm) for text in content.opening]
    notices: list[Flowable] = []
    if content.notices:
        notices = [sheet.titled(_("To know about this system"), notice_rows(content.notices, sheet))]
    grave = any(each.level == "danger" for each in content.notices)
    story += notices if grave else []
    if content.defects:
        story.append(sheet.titled(_("What was found, and what was done"), notice_rows(content.defects, sheet)))
    story.append(sheet.titled(_("What is fitted"), fitted_rows(content.fitted, sheet)))
    if content.found:
        story.append(sheet.titled(_("Parts that were there"), sheet.ruled(content.found)))
    story += _lasting(content, bars, sheet)
    if content.sources:
        story.append(sheet.titled(_("How it charges, and how to see that it does"), _sources(content, sheet)))
        story.append(Block(sheet.note(content.sources_note), 1.2 * mm))
    for drawn in shedding:
        words = Stacked(sheet.words(content.shedding_words), drawn, 2 * mm)
        story.append(sheet.titled(_("What goes off first"), words))
    if content.off_and_on:
        story.append(Block(sheet.ruled(content.off_and_on), 3 * mm))
    if content.living:
        story.append(sheet.titled(_("Weather and road"), sheet.ruled(content.living)))
    story.append(sheet.titled(_("When parked up"), sheet.ruled(content.parked)))
    story.append(sheet.titled(_("When something is wrong"), sheet.ruled(content.trouble)))
    story.append(sheet.titled(_("Care"), sheet.ruled((*content.care, *content.papers))))
    story += [] if grave else notices
    story += _cautions(content, sheet)
    if content.spares:
        story.append(sheet.titled(_("Fuses to carry"), _spares(content, sheet)))
    if content.settings:
        story.append(sheet.titled(_("Settings entered"), _settings(content, sheet)))
    story.append(PageBreak())
    story += _emergency(content, sheet)
    return story


def notice_rows(notices: tuple[Notice, ...], sheet: Sheet) -> Grid:
    """How grave, what, and what was done, in rows as an owner reads them."""
    rows = [
        Row(
            (
                sheet.over(1, 3, sheet.words(each.grave, face=fonts.SEMIBOLD, ink=_ink(each))),
                sheet.over(
                    4,
                    9,
                    *([sheet.words(each.title, face=fonts.SEMIBOLD)] if each.title else []),
                    sheet.words(each.sentence),
                ),
            ),
            pad=1.4 * mm,
        )
        for each in notices
    ]
    return Grid(rows, page_height=sheet.page.height)


def _ink(notice: Notice) -> str:
    return DANGER if notice.level == "danger" else ACCENT


def fitted_rows(fitted: tuple[FittedRow, ...], sheet: Sheet) -> Grid:
    """What is fitted, with part and serial numbers."""
    head = Row(
        (
            sheet.over(1, 5, sheet.note(_("What"))),
            sheet.over(6, 3, sheet.note(_("Part number"))),
            sheet.over(9, 4, sheet.note(_("Serial number"))),
        ),
        below=HEAD,
    )
    rows = [
        Row(
            (
                sheet.over(1, 5, sheet.words(row.name)),
                sheet.over(6, 3, sheet.words(row.part_number)),
                sheet.over(9, 4, sheet.words(row.serial or "–")),
            ),
            pad=1 * mm,
            keep=len(fitted) > 1 and number in (0, len(fitted) - 2),
        )
        for number, row in enumerate(fitted)
    ]
    return Grid(rows, [head], sheet.page.height)


def _lasting(content: HandoverContent, drawn: list[Drawn], sheet: Sheet) -> list[Flowable]:
    story: list[Flowable] = []
    for number, (chart, bars) in enumerate(zip(content.charts, drawn, strict=True)):
        if number == 0:
            stacked: Flowable = Stacked(sheet.words(content.lasting_words), bars, 1 * mm)
            story.append(sheet.titled(_("What runs how long"), stacked))
        else:
            title = sheet.words(chart.title, face=fonts.SEMIBOLD)
            block = Stacked(title, bars, 0)
            block.spaceBefore = 7 * mm
            story.append(block)
    story.append(KeepTogether([Block(sheet.ruled(content.limits), 8 * mm)]))
    return story


def _sources(content: HandoverContent, sheet: Sheet) -> Grid:
    page = sheet.page
    head = Row(
        (
            sheet.over(1, 2, sheet.note(_("Source"))),
            sheet.over(3, 2, sheet.note(_("To full"), right=True)),
            sheet.over(5, 2, sheet.note(_("Adds up to"), right=True)),
            sheet.over(7, 6, sheet.note(_("You should see"))),
        ),
        below=HEAD,
    )
    rows = []
    for row in content.sources:
        full = f"{row.full} {row.full_unit}".strip()
        rows.append(
            Row(
                (
                    sheet.over(1, 2, sheet.heading(row.source)),
                    sheet.over(3, 2, sheet.words(_with_unit(full, row.full_unit), right=True)),
                    sheet.over(5, 2, sheet.words(_with_unit(f"{row.adds} {row.adds_unit}", row.adds_unit), right=True)),
                    sheet.cell(page.x(7), page.span(6), sheet.words(row.see)),
                ),
                pad=1.4 * mm,
            )
        )
    return Grid(rows, [head], page.height)


def _with_unit(text: str, unit: str) -> str:
    from quoting.documents.text import quiet

    if not unit:
        return text
    return f"{text.removesuffix(unit).rstrip()}\u00a0{quiet(unit)}"


def _spares(content: HandoverContent, sheet: Sheet) -> Grid:
    head = Row(
        (
            sheet.over(1, 3, sheet.note(_("Rating"))),
            sheet.over(4, 6, sheet.note(_("Kind"))),
            sheet.over(10, 3, sheet.note(_("Where"))),
        ),
        below=HEAD,
    )
    rows = [
        Row(
            (
                sheet.over(1, 3, sheet.words(rating, face=fonts.SEMIBOLD)),
                sheet.over(4, 6, sheet.words(kind)),
                sheet.over(10, 3, sheet.words(where)),
            ),
            pad=1 * mm,
            keep=number < len(content.spares) - 1
            and (len(content.spares) <= 10 or number in (0, len(content.spares) - 2)),
        )
        for number, (rating, kind, where) in enumerate(content.spares)
    ]
    return Grid(rows, [head], sheet.page.height)


def _settings(content: HandoverContent, sheet: Sheet) -> Grid:
    page = sheet.page
    entered_at = (page.x(9) - 4 * mm, page.span(3) - 6 * mm)
    unit_at = (page.x(12) - 8 * mm, page.span(1) + 8 * mm)
    head = Row(
        (
            sheet.over(1, 4, sheet.note(_("Component"))),
            sheet.over(5, 4, sheet.note(_("Setting"))),
            sheet.cell(*entered_at, sheet.note(_("Entered"), right=True)),
            sheet.cell(*unit_at, sheet.note(_("Unit"))),
        ),
        below=HEAD,
    )
    rows, last = [], ""
    for number, row in enumerate(content.settings):
        first, last = row.component != last, row.component
        cells = [
            sheet.over(5, 4, sheet.words(row.setting)),
            sheet.cell(*entered_at, sheet.words(row.entered or row.asked, face=fonts.SEMIBOLD, right=True)),
            sheet.cell(*unit_at, sheet.words(row.unit, ink=SECOND)),
        ]
        if first:
            cells.insert(0, sheet.over(1, 4, sheet.words(row.component)))
        rows.append(
            Row(
                tuple(cells),
                above=GROUP if first and number else None,
                pad=0.8 * mm,
                below_left=sheet.page.x(5),
                keep=first and number + 1 < len(content.settings),
                continued=None
                if first
                else sheet.over(1, 4, sheet.words(_("%s, continued") % row.component, ink=SECOND)),
            )
        )
    return Grid(rows, [head], sheet.page.height)


def _cautions(content: HandoverContent, sheet: Sheet) -> list[Flowable]:
    bullets: list[Flowable] = [sheet.bullet(text, 0) for text in content.cautions]
    return [sheet.titled(_("Cautions"), bullets[0]), *bullets[1:]]


class DangerRule(Flowable):  # type: ignore[misc]
    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        self.width, self.height = available_width, 3 * mm
        return self.width, self.height

    def draw(self) -> None:
        self.canv.setStrokeColor(HexColor(DANGER))
        self.canv.setLineWidth(2.2)
        self.canv.line(0, self.height, self.width, self.height)


def _emergency(content: HandoverContent, sheet: Sheet) -> list[Flowable]:
    """Alone on the last page, so that it is found by turning the sheet over."""
    title = Paragraph(markup(_("Emergency")), style(26, 30, fonts.SEMIBOLD, DANGER))
    words = Paragraph(markup(content.emergency_words), style(15, 19, fonts.REGULAR))
    return [DangerRule(), title, Block(words, 2 * mm), Block(sheet.ruled(content.emergency), 6 * mm)]
