"""The quote on paper."""

from __future__ import annotations

from django.utils.translation import gettext as _
from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, Paragraph
from reportlab.platypus.flowables import KeepTogether

from quoting.documents import fonts
from quoting.documents.content import PriceGroup, QuoteContent, Sum
from quoting.documents.drawn import Beside, Drawn, complete
from quoting.documents.grid import GROUP, HAIR, HEAD, Block, Grid, Row
from quoting.documents.layout import PORTRAIT, WORKING, Built, Sheet, build, style
from quoting.documents.quote_offers import side_by_side, ticked
from quoting.documents.text import ACCENT, INK, SECOND, markup
from quoting.sizing.appraisal import Appraisal
from quoting.words import drawing_words

KEPT_LINES = 8
"""A group with more lines may part between pages. """


def quote_pdf(content: QuoteContent, appraisal: Appraisal | None, form: str) -> Built:
    """Print a quote."""
    sheet = Sheet(PORTRAIT, WORKING)
    drawn = _drawn(content, (sheet.page.width - sheet.hang) / mm)
    return build(content.frame, lambda sheet: _story(content, drawn, sheet), sheet)


def _drawn(content: QuoteContent, width_mm: float) -> list[Drawn]:
    from quoting.drawings import spread

    chart = content.spread
    if chart is None:
        return []
    fonts.register()
    curves = spread.Spread(chart.low, chart.median, chart.high, chart.step_h)
    stretches = [spread.Stretch(each.name, each.points) for each in chart.stops]
    return complete(
        [spread.charge_spread(curves, stretches, levels=chart.levels, width_mm=width_mm, words=drawing_words)]
    )


def _story(content: QuoteContent, drawn: list[Drawn], sheet: Sheet) -> list[Flowable]:
    story = sheet.opening(content.frame)
    if content.found:
        story += sheet.hung(_("What we found"), [sheet.words(_in_words(content), indent=sheet.hang)])
        story += sheet.named(content.found, 2 * mm)
    story += sheet.notices(_("What is wrong"), content.defects)
    if not content.is_fault:
        story += sheet.hung(_("What we assumed"), [sheet.words(" ".join(content.assumed), indent=sheet.hang)])
        story.append(Block(_uses(content, sheet), 3 * mm))
    if content.compared is not None:
        story.append(sheet.titled(_("The offers side by side"), side_by_side(content.compared, sheet)))
        follows = _("From here on it is the %s offer, up to the prices of the others.") % content.leading
        story += sheet.hung(content.leading, [sheet.words(follows, indent=sheet.hang)])
    story += sheet.bullets(_("What it will run"), content.runs)
    story += sheet.bullets(_("What it will not"), content.runs_not)
    story += _expected(content, drawn, sheet)
    story += sheet.notices(_("Findings"), content.notices)
    if content.note:
        story += sheet.hung(
            _("Note"), [sheet.words(text, indent=sheet.hang) for text in content.note.split("\n") if text.strip()]
        )
    story.append(CondPageBreak(70 * mm))
    story.append(sheet.titled(content.lines_title, _lines(content.groups, content.currency, sheet)))
    story.append(_sums(content.sums, sheet))
    for other in content.others:
        story.append(CondPageBreak(70 * mm))
        story.append(sheet.titled(other.title, _lines(other.groups, content.currency, sheet)))
        story.append(_sums(other.sums, sheet))
    story += sheet.named(content.conditions, 4 * mm)
    story += _acceptance(content, sheet)
    return story


def _expected(content: QuoteContent, drawn: list[Drawn], sheet: Sheet) -> list[Flowable]:
    """What many weathers make of the trip, with its curve below."""
    if not content.expected:
        return []
    story = sheet.bullets(_("What to expect"), content.expected)
    if content.spread is not None and drawn:
        caption = sheet.note(content.spread.words, indent=sheet.hang)
        story.append(KeepTogether([Block(Beside(drawn[0], sheet.hang), 2.5 * mm), Block(caption, 0.5 * mm)]))
    return story


def _in_words(content: QuoteContent) -> str:
    return _("Parts that are in the vehicle now, and what becomes of each.")


def _uses(content: QuoteContent, sheet: Sheet) -> Grid:
    left, page = sheet.hang, sheet.page
    energy_at = (page.x(12) - 4 * mm, page.span(1) + 4 * mm)
    use_at = (page.x(8) - 4 * mm, page.span(4) + 2 * mm)
    head = Row(
        (
            sheet.over(4, 4, sheet.note(_("Appliance"))),
            sheet.cell(*use_at, sheet.note(_("Use in a day"))),
            sheet.cell(*energy_at, sheet.note(_("Wh a day"), right=True)),
        ),
        below=HEAD,
        left=left,
    )
    energies = sheet.figures([use.energy for use in content.uses])
    rows = [
        Row(
            (
                sheet.cell(left, page.span(4) - 6 * mm, sheet.words(use.name)),
                sheet.cell(*use_at, sheet.words(use.use)),
                sheet.cell(*energy_at, energy),
            ),
            left=left,
            keep=number >= len(content.uses) - 2 or number == 0,
        )
        for number, (use, energy) in enumerate(zip(content.uses, energies, strict=True))
    ]
    total = content.uses_total
    rows.append(
        Row(
            (
                sheet.over(4, 4, sheet.words(total.name, face=fonts.SEMIBOLD)),
                sheet.cell(*use_at, sheet.words(total.use, ink=SECOND)),
                sheet.cell(*energy_at, sheet.words(total.energy, face=fonts.SEMIBOLD, right=True)),
            ),
            above=GROUP,
            below=GROUP,
            left=left,
        )
    )
    return Grid(rows, [head], sheet.page.height)


