"""A table drawn by hand: rows of paragraphs on fixed columns, rules by weight, heads that repeat, groups kept.

ReportLab's own table sets empty cells in an unembedded face and decides for itself where groups part; this one does
what the papers ask and no more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, Paragraph

from quoting.documents.text import HAIRLINE, INK

HAIR = (0.35, HAIRLINE)
GROUP = (0.6, INK)
HEAD = (0.8, INK)
Rule = tuple[float, str]


@dataclass(frozen=True)
class Cell:
    """A paragraph, or several one under the other, or a box, at a place across the paper. Points from the left."""

    x: float
    width: float
    content: Sequence[Flowable]
    tint: str = ""
    """Ground of the cell alone, over the row's."""


@dataclass(frozen=True)
class Row:
    """Cells side by side, with a rule above or below them and what they must stay with."""

    cells: tuple[Cell, ...]
    above: Rule | None = None
    below: Rule | None = HAIR
    left: float = 0.0
    """Where the rules start. [pt]"""
    below_left: float | None = None
    """Where the lower rule starts, when it is shorter. [pt]"""
    pad: float = 0.6 * mm
    """Above and below the text. [pt]"""
    space: float = 0.0
    """More room above, where a group opens. [pt]"""
    least: float = 0.0
    """Least height, where somebody writes by hand. [pt]"""
    keep: bool = False
    """Never the last on a page while the next row exists."""
    tint: str = ""
    continued: Cell | None = None
    """What stands in the group's column when a page starts with this row."""
    centred: bool = False


@dataclass
class _Laid:
    row: Row
    height: float
    heights: list[list[float]]


class Grid(Flowable):  # type: ignore[misc]
    """Rows under an optional head that repeats on every page."""

    def __init__(
        self,
        rows: Sequence[Row],
        head: Sequence[Row] = (),
        page_height: float = 700.0,
        known: dict[int, _Laid] | None = None,
    ) -> None:
        super().__init__()
        self.rows = list(rows)
        self.head = list(head)
        self.page_height = page_height
        """Height of a whole page's frame: what is taller can never be kept together. [pt]"""
        self.known = {} if known is None else known
        """Rows already laid, by identity: a row's cells have widths of their own, so its height never changes."""
        self.spaceBefore = self.spaceAfter = 0.0

    def _lay(self, row: Row) -> _Laid:
        if id(row) not in self.known:
            self.known[id(row)] = self._measured(row)
        return self.known[id(row)]

    def _measured(self, row: Row) -> _Laid:
        tallest, all_heights = 0.0, []
        for cell in row.cells:
            heights = [part.wrap(cell.width, 1e6)[1] for part in cell.content]
            all_heights.append(heights)
            tallest = max(tallest, sum(heights))
        return _Laid(row, max(tallest + 2 * row.pad, row.least) + row.space, all_heights)

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        self.laid = [self._lay(row) for row in self.rows]
        self.laid_head = [self._lay(row) for row in self.head]
        self.width = available_width
        self.height = sum(each.height for each in self.laid_head + self.laid)
        return self.width, self.height

    def draw(self) -> None:
        for draw in (self._draw_ground, self._draw_row):
            y = self.height
            for laid in self.laid_head + self.laid:
                draw(laid, y)
                y -= laid.height

    def _draw_ground(self, laid: _Laid, top: float) -> None:
        canvas, row = self.canv, laid.row
        height = laid.height - row.space
        bottom = top - laid.height
        if row.tint:
            canvas.setFillColor(HexColor(row.tint))
            canvas.rect(row.left, bottom, self.width - row.left, height, stroke=0, fill=1)
        for cell in row.cells:
            if cell.tint:
                canvas.setFillColor(HexColor(cell.tint))
                canvas.rect(cell.x, bottom, cell.width, height, stroke=0, fill=1)

    def _draw_row(self, laid: _Laid, top: float) -> None:
        canvas, row = self.canv, laid.row
        bottom = top - laid.height
        for cell, heights in zip(row.cells, laid.heights, strict=True):
            y = top - row.space - row.pad
            if row.centred:
                y = top - row.space - (laid.height - row.space - sum(heights)) / 2
            for part, height in zip(cell.content, heights, strict=True):
                part.drawOn(canvas, cell.x, y - height)
                y -= height
        if row.above:
            self._rule(row.above, row.left, top - row.space)
        if row.below:
            self._rule(row.below, row.left if row.below_left is None else row.below_left, bottom)

    def _rule(self, rule: Rule, left: float, y: float) -> None:
        self.canv.setStrokeColor(HexColor(rule[1]))
        self.canv.setLineWidth(rule[0])
        self.canv.line(left, y, self.width, y)

    def split(self, available_width: float, available_height: float) -> list[Flowable]:
        self.wrap(available_width, available_height)
        room = available_height - sum(each.height for each in self.laid_head)
        fitting, used = 0, 0.0
        for laid in self.laid:
            if used + laid.height > room + 0.01:
                break
            used += laid.height
            fitting += 1
        if fitting == len(self.rows):
            return [self]
        at = fitting
        while at > 0 and self.rows[at - 1].keep:
            at -= 1
        if at == 0:
            return spaced(self._forced(fitting, room - used, available_height), self.spaceBefore)
        return spaced([self._part(self.rows[:at]), self._part(self._from(self.rows[at:]))], self.spaceBefore)

    def _forced(self, fitting: int, room: float, available_height: float) -> list[Flowable]:
        """Part what is kept together but taller than a page; a lesser one moves to the next page whole."""
        kept = 0.0
        for laid in self.laid:
            kept += laid.height
            if not laid.row.keep:
                break
        head = sum(each.height for each in self.laid_head)
        if kept + head <= self.page_height:
            return []
        if fitting:
            return [self._part(self.rows[:fitting]), self._part(self._from(self.rows[fitting:]))]
        if available_height < self.page_height * 0.5:
            return []
        first, rest = self._in_row(self.rows[0], room)
        return [self._part([first]), self._part([rest, *self.rows[1:]])] if first and rest else []

    def _in_row(self, row: Row, room: float) -> tuple[Row | None, Row | None]:
        """Part one row taller than a page inside its paragraphs."""
        upper, lower = [], []
        for cell in row.cells:
            left = room - 2 * row.pad
            above: list[Flowable] = []
            below: list[Flowable] = []
            for part in cell.content:
                height = part.wrap(cell.width, 1e6)[1]
                if not below and height <= left:
                    above.append(part)
                    left -= height
                    continue
                parts = part.split(cell.width, left) if not below else []
                if len(parts) > 1:
                    above.append(parts[0])
                    below += parts[1:]
                else:
                    below.append(part)
            upper.append(replace(cell, content=above))
            lower.append(replace(cell, content=below))
        if not any(cell.content for cell in upper):
            return None, None
        return replace(row, cells=tuple(upper), below=None), replace(row, cells=tuple(lower), above=None)

    def _from(self, rows: list[Row]) -> list[Row]:
        first = rows[0]
        if first.continued is None:
            return rows
        return [replace(first, cells=(first.continued, *first.cells)), *rows[1:]]

    def _part(self, rows: list[Row]) -> Grid:
        return Grid(rows, self.head, self.page_height, self.known)


