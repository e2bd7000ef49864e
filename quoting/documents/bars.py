"""Bars of the handover sheet: what runs how long, and what goes off first. No text can cross another."""

from __future__ import annotations

from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, Paragraph

from quoting.documents import fonts
from quoting.documents.content import BarChart
from quoting.documents.content import ShedBar as ShedContent
from quoting.documents.layout import Sheet, style
from quoting.documents.text import ACCENT, HAIRLINE, INK, PALE, SECOND, TINT, markup

ROW = 13 * mm
BAR = 4.6 * mm


class Bars(Flowable):  # type: ignore[misc]
    """One chart: name and condition at the left, bars on scale lines, worn and new in two columns at the right."""

    def __init__(self, chart: BarChart, sheet: Sheet, worn: str, new: str) -> None:
        super().__init__()
        self.chart, self.sheet, self.worn, self.new = chart, sheet, worn, new
        self.spaceBefore = self.spaceAfter = 0

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        room = self.sheet.page.x(4) - 2 * mm
        self.labels = []
        for bar in self.chart.bars:
            name = Paragraph(markup(bar.name), style(11.5, 13.5))
            condition = Paragraph(markup(bar.condition), style(8, 9.5, ink=SECOND))
            heights = (name.wrap(room, 1e6)[1], condition.wrap(room, 1e6)[1])
            self.labels.append((name, condition, heights, max(ROW, sum(heights) + 3 * mm)))
        self.width, self.height = available_width, 7 * mm + sum(each[3] for each in self.labels) + 5 * mm
        return self.width, self.height

    def split(self, available_width: float, available_height: float) -> list[Flowable]:
        return []

    def draw(self) -> None:
        canvas, page, chart = self.canv, self.sheet.page, self.chart
        left = page.x(4)
        new_right, worn_right = self.width, page.x(11) + page.span(1) - 4 * mm
        room = worn_right - 17 * mm - left
        per_hour = room / chart.scale[-1][0]
        top, bottom = self.height - 5.5 * mm, 5 * mm
        canvas.setFont(fonts.REGULAR, 8.6)
        canvas.setFillColor(HexColor(SECOND))
        canvas.drawRightString(worn_right, self.height - 3 * mm, self.worn)
        canvas.drawRightString(new_right, self.height - 3 * mm, self.new)
        canvas.setStrokeColor(HexColor(HAIRLINE))
        canvas.setLineWidth(0.35)
        for at, words in chart.scale:
            x = left + at * per_hour
            canvas.line(x, bottom, x, top)
            if at == 0:
                canvas.drawString(x, 1 * mm, words)
            else:
                canvas.drawCentredString(x, 1 * mm, words)
        y = self.height - 7 * mm
        for bar, (name, condition, heights, row) in zip(chart.bars, self.labels, strict=True):
            middle = y - row / 2
            y -= row
            self._bar(left, middle, bar.worn_h * per_hour, bar.new_h * per_hour)
            upper = middle + sum(heights) / 2
            name.drawOn(canvas, 0, upper - heights[0])
            condition.drawOn(canvas, 0, upper - sum(heights))
            self._figure(worn_right, middle, bar.worn, bar.worn_unit, fonts.SEMIBOLD)
            self._figure(new_right, middle, bar.new, bar.new_unit, fonts.REGULAR)

    def _bar(self, x: float, middle: float, worn: float, new: float) -> None:
        canvas, y = self.canv, middle - BAR / 2
        canvas.setStrokeColor(HexColor(ACCENT))
        canvas.setLineWidth(0.5)
        canvas.setFillColor(HexColor(PALE))
        canvas.rect(x, y, max(new, 0.6), BAR, stroke=1, fill=1)
        canvas.setFillColor(HexColor(ACCENT))
        canvas.rect(x, y, max(min(worn, new), 0.4), BAR, stroke=1, fill=1)

    def _figure(self, right: float, middle: float, value: str, unit: str, face: str) -> None:
        canvas = self.canv
        gap = fonts.width(unit, size=8.6) + 0.8 * mm
        canvas.setFont(fonts.REGULAR, 8.6)
        canvas.setFillColor(HexColor(SECOND))
        canvas.drawRightString(right, middle - 1.4 * mm, unit)
        canvas.setFont(face, 11.5)
        canvas.setFillColor(HexColor(INK))
        canvas.drawRightString(right - gap, middle - 1.4 * mm, value)


