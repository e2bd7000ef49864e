"""Lines of the audit for what the chosen parts take for themselves, awake and asleep."""

from __future__ import annotations

import math

from quoting.sizing import cells, sun
from quoting.sizing.brief import Stop
from quoting.sizing.loads import HOURS, Day, Line, window_shares
from quoting.sizing.system import System, own_draw
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
    """One line for each chosen part that draws: the inverter with its no-load draw for every hour it is on,
    chargers awake with their source, all else awake the whole day; a heated battery warms its cells when they are too
    cold and there is something to charge from.
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
    for one in system.chosen:
        draw = own_draw(system.brief, one)
        awake = awake_by_role.get(one.role, (1.0,) * 24)
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
            out.append(
                Line(
                    f"{line.key}:{seen[line.key]}", line.name, line.bus, line.profile_w, line.on_ratio, line.running_w,
                    line.energy_wh, line.duty_ratio, line.hours_per_day, line.steps, True, True, None, True,
                )
            )  # fmt: skip
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
