"""What keeps the batteries alive: years of the bank, days from cut-off to damage, minutes that undo a crank."""

from __future__ import annotations

import math

from quoting.sizing import cells, charging
from quoting.sizing.battery_volts import COMPENSATED_FROM_C, highest_charging_v
from quoting.sizing.brief import Brief, Stop
from quoting.sizing.charging import Headroom
from quoting.sizing.loads import Day
from quoting.sizing.one_piece import pieces
from quoting.sizing.system import Book, System, own_draw
from quoting.sizing.trace import Step, step

DAMAGE_SOON_DAYS = 30.0
"""Days from cut-off to damage under which somebody must be told. [day] Common practice: a month away."""
LEAST_STARTER_A = 0.1
"""Current under which the starter battery counts as not charged. [A] Common practice."""


def life(system: System, stop: Stop, day: Day, book: Book) -> None:
    """Years to the end of life if every day were as the most demanding one; no curve, no figure.

    Counted as if the whole day's charge went through the bank: what the sun feeds straight to the loads spares it.
    """
    capacity = system.capacity_ah
    if not system.storage or capacity is None or not system.storage[1].cycles or day.energy_wh <= 0:
        return
    can, policy = system.storage[1], system.brief.policy
    charge = day.energy_wh / system.bank_v
    depth = charge / capacity
    deepest = min(1.0, depth)
    cycles = cells.cycles_at(can.cycles, max(deepest, 1e-9))
    warm = math.fsum(cells.bank_cells_c(system, stop, day.ambient_c)) / 24
    left = cells.heat_left(system.chemistry, warm, policy.life_halved_per_k)
    a_day = max(1.0, depth)
    years = cycles / a_day / cells.DAYS_IN_YEAR * left
    steps: list[Step] = [
        step("day_charge", charge, "Ah"),
        step("capacity_got", capacity, "Ah", "÷", "catalogue"),
        step("depth_of_day", depth, "", "="),
        step("cycles", cycles, "", "", "catalogue", depth_ratio=deepest),
    ]
    if a_day > 1:
        steps.append(step("cycles_a_day", a_day, "1/day", "÷"))
    steps.append(step("days_in_year", cells.DAYS_IN_YEAR, "day", "÷"))
    if left < 1:
        steps.append(step("life_heat", left, "", "×", "policy", cell_c=warm))
    steps.append(step("life_years", years, "years", "="))
    book.put("battery.years", years, "years", steps, "cycle_life", "maker")


def damage(system: System, book: Book) -> None:
    """Days from the cut-off until the sleeping system empties the bank; the isolator open, too."""
    capacity = system.capacity_ah
    if not system.storage or capacity is None:
        return
    policy, volts = system.chemistry_policy, system.bank_v
    left = 1 - policy.usable_depth_ratio
    sleeping = {one.role: own_draw(system, one).asleep_w * one.quantity for one in pieces(system.chosen)}
    alone_w = own_draw(system, system.storage[0]).asleep_w * system.storage[0].quantity
    asleep_w = max(alone_w, math.fsum(sleeping.values()))
    itself = capacity * policy.self_discharge_month_ratio / cells.DAYS_IN_MONTH
    a_day = asleep_w * 24 / volts + itself
    if a_day <= 0 or left <= 0:
        return
    days = cells.damage_days(capacity, left, asleep_w / volts, policy.self_discharge_month_ratio)
    steps = (
        step("asleep_draw", asleep_w, "W", origin="catalogue"),
        step("hours_in_day", 24, "h", "×"),
        step("nominal_v", volts, "V", "÷", "catalogue"),
        step("self_discharge", itself, "Ah", "+", "policy", share_ratio=policy.self_discharge_month_ratio),
        step("asleep_charge", a_day, "Ah", "="),
        step("capacity_got", capacity, "Ah", "", "catalogue"),
        step("left_at_cutoff", left, "", "×", "policy"),
        step("asleep_charge", a_day, "Ah", "÷"),
        step("damage_days", days, "day", "="),
    )
    book.put("parked.damage_days", days, "day", steps, "damage", "policy")
    if days < DAMAGE_SOON_DAYS:
        rest_a_day = alone_w * 24 / volts + itself
        alone = capacity * left / rest_a_day if rest_a_day > 0 else None
        book.note("warning", "damage_soon", "parked.damage_days", days=days, alone_days=alone)


