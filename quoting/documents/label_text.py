"""Where the texts of one label stand: as large as fits, never under 6 pt, and cut with an ellipsis only then."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.lib.units import mm
from reportlab.lib.utils import simpleSplit

from quoting.documents import fonts
from quoting.documents.content_wiring import Label
from quoting.documents.text import shortened

LEAST_PT = 6.0
LARGEST_PT = 12.0
LEADING = 1.22
ASCENT = 0.76
"""Height of a digit or capital of Inter over its size, with a little air (measured)."""


@dataclass(frozen=True, slots=True)
class Placed:
    """One line of text with its baseline, from the lower left of what it was laid in. [pt]"""

    x: float
    y: float
    text: str
    face: str
    size: float

    @property
    def width(self) -> float:
        return fonts.width(self.text, self.face, self.size)


def laid(label: Label, width: float, height: float) -> tuple[Placed, ...]:
    """Texts of a label in a box of so many points: tag and head on one line, the other lines under it."""
    pad_x, pad_y = _pad(width), _pad(height)
    room, tall = width - 2 * pad_x, height - 2 * pad_y
    tag_size = _fitting(label.tag, fonts.SEMIBOLD, min(24.0, tall * 0.36), room)
    top = height - pad_y
    base = top - tag_size * ASCENT
    tag = Placed(pad_x, base, shortened(label.tag, room, fonts.SEMIBOLD, tag_size), fonts.SEMIBOLD, tag_size)
    out, lines = [tag], list(label.lines)
    beside = room - tag.width - 2 * mm
    head_size = _fitting(label.head, fonts.MEDIUM, min(LARGEST_PT, tag_size), beside)
    if label.head and fonts.width(label.head, fonts.MEDIUM, head_size) <= beside:
        x = width - pad_x - fonts.width(label.head, fonts.MEDIUM, head_size)
        out.append(Placed(x, base, label.head, fonts.MEDIUM, head_size))
    elif label.head:
        lines.insert(0, label.head)
    under = top - tag_size * (ASCENT + 0.16)
    return (*out, *_lines(lines, pad_x, room, under, pad_y))


def _pad(side: float) -> float:
    """Air at each side of a label: a fourteenth of it, 1.2 to 2.5 mm."""
    return min(2.5 * mm, max(1.2 * mm, side / 14))


def _fitting(text: str, face: str, largest: float, room: float) -> float:
    """The largest size at which a text fits its room, in half points down to the least."""
    size = max(LEAST_PT, largest)
    while size > LEAST_PT and fonts.width(fonts.printable(text), face, size) > room:
        size = max(LEAST_PT, size - 0.5)
    return size


def _lines(texts: Sequence[str], x: float, room: float, top: float, bottom: float) -> list[Placed]:
    """The texts in order of weight; those for which there is no row even at the least size are left off."""
    texts = texts[: max(0, _rows(top - bottom, LEAST_PT))]
    size = LARGEST_PT
    while size > LEAST_PT and not _fits(texts, room, top - bottom, size):
        size -= 0.5
    rows = _shared(texts, room, _rows(top - bottom, size), size)
    return [
        Placed(x, top - (i + 1) * LEADING * size + (LEADING - 1) * size, row, fonts.REGULAR, size)
        for i, row in enumerate(rows)
    ]


def _rows(tall: float, size: float) -> int:
    """How many rows of a size there is room for; the last needs no air under it."""
    return int((tall + 0.24 * size) // (LEADING * size))


def _split(text: str, room: float, size: float) -> list[str]:
    return list(simpleSplit(fonts.printable(text).replace("\n", " "), fonts.REGULAR, size, room)) or [""]


def _fits(texts: Sequence[str], room: float, tall: float, size: float) -> bool:
    split = [row for text in texts for row in _split(text, room, size)]
    return len(split) <= _rows(tall, size) and all(fonts.width(row, fonts.REGULAR, size) <= room for row in split)


def _shared(texts: Sequence[str], room: float, most: int, size: float) -> list[str]:
    """Rows of each text; where they are too many every text keeps one row, and the first get what is left."""
    split = [_split(text, room, size) for text in texts][: max(0, most)]
    spare = most - len(split)
    rows: list[str] = []
    for parts in split:
        extra = min(spare, len(parts) - 1)
        spare -= extra
        kept = [*parts[:extra], " ".join(parts[extra:])]
        rows += [shortened(row, room, fonts.REGULAR, size) for row in kept]
    return rows