def _lines(groups: tuple[PriceGroup, ...], currency: str, sheet: Sheet) -> Grid:
    """Lines by group: quantity with its unit beside, each in the second ink, amount in ink."""
    page = sheet.page
    amount_x, amount_w = page.x(12) - 6 * mm, page.span(1) + 6 * mm
    each_x, each_w = page.x(11) - 8 * mm, page.span(1) + 4 * mm
    unit_x, unit_w = page.x(10) + 1.5 * mm, 9 * mm
    quantity_x, quantity_w = page.x(9), page.span(1) + 4 * mm
    name_w = quantity_x - page.x(4)
    head = Row(
        (
            sheet.over(1, 3, sheet.note(_("Part of the work"))),
            sheet.cell(page.x(4), name_w, sheet.note(_("What it is"))),
            sheet.cell(quantity_x, quantity_w, sheet.note(_("Quantity"), right=True)),
            sheet.cell(each_x, each_w, sheet.note(_("Each"), right=True)),
            sheet.cell(amount_x, amount_w, sheet.note(_("Amount, %s") % currency, right=True)),
        ),
        below=HEAD,
    )
    rows: list[Row] = []
    for index, group in enumerate(groups):
        rows += _group(
            group, sheet, (name_w, quantity_x, quantity_w, unit_x, unit_w, each_x, each_w, amount_x, amount_w), index
        )
    return Grid(rows, [head], page.height)


def _group(group: PriceGroup, sheet: Sheet, at: tuple[float, ...], index: int) -> list[Row]:
    name_w, quantity_x, quantity_w, unit_x, unit_w, each_x, each_w, amount_x, amount_w = at
    page, rows = sheet.page, []
    whole = len(group.lines) <= KEPT_LINES
    counts = sheet.figures([line.quantity for line in group.lines])
    for number, (line, count) in enumerate(zip(group.lines, counts, strict=True)):
        last = number == len(group.lines) - 1
        cells = [
            sheet.cell(page.x(4), name_w, sheet.words(line.name)),
            sheet.cell(quantity_x, quantity_w, count),
            sheet.cell(unit_x, unit_w, sheet.words(line.unit, ink=SECOND)),
            sheet.cell(each_x, each_w, sheet.words(line.each, ink=SECOND, right=True)),
            sheet.cell(amount_x, amount_w, sheet.words(line.amount, right=True)),
        ]
        if number == 0:
            cells.insert(0, sheet.cell(0, page.x(4) - 0.5 * mm, sheet.words(group.name, face=fonts.SEMIBOLD)))
        continued = sheet.over(1, 3, sheet.words(_("%s, continued") % group.name, ink=SECOND))
        rows.append(
            Row(
                tuple(cells),
                above=GROUP if number == 0 and index else None,
                below=(0.6, INK) if last else HAIR,
                left=0.0,
                below_left=amount_x if last else page.x(4),
                keep=whole or number == 0 or number >= len(group.lines) - 2,
                continued=None if number == 0 else continued,
            )
        )
    rows.append(
        Row(
            (sheet.cell(amount_x, amount_w, sheet.words(group.total, face=fonts.SEMIBOLD, right=True)),),
            below=None,
        )
    )
    return rows


def _sums(sums: tuple[Sum, ...], sheet: Sheet) -> Grid:
    """The sums at the right, kept together, the sum to pay largest."""
    page = sheet.page
    left = page.x(8)
    rows = []
    for number, each in enumerate(sums):
        face = fonts.SEMIBOLD if each.strong else fonts.REGULAR
        size = style(11, 17, face) if each.due else style(sheet.sizes.text, sheet.sizes.leading, face)
        right = (
            style(11, 17, face, right=True)
            if each.due
            else style(sheet.sizes.text, sheet.sizes.leading, face, right=True)
        )
        rows.append(
            Row(
                (
                    sheet.over(8, 3, Paragraph(markup(each.words), size)),
                    sheet.over(11, 2, Paragraph(markup(each.amount), right)),
                ),
                above=GROUP if number == 0 else None,
                below=(1.1, ACCENT) if each.due else GROUP if _due_next(sums, number) else HAIR,
                left=left,
                pad=0.9 * mm,
                keep=number < len(sums) - 1,
            )
        )
    grid = Grid(rows, page_height=page.height)
    grid.spaceBefore = 1 * mm
    return grid


def _due_next(sums: tuple[Sum, ...], number: int) -> bool:
    return number + 1 < len(sums) and sums[number + 1].due


class _AccentRule(Flowable):  # type: ignore[misc]
    """The rule above acceptance."""

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        self.width, self.height = available_width, 4 * mm
        return self.width, self.height

    def draw(self) -> None:
        self.canv.setStrokeColor(HexColor(ACCENT))
        self.canv.setLineWidth(1.1)
        self.canv.line(0, self.height, self.width, self.height)


def _acceptance(content: QuoteContent, sheet: Sheet) -> list[Flowable]:
    """Never parted: what is agreed to, and where it is signed."""
    rule = _AccentRule()
    rule.spaceBefore = 8 * mm
    words = sheet.hung(_("Acceptance"), [sheet.words(content.acceptance, indent=sheet.hang)], 0)
    ticks = [ticked(content.choices, sheet)] if content.choices else []
    return [KeepTogether([rule, *words, *ticks, sheet.signing(content.fields)])]
