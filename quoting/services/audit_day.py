"""Adding an audit up while somebody types: the day at the trip's most demanding stop, nothing saved."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass

from fitouts.models import Fitout, Requirement, TripStop
from quoting.models import Design
from quoting.services import briefs
from quoting.sizing import loads, own
from quoting.sizing.appraisal import Chosen
from quoting.sizing.asking import CUTOFF_V_PER_12, find_peaks
from quoting.sizing.brief import Brief, Part
from quoting.sizing.hitch import without
from quoting.sizing.inverter import LossCurve, assumed_curve, curve_of
from quoting.sizing.parts import Catalogue
from quoting.sizing.system import System, assemble


@dataclass(frozen=True, slots=True)
class LineDay:
    """One line over a mean day."""

    key: str
    name: str
    energy_wh: float
    running_w: float
    duty_ratio: float
    always_live: bool
    own_draw: bool = False


@dataclass(frozen=True, slots=True)
class AuditDay:
    """An audit added up at the battery."""

    lines: tuple[LineDay, ...]
    live_wh: float
    away_wh: float
    total_wh: float
    peak_a: float
    """Everything that may run at the same time, at the house bus. [A]"""
    stop_name: str
    """The most demanding stop; empty while the trip has none."""

    def line(self, key: str) -> LineDay | None:
        return next((line for line in self.lines if line.key == key), None)

    def energies(self) -> dict[str, float]:
        return {line.key: line.energy_wh for line in self.lines}


def add_up(
    fitout: Fitout, lines: Sequence[Requirement], stops: Sequence[TripStop], design: Design | None
) -> AuditDay | None:
    """Add the lines up, with own draw of the parts that the latest design chose. ``None`` without lines.

    Raises SizingError for a line that no figure can be made from.
    """
    if not lines:
        return None
    brief, system = _system(briefs.loads_only(list(lines), fitout, list(stops)), design)
    curve = _curve(brief, system)
    days = [own.with_own(system, stop, loads.work_out(brief, stop, curve, i)) for i, stop in enumerate(brief.trip)]
    dead = _dead_unhitched(design)
    days = [day if stop.hitched else without(day, dead) for stop, day in zip(brief.trip, days, strict=True)]
    worst = max(range(len(days)), key=lambda i: days[i].energy_wh)
    found = tuple(
        LineDay(x.key, x.name, x.energy_wh, x.running_w, x.duty_ratio, x.always_live, x.own_draw)
        for x in days[worst].lines
    )
    return AuditDay(
        lines=found,
        live_wh=math.fsum(x.energy_wh for x in found if x.always_live),
        away_wh=math.fsum(x.energy_wh for x in found if not x.always_live),
        total_wh=math.fsum(x.energy_wh for x in found),
        peak_a=_peak_a(brief, system, curve, days[worst]),
        stop_name=brief.trip[worst].site.name if stops else "",
    )


def _system(brief: Brief, design: Design | None) -> tuple[Brief, System]:
    """The parts that the latest design chose, so that their own draw and losses count."""
    if design is None:
        return brief, System(brief)
    chosen = tuple(Chosen.model_validate_json(json.dumps(c)) for c in design.appraisal["chosen"])
    keys = {c.part for c in chosen}
    parts = tuple(Part.model_validate_json(json.dumps(p)) for p in design.brief["catalogue"] if p["key"] in keys)
    brief = brief.model_copy(update={"catalogue": parts})
    return brief, assemble(brief, chosen, Catalogue(brief))


def _dead_unhitched(design: Design | None) -> frozenset[str]:
    """Keys of loads that the latest design found on the other side of the hitch; nothing while there is none."""
    found = design.appraisal.get("dead_unhitched", ()) if design else ()
    return frozenset(one["key"] for one in found if one["what"] == "load")


def _curve(brief: Brief, system: System) -> LossCurve:
    if system.inverter:
        return curve_of(system.inverter[1])
    ac_w = math.fsum(x.use.power_w * x.quantity for x in brief.loads if x.bus == "ac" and x.at_once)
    return assumed_curve(ac_w, brief.policy.inverter_assumed_ratio)


def _peak_a(brief: Brief, system: System, curve: LossCurve, day: loads.Day) -> float:
    """Everything that may run at the same time, as the sizing counts it. [A]"""
    peaks = find_peaks(brief, day)
    cutoff_v = system.inverter[1].cutoff_v if system.inverter else CUTOFF_V_PER_12 * brief.wishes.system_v / 12
    inverter_a = curve.dc_w(peaks.ac.running_w) / cutoff_v if peaks.ac else 0.0
    return peaks.house.running_w / system.bank_v + inverter_a
