"""Twelve months of a place as two small charts: sun on the flat, and the span of a day's temperatures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from catalog.models import MONTHS
from catalog.quantities import format_number, format_quantity

BAR = 0.62
"""Width of a bar in a month's width."""
SUN_STEPS, AIR_STEPS = (1.0, 2.0, 5.0), (5.0, 10.0, 20.0)
"""Distances between scale lines to choose from: the first that leaves six or fewer. [kWh/m²/day], [°C]"""


@dataclass(frozen=True, slots=True)
class Tick:
    """A scale line: ``y`` in per cent from the top."""

    y: str
    words: str


@dataclass(frozen=True, slots=True)
class Plot:
    """Bars in months across and per cent down; ``whiskers`` show how far a month is likely out."""

    title: str
    words: str
    unit: str
    bars: str
    whiskers: str
    ticks: tuple[Tick, ...]
    grid: str
    zero: str


@dataclass(frozen=True, slots=True)
class MonthRow:
    name: str
    sun: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class SiteChart:
    sun: Plot
    air: Plot
    letters: tuple[tuple[str, str], ...]
    """First letters of the months, with their place across in per cent."""
    months: tuple[MonthRow, ...]
    likely_error_ratio: float | None

    @property
    def plots(self) -> tuple[tuple[str, Plot], ...]:
        return (("sun", self.sun), ("air", self.air))


def site_chart(
    ghi_kwh_m2_day: Sequence[float],
    tmin_c: Sequence[float],
    tmax_c: Sequence[float],
    likely_error_ratio: float | None = None,
) -> SiteChart:
    """Lay out the months of a place for its page."""
    names = [_(month.capitalize()) for month in MONTHS]
    return SiteChart(
        sun=_sun(ghi_kwh_m2_day, names, likely_error_ratio),
        air=_air(tmin_c, tmax_c, names),
        letters=tuple((f"{(i + 0.5) / 12:.2%}", name[0]) for i, name in enumerate(names)),
        months=tuple(MonthRow(*row) for row in zip(names, ghi_kwh_m2_day, tmin_c, tmax_c, strict=True)),
        likely_error_ratio=likely_error_ratio,
    )


def _sun(values: Sequence[float], names: Sequence[str], error: float | None) -> Plot:
    out = error or 0.0
    scale = _Scale(0.0, max(max(values) * (1 + out), 1.0), SUN_STEPS)
    least, most = min(values), max(values)
    sentence = _("Least in %(low_month)s, %(low)s; most in %(high_month)s, %(high)s a day.") % {
        "low_month": names[list(values).index(least)],
        "low": format_quantity(round(least, 2), "kWh/m²"),
        "high_month": names[list(values).index(most)],
        "high": format_quantity(round(most, 2), "kWh/m²"),
    }
    bars = "".join(_bar(i, scale.y(value), 100.0) for i, value in enumerate(values))
    spans = [(scale.y(value * (1 + out)), scale.y(value * (1 - out))) for value in values]
    whiskers = "".join(f"M{i + 0.5:.1f} {top:.1f}V{low:.1f}" for i, (top, low) in enumerate(spans)) if out else ""
    return Plot(_("Sun on the flat"), sentence, "kWh/m²/day", bars, whiskers, scale.ticks(), scale.grid(), "")


def _air(lows: Sequence[float], highs: Sequence[float], names: Sequence[str]) -> Plot:
    scale = _Scale(min(lows), max(highs), AIR_STEPS)
    sentence = _("From a mean minimum of %(low)s in %(low_month)s to a mean maximum of %(high)s in %(high_month)s.") % {
        "low": format_quantity(round(min(lows), 1), "°C"),
        "low_month": names[list(lows).index(min(lows))],
        "high": format_quantity(round(max(highs), 1), "°C"),
        "high_month": names[list(highs).index(max(highs))],
    }
    bars = "".join(_bar(i, scale.y(high), scale.y(low)) for i, (low, high) in enumerate(zip(lows, highs, strict=True)))
    zero = f"M0 {scale.y(0.0):.1f}H12" if scale.low < 0 < scale.high else ""
    return Plot(_("Mean daily minimum to maximum"), sentence, "°C", bars, "", scale.ticks(), scale.grid(), zero)


def _bar(month: int, top: float, bottom: float) -> str:
    return f"M{month + (1 - BAR) / 2:.2f} {top:.1f}h{BAR}V{bottom:.1f}h-{BAR}z"


class _Scale:
    """From a round value at or under the least to a round one at or over the most."""

    def __init__(self, least: float, most: float, steps: Sequence[float]) -> None:
        self.step = next((step for step in steps if (most - least) / step <= 6), steps[-1])
        self.low = self.step * (least // self.step)
        self.high = max(self.step * -(-most // self.step), self.low + self.step)

    def y(self, value: float) -> float:
        """Per cent from the top."""
        return 100 * (self.high - value) / (self.high - self.low)

    def _lines(self) -> list[float]:
        return [self.low + i * self.step for i in range(round((self.high - self.low) / self.step) + 1)]

    def ticks(self) -> tuple[Tick, ...]:
        return tuple(Tick(f"{self.y(line):.2f}%", format_number(round(line, 1), 0)) for line in self._lines())

    def grid(self) -> str:
        return "".join(f"M0 {self.y(line):.1f}H12" for line in self._lines())
