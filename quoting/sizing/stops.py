"""The balance of each stop with the chosen parts: what each source offers by hours, and what comes of it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from catalog.kinds.capabilities import at
from quoting.sizing import balance, cells, sun
from quoting.sizing.appraisal import StopResult
from quoting.sizing.battery import LEAD_ACID
from quoting.sizing.brief import Brief, Stop
from quoting.sizing.hitch import is_dead
from quoting.sizing.loads import HOURS, Day
from quoting.sizing.own import clock, plugged, total_w
from quoting.sizing.system import Book, System, compartment_c, output
from quoting.sizing.trace import Step, step

FULL_RATIO = 0.99
"""Charge that counts as full in a day's balance. Common practice."""


@dataclass(frozen=True, slots=True)
class SunDay:
    """What the chosen array gives on a stop's mean day."""

    profile_w: tuple[float, ...]
    wh: float
    clipped_wh: float
    """Lost to the controller's rating. [Wh]"""
    steps: tuple[Step, ...]


def in_plane(brief: Brief, stop: Stop) -> tuple[float, ...]:
    """Irradiance in the plane of the panels by hours, tilted as wished. [W/m²]"""
    wishes, ghi = brief.wishes, stop.site.ghi_kwh_m2_day[stop.month - 1]
    return sun.plane_w_m2(
        stop.site.latitude_deg, stop.month, ghi, wishes.panel_tilt_deg, wishes.panel_azimuth_deg
    )  # fmt: skip


def tilt_steps(brief: Brief, stop: Stop, plane: tuple[float, ...]) -> tuple[Step, ...]:
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
    """Hour by hour: irradiation, cell temperature, losses, shade, controller, controller's limit. [W]

    Counted as every source is, charging current at the bank's nominal voltage: an MPPT controller's power makes its
    current at the higher voltage of charging.
    """
    if not system.panel or not system.solar:
        return SunDay((0.0,) * 24, 0.0, 0.0, ())
    policy, panel, control = system.brief.policy, system.panel[1], system.solar[1]
    series, strings = system.panel[0].series, system.panel[0].parallel
    array_w = panel.power_w * series * strings
    ghi = stop.site.ghi_kwh_m2_day[stop.month - 1]
    left = sun.losses_left(policy) * (1 - stop.shade_ratio)
    air, _ = compartment_c(system.brief, stop, "charger")
    most_w = control.output_a * system.solar[0].quantity * at(control.derating, air) * system.bank_v
    stored = system.charging_share if control.method == "mppt" else 1.0
    out, before, ideal, warm = [], 0.0, 0.0, 0.0
    plane = in_plane(system.brief, stop)
    for h, irradiance in enumerate(plane):
        cell = sun.cell_c(irradiance, day.ambient_c[h], policy.wind_m_s)
        raw = sun.panel_hour_w(
            panel, control, series, strings, irradiance, cell, left, system.bank_v, system.absorption_v
        )
        raw *= stored
        warm += sun.array_power_w(array_w, irradiance, cell, panel.power_per_k)
        ideal += array_w * irradiance / 1000
        before += raw
        out.append(min(raw, most_w))
    got = math.fsum(out)
    steps = [
        step("irradiation", ghi, "kWh/m²", origin="table", month=stop.month, name=stop.site.name),
        *tilt_steps(system.brief, stop, plane),
        step("array", array_w, "W", "×", "catalogue"),
        step("cell_temperature", warm / ideal if ideal else 1.0, "", "×"),
        *(step(code, value, "", "×", "policy") for code, value in sun.losses(policy)),
    ]
    if stop.shade_ratio:
        steps.append(step("shade", 1 - stop.shade_ratio, "", "×", "survey"))
    steps.append(step("controller", control.efficiency_ratio, "", "×", "catalogue"))
    if stored < 1:
        steps.append(step("at_charging_v", stored, "", "×", "catalogue", charging_v=system.bank_v / stored))
    expected = warm * left * control.efficiency_ratio * stored
    if before < expected * (1 - 1e-9) and expected > 0:
        code = "pwm_match" if control.method == "pwm" else "does_not_start_share"
        steps.append(step(code, before / expected, "", "×"))
    if got < before * (1 - 1e-9):
        steps.append(step("controller_limit", got / before, "", "×", "catalogue"))
    steps.append(step("sun_day", got, "Wh/day", "="))
    return SunDay(tuple(out), got, before - got, tuple(steps))


