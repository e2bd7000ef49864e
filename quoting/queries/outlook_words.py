"""Shares, times and places of an outlook in words; the figures that lead its page."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from quoting import words
from quoting.queries.shown import Shown, shown
from quoting.queries.trip_chart import some_of
from quoting.sizing.appraisal import Lasting
from quoting.sizing.brief import Brief
from quoting.sizing.outlook import StopSpan, TripOutlook


@dataclass(frozen=True, slots=True)
class Lead:
    """A large figure with what it is and a line under it."""

    label: str
    value: Shown | None
    more: str = ""
    is_grave: bool = False


def per_cent(ratio: float | None) -> Shown | None:
    """A share in whole per cent; under one of them, with a decimal."""
    if ratio is None:
        return None
    value = 100 * ratio
    return shown(round(value) if value >= 1 or value == 0 else round(value, 1), "%")


def per_cent_words(ratio: float) -> str:
    value = 100 * ratio
    return words.number_words(round(value) if value >= 1 or value == 0 else round(value, 1), "%")


def tenth(value: float | None) -> float | None:
    return None if value is None else round(value, 1)


def lowest_at(points: tuple[float, ...]) -> int:
    return min(range(len(points)), key=points.__getitem__)


def when_words(outlook: TripOutlook, point: int) -> str:
    """The end of a step as place, day and hour: “Cinder Ridge, day 3, 06:00”."""
    for span in outlook.stops:
        if span.first_point <= point < span.first_point + span.points:
            return at_stop(outlook, span, clock_words((point + 1 - span.first_point) * outlook.step_h, is_end=True))
    return ""


def at_stop(outlook: TripOutlook, span: StopSpan, when: str) -> str:
    """A time with its place, where there are several; a place that comes twice with its month or its number."""
    alike = [other for other in outlook.stops if other.name == span.name]
    if len(outlook.stops) == 1:
        return when
    if len(alike) == 1:
        return f"{span.name}, {when}"
    if len({other.month for other in alike}) == len(alike):
        return f"{span.name}, {words.MONTHS[span.month - 1]}, {when}"
    return _("stop %(number)d, %(name)s, %(when)s") % {"number": span.index + 1, "name": span.name, "when": when}


def clock_words(hours: float, *, is_end: bool = False) -> str:
    """Hours from a stop's start as day and time of day; midnight as 24:00 of the day that ends if ``is_end``."""
    day, hour = divmod(round(hours, 4), 24)
    if is_end and hour == 0 and day > 0:
        day, hour = day - 1, 24.0
    minutes = round(60 * (hour % 1))
    return _("day %(day)d, %(time)s") % {"day": day + 1, "time": f"{int(hour):02d}:{minutes % 60:02d}"}


def trip_clock(outlook: TripOutlook, hours: float, *, is_end: bool = False) -> str:
    """Hours from the trip's start as the place's day and time; midnight as the end of a day if ``is_end``."""
    for number, span in enumerate(outlook.stops):
        begin = span.first_point * outlook.step_h
        end = begin + span.points * outlook.step_h
        if hours < end or number == len(outlook.stops) - 1 or (is_end and hours == end):
            return at_stop(outlook, span, clock_words(max(0.0, hours - begin), is_end=is_end))
    return ""


# --- Lead figures ------------------------------------------------------------------------------------


def has_essential(brief: Brief) -> bool:
    """Somebody has marked a load essential. If nobody has, only the system itself can go dark."""
    return any(load.essential for load in brief.loads)


def lead_figures(outlook: TripOutlook, brief: Brief, lasting: tuple[Lasting, ...]) -> list[Lead]:
    """What somebody wants to know first."""
    reserve = next((x.until_ratio for x in lasting if x.until == "empty"), 0.0)
    flat = (
        _("from full to %(reserve)s, loads let go on the way")
        if outlook.sheds
        else _("from full to %(reserve)s, everything running")
    )
    dark = outlook.dark
    sheds = max(outlook.sheds, key=lambda s: s.chance_ratio, default=None)
    found = [
        Lead(
            _("Lowest, middle weather"),
            per_cent(outlook.lowest_median_ratio),
            when_words(outlook, lowest_at(outlook.charge_median)),
        ),
        Lead(
            bad_label(outlook),
            per_cent(outlook.lowest_low_ratio),
            when_words(outlook, lowest_at(outlook.charge_low)),
        ),
        Lead(
            _("Essential load goes dark"),
            per_cent(dark.chance_ratio),
            _("%(n)s of %(draws)s weathers") % {"n": dark.draws_dark, "draws": words.number_words(outlook.draws)}
            if has_essential(brief)
            else _("none is marked; the system itself counts"),
        ),
    ]
    if sheds is not None:
        what = some_of(sheds.names, 2) if sheds.chance_ratio else _("nothing goes off")
        found.append(Lead(_("Something is shed"), per_cent(sheds.chance_ratio), what))
    found.append(
        Lead(
            _("Flat with no charging"),
            shown(tenth(outlook.flat_days), "day"),
            flat % {"reserve": per_cent_words(reserve)},
        )
        if outlook.flat_days is not None
        else Lead(_("Flat with no charging"), None, _("not within a year"))
    )
    found.append(Lead(_("At the trip's end"), per_cent(outlook.end_median_ratio), _("middle weather")))
    return found


def bad_label(outlook: TripOutlook) -> str:
    """“Lowest, 1 weather in 20”, by the policy's percentile."""
    return _("Lowest, 1 weather in %(n)s") % {"n": words.number_words(round(1 / outlook.low_ratio))}
