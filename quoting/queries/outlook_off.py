"""What goes off, what goes dark, what charges, and what becomes of the starter battery, as rows of a page."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from quoting import words
from quoting.queries.outlook_words import Lead, per_cent, per_cent_words, tenth, trip_clock
from quoting.queries.shown import Shown, shown
from quoting.sizing.appraisal import Appraisal, SourceSummary
from quoting.sizing.outlook import Darkness, OffSpan, ShedOutlook, TripOutlook

NAMED_SPANS = 8
"""Times a group is off that a line names; more are counted."""


@dataclass(frozen=True, slots=True)
class ShedRow:
    """What becomes of one shed group."""

    what: str
    below: Shown | None
    restore: Shown | None
    chance: Shown | None
    hours: Shown | None
    hours_bad: Shown | None
    typical: str
    never: bool
    """It goes off in none of the weathers."""


@dataclass(frozen=True, slots=True)
class SourceRow:
    name: str
    sub: str
    current: Shown | None
    full: Shown | None
    day: Shown | None


@dataclass(frozen=True, slots=True)
class CutOutRow:
    name: str
    cutout: Shown | None
    drop: Shown | None
    running: str
    starting: str


# --- Off and dark ------------------------------------------------------------------------------------


def shed_row(outlook: TripOutlook, shed: ShedOutlook) -> ShedRow:
    return ShedRow(
        what=", ".join(shed.names),
        below=per_cent(shed.below_ratio),
        restore=per_cent(shed.restore_ratio),
        chance=per_cent(shed.chance_ratio),
        hours=shown(round(shed.hours_mean, 1), "h"),
        hours_bad=shown(round(shed.hours_high, 1), "h"),
        typical=_typical_words(outlook, shed),
        never=shed.chance_ratio == 0,
    )


def _typical_words(outlook: TripOutlook, shed: ShedOutlook) -> str:
    if not shed.typical:
        return _("stays on")
    said = [_span_words(outlook, off) for off in shed.typical[:NAMED_SPANS]]
    more = len(shed.typical) - len(said)
    if more:
        said.append(_("and %(n)d times more") % {"n": more})
    return "; ".join(said)


def _span_words(outlook: TripOutlook, off: OffSpan) -> str:
    """“Cinder Ridge, day 2, 03:00–10:00”; place and day are said again only where they are others."""
    start, end = trip_clock(outlook, off.start_h), trip_clock(outlook, off.end_h, is_end=True)
    day, _comma, time = end.rpartition(", ")
    return f"{start}–{time}" if start.startswith(f"{day}, ") else f"{start} – {end}"


def dark_words(dark: Darkness, draws: int, has_essential: bool = True) -> str:
    """The chance that an essential load goes dark, with what so many draws can say about it."""
    said = _dark_words(dark, draws)
    if has_essential:
        return said
    return _("No load is marked essential; only the draw of the system itself counts here.") + " " + said


def _dark_words(dark: Darkness, draws: int) -> str:
    so_sure = _("at most %(high)s with 95 %% confidence") % {"high": _tenths(dark.chance_high_ratio)}
    if not dark.draws_dark:
        return _("In none of %(draws)s weathers does an essential load go dark; %(so_sure)s.") % {
            "draws": words.number_words(draws),
            "so_sure": so_sure,
        }
    said = ngettext(
        "In %(n)d of %(draws)s weathers an essential load goes dark; %(so_sure)s.",
        "In %(n)d of %(draws)s weathers an essential load goes dark; %(so_sure)s.",
        dark.draws_dark,
    )
    return said % {"n": dark.draws_dark, "draws": words.number_words(draws), "so_sure": so_sure}


def _tenths(ratio: float) -> str:
    """A bound keeps a decimal: rounded down it would say too little."""
    return words.number_words(math.ceil(1000 * ratio - 1e-9) / 10, "%")


def dark_leads(outlook: TripOutlook) -> list[Lead]:
    dark = outlook.dark
    found = [
        Lead(
            _("By charge"),
            per_cent(dark.by_charge_ratio),
            _("the battery is empty, at its current limit, or so low that an essential load is shed"),
        ),
        Lead(
            _("By voltage"),
            per_cent(dark.by_voltage_ratio),
            _("sag under an appliance's cut-out, or the battery's own protection"),
        ),
    ]
    if dark.draws_dark:
        found.append(Lead(_("Dark for"), shown(round(dark.hours_mean, 1), "h"), _("mean over all weathers")))
    if dark.first_h is not None:
        found.append(Lead(_("First"), None, trip_clock(outlook, dark.first_h)))
    return found


# --- Sources -----------------------------------------------------------------------------------------


def source_row(source: SourceSummary) -> SourceRow:
    names = {"engine": _("Engine"), "mains": _("Mains"), "sun": _("Sun"), "together": _("All together")}
    return SourceRow(
        name=names[source.source],
        sub=source.unit_name,
        current=shown(source.current_a, "A"),
        full=shown(tenth(source.hours_to_full), "h"),
        day=shown(round(source.energy_wh_day), "Wh"),
    )


def sources_day(appraisal: Appraisal) -> str:
    """Which day the energies of the sources are of."""
    index = next((x.stop_index for x in appraisal.sources), None)
    if index is None or index >= len(appraisal.stops):
        return ""
    stop = appraisal.stops[index]
    return _("A day is one at %(name)s in %(month)s%(why)s.") % {
        "name": stop.name,
        "month": words.MONTHS[stop.month - 1],
        "why": _(", the stop that asks most") if len(appraisal.stops) > 1 else "",
    }


def charging_leads(appraisal: Appraisal, outlook: TripOutlook) -> Iterator[Lead]:
    """What an hour's drive gives, and what one grey day costs at each stop."""
    hour = appraisal.figures.get("engine.hour_gives_ah")
    if hour is not None:
        yield Lead(_("An hour's drive gives"), shown(round(hour.value, 1), hour.unit))
    for span in outlook.stops:
        if span.grey_day_ah > 0:
            yield Lead(
                _("A grey day costs"),
                shown(round(span.grey_day_ah, 1), "Ah"),
                _("%(name)s, %(month)s: the sun offers %(wh)s then")
                % {
                    "name": span.name,
                    "month": words.MONTHS[span.month - 1],
                    "wh": words.number_words(round(span.sun_low_wh_day), "Wh"),
                },
            )


