"""Single methods of charging: hours to full while loads run, the outlet, cold cells, own heat, the starter battery."""

from __future__ import annotations

from catalog.kinds.capabilities import at
from quoting.sizing import battery, cells, charging, own_heat
from quoting.sizing.errors import SizingError
from quoting.sizing.methods_registry import Values, declare, figure_of, number
from quoting.sizing.trace import Figure, Scalar, step

Worked = tuple[Figure, dict[str, Scalar]]


@declare(
    "hours-to-full",
    "Hours from a reserve to full while the loads run: bulk and tail.",
    number("capacity_ah", "Ah", 0.1, 100000, "Of the bank."),
    number("start_ratio", "", 0, 1, "Charge at the start.", 0.2),
    number("end_ratio", "", 0.01, 0.9999, "Charge that counts as full.", 0.995),
    number("current_a", "A", 0.01, 10000, "Of all sources together."),
    number("loads_a", "A", 0, 10000, "Loads meanwhile, mean.", 0.0),
    number("limit_a", "A", 0.01, 100000, "Most that the battery takes.", 100000.0),
    number("stored_ratio", "", 0.5, 1, "Stored of what goes in.", 0.99),
    number("tail_h", "h", 0.001, 10, "Time constant in absorption: 0.05 lithium, 1 to 1.5 lead-acid.", 0.05),
)
def _hours_to_full(v: Values) -> Worked:
    left = min(v["current_a"] - v["loads_a"], v["limit_a"])
    if left <= 0:
        raise SizingError("loads_a", value=v["loads_a"], minimum=0, maximum=v["current_a"], unit="A")
    bulk, tail = battery.charge_time_h(
        v["capacity_ah"], v["start_ratio"], left * v["stored_ratio"], v["tail_h"], v["end_ratio"]
    )
    steps = (
        step("current", v["current_a"], "A", "", "input"),
        step("loads_meanwhile", v["loads_a"], "A", "−", "input"),
        step("battery_limit", v["limit_a"], "A", "min", "input"),
        step("left_for_battery", left, "A", "="),
        step("charge_in_bulk", bulk * left, "Ah"),
        step("left_for_battery", left, "A", "÷"),
        step("bulk_hours", bulk, "h", "="),
        step("tail_hours", tail, "h", "+"),
        step("hours_to_full", bulk + tail, "h", "="),
    )
    return figure_of("full_h", bulk + tail, "h", steps, "charge_time", "energy", bulk_h=bulk, tail_h=tail)


@declare(
    "outlet-current",
    "Current a mains charger takes from the outlet.",
    number("output_a", "A", 0, 10000, "Into the battery."),
    number("output_v", "V", 5, 100, "At the battery.", 14.4),
    number("efficiency_ratio", "", 0.3, 1, "Of the charger.", 0.9),
    number("power_factor", "", 0.1, 1, "Of the charger.", 0.95),
    number("mains_v", "V", 50, 500, "Of the outlet.", 230.0),
)
def _outlet(v: Values) -> Worked:
    amps = charging.outlet_a(v["output_a"] * v["output_v"], v["efficiency_ratio"], v["power_factor"], v["mains_v"])
    steps = (
        step("charger_output", v["output_a"], "A", "", "input"),
        step("charging_v", v["output_v"], "V", "×", "input"),
        step("efficiency", v["efficiency_ratio"], "", "÷", "input"),
        step("power_factor", v["power_factor"], "", "÷", "input"),
        step("mains_v", v["mains_v"], "V", "÷", "input"),
        step("outlet_current", amps, "A", "="),
    )
    return figure_of("outlet_a", amps, "A", steps, "outlet", "energy")


@declare(
    "cold-charge",
    "Charging current that a lithium battery takes at the temperature of its cells.",
    number("limit_a", "A", 0, 100000, "Of the bank, warm."),
    number("cell_c", "°C", -40, 80, "Cells, not air."),
    number("min_charge_c", "°C", -40, 30, "None under this.", 0.0),
    number("max_charge_c", "°C", 31, 80, "None over this.", 45.0),
    number("reduced_below_c", "°C", -40, 30, "Less under this.", 10.0),
    number("reduced_ratio", "", 0, 1, "Left there.", 0.5),
)
def _cold_charge(v: Values) -> Worked:
    share = cells.charge_share(
        v["cell_c"], v["min_charge_c"], v["max_charge_c"], v["reduced_below_c"], v["reduced_ratio"]
    )
    steps = (
        step("battery_limit", v["limit_a"], "A", "", "input"),
        step("share_cold", share, "", "×", "derived", cell_c=v["cell_c"]),
        step("output_now", share * v["limit_a"], "A", "="),
    )
    return figure_of("charge_a", share * v["limit_a"], "A", steps, "cold_charge", "maker", share_ratio=share)


