"""Figures and findings of a trip's outlook, each with its working."""

from __future__ import annotations

from collections.abc import Sequence

from quoting.sizing import cells, cutouts
from quoting.sizing.appraisal import Circuit, LoadResult
from quoting.sizing.battery import temperature_factor
from quoting.sizing.loads import Day
from quoting.sizing.outlook import TripOutlook
from quoting.sizing.simulation import starter_of
from quoting.sizing.simulation.outlook_of import quantile
from quoting.sizing.simulation.trip import Looked, look_ahead
from quoting.sizing.system import Book, System
from quoting.sizing.trace import Step, step

HOT_RATIO = 0.02
"""Share of its sun that an array must lose to hot strings before somebody is told. Common practice."""
LIKELY_RATIO = 0.5
"""Share of the weathers from which a group's going off counts as likely. Common practice."""


def look(
    system: System, days: tuple[Day, ...], circuits: Sequence[Circuit], loads: Sequence[LoadResult], book: Book
) -> TripOutlook | None:
    """Simulate the trip of a system as it is wired, and write down what it says; ``None`` without a battery."""
    found = cutouts.find(system, circuits, loads, book.figures["day.peak_a"].value, coldest_c(system, days))
    looked = look_ahead(system, days, found)
    if looked is None:
        return None
    figures(system, looked, book)
    findings(system, looked.outlook, book)
    hot_strings(looked, book)
    cutouts.note(system, found, book)
    starter_of.note(looked.outlook.starter, system.brief, book)
    return looked.outlook


def coldest_c(system: System, days: tuple[Day, ...]) -> float:
    """Coldest that the battery's cells get on the mean days of the trip. [°C]"""
    return cells.coldest_c(system, [day.ambient_c for day in days])


def figures(system: System, looked: Looked, book: Book) -> None:
    """Write down what the simulation says in single numbers, with the count behind each."""
    outlook = looked.outlook
    draws, hits = outlook.draws, outlook.dark.draws_dark
    dark = (
        step("dark_draws", hits, "", origin="derived"),
        step("weather_draws", draws, "", "÷", "policy"),
        step("dark_chance", hits / draws, "", "="),
    )
    book.put("trip.dark_chance_ratio", hits / draws, "", dark, "weathers_counted", "weathers")
    rank = outlook.low_ratio * draws
    lowest = (
        step("weather_draws", draws, "", origin="policy"),
        step("spread_low", outlook.low_ratio, "", "×", "policy"),
        step("draws_worse", rank, "", "="),
        step("lowest_at_rank", outlook.lowest_low_ratio, "", "", "derived"),
    )
    book.put("trip.lowest_low_ratio", outlook.lowest_low_ratio, "", lowest, "weathers_ordered", "weathers")
    _flat(system, looked, book)
    _grey(system, looked, book)


def _flat(system: System, looked: Looked, book: Book) -> None:
    flat, capacity = looked.flat, system.capacity_ah
    if flat is None or capacity is None or flat.days <= 0:
        return
    depth, left = system.chemistry_policy.usable_depth_ratio, system.chemistry_policy.end_of_life_ratio
    worn = looked.worn
    cell_c = looked.stretches[looked.flat_at].cell_c
    cold = temperature_factor(system.chemistry, cell_c)
    usable = capacity * system.bank_v * (left if worn else 1.0) / cold * depth
    a_day = flat.given_wh / flat.days
    steps: list[Step] = [
        step("capacity_got", capacity, "Ah", origin="catalogue"),
        step("nominal_v", system.bank_v, "V", "×", "catalogue"),
        *([step("temperature_factor", cold, "", "÷", "table", battery_c=cell_c)] if cold > 1 else []),
        *([step("end_of_life", left, "", "×", "policy")] if worn else []),
        step("depth", depth, "", "×", "policy"),
        step("usable_energy", usable, "Wh", "="),
    ]
    if flat.early:
        steps.append(step("given_until_short", flat.given_wh, "Wh", "min"))
    steps += [
        step("day_while_it_lasts", a_day, "Wh/day", "÷"),
        step("flat_days", flat.days, "day", "="),
    ]
    book.put("trip.flat_days", flat.days, "day", steps, "flat", "energy")


