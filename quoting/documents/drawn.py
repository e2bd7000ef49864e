"""Drawings of ``quoting.drawings`` as flowables; one with a text left out stops the paper."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Protocol

from reportlab.graphics import renderPDF
from reportlab.lib.units import mm
from reportlab.platypus import Flowable


class DrawingIncomplete(ValueError):
    """Texts of a drawing found no free place: the paper is not made, for what is left out would be missed."""


class DrawnSheet(Protocol):
    """A drawing of ``quoting.drawings``."""

    @property
    def drawing(self) -> Any: ...

    @property
    def unplaced(self) -> tuple[str, ...]: ...

    @property
    def width_mm(self) -> float: ...

    @property
    def height_mm(self) -> float: ...


class Drawn(Flowable):  # type: ignore[misc]
    """A drawing at its own size; it never parts."""

    def __init__(self, sheet: DrawnSheet) -> None:
        super().__init__()
        self.sheet = sheet
        self.spaceBefore = self.spaceAfter = 0.0

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        self.width, self.height = self.sheet.width_mm * mm, self.sheet.height_mm * mm
        return self.width, self.height

    def split(self, available_width: float, available_height: float) -> list[Flowable]:
        return []

    def draw(self) -> None:
        renderPDF.draw(self.sheet.drawing, self.canv, 0, 0)


class Beside(Flowable):  # type: ignore[misc]
    """A drawing set in from the left edge, under hung words."""

    def __init__(self, drawn: Drawn, indent: float) -> None:
        super().__init__()
        self.drawn, self.indent = drawn, indent

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        width, height = self.drawn.wrap(available_width - self.indent, available_height)
        return self.indent + width, height

    def split(self, available_width: float, available_height: float) -> list[Flowable]:
        return []

    def draw(self) -> None:
        self.drawn.drawOn(self.canv, self.indent, 0)


def complete(sheets: Iterable[DrawnSheet]) -> list[Drawn]:
    """Make flowables of drawings, or raise :class:`DrawingIncomplete` with every text that found no place."""
    sheets = list(sheets)
    missing = [text for each in sheets for text in each.unplaced]
    if missing:
        raise DrawingIncomplete(f"No free place on the drawing for: {'; '.join(missing)}.")
    return [Drawn(each) for each in sheets]
