"""An outlook of a trip made by a few lines of arithmetic, for pages: plausible, whole, and the same every time."""

from __future__ import annotations

import math
from typing import Any

from quoting.sizing.brief import Brief
from quoting.sizing.outlook import (
    CutOut,
    Darkness,
    MonthOutlook,
    OffSpan,
    ShedOutlook,
    StarterOutlook,
    StopSpan,
    TripOutlook,
)

BANK_WH, DRAWN_DAYS = 4096.0, 14


def make_outlook(brief: Brief, **changes: Any) -> TripOutlook:
    """Hour by hour with a sun of a bell's shape, an engine while driving, and three weathers: good, middle, bad."""
    spans: list[StopSpan] = []
    load_w: list[float] = []
    engine_w: list[float] = []
    mains_w: list[float] = []
    sun_w: list[float] = []
    charge: dict[str, list[float]] = {"low": [], "median": [], "high": []}
    now = dict.fromkeys(charge, BANK_WH)
    for index, stop in enumerate(brief.trip):
        days = min(stop.days, DRAWN_DAYS)
        hours = round(24 * days)
        first = len(load_w)
        for k in range(hours):
            h = k % 24
            asked = 52.0 + (140.0 if 17 <= h <= 21 else 0.0) + (60.0 if 12 <= h <= 15 else 0.0)
            engine = 420.0 if stop.driving_start_h <= h < stop.driving_start_h + stop.driving_h_per_day else 0.0
            mains = 300.0 if stop.mains_start_h <= h < stop.mains_start_h + stop.mains_h_per_day else 0.0
            sun = 210.0 * max(0.0, math.sin(math.pi * (h - 6) / 12)) ** 1.3
            for name, share in (("low", 0.25), ("median", 0.75), ("high", 1.0)):
                now[name] = min(BANK_WH, max(400.0, now[name] + engine + mains + share * sun - 1.6 * asked))
                charge[name].append(now[name] / BANK_WH)
            room = now["median"] < BANK_WH
            load_w.append(1.6 * asked)
            engine_w.append(engine if room else 0.3 * engine)
            mains_w.append(mains if room else 0.3 * mains)
            sun_w.append(0.75 * sun if room else 0.4 * sun)
        spans.append(_span(index, stop, first, hours, load_w, engine_w, mains_w, sun_w))
    low = charge["low"]
    made = {
        "draws": 200,
        "seed": 7,
        "low_ratio": 0.05,
        "step_h": 1.0,
        "charge_median": tuple(charge["median"]),
        "charge_low": tuple(low),
        "charge_high": tuple(charge["high"]),
        "charge_typical": tuple((m + h) / 2 for m, h in zip(charge["median"], charge["high"], strict=True)),
        "load_w": tuple(load_w),
        "engine_w": tuple(engine_w),
        "mains_w": tuple(mains_w),
        "sun_w": tuple(sun_w),
        "stops": tuple(spans),
        "sheds": _sheds(brief, len(low)),
        "dark": Darkness(
            chance_ratio=0.015,
            by_charge_ratio=0.01,
            by_voltage_ratio=0.005,
            draws_dark=3,
            chance_high_ratio=0.043,
            hours_mean=0.2,
            first_h=31.0,
        ),
        "lowest_median_ratio": min(charge["median"]),
        "lowest_low_ratio": min(low),
        "end_median_ratio": charge["median"][-1],
        "flat_days": 2.4,
        "cutouts": (
            CutOut(
                key="1",
                name="Refrigerator-freezer, 60 L",
                cutout_v=11.3,
                drop_v=0.24,
                stops_at_ratio=0.06,
                start_stops_at_ratio=0.09,
            ),
            CutOut(
                key="2",
                name="Position base and radio",
                cutout_v=10.5,
                drop_v=0.11,
                stops_at_ratio=None,
                start_stops_at_ratio=None,
            ),
        ),
        "starter": StarterOutlook(
            lowest_ratio=0.74, end_ratio=0.91, no_crank=False, idle_deficit_ah_day=3.2, days_parked=28.0
        ),
        "year": tuple(_month(m) for m in range(1, 13)),
        "first_failing_month": 6,
        "weakest_month": 6,
    }
    return TripOutlook(**(made | changes))


def _span(index, stop, first, hours, load_w, engine_w, mains_w, sun_w) -> StopSpan:
    days = hours / 24
    load, engine, mains, sun = (sum(x[first:]) / days for x in (load_w, engine_w, mains_w, sun_w))
    return StopSpan(
        index=index,
        name=stop.site.name,
        month=stop.month,
        first_point=first,
        points=hours,
        days=days,
        load_wh_day=load,
        given_wh_day=load - 84.0,
        engine_wh_day=engine,
        mains_wh_day=mains,
        sun_wh_day=sun,
        spilled_wh_day=220.0,
        sun_spilled_wh_day=180.0,
        loss_wh_day=41.0,
        shed_wh_day=71.0,
        unserved_wh_day=13.0,
        heater_wh_day=12.0,
        own_wh_day=70.0,
        grey_day_ah=52.0,
        sun_low_wh_day=410.0,
    )


def _sheds(brief: Brief, hours: int) -> tuple[ShedOutlook, ...]:
    found = []
    for level in sorted({x.shed_below_ratio for x in brief.loads if x.shed_below_ratio}, reverse=True):
        loads = [x for x in brief.loads if x.shed_below_ratio == level]
        spans = tuple(OffSpan(start_h=h, end_h=h + 7.0) for h in (27.0, 52.0) if h + 7 < hours)
        found.append(
            ShedOutlook(
                below_ratio=level,
                restore_ratio=level + 0.1,
                keys=tuple(x.key for x in loads),
                names=tuple(x.name for x in loads),
                chance_ratio=level * 0.6,
                hours_mean=3.1,
                hours_high=11.0,
                typical=spans,
            )
        )
    return tuple(found)


def _month(month: int) -> MonthOutlook:
    warm = 0.5 + 0.5 * math.cos(2 * math.pi * (month - 1) / 12)
    return MonthOutlook(
        month=month,
        load_wh_day=1500 + 400 * warm,
        sun_wh_day=900 + 1300 * warm,
        lowest_median_ratio=0.35 + 0.4 * warm,
        lowest_low_ratio=0.08 + 0.55 * warm,
        dark_chance_ratio=max(0.0, 0.12 - 0.25 * warm),
        shed_chance_ratio=max(0.0, 0.5 - 0.6 * warm),
        holds=warm > 0.2,
    )
