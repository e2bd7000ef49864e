"""Hours from the reserve to full while the loads run: from the engine, from the sun, and from every source at once."""

from __future__ import annotations

import math
from collections.abc import Iterable

from quoting.sizing import cells
from quoting.sizing.appraisal import StopResult
from quoting.sizing.asking import TAIL_END_RATIO, charging_hours, counted_from
from quoting.sizing.driving import driving_share, driving_steps
from quoting.sizing.loads import Day
from quoting.sizing.offers import let_through_a, running
from quoting.sizing.system import Book, System, compartment_c, output
from quoting.sizing.trace import Step, step

LEAST_A = 0.01
"""Charging current under which a battery never gets full. [A] Common practice."""
MOST_H = 720.0
"""Hours beyond which nobody waits for a full battery: a month. [h] Common practice."""


def figures(system: System, day: Day, stop: StopResult, book: Book) -> None:
    """Write down the hours to full that can be said at the most demanding stop; mains has its own beside its outlet.

    Loads count as the mean of their day, and hours of the engine are hours of driving. A source that gives less than
    the loads take fills nothing, or not within a month, nor does one in whose hours the cells may not be charged: then
    no figure is made.
    """
    if not system.storage or not system.capacity_ah:
        return
    where = system.brief.trip[stop.index]
    driven, _ = running(where)
    air_c, _ = compartment_c(system.brief, where, "charger")
    share = driving_share(system)
    engine = output(system, *system.engine, air_c) if system.engine and "engine" not in system.cut else None
    mains = output(system, *system.mains, air_c) if system.mains and "mains" not in system.cut else None
    amps = {
        "engine": engine.amps * share.ratio if engine else 0.0,
        "mains": mains.amps if mains else 0.0,
        "sun": stop.sun_wh / 24 / system.bank_v,
    }
    if engine:
        head = (*engine.steps, *driving_steps(system.brief, share))
        taken = cells.least_share(system, where, day.ambient_c, driven)
        fill("engine.hours_to_full", head, amps["engine"], system, day, book, taken)
    _from_sun(system, day, stop, book)
    _together(system, day, amps, air_c, book, cells.least_share(system, where, day.ambient_c))


def _meanwhile_a(system: System, day: Day) -> float:
    return day.energy_wh / 24 / system.bank_v


def fill(
    code: str, head: Iterable[Step], amps: float, system: System, day: Day, book: Book, taken_ratio: float
) -> float | None:
    """Write down bulk and tail at a constant current less what the loads take meanwhile. [h]

    Parameters
    ----------
    code : str
        Of the figure.
    head : iterable of Step
        How the current comes about.
    amps : float
        Of the source, the loads not yet taken off. [A]
    system, day, book : System, Day, Book
        The battery, what the loads take, where it is written down.
    taken_ratio : float
        What the cells' temperature leaves of the battery's charging limit.

    Returns
    -------
    float or None
        ``None`` where it fills nothing, or not within a month.
    """
    meanwhile, limit = _meanwhile_a(system, day), system.charge_limit_a * taken_ratio
    net, held = amps - meanwhile, min(amps - meanwhile, limit)
    if held <= LEAST_A or system.capacity_ah is None:
        return None
    reserve, policy = counted_from(system), system.chemistry_policy
    stored = policy.charge_efficiency_ratio
    bulk, tail = charging_hours(system.capacity_ah, reserve, held, system)
    if bulk + tail > MOST_H:
        return None
    sums = [*head, step("loads_meanwhile", meanwhile, "A", "−")]
    if held < net:
        cold = {"share_ratio": taken_ratio} if taken_ratio < 1 else {}
        sums.append(step("battery_limit_cells" if cold else "battery_limit", limit, "A", "min", "catalogue", **cold))
    sums += [
        step("left_for_battery", held, "A", "="),
        step("charge_to_put_back", bulk * held * stored, "Ah", "", reserve_ratio=reserve),
        step("charge_efficiency", stored, "", "÷", "policy"),
        step("left_for_battery", held, "A", "÷"),
        step("bulk_hours", bulk, "h", "="),
    ]
    if tail > 0:
        sums.append(step("tail_hours", tail, "h", "+", "derived", tail_h=policy.tail_h, full_ratio=TAIL_END_RATIO))
    sums.append(step("hours_to_full", bulk + tail, "h", "="))
    return book.put(code, bulk + tail, "h", sums, "charge_time", "energy")


def _from_sun(system: System, day: Day, stop: StopResult, book: Book) -> None:
    """Mean day after mean day, nights and loads included: what the night takes has gone through the battery."""
    if not system.storage or system.capacity_ah is None:
        return
    place, policy = system.brief.trip[stop.index], system.brief.policy
    warmth = cells.bank_cells_c(system, place, day.ambient_c)
    takes_w = [
        x * system.charge_limit_a * system.bank_v for x in cells.charge_shares(system.storage[1], policy, warmth)
    ]
    over = [max(0.0, light - load) for light, load in zip(stop.sun_w, day.profile_w, strict=True)]
    charged = [min(watts, most) for watts, most in zip(over, takes_w, strict=True)]
    untaken = math.fsum(over) - math.fsum(charged)
    reserve, stored = counted_from(system), system.chemistry_policy.charge_efficiency_ratio
    lost = (1 - stored) * math.fsum(charged)
    left_wh = stop.sun_wh - day.energy_wh - untaken - lost
    if left_wh <= LEAST_A * system.bank_v * 24:
        return
    put_back = (1 - reserve) * system.capacity_ah * system.bank_v
    hours = put_back / left_wh * 24
    if hours > MOST_H:
        return
    steps = (
        step("sun_day", stop.sun_wh, "Wh/day"),
        step("day_energy", day.energy_wh, "Wh/day", "−"),
        *([step("sun_not_taken", untaken, "Wh/day", "−")] if untaken > 0 else []),
        step("lost_charging", lost, "Wh/day", "−", "policy", stored_ratio=stored),
        step("sun_left", left_wh, "Wh/day", "="),
        step("energy_to_put_back", put_back, "Wh", "", reserve_ratio=reserve),
        step("sun_left", left_wh, "Wh/day", "÷"),
        step("hours_in_day", 24, "h", "×"),
        step("hours_to_full", hours, "h", "="),
    )
    book.put("sun.hours_to_full", hours, "h", steps, "sun_fills", "energy")


def _together(system: System, day: Day, amps: dict[str, float], air_c: float, book: Book, taken_ratio: float) -> None:
    """Everything that there is at once: engine and mains at their charging currents, the sun at the mean of its day."""
    there = [source for source in ("engine", "mains", "sun") if amps[source] > LEAST_A]
    if len(there) < 2:
        return
    head = [step(f"{source}_gives", amps[source], "A", "+" if i else "") for i, source in enumerate(there)]
    total = sum(amps[source] for source in there)
    let_through = let_through_a(system, amps, air_c)
    if let_through < total * (1 - 1e-9):
        head.append(step("one_output", let_through, "A", "min", "catalogue"))
    fill("together.hours_to_full", head, min(total, let_through), system, day, book, taken_ratio)
