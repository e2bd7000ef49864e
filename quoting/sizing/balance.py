"""A mean day at each stop, hour by hour, with the battery's charge carried from day to day and stop to stop.

Energy is conserved in every hour: what is taken from the sources equals what the loads are given, what the battery
stores and what it loses.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

HOURS = range(24)
RESTORE_OVER_RATIO = 0.05
"""Charge above its threshold at which a shed group comes back. Common practice."""
FULL_RATIO = 0.99
"""Charge that counts as full, at which every group comes back. Common practice."""

MOST_DAYS = 60
"""Days of a stop that are worked out one by one."""


@dataclass(frozen=True, slots=True)
class Bank:
    """The battery as the balance sees it."""

    energy_wh: float
    charge_limit_w: float
    discharge_limit_w: float
    charge_efficiency_ratio: float
    """Stored of what goes in."""
    tail_h: float
    """Time constant of the current near full. [h]"""


@dataclass(frozen=True, slots=True)
class Shedding:
    """Loads that are let go together, under one state of charge."""

    below_ratio: float
    profile_w: tuple[float, ...]
    restore_over_ratio: float = RESTORE_OVER_RATIO
    """Over ``below_ratio``, at which they come back; at ``FULL_RATIO`` in any case."""


@dataclass(frozen=True, slots=True)
class Day:
    """What a stop's mean day asks and offers, by hours. [W]"""

    load_w: tuple[float, ...]
    """All loads, sheddable ones included."""
    engine_w: tuple[float, ...]
    mains_w: tuple[float, ...]
    sun_w: tuple[float, ...]
    charge_allowed: tuple[float, ...] = (1.0,) * 24
    """Share of its charging limit that the battery takes in that hour, by its cells' temperature. [0..1]"""
    sheddable: tuple[Shedding, ...] = ()


@dataclass(frozen=True, slots=True)
class Hour:
    """One hour's flows. [W, that is Wh in the hour]"""

    asked_w: float
    offered_w: float
    taken_w: float
    given_w: float
    shed_w: float
    unserved_w: float
    charge_w: float
    """Into the battery's posts."""
    discharge_w: float
    loss_w: float
    charge_ratio: float
    """At the end of the hour."""


@dataclass(frozen=True, slots=True)
class Stay:
    """A whole stop."""

    hours: tuple[Hour, ...]
    """Of the last day."""
    start_ratio: float
    """At the start of the stop."""
    last_day_start_ratio: float
    end_ratio: float
    lowest_ratio: float
    lowest_hour: int
    highest_ratio: float
    """Of the last day."""
    unserved_wh: float
    """Over the whole stop."""
    flat_day: int | None
    """First day, from 1, on which a load is not served."""
    flat_hour: int | None


def run_hour(
    bank: Bank, charge_ratio: float, asked_w: float, shed_w: float, offered_w: float, may_charge: float
) -> Hour:
    """One hour from one state of charge: sources first to the loads, the rest into the battery or the other way.

    Near full the battery takes no more than its tail allows; ``may_charge`` is the share of its charging limit that the
    cells' temperature leaves.
    """
    wanted = asked_w - shed_w
    stored = charge_ratio * bank.energy_wh
    if offered_w >= wanted:
        room = bank.energy_wh - stored
        takes = room * (1 - math.exp(-1 / bank.tail_h)) / bank.charge_efficiency_ratio
        charge = max(0.0, min(offered_w - wanted, bank.charge_limit_w * may_charge, takes))
        given, discharge, unserved = wanted, 0.0, 0.0
    else:
        charge = 0.0
        discharge = min(wanted - offered_w, bank.discharge_limit_w, stored)
        given = offered_w + discharge
        unserved = wanted - given
        if unserved < 1e-9 * max(1.0, wanted):
            given, unserved = wanted, 0.0
            discharge = wanted - offered_w
    loss = charge * (1 - bank.charge_efficiency_ratio)
    stored += charge - loss - discharge
    taken = given + charge - discharge
    after = min(1.0, max(0.0, stored / bank.energy_wh)) if bank.energy_wh > 0 else 0.0
    return Hour(asked_w, offered_w, taken, given, shed_w, unserved, charge, discharge, loss, after)


def run_stop(bank: Bank, day: Day, days: float, start_ratio: float) -> Stay:
    """Repeat a mean day for the days of a stop; part of a day counts as one.

    When a day begins as an earlier one did, the days between come round again and are counted, not worked out. After
    ``MOST_DAYS`` a mean day tells nothing new: the rest is counted by the mean of the last month.
    """
    ratio, lowest, lowest_hour, unserved = start_ratio, start_ratio, 0, 0.0
    flat_day: int | None = None
    flat_hour: int | None = None
    away: frozenset[float] = frozenset()
    whole = max(1, math.ceil(days - 1e-9))
    done, day_start = 0, start_ratio
    hours: tuple[Hour, ...] = ()
    offers = [e + m + s for e, m, s in zip(day.engine_w, day.mains_w, day.sun_w, strict=True)]
    seen: dict[tuple[float, frozenset[float]], tuple[int, float]] = {}
    losses: list[float] = []
    while done < whole:
        if len(losses) >= MOST_DAYS:
            unserved += (whole - done) * math.fsum(losses[-30:]) / 30
            break
        state = round(ratio, 10), away
        if state in seen:
            first, before = seen[state]
            rounds = (whole - done) // (done - first)
            unserved += rounds * (unserved - before)
            done += rounds * (done - first)
            seen = {}
            if done == whole:
                break
        seen[state] = done, unserved
        day_start = ratio
        hours, away = _run_day(bank, day, offers, ratio, away)
        ratio = hours[-1].charge_ratio
        lost = math.fsum(x.unserved_w for x in hours)
        losses.append(lost)
        unserved += lost
        if lost > 0 and flat_day is None:
            flat_day = done + 1
            flat_hour = next(h for h in HOURS if hours[h].unserved_w > 0)
        for h in HOURS:
            if hours[h].charge_ratio < lowest - 1e-12:
                lowest, lowest_hour = hours[h].charge_ratio, h
        done += 1
    highest = max(x.charge_ratio for x in hours)
    return Stay(
        hours, start_ratio, day_start, ratio, lowest, lowest_hour, highest, unserved, flat_day, flat_hour
    )  # fmt: skip


def _back_at(group: Shedding) -> float:
    return max(group.below_ratio, min(group.below_ratio + group.restore_over_ratio, FULL_RATIO))


def _run_day(
    bank: Bank, day: Day, offers: Sequence[float], ratio: float, away: frozenset[float]
) -> tuple[tuple[Hour, ...], frozenset[float]]:
    out = []
    for h in HOURS:
        away = frozenset(
            group.below_ratio
            for group in day.sheddable
            if ratio < (_back_at(group) if group.below_ratio in away else group.below_ratio)
        )
        shed = min(day.load_w[h], math.fsum(g.profile_w[h] for g in day.sheddable if g.below_ratio in away))
        hour = run_hour(bank, ratio, day.load_w[h], shed, offers[h], day.charge_allowed[h])
        out.append(hour)
        ratio = hour.charge_ratio
    return tuple(out), away
