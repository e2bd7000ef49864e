"""What the pages show of building, proof and what is installed."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import groupby
from typing import Any

from django.utils.formats import date_format
from django.utils.translation import gettext_lazy as _

from fitouts.models import BuildTick, Commissioning, Fitout, FittedPart, InstalledSystem, Stage
from quoting.services import proof

READING_GROUPS = {
    "vehicle": _("Vehicle, before and after"),
    "drop": _("Voltage drop, positive and negative apart"),
    "circuits": _("Circuits, under load"),
    "watched": _("What is watched, and signals"),
    "sources": _("Sources, load run, protection"),
    "mains": _("230 V: for the licensed person to measure and sign"),
}


@dataclass(frozen=True, slots=True)
class ReadingGroup:
    """Expected readings of one group."""

    name: str
    rows: list[proof.Row]
    open: int


@dataclass(frozen=True, slots=True)
class Panel:
    """Build and proof of one job."""

    ticks: list[BuildTick] = field(default_factory=list)
    parts: list[FittedPart] = field(default_factory=list)
    groups: list[ReadingGroup] = field(default_factory=list)
    commissioning: Commissioning | None = None
    to_test: list[str] = field(default_factory=list)
    to_deliver: list[str] = field(default_factory=list)
    system: InstalledSystem | None = None
    ticks_done: int = 0
    readings_done: int = 0
    readings_all: int = 0
    serials_done: int = 0


def panel(fitout: Fitout) -> Panel:
    """Everything a page shows about building a job; empty before it is started."""
    ticks = list(BuildTick.objects.filter(fitout=fitout).select_related("done_by"))
    if not ticks:
        return Panel()
    rows = proof.rows(fitout)
    parts = list(FittedPart.objects.filter(fitout=fitout))
    groups = [
        ReadingGroup(str(READING_GROUPS[name]), found, sum(not r.passed for r in found))
        for name, found in (
            (n, list(g)) for n, g in groupby(sorted(rows, key=_order), key=lambda r: r.expectation.group)
        )
    ]
    return Panel(
        ticks=ticks,
        parts=parts,
        groups=groups,
        commissioning=Commissioning.objects.filter(fitout=fitout).first(),
        to_test=proof.open_points(fitout, for_delivery=False, taken=rows) if fitout.stage == Stage.IN_BUILD else [],
        to_deliver=proof.open_points(fitout, for_delivery=True, taken=rows) if fitout.stage == Stage.TESTED else [],
        system=InstalledSystem.objects.filter(fitout=fitout).first(),
        ticks_done=sum(t.done_at is not None for t in ticks),
        readings_done=sum(r.passed for r in rows),
        readings_all=len(rows),
        serials_done=sum(bool(p.serial) for p in parts),
    )


def _order(row: proof.Row) -> int:
    return list(READING_GROUPS).index(row.expectation.group)


def panel_rows(fitout: Fitout) -> list[proof.Row]:
    """The expected readings of a job, or none while nothing is accepted."""
    try:
        return proof.rows(fitout)
    except proof.NotReady:
        return []


def system_facts(system: InstalledSystem, body: dict[str, Any]) -> list[tuple[str, str, str]]:
    """The facts at the head of an installed system's page: label, value, more."""
    vehicle = system.vehicle
    return [
        (str(_("Vehicle")), str(vehicle), vehicle.registration),
        (str(_("Customer")), str(vehicle.customer), vehicle.customer.phone),
        (str(_("Delivered")), date_format(system.delivered_on, "j M Y"), system.fitout.number),
        (
            str(_("Re-torque by")),
            date_format(system.retorque_due_on, "j M Y") if system.retorque_due_on else "",
            "",
        ),
        (str(_("Certificate, 230 V")), str(body.get("certificate_no") or ""), ""),
        (str(_("Checksum")), f"{system.snapshot_sha256[:8]} {system.snapshot_sha256[8:16]}", ""),
    ]
