"""What engine, mains and sun could put into battery and loads, hour by hour, each after its own losses.

Every source is counted as current at the bank's nominal voltage. Chargers and controllers give what the air round them
leaves of their rating in that hour. Functions on arrays take any shape that goes together with the 24 hours.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from catalog.kinds.capabilities import Curve, EngineCharging, MainsCharging, SolarControl
from quoting.sizing import air, shade, sun
from quoting.sizing.appraisal import Chosen
from quoting.sizing.brief import Brief, Stop
from quoting.sizing.driving import driving_share
from quoting.sizing.hitch import is_dead
from quoting.sizing.loads import Day
from quoting.sizing.own import clock, plugged
from quoting.sizing.system import System
from quoting.sizing.trace import Step, step

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

Hours = tuple[float, ...]
"""24 values, local solar time."""
NIGHT: Hours = (0.0,) * 24


@dataclass(frozen=True, slots=True)
class SunDay:
    """What the chosen array gives on a stop's mean day."""

    profile_w: Hours
    wh: float
    clipped_wh: float
    """Lost to the controller's rating. [Wh]"""
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Offers:
    """A stop's mean day of sources, by hours. [W]"""

    engine_w: Hours
    mains_w: Hours
    sun_w: Hours
    light: SunDay
    """The array by itself, before it shares an output with other inputs."""
    charger_air_c: Hours
    """Air round chargers and controller. [°C]"""


def offers(system: System, stop: Stop, day: Day) -> Offers:
    """What each source offers at a stop, by the hours of its mean day; nothing from a source that has no way there.

    Inputs that share one output are held to it together: engine first, then mains, then sun.
    """
    import numpy as np

    brief = system.brief
    round_c = air.at_role(brief, stop, day.ambient_c, "charger")
    warm = np.array(round_c)
    engine_w, mains_w = chargers_w(system, stop, warm)
    light = SunDay(NIGHT, 0.0, 0.0, ()) if is_dead(brief, stop, "sun") else sun_day(system, stop, day)
    engine_w, mains_w, sun_w = shared(system, engine_w, mains_w, np.array(light.profile_w), warm)
    return Offers(_hours(engine_w), _hours(mains_w), _hours(sun_w), light, round_c)


def _hours(values: Floats) -> Hours:
    return tuple(float(x) for x in values)


def running(stop: Stop) -> tuple[Hours, Hours]:
    """Share of each hour in which the vehicle is driven, and in which mains is there. [0..1]"""
    return clock(stop.driving_start_h, stop.driving_h_per_day), plugged(stop)


def left_ratio(curve: Curve, air_c: Floats) -> Floats:
    """What a maker's curve leaves of a rating at these temperatures; all of it without a curve. [0..1]"""
    import numpy as np

    if not curve:
        return np.ones_like(air_c)
    at_c, left = zip(*curve, strict=True)
    found: Floats = np.interp(air_c, at_c, left)
    return found


def charger_w(system: System, charger_air_c: Floats) -> tuple[Floats, Floats]:
    """Power of the engine's charger, mean of a drive, and of the mains charger while plugged in, in this air. [W, W]

    The engine's gives nothing in the part of a drive in which it stops; neither gives by a way that was refused.
    """
    import numpy as np

    engine = mains = np.zeros_like(charger_air_c)
    if system.engine and "engine" not in system.cut:
        engine = _charger_w(system, *system.engine, charger_air_c) * driving_share(system).ratio
    if system.mains and "mains" not in system.cut:
        mains = _charger_w(system, *system.mains, charger_air_c)
    return engine, mains


def chargers_w(system: System, stop: Stop, charger_air_c: Floats) -> tuple[Floats, Floats]:
    """Engine's and mains charger over a stop's day, each while it runs; nothing of one that is dead there. [W, W]

    ``charger_air_c`` has the shape of the day's 24 hours.
    """
    import numpy as np

    engine, mains = (x * np.array(on) for x, on in zip(charger_w(system, charger_air_c), running(stop), strict=True))
    return (
        np.zeros(24) if is_dead(system.brief, stop, "engine") else engine,
        np.zeros(24) if is_dead(system.brief, stop, "mains") else mains,
    )