@declare(
    "charger-heat",
    "What is left of a charger's rating in the air round it, its own heat counted.",
    number("output_w", "W", 0, 20000, "At full output."),
    number("efficiency_ratio", "", 0.3, 1, "Of the charger.", 0.9),
    number("k_per_w", "K/W", 0, 2, "Rise of the air round it for each watt lost.", 0.05),
    number("air_c", "°C", -40, 90, "Air of the compartment without it."),
    number("derates_from_c", "°C", 0, 90, "Full output up to here.", 40.0),
    number("ends_at_c", "°C", 1, 120, "End of the maker's curve.", 60.0),
    number("left_at_end_ratio", "", 0, 1, "Left there.", 0.5),
)
def _charger_heat(v: Values) -> Worked:
    if v["ends_at_c"] <= v["derates_from_c"]:
        raise SizingError("ends_at_c", value=v["ends_at_c"], minimum=v["derates_from_c"], unit="°C")
    lost = v["output_w"] * (1 / v["efficiency_ratio"] - 1)
    stated = ((v["derates_from_c"], 1.0), (v["ends_at_c"], v["left_at_end_ratio"]))
    curve = own_heat.warmed(stated, lost, v["k_per_w"])
    left = at(curve, v["air_c"])
    warm_c = v["air_c"] + own_heat.own_rise_k(curve, v["air_c"], lost, v["k_per_w"])
    steps = (
        step("rating_w", v["output_w"], "W", "", "input"),
        step("at_temperature", left, "", "×", "catalogue", compartment_c=warm_c),
        step("output_warm", v["output_w"] * left, "W", "="),
    )
    return figure_of(
        "output_w", v["output_w"] * left, "W", steps, "charger_heat", "maker", left_ratio=left, lost_w=lost * left,
        air_c=warm_c,
    )  # fmt: skip


@declare(
    "starter-days-parked",
    "Days until a full starter battery may no longer crank.",
    number("starter_ah", "Ah", 1, 1000, "Capacity."),
    number("crank_charge_ratio", "", 0, 1, "Charge under which it may not crank.", 0.6),
    number("standing_draw_a", "A", 0.001, 100, "With everything asleep, measured."),
)
def _parked(v: Values) -> Worked:
    days = charging.days_parked(v["starter_ah"], v["crank_charge_ratio"], v["standing_draw_a"])
    steps = (
        step("starter_capacity", v["starter_ah"], "Ah", "", "input"),
        step("above_crank", 1 - v["crank_charge_ratio"], "", "×", "input"),
        step("standing_draw", v["standing_draw_a"], "A", "÷", "survey"),
        step("hours_in_day", 24, "h", "÷", "constant"),
        step("days_parked", days, "day", "="),
    )
    return figure_of("days_parked", days, "day", steps, "parked", "energy")


@declare(
    "starter-recharge",
    "Minutes of driving that put one crank back.",
    number("crank_a", "A", 1, 3000, "Mean current of the crank.", 200.0),
    number("crank_s", "s", 0.1, 60, "Its length.", 5.0),
    number("stored_ratio", "", 0.5, 1, "Stored of what goes in.", 0.85),
    number("charging_a", "A", 0.1, 500, "Into the starter battery, driving."),
)
def _recharge(v: Values) -> Worked:
    charge, minutes = charging.crank_charge(v["crank_a"], v["crank_s"], v["stored_ratio"], v["charging_a"])
    steps = (
        step("crank_current", v["crank_a"], "A", "", "input"),
        step("crank_length", v["crank_s"], "s", "×", "input"),
        step("seconds_in_hour", 3600, "s", "÷", "constant"),
        step("charge_efficiency", v["stored_ratio"], "", "÷", "input"),
        step("crank_charge", charge, "Ah", "="),
        step("starter_gets", v["charging_a"], "A", "÷", "input"),
        step("minutes_in_hour", 60, "min", "×", "constant"),
        step("recharge_minutes", minutes, "min", "="),
    )
    return figure_of("recharge_min", minutes, "min", steps, "crank_recharge", "energy", charge_ah=charge)
