"""A stretch of the trip over many weathers as one drawing: charge, what is off, where the power comes from.

Lines lie in stretched inner drawings that count in steps across; words stand in the outer one at percent positions.
Heights are in pixels from the top, so that charge, shed groups and power share one time axis.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from quoting import words
from quoting.queries.shown import Shown, shown
from quoting.sizing import sun
from quoting.sizing.brief import Brief, Stop
from quoting.sizing.outlook import OffSpan, Points, StopSpan, TripOutlook

HEAD_PX, CHARGE_PX, LANE_PX, SHED_PX, TITLE_PX, POWER_PX, FOOT_PX = 46, 220, 11, 32, 30, 110, 26
FULL = 1000
"""Height of the stretched drawings: charge and power in thousandths."""
HOURS_UP_TO_DAYS = 5
"""A drawing of no more days than this has hours under it."""
NEAR_RATIO = 0.08
"""Thresholds closer than this have their words on one line only."""


@dataclass(frozen=True, slots=True)
class Bar:
    """A stretch of time, in percent of the drawing."""

    x: str
    width: str


@dataclass(frozen=True, slots=True)
class Mark:
    """Words at a place across, in percent."""

    x: str
    words: str
    is_strong: bool = False


@dataclass(frozen=True, slots=True)
class Level:
    """A dashed line with its words; ``y`` in thousandths, ``y_px`` from the top of the whole drawing."""

    y: int
    y_px: int
    words: str


@dataclass(frozen=True, slots=True)
class Head:
    """A stop's name over its stretch."""

    x: str
    width: str
    name: str
    more: str


@dataclass(frozen=True, slots=True)
class Lane:
    """A row of bars: driving, mains, or the time a shed group is off."""

    y_px: int
    words: str
    bars: tuple[Bar, ...]


@dataclass(frozen=True, slots=True)
class TripChart:
    """Everything the drawing needs; numbers that go into attributes are plain text already."""

    key: str
    steps: str
    least_px: str
    height_px: str
    heads: tuple[Head, ...]
    nights: str
    midnights: str
    starts: str
    band: str
    median: str
    typical: str
    before: str
    """Median of the trip as it was, when two are compared."""
    levels: tuple[Level, ...]
    driving: Lane | None
    mains: Lane | None
    sheds: tuple[Lane, ...]
    power_title_y_px: str
    power_y_px: str
    power_most: Shown | None
    power_half: Shown | None
    engine_area: str
    mains_area: str
    sun_area: str
    load_line: str
    marks: tuple[Mark, ...]
    by_hours: bool
    """The marks are hours of the day, else days."""
    foot_y_px: str
    title: str
    words: str

    @property
    def sheds_off(self) -> bool:
        """Anything goes off in the typical run."""
        return any(lane.bars for lane in self.sheds)


@dataclass(frozen=True, slots=True)
class _Window:
    """Steps ``first`` to ``first + count`` of a trip."""

    outlook: TripOutlook
    first: int
    count: int

    def cut(self, points: Points) -> Points:
        return points[self.first : self.first + self.count]

    def spans(self) -> Iterator[tuple[StopSpan, int]]:
        """Stops in sight, each with the step of the window at which it begins."""
        for span in self.outlook.stops:
            if span.first_point < self.first + self.count and span.first_point + span.points > self.first:
                yield span, span.first_point - self.first

    def bar(self, start: float, end: float) -> Bar | None:
        """A bar from step to step of the window, cut to it; ``None`` outside."""
        low, high = max(0.0, start), min(float(self.count), end)
        if high <= low:
            return None
        return Bar(f"{100 * low / self.count:.3f}", f"{100 * (high - low) / self.count:.3f}")


