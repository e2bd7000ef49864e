"""Reads a finished drawing back, shape by shape, without the register that placed its texts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import Any

from reportlab.pdfbase.pdfmetrics import stringWidth

MM = 72 / 25.4
TOUCH_PT = 0.02


@dataclass(frozen=True)
class Seen:
    """A text as it stands. [pt], y up"""

    text: str
    x0: float
    y0: float
    x1: float
    y1: float

    def meets(self, other: Seen) -> bool:
        return (
            self.x0 < other.x1 - TOUCH_PT
            and other.x0 < self.x1 - TOUCH_PT
            and self.y0 < other.y1 - TOUCH_PT
            and other.y0 < self.y1 - TOUCH_PT
        )


def shapes_of(node: Any) -> Iterator[Any]:
    for child in getattr(node, "contents", ()):
        yield child
        yield from shapes_of(child)


def strings(drawing: Any) -> list[Seen]:
    """Every text of a drawing; capitals are 0.73 of the size high, descenders 0.2 deep (Inter's own metrics)."""
    found = []
    for shape in shapes_of(drawing):
        if hasattr(shape, "text"):
            wide = stringWidth(shape.text, shape.fontName, shape.fontSize)
            low, high = shape.y - 0.2 * shape.fontSize, shape.y + 0.73 * shape.fontSize
            found.append(Seen(shape.text, shape.x, low, shape.x + wide, high))
    return found


def overlaps(drawing: Any) -> list[tuple[str, str]]:
    return [(a.text, b.text) for a, b in combinations(strings(drawing), 2) if a.meets(b)]


def outside(drawing: Any) -> list[str]:
    return [
        seen.text
        for seen in strings(drawing)
        if seen.x0 < 0 or seen.y0 < 0 or seen.x1 > drawing.width or seen.y1 > drawing.height
    ]


def words_of(sheets: Any) -> set[str]:
    """Every text of some sheets, run by run."""
    return {seen.text for sheet in sheets for seen in strings(sheet.drawing)}


def struck(drawing: Any) -> list[str]:
    """Texts that a straight piece of a black line runs through (symbols' own letters stand inside closed shapes)."""
    lines = []
    for shape in shapes_of(drawing):
        points = getattr(shape, "points", None)
        closed = points and len(getattr(shape, "operators", ())) * 2 != len(points)
        if not points or closed or getattr(shape, "fillColor", None) is not None or shape.strokeColor is None:
            continue
        if shape.strokeColor.rgb() != (0, 0, 0) or any(op not in (0, 1) for op in shape.operators):
            continue
        corners = list(zip(points[0::2], points[1::2], strict=True))
        lines += list(pairwise(corners))
    found = []
    for seen in strings(drawing):
        for (ax, ay), (bx, by) in lines:
            level = abs(ay - by) < 0.01 and seen.y0 + 0.3 < ay < seen.y1 - 0.3
            upright = abs(ax - bx) < 0.01 and seen.x0 + 0.3 < ax < seen.x1 - 0.3
            if level and min(ax, bx) < seen.x1 - 0.3 and max(ax, bx) > seen.x0 + 0.3:
                found.append(seen.text)
            if upright and min(ay, by) < seen.y1 - 0.3 and max(ay, by) > seen.y0 + 0.3:
                found.append(seen.text)
    return found


def in_outline(drawing: Any, text: str) -> bool:
    """Whether a text stands inside a chain line: upright pieces left of it are odd in number."""
    seen = next(each for each in strings(drawing) if each.text == text)
    x, y = seen.x0, (seen.y0 + seen.y1) / 2
    count = 0
    for shape in shapes_of(drawing):
        dashes, points = getattr(shape, "strokeDashArray", None), getattr(shape, "points", ())
        if not dashes or len(dashes) < 4:
            continue
        for (ax, ay), (bx, by) in pairwise(zip(points[0::2], points[1::2], strict=True)):
            count += abs(ax - bx) < 0.01 and ax < x and min(ay, by) < y < max(ay, by)
    return count % 2 == 1
