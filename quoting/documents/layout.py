"""Page, grid and type of every paper: identity, running line, foot, headings, facts, signatures, boxes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from io import BytesIO

from reportlab.lib.colors import HexColor
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.pagesizes import A3, A4, A5, LETTER, landscape
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.lib.utils import simpleSplit
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, NextPageTemplate, PageBreak, PageTemplate, Paragraph
from reportlab.platypus import Frame as PageFrame

from quoting.documents import fonts
from quoting.documents.content import Fact, Field, Frame, Named, Notice
from quoting.documents.grid import HAIR, Block, Cell, Grid, Hung, Row, Stacked
from quoting.documents.marks import Line
from quoting.documents.text import ACCENT, HAIRLINE, INK, SECOND, markup, shortened, strong

GUTTER: float = 4 * mm
SHORT = 300
"""Sentences of a section with fewer characters stay together."""
SIDE: float = 18 * mm


@dataclass(frozen=True, slots=True)
class Page:
    """A page's measures and its twelve columns. Points."""

    size: tuple[float, float]
    top: float
    first_top: float
    bottom: float

    @property
    def wide(self) -> bool:
        return self.size[0] > self.size[1]

    @property
    def width(self) -> float:
        return self.size[0] - 2 * SIDE

    @property
    def height(self) -> float:
        """Of the frame of a later page."""
        return self.size[1] - self.top - self.bottom

    def x(self, column: int) -> float:
        """Left edge of a column, counted from 1, from the left margin."""
        return (column - 1) * (self._column + GUTTER)

    def span(self, columns: int) -> float:
        """Width of so many columns with the gutters between them."""
        return columns * self._column + (columns - 1) * GUTTER

    @property
    def _column(self) -> float:
        return (self.width - 11 * GUTTER) / 12


PORTRAIT = Page(A4, 28 * mm, 31 * mm, 24 * mm)
LANDSCAPE = Page(landscape(A4), 20 * mm, 20 * mm, 20 * mm)
LANDSCAPE_A3 = Page(landscape(A3), 20 * mm, 20 * mm, 20 * mm)
PORTRAIT_LETTER = Page(LETTER, 28 * mm, 31 * mm, 24 * mm)
PORTRAIT_A5 = Page(A5, 28 * mm, 31 * mm, 24 * mm)
WIDE = {"a4": LANDSCAPE, "a3": LANDSCAPE_A3}
"""Pages of drawings and lists by the code of their form."""


def style(
    size: float = 8.6,
    leading: float = 11.34,
    face: str = fonts.REGULAR,
    ink: str = INK,
    right: bool = False,
    indent: float = 0.0,
    right_indent: float = 0.0,
) -> ParagraphStyle:
    """A paragraph style of our own; nothing is inherited from ReportLab's sheet."""
    return ParagraphStyle(
        "paper",
        fontName=face,
        fontSize=size,
        leading=leading,
        textColor=HexColor(ink),
        alignment=TA_RIGHT if right else 0,
        leftIndent=indent,
        rightIndent=right_indent,
        bulletFontName=face,
        bulletFontSize=size,
        bulletColor=HexColor(ACCENT),
        splitLongWords=1,
        spaceShrinkage=0,
        allowWidows=0,
        allowOrphans=0,
    )


@dataclass(frozen=True, slots=True)
class Type:
    """Sizes of one family of papers: working papers, or the calm ones for an owner."""

    text: float = 8.6
    leading: float = 11.34
    title: float = 20
    title_leading: float = 22.7
    section: float = 11
    section_leading: float = 14
    note: float = 7
    note_leading: float = 8.5
    gap: float = 6 * mm


WORKING = Type()
CALM = Type(11.5, 17, 26, 30, 15, 19, 8.6, 11.34, 8.5 * mm)