def charge_w(system: System, stop: Stop) -> tuple[float, float]:
    """Power of the engine's and the mains charger into the bank at this stop's heat. [W, W]"""
    air, _ = compartment_c(system.brief, stop, "charger")
    engine = mains = 0.0
    if system.engine:
        engine = output(system, *system.engine, air).amps * system.bank_v
    if system.mains:
        mains = output(system, *system.mains, air).amps * system.bank_v
    return engine, mains


def run(system: System, days: tuple[Day, ...], capacity_ah: float, book: Book) -> tuple[StopResult, ...]:
    """Balance of every stop, in order, the charge carried along; the trip starts full."""
    ratio, out = 1.0, []
    limit_a = min(system.charge_limit_a, 1e6)
    bank = balance.Bank(
        energy_wh=capacity_ah * system.bank_v,
        charge_limit_w=limit_a * system.bank_v,
        discharge_limit_w=min(system.discharge_limit_a, 1e6) * system.bank_v,
        charge_efficiency_ratio=system.chemistry_policy.charge_efficiency_ratio,
        tail_h=system.chemistry_policy.tail_h,
    )
    for index, (stop, day) in enumerate(zip(system.brief.trip, days, strict=True)):
        result = _stop(system, bank, index, stop, day, ratio, book)
        ratio = result.end_ratio
        out.append(result)
    return tuple(out)


def _stop(system: System, bank: balance.Bank, index: int, stop: Stop, day: Day, ratio: float, book: Book) -> StopResult:
    engine_w, mains_w = charge_w(system, stop)
    driving = clock(stop.driving_start_h, stop.driving_h_per_day)
    mains_on = plugged(stop)
    unplugged_h = stop.mains_h_per_day - math.fsum(mains_on)
    if system.mains and unplugged_h > 1 / 60:
        book.note("info", "mains_while_driving", f"stop:{index}", name=stop.site.name, lost_h=unplugged_h)
    light = sun_day(system, stop, day)
    engine_w, mains_w = (
        0.0 if is_dead(system.brief, stop, s) else w for s, w in (("engine", engine_w), ("mains", mains_w))
    )
    if is_dead(system.brief, stop, "sun"):
        light = SunDay((0.0,) * 24, 0.0, 0.0, ())
    engine = tuple(engine_w * x for x in driving)
    mains = tuple(mains_w * x for x in mains_on)
    engine, mains, sunny = _shared(system, stop, engine, mains, light.profile_w)
    thresholds = sorted({x.shed_below_ratio for x in day.lines if x.shed_below_ratio is not None})
    sheds = tuple(
        balance.Shedding(
            level, tuple(math.fsum(x.profile_w[h] for x in day.lines if x.shed_below_ratio == level) for h in HOURS)
        )
        for level in thresholds
    )
    asked = total_w(day)
    warmth = cells.bank_cells_c(system, stop, day.ambient_c)
    shares = cells.charge_shares(system.storage[1], system.brief.policy, warmth) if system.storage else (1.0,) * 24
    stay = balance.run_stop(bank, balance.Day(asked, engine, mains, sunny, shares, sheds), stop.days, ratio)
    taken = tuple(x.taken_w for x in stay.hours)
    offered = math.fsum(engine) + math.fsum(mains) + math.fsum(sunny)
    result = StopResult(
        index=index,
        name=stop.site.name,
        month=stop.month,
        days=stop.days,
        load_w=asked,
        engine_w=engine,
        mains_w=mains,
        sun_w=sunny,
        taken_w=taken,
        given_w=tuple(x.given_w for x in stay.hours),
        charge_ratio=tuple(x.charge_ratio for x in stay.hours),
        start_ratio=stay.start_ratio,
        last_day_start_ratio=stay.last_day_start_ratio,
        end_ratio=stay.end_ratio,
        lowest_ratio=stay.lowest_ratio,
        lowest_hour=stay.lowest_hour,
        load_wh=math.fsum(asked),
        engine_wh=math.fsum(engine),
        mains_wh=math.fsum(mains),
        sun_wh=math.fsum(sunny),
        spilled_wh=max(0.0, offered - math.fsum(taken)),
        shed_wh=math.fsum(x.shed_w for x in stay.hours),
        unserved_wh=stay.unserved_wh,
        loss_wh=math.fsum(x.loss_w for x in stay.hours),
    )
    _findings(system, index, stop, result, stay, light, day, book)
    _warmth_findings(system, index, stop, bank, stay, warmth, shares, book)
    return result