def cold_charging(system: System, book: Book) -> None:
    """Highest voltage that charging brings to the bus: absorption, compensated for cells at 0 °C. Lead-acid only."""
    if not system.storage or system.storage[1].compensation_mv_per_cell_k == 0:
        return
    one, can = system.storage
    stated, highest = can.absorption_v * one.series, highest_charging_v(can, one.series)
    steps = (
        step("charging_v", stated, "V", "", "catalogue"),
        step("compensation_cold", highest - stated, "V", "+", "catalogue", cell_c=COMPENSATED_FROM_C),
        step("charging_cold", highest, "V", "="),
    )
    book.put("battery.charging_cold_v", highest, "V", steps, "charging_cold", "common")
    planned = system.brief.policy.charging_v_per_12 * system.brief.wishes.system_v / 12
    if highest > planned:
        book.note(
            "info", "charging_v_cold", "battery.charging_cold_v", voltage_v=highest, planned_v=planned,
            cell_c=COMPENSATED_FROM_C,
        )  # fmt: skip


def starter(brief: Brief, room: Headroom | None, book: Book) -> None:
    """Minutes of driving at speed, the charger at its limit, that put back what one crank takes."""
    vehicle, policy = brief.vehicle, brief.policy
    if room is None or vehicle.starter_ah is None:
        return
    takes = vehicle.starter_ah * policy.starter_take_per_h
    charger = book.figures.get("engine.input_a")
    spare = room.speed_a - (charger.value if charger else 0.0)
    gets = min(spare, takes)
    if gets < LEAST_STARTER_A:
        book.note("warning", "starter_not_recharged", "engine.input_a", spare_a=spare)
        return
    crank_a, surveyed = crank_current(brief)
    stored = policy.chemistries["flooded"].charge_efficiency_ratio
    charge, minutes = charging.crank_charge(crank_a, policy.crank_s, stored, gets)
    steps = (
        step("headroom_speed", room.speed_a, "A"),
        *([step("charger_input", charger.value, "A", "−")] if charger else []),
        step("starter_takes", takes, "A", "min", "policy", share_ratio=policy.starter_take_per_h),
        step("starter_gets", gets, "A", "="),
        *surveyed,
        step("crank_length", policy.crank_s, "s", "×", "policy"),
        step("seconds_in_hour", 3600, "s", "÷", "constant"),
        step("charge_efficiency", stored, "", "÷", "policy"),
        step("crank_charge", charge, "Ah", "="),
        step("starter_gets", gets, "A", "÷"),
        step("minutes_in_hour", 60, "min", "×", "constant"),
        step("recharge_minutes", minutes, "min", "="),
    )
    book.put("starter.recharge_min", minutes, "min", steps, "crank_recharge", "energy")


def crank_current(brief: Brief) -> tuple[float, tuple[Step, ...]]:
    """Current of a crank with its sum: from the surveyed sag and resistance, or the policy's estimate. [A]"""
    vehicle, policy = brief.vehicle, brief.policy
    rest_v = charging.STARTER_REST_V_PER_12 * vehicle.nominal_v / 12
    if vehicle.starter_ohm is not None and vehicle.cranking_v is not None and vehicle.cranking_v < rest_v:
        amps = (rest_v - vehicle.cranking_v) / vehicle.starter_ohm
        return amps, (
            step("starter_rest_v", rest_v, "V", "", "constant"),
            step("cranking_v", vehicle.cranking_v, "V", "−", "survey"),
            step("starter_ohm", vehicle.starter_ohm, "Ω", "÷", "survey"),
            step("crank_current", amps, "A", "="),
        )
    return policy.crank_a, (step("crank_current", policy.crank_a, "A", "", "policy"),)