def _charger_w(system: System, one: Chosen, can: EngineCharging | MainsCharging, charger_air_c: Floats) -> Floats:
    import numpy as np

    amps = can.output_a * one.quantity * left_ratio(can.derating, charger_air_c)
    limit = one.output_limit_a if isinstance(can, EngineCharging) else None
    if limit is not None:
        amps = np.minimum(amps, limit)
    return np.minimum(amps, system.charge_limit_a) * system.bank_v


def sun_w(system: System, stop: Stop, plane_w_m2: Floats, ambient_c: Floats, charger_air_c: Floats) -> Floats:
    """What the chosen array puts into battery and loads under this light, held to its controller's rating. [W]

    Parameters
    ----------
    system : System
        With panel and controller; without them nothing is given.
    stop : Stop
        Its shade. [0..1]
    plane_w_m2 : ndarray
        Light in the plane of the panels, any shape. [W/m²]
    ambient_c, charger_air_c : ndarray
        Air outside and round the controller, shapes that go together with it. [°C]

    Notes
    -----
    An MPPT controller's power makes its current at the higher voltage of charging: less of it is stored.
    """
    import numpy as np

    whole, left, most = _sun_w(system, stop, plane_w_m2, ambient_c, charger_air_c)
    return np.minimum(whole * left, most)


def _sun_w(
    system: System, stop: Stop, plane_w_m2: Floats, ambient_c: Floats, charger_air_c: Floats
) -> tuple[Floats, Floats, Floats]:
    """What the array would give in full sun, what shade leaves of it, and the most its controller passes. [W, -, W]"""
    import numpy as np

    if not system.panel or not system.solar or "sun" in system.cut:
        nothing = np.zeros_like(plane_w_m2)
        return nothing, nothing, nothing
    policy, (one, panel), (_, control) = system.brief.policy, system.panel, system.solar
    cell = sun.cells_c(plane_w_m2, ambient_c, policy.wind_m_s)
    whole = sun.panel_w(
        panel, control, one.series, one.parallel, plane_w_m2, cell, sun.losses_left(policy), system.bank_v,
        system.absorption_v,
    )  # fmt: skip
    hot_v, asked_v = sun.string_v(panel, one.series, cell), sun.asked_v(control, system.absorption_v)
    left = shade.left_ratio(panel, control, one.series, one.parallel, stop.shade_ratio, hot_v, asked_v)
    most = control.output_a * system.solar[0].quantity * left_ratio(control.derating, charger_air_c) * system.bank_v
    return whole * _stored(system, control), left, most


def _stored(system: System, control: SolarControl) -> float:
    return system.charging_share if control.method == "mppt" else 1.0


def in_plane(brief: Brief, stop: Stop) -> Hours:
    """Irradiance in the plane of the panels by hours, tilted as wished. [W/m²]"""
    wishes, ghi = brief.wishes, stop.site.ghi_kwh_m2_day[stop.month - 1]
    return sun.plane_w_m2(
        stop.site.latitude_deg, stop.month, ghi, wishes.panel_tilt_deg, wishes.panel_azimuth_deg
    )  # fmt: skip


def tilt_steps(brief: Brief, stop: Stop, plane: Hours) -> tuple[Step, ...]:
    """What the tilt makes of the sun on the flat; nothing for flat panels."""
    wishes, ghi = brief.wishes, stop.site.ghi_kwh_m2_day[stop.month - 1]
    if wishes.panel_tilt_deg == 0 or ghi <= 0:
        return ()
    facing = wishes.panel_azimuth_deg
    if facing is None:
        facing = sun.towards_equator_deg(stop.site.latitude_deg)
    gain = math.fsum(plane) / 1000 / ghi
    return (step("tilted", gain, "", "×", "derived", tilt_deg=wishes.panel_tilt_deg, facing_deg=facing),)


def sun_day(system: System, stop: Stop, day: Day) -> SunDay:
    """Hour by hour: irradiation, cell temperature, losses, shade, controller, controller's limit; with its working."""
    import numpy as np

    if not system.panel or not system.solar or "sun" in system.cut:
        return SunDay(NIGHT, 0.0, 0.0, ())
    plane = in_plane(system.brief, stop)
    light, ambient = np.array(plane), np.array(day.ambient_c)
    charger_air = np.array(air.at_role(system.brief, stop, day.ambient_c, "charger"))
    whole, left, most = _sun_w(system, stop, light, ambient, charger_air)
    out = _hours(np.minimum(whole * left, most))
    got, before, open_wh = math.fsum(out), math.fsum(whole * left), math.fsum(whole)
    return SunDay(out, got, before - got, _sun_steps(system, stop, plane, light, ambient, (open_wh, before, got)))


