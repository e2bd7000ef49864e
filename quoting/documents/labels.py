"""Labels on their sheets, to a tenth of a millimetre, and the page of words that goes with them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from django.utils.translation import gettext as _
from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from quoting.documents import fonts
from quoting.documents.build_labels import RULER_MM
from quoting.documents.content import Frame
from quoting.documents.content_wiring import Label, LabelsContent
from quoting.documents.forms import Labels, form_words, labels_of
from quoting.documents.grid import Block
from quoting.documents.label_text import laid
from quoting.documents.layout import PORTRAIT, PORTRAIT_LETTER, WORKING, Built, Sheet, build
from quoting.documents.schedule import hand_grid
from quoting.documents.text import HAIRLINE, INK, SECOND, shortened
from quoting.sizing.appraisal import Appraisal

WRAP_MM = 10.0
"""Left empty in the middle of a flag, for the cable; on narrow labels less. [mm]"""
LINE_PT = 7.0
"""Over and under the labels, whose they are. [pt]"""


def labels_pdf(content: LabelsContent, appraisal: Appraisal, form: str) -> Built:
    """Print labels from the first free one on, then how to print them."""
    how = labels_of(form)
    page = PORTRAIT if how.sheet.page == "A4" else PORTRAIT_LETTER
    sheets = _sheets(content, how)
    return build(content.frame, lambda each: _words(content, how, len(sheets), each), Sheet(page, WORKING), sheets)


def _sheets(content: LabelsContent, how: Labels) -> list[Callable[[Canvas, str], None]]:
    """What draws each sheet."""
    first, count = how.first - 1, how.sheet.count
    numbered = list(enumerate(content.labels, first))
    pages = -(-(first + len(content.labels)) // count) if content.labels else 0
    return [_sheet(content.frame, how, [e for e in numbered if e[0] // count == page]) for page in range(pages)]


def _sheet(frame: Frame, how: Labels, numbered: Sequence[tuple[int, Label]]) -> Callable[[Canvas, str], None]:
    def draw(canvas: Canvas, counted: str) -> None:
        _whose(canvas, frame, how, counted)
        for number, label in numbered:
            _label(canvas, how, number % how.sheet.count + 1, label)

    return draw


def _whose(canvas: Canvas, frame: Frame, how: Labels, counted: str) -> None:
    """One line over the labels, in the margin."""
    page_w, page_h = (side * mm for side in how.sheet.page_mm)
    left, y = 10 * mm, page_h - min(7.0, how.sheet.top_mm - 3.5) * mm
    room = page_w - 2 * left - fonts.width(counted, size=LINE_PT) - 6 * mm
    said = f"{frame.workshop}; {frame.mark}; {frame.dated}; {frame.checksum}"
    canvas.setFillColor(HexColor(SECOND))
    canvas.setFont(fonts.REGULAR, LINE_PT)
    canvas.drawString(left, y, shortened(said, room, fonts.REGULAR, LINE_PT))
    canvas.drawRightString(page_w - left, y, counted)


def _label(canvas: Canvas, how: Labels, number: int, label: Label) -> None:
    sheet = how.sheet
    x_mm, y_mm = sheet.place(number)
    width, height = sheet.width_mm * mm, sheet.height_mm * mm
    left, bottom = x_mm * mm, (sheet.page_mm[1] - y_mm) * mm - height
    if not how.flag:
        _texts(canvas, label, left, bottom, width, height)
        return
    label = replace(label, lines=label.lines[:2])
    wrap = min(WRAP_MM, sheet.width_mm / 5) * mm
    half = (width - wrap) / 2
    _texts(canvas, label, left, bottom, half, height)
    _texts(canvas, label, left + half + wrap, bottom, half, height)
    canvas.setStrokeColor(HexColor(HAIRLINE))
    canvas.setLineWidth(0.35)
    for end in (bottom + 0.8 * mm, bottom + height - 2.8 * mm):  # where it is folded round the cable
        canvas.line(left + width / 2, end, left + width / 2, end + 2 * mm)


def _texts(canvas: Canvas, label: Label, left: float, bottom: float, width: float, height: float) -> None:
    canvas.setFillColor(HexColor(INK))
    for text in laid(label, width, height):
        canvas.setFont(text.face, text.size)
        canvas.drawString(left + text.x, bottom + text.y, text.text)


class Ruler(Flowable):  # type: ignore[misc]
    """A line of a known length with its length over it."""

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        self.width, self.height = available_width, 9 * mm
        return self.width, self.height

    def draw(self) -> None:
        canvas = self.canv
        canvas.setStrokeColor(HexColor(INK))
        canvas.setLineWidth(0.6)
        canvas.line(0, 2 * mm, RULER_MM * mm, 2 * mm)
        for at in range(0, RULER_MM + 1, 10):
            canvas.line(at * mm, 2 * mm, at * mm, (4 if at % 50 == 0 else 3) * mm)
        canvas.setFillColor(HexColor(SECOND))
        canvas.setFont(fonts.REGULAR, 7)
        canvas.drawString(RULER_MM * mm + 2 * mm, 2 * mm, f"{RULER_MM}\u00a0mm")


def _words(content: LabelsContent, how: Labels, sheets: int, sheet: Sheet) -> list[Flowable]:
    story: list[Flowable] = []
    if content.labels:
        said = _("%(labels)d labels on %(sheets)d sheets: %(form)s.") % {
            "labels": len(content.labels),
            "sheets": sheets,
            "form": form_words(how.code),
        }
    else:
        said = _("No circuit is designed yet, so there is nothing to label.")
    story += [sheet.section(_("How to print the labels")), Block(sheet.words(said), 2 * mm)]
    story += [sheet.bullet(step, 0) for step in content.steps]
    if how.flag:
        fold = _("A flag: lay its empty middle round the cable, fold it at the marks, press both halves together.")
        story.append(sheet.bullet(fold, 0))
    story.append(Block(Ruler(), 3 * mm))
    if content.by_hand:
        story.append(sheet.titled(_("Settled by hand"), hand_grid(content.by_hand, sheet)))
    story += sheet.notices(_("Findings"), content.notices)
    story += sheet.bullets(_("Cautions"), content.cautions)
    return story