def trip_chart(
    outlook: TripOutlook, brief: Brief, key: str, *, stop: int | None = None, before: TripOutlook | None = None
) -> TripChart:
    """Draw the trip, or one stop of it by its index; with the median of ``before`` thin behind it."""
    window = _window(outlook, stop)
    strip_px = HEAD_PX + CHARGE_PX + 8
    driving, mains = _charging(window, brief, strip_px)
    lanes_px = strip_px + LANE_PX * sum(1 for lane in (driving, mains) if lane)
    sheds = tuple(
        Lane(lanes_px + 4 + SHED_PX * at, _shed_words(one.names, one.below_ratio), _off(window, one.typical))
        for at, one in enumerate(sorted(outlook.sheds, key=lambda s: -s.below_ratio))
    )
    power_px = lanes_px + 4 + SHED_PX * len(sheds) + TITLE_PX
    foot_px = power_px + POWER_PX
    most_w = _most_w(window)
    engine, main, light = (window.cut(p) for p in (outlook.engine_w, outlook.mains_w, outlook.sun_w))
    with_mains = [a + b for a, b in zip(engine, main, strict=True)]
    return TripChart(
        key=key,
        steps=str(window.count),
        least_px=str(_least_px(window)),
        height_px=str(foot_px + FOOT_PX),
        heads=tuple(_heads(window, brief)),
        nights=_nights(window, brief),
        midnights=_uprights(window, midnights=True),
        starts=_uprights(window, midnights=False),
        band=_band(window),
        median=_line(window, outlook.charge_median),
        typical=_line(window, outlook.charge_typical) if before is None else "",
        before=_before(window, before) if before else "",
        levels=_levels(outlook),
        driving=driving,
        mains=mains,
        sheds=sheds,
        power_title_y_px=str(power_px - TITLE_PX + 4),
        power_y_px=str(power_px),
        power_most=shown(most_w, "W"),
        power_half=shown(most_w / 2, "W"),
        engine_area=_steps(engine, most_w, closed=True) if any(engine) else "",
        mains_area=_steps(with_mains, most_w, closed=True) if any(main) else "",
        sun_area=(
            _steps([a + b for a, b in zip(with_mains, light, strict=True)], most_w, closed=True) if any(light) else ""
        ),
        load_line=_steps(window.cut(outlook.load_w), most_w, closed=False),
        marks=tuple(_marks(window)),
        by_hours=_shows_hours(window),
        foot_y_px=str(foot_px),
        title=_title(outlook, stop, as_tried=before is not None),
        words=_words(window),
    )


def _window(outlook: TripOutlook, stop: int | None) -> _Window:
    for span in outlook.stops:
        if span.index == stop:
            return _Window(outlook, span.first_point, span.points)
    return _Window(outlook, 0, len(outlook.charge_median))


def _least_px(window: _Window) -> int:
    """Width under which the drawing scrolls in its box: long trips may be denser."""
    days = window.count * window.outlook.step_h / 24
    a_day = 150 if days <= 2 else 100 if days <= HOURS_UP_TO_DAYS else 56 if days <= 16 else 30
    return max(280, min(3600, math.ceil(days * a_day)))


# --- Charge ------------------------------------------------------------------------------------------


def _y(ratio: float) -> int:
    return round(FULL * (1 - min(1.0, max(0.0, ratio))))


def _known(window: _Window, points: Points) -> list[tuple[int, int]]:
    """Ends of steps as points, from the end of the step before; a trip begins full."""
    start = points[window.first - 1] if window.first else 1.0
    return [(k, _y(value)) for k, value in enumerate((start, *window.cut(points)))]


def _line(window: _Window, points: Points) -> str:
    return "M" + " ".join(f"{x} {y}" for x, y in _known(window, points))


def _band(window: _Window) -> str:
    upper = _known(window, window.outlook.charge_high)
    lower = _known(window, window.outlook.charge_low)
    return "M" + " ".join(f"{x} {y}" for x, y in [*upper, *reversed(lower)]) + "z"


def _before(window: _Window, before: TripOutlook) -> str:
    """The median as it was, each stop laid over the same stop, as far as both go."""
    was = {span.index: span for span in before.stops}
    parts, wide = [], before.step_h / window.outlook.step_h  # a long trip is drawn in longer steps
    for span, at in window.spans():
        old = was.get(span.index)
        if old is None:
            continue
        reach = min(old.points, int(span.points / wide))
        known = _known(_Window(before, old.first_point, reach), before.charge_median)
        parts.append("M" + " ".join(f"{at + k * wide:g} {y}" for k, y in known))
    return "".join(parts)


