"""Adding an audit up while somebody types: the day at the trip's most demanding stop, nothing saved."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from catalog import kinds
from catalog.kinds.capabilities import Inverting
from fitouts.models import Fitout, Requirement, TripStop
from quoting.models import Design
from quoting.services import briefs
from quoting.sizing import battery, loads
from quoting.sizing.brief import Brief
from quoting.sizing.inverter import LossCurve, assumed_curve, curve_of


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
    brief = briefs.loads_only(list(lines), fitout, list(stops))
    curve = _curve(brief, design)
    days = [loads.work_out(brief, stop, curve, i) for i, stop in enumerate(brief.trip)]
    worst = max(range(len(days)), key=lambda i: days[i].energy_wh)
    found = [LineDay(x.key, x.name, x.energy_wh, x.running_w, x.duty_ratio, x.always_live) for x in days[worst].lines]
    found += _own(design)
    chemistry = brief.wishes.chemistries[0] if brief.wishes.chemistries else "lifepo4"
    bus_v = battery.nominal_v(chemistry, brief.wishes.system_v)
    house = [(load, line) for load, line in zip(brief.loads, days[worst].lines, strict=True) if load.bus != "starter"]
    peak = loads.coincident(tuple(x for x, _ in house), tuple(line.running_w for _, line in house))
    return AuditDay(
        lines=tuple(found),
        live_wh=math.fsum(x.energy_wh for x in found if x.always_live),
        away_wh=math.fsum(x.energy_wh for x in found if not x.always_live),
        total_wh=math.fsum(x.energy_wh for x in found),
        peak_a=peak.running_w / bus_v,
        stop_name=brief.trip[worst].site.name if stops else "",
    )


def _curve(brief: Brief, design: Design | None) -> LossCurve:
    """Losses of the inverter that was chosen, or of an assumed one."""
    if design is not None:
        parts = {part["key"]: part for part in design.brief["catalogue"]}
        for chosen in design.appraisal["chosen"]:
            part = parts.get(chosen["part"])
            if chosen["role"] == "inverter" and part is not None:
                for can in kinds.get(part["kind"]).capabilities(part["spec"]):
                    if isinstance(can, Inverting):
                        return curve_of(can)
    ac_w = math.fsum(x.use.power_w * x.quantity for x in brief.loads if x.bus == "ac")
    return assumed_curve(max(ac_w, 1.0), brief.policy.inverter_assumed_ratio)


def _own(design: Design | None) -> list[LineDay]:
    if design is None:
        return []
    return [
        LineDay(
            key=x["key"],
            name=x["name"],
            energy_wh=x["energy_wh"],
            running_w=x["running_w"],
            duty_ratio=x["duty_ratio"],
            always_live=x["always_live"],
            own_draw=True,
        )
        for x in design.appraisal["loads"]
        if x["own_draw"]
    ]
