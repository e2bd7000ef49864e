"""The offers of a quote side by side on paper, and the boxes to tick one of them."""

from __future__ import annotations

from reportlab.lib.units import mm

from quoting.documents import fonts
from quoting.documents.content import Compared
from quoting.documents.grid import GROUP, HAIR, HEAD, Grid, Row
from quoting.documents.layout import Sheet
from quoting.documents.marks import Box
from quoting.documents.text import INK, SECOND


def side_by_side(compared: Compared, sheet: Sheet) -> Grid:
    """A row for what each offer comes to, then one for each role with the part that fills it; names at the head."""
    page, count = sheet.page, len(compared.names)
    first = 5
    columns = [(first + (13 - first) * i / count, (13 - first) / count) for i in range(count)]
    unit = page.x(2) - page.x(1)

    def at(place: tuple[float, float]) -> tuple[float, float]:
        return page.x(1) + (place[0] - 1) * unit + 2 * mm, place[1] * unit - 4 * mm

    label_w = page.x(first) - 2 * mm
    head = Row(
        tuple(
            sheet.cell(*at(c), sheet.words(n, face=fonts.SEMIBOLD))
            for c, n in zip(columns, compared.names, strict=True)
        ),
        below=HEAD,
    )
    rows = []
    for number, (label, values) in enumerate((*compared.rows, *compared.parts)):
        is_first, is_part = number == 0, number >= len(compared.rows)
        face = fonts.SEMIBOLD if is_first else fonts.REGULAR
        cells = [
            sheet.cell(*at(c), sheet.words(v, face=face, ink=SECOND if same(values) and not is_first else INK))
            for c, v in zip(columns, values, strict=True)
        ]
        rows.append(
            Row(
                (sheet.cell(0, label_w, sheet.words(label, ink=SECOND)), *cells),
                above=GROUP if number == len(compared.rows) else None,
                below=HAIR,
                left=0.0,
                keep=is_first or not is_part,
            )
        )
    return Grid(rows, [head], page.height)


def same(values: tuple[str, ...]) -> bool:
    """Whether a row says the same of every offer: it is set back, so that differences stand out."""
    return len(set(values)) == 1


def ticked(choices: tuple[str, ...], sheet: Sheet) -> Grid:
    """A box before each offer."""
    left = sheet.hang
    rows = [
        Row(
            (sheet.cell(left, 6 * mm, Box()), sheet.cell(left + 6 * mm, 110 * mm, sheet.words(one))),
            left=left,
            keep=True,
        )
        for one in choices
    ]
    grid = Grid(rows, page_height=sheet.page.height)
    grid.spaceBefore = 1.5 * mm
    return grid
