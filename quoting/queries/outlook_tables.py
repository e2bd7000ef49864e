"""What stands beside an outlook's charts: its numbers by days and by hours."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from quoting.queries.outlook_words import clock_words, per_cent
from quoting.queries.shown import Shown, shown
from quoting.sizing.outlook import StopSpan, TripOutlook


@dataclass(frozen=True, slots=True)
class TimeRow:
    """One stretch of time of the table beside a chart; a row whose ``stop`` is set begins a stop."""

    stop: str
    when: str
    low: Shown | None
    median: Shown | None
    high: Shown | None
    load: Shown | None
    engine: Shown | None
    mains: Shown | None
    sun: Shown | None


@dataclass(frozen=True, slots=True)
class Timetable:
    """A chart's numbers: charge at the end, or lowest, and power or energy."""

    title: str
    of: str
    """``day`` or ``hours``: what a row is."""
    rows: tuple[TimeRow, ...]


# --- Tables beside the charts ------------------------------------------------------------------------


def by_days(outlook: TripOutlook) -> Timetable:
    """The whole trip, a row a day."""
    a_day = max(1, round(24 / outlook.step_h))
    rows = [
        _time_row(outlook, span, first, min(first + a_day, span.first_point + span.points), as_day=True)
        for span in outlook.stops
        for first in range(span.first_point, span.first_point + span.points, a_day)
    ]
    return Timetable(_("The trip by days"), "day", tuple(rows))


def by_hours(outlook: TripOutlook, span: StopSpan) -> Timetable:
    """One stop by hours; a long one by several at a time."""
    together_h = 1 if span.days <= 3 else 3 if span.days <= 7 else 6
    together = max(1, round(together_h / outlook.step_h))
    rows = [
        _time_row(outlook, span, first, min(first + together, span.first_point + span.points), as_day=False)
        for first in range(span.first_point, span.first_point + span.points, together)
    ]
    return Timetable(
        _("Stop %(number)d by hours, %(name)s") % {"number": span.index + 1, "name": span.name}, "hours", tuple(rows)
    )


def _time_row(outlook: TripOutlook, span: StopSpan, first: int, end: int, *, as_day: bool) -> TimeRow:
    """Steps ``first`` to ``end``: lowest charges and energy of a day, or charge at the end and mean power."""
    part = slice(first, end)
    hours = (first - span.first_point) * outlook.step_h
    if as_day:
        when = _("day %(day)d") % {"day": int(hours // 24) + 1}
        charge = [min(p[part]) for p in (outlook.charge_low, outlook.charge_median, outlook.charge_high)]
        scale, unit = outlook.step_h, "Wh"
    else:
        when = clock_words(hours)
        charge = [p[end - 1] for p in (outlook.charge_low, outlook.charge_median, outlook.charge_high)]
        scale, unit = 1 / (end - first), "W"
    power = [round(sum(p[part]) * scale) for p in (outlook.load_w, outlook.engine_w, outlook.mains_w, outlook.sun_w)]
    return TimeRow(
        span.name if first == span.first_point else "",
        when,
        *(per_cent(c) for c in charge),
        *(shown(p, unit) for p in power),
    )
