"""From chosen parts and a trip to the hours that the simulation works on.

A stop is a stretch of equal days but for their sun: loads, engine and mains come round every 24 hours, the sun follows
the weather's clearness. Because cells heat, a controller starts late and holds to its rating, and a tilt turns beam and
diffuse light by different shares, the array is worked out at several clearnesses and read straight between them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from quoting.sizing import air, cells, offers, sun
from quoting.sizing.battery_volts import resistance_ratio
from quoting.sizing.brief import Stop
from quoting.sizing.hitch import is_dead
from quoting.sizing.loads import Day, Line
from quoting.sizing.simulation.plant import Course
from quoting.sizing.simulation.plant_of import AS_PLANNED, Conditions, shed_groups
from quoting.sizing.system import System

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

LEVELS = 129
"""Clearnesses that an array is worked out at, from the least to the most of a stop's weathers: fine, because a hot
string's controller stops all at once."""
TILTED_LEVELS = 9
"""Of them, those that the light in a tilted plane is worked out at: it follows clearness smoothly."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """One stop: 24 hours that come round, and its sun by clearness. Arrays of shape ``(24,)``. [W]"""

    index: int
    stop: Stop
    day: Day
    days: int
    """Worked out."""
    load_w: Floats
    essential_w: Floats
    shed_w: tuple[Floats, ...]
    engine_w: Floats
    mains_w: Floats
    sun_w: Floats
    """Of every weather, shape ``(days, 24, draws)``."""
    hot_wh_day: float
    """At least so much of a mean day's sun is lost on clear days because hot strings do not start their controller:
    what a greyer day would have given in the same hour, less what the clear one does. [Wh]"""
    charge_share: Floats
    cell_c: float
    """Mean of the battery's cells over the day. [°C]"""
    resistance_ratio: Floats
    peak_w: Floats
    cutout_v: Floats
    """Voltage at the posts under which an essential load that is on in that hour stops; 0: none does. [V]"""
    essential_shed_w: tuple[Floats, ...] = ()
    """The essential part of each shed group: off, it is dark. [W]"""

    @property
    def own_wh_day(self) -> float:
        """The parts' own draw, the heater apart. [Wh]"""
        return math.fsum(x.energy_wh for x in self.day.lines if x.own_draw and not is_heater(x))

    @property
    def heater_wh_day(self) -> float:
        return math.fsum(x.energy_wh for x in self.day.lines if is_heater(x))


def is_heater(line: Line) -> bool:
    return line.key.split(":")[:2] == ["own", "heater"]


def stretch_of(
    system: System,
    index: int,
    stop: Stop,
    day: Day,
    clearness: Floats,
    conditions: Conditions = AS_PLANNED,
    cutouts_v: Mapping[str, float] | None = None,
) -> Stretch:
    """One stop under its weathers.

    Parameters
    ----------
    system : System
        Chosen parts.
    index, stop, day : int, Stop, Day
        Place in the trip, and its mean day with the parts' own draw.
    clearness : ndarray
        Shape ``(days, draws)``: a day's sun over the mean day's.
    conditions : Conditions
        All days' sun times its ``sun_ratio``.
    cutouts_v : mapping, optional
        Key of an essential load to the voltage at the battery's posts under which it stops. [V]
    """
    import numpy as np

    warm = air.at_role(system.brief, stop, day.ambient_c, "charger")
    charger_air = np.array(warm)
    engine_w, mains_w = offers.chargers_w(system, stop, charger_air)
    sunny, hot_wh = _sun(system, stop, day, clearness * conditions.sun_ratio, charger_air)
    engine_w, mains_w, sunny = offers.shared(system, engine_w[:, None], mains_w[:, None], sunny, charger_air[:, None])
    warmth = cells.bank_cells_c(system, stop, day.ambient_c)
    shares, stiff = np.ones(24), np.ones(24)
    if system.storage:
        can = system.storage[1]
        shares = np.array(cells.charge_shares(can, system.brief.policy, warmth))
        stiff = np.array([resistance_ratio(can.chemistry, c) for c in warmth])
    lines = [x for x in day.lines if x.energy_wh > 0]
    grouped = [[x for x in lines if x.key in group.keys] for group in shed_groups(system)]
    return Stretch(
        index=index,
        stop=stop,
        day=day,
        days=clearness.shape[0],
        load_w=_total(lines),
        essential_w=_total([x for x in lines if x.essential and x.shed_below_ratio is None]),
        shed_w=tuple(_total(mine) for mine in grouped),
        engine_w=engine_w[:, 0],
        mains_w=mains_w[:, 0],
        sun_w=sunny,
        hot_wh_day=hot_wh,
        charge_share=shares,
        cell_c=math.fsum(warmth) / len(warmth),
        resistance_ratio=stiff,
        peak_w=_peak_w(system, lines),
        cutout_v=_cutout_v(lines, cutouts_v or {}),
        essential_shed_w=tuple(_total([x for x in mine if x.essential]) for mine in grouped),
    )