def _grey(system: System, looked: Looked, book: Book) -> None:
    """The stop whose grey day costs most."""
    import numpy as np

    volts, low = system.bank_v, looked.outlook.low_ratio
    best: tuple[float, float, float, int] | None = None
    for i, stretch in enumerate(looked.stretches):
        daily = np.sort(stretch.sun_w.sum(axis=1), axis=None)
        mean, grey = float(daily.mean()), float(quantile(daily, low))
        if mean > 0 and (best is None or mean - grey > best[0]):
            best = mean - grey, mean, grey, i
    if best is None or best[0] <= 0:
        return
    cost, mean, grey, at = best
    stop = looked.stretches[at].stop
    steps = (
        step("sun_mean_day", mean, "Wh/day", name=stop.site.name, month=stop.month),
        step("sun_grey_day", grey, "Wh/day", "−", "derived", low_ratio=low),
        step("grey_day_costs", cost, "Wh/day", "="),
        step("nominal_v", volts, "V", "÷", "catalogue"),
        step("grey_day_charge", cost / volts, "Ah", "="),
    )
    book.put("sun.grey_day_ah", cost / volts, "Ah", steps, "grey_day", "clearness")


def findings(system: System, outlook: TripOutlook, book: Book) -> None:
    """Say what the weathers show that somebody must know."""
    policy, trip = system.brief.policy, system.brief.trip
    _dark(outlook, system.brief.dark_chance_ratio, book)
    if outlook.dark.draws_dark and not any(x.essential for x in system.brief.loads):
        book.note("info", "nothing_essential", "trip")
    for group in outlook.sheds:
        if group.chance_ratio >= LIKELY_RATIO:
            names = ", ".join(group.names)
            book.note(
                "info", "shed_likely", "trip", names=names, chance_ratio=group.chance_ratio,
                below_ratio=group.below_ratio, off_h=group.hours_mean,
            )  # fmt: skip
    failing = [m for m in outlook.year if not m.holds]
    if failing:
        first = next(m for m in failing if m.month == outlook.first_failing_month)
        book.note(
            "warning", "month_fails", "year", name=trip[0].site.name, month=first.month,
            chance_ratio=first.dark_chance_ratio, allowed_ratio=policy.dark_chance_ratio, months=len(failing),
        )  # fmt: skip
    for span, stop in zip(outlook.stops, trip, strict=True):
        if abs(span.days - stop.days) > 1e-9:
            name, code = stop.site.name, "trip_cut" if span.days < stop.days else "trip_whole_days"
            book.note("info", code, f"stop:{span.index}", name=name, stepped_days=span.days, asked_days=stop.days)


def hot_strings(looked: Looked, book: Book) -> None:
    """Clear days that give less than greyer ones, because strings get too hot to start their controller."""
    for stretch in looked.stretches:
        mean = float(stretch.sun_w.sum(axis=1).mean())
        if stretch.hot_wh_day > HOT_RATIO * (mean + stretch.hot_wh_day):
            stop = stretch.stop
            book.note(
                "warning", "strings_too_hot", f"stop:{stretch.index}", name=stop.site.name, month=stop.month,
                lost_wh=stretch.hot_wh_day, mean_wh=mean,
            )  # fmt: skip


def _dark(outlook: TripOutlook, allowed_ratio: float, book: Book) -> None:
    dark = outlook.dark
    if not dark.draws_dark:
        return
    over = dark.chance_ratio > allowed_ratio
    book.note(
        "warning" if over else "info", "dark_likely" if over else "dark_possible", "trip",
        chance_ratio=dark.chance_ratio, high_ratio=dark.chance_high_ratio, allowed_ratio=allowed_ratio,
        dark=dark.draws_dark, draws=outlook.draws, charge_ratio=dark.by_charge_ratio,
        voltage_ratio=dark.by_voltage_ratio,
    )  # fmt: skip
