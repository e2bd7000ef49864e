"""Small charts of papers and pages: charge over a day, what runs how long, what goes off first.

Dark against pale and words carry the meaning, never colour alone. Texts are placed through the same register as on the
diagram: what would stand over something else is reported in ``unplaced``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from reportlab.lib.colors import Color

from quoting.drawings import wording
from quoting.drawings.canvas import Canvas, Piece, Sheet, Token
from quoting.drawings.pen import (
    ACCENT,
    HAIR,
    HAIRLINE,
    INK,
    PALE,
    PAPER,
    TINT,
    Faces,
    Measure,
    Pen,
    Run,
    string_width,
)
from quoting.drawings.placing import Rect, Register
from quoting.sizing.appraisal import StopResult
from quoting.sizing.errors import require

TEXT_PT, SMALL_PT, AXIS_PT = 11.5, 8.6, 8.0
BAR_MM, ROW_MM = 4.6, 13.0
NAME_MM, SCALE_END_MM, WORN_X, NEW_X = 44.0, 128.0, 154.0, 174.0
"""Columns of the bars on a page of 174 mm. [mm]"""
SMALL_LEADING_MM, LEADING_MM = 3.7, 5.6
DAYS_FROM_H = 96.0
"""Duration from which a bar is said in days, as sentences say it; worn and new in one unit. [h]"""


@dataclass(frozen=True, slots=True)
class Lasts:
    """One bar: something that runs for so long from a full battery."""

    name: str
    condition: str
    worn_h: float
    new_h: float


@dataclass(frozen=True, slots=True)
class Threshold:
    """Something goes off at this state of charge."""

    ratio: float
    name: str


def _canvas(width_mm: float, height_mm: float, words: wording.Words, faces: Faces | None, measure: Measure) -> Canvas:
    pen = Pen(width_mm, height_mm, faces or Faces(), measure)
    return Canvas(pen, Register(Rect(0, 0, width_mm, height_mm)), words)


def charge_charts(
    stops: Sequence[StopResult],
    *,
    thresholds: Sequence[Threshold] = (),
    width_mm: float = 174.0,
    columns: int = 2,
    plot_mm: float = 36.0,
    words: wording.Words = wording.english,
    faces: Faces | None = None,
    measure: Measure = string_width,
) -> Sheet:
    """Draw the state of charge over the last day of each stop, one small chart each, on one scale.

    Parameters
    ----------
    stops : sequence of StopResult
        At least one.
    thresholds : sequence of Threshold
        Levels below which something goes off, drawn as broken lines with their names.
    width_mm, plot_mm : float
        Width of everything and height of one plot. [mm]
    columns : int
        Charts side by side.

    Returns
    -------
    Sheet
        Hours without sun are tinted where the stop has any sun; the lowest point is marked with its value.

    Raises
    ------
    SizingError
        If there is no stop, or a size is not positive.
    """
    require("stops", len(stops), minimum=1)
    require("width_mm", width_mm, minimum=60, unit="mm")
    require("columns", columns, minimum=1, maximum=6)
    columns = min(columns, len(stops))
    gap, foot = 8.0, 7.5
    cell = (width_mm - gap * (columns - 1)) / columns
    layout = _canvas(width_mm, 100.0, words, faces, measure)
    head = 3.3 + SMALL_LEADING_MM * max(len(_title(layout, stop.name, cell - 13.0)) for stop in stops)
    rows = -(-len(stops) // columns)
    canvas = _canvas(width_mm, rows * (head + plot_mm + foot), words, faces, measure)
    for index, stop in enumerate(stops):
        x0 = (index % columns) * (cell + gap) + 12.0
        y0 = (index // columns) * (head + plot_mm + foot) + head
        _charge(canvas, stop, thresholds, Rect(x0, y0, x0 + cell - 13.0, y0 + plot_mm))
    return canvas.sheet()


def _charge(canvas: Canvas, stop: StopResult, thresholds: Sequence[Threshold], plot: Rect) -> None:
    pen, words = canvas.pen, canvas.words

    def at(hour: float, ratio: float) -> tuple[float, float]:
        return (
            plot.x0 + (plot.x1 - plot.x0) * hour / 24,
            plot.y1 - (plot.y1 - plot.y0) * min(1.0, max(0.0, ratio)),
        )

    if any(stop.sun_w):
        for start, end in _dark(stop.sun_w):
            pen.box(Rect(at(start, 0)[0], plot.y0, at(end, 0)[0], plot.y1), weight=0, fill=TINT)
    for percent in (0, 50, 100):
        y = at(0, percent / 100)[1]
        pen.line([(plot.x0, y), (plot.x1, y)], HAIRLINE, HAIR)
        runs = (*canvas.quantity(float(percent), "%", most=0),)
        canvas.text(5, [(Piece(_sized(runs, AXIS_PT), plot.x0 - 1.5, y + 1.0, "end"),)])
    for hour in (0, 6, 12, 18, 24):
        x = at(hour, 0)[0]
        pen.line([(x, plot.y1), (x, plot.y1 + 1.0)], HAIRLINE, HAIR)
        run = Run(words("chart.hour", hour=hour), second=True, size_pt=AXIS_PT)
        anchor = "end" if hour == 24 else "start" if hour == 0 else "middle"
        canvas.text(6, [(Piece((run,), x, plot.y1 + 4.4, anchor),)])
    lines = _title(canvas, stop.name, plot.x1 - plot.x0)
    canvas.text(1, [stacked_by(lines, plot.x0, plot.y0 - 2.4 - SMALL_LEADING_MM * (len(lines) - 1), SMALL_LEADING_MM)])
    points = [at(hour + 1, ratio) for hour, ratio in enumerate(stop.charge_ratio)]
    for threshold in thresholds:
        y = at(0, threshold.ratio)[1]
        pen.line([(plot.x0, y), (plot.x1, y)], 0.6, INK, dash=(2.2, 1.8))
        canvas.register.wire([(plot.x0, y), (plot.x1, y)], 0.2)
    for (ax, ay), (bx, by) in pairwise(points):
        canvas.register.add("wire", Rect(ax, min(ay, by), bx, max(ay, by)))
    pen.line(points, 1.6, ACCENT)
    low_x, low_y = points[stop.charge_ratio.index(min(stop.charge_ratio))]
    pen.dot(low_x, low_y, 1.0)
    value = canvas.quantity(min(stop.charge_ratio) * 100, "%", most=0, strong=True)
    said = (Run(words("chart.lowest"), size_pt=AXIS_PT), *_sized(value, AXIS_PT, first_gap=1.0))
    spots = [(dx, dy) for dy in (4.2, -2.0, 7.5, -5.0, 11.0, -9.0, 14.0, -13.0) for dx in (0.0, 8.0, -8.0, 16.0, -16.0)]
    canvas.text(
        7, [(Piece(said, min(max(low_x + dx, plot.x0 + 12), plot.x1 - 12), low_y + dy, "middle"),) for dx, dy in spots]
    )
    for threshold in thresholds:
        y = at(0, threshold.ratio)[1]
        tokens: list[Token] = [(Run(word, second=True, size_pt=AXIS_PT),) for word in threshold.name.split()]
        places = []
        for room in (1.0, 0.55):
            named = canvas.wrapped(tokens, (plot.x1 - plot.x0) * room - 2.0)
            up, down = y - 1.1 - SMALL_LEADING_MM * (len(named) - 1), y + 3.2
            for top in (up, down):
                places += [stacked_by(named, plot.x0 + 1.0, top, SMALL_LEADING_MM)]
                places += [stacked_by(named, plot.x0 + (plot.x1 - plot.x0) * 0.4, top, SMALL_LEADING_MM)]
                places += [tuple(replace(p, x=plot.x1 - 1.0, anchor="end") for p in places[-1])]
        canvas.text(8, places)


def _title(canvas: Canvas, name: str, width_mm: float) -> list[tuple[Run, ...]]:
    return canvas.wrapped([(Run(word, bold=True, size_pt=SMALL_PT),) for word in name.split()], width_mm)


def _dark(sun_w: Sequence[float]) -> list[tuple[int, int]]:
    """Stretches of hours without sun, start to end. [h]

    >>> _dark((0.0, 0.0, 5.0, 0.0))
    [(0, 2), (3, 4)]
    """
    found: list[tuple[int, int]] = []
    for hour, power in enumerate(sun_w):
        if power > 0:
            continue
        if found and found[-1][1] == hour:
            found[-1] = (found[-1][0], hour + 1)
        else:
            found.append((hour, hour + 1))
    return found


def lasting_bars(
    bars: Sequence[Lasts],
    *,
    width_mm: float = 174.0,
    words: wording.Words = wording.english,
    faces: Faces | None = None,
    measure: Measure = string_width,
) -> Sheet:
    """Draw what runs how long: dark is what a worn battery gives, pale what a new one adds.

    Parameters
    ----------
    bars : sequence of Lasts
        At least one; times in hours, ``new_h`` at least ``worn_h``.
    width_mm : float
        174 mm or more. [mm]

    Raises
    ------
    SizingError
        If there is no bar, a time is negative or a worn battery outlasts a new one.
    """
    require("bars", len(bars), minimum=1)
    require("width_mm", width_mm, minimum=NEW_X, unit="mm")
    for index, bar in enumerate(bars):
        require(f"bars[{index}].worn_h", bar.worn_h, minimum=0, unit="h")
        require(f"bars[{index}].new_h", bar.new_h, minimum=bar.worn_h, unit="h")
    layout = _canvas(width_mm, 100.0, words, faces, measure)
    texts = [_bar_text(layout, bar) for bar in bars]
    heights = [max(ROW_MM, 3.0 + LEADING_MM * len(name) + SMALL_LEADING_MM * len(small)) for name, small in texts]
    head, foot = 6.0, 7.0
    canvas = _canvas(width_mm, head + sum(heights) + foot, words, faces, measure)
    pen = canvas.pen
    step = _step(max(bar.new_h for bar in bars))
    ticks = max(1, -int(-max(bar.new_h for bar in bars) // step))
    scale = (SCALE_END_MM - NAME_MM) / (ticks * step)
    bottom = head + sum(heights)
    for tick in range(ticks + 1):
        x = NAME_MM + tick * step * scale
        pen.line([(x, head), (x, bottom)], HAIRLINE, HAIR)
        run = Run(_tick(words, tick * step, step), second=True, size_pt=AXIS_PT)
        canvas.text(5, [(Piece((run,), x, bottom + 4.4, "start" if tick == 0 else "middle"),)])
    for x, code in ((WORN_X, "chart.worn"), (NEW_X, "chart.new")):
        canvas.text(5, [(Piece((Run(words(code), second=True, size_pt=SMALL_PT),), x, 3.8, "end"),)])
    top = head
    for bar, (name, small), height in zip(bars, texts, heights, strict=True):
        middle = top + height / 2
        block = LEADING_MM * len(name) + SMALL_LEADING_MM * len(small)
        first = middle - block / 2 + 4.0
        canvas.text(1, [stacked_by(name, 0.0, first, LEADING_MM)])
        if small:
            canvas.text(2, [stacked_by(small, 0.0, first + LEADING_MM * len(name) - 1.5, SMALL_LEADING_MM)])
        worn, new = NAME_MM + bar.worn_h * scale, NAME_MM + bar.new_h * scale
        rect = Rect(NAME_MM, middle - BAR_MM / 2, new, middle + BAR_MM / 2)
        pen.box(rect, 0.35, ACCENT, fill=PALE)
        pen.box(Rect(NAME_MM, rect.y0, worn, rect.y1), 0, fill=ACCENT)
        for x, hours, strong in ((WORN_X, bar.worn_h, True), (NEW_X, bar.new_h, False)):
            said = _duration(canvas, hours, strong, in_days=bar.new_h >= DAYS_FROM_H)
            canvas.text(3, [(Piece(said, x, middle + 1.4, "end"),)])
        top += height
    return canvas.sheet()


def _bar_text(canvas: Canvas, bar: Lasts) -> tuple[list[tuple[Run, ...]], list[tuple[Run, ...]]]:
    wide = NAME_MM - 2.0
    name = canvas.wrapped([(Run(word, size_pt=TEXT_PT),) for word in bar.name.split(" ")], wide)
    small = [(Run(word, second=True, size_pt=SMALL_PT),) for word in bar.condition.split()]
    return name, canvas.wrapped(small, wide)


def stacked_by(lines: Sequence[tuple[Run, ...]], x: float, y: float, leading_mm: float) -> tuple[Piece, ...]:
    return tuple(Piece(line, x, y + index * leading_mm) for index, line in enumerate(lines))


def _duration(canvas: Canvas, hours: float, strong: bool, in_days: bool = False) -> tuple[Run, ...]:
    """Minutes below an hour and a half, hours with one decimal below a day, whole hours above; days where asked."""
    if in_days:
        days = canvas.words("chart.unit_days")
        runs = canvas.quantity(hours / 24, days, most=0 if hours >= 240 else 1, strong=strong)
    elif hours < 1.5:
        runs = canvas.quantity(round(hours * 60), "min", most=0, strong=strong)
    else:
        runs = canvas.quantity(hours, "h", most=1 if hours < 24 else 0, strong=strong)
    return (replace(runs[0], size_pt=TEXT_PT), replace(runs[1], size_pt=SMALL_PT, gap_mm=0.8))


def _step(longest_h: float) -> float:
    """Distance of scale lines, so that at most five stand. [h]"""
    steps = (0.25, 0.5, 1.0, 2.0, 4.0, 6.0, 12.0, 24.0, 48.0, 96.0, 168.0, 336.0, 720.0)
    return next((step for step in steps if longest_h <= 4 * step), 24.0 * -int(-longest_h // 96))


def _tick(words: wording.Words, hours: float, step: float) -> str:
    if hours == 0:
        return words("number", value=0.0, digits=0)
    if step >= 24:
        days = hours / 24
        return words("chart.day") if days == 1 else words("chart.days", count=words("number", value=days, digits=0))
    digits = wording.digits_for(hours, 2)
    return words("chart.hours", count=words("number", value=hours, digits=digits))


def shedding_bar(
    thresholds: Sequence[Threshold],
    *,
    width_mm: float = 174.0,
    words: wording.Words = wording.english,
    faces: Faces | None = None,
    measure: Measure = string_width,
) -> Sheet:
    """Draw one bar from full to empty; a leader drops from each threshold to its line, the deepest lowest.

    Parameters
    ----------
    thresholds : sequence of Threshold
        What goes off where; any order, equal levels share a line.

    Raises
    ------
    SizingError
        If there is none, or a level is not between 0 and 1.
    """
    require("thresholds", len(thresholds), minimum=1)
    for index, threshold in enumerate(thresholds):
        require(f"thresholds[{index}].ratio", threshold.ratio, minimum=0.01, maximum=0.99)
    levels: dict[float, list[str]] = {}
    for threshold in sorted(thresholds, key=lambda each: -each.ratio):
        levels.setdefault(threshold.ratio, []).append(threshold.name)
    layout = _canvas(width_mm, 100.0, words, faces, measure)
    said = {ratio: _leader_text(layout, names, ratio, (1 - ratio) * width_mm - 2.5) for ratio, names in levels.items()}
    head, bar = 6.0, 8.4
    height = head + bar + 2.6 + sum(LEADING_MM * len(lines) + 1.4 for lines in said.values())
    canvas = _canvas(width_mm, height, words, faces, measure)
    pen = canvas.pen
    for ratio, anchor in ((1.0, "start"), (0.75, "middle"), (0.5, "middle"), (0.25, "middle"), (0.0, "end")):
        runs = _sized(canvas.quantity(ratio * 100, "%", most=0), SMALL_PT)
        if ratio == 0:
            runs = (Run(words("chart.empty"), second=True, size_pt=SMALL_PT),)
        canvas.text(5, [(Piece(runs, (1 - ratio) * width_mm, 4.2, anchor),)])
    edges = [1.0, *levels, 0.0]
    for index, (upper, lower) in enumerate(pairwise(edges)):
        last = index == len(edges) - 2
        fill = ACCENT if index == 0 else PAPER if last else _shade(index)
        rect = Rect((1 - upper) * width_mm, head, (1 - lower) * width_mm, head + bar)
        pen.box(rect, 0.35, ACCENT, fill=fill)
        if index == 0 or last:
            text = Run(words("chart.everything" if index == 0 else "chart.kept"), light=index == 0, size_pt=TEXT_PT)
            if pen.width_of((text,)) < rect.x1 - rect.x0 - 4:
                canvas.text(3, [(Piece((text,), rect.x0 + 3.0, head + 5.7),)])
    y = head + bar + 2.6
    for ratio, lines in said.items():
        x = (1 - ratio) * width_mm
        down = y + LEADING_MM * len(lines) - 2.6
        canvas.text(2, [tuple(Piece(line, x - 2.5, y + 4.2 + i * LEADING_MM, "end") for i, line in enumerate(lines))])
        points = [(x, head + bar), (x, down), (x - 2.0, down)]
        pen.line(points, HAIRLINE + 0.15, INK)
        canvas.register.wire(points, 0.2)
        y += LEADING_MM * len(lines) + 1.4
    return canvas.sheet()


def _shade(index: int) -> Color:
    return PALE if index % 2 else TINT


def _leader_text(canvas: Canvas, names: Sequence[str], ratio: float, room_mm: float) -> list[tuple[Run, ...]]:
    said = canvas.say("chart.goes_off", name=", ".join(names))
    tokens: list[Token] = [(Run(word, size_pt=TEXT_PT),) for word in said.split()]
    value = canvas.quantity(ratio * 100, "%", most=0, strong=True)
    tokens.append((replace(value[0], size_pt=TEXT_PT), replace(value[1], bold=True, second=False, size_pt=TEXT_PT)))
    return canvas.wrapped(tokens, max(room_mm, 12.0))


def _sized(runs: Sequence[Run], size_pt: float, first_gap: float = 0.0) -> tuple[Run, ...]:
    return tuple(
        replace(run, size_pt=size_pt, gap_mm=first_gap if index == 0 else run.gap_mm) for index, run in enumerate(runs)
    )
