"""Names of positions above and below the vehicle, each with a thin line to its mark. Millimetres.

A name is never set inside the vehicle, where marks and cable runs stand close: so it always has a place.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

from quoting.drawings.canvas import LINE_MM, Canvas, Piece
from quoting.drawings.pen import HAIRLINE, NOTE_PT, SECOND, Point, Run

Line = tuple[Run, ...]

WIDEST_MM, NARROWEST_MM = 38.0, 15.0
"""Most and least width of a name with what sits there; narrower, only its letter stands on the drawing. [mm]"""
GAP_MM, INSET_MM = 2.0, 1.0
"""Between two names; from the thin line to its text. [mm]"""
LEAD_MM = 1.3
"""From the texts to where the thin lines begin to slant. [mm]"""
MIDDLE_RATIO = 0.3
"""Of half the width: this near to the middle line a name may stand on either side."""
LETTER_MM = 6.0
"""Room of a letter that stands for a name. [mm]"""


@dataclass(frozen=True, slots=True)
class Named:
    """What is to be written at a mark."""

    key: str
    name: str
    tags: tuple[str, ...]
    letters: str
    """Stands for the name where there is no room for it."""


@dataclass(frozen=True, slots=True)
class Band:
    """Names above or below, in order along the vehicle: where each text begins, and its lines."""

    order: tuple[int, ...]
    widths_mm: tuple[float, ...]
    lines: tuple[tuple[Line, ...], ...]
    by_letter: bool

    @property
    def height_mm(self) -> float:
        return max((len(lines) for lines in self.lines), default=0) * LINE_MM + LEAD_MM


def bands(
    canvas: Canvas, named: Sequence[Named], at: Sequence[tuple[float, float]], width_mm: float
) -> tuple[Band, Band]:
    """Share names out above and below.

    Parameters
    ----------
    canvas : Canvas
        Measures and wraps.
    named : sequence of Named
        One for each mark.
    at : sequence of pairs
        Metres behind the front and right of the middle; the right side is drawn above.
    width_mm : float
        Of a band. [mm]

    Returns
    -------
    tuple of Band
        Above and below; those near the middle line where there are fewer, and no more on a side than fit.
    """
    order = sorted(range(len(named)), key=lambda i: (-at[i][1], at[i][0], i))
    room = int(width_mm // NARROWEST_MM)
    near = MIDDLE_RATIO * max((abs(y) for _, y in at), default=0.0)
    surely, at_most = sum(y > near for _, y in at), sum(y >= -near for _, y in at)
    half = (len(order) + 1) // 2
    above = min(max(half, surely), at_most)
    above = min(max(above, len(order) - room), room) if len(order) <= 2 * room else half
    return (
        _band(canvas, named, sorted(order[:above], key=lambda i: (at[i][0], i)), width_mm),
        _band(canvas, named, sorted(order[above:], key=lambda i: (at[i][0], i)), width_mm),
    )


def _band(canvas: Canvas, named: Sequence[Named], order: list[int], width_mm: float) -> Band:
    if not order:
        return Band((), (), (), by_letter=False)
    slot = width_mm / len(order)
    if slot < NARROWEST_MM:
        letters: list[tuple[Line, ...]] = [((Run(named[i].letters, bold=True),),) for i in order]
        return Band(tuple(order), (min(slot, LETTER_MM),) * len(order), tuple(letters), by_letter=True)
    lines = tuple(_lines(canvas, named[i], min(slot, WIDEST_MM) - GAP_MM - INSET_MM) for i in order)
    widths = tuple(max(canvas.pen.width_of(line) for line in each) + GAP_MM + INSET_MM for each in lines)
    return Band(tuple(order), widths, lines, by_letter=False)


def _lines(canvas: Canvas, each: Named, width_mm: float) -> tuple[Line, ...]:
    name = [(Run(word, bold=True, size_pt=NOTE_PT),) for word in each.name.split()]
    tags = [(Run(tag, second=True),) for tag in each.tags]
    return (*canvas.wrapped(name, width_mm), *canvas.wrapped(tags, width_mm))


def spread(wanted: Sequence[float], widths_mm: Sequence[float], low: float, high: float) -> list[float]:
    """Places for texts in order, none over the next, as near as can be to where each is wanted.

    Parameters
    ----------
    wanted : sequence of float
        Rising. [mm]
    widths_mm : sequence of float
        Of each. [mm]
    low, high : float
        Where the first may begin and the last must end. [mm]

    Returns
    -------
    list of float
        Least squares under the order (pool adjacent violators).

    Examples
    --------
    >>> spread([10, 11, 50], [10, 10, 10], 0, 100)
    [5.5, 15.5, 50.0]
    """
    offsets = [0.0, *accumulate(widths_mm)]
    blocks: list[list[float]] = []  # sum of wanted less own offset, count
    for x, offset in zip(wanted, offsets, strict=False):
        blocks.append([x - offset, 1.0])
        while len(blocks) > 1 and blocks[-2][0] / blocks[-2][1] > blocks[-1][0] / blocks[-1][1]:
            total, count = blocks.pop()
            blocks[-1][0] += total
            blocks[-1][1] += count
    last = high - offsets[-1]
    firsts = [min(max(total / count, low), last) for total, count in blocks for _ in range(int(count))]
    return [first + offset for first, offset in zip(firsts, offsets, strict=False)]


def between(a: Point, b: Point) -> list[Point]:
    """Points along a slanting line, so close that each piece's box is little larger than the piece."""
    many = max(1, round(max(abs(b[0] - a[0]), abs(b[1] - a[1])) / 2))
    return [(a[0] + k * (b[0] - a[0]) / many, a[1] + k * (b[1] - a[1]) / many) for k in range(1, many + 1)]


def write(
    canvas: Canvas, band: Band, marks: Sequence[Point], halves: Sequence[float], edge: float, *, up: bool
) -> None:
    """Set a band's texts and draw the thin line from each to its mark.

    ``edge`` is where the band meets the vehicle; ``up`` for the band above, whose texts stand on it.
    """
    margin = canvas.register.bounds
    wanted = [marks[i][0] for i in band.order]
    lefts = spread(wanted, band.widths_mm, margin.x0 + 0.5, margin.x1 - 0.5)
    for left, i, lines in zip(lefts, band.order, band.lines, strict=True):
        height = len(lines) * LINE_MM + LEAD_MM
        far = edge - height if up else edge + height
        tip = marks[i][0], marks[i][1] + (-halves[i] if up else halves[i])
        canvas.pen.line([(left, far), (left, edge), tip], HAIRLINE, SECOND, dash=(1.0, 1.0))
        canvas.register.wire([(left, edge), *between((left, edge), tip)], 0.12)
        first = edge - height + 0.75 * LINE_MM if up else edge + LEAD_MM + 0.75 * LINE_MM
        canvas.text(0, [tuple(Piece(line, left + INSET_MM, first + k * LINE_MM) for k, line in enumerate(lines))])