class Sheet:
    """Makes the pieces of a paper in one page format and one family of sizes."""

    def __init__(self, page: Page = PORTRAIT, sizes: Type = WORKING) -> None:
        fonts.register()
        self.page, self.sizes = page, sizes

    # --- words ---------------------------------------------------------------------------------------

    def words(
        self,
        text: str,
        *,
        face: str = fonts.REGULAR,
        ink: str = INK,
        right: bool = False,
        right_indent: float = 0.0,
        note: bool = False,
        indent: float = 0.0,
    ) -> Paragraph:
        size, leading = (self.sizes.note, self.sizes.note_leading) if note else (self.sizes.text, self.sizes.leading)
        return Paragraph(markup(text), style(size, leading, face, ink, right, indent, right_indent))

    def note(self, text: str, *, right: bool = False, indent: float = 0.0) -> Paragraph:
        return self.words(text, ink=SECOND, right=right, note=True, indent=indent)

    def heading(self, text: str) -> Paragraph:
        return self.words(text, face=fonts.SEMIBOLD, ink=ACCENT)

    def section(self, text: str, ink: str = INK) -> Paragraph:
        return Paragraph(markup(text), style(self.sizes.section, self.sizes.section_leading, fonts.SEMIBOLD, ink))

    def bullet(self, text: str, indent: float) -> Paragraph:
        hang = 3.2 * mm * self.sizes.text / WORKING.text
        made = style(self.sizes.text, self.sizes.leading, indent=indent + hang)
        made.bulletIndent = indent
        return Paragraph(markup(text), made, bulletText="–")

    # --- cells ---------------------------------------------------------------------------------------

    def cell(self, column: float, width: float, *content: Flowable, tint: str = "") -> Cell:
        """Content at a place given in points from the left margin."""
        return Cell(column, width, content, tint)

    def over(self, start: int, columns: int, *content: Flowable, tint: str = "") -> Cell:
        """Content over so many of the twelve columns."""
        return Cell(self.page.x(start), self.page.span(columns), content, tint)

    def figures(self, texts: Sequence[str], *, ink: str = INK, face: str = fonts.REGULAR) -> list[Paragraph]:
        """A column of figures, right-aligned on the decimal point."""
        most = max((_behind(text) for text in texts), default=0)
        out = []
        for text in texts:
            short = most - _behind(text) if _is_number(text) else 0
            room = fonts.width("." * (short > 0 and _behind(text) == 0) + "5" * short, face, self.sizes.text)
            out.append(self.words(text, ink=ink, face=face, right=True, right_indent=room))
        return out

    # --- sections ------------------------------------------------------------------------------------

    @property
    def hang(self) -> float:
        """Where text beside hanging headings begins: column 4."""
        return self.page.x(4)

    def hung(
        self, heading: str, blocks: Sequence[Flowable], before: float | None = None, drop: float = 0.0
    ) -> list[Flowable]:
        """A hanging heading beside the first of the blocks; the others follow."""
        if not blocks:
            return []
        first = Hung(self.heading(heading), blocks[0], self.page.span(3), drop)
        first.spaceBefore = self.sizes.gap if before is None else before
        return [first, *blocks[1:]]

    def named(self, entries: Sequence[Named], before: float | None = None) -> list[Flowable]:
        """Hanging headings with paragraphs, one section after another."""
        story: list[Flowable] = []
        for entry in entries:
            short = sum(map(len, entry.sentences)) < SHORT
            texts = ["\n".join(entry.sentences)] if short else entry.sentences
            blocks = [self.words(text, indent=self.hang) for text in texts]
            story += self.hung(entry.heading, blocks, before)
        return story

    def ruled(self, entries: Sequence[Named], pad: float = 1.6 * mm) -> Grid:
        """Hanging headings and sentences in rows between hairlines, as an owner reads them."""
        rows = [
            Row(
                (
                    self.over(1, 3, self.heading(entry.heading)),
                    self.over(4, 9, *self._said(entry.sentences)),
                ),
                above=HAIR if number == 0 else None,
                pad=pad,
                keep=len(entries) > 1 and number in (0, len(entries) - 2),
            )
            for number, entry in enumerate(entries)
        ]
        return Grid(rows, page_height=self.page.height)

    def _said(self, sentences: Sequence[str]) -> list[Flowable]:
        """One sentence as it is, several as a list."""
        return [self.words(t) for t in sentences] if len(sentences) < 2 else [self.bullet(t, 0) for t in sentences]

    def bullets(self, heading: str, texts: Sequence[str], before: float | None = None) -> list[Flowable]:
        return self.hung(heading, [self.bullet(text, self.hang) for text in texts], before)

    def titled(self, title: str, block: Flowable, before: float | None = None, gap: float = 1.5 * mm) -> Flowable:
        """A page section's title over a block, never parted from its first rows."""
        made = Stacked(self.section(title), block, gap)
        made.spaceBefore = self.sizes.gap * 1.2 if before is None else before
        return made

    def notices(self, heading: str, notices: Sequence[Notice], before: float | None = None) -> list[Flowable]:
        """Findings of the design: grave in words first, then what to do."""
        blocks = [
            Block(self.words(f"{strong(headed(each))} {each.sentence}", indent=self.hang), 1 * mm * (i > 0))
            for i, each in enumerate(notices)
        ]
        return self.hung(heading, blocks, before)

    def opening(self, frame: Frame) -> list[Flowable]:
        """Title, lead line, and the facts between hairlines."""
        title = Paragraph(markup(frame.title), style(self.sizes.title, self.sizes.title_leading, fonts.SEMIBOLD))
        lead = Paragraph(
            markup(frame.lead), style(11 if self.sizes.text < 10 else 13, 14 if self.sizes.text < 10 else 18)
        )
        story: list[Flowable] = [title, Block(lead, 0.6 * mm)]
        if frame.facts:
            story.append(Block(self.facts(frame.facts), 5 * mm))
        return story

    def facts(self, facts: Sequence[Fact]) -> Grid:
        cells = []
        for number, fact in enumerate(facts):
            content: list[Flowable] = [Paragraph(markup(fact.label), style(7, 8.5, ink=SECOND))]
            if fact.price:
                content.append(Paragraph(markup(fact.price), style(15, 18, fonts.SEMIBOLD)))
            content += [Paragraph(markup(line), style()) for line in fact.lines if line]
            cells.append(self.over(1 + 3 * number, 3, *content))
        return Grid([Row(tuple(cells), above=HAIR, pad=1.6 * mm)], page_height=self.page.height)

    def signing(self, rows: Sequence[Sequence[Field]], first: int = 4) -> Grid:
        """Lines to sign on, kept together; what is known stands on the line already."""
        made = []
        for number, fields in enumerate(rows):
            written = tuple(
                self.over(f.start, f.span, Line(self.page.span(f.span), f.value, self.sizes.text)) for f in fields
            )
            labels = tuple(self.over(f.start, f.span, self.note(f.label)) for f in fields)
            made.append(Row(written, below=None, pad=0, keep=True))
            made.append(Row(labels, below=None, pad=0.5 * mm, keep=number < len(rows) - 1))
        return Grid(made, page_height=self.page.height)


