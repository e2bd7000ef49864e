"""Single methods of batteries: what cold and age make of one, two wells, voltage under load, cut-outs, the monitor."""

from __future__ import annotations

from quoting.sizing import battery, battery_volts, battery_wells, cells, cutouts
from quoting.sizing.methods_registry import Input, Values, declare, figure_of, number
from quoting.sizing.trace import Figure, Scalar, Step, step

Worked = tuple[Figure, dict[str, Scalar]]

CHEMISTRY = Input("chemistry", "", None, None, "Of the battery.", "lifepo4", "choice", tuple(battery_volts.CELL_V))
LEAD = Input("chemistry", "", None, None, "Of the battery.", "agm", "choice", tuple(sorted(battery_volts.LEAD_ACID)))
SYSTEM = Input("system_v", "V", None, None, "Nominal voltage of the bus.", "12", "choice", ("12", "24"))
CHARGE = number("charge_ratio", "", 0, 1, "State of charge.", 0.5)
OHM = number("resistance_ohm", "Ω", 0, 1, "Of the bank, new, at 25 °C.")
CELL = number("cell_c", "°C", -40, 80, "Cells, not air.", 25.0)
LEFT = number("left_ratio", "", 0.1, 1, "Capacity left over new.", 1.0)


@declare(
    "temperature-factor",
    "How much more of a lead-acid bank the cold asks for, by IEEE 485.",
    LEAD,
    number("battery_c", "°C", -20, 60, "Coldest of the battery."),
)
def _temperature(v: Values) -> Worked:
    factor = battery.temperature_factor(v["chemistry"], v["battery_c"])
    steps = (step("temperature_factor", factor, "", "", "table", battery_c=v["battery_c"]),)
    return figure_of("temperature_factor", factor, "", steps, "temperature_factor", "ieee485")


@declare(
    "bank-lithium",
    "Capacity of a lithium bank: depth and end of life multiply.",
    number("daily_ah", "Ah", 0, 100000, "Charge of a day."),
    number("autonomy_days", "day", 0.1, 60, "Days without charging."),
    number("max_depth_ratio", "", 0.05, 1, "Deepest discharge.", 0.9),
    number("daily_depth_ratio", "", 0.05, 1, "Deepest of one day.", 0.8),
    number("end_of_life_ratio", "", 0.3, 1, "Left when worn.", 0.8),
    number("margin_ratio", "", 1, 3, "Design margin.", 1.05),
)
def _lithium(v: Values) -> Worked:
    asked = battery.asked_lithium_ah(
        v["daily_ah"], v["autonomy_days"], v["max_depth_ratio"], v["daily_depth_ratio"], v["end_of_life_ratio"],
        v["margin_ratio"],
    )  # fmt: skip
    return figure_of("asked_ah", asked.capacity_ah, "Ah", asked.steps, asked.method, "ieee1013")


@declare(
    "two-well-runtime",
    "Hours a lead-acid battery runs at a constant current, by two wells that agree with Peukert at three rates.",
    number("capacity_ah", "Ah", 0.1, 100000, "At the maker's rate."),
    number("rate_h", "h", 1, 500, "Hours of that rate.", 20.0),
    number("exponent", "", 1, 1.6, "Peukert's exponent."),
    number("current_a", "A", 0.001, 100000, "Constant current."),
)
def _two_wells(v: Values) -> Worked:
    wells = battery_wells.wells_of_peukert(v["capacity_ah"], v["rate_h"], v["exponent"])
    hours = wells.runtime_h(v["current_a"])
    steps = (
        step("wells_deliver", hours * v["current_a"], "Ah", width_ratio=wells.available_ratio),
        step("current", v["current_a"], "A", "÷", "input"),
        step("runtime", hours, "h", "="),
    )
    peukert_h = battery_wells.peukert_time_h(v["capacity_ah"], v["rate_h"], v["current_a"], v["exponent"])
    return figure_of(
        "runtime_h", hours, "h", steps, "two_wells", "manwell_mcgowan", capacity_of_both_ah=wells.capacity_ah,
        available_ratio=wells.available_ratio, rate_per_h=wells.rate_per_h, peukert_h=peukert_h,
    )  # fmt: skip


