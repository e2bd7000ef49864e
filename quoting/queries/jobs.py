"""Jobs for lists and pages."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import OuterRef, QuerySet, Subquery
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from catalog.finding import matching
from catalog.quantities import format_number, format_quantity
from fitouts.models import COURSE, Fitout, Requirement, Stage, StageEvent, TripStop
from fitouts.services.fitouts import ASIDE
from quoting.services.audit_day import AuditDay

PERCENT = 100.0


def visible_to(user: Any) -> QuerySet[Fitout]:
    """Everybody of the workshop reads its jobs; nobody else does."""
    if getattr(user, "is_authenticated", False) and user.is_active:
        return Fitout.objects.all()
    return Fitout.objects.none()


def for_list(user: Any) -> QuerySet[Fitout]:
    """Jobs with all that a row of the list shows; what is beside them is looked up only for the rows read."""
    last_event = StageEvent.objects.filter(fitout=OuterRef("pk")).order_by("-pk").values("at")[:1]
    return visible_to(user).select_related("customer", "vehicle", "assigned_to").annotate(moved_at=Subquery(last_event))


def for_page(user: Any) -> QuerySet[Fitout]:
    """One job with what its page shows."""
    return visible_to(user).select_related("customer", "vehicle", "trailer", "assigned_to", "created_by")


def search(rows: QuerySet[Fitout], text: str) -> QuerySet[Fitout]:
    """Rows with a word beginning so, for each word of ``text``, in number, title, customer, vehicle or plate."""
    return matching(rows, "job", text)


def lines_of(fitout: Fitout) -> list[Requirement]:
    return list(fitout.requirements.select_related("position", "appliance"))


def stops_of(fitout: Fitout) -> list[TripStop]:
    return list(fitout.stops.select_related("site"))


@dataclass(frozen=True, slots=True)
class Stud:
    """One stage on the bar: ``state`` is done, now or later."""

    state: str
    words: str
    when: datetime | None = None
    more: str = ""


def stage_bar(fitout: Fitout, events: Sequence[StageEvent]) -> list[Stud]:
    """The course of the job with the day each stage was reached; aside, the stage it stood at and why not on."""
    reached = {event.to_stage: event.at for event in events}
    here = fitout.held_from if fitout.stage in ASIDE else fitout.stage
    at = COURSE.index(Stage(here)) if here in COURSE else 0
    studs = []
    for i, stage in enumerate(COURSE):
        if i > at:
            studs.append(Stud("later", str(stage.label)))
        elif i < at or fitout.stage in ASIDE:
            studs.append(Stud("done", str(stage.label), reached.get(stage)))
        else:
            studs.append(Stud("now", str(stage.label), reached.get(stage)))
    if fitout.stage in ASIDE:
        last = events[-1] if events else None
        aside = Stud("now", str(Stage(fitout.stage).label), last.at if last else None)
        studs.insert(at + 1, aside)
    return studs


@dataclass(frozen=True, slots=True)
class LineRow:
    """A line of the audit in words."""

    line: Requirement
    use: str
    power_w: float
    energy_wh: float | None
    """``None`` while the audit cannot be added up."""
    bus: str


@dataclass(frozen=True, slots=True)
class OwnRow:
    """What the chosen parts take for themselves, as one line."""

    names: str
    mean_w: float
    energy_wh: float


def own_row(day: AuditDay | None) -> OwnRow | None:
    """The own draw of an audit's day, or ``None`` while nothing is chosen."""
    lines = [line for line in day.lines if line.own_draw] if day else []
    if not lines:
        return None
    energy = math.fsum(line.energy_wh for line in lines)
    lines.sort(key=lambda line: -line.energy_wh)
    names = ", ".join(f"{line.name} {format_quantity(round(line.energy_wh), 'Wh')}" for line in lines[:2])
    if len(lines) > 2:
        names += _(" and %(n)d more") % {"n": len(lines) - 2}
    return OwnRow(names=names, mean_w=energy / 24, energy_wh=energy)


BUS_WORDS = {
    "house": lambda volts: format_quantity(volts, "V"),
    "house12": lambda volts: format_quantity(12, "V"),
    "usb": lambda volts: _("USB-C"),
    "ac": lambda volts: _("AC"),
    "starter": lambda volts: _("starter"),
}


def line_rows(fitout: Fitout, lines: Sequence[Requirement], day: AuditDay | None) -> list[LineRow]:
    """Every line of the audit in words, with its energy when the audit could be added up."""
    energies = day.energies() if day else {}
    return [line_row(fitout, line, energies) for line in lines]


def line_row(fitout: Fitout, line: Requirement, energies: Mapping[str, float]) -> LineRow:
    return LineRow(
        line=line,
        use=use_words(line),
        power_w=line.use.get("power_w", 0.0) * line.quantity,
        energy_wh=energies.get(str(line.pk)),
        bus=BUS_WORDS[line.bus](fitout.system_v),
    )


def use_words(line: Requirement) -> str:
    """How a line is used, in one phrase."""
    use = line.use
    if line.way == Requirement.Way.COOLING:
        return _("cools, %(duty)s at %(air)s, inside %(inside)s") % {
            "duty": format_quantity(round(PERCENT * use["rated_duty_ratio"], 3), "%"),
            "air": format_quantity(use["rated_ambient_c"], "°C"),
            "inside": format_quantity(use["inside_c"], "°C"),
        }
    if line.way == Requirement.Way.RECHARGE:
        return _("recharge, %(times)s × %(pack)s a day at %(ratio)s") % {
            "times": format_number(use["charges_per_day"] * line.quantity),
            "pack": format_quantity(use["pack_wh"], "Wh"),
            "ratio": format_quantity(round(PERCENT * use["charger_efficiency_ratio"], 3), "%"),
        }
    if line.way == Requirement.Way.EVENT:
        times = format_number(use["times_per_day"])
        many = ngettext("%(n)s time a day", "%(n)s times a day", 1 if use["times_per_day"] == 1 else 2) % {"n": times}
        return _("event, %(minutes)s, %(many)s") % {"minutes": format_quantity(use["minutes"], "min"), "many": many}
    words = _("steady, %(hours)s") % {"hours": format_quantity(use["hours_per_day"], "h")}
    if use.get("duty_ratio", 1.0) < 1:
        words += _(", on %(duty)s of them") % {"duty": format_quantity(round(PERCENT * use["duty_ratio"], 3), "%")}
    return words