def spaced(parts: list[Any], before: float) -> list[Any]:
    """Give the first part the space its whole had above it; at the top of a page ReportLab leaves it out."""
    if parts:
        parts[0].spaceBefore = before
    return parts


class Block(Flowable):  # type: ignore[misc]
    """Any flowable with a space above it that survives being parted."""

    def __init__(self, inner: Flowable, before: float = 0.0) -> None:
        super().__init__()
        self.inner, self.spaceBefore, self.spaceAfter = inner, before, 0.0

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        self.width, self.height = self.inner.wrap(available_width, available_height)
        return self.width, self.height

    def split(self, available_width: float, available_height: float) -> list[Flowable]:
        parts = self.inner.split(available_width, available_height)
        if len(parts) < 2:
            return []
        return [Block(parts[0], self.spaceBefore), *[Block(part) for part in parts[1:]]]

    def draw(self) -> None:
        self.inner.drawOn(self.canv, 0, 0)


class Stacked(Flowable):  # type: ignore[misc]
    """A short flowable over a long one: the first never stands alone at the foot of a page."""

    def __init__(self, over: Flowable, under: Flowable, gap: float = 0.0) -> None:
        super().__init__()
        self.over, self.under, self.gap = over, under, gap
        self.spaceBefore = self.spaceAfter = 0.0

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        _, self.over_height = self.over.wrap(available_width, available_height)
        _, self.under_height = self.under.wrap(available_width, available_height - self.over_height - self.gap)
        self.width = available_width
        self.height = self.over_height + self.gap + self.under_height
        return self.width, self.height

    def split(self, available_width: float, available_height: float) -> list[Flowable]:
        _, over = self.over.wrap(available_width, available_height)
        parts = self.under.split(available_width, available_height - over - self.gap)
        if len(parts) < 2:
            return []
        return spaced([Stacked(self.over, parts[0], self.gap), *parts[1:]], self.spaceBefore)

    def draw(self) -> None:
        self.over.drawOn(self.canv, 0, self.height - self.over_height)
        self.under.drawOn(self.canv, 0, 0)


class Hung(Flowable):  # type: ignore[misc]
    """A heading in the left columns beside a flowable, on its first line; a split leaves it with the first part."""

    def __init__(self, heading: Paragraph, inner: Flowable, width: float, drop: float = 0.0) -> None:
        super().__init__()
        self.heading, self.inner, self.heading_width, self.drop = heading, inner, width, drop
        self.spaceBefore = self.spaceAfter = 0.0

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        _, self.heading_height = self.heading.wrap(self.heading_width, 1e6)
        self.width, self.inner_height = self.inner.wrap(available_width, available_height)
        self.height = max(self.inner_height, self.heading_height + self.drop)
        return self.width, self.height

    def split(self, available_width: float, available_height: float) -> list[Flowable]:
        parts: list[Any] = self.inner.split(available_width, available_height)
        if len(parts) < 2:
            return []
        return spaced([Hung(self.heading, parts[0], self.heading_width, self.drop), *parts[1:]], self.spaceBefore)

    def draw(self) -> None:
        self.heading.drawOn(self.canv, 0, self.height - self.drop - self.heading_height)
        self.inner.drawOn(self.canv, 0, self.height - self.inner_height)
