"""Lines of the audit for what the chosen parts take for themselves, awake and asleep."""

from __future__ import annotations

import math
from dataclasses import replace

from catalog.kinds.capabilities import OwnDraw
from quoting.sizing import cells, converters, sun
from quoting.sizing.appraisal import Chosen
from quoting.sizing.brief import Stop
from quoting.sizing.load_circuit import circuit_keys
from quoting.sizing.loads import HOURS, Day, Line, window_shares
from quoting.sizing.one_piece import also, pieces
from quoting.sizing.system import System, compartment_c, own_draw
from quoting.sizing.trace import Op, Step, step


def clock(start_h: float, hours: float) -> tuple[float, ...]:
    """Share of each hour in which a source runs that starts at a time of day and lasts so many hours."""
    if hours <= 0:
        return (0.0,) * 24
    if hours >= 24:
        return (1.0,) * 24
    return window_shares(start_h % 24, (start_h + hours) % 24)


def plugged(stop: Stop) -> tuple[float, ...]:
    """Share of each hour in which mains is there: not while the vehicle is being driven."""
    away = clock(stop.driving_start_h, stop.driving_h_per_day)
    return tuple(
        min(on, 1 - gone) for on, gone in zip(clock(stop.mains_start_h, stop.mains_h_per_day), away, strict=True)
    )  # fmt: skip


def lines(system: System, stop: Stop, day: Day) -> tuple[Line, ...]:
    """One line for each chosen part that draws: the inverter with its no-load draw for every hour it is on, converters
    while something behind them is, chargers awake with their source, all else awake the whole day; a heated battery
    warms its cells when they are too cold and there is something to charge from.
    """
    out = []
    driving = clock(stop.driving_start_h, stop.driving_h_per_day)
    mains = plugged(stop)
    light = tuple(1.0 if x > 0 else 0.0 for x in sun.hour_shares(stop.site.latitude_deg, stop.month))
    either = tuple(max(a, b) for a, b in zip(driving, mains, strict=True))
    awake_by_role = {
        "inverter": day.inverter_on,
        "engine_charger": driving,
        "mains_charger": mains,
        "multi_charger": either,
        "solar_controller": light,
    }
    for one in pieces(system.chosen):
        draw = own_draw(system, one)
        if one.role == "converter" and system.converter:
            out += _converters(system, one, draw, day)
            continue
        always = (1.0,) * 24
        awake = always if also(system.chosen, one) else awake_by_role.get(one.role, always)
        awake_w, asleep_w = draw.awake_w * one.quantity, draw.asleep_w * one.quantity
        if one.role == "inverter" and system.inverter:
            awake_w += system.inverter[1].no_load_w * one.quantity
        if awake_w + asleep_w > 0:
            profile = tuple(awake_w * x + asleep_w * (1 - x) for x in awake)
            out.append(_line(f"own:{one.role}", one.name, profile, max(awake_w, asleep_w), awake, awake_w, asleep_w))
        if one.role == "battery" and system.storage and system.storage[1].heater_w > 0:
            heater_w = system.storage[1].heater_w * one.quantity
            least = system.storage[1].min_charge_c
            sources = [
                *([driving] if system.engine else []),
                *([mains] if system.mains else []),
                *([light] if system.solar else []),
            ]
            warm = cells.bank_cells_c(system, stop, day.ambient_c)
            cold = tuple(max((s[h] for s in sources), default=0.0) if warm[h] < least else 0.0 for h in HOURS)
            if any(cold):
                profile = tuple(heater_w * x for x in cold)
                out.append(_line("own:heater", one.name, profile, heater_w, cold, heater_w, 0.0))
    return _merged(out)


def _converters(system: System, one: Chosen, draw: OwnDraw, day: Day) -> list[Line]:
    """Converters awake while something behind them is on; day and night where an always-live load hangs on one."""
    awake = converters_awake(system, one, day)
    each_w = draw.awake_w
    if each_w <= 0 or not awake:
        return []
    found = []
    for always in (True, False):
        units = [hours for live, hours in awake if live == always]
        if any(any(x) for x in units):
            together = tuple(math.fsum(x[h] for x in units) / len(units) for h in HOURS)
            taken_w = each_w * len(units)
            profile = tuple(taken_w * x for x in together)
            line = _line("own:converter", one.name, profile, taken_w, together, taken_w, 0.0)
            found.append(replace(line, always_live=always))
    return found


def converters_awake(system: System, one: Chosen, day: Day) -> tuple[tuple[bool, tuple[float, ...]], ...]:
    """Of each converter: whether an always-live load hangs on it, and the share of each hour it is awake. [0..1]"""
    brief = system.brief
    hottest = max(brief.trip, key=lambda s: s.site.tmax_c[s.month - 1])
    need = converters.ask_converter(brief, compartment_c(brief, hottest, "converter")[0], system.absorption_v)
    if need is None or system.converter is None:
        return ()
    by_key, keys, out = {x.key: x for x in day.lines}, circuit_keys(brief), []
    for circuits in converters.shared_out(system.converter[1], need, one.quantity):
        behind = {c.key for c in circuits}
        mine = [by_key[x.key] for x in brief.loads if converters.is_behind(brief, x) and keys[x.key] in behind]
        live = any(x.always_live and x.energy_wh > 0 for x in mine)
        on = tuple(1.0 if live else min(1.0, math.fsum(x.on_ratio[h] for x in mine)) for h in HOURS)
        out.append((live, on))
    return tuple(out)


def _line(
    key: str, name: str, profile: tuple[float, ...], running_w: float, awake: tuple[float, ...], awake_w: float,
    asleep_w: float,
) -> Line:  # fmt: skip
    hours = math.fsum(awake)
    steps: list[Step] = []
    if awake_w and hours:
        steps.append(step("own_awake", awake_w * hours, "Wh", "", "catalogue", power_w=awake_w, hours_h=hours))
    if asleep_w and hours < 24:
        rest = 24 - hours
        op: Op = "+" if steps else ""
        steps.append(step("own_asleep", asleep_w * rest, "Wh", op, "catalogue", power_w=asleep_w, hours_h=rest))
    energy = math.fsum(profile)
    steps.append(step("line_energy", energy, "Wh", "="))
    return Line(
        key=key,
        name=name,
        bus="house",
        profile_w=profile,
        on_ratio=awake,
        running_w=running_w,
        energy_wh=energy,
        duty_ratio=hours / 24,
        hours_per_day=hours,
        steps=tuple(steps),
        always_live=key != "own:inverter",  # it is on with its loads, never for what stays on when parked
        essential=True,
        shed_below_ratio=None,
        own_draw=True,
    )


def _merged(lines_: list[Line]) -> tuple[Line, ...]:
    """Make keys unique when two parts have the same role."""
    seen: dict[str, int] = {}
    out = []
    for line in lines_:
        seen[line.key] = seen.get(line.key, 0) + 1
        if seen[line.key] == 1:
            out.append(line)
        else:
            out.append(replace(line, key=f"{line.key}:{seen[line.key]}"))
    return tuple(out)


def with_own(system: System, stop: Stop, day: Day) -> Day:
    """The stop's day with the own draw of what was chosen."""
    return Day(
        (*day.lines, *lines(system, stop, day)),
        day.ambient_c,
        day.inverter_on,
        day.starter_wh,
        day.starter_w,
        day.findings,
    )


def total_w(day: Day) -> tuple[float, ...]:
    return tuple(math.fsum(line.profile_w[h] for line in day.lines) for h in HOURS)