class Shedding(Flowable):  # type: ignore[misc]
    """One bar from full to empty; each threshold drops a leader to its own line, the deepest lowest."""

    LINE = 7 * mm
    HEIGHT = 8.6 * mm

    def __init__(self, content: ShedContent) -> None:
        super().__init__()
        self.content = content
        self.spaceBefore = self.spaceAfter = 0

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        self.width = available_width
        self.lines: list[tuple[float, list[Paragraph], list[float]]] = []
        total = 0.0
        for step in self.content.steps:
            x = self._x(step.ratio)
            room = max(x - 2 * mm, 0.45 * self.width)
            part = Paragraph(markup(step.words), style(11.5, 14, right=True))
            _, height = part.wrap(room, 1e6)
            self.lines.append((room, [part], [height]))
            total += max(self.LINE, height + 2 * mm)
        self.height = 6 * mm + self.HEIGHT + 2 * mm + total + 1 * mm
        return self.width, self.height

    def split(self, available_width: float, available_height: float) -> list[Flowable]:
        return []

    def _x(self, ratio: float) -> float:
        return (1 - ratio) * self.width

    def draw(self) -> None:
        canvas, steps = self.canv, self.content.steps
        bar_top = self.height - 5 * mm
        bar_bottom = bar_top - self.HEIGHT
        canvas.setFont(fonts.REGULAR, 8.6)
        canvas.setFillColor(HexColor(SECOND))
        for ratio, words in self.content.marks:
            x = self._x(ratio)
            if ratio <= 0:
                canvas.drawRightString(self.width, bar_top + 1.6 * mm, words)
            elif ratio == 1:
                canvas.drawString(x, bar_top + 1.6 * mm, words)
            else:
                canvas.drawCentredString(x, bar_top + 1.6 * mm, words)
        self._ground(bar_bottom)
        y = bar_bottom - 2 * mm
        canvas.setLineWidth(0.5)
        for step, (room, parts, heights) in zip(steps, self.lines, strict=True):
            x = self._x(step.ratio)
            middle = y - 4.6 * mm
            text_left = x - 2 * mm - room
            canvas.setStrokeColor(HexColor(HAIRLINE))
            canvas.line(x, bar_bottom, x, middle)
            if text_left >= 0:
                canvas.line(x - 1.4 * mm, middle, x, middle)
                parts[0].drawOn(canvas, text_left, y - 0.6 * mm - heights[0])
            else:
                left_part = Paragraph(parts[0].text, style(11.5, 14))
                _, height = left_part.wrap(self.width - x - 2.4 * mm, 1e6)
                canvas.line(x, middle, x + 1.4 * mm, middle)
                left_part.drawOn(canvas, x + 2.4 * mm, y - 0.6 * mm - height)
            y -= max(self.LINE, heights[0] + 2 * mm)

    def _ground(self, bottom: float) -> None:
        canvas = self.canv
        edges = [1.0, *[step.ratio for step in self.content.steps], 0.0]
        grounds = [ACCENT, PALE, TINT, "#ffffff"]
        canvas.setStrokeColor(HexColor(ACCENT))
        canvas.setLineWidth(0.6)
        for number, (upper, lower) in enumerate(zip(edges, edges[1:], strict=False)):
            ground = "#ffffff" if lower == 0 else grounds[min(number, 2)]
            canvas.setFillColor(HexColor(ground))
            canvas.rect(self._x(upper), bottom, self._x(lower) - self._x(upper), self.HEIGHT, stroke=1, fill=1)
        first_room = self._x(edges[1]) - 5 * mm
        last_room = self.width - self._x(edges[-2]) - 5 * mm
        base = bottom + self.HEIGHT / 2 - 1.4 * mm
        canvas.setFont(fonts.REGULAR, 11.5)
        if fonts.width(self.content.all_runs, size=11.5) <= first_room:
            canvas.setFillColor(HexColor("#ffffff"))
            canvas.drawString(3 * mm, base, self.content.all_runs)
        if fonts.width(self.content.kept_back, size=11.5) <= last_room:
            canvas.setFillColor(HexColor(INK))
            canvas.drawString(self._x(edges[-2]) + 3 * mm, base, self.content.kept_back)
