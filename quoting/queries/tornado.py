"""What a figure is most sensitive to, as a table with a bar in every row."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from django.utils.translation import gettext as _

from quoting import words
from quoting.queries.shown import SHOWN_UNITS, Shown, shown
from quoting.sizing.outlook import Bar, Tornado
from quoting.sizing.sensitivity_trip import READS, YES

WIDE = 100.0
"""Width that bars are drawn in. [units of the drawing]"""
MARGIN = 1.0
"""Kept free at both ends, so that no end of a bar is cut. [units of the drawing]"""

FINEST = 1e-3
"""Numbers are not printed finer than those as small as this."""


@dataclass(frozen=True, slots=True)
class Span:
    """A part of a bar, from the figure's value to what one end of the input makes of it."""

    x: float
    width: float
    raised: bool
    """The input's upper end; drawn in full, the lower one open."""


@dataclass(frozen=True, slots=True)
class TornadoRow:
    what: str
    source: str
    from_: Shown | None
    to: Shown | None
    lowered: Shown | None
    """The figure with the input at its lower end."""
    raised: Shown | None
    spans: tuple[Span, ...]
    in_pen: bool


@dataclass(frozen=True, slots=True)
class TornadoTable:
    """Rows, the largest swing first; ``middle`` is where the figure's own value lies in every bar."""

    base: Shown | None
    unit: str
    rows: tuple[TornadoRow, ...]
    middle: float
    words: str


def tornado_table(tornado: Tornado) -> TornadoTable:
    """Put a tornado into words, numbers and lengths."""
    is_share = tornado.unit == "" and abs(tornado.base) <= 1
    times = 100 if is_share else 1
    ends = [tornado.base, *(v for bar in tornado.bars for v in (bar.value_low, bar.value_high))]
    low, high = min(ends), max(ends)
    scale = (WIDE - 2 * MARGIN) / (high - low) if high > low else 0.0

    def at(value: float) -> float:
        return MARGIN + (value - low) * scale

    return TornadoTable(
        base=shown(times * tornado.base),
        unit="%" if is_share else SHOWN_UNITS.get(tornado.unit, tornado.unit),
        rows=tuple(_row(bar, tornado.base, times, at) for bar in tornado.bars),
        middle=at(tornado.base),
        words=_said(tornado),
    )


def _row(bar: Bar, base: float, times: float, at: Callable[[float], float]) -> TornadoRow:
    spans = []
    for value, raised in ((bar.value_low, False), (bar.value_high, True)):
        a, b = sorted((at(base), at(value)))
        if b > a:
            spans.append(Span(a, b - a, raised))
    spans.sort(key=lambda s: -s.width)  # where both lie on one side, the shorter is drawn over the longer
    from_, to = _reach(bar)
    return TornadoRow(
        what=words.input_words(bar),
        source=words.origin_words(bar),
        from_=from_,
        to=to,
        lowered=shown(times * bar.value_low, like=times * base),
        raised=shown(times * bar.value_high, like=times * base),
        spans=tuple(spans),
        in_pen=bar.origin in ("input", "survey"),
    )


def _reach(bar: Bar) -> tuple[Shown | None, Shown | None]:
    """Between what an input was moved."""
    if bar.unit == YES:
        return Shown(_("no"), ""), Shown(_("yes"), "")
    like = bar.input_base or None
    while True:
        low, high = shown(bar.input_low, like=like), shown(bar.input_high, bar.unit, like=like)
        if like is None or abs(like) < FINEST or (low and high and low.number != high.number):
            return low, high
        like /= 10  # a move too small for three figures wants a fourth


def _said(tornado: Tornado) -> str:
    """How the inputs were moved, in a sentence."""
    if not tornado.bars and tornado.code in READS:
        return _(
            "Nothing moves it: neither sun or loads by 10 %, air by 5 K, an hour of driving or mains, a tenth of the "
            "sun in the shade, a worn battery nor a drifting monitor."
        )
    if not tornado.bars:
        return _("Nothing that can be moved leads to it by a sum.")
    if tornado.code in READS:
        return _("The trip was simulated again with one thing changed at a time, in the same weathers.")
    if tornado.moved_by_ratio:
        share = words.number_words(100 * tornado.moved_by_ratio, "%")
        return _("Each input moved by %(share)s, one at a time, the rest as it is.") % {"share": share}
    return _(
        "One input at a time: by 10 %, losses by a tenth of the loss, temperatures by 5 K, whole pieces by one; shares "
        "never over 100 %."
    )
