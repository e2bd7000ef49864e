"""Single methods of a trip: a small one simulated hour by hour, days to flat, how sure a counted chance is."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from quoting.sizing.errors import SizingError
from quoting.sizing.methods_registry import Input, Values, declare, figure_of, number
from quoting.sizing.trace import Figure, Scalar, step

if TYPE_CHECKING:
    from quoting.sizing.simulation.plant import Course, Plant

Worked = tuple[Figure, dict[str, Scalar]]

DAY_H = 24


@declare(
    "flat-days",
    "Days from full until the usable depth is gone, nothing charging, every day alike.",
    number("capacity_ah", "Ah", 0.1, 100000, "Of the bank, new."),
    number("nominal_v", "V", 1, 100, "Of the bank.", 12.8),
    number("usable_depth_ratio", "", 0.05, 1, "Deepest discharge.", 0.9),
    number("end_of_life_ratio", "", 0.3, 1, "Left of the capacity; 1 new.", 1.0),
    number("day_wh", "Wh", 0.1, 1000000, "Energy of a day."),
)
def _flat(v: Values) -> Worked:
    usable = v["capacity_ah"] * v["nominal_v"] * v["end_of_life_ratio"] * v["usable_depth_ratio"]
    steps = (
        step("capacity", v["capacity_ah"], "Ah", "", "input"),
        step("nominal_v", v["nominal_v"], "V", "×", "input"),
        step("end_of_life", v["end_of_life_ratio"], "", "×", "input"),
        step("depth", v["usable_depth_ratio"], "", "×", "input"),
        step("usable_energy", usable, "Wh", "="),
        step("day_energy", v["day_wh"], "Wh/day", "÷", "input"),
        step("flat_days", usable / v["day_wh"], "day", "="),
    )
    return figure_of("flat_days", usable / v["day_wh"], "day", steps, "flat_closed", "energy", usable_wh=usable)


@declare(
    "wilson-interval",
    "Upper end of the 95 % interval of a share that was counted.",
    Input("hits", "", 0, 1000000, "How often it was so.", None, "integer"),
    Input("draws", "", 1, 1000000, "How often it was looked at.", 200, "integer"),
)
def _wilson(v: Values) -> Worked:
    from quoting.sizing.simulation.outlook_of import wilson_high

    hits, draws = v["hits"], v["draws"]
    if hits > draws:
        raise SizingError("hits", value=hits, minimum=0, maximum=draws)
    high, share = wilson_high(hits, draws), hits / draws
    steps = (
        step("counted", hits, "", "", "input"),
        step("looked_at", draws, "", "÷", "input"),
        step("counted_share", share, "", "="),
        step("for_luck", high - share, "", "+"),
        step("share_at_most", high, "", "="),
    )
    return figure_of("high_ratio", high, "", steps, "wilson", "wilson", share_ratio=share)


@declare(
    "trip-simulation",
    "State of charge after some days of one load, driving from noon and the sun from 6 to 18 h, hour by hour.",
    number("capacity_wh", "Wh", 10, 1000000, "Of the bank, full."),
    number("start_ratio", "", 0, 1, "Charge at the start.", 1.0),
    number("load_w", "W", 0, 20000, "Day and night."),
    Input("driving_h", "h", 0, 12, "Whole hours a day, from 12 h.", 0, "integer"),
    number("engine_w", "W", 0, 20000, "What the engine could give, driving.", 0.0),
    number("sun_wh", "Wh", 0, 100000, "What a day's sun could give; half a sine from 6 to 18 h.", 0.0),
    Input("days", "day", 1, 60, "How many.", 1, "integer"),
    number("charge_limit_w", "W", 1, 100000, "Most into the battery.", 100000.0),
    number("discharge_limit_w", "W", 1, 100000, "Most out of it.", 100000.0),
    number("charge_efficiency_ratio", "", 0.5, 1, "Stored of what goes in.", 0.99),
    number("tail_h", "h", 0.01, 4, "Time constant near full.", 0.05),
)
def _trip(v: Values) -> Worked:
    from quoting.sizing.simulation.run import simulate

    plant, course = _plant(v), _course(v)
    out = simulate(plant, course)
    wh = {name: float(getattr(out, name).sum()) for name in ("charge_w", "discharge_w", "loss_w", "unserved_w")}
    taken, full = float(out.taken_w.sum()), v["capacity_wh"]
    end = float(out.charge_ratio[-1, 0])
    steps = (
        step("stored_at_start", full * v["start_ratio"], "Wh", "", "input"),
        step("went_in", wh["charge_w"], "Wh", "+"),
        step("lost_in_battery", wh["loss_w"], "Wh", "−"),
        step("came_out", wh["discharge_w"], "Wh", "−"),
        step("stored_at_end", end * full, "Wh", "="),
        step("stored_when_full", full, "Wh", "÷", "input"),
        step("charge_at_end", end, "", "="),
    )
    offered = float((course.engine_w + course.sun_w).sum())
    return figure_of(
        "end_ratio", end, "", steps, "trip_simulation", "energy", lowest_ratio=float(out.charge_ratio.min()),
        taken_wh=taken, spilled_wh=max(0.0, offered - taken), unserved_wh=wh["unserved_w"],
        given_wh=float(out.given_w.sum()),
    )  # fmt: skip


def _plant(v: Values) -> Plant:
    import numpy as np

    from quoting.sizing.simulation.plant import Plant

    def one(value: float) -> np.ndarray:
        return np.array([float(value)])

    return Plant(
        energy_wh=one(v["capacity_wh"]), charge_limit_w=one(v["charge_limit_w"]),
        discharge_limit_w=one(v["discharge_limit_w"]), charge_efficiency_ratio=one(v["charge_efficiency_ratio"]),
        tail_h=one(v["tail_h"]), nominal_v=12.8, available_ratio=one(1), well_rate_per_h=one(1),
        start_ratio=v["start_ratio"],
    )  # fmt: skip


def _course(v: Values) -> Course:
    import numpy as np

    from quoting.sizing.simulation.plant import Course

    hours = np.arange(DAY_H)
    # energy of each hour under half a sine of which the whole is the day's
    up = np.clip(hours - 6, 0, 12) / 12 * math.pi
    sun = v["sun_wh"] / 2 * (np.cos(up) - np.cos(np.clip(up + math.pi / 12, 0, math.pi)))
    sun[(hours < 6) | (hours >= 18)] = 0.0
    driving = np.where((hours >= 12) & (hours < 12 + v["driving_h"]), v["engine_w"], 0.0)

    def column(values: np.ndarray) -> np.ndarray:
        return np.tile(values, v["days"])[:, None]

    load, flat = np.full(DAY_H, v["load_w"]), np.ones(DAY_H)
    return Course(
        step_h=1.0, load_w=column(load), essential_w=column(load), shed_w=(), engine_w=column(driving),
        mains_w=column(0 * flat), sun_w=column(sun), charge_share=column(flat), resistance_ratio=column(flat),
        peak_w=column(load),
    )  # fmt: skip
