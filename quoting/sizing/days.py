"""A stop's whole day with the chosen parts: the audit's lines, the parts' own draw, what is dead while unhitched."""

from __future__ import annotations

import math
from dataclasses import replace

from quoting.sizing import charging, hitch, own
from quoting.sizing.brief import Brief, Stop
from quoting.sizing.charging import Headroom
from quoting.sizing.inverter import LossCurve, assumed_curve, curve_of
from quoting.sizing.loads import Day, work_out
from quoting.sizing.system import Book, System


def day_of(system: System, stop: Stop, index: int, curve: LossCurve) -> Day:
    """A stop's day with the parts' own draw; what is dead while the trailer is unhitched takes nothing there."""
    day = hitch.left_out(system.brief, stop, work_out(system.brief, stop, curve, index, system.converter_ratio))
    return _as_it_goes(system, hitch.left_out(system.brief, stop, own.with_own(system, stop, day)))


def _as_it_goes(system: System, day: Day) -> Day:
    """The day with each line's threshold as its switched output heeds it: none where it hangs on no such output."""
    off = system.goes_off
    same = all(x.shed_below_ratio == off.get(x.key) for x in day.lines)
    return day if same else replace(day, lines=tuple(replace(x, shed_below_ratio=off.get(x.key)) for x in day.lines))


def losses_of(brief: Brief, system: System, book: Book | None = None) -> LossCurve:
    """Losses of the chosen inverter; before one is chosen an assumption, said in the book; without AC none."""
    if system.inverter:
        return curve_of(system.inverter[1])
    ac_w = math.fsum(x.use.power_w * x.quantity for x in brief.loads if x.bus == "ac" and x.at_once)
    if any(x.bus == "ac" for x in brief.loads):
        ratio = brief.policy.inverter_assumed_ratio
        if book is not None:
            book.note("info", "inverter_assumed", "inverter", efficiency_ratio=ratio)
        return assumed_curve(ac_w, ratio)
    return LossCurve(0.0, 0.0, 0.0)


def room_of(brief: Brief, day: Day) -> Headroom | None:
    """What the alternator spares hot with that day's loads on the starter bus; ``None`` where no engine charges."""
    if not brief.wishes.engine_charging:
        return None
    return charging.headroom(brief.vehicle, brief.policy, day.starter_w / (13.5 * brief.vehicle.nominal_v / 12))