def _resistance(v: Values) -> tuple[float, tuple[Step, ...]]:
    cold = battery_volts.resistance_ratio(v["chemistry"], v["cell_c"])
    aged = battery_volts.aged_ratio(v["left_ratio"])
    ohm = v["resistance_ohm"] * cold * aged
    steps = (
        step("resistance_battery", v["resistance_ohm"], "Ω", "", "input"),
        step("resistance_cold", cold, "", "×", "derived", cell_c=v["cell_c"]),
        step("resistance_aged", aged, "", "×", "derived", left_ratio=v["left_ratio"]),
        step("resistance_now", ohm, "Ω", "="),
    )
    return ohm, steps


@declare(
    "resistance-by-temperature",
    "Resistance of a battery as cold and as old as its cells are.",
    CHEMISTRY,
    OHM,
    CELL,
    LEFT,
)
def _resistance_now(v: Values) -> Worked:
    ohm, steps = _resistance(v)
    return figure_of("resistance_ohm", ohm, "Ω", steps, "resistance_cold", "arrhenius")


@declare(
    "terminal-voltage",
    "Voltage at the posts of a bank under a current.",
    CHEMISTRY,
    SYSTEM,
    CHARGE,
    number("current_a", "A", -10000, 10000, "Out of the bank; negative while it charges."),
    OHM,
    CELL,
    LEFT,
)
def _terminal(v: Values) -> Worked:
    ohm, cold = _resistance(v)
    rest_v = battery_volts.open_circuit_v(v["chemistry"], v["charge_ratio"], int(v["system_v"]))
    volts = rest_v - v["current_a"] * ohm
    steps = (
        *cold,
        step("current", v["current_a"], "A", "×", "input"),
        step("sag", v["current_a"] * ohm, "V", "="),
        step("resting_v", rest_v, "V", "", "table", charge_ratio=v["charge_ratio"]),
        step("sag", v["current_a"] * ohm, "V", "−"),
        step("posts_v", volts, "V", "="),
    )
    return figure_of("terminal_v", volts, "V", steps, "terminal_voltage", "ohm", resting_v=rest_v, resistance_ohm=ohm)


@declare(
    "cutout-charge",
    "State of charge under which an appliance cuts out by voltage.",
    CHEMISTRY,
    SYSTEM,
    number("cutout_v", "V", 5, 60, "Lowest voltage it works at."),
    number("drop_v", "V", 0, 20, "Lost on the way to it.", 0.0),
    number("current_a", "A", 0, 10000, "Of the whole bank at that time."),
    OHM,
    number("opens_v", "V", 0, 60, "At the posts, under which the battery's own protection opens.", 0.0),
)
def _cutout(v: Values) -> Worked:
    curve, sag = battery_volts.bank_curve(v["chemistry"], int(v["system_v"])), v["current_a"] * v["resistance_ohm"]
    ratio = cutouts.stops_at_ratio(curve, v["cutout_v"], v["drop_v"], v["current_a"], v["resistance_ohm"], v["opens_v"])
    rest_v = v["cutout_v"] + v["drop_v"] + sag
    steps = (
        step("current", v["current_a"], "A", "", "input"),
        step("resistance_battery", v["resistance_ohm"], "Ω", "×", "input"),
        step("drop", v["drop_v"], "V", "+", "input"),
        step("works_from_v", v["cutout_v"], "V", "+", "input"),
        step("rests_at_v", rest_v, "V", "="),
        step("charge_at_rest", ratio or 0.0, "", "", "table"),
        step("cutout_charge", ratio or 0.0, "", "="),
    )
    return figure_of(
        "cutout_ratio", ratio or 0.0, "", steps, "cutout_charge", "ohm", rests_at_v=rest_v, cuts_out=ratio is not None
    )