def _sun_steps(
    system: System, stop: Stop, plane: Hours, light: Floats, ambient: Floats, wh: tuple[float, float, float]
) -> tuple[Step, ...]:
    """The day's working; ``wh``: without shade, with it, and as the controller passes it. [Wh]"""
    open_wh, before, got = wh
    assert system.panel
    assert system.solar
    policy, (one, panel), control = system.brief.policy, system.panel, system.solar[1]
    array_w = panel.power_w * one.series * one.parallel
    cell = sun.cells_c(light, ambient, policy.wind_m_s)
    ideal = array_w * math.fsum(plane) / 1000
    warm = array_w * math.fsum(light / 1000 * (1 + panel.power_per_k * (cell - sun.STC_C)).clip(0.0))
    steps = [
        step("irradiation", stop.site.ghi_kwh_m2_day[stop.month - 1], "kWh/m²", origin="table", month=stop.month,
             name=stop.site.name, **stop.site.step_mark),
        *tilt_steps(system.brief, stop, plane),
        step("array", array_w, "W", "×", "catalogue"),
        step("cell_temperature", warm / ideal if ideal else 1.0, "", "×"),
        *(step(code, value, "", "×", "policy") for code, value in sun.losses(policy)),
    ]  # fmt: skip
    if stop.shade_ratio and open_wh > 0:  # an array that never starts has nothing for shade to take
        groups = shade.groups_of(panel) * one.series * one.parallel
        steps.append(step("shade", before / open_wh, "", "×", "survey", shade_ratio=stop.shade_ratio, groups=groups))
    steps.append(step("controller", control.efficiency_ratio, "", "×", "catalogue"))
    stored = _stored(system, control)
    if stored < 1:
        steps.append(step("at_charging_v", stored, "", "×", "catalogue", charging_v=system.bank_v / stored))
    expected = warm * sun.losses_left(policy) * control.efficiency_ratio * stored
    if open_wh < expected * (1 - 1e-9) and expected > 0:
        code = "pwm_match" if control.method == "pwm" else "does_not_start_share"
        steps.append(step(code, open_wh / expected, "", "×"))
    if got < before * (1 - 1e-9):
        steps.append(step("controller_limit", got / before, "", "×", "catalogue"))
    return (*steps, step("sun_day", got, "Wh/day", "="))


def shared(
    system: System, engine_w: Floats, mains_w: Floats, sun_w: Floats, charger_air_c: Floats
) -> tuple[Floats, Floats, Floats]:
    """Inputs of one part that come through one output are held to it together: engine first, then mains, then sun. [W]

    Arrays of shapes that go together, ``charger_air_c`` too.
    """
    import numpy as np

    inputs = (system.engine, system.mains, system.solar)
    sharing = [s for s in inputs if s and s[1].shares_output]
    if len(sharing) < 2:
        return engine_w, mains_w, sun_w
    part, rows = sharing[0][0].part, []
    most = [s[1].output_a * left_ratio(s[1].derating, charger_air_c) for s in sharing]
    left = np.maximum.reduce(most) * system.bank_v
    for watts, source in zip((engine_w, mains_w, sun_w), inputs, strict=True):
        if source and source[0].part == part:
            watts = np.minimum(watts, left)
            left = left - watts
        rows.append(watts)
    return rows[0], rows[1], rows[2]


def let_through_a(system: System, amps: Mapping[str, float], charger_air_c: float) -> float:
    """Currents of ``engine``, ``mains`` and ``sun`` at once, inputs of one part held to its output in this air. [A]"""
    import numpy as np

    engine_w, mains_w, sun_w = (np.array([amps[x] * system.bank_v]) for x in ("engine", "mains", "sun"))
    rows = shared(system, engine_w, mains_w, sun_w, np.array([charger_air_c]))
    return float(sum(row[0] for row in rows)) / system.bank_v


__all__ = ["Hours", "Offers", "SunDay", "charger_w", "chargers_w", "in_plane", "left_ratio", "let_through_a", "offers",
           "running", "shared", "sun_day", "sun_w", "tilt_steps"]  # fmt: skip
