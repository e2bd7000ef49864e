"""Sheets of labels by their measures alone, and where each label lies on them. Pure; nothing of ReportLab.

Measures are those in which blank sheets are commonly sold (common practice, from memory): rows and columns stand in
the middle of the page, so the margins follow from page, label and gap.
"""

from __future__ import annotations

from dataclasses import dataclass

A4_MM = (210.0, 297.0)
LETTER_MM = (215.9, 279.4)


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """A page of labels of one size, filled row by row from the upper left. [mm]"""

    code: str
    page: str
    page_mm: tuple[float, float]
    columns: int
    rows: int
    width_mm: float
    height_mm: float
    gap_x_mm: float = 0.0
    gap_y_mm: float = 0.0

    @property
    def count(self) -> int:
        """Labels on one sheet."""
        return self.columns * self.rows

    @property
    def left_mm(self) -> float:
        """Margin at the left of the first column. [mm]"""
        used = self.columns * self.width_mm + (self.columns - 1) * self.gap_x_mm
        return (self.page_mm[0] - used) / 2

    @property
    def top_mm(self) -> float:
        """Margin above the first row. [mm]"""
        used = self.rows * self.height_mm + (self.rows - 1) * self.gap_y_mm
        return (self.page_mm[1] - used) / 2

    def place(self, number: int) -> tuple[float, float]:
        """Upper left corner of a label, counted from 1, from the page's upper left. [mm]

        Raises
        ------
        ValueError
            If the sheet has no such label.
        """
        if not 1 <= number <= self.count:
            raise ValueError(f"label {number} is not on a sheet of {self.count}")
        row, column = divmod(number - 1, self.columns)
        x = self.left_mm + column * (self.width_mm + self.gap_x_mm)
        return x, self.top_mm + row * (self.height_mm + self.gap_y_mm)


SHEETS = {
    sheet.code: sheet
    for sheet in (
        LabelSheet("a4-3x7", "A4", A4_MM, 3, 7, 63.5, 38.1, gap_x_mm=2.5),
        LabelSheet("a4-4x10", "A4", A4_MM, 4, 10, 48.5, 25.4),
        LabelSheet("a4-5x13", "A4", A4_MM, 5, 13, 38.1, 21.2, gap_x_mm=2.5),
        LabelSheet("letter-3x10", "Letter", LETTER_MM, 3, 10, 66.7, 25.4, gap_x_mm=3.1),
        LabelSheet("letter-4x20", "Letter", LETTER_MM, 4, 20, 44.45, 12.7, gap_x_mm=7.6),
    )
}