def _levels(outlook: TripOutlook) -> tuple[Level, ...]:
    found: list[Level] = []
    for shed in sorted(outlook.sheds, key=lambda s: -s.below_ratio):
        y = _y(shed.below_ratio)
        near = found and y - found[-1].y < FULL * NEAR_RATIO
        says = _("off below %(level)s") % {"level": words.number_words(100 * shed.below_ratio, "%")}
        found.append(Level(y, HEAD_PX + round(CHARGE_PX * y / FULL), "" if near else says))
    return tuple(found)


# --- Over and under it -------------------------------------------------------------------------------


def _heads(window: _Window, brief: Brief) -> Iterator[Head]:
    for span, at in window.spans():
        bar = window.bar(at, at + span.points)
        if bar is not None:
            yield Head(bar.x, bar.width, span.name, _month_words(span, brief))


def _month_words(span: StopSpan, brief: Brief) -> str:
    """The month, and how much of a long stop is drawn."""
    month = str(words.MONTHS[span.month - 1])
    stays = brief.trip[span.index].days if span.index < len(brief.trip) else span.days
    if stays > span.days + 0.01:
        return _("%(month)s, %(shown)s of %(days)s days drawn") % {
            "month": month,
            "shown": words.number_words(span.days),
            "days": words.number_words(stays),
        }
    return month


def _uprights(window: _Window, *, midnights: bool) -> str:
    """Lines at each midnight inside a stop, or at each stop's beginning."""
    a_day = 24 / window.outlook.step_h
    parts = []
    for span, at in window.spans():
        if midnights:
            many = math.ceil(span.points / a_day - 1e-9)
            parts += [f"M{at + k * a_day:g} 0v{FULL}" for k in range(1, many)]
        elif at > 0:
            parts.append(f"M{at} 0v{FULL}")
    return "".join(parts)


def _daily(window: _Window, span: StopSpan, at: int, start_h: float, hours: float) -> Iterator[Bar]:
    """A stretch of the clock on every day of a stop, over midnight where it goes so, cut to the stop."""
    step_h, length_h = window.outlook.step_h, span.points * window.outlook.step_h
    if hours >= 24:
        start_h, hours = 0.0, 24.0
    for day in range(-1, math.ceil(length_h / 24)):
        low, high = max(0.0, 24 * day + start_h % 24), min(length_h, 24 * day + start_h % 24 + hours)
        bar = window.bar(at + low / step_h, at + high / step_h) if high > low else None
        if bar is not None:
            yield bar


def _nights(window: _Window, brief: Brief) -> str:
    step_h, parts = window.outlook.step_h, []
    for span, at in window.spans():
        rise = sun.sunrise_h(_stop(brief, span).site.latitude_deg, span.month)
        end = at + span.points
        for day in range(-1, math.ceil(span.points * step_h / 24)):
            low = max(at, at + (24 * day + 24 - rise) / step_h)
            high = min(end, at + (24 * day + 24 + rise) / step_h)
            if high > low:
                parts.append(f"M{low:.2f} 0H{high:.2f}V{FULL}H{low:.2f}z")
    return "".join(parts)


def _stop(brief: Brief, span: StopSpan) -> Stop:
    return brief.trip[min(span.index, len(brief.trip) - 1)]


def _charging(window: _Window, brief: Brief, y_px: int) -> tuple[Lane | None, Lane | None]:
    driving: list[Bar] = []
    mains: list[Bar] = []
    for span, at in window.spans():
        stop = _stop(brief, span)
        if stop.driving_h_per_day > 0:
            driving += _daily(window, span, at, stop.driving_start_h, stop.driving_h_per_day)
        if stop.mains_h_per_day > 0:
            mains += _daily(window, span, at, stop.mains_start_h, stop.mains_h_per_day)
    first = Lane(y_px, "", tuple(driving)) if driving else None
    second = Lane(y_px + (LANE_PX if first else 0), "", tuple(mains)) if mains else None
    return first, second


def _off(window: _Window, typical: Sequence[OffSpan]) -> tuple[Bar, ...]:
    step_h = window.outlook.step_h
    bars = (window.bar(off.start_h / step_h - window.first, off.end_h / step_h - window.first) for off in typical)
    return tuple(bar for bar in bars if bar is not None)


