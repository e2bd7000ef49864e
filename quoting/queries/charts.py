"""The 24 hours of a stop as a chart and as a table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from quoting import words
from quoting.queries.shown import Shown, shown
from quoting.sizing import sun
from quoting.sizing.appraisal import Appraisal, StopResult
from quoting.sizing.brief import Brief, Stop


@dataclass(frozen=True, slots=True)
class Band:
    """A stretch of hours, in percent of the day."""

    x: float
    width: float


@dataclass(frozen=True, slots=True)
class Limit:
    """A dashed line with its words: ``y`` in percent from full."""

    y: float
    words: str


@dataclass(frozen=True, slots=True)
class HourRow:
    hour: str
    load: Shown | None
    engine: Shown | None
    mains: Shown | None
    sun: Shown | None
    charge: Shown | None


@dataclass(frozen=True, slots=True)
class StopChart:
    """The 24 hours of a stop: state of charge as a path in hours and percent from full."""

    index: int
    name: str
    month: str
    days: float
    line: str
    nights: str
    driving: tuple[Band, ...]
    mains: tuple[Band, ...]
    sunlit: str
    """Area of the sun's offer, scaled to the day's largest power."""
    most_w: Shown | None
    limits: tuple[Limit, ...]
    lowest: Shown | None
    lowest_at: str
    start: Shown | None
    end: Shown | None
    totals: tuple[tuple[str, Shown | None, str], ...]
    hours: tuple[HourRow, ...]
    words: str


def stop_charts(appraisal: Appraisal, brief: Brief) -> list[StopChart]:
    return [_chart(stop, brief.trip[stop.index], brief) for stop in appraisal.stops]


def _chart(result: StopResult, stop: Stop, brief: Brief) -> StopChart:
    points = [(0, result.charge_ratio[-1] if result.days > 1 else result.start_ratio)]
    points += list(enumerate(result.charge_ratio, start=1))
    month = str(words.MONTHS[result.month - 1])
    at = f"{result.lowest_hour:02d}:00"
    most_w = max(result.sun_w)
    sentence = _(
        "State of charge over a mean day at %(name)s in %(month)s: lowest %(low)s at %(at)s, %(end)s at the stop's end."
    ) % {
        "name": result.name,
        "month": month,
        "low": words.number_words(100 * result.lowest_ratio, "%"),
        "at": at,
        "end": words.number_words(100 * result.end_ratio, "%"),
    }
    return StopChart(
        index=result.index,
        name=result.name,
        month=month,
        days=result.days,
        line="M" + " ".join(f"{x} {100 - 100 * y:.1f}" for x, y in points),
        nights=_nights(stop),
        driving=_bands(stop.driving_start_h, stop.driving_h_per_day),
        mains=_bands(stop.mains_start_h, stop.mains_h_per_day),
        sunlit=_area(result.sun_w, most_w),
        most_w=shown(most_w, "W") if most_w > 0 else None,
        limits=_limits(brief),
        lowest=shown(round(100 * result.lowest_ratio), "%"),
        lowest_at=at,
        start=shown(round(100 * result.start_ratio), "%"),
        end=shown(round(100 * result.end_ratio), "%"),
        totals=_totals(result),
        hours=tuple(
            HourRow(
                hour=f"{h:02d}:00",
                load=shown(result.load_w[h]),
                engine=shown(result.engine_w[h]),
                mains=shown(result.mains_w[h]),
                sun=shown(result.sun_w[h]),
                charge=shown(100 * result.charge_ratio[h]),
            )
            for h in range(24)
        ),
        words=sentence,
    )


def _totals(result: StopResult) -> tuple[tuple[str, Shown | None, str], ...]:
    """Energies of the stop; sources that give nothing and losses that do not happen are left out."""
    rows = (
        (_("Used"), result.load_wh, _("a day"), True),
        (_("Engine"), result.engine_wh, _("a day"), False),
        (_("Mains"), result.mains_wh, _("a day"), False),
        (_("Sun"), result.sun_wh, _("a day"), False),
        (_("Met a full battery"), result.spilled_wh, _("a day"), False),
        (_("Not given"), result.unserved_wh, _("over the stop"), False),
    )
    return tuple((label, shown(round(wh), "Wh"), when) for label, wh, when, always in rows if always or round(wh) > 0)


def _nights(stop: Stop) -> str:
    rise = sun.sunrise_h(stop.site.latitude_deg, stop.month)
    return f"M0 0h{rise:.2f}v100H0zM{24 - rise:.2f} 0H24v100H{24 - rise:.2f}z"


def _bands(start_h: float, hours: float) -> tuple[Band, ...]:
    if hours <= 0:
        return ()
    if hours >= 24:
        return (Band(0.0, 100.0),)
    start = start_h % 24
    first = min(hours, 24 - start)
    bands = [Band(round(start / 0.24, 3), round(first / 0.24, 3))]
    if hours > first:
        bands.append(Band(0.0, round((hours - first) / 0.24, 3)))
    return tuple(bands)


def _area(values: Sequence[float], most: float) -> str:
    if most <= 0:
        return ""
    tops = " ".join(f"{h + 0.5} {100 - 60 * w / most:.1f}" for h, w in enumerate(values))
    return f"M0.5 100L{tops} 23.5 100z"


def _limits(brief: Brief) -> tuple[Limit, ...]:
    by_level: dict[float, list[str]] = {}
    for load in brief.loads:
        if load.shed_below_ratio:
            by_level.setdefault(load.shed_below_ratio, []).append(load.name)
    out = []
    for ratio, names in sorted(by_level.items(), reverse=True)[:3]:
        what = names[0] if len(names) == 1 else _("%(n)d loads") % {"n": len(names)}
        level = words.number_words(100 * ratio, "%")
        out.append(Limit(100 - 100 * ratio, _("%(what)s off below %(level)s") % {"what": what, "level": level}))
    return tuple(out)
