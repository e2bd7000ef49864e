"""The balance of each stop with the chosen parts: what comes of the hours that loads ask and sources offer."""

from __future__ import annotations

import math

from quoting.sizing import balance, cells
from quoting.sizing.appraisal import StopResult
from quoting.sizing.balance import FULL_RATIO
from quoting.sizing.battery import LEAD_ACID, temperature_factor
from quoting.sizing.brief import Stop
from quoting.sizing.loads import HOURS, Day
from quoting.sizing.offers import SunDay, offers
from quoting.sizing.own import plugged, total_w
from quoting.sizing.system import Book, System


def run(system: System, days: tuple[Day, ...], capacity_ah: float, book: Book) -> tuple[StopResult, ...]:
    """Balance of every stop, in order, the charge carried along; the trip starts full.

    Over the whole trip the battery has the capacity that its coldest stop leaves it.
    """
    ratio, out = 1.0, []
    if system.storage:
        capacity_ah /= temperature_factor(system.chemistry, _coldest_mean_c(system, days))
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


def _coldest_mean_c(system: System, days: tuple[Day, ...]) -> float:
    """Mean of the cells over the day at the coldest stop. [°C]"""
    warmth = (
        cells.bank_cells_c(system, stop, day.ambient_c) for stop, day in zip(system.brief.trip, days, strict=True)
    )
    return min(math.fsum(x) / len(x) for x in warmth)


def _stop(system: System, bank: balance.Bank, index: int, stop: Stop, day: Day, ratio: float, book: Book) -> StopResult:
    on_mains = math.fsum(plugged(stop))
    if system.mains and stop.mains_h_per_day - on_mains > 1 / 60:
        lost_h = stop.mains_h_per_day - on_mains
        book.note("info", "mains_while_driving", f"stop:{index}", name=stop.site.name, lost_h=lost_h)
    offered_by = offers(system, stop, day)
    engine, mains, sunny = offered_by.engine_w, offered_by.mains_w, offered_by.sun_w
    thresholds = sorted({x.shed_below_ratio for x in day.lines if x.shed_below_ratio is not None})
    sheds = tuple(
        balance.Shedding(
            level,
            tuple(math.fsum(x.profile_w[h] for x in day.lines if x.shed_below_ratio == level) for h in HOURS),
            system.brief.policy.shed_restore_ratio,
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
    _findings(system, index, stop, result, stay, offered_by.light, day, book)
    _warmth_findings(system, index, stop, bank, stay, warmth, shares, book)
    return result


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


HEATER_SLOW_H = 0.25
"""Hours of warming that are not told: the hours count as charged in from their beginning. [h] Common practice."""


def _heater_findings(
    system: System, subject: str, stop: Stop, warmth: tuple[float, ...], stay: balance.Stay, book: Book
) -> None:
    """A heater that takes long to warm the cells, or never does: charging is counted as if they were warm at once."""
    assert system.storage
    one, can = system.storage
    offered = [cell for cell, hour in zip(warmth, stay.hours, strict=True) if hour.offered_w > 0]
    low, mass_kg = min(offered, default=can.min_charge_c), one.mass_kg
    if can.heater_w <= 0 or low >= can.min_charge_c or mass_kg <= 0:
        return
    by_k, heater_w = can.min_charge_c - low, can.heater_w * one.quantity
    hours = cells.warm_up_h(mass_kg, heater_w, by_k, system.brief.policy.battery_lag_h)
    if hours is not None and hours <= HEATER_SLOW_H:
        return
    code = "heater_too_small" if hours is None else "heater_slow"
    book.note(
        "warning", code, subject, name=stop.site.name, month=stop.month, cell_c=low, limit_c=can.min_charge_c,
        heater_w=heater_w, hours_h=hours,
    )  # fmt: skip


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
    _heater_findings(system, subject, stop, warmth, stay, book)
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