def headed(notice: Notice) -> str:
    """How grave a finding is and what it is about, as the head of its sentence."""
    return f"{notice.grave}: {notice.title}." if notice.title else f"{notice.grave}."


def _behind(text: str) -> int:
    """Decimals of a printed number."""
    if not _is_number(text):
        return 0
    for mark in (".", ","):
        if mark in text:
            return len(text.rsplit(mark, 1)[1])
    return 0


def _is_number(text: str) -> bool:
    return bool(text) and all(c in "0123456789., \u202f\u00a0−" for c in text)


# --- building --------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Built:
    pdf: bytes
    pages: int


Story = Callable[[Sheet], list[Flowable]]
Bare = Callable[[Canvas, str], None]
"""Draws a page with nothing round it; it is given ``page x of y`` to put where it has room."""


def build(frame: Frame, story: Story, sheet: Sheet, bare: Sequence[Bare] = ()) -> Built:
    """Lay the story out twice: once to count the pages, once to print them. Same content, same bytes.

    ``bare`` pages come before the story's.
    """
    pages = _once(frame, story, sheet, bare, 0).pages
    return _once(frame, story, sheet, bare, pages)


def _once(frame: Frame, story: Story, sheet: Sheet, bare: Sequence[Bare], pages: int) -> Built:
    buffer = BytesIO()
    page = sheet.page
    document = BaseDocTemplate(
        buffer,
        pagesize=page.size,
        title=_plain(f"{frame.mark}: {frame.workshop}"),
        author=_plain(frame.workshop),
        subject=_plain(frame.lead),
        creator="Loomwright",
        producer="Loomwright",
        lang=frame.language.replace("_", "-"),
        initialFontName=fonts.REGULAR,
        invariant=1,
        allowSplitting=1,
    )
    later = _page_frame(page, page.top)
    first = _page_frame(page, page.first_top)

    def decorate_first(canvas: Canvas, _: object) -> None:
        (_identity_wide if page.wide else _identity)(canvas, frame, page)
        _foot(canvas, frame, page, pages)

    def decorate_later(canvas: Canvas, _: object) -> None:
        _running(canvas, frame, page)
        _foot(canvas, frame, page, pages)

    def draw_bare(canvas: Canvas, _: object) -> None:
        number = canvas.getPageNumber()
        bare[number - 1](canvas, frame.page_words.format(page=number, pages=pages))

    whole = PageFrame(0, 0, *page.size, leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0)
    document.addPageTemplates(
        [
            *([PageTemplate("bare", [whole], onPageEnd=draw_bare)] if bare else []),
            PageTemplate("first", [first], onPageEnd=decorate_first, autoNextPageTemplate="later"),
            PageTemplate("later", [later], onPageEnd=decorate_later),
        ]
    )
    before = [part for i in range(len(bare)) for part in (_Something(), NextPageTemplate(_after(i, bare)), PageBreak())]
    document.build([*before, *story(sheet)])
    return Built(buffer.getvalue(), document.page)