def _shed_words(names: tuple[str, ...], below_ratio: float) -> str:
    return _("%(what)s, off below %(level)s") % {
        "what": some_of(names),
        "level": words.number_words(100 * below_ratio, "%"),
    }


def some_of(names: tuple[str, ...], most: int = 3) -> str:
    """Names in a line: all of a few, else the first with how many more."""
    if len(names) <= most:
        return ", ".join(names)
    return _("%(some)s and %(n)d more") % {"some": ", ".join(names[: most - 1]), "n": len(names) - most + 1}


# --- Power -------------------------------------------------------------------------------------------


def _most_w(window: _Window) -> float:
    """Top of the power's scale: the next of 1, 2, 5 times a power of ten that holds everything."""
    outlook = window.outlook
    sources = zip(*(window.cut(p) for p in (outlook.engine_w, outlook.mains_w, outlook.sun_w)), strict=True)
    most = max(max((sum(one) for one in sources), default=0.0), max(window.cut(outlook.load_w), default=0.0), 1.0)
    decade = 10.0 ** math.floor(math.log10(most))
    return next(decade * k for k in (1, 1.5, 2, 3, 4, 5, 6, 8, 10) if decade * k >= most * 0.999)


def _steps(values: Sequence[float], most: float, *, closed: bool) -> str:
    """Means over steps as stairs, down to the ground when closed; level runs are one stroke."""
    heights = [round(FULL * (1 - v / most)) for v in values]
    parts = [f"M0 {FULL}V{heights[0]}" if closed else f"M0 {heights[0]}"]
    for k, (here, following) in enumerate(zip(heights, [*heights[1:], None], strict=True), start=1):
        if following != here:
            parts.append(f"H{k}" if following is None else f"H{k}V{following}")
    return "".join(parts) + (f"V{FULL}z" if closed else "")


# --- Words -------------------------------------------------------------------------------------------


def _marks(window: _Window) -> Iterator[Mark]:
    """Days of each stop under the drawing; hours too while there is room."""
    a_day = 24 / window.outlook.step_h
    px = _least_px(window) / (window.count / a_day)
    every = max(1, math.ceil(28 / px))
    for span, at in window.spans():
        for day in range(math.ceil(span.points / a_day - 1e-9)):
            left = min(a_day, span.points - day * a_day)
            if _shows_hours(window):
                for hour in (6, 12, 18):
                    if hour <= left * window.outlook.step_h:
                        yield Mark(_percent(window, at + day * a_day + hour / window.outlook.step_h), f"{hour}")
            elif day % every == 0:
                yield Mark(_percent(window, at + day * a_day + left / 2), str(day + 1))


def _shows_hours(window: _Window) -> bool:
    return window.count * window.outlook.step_h / 24 <= HOURS_UP_TO_DAYS


def _percent(window: _Window, step: float) -> str:
    return f"{100 * step / window.count:.3f}"


def _title(outlook: TripOutlook, stop: int | None, *, as_tried: bool) -> str:
    """What is drawn, in words that no other drawing of a page has."""
    for span in outlook.stops:
        if span.index == stop:
            where = {"number": stop + 1, "name": span.name, "month": words.MONTHS[span.month - 1]}
            if as_tried:
                return _("Charge and power as tried at stop %(number)d, %(name)s, %(month)s") % where
            return _("Charge and power at stop %(number)d, %(name)s, %(month)s") % where
    return _("Charge and power over the trip, as tried") if as_tried else _("Charge and power over the trip")


def _words(window: _Window) -> str:
    outlook = window.outlook
    median, low = window.cut(outlook.charge_median), window.cut(outlook.charge_low)
    return _(
        "In the middle of %(draws)d weathers the charge falls to %(median)s and ends at %(end)s; "
        "in the bad one in %(one_in)s it falls to %(low)s."
    ) % {
        "draws": outlook.draws,
        "median": words.number_words(round(100 * min(median)), "%"),
        "end": words.number_words(round(100 * median[-1]), "%"),
        "one_in": words.number_words(round(1 / outlook.low_ratio)) if outlook.low_ratio else "–",
        "low": words.number_words(round(100 * min(low)), "%"),
    }
