"""The year at the home site: twelve columns of sun against use, and which month fails first."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.dates import MONTHS_3
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from quoting import words
from quoting.queries.shown import Shown, shown
from quoting.sizing.brief import Brief
from quoting.sizing.outlook import MonthOutlook, TripOutlook

FULL = 1000


@dataclass(frozen=True, slots=True)
class MonthColumn:
    """One month: ``*_y`` in thousandths from the top, ``x`` its middle in percent of the drawing."""

    name: str
    short: str
    left: str
    middle: str
    bar: str
    """Where its bar begins in a drawing of twelve hundred."""
    sun_y: int
    load_y: int
    low_y: int
    median_y: int
    load: Shown | None
    sun: Shown | None
    low: Shown | None
    median: Shown | None
    dark: Shown | None
    shed: Shown | None
    holds: bool
    is_named: bool
    """It fails first, or is the weakest."""


@dataclass(frozen=True, slots=True)
class Year:
    site: str
    columns: tuple[MonthColumn, ...]
    most: Shown | None
    words: str
    fails: bool


def year_of(outlook: TripOutlook, brief: Brief) -> Year | None:
    if not outlook.year:
        return None
    most = max(max(m.sun_wh_day, m.load_wh_day) for m in outlook.year) or 1.0
    named = outlook.first_failing_month or outlook.weakest_month
    site = brief.trip[0].site.name
    return Year(
        site=site,
        columns=tuple(_column(month, most, named) for month in outlook.year),
        most=shown(round(most), "Wh"),
        words=_words(outlook, brief, site),
        fails=outlook.first_failing_month is not None,
    )


def _column(month: MonthOutlook, most: float, named: int | None) -> MonthColumn:
    def share(value: float) -> int:
        return round(FULL * (1 - min(1.0, max(0.0, value))))

    def per_cent(ratio: float) -> Shown | None:
        value = 100 * ratio
        return shown(round(value) if value >= 1 or value == 0 else round(value, 1), "%")

    at = month.month - 1
    return MonthColumn(
        name=str(words.MONTHS[at]),
        short=str(MONTHS_3[month.month]).capitalize(),
        left=f"{100 * at / 12:.3f}",
        middle=f"{100 * (at + 0.5) / 12:.3f}",
        bar=str(100 * at + 18),
        sun_y=share(month.sun_wh_day / most),
        load_y=share(month.load_wh_day / most),
        low_y=share(month.lowest_low_ratio),
        median_y=share(month.lowest_median_ratio),
        load=shown(round(month.load_wh_day), "Wh"),
        sun=shown(round(month.sun_wh_day), "Wh"),
        low=per_cent(month.lowest_low_ratio),
        median=per_cent(month.lowest_median_ratio),
        dark=per_cent(month.dark_chance_ratio),
        shed=per_cent(month.shed_chance_ratio),
        holds=month.holds,
        is_named=month.month == named,
    )


def _words(outlook: TripOutlook, brief: Brief, site: str) -> str:
    by_number = {m.month: m for m in outlook.year}
    allowed = words.number_words(100 * brief.policy.dark_chance_ratio, "%")
    failing, weakest = by_number.get(outlook.first_failing_month or 0), by_number.get(outlook.weakest_month or 0)
    if failing is not None:
        more = sum(not m.holds for m in outlook.year) - 1
        first = ngettext(
            "%(month)s fails first at %(site)s, and %(more)d month more fails",
            "%(month)s fails first at %(site)s, and %(more)d months more fail",
            more,
        )
        lead = first if more else _("%(month)s fails at %(site)s")
        said = (
            lead
            + ": "
            + _(
                "an essential load goes dark in %(chance)s of its weathers, where the workshop's policy allows "
                "%(allowed)s."
            )
        )
        return said % {
            "month": words.MONTHS[failing.month - 1],
            "site": site,
            "more": more,
            "chance": words.number_words(round(100 * failing.dark_chance_ratio, 1), "%"),
            "allowed": allowed,
        }
    if weakest is not None:
        return _(
            "Every month holds what is essential at %(site)s. %(month)s is the weakest: in the bad weather the charge "
            "falls to %(low)s.%(shed)s"
        ) % {
            "month": words.MONTHS[weakest.month - 1],
            "site": site,
            "low": words.number_words(round(100 * weakest.lowest_low_ratio), "%"),
            "shed": _shed_words(outlook),
        }
    return _("Every month holds what is essential at %(site)s.") % {"site": site}


def _shed_words(outlook: TripOutlook) -> str:
    """In how many months something is let go, with a space before; empty if in none."""
    months = sum(m.shed_chance_ratio > 0 for m in outlook.year)
    if not months:
        return ""
    said = ngettext(
        "In %(n)d month something is let go in some weathers.",
        "In %(n)d months something is let go in some weathers.",
        months,
    )
    return " " + said % {"n": months}