class _Something(Flowable):  # type: ignore[misc]
    """Nothing to see: ReportLab halts at the eleventh page on which nothing flowed."""

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        return 1.0, 1.0

    def draw(self) -> None:
        pass


def _after(number: int, bare: Sequence[Bare]) -> str:
    return "bare" if number + 1 < len(bare) else "first"


def _plain(text: str) -> str:
    return fonts.printable(text).replace("\n", " ")


def _page_frame(page: Page, top: float) -> PageFrame:
    return PageFrame(
        SIDE,
        page.bottom,
        page.width,
        page.size[1] - top - page.bottom,
        leftPadding=0,
        rightPadding=0,
        topPadding=0,
        bottomPadding=0,
    )


def _print(
    canvas: Canvas,
    x: float,
    y: float,
    text: str,
    room: float,
    size: float = 7,
    face: str = fonts.REGULAR,
    ink: str = SECOND,
    right: bool = False,
) -> float:
    canvas.setFont(face, size)
    canvas.setFillColor(HexColor(ink))
    text = shortened(text, room, face, size)
    (canvas.drawRightString if right else canvas.drawString)(x, y, text)
    return fonts.width(text, face, size)


def _across(canvas: Canvas, page: Page, y: float, weight: float, ink: str) -> None:
    canvas.setStrokeColor(HexColor(ink))
    canvas.setLineWidth(weight)
    canvas.line(SIDE, y, SIDE + page.width, y)


def _folded(text: str, room: float, size: float, face: str, most: int) -> list[str]:
    """Text in lines of the room's width; from ``most`` on the rest stays in one line, to be cut with an ellipsis."""
    lines = simpleSplit(_plain(text), face, size, room)
    return [*lines[:most], " ".join(lines[most:])] if len(lines) > most else lines


def _identity(canvas: Canvas, frame: Frame, page: Page) -> None:
    height = page.size[1]
    name = _folded(frame.workshop, page.span(6), 11, fonts.SEMIBOLD, 1)
    small = len(name) > 1
    if small:
        name = _folded(frame.workshop, page.span(6), 8.6, fonts.SEMIBOLD, 2)
    for number, line in enumerate(name[:2]):
        y = height - (18.4 * mm + number * 11.34 if small else 19.6 * mm)
        _print(canvas, SIDE, y, line, page.span(6), 8.6 if small else 11, fonts.SEMIBOLD, INK)
    for column, given in ((7, frame.address), (10, frame.reach)):
        lines = [line for each in given for line in _folded(each, page.span(3), 7, fonts.REGULAR, 2)][:4]
        for number, line in enumerate(lines):
            y = height - 18.4 * mm - (number - max(0, len(lines) - 2)) * 8.5
            _print(canvas, SIDE + page.x(column), y, line, page.span(3))
    _across(canvas, page, height - 24 * mm, 1.1, ACCENT)


def _identity_wide(canvas: Canvas, frame: Frame, page: Page) -> None:
    height = page.size[1]
    _print(canvas, SIDE, height - 15.2 * mm, frame.workshop, page.span(3), 9.5, fonts.SEMIBOLD, INK)
    _print(canvas, SIDE + page.x(4), height - 15.2 * mm, frame.title, page.span(4), 12, fonts.SEMIBOLD, INK)
    _print(canvas, SIDE + page.width, height - 15.2 * mm, frame.running, page.span(5), right=True)
    _across(canvas, page, height - 18 * mm, 1.1, ACCENT)


def _running(canvas: Canvas, frame: Frame, page: Page) -> None:
    y = page.size[1] - (13.2 if page.wide else 17.6) * mm
    taken = _print(canvas, SIDE, y, frame.workshop, page.span(6), 7, fonts.SEMIBOLD, INK)
    _print(canvas, SIDE + page.width, y, frame.running, page.width - taken - 6 * mm, right=True)
    _across(canvas, page, y - 2.6 * mm, 0.35, HAIRLINE)


def _foot(canvas: Canvas, frame: Frame, page: Page, pages: int) -> None:
    y = (11.6 if page.wide else 12.6) * mm
    _across(canvas, page, y + 3.4 * mm, 0.35, HAIRLINE)
    counted = frame.page_words.format(page=canvas.getPageNumber(), pages=pages)
    room = page.width - fonts.width(counted, size=7) - 8 * mm
    taken = _print(canvas, SIDE, y, frame.mark, room * 0.66, 7, fonts.SEMIBOLD, INK)
    _print(canvas, SIDE + taken + 3.4 * mm, y, frame.dated, room - taken - 3.4 * mm)
    _print(canvas, SIDE + page.width, y, counted, room, right=True)
    _print(canvas, SIDE, y - 8.5, f"{frame.checksum}  {frame.covers}", room)
