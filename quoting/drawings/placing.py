"""A register of what already stands on a sheet, so that no text is ever set over another thing. Millimetres, y down.

Every symbol, wire and text registers its rectangle. A text brings the places it may take, best first, and gets the
first that is free and inside the sheet; a text that fits nowhere is reported, never drawn over something and never
set smaller.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Literal

Thing = Literal["symbol", "wire", "text"]

CLEAR_MM = 0.35
"""Free space round a text, to symbols and other texts. [mm] House practice: a line's width at arm's length."""
CLEAR_WIRE_MM = 0.25
"""Free space between a text and a conductor. [mm] House practice."""


@dataclass(frozen=True, slots=True)
class Rect:
    """A rectangle on the sheet; ``y0`` is the upper edge. [mm]"""

    x0: float
    y0: float
    x1: float
    y1: float

    def grown(self, by_mm: float) -> Rect:
        return Rect(self.x0 - by_mm, self.y0 - by_mm, self.x1 + by_mm, self.y1 + by_mm)

    def meets(self, other: Rect) -> bool:
        return self.x0 < other.x1 and other.x0 < self.x1 and self.y0 < other.y1 and other.y0 < self.y1

    def inside(self, other: Rect) -> bool:
        return self.x0 >= other.x0 and self.y0 >= other.y0 and self.x1 <= other.x1 and self.y1 <= other.y1

    def joined(self, other: Rect) -> Rect:
        return Rect(min(self.x0, other.x0), min(self.y0, other.y0), max(self.x1, other.x1), max(self.y1, other.y1))


@dataclass(frozen=True, slots=True)
class TextBox:
    """A text as it stands on the sheet."""

    text: str
    rect: Rect


@dataclass(slots=True)
class Register:
    """What stands where on one sheet.

    Parameters
    ----------
    bounds : Rect
        The sheet; no text leaves it. [mm]
    """

    bounds: Rect
    things: list[tuple[Thing, Rect]] = field(default_factory=list)
    texts: list[TextBox] = field(default_factory=list)
    unplaced: list[str] = field(default_factory=list)
    bands: dict[int, list[tuple[Thing, Rect]]] = field(default_factory=dict)
    """The same things by the level bands they reach into, so that a text is held against its neighbours alone."""

    def add(self, thing: Thing, rect: Rect) -> None:
        """Note that a symbol or wire stands there."""
        self.things.append((thing, rect))
        for band in _bands(rect):
            self.bands.setdefault(band, []).append((thing, rect))

    def wire(self, points: Iterable[tuple[float, float]], width_mm: float) -> None:
        """Note a conductor of straight pieces."""
        corners = list(points)
        for (ax, ay), (bx, by) in pairwise(corners):
            half = width_mm / 2
            self.add("wire", Rect(min(ax, bx) - half, min(ay, by) - half, max(ax, bx) + half, max(ay, by) + half))

    def is_free(self, rect: Rect) -> bool:
        """Whether a text may stand there: inside the sheet and clear of everything."""
        if not rect.inside(self.bounds):
            return False
        wide, near = rect.grown(CLEAR_MM), rect.grown(CLEAR_WIRE_MM)
        return not any(
            (near if thing == "wire" else wide).meets(other)
            for band in _bands(wide)
            for thing, other in self.bands.get(band, ())
        )

    def take(self, text: str, rects: Iterable[Rect]) -> None:
        """Note that a text stands there."""
        for rect in rects:
            self.add("text", rect)
            self.texts.append(TextBox(text, rect))

    def slanted(self, start: tuple[float, float], end: tuple[float, float]) -> None:
        """Note a slanted hairline, as short pieces."""
        for x, y in _along(start, end):
            self.add("wire", Rect(x - 0.15, y - 0.15, x + 0.15, y + 0.15))

    def crosses_text(self, start: tuple[float, float], end: tuple[float, float]) -> bool:
        """Whether a straight line would run through a text."""
        texts = [box.rect.grown(0.3) for box in self.texts]
        return any(r.x0 < x < r.x1 and r.y0 < y < r.y1 for x, y in _along(start, end) for r in texts)

    def settle(self, text: str, places: Iterable[Sequence[Rect]]) -> int | None:
        """Take the first place that is wholly free for a text and return its index.

        A place is one rectangle, or several for a text set in several lines or pieces. ``None``, and a report in
        ``unplaced``, when none is free.
        """
        for index, rects in enumerate(places):
            if all(self.is_free(rect) for rect in rects):
                self.take(text, rects)
                return index
        self.unplaced.append(text)
        return None


BAND_MM = 6.0


def _bands(rect: Rect) -> range:
    return range(int(rect.y0 // BAND_MM), int(rect.y1 // BAND_MM) + 1)


def _along(start: tuple[float, float], end: tuple[float, float]) -> list[tuple[float, float]]:
    """Points of a line, half a millimetre apart."""
    (ax, ay), (bx, by) = start, end
    count = max(1, int(2 * max(abs(bx - ax), abs(by - ay))))
    return [(ax + (bx - ax) * i / count, ay + (by - ay) * i / count) for i in range(count + 1)]