# --- Starter, cut-outs -------------------------------------------------------------------------------


def starter_words(outlook: TripOutlook) -> str:
    starter = outlook.starter
    if starter is None:
        return ""
    if starter.no_crank:
        return _("It falls to %(low)s: the engine may not crank.") % {"low": per_cent_words(starter.lowest_ratio)}
    return _("It keeps enough to crank all the way.")


def starter_leads(outlook: TripOutlook) -> Iterator[Lead]:
    starter = outlook.starter
    if starter is None:
        return
    yield Lead(_("Lowest"), per_cent(starter.lowest_ratio), "", starter.no_crank)
    yield Lead(_("At the trip's end"), per_cent(starter.end_ratio))
    if starter.idle_deficit_ah_day > 0:
        yield Lead(
            _("Taken at idle"), shown(round(starter.idle_deficit_ah_day, 1), "Ah"), _("a day, put back at speed")
        )
    if starter.days_parked is not None:
        yield Lead(
            _("Parked until it may not crank"),
            shown(round(starter.days_parked), "day"),
            _("from the charge the vehicle keeps it at"),
        )


def cutout_rows(outlook: TripOutlook) -> list[CutOutRow]:
    def at(ratio: float | None) -> str:
        return _("never") if ratio is None else _("below %(level)s") % {"level": per_cent_words(ratio)}

    return [
        CutOutRow(
            name=one.name,
            cutout=shown(one.cutout_v, "V"),
            drop=shown(round(one.drop_v, 2), "V"),
            running=at(one.stops_at_ratio),
            starting=at(one.start_stops_at_ratio),
        )
        for one in outlook.cutouts
    ]
