"""The trip over many weathers as its page shows it: figures, stops, what goes off, the year. Nothing is computed."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from quoting import words
from quoting.models import Design
from quoting.queries.outlook_flows import Balance, balances
from quoting.queries.outlook_off import (
    CutOutRow,
    ShedRow,
    SourceRow,
    charging_leads,
    cutout_rows,
    dark_leads,
    dark_words,
    shed_row,
    source_row,
    sources_day,
    starter_leads,
    starter_words,
)
from quoting.queries.outlook_tables import Timetable, by_days, by_hours
from quoting.queries.outlook_words import Lead, has_essential, lead_figures, per_cent, per_cent_words
from quoting.queries.outlook_year import Year, year_of
from quoting.queries.shown import Shown, shown
from quoting.queries.trip_chart import TripChart, trip_chart
from quoting.services import designs
from quoting.sizing.brief import Brief
from quoting.sizing.outlook import StopSpan, TripOutlook


@dataclass(frozen=True, slots=True)
class Zoom:
    """One stop closer."""

    name: str
    month: str
    days: Shown | None
    low: Shown | None
    chart: TripChart
    table: Timetable


@dataclass(frozen=True, slots=True)
class OutlookPage:
    """The page of one design's outlook."""

    design: Design
    leads: list[Lead]
    chart: TripChart
    table: Timetable
    zooms: list[Zoom]
    balances: list[Balance]
    sheds: list[ShedRow]
    dark: str
    dark_leads: list[Lead]
    sources: list[SourceRow]
    sources_day: str
    charging: list[Lead]
    year: Year | None
    starter: str
    starter_leads: list[Lead]
    cutouts: list[CutOutRow]
    about: str


def outlook_page(design: Design) -> OutlookPage | None:
    """Read a kept design's outlook; ``None`` for a design from before, or without a battery."""
    appraisal, brief = designs.appraisal_of(design), designs.brief_of(design)
    outlook = appraisal.outlook
    if outlook is None:
        return None
    return OutlookPage(
        design=design,
        leads=lead_figures(outlook, brief, appraisal.lasting),
        chart=trip_chart(outlook, brief, "trip"),
        table=by_days(outlook),
        zooms=[_zoom(outlook, brief, span) for span in outlook.stops],
        balances=balances(outlook, appraisal),
        sheds=[shed_row(outlook, shed) for shed in sorted(outlook.sheds, key=lambda s: -s.below_ratio)],
        dark=dark_words(outlook.dark, outlook.draws, has_essential(brief)),
        dark_leads=dark_leads(outlook),
        sources=[source_row(source) for source in appraisal.sources],
        sources_day=sources_day(appraisal),
        charging=list(charging_leads(appraisal, outlook)),
        year=year_of(outlook, brief),
        starter=starter_words(outlook),
        starter_leads=list(starter_leads(outlook)),
        cutouts=cutout_rows(outlook),
        about=about_words(outlook),
    )


def about_words(outlook: TripOutlook) -> str:
    """How it was made, said once."""
    return _(
        "Simulated hour by hour over %(draws)s weathers drawn for each month and place, the same ones every time. "
        "Half of them lie above the middle line; the band leaves the worst and the best %(low)s out of each hour. "
        "Each has its lowest hour at a time of its own, so the lowest charge of a bad weather may lie under the band. "
        "Times are local solar time."
    ) % {"draws": words.number_words(outlook.draws), "low": per_cent_words(outlook.low_ratio)}


def _zoom(outlook: TripOutlook, brief: Brief, span: StopSpan) -> Zoom:
    lowest = min(outlook.charge_low[span.first_point : span.first_point + span.points])
    return Zoom(
        name=span.name,
        month=str(words.MONTHS[span.month - 1]),
        days=shown(round(span.days, 1), "day"),
        low=per_cent(lowest),
        chart=trip_chart(outlook, brief, f"stop-{span.index}", stop=span.index),
        table=by_hours(outlook, span),
    )
