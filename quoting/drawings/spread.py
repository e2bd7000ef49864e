"""The charge of a battery over a trip with its spread over the weathers, small enough for a paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from quoting.drawings import wording
from quoting.drawings.canvas import Canvas, Piece, Sheet
from quoting.drawings.charts import AXIS_PT, SMALL_LEADING_MM, SMALL_PT, stacked_by
from quoting.drawings.pen import ACCENT, HAIR, HAIRLINE, INK, PALE, Faces, Measure, Pen, Run, string_width
from quoting.drawings.placing import Rect, Register
from quoting.sizing.errors import require

AXIS_MM, LEVEL_MM, FOOT_MM = 11.0, 10.0, 6.5
"""Room for the per cent at the left, for the levels at the right, and for the days below. [mm]"""
TICKS = 10
"""At most so many marks of days."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stop on the time axis."""

    name: str
    points: int


@dataclass(frozen=True, slots=True)
class Spread:
    """State of charge at the end of each step, for all stops after one another."""

    low: Sequence[float]
    median: Sequence[float]
    high: Sequence[float]
    step_h: float


def charge_spread(
    spread: Spread,
    stretches: Sequence[Stretch],
    *,
    levels: Sequence[float] = (),
    width_mm: float = 174.0,
    plot_mm: float = 30.0,
    words: wording.Words = wording.english,
    faces: Faces | None = None,
    measure: Measure = string_width,
) -> Sheet:
    """Draw the median as a line in a band from the low to the high percentile.

    Parameters
    ----------
    spread : Spread
        Three curves of as many points as the stretches have together.
    stretches : sequence of Stretch
        Stops in order, their names above their parts of the axis.
    levels : sequence of float
        States of charge under which something goes off, as broken lines. [1]
    width_mm, plot_mm : float
        Width of everything and height of the plot. [mm]

    Raises
    ------
    SizingError
        If there is no stretch, a size is too small or the curves do not fit the stretches.
    """
    points = sum(stretch.points for stretch in stretches)
    require("stretches", len(stretches), minimum=1)
    require("width_mm", width_mm, minimum=60, unit="mm")
    for field, curve in (("low", spread.low), ("median", spread.median), ("high", spread.high)):
        require(field, len(curve), minimum=points, maximum=points)
    plot_w = width_mm - AXIS_MM - LEVEL_MM
    layout = _canvas(width_mm, 100.0, words, faces, measure)
    names = [_name(layout, each.name, plot_w * each.points / points - 2.0) for each in stretches]
    head = 2.0 + SMALL_LEADING_MM * max(map(len, names))
    canvas = _canvas(width_mm, head + plot_mm + FOOT_MM, words, faces, measure)
    plot = Rect(AXIS_MM, head, AXIS_MM + plot_w, head + plot_mm)
    _curves(canvas, spread, plot)
    _levels(canvas, levels, plot)
    _axes(canvas, points * spread.step_h / 24, plot)
    at = 0
    for stretch, name in zip(stretches, names, strict=True):
        x = plot.x0 + plot_w * at / points
        if at:
            canvas.pen.line([(x, plot.y0 - head + 1.0), (x, plot.y1)], HAIRLINE, INK)
        canvas.text(1, [stacked_by(name, x + (1.2 if at else 0.0), 3.0, SMALL_LEADING_MM)])
        at += stretch.points
    return canvas.sheet()


def _canvas(width_mm: float, height_mm: float, words: wording.Words, faces: Faces | None, measure: Measure) -> Canvas:
    pen = Pen(width_mm, height_mm, faces or Faces(), measure)
    return Canvas(pen, Register(Rect(0, 0, width_mm, height_mm)), words)


def _name(canvas: Canvas, name: str, width_mm: float) -> list[tuple[Run, ...]]:
    return canvas.wrapped([(Run(word, bold=True, size_pt=SMALL_PT),) for word in name.split()], max(width_mm, 12.0))


def _y(plot: Rect, ratio: float) -> float:
    return plot.y1 - (plot.y1 - plot.y0) * min(1.0, max(0.0, ratio))


def _curves(canvas: Canvas, spread: Spread, plot: Rect) -> None:
    count = len(spread.median)

    def line(curve: Sequence[float]) -> list[tuple[float, float]]:
        wide = plot.x1 - plot.x0
        return [(plot.x0 + wide * (at + 1) / count, _y(plot, ratio)) for at, ratio in enumerate(curve)]

    band = [*line(spread.high), *reversed(line(spread.low))]
    canvas.pen.line(band, 0, closed=True, fill=PALE)
    for percent in (0, 50, 100):
        y = _y(plot, percent / 100)
        canvas.pen.line([(plot.x0, y), (plot.x1, y)], HAIRLINE, HAIR)
    canvas.pen.line(line(spread.median), 1.2, ACCENT)


def _levels(canvas: Canvas, levels: Sequence[float], plot: Rect) -> None:
    for level in sorted(set(levels), reverse=True):
        y = _y(plot, level)
        canvas.pen.line([(plot.x0, y), (plot.x1, y)], 0.6, INK, dash=(2.2, 1.8))
        runs = _percent(canvas, level)
        spots = [(Piece(runs, plot.x1 + 1.5, y + drop, "start"),) for drop in (1.0, -1.6, 3.6, -4.2, 6.2)]
        canvas.text(4, spots)


def _percent(canvas: Canvas, ratio: float) -> tuple[Run, ...]:
    return tuple(
        Run(run.text, run.bold, run.second, run.light, run.gap_mm, AXIS_PT)
        for run in canvas.quantity(100 * ratio, "%", most=0)
    )


def _axes(canvas: Canvas, days: float, plot: Rect) -> None:
    for percent in (0, 50, 100):
        canvas.text(5, [(Piece(_percent(canvas, percent / 100), plot.x0 - 1.5, _y(plot, percent / 100) + 1.0, "end"),)])
    step = day_step(days)
    for tick in range(int(days / step + 1e-9) + 1):
        x = plot.x0 + (plot.x1 - plot.x0) * tick * step / days
        canvas.pen.line([(x, plot.y1), (x, plot.y1 + 1.0)], HAIRLINE, HAIR)
        said = canvas.words("number", value=float(tick * step), digits=0)
        if tick * step + step > days + 1e-9:
            said = canvas.words("chart.day") if tick * step == 1 else canvas.words("chart.days", count=said)
        run = Run(said, second=True, size_pt=AXIS_PT)
        canvas.text(6, [(Piece((run,), x, plot.y1 + 4.6, "start" if tick == 0 else "middle"),)])


def day_step(days: float) -> int:
    """Whole days between marks, so that there are at most ``TICKS``."""
    return next(step for step in (1, 2, 5, 7, 14, 30, 60, 120) if days / step <= TICKS)