def _total(lines: Sequence[Line]) -> Floats:
    import numpy as np

    return np.array([x.profile_w for x in lines]).sum(axis=0) if lines else np.zeros(24)


def _peak_w(system: System, lines: Sequence[Line]) -> Floats:
    """Everything that may run at once in an hour; what is not counted at once stands alone. [W]"""
    import numpy as np

    apart = {x.key for x in system.brief.loads if not x.at_once}
    together, alone = np.zeros(24), np.zeros(24)
    for line in lines:
        watts = line.running_w * (np.array(line.on_ratio) > 0) if not line.own_draw else np.array(line.profile_w)
        if line.key in apart:
            alone = np.maximum(alone, watts)
        else:
            together = together + watts
    return np.maximum(np.maximum(together, alone), _total(lines))


def _cutout_v(lines: Sequence[Line], cutouts_v: Mapping[str, float]) -> Floats:
    import numpy as np

    out = np.zeros(24)
    for line in lines:
        if line.essential and line.key in cutouts_v:
            out = np.maximum(out, cutouts_v[line.key] * (np.array(line.on_ratio) > 0))
    return out


def _sun(system: System, stop: Stop, day: Day, clearness: Floats, charger_air: Floats) -> tuple[Floats, float]:
    """The array in every weather, shape ``(days, 24, draws)``, held to its controller's rating, and what heat costs.

    Returns
    -------
    ndarray, float
        Power [W], and as :attr:`Stretch.hot_wh_day` says. [Wh]
    """
    import numpy as np

    days, draws = clearness.shape
    out = np.zeros((days, 24, draws))
    if not system.panel or not system.solar or is_dead(system.brief, stop, "sun"):
        return out, 0.0
    least, most = float(clearness.min()), float(clearness.max())
    levels = np.linspace(least, most, LEVELS) if most - least > 1e-9 else np.array([least])
    given = offers.sun_w(system, stop, plane_w_m2(system, stop, levels), np.array(day.ambient_c), charger_air)
    for hour in np.flatnonzero(given.max(axis=0) > 0):
        out[:, hour, :] = np.interp(clearness, levels, given[:, hour])
    short = (np.maximum.accumulate(given, axis=0) - given).sum(axis=1)
    return out, float(np.interp(clearness, levels, short).mean())


def plane_w_m2(system: System, stop: Stop, levels: Floats) -> Floats:
    """Light in the plane of the panels at several rising clearnesses, shape ``(levels, 24)``. [W/m²]"""
    import numpy as np

    wishes, ghi = system.brief.wishes, stop.site.ghi_kwh_m2_day[stop.month - 1]
    if wishes.panel_tilt_deg == 0:
        return np.outer(levels, np.array(offers.in_plane(system.brief, stop)))
    few = np.linspace(levels[0], levels[-1], TILTED_LEVELS) if len(levels) > TILTED_LEVELS else levels
    tilt, facing, latitude = wishes.panel_tilt_deg, wishes.panel_azimuth_deg, stop.site.latitude_deg
    planes = np.array([sun.plane_w_m2(latitude, stop.month, ghi * float(x), tilt, facing) for x in few])
    return np.stack([np.interp(levels, few, planes[:, hour]) for hour in range(24)], axis=1)


def along(stretches: Sequence[Stretch], days_of: Sequence[Floats]) -> Floats:
    """One day of each stretch, repeated over its days, one stretch after the other: one column of steps."""
    import numpy as np

    return np.concatenate([np.tile(day, s.days) for day, s in zip(days_of, stretches, strict=True)])[:, None]


def course_of(stretches: Sequence[Stretch]) -> Course:
    """The stretches one after the other, in steps of an hour.

    Returns
    -------
    Course
        Loads, engine and mains with one column, the sun with one for each weather.
    """
    import numpy as np

    def of(name: str) -> Floats:
        return along(stretches, [getattr(s, name) for s in stretches])

    groups = range(len(stretches[0].shed_w))
    return Course(
        step_h=1.0,
        load_w=of("load_w"),
        essential_w=of("essential_w"),
        shed_w=tuple(along(stretches, [s.shed_w[g] for s in stretches]) for g in groups),
        engine_w=of("engine_w"),
        mains_w=of("mains_w"),
        sun_w=np.concatenate([s.sun_w.reshape(s.days * 24, -1) for s in stretches]),
        charge_share=of("charge_share"),
        resistance_ratio=of("resistance_ratio"),
        peak_w=of("peak_w"),
    )