@declare(
    "compensated-voltage",
    "Charging voltage for the temperature of the cells.",
    number("stated_v", "V", 1, 100, "At 25 °C."),
    Input("cells", "", 1, 60, "In series.", 6, "integer"),
    number("mv_per_k", "mV/K", -10, 10, "Of one cell; negative for lead-acid.", -4.0),
    CELL,
)
def _compensated(v: Values) -> Worked:
    volts = battery_volts.compensated_v(v["stated_v"], v["cells"], v["mv_per_k"], v["cell_c"])
    held = min(battery_volts.COMPENSATED_TO_C, max(battery_volts.COMPENSATED_FROM_C, v["cell_c"]))
    steps = (
        step("vent_cells", v["cells"], "", "", "input"),
        step("compensation", v["mv_per_k"] / 1000, "V/K", "×", "input"),
        step("over_25c", held - battery_volts.COMPENSATED_C, "K", "×", "derived", cell_c=v["cell_c"]),
        step("voltage_stated", v["stated_v"], "V", "+", "input"),
        step("voltage_compensated", volts, "V", "="),
    )
    return figure_of("charging_v", volts, "V", steps, "compensation", "common")


@declare(
    "ventilation",
    "Air that a lead-acid bank needs under charge, by IEC 62485-2.",
    Input("cells", "", 1, 200, "In series.", 6, "integer"),
    number("gas_ma_per_ah", "mA/Ah", 0, 500, "Current that makes gas: 20 vented, 8 valve-regulated.", 8.0),
    number("capacity_ah", "Ah", 0, 100000, "Of the bank at ten hours."),
)
def _ventilation(v: Values) -> Worked:
    air = battery.ventilation_m3_h(v["cells"], v["gas_ma_per_ah"], v["capacity_ah"])
    steps = (
        step("vent_constant", 0.05, "m³/Ah", origin="table"),
        step("vent_cells", v["cells"], "", "×", "input"),
        step("vent_gas", v["gas_ma_per_ah"] / 1000, "A/Ah", "×", "input"),
        step("capacity", v["capacity_ah"], "Ah", "×", "input"),
        step("vent_air", air, "m³/h", "="),
    )
    return figure_of("air_m3_h", air, "m³/h", steps, "ventilation", "iec62485")


@declare(
    "damage-days",
    "Days from the cut-off until a sleeping bank is empty.",
    number("capacity_ah", "Ah", 0.1, 100000, "Of the bank."),
    number("left_ratio", "", 0, 1, "Charge left at the cut-off.", 0.1),
    number("asleep_a", "A", 0, 100, "Draw of what stays connected."),
    number("self_discharge_month_ratio", "", 0.0001, 0.5, "Lost in a month by itself.", 0.03),
)
def _damage(v: Values) -> Worked:
    days = cells.damage_days(v["capacity_ah"], v["left_ratio"], v["asleep_a"], v["self_discharge_month_ratio"])
    a_day = v["capacity_ah"] * v["left_ratio"] / days if days else 0.0
    own = a_day - 24 * v["asleep_a"]
    steps = (
        step("asleep_draw", v["asleep_a"], "A", "", "input"),
        step("hours_in_day", 24, "h", "×", "constant"),
        step("self_discharge", own, "Ah", "+", "derived", share_ratio=v["self_discharge_month_ratio"]),
        step("asleep_charge", a_day, "Ah", "="),
        step("capacity", v["capacity_ah"], "Ah", "", "input"),
        step("left_at_cutoff", v["left_ratio"], "", "×", "input"),
        step("asleep_charge", a_day, "Ah", "÷"),
        step("damage_days", days, "day", "="),
    )
    return figure_of("damage_days", days, "day", steps if days else steps[4:6], "damage", "energy")


@declare(
    "monitor-drift",
    "True charge at which a group is let go when the monitor reads too high.",
    number("shed_below_ratio", "", 0, 0.95, "Charge, as read, under which it goes."),
    number("drift_day_ratio", "1/day", 0, 0.1, "Read too much after a day without a full charge.", 0.015),
    number("days", "day", 0, 366, "Since the last full charge."),
)
def _drift(v: Values) -> Worked:
    true = max(0.0, v["shed_below_ratio"] - v["drift_day_ratio"] * v["days"])
    steps = (
        step("drift_back", -v["drift_day_ratio"], "1/day", "", "input"),
        step("days_unfilled", v["days"], "day", "×", "input"),
        step("shed_as_read", v["shed_below_ratio"], "", "+", "input"),
        step("never_under_empty", 0, "", "max", "constant"),
        step("shed_truly", true, "", "="),
    )
    return figure_of("true_ratio", true, "", steps, "monitor_drift", "common")