def _shared(
    system: System, stop: Stop, engine: tuple[float, ...], mains: tuple[float, ...], light: tuple[float, ...]
) -> tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]:
    """Sources that come through one output are held to it together: engine first, then mains, then sun."""
    shares = [s for s in (system.engine, system.mains, system.solar) if s and s[1].shares_output]
    if len(shares) < 2:
        return engine, mains, light
    air, _ = compartment_c(system.brief, stop, "charger")
    most_w = max(s[1].output_a * at(s[1].derating, air) for s in shares) * system.bank_v
    part = shares[0][0].part
    rows: list[tuple[float, float, float]] = []
    for e, m, s in zip(engine, mains, light, strict=True):
        left, row = most_w, []
        for watts, source in ((e, system.engine), (m, system.mains), (s, system.solar)):
            if source and source[0].part == part:
                watts = min(watts, left)
                left -= watts
            row.append(watts)
        rows.append((row[0], row[1], row[2]))
    return tuple(r[0] for r in rows), tuple(r[1] for r in rows), tuple(r[2] for r in rows)


def _findings(
    system: System,
    index: int,
    stop: Stop,
    result: StopResult,
    stay: balance.Stay,
    light: SunDay,
    day: Day,
    book: Book,
) -> None:
    subject, name, month = f"stop:{index}", stop.site.name, stop.month
    if stay.flat_day is not None and stay.flat_hour is not None:
        book.note(
            "warning",
            "goes_flat",
            subject,
            name=name,
            day=stay.flat_day,
            hour=stay.flat_hour,
            unserved_wh=stay.unserved_wh,
        )
    if result.shed_wh > 0:
        book.note(
            "warning",
            "sheds",
            subject,
            name=name,
            lowest_ratio=stay.lowest_ratio,
            hour=stay.lowest_hour,
            shed_wh=result.shed_wh,
        )
    if stay.highest_ratio < FULL_RATIO:
        lead = system.chemistry in LEAD_ACID
        code = "lead_acid_not_full" if lead else "never_full"
        book.note("warning" if lead else "info", code, subject, name=name, highest_ratio=stay.highest_ratio)
    fall = stay.last_day_start_ratio - stay.end_ratio
    if fall > 0.005 and stay.flat_day is None:
        book.note("info", "runs_down", subject, name=name, loss_ratio=fall)
    wishes = system.brief.wishes
    if wishes.solar_charging and system.panel:
        wanted = wishes.solar_share_ratio * day.energy_wh
        if light.wh < wanted * (1 - 1e-6):
            book.note("warning", "sun_short", subject, name=name, month=month, got_wh=light.wh, asked_wh=wanted)
        if light.clipped_wh > 0.01 * max(1.0, light.wh):
            book.note("info", "controller_clips", subject, name=name, clipped_wh=light.clipped_wh)


def _warmth_findings(
    system: System,
    index: int,
    stop: Stop,
    bank: balance.Bank,
    stay: balance.Stay,
    warmth: tuple[float, ...],
    shares: tuple[float, ...],
    book: Book,
) -> None:
    """Hours in which there is something to charge from and the cells are too cold or too hot to take it."""
    if not system.storage:
        return
    can, subject, name, month = system.storage[1], f"stop:{index}", stop.site.name, stop.month
    low = min(warmth)
    if low < can.min_charge_c and can.heater_w <= 0:
        limit_c = can.min_charge_c
        book.note("warning", "battery_too_cold", subject, name=name, month=month, cell_c=low, limit_c=limit_c)
    lost: dict[str, list[float]] = {"cold": [], "hot": [], "slow": []}
    before = stay.last_day_start_ratio
    for hour, share, cell in zip(stay.hours, shares, warmth, strict=True):
        spare = min(hour.offered_w - hour.given_w, bank.charge_limit_w)
        if before < FULL_RATIO and spare - share * bank.charge_limit_w > 1:
            why = "slow" if share > 0 else "hot" if cell > can.max_charge_c else "cold"
            lost[why].append(spare - share * bank.charge_limit_w)
        before = hour.charge_ratio
    for why, code, limit in (
        ("cold", "charging_lost_cold", can.min_charge_c),
        ("hot", "charging_lost_hot", can.max_charge_c),
        ("slow", "charging_slow_cold", system.brief.policy.cold_charge_below_c),
    ):
        if lost[why]:
            book.note(
                "info" if why == "slow" else "warning",
                code,
                subject,
                name=name,
                month=month,
                hours_h=len(lost[why]),
                lost_wh=math.fsum(lost[why]),
                limit_c=limit,
            )
