"""Single methods by name, with named inputs, so that anyone can hold one against a book.

Each gives its result as a :class:`~quoting.sizing.trace.Figure` with the sum on paper, and other values beside it.
"""

from __future__ import annotations

import math
from decimal import Decimal

from quoting import money
from quoting.sizing import battery, charging, conductors, inverter, loads, protection, sun
from quoting.sizing.conductor_tables import CLASS_5_OHM_PER_KM_20C
from quoting.sizing.errors import SizingError
from quoting.sizing.methods_registry import METHODS, Input, MethodResult, Values, declare, figure_of, number, run
from quoting.sizing.trace import Figure, Scalar, Step, step

__all__ = ["METHODS", "MethodResult", "run"]

CURRENT = number("current_a", "A", 0, 10000, "Load current.")
RUN = number("run_m", "m", 0, 200, "One-way length; the return is added.")
AREA = number("area_mm2", "mm²", 0.5, 240, "Copper cross-section.")
CONDUCTOR = number("conductor_c", "°C", -40, 250, "Conductor under load.", 20.0)
AMBIENT = number("ambient_c", "°C", -40, 120, "Hottest air round it.", 30.0)
INSULATION = number("insulation_c", "°C", 60, 200, "Class of the insulation.", 105.0)
BUNDLED = Input("bundled", "", 1, 100, "Loaded conductors lying together.", 1, "integer")
ENGINE = Input("engine_space", "", None, None, "In an engine space.", False, "yes")


def _ohm_per_km(area_mm2: float) -> float:
    table = CLASS_5_OHM_PER_KM_20C
    for size, ohm in table.items():
        if abs(size - area_mm2) < 1e-9:
            return ohm
    raise SizingError(
        "area_mm2", value=area_mm2, code="not_a_choice", unit="mm²",
        message=f"no IEC 60228 size; choose among {', '.join(f'{a:g}' for a in sorted(table))}, or give ohm_per_km_20c",
    )  # fmt: skip


@declare(
    "voltage-drop",
    "Voltage lost in both conductors of a run.",
    CURRENT,
    RUN,
    AREA,
    CONDUCTOR,
    number("ohm_per_km_20c", "Ω/km", 0, 200, "Resistance at 20 °C; by IEC 60228 class 5 when 0.", 0.0),
    number("nominal_v", "V", 1, 1000, "Of the circuit.", 12.0),
)
def _voltage_drop(v: Values) -> tuple[Figure, dict[str, Scalar]]:
    ohm = v["ohm_per_km_20c"] or _ohm_per_km(v["area_mm2"])
    drop = conductors.voltage_drop_v(v["current_a"], v["run_m"], ohm, v["conductor_c"])
    heat = 1 + conductors.COPPER_TEMP_COEFF_20C * (v["conductor_c"] - 20)
    steps = (
        step("run", v["run_m"], "m", origin="input"),
        step("loop", 2, "", "×", "constant"),
        step("current", v["current_a"], "A", "×", "input"),
        step("resistance_20c", ohm, "Ω/km", "×", "table"),
        step("metres_per_km", 1000, "", "÷", "constant"),
        step("conductor_heat", heat, "", "×", "derived", conductor_c=v["conductor_c"]),
        step("drop", drop, "V", "="),
    )
    iso = conductors.iso10133_drop_v(v["current_a"], v["run_m"], v["area_mm2"])
    return figure_of(
        "drop_v", drop, "V", steps, "voltage_drop", "iec60228", drop_ratio=drop / v["nominal_v"], iso10133_v=iso
    )


@declare(
    "conductor-size",
    "Smallest standard conductor that holds voltage drop and ampacity.",
    CURRENT,
    RUN,
    number("drop_limit_ratio", "", 0.001, 0.5, "Most that may be lost.", 0.03),
    number("nominal_v", "V", 1, 1000, "Of the circuit.", 12.0),
    CONDUCTOR,
    INSULATION,
    AMBIENT,
    BUNDLED,
    ENGINE,
)
def _conductor_size(v: Values) -> tuple[Figure, dict[str, Scalar]]:
    limit = v["drop_limit_ratio"] * v["nominal_v"]
    by_drop = conductors.smallest_area_for_drop_mm2(v["current_a"], v["run_m"], limit, v["conductor_c"])
    by_current = conductors.smallest_area_for_current_mm2(
        v["current_a"], v["insulation_c"], v["ambient_c"], v["bundled"], v["engine_space"]
    )
    area = max(by_drop, by_current)
    drop = conductors.voltage_drop_v(v["current_a"], v["run_m"], _ohm_per_km(area), v["conductor_c"])
    steps = (
        step("area_by_drop", by_drop, "mm²", origin="table", limit_v=limit),
        step("area_by_current", by_current, "mm²", "max", "table"),
        step("area", area, "mm²", "="),
    )
    allowed = conductors.ampacity_a(area, v["insulation_c"], v["ambient_c"], v["bundled"], v["engine_space"])
    return figure_of("area_mm2", area, "mm²", steps, "conductor_size", "iso10133", drop_v=drop, ampacity_a=allowed)


@declare("ampacity", "Current a conductor may carry, corrected.", AREA, INSULATION, AMBIENT, BUNDLED, ENGINE)
def _ampacity(v: Values) -> tuple[Figure, dict[str, Scalar]]:
    base = conductors.ampacity_a(v["area_mm2"], v["insulation_c"], 30.0, 1, False)
    alone = conductors.ampacity_a(v["area_mm2"], v["insulation_c"], v["ambient_c"], 1, v["engine_space"])
    allowed = conductors.ampacity_a(v["area_mm2"], v["insulation_c"], v["ambient_c"], v["bundled"], v["engine_space"])
    steps = (
        step("base_ampacity", base, "A", origin="table"),
        step("ambient_factor", alone / base if base else 0.0, "", "×", "table", ambient_c=v["ambient_c"]),
        step("bundle_factor", allowed / alone if alone else 0.0, "", "×", "table", bundled=v["bundled"]),
        step("ampacity", allowed, "A", "="),
    )
    return figure_of("ampacity_a", allowed, "A", steps, "ampacity", "iso10133")


SHORT = (
    number("voltage_v", "V", 1, 1000, "Highest voltage of the bus."),
    number("battery_ohm", "Ω", 0.00001, 10, "Internal resistance of one battery, new and cold."),
    Input("batteries", "", 1, 64, "Batteries in parallel.", 1, "integer"),
    number("run_m", "m", 0, 200, "One-way length of the conductors before the fault.", 0.0),
    number("area_mm2", "mm²", 0.5, 240, "Their copper.", 35.0),
    number("joints_ohm", "Ω", 0, 1, "Devices and joints before the fault.", 0.0),
)


def _fault(v: Values) -> tuple[float, tuple[Step, ...], float]:
    bank = v["battery_ohm"] / v["batteries"]
    loop = 2 * conductors.conductor_ohm(v["run_m"], _ohm_per_km(v["area_mm2"]), 20.0) if v["run_m"] else 0.0
    fault = protection.fault_current_a(v["voltage_v"], bank, loop + v["joints_ohm"])
    total = bank + loop + v["joints_ohm"]
    steps = (
        step("resistance_battery", v["battery_ohm"], "Ω", origin="input"),
        step("batteries", v["batteries"], "", "÷", "input"),
        step("resistance_loop", loop, "Ω", "+", "table"),
        step("resistance_joints", v["joints_ohm"], "Ω", "+", "input"),
        step("resistance_total", total, "Ω", "="),
        step("voltage", v["voltage_v"], "V", "", "input"),
        step("resistance_total", total, "Ω", "÷"),
        step("fault", fault, "A", "="),
    )
    return fault, steps, total


@declare("short-circuit", "Prospective current of a fault behind batteries and conductors.", *SHORT)
def _short_circuit(v: Values) -> tuple[Figure, dict[str, Scalar]]:
    fault, steps, total = _fault(v)
    return figure_of("fault_a", fault, "A", steps, "short_circuit", "iec61660", resistance_ohm=total)


@declare(
    "breaking-capacity",
    "What is left of a device's breaking capacity over the prospective current; negative when it cannot break it.",
    *SHORT,
    number("breaking_a", "A", 1, 200000, "Breaking capacity of the device."),
)
def _breaking(v: Values) -> tuple[Figure, dict[str, Scalar]]:
    fault, steps, _ = _fault(v)
    spare = v["breaking_a"] - fault
    more = (
        step("breaking", v["breaking_a"], "A", "", "input"),
        step("fault", fault, "A", "−"),
        step("breaking_spare", spare, "A", "="),
    )
    holds = protection.breaks(v["breaking_a"], fault, math.inf)
    return figure_of(
        "breaking_spare_a", spare, "A", (*steps, *more), "breaking_capacity", "iec61660", fault_a=fault, breaks=holds
    )


@declare(
    "peukert",
    "Hours a battery runs at a constant current.",
    number("capacity_ah", "Ah", 0.1, 100000, "At the maker's rate."),
    number("rate_h", "h", 0.5, 500, "Hours of that rate.", 20.0),
    number("current_a", "A", 0.001, 100000, "Constant current."),
    number("exponent", "", 1, 2, "Peukert's exponent."),
)
def _peukert(v: Values) -> tuple[Figure, dict[str, Scalar]]:
    hours = battery.peukert_time_h(v["capacity_ah"], v["rate_h"], v["current_a"], v["exponent"])
    steps = (
        step("capacity", v["capacity_ah"], "Ah", origin="input"),
        step("rate_h", v["rate_h"], "h", "÷", "input"),
        step("rated_current", v["capacity_ah"] / v["rate_h"], "A", "="),
        step("rate_h", v["rate_h"], "h", "", "input"),
        step("over_rated", hours / v["rate_h"], "", "×", "derived", exponent=v["exponent"]),
        step("runtime", hours, "h", "="),
    )
    return figure_of("runtime_h", hours, "h", steps, "peukert", "peukert", given_ah=hours * v["current_a"])


@declare(
    "bank-ieee1013",
    "Capacity of a lead-acid bank by IEEE 1013.",
    number("daily_ah", "Ah", 0, 100000, "Charge of a day."),
    number("autonomy_days", "day", 0.1, 60, "Days without charging."),
    number("max_depth_ratio", "", 0.05, 1, "Deepest discharge.", 0.5),
    number("daily_depth_ratio", "", 0.05, 1, "Deepest of one day.", 0.2),
    number("end_of_life_ratio", "", 0.3, 1, "Left when worn.", 0.8),
    number("battery_c", "°C", -20, 60, "Coldest of the battery, IEEE 485 table 1.", 25.0),
    number("margin_ratio", "", 1, 3, "Design margin.", 1.1),
)
def _bank(v: Values) -> tuple[Figure, dict[str, Scalar]]:
    factor = battery.temperature_factor("agm", v["battery_c"])
    asked = battery.asked_lead_acid_ah(
        v["daily_ah"], v["autonomy_days"], v["max_depth_ratio"], v["daily_depth_ratio"], v["end_of_life_ratio"],
        factor, v["margin_ratio"],
    )  # fmt: skip
    steps = tuple(
        s.model_copy(update={"params": {"battery_c": v["battery_c"]}}) if s.code == "temperature_factor" else s
        for s in asked.steps
    )
    return figure_of("asked_ah", asked.capacity_ah, "Ah", steps, asked.method, "ieee1013", temperature_factor=factor)


@declare(
    "array-output",
    "Power of an array, or energy of a day when irradiation is a day's.",
    number("power_w", "W", 0, 100000, "At standard test conditions."),
    number("irradiance_w_m2", "W/m²", 0, 1500, "In the plane of the module."),
    number("cell_c", "°C", -60, 130, "Cell temperature; worked out from air and wind when −60.", -60.0),
    number("air_c", "°C", -50, 60, "Air.", 25.0),
    number("wind_m_s", "m/s", 0, 40, "Wind.", 1.0),
    number("power_per_k", "1/K", -0.01, 0, "Relative change of power.", -0.0035),
    number("losses_left_ratio", "", 0, 1, "What the itemised losses leave.", 1.0),
)
def _array(v: Values) -> tuple[Figure, dict[str, Scalar]]:
    irradiance = v["irradiance_w_m2"]
    cell = v["cell_c"] if v["cell_c"] > -60 else sun.cell_c(irradiance, v["air_c"], v["wind_m_s"])
    power = sun.array_power_w(v["power_w"], irradiance, cell, v["power_per_k"], v["losses_left_ratio"])
    heat = max(0.0, 1 + v["power_per_k"] * (cell - sun.STC_C))
    steps = (
        step("array", v["power_w"], "W", origin="input"),
        step("sun_hours", irradiance / 1000, "kW/m²", "×", "input"),
        step("temperature_rise", heat, "", "×", "derived", cell_c=cell),
        step("losses", v["losses_left_ratio"], "", "×", "input"),
        step("array_power", power, "W", "="),
    )
    return figure_of("array_w", power, "W", steps, "array_day", "collares_pereira_rabl", cell_c=cell)


@declare(
    "cold-voltage",
    "Open-circuit voltage of a string on the coldest morning.",
    number("voc_v", "V", 0.5, 500, "Of one module at 25 °C."),
    number("voc_per_k", "1/K", -0.01, 0, "Relative change, −0.0029 for −0.29 %/K."),
    Input("series", "", 1, 60, "Modules in series.", 1, "integer"),
    number("cold_c", "°C", -70, 40, "Record low."),
)
def _cold(v: Values) -> tuple[Figure, dict[str, Scalar]]:
    volts = sun.cold_voc_v(v["voc_v"], v["voc_per_k"], v["series"], v["cold_c"])
    steps = (
        step("voc", v["voc_v"], "V", origin="input"),
        step("in_series", v["series"], "", "×", "input"),
        step("cold_rise", volts / (v["voc_v"] * v["series"]), "", "×", "derived", cold_c=v["cold_c"]),
        step("cold_voc", volts, "V", "="),
    )
    return figure_of("cold_voc_v", volts, "V", steps, "cold_voltage", "nec690")


@declare(
    "inverter-losses",
    "Direct-current power and current of an inverter at a load.",
    number("ac_w", "W", 0, 100000, "Load."),
    number("continuous_w", "W", 10, 100000, "Rating."),
    number("no_load_w", "W", 0, 1000, "Draw with no load."),
    number("efficiency_half_ratio", "", 0.3, 1, "At half power."),
    number("efficiency_full_ratio", "", 0.3, 1, "At full power."),
    number("dc_v", "V", 8, 64, "Direct-current side.", 12.0),
)
def _inverter(v: Values) -> tuple[Figure, dict[str, Scalar]]:
    curve = inverter.loss_curve(
        v["continuous_w"], v["no_load_w"], v["efficiency_half_ratio"], v["efficiency_full_ratio"]
    )
    ac = v["ac_w"]
    dc = curve.dc_w(ac)
    steps = (
        step("power", ac, "W", origin="input"),
        step("no_load", curve.no_load_w, "W", "+", "input"),
        step("linear_loss", curve.linear * ac, "W", "+"),
        step("resistive_loss", curve.resistive_per_w * ac * ac, "W", "+"),
        step("dc_power", dc, "W", "="),
    )
    return figure_of(
        "dc_w", dc, "W", steps, "inverter_losses", "schmidt_sauer",
        dc_a=dc / v["dc_v"], efficiency_ratio=ac / dc if dc else 0.0, linear=curve.linear,
        resistive_per_w=curve.resistive_per_w,
    )  # fmt: skip


@declare(
    "refrigeration",
    "Mean electrical power, duty and energy of a compressor refrigerator.",
    number("ua_w_per_k", "W/K", 0.01, 100, "Conductance of the box."),
    number("ambient_c", "°C", -20, 60, "Air."),
    number("inside_c", "°C", -40, 20, "Inside."),
    number("carnot_ratio", "", 0.05, 1, "Share of the ideal cycle.", 0.35),
    number("evaporator_k", "K", 0.1, 40, "Evaporator under the inside.", 10.0),
    number("condenser_k", "K", 0.1, 50, "Condenser over the air.", 15.0),
    number("running_w", "W", 1, 5000, "While the compressor runs.", 45.0),
)
def _refrigeration(v: Values) -> tuple[Figure, dict[str, Scalar]]:
    gain, cop, power = loads.refrigeration(
        v["ua_w_per_k"], v["ambient_c"], v["inside_c"], v["carnot_ratio"], v["evaporator_k"], v["condenser_k"]
    )
    duty = power / v["running_w"]
    steps = (
        step("conductance", v["ua_w_per_k"], "W/K", origin="input"),
        step("span_now", v["ambient_c"] - v["inside_c"], "K", "×", ambient_c=v["ambient_c"], inside_c=v["inside_c"]),
        step("heat_gain", gain, "W", "="),
        step("cop", cop, "", "÷"),
        step("compressor_mean", power, "W", "="),
    )
    return figure_of(
        "mean_w", power, "W", steps, "refrigeration", "carnot",
        heat_gain_w=gain, cop=cop, duty_ratio=min(1.0, duty), holds=duty <= 1,
        energy_wh_day=24 * min(power, v["running_w"]),
    )  # fmt: skip


@declare(
    "charge-time",
    "Hours to charge with nothing drawn meanwhile: bulk and tail.",
    number("capacity_ah", "Ah", 0.1, 100000, "Capacity."),
    number("start_ratio", "", 0, 1, "Charge at the start.", 0.2),
    number("end_ratio", "", 0.01, 0.9999, "Charge at the end.", 0.995),
    number("current_a", "A", 0.01, 10000, "Charging current in bulk."),
    number("tail_h", "h", 0.001, 10, "Time constant in absorption: 0.05 lithium, 1 to 1.5 lead-acid.", 0.05),
)
def _charge_time(v: Values) -> tuple[Figure, dict[str, Scalar]]:
    bulk, tail = battery.charge_time_h(v["capacity_ah"], v["start_ratio"], v["current_a"], v["tail_h"], v["end_ratio"])
    steps = (
        step("charge_in_bulk", bulk * v["current_a"], "Ah"),
        step("current", v["current_a"], "A", "÷", "input"),
        step("bulk_hours", bulk, "h", "="),
        step("tail_hours", tail, "h", "+"),
        step("hours_to_full", bulk + tail, "h", "="),
    )
    return figure_of("charge_h", bulk + tail, "h", steps, "charge_time", "energy", bulk_h=bulk, tail_h=tail)


@declare(
    "alternator-load",
    "What a DC-DC charger takes from the alternator, the feed's drop solved with it, against hot idle.",
    number("output_a", "A", 0, 1000, "Charger output."),
    number("output_v", "V", 10, 32, "At the auxiliary battery.", 14.4),
    number("efficiency_ratio", "", 0.5, 1, "Of the charger.", 0.88),
    number("source_v", "V", 8, 32, "At the starter battery."),
    number("feed_ohm", "Ω", 0, 1, "Feed there and back, devices and joints.", 0.0),
    number("alternator_a", "A", 0, 1000, "Output at hot idle.", 0.0),
    number("own_draw_a", "A", 0, 1000, "The vehicle's own draw.", 0.0),
)
def _alternator(v: Values) -> tuple[Figure, dict[str, Scalar]]:
    amps, left = charging.charger_input(
        v["output_a"] * v["output_v"], v["efficiency_ratio"], v["source_v"], v["feed_ohm"]
    )
    room = v["alternator_a"] - v["own_draw_a"]
    steps = (
        step("charger_output", v["output_a"], "A", origin="input"),
        step("charging_v", v["output_v"], "V", "×", "input"),
        step("efficiency", v["efficiency_ratio"], "", "÷", "input"),
        step("voltage_after_feed", left, "V", "÷"),
        step("charger_input", amps, "A", "="),
    )
    return figure_of(
        "input_a", amps, "A", steps, "charger_input", "energy", input_v=left, headroom_a=room, margin_a=room - amps
    )


@declare(
    "tax-on-lines",
    "Tax on amounts without tax, rounded once on the sum or on each line.",
    Input("amounts", "", 0, 1e9, "Amounts without tax, parted by ;.", None, "numbers"),
    number("rate_ratio", "", 0, 1, "Tax rate, 0.1 for 10 %."),
    Input("rounding", "", None, None, "Where it is rounded.", "total", "choice", ("total", "line")),
    Input("half", "", None, None, "Where half a cent goes.", "up", "choice", ("up", "down")),
)
def _tax(v: Values) -> tuple[Figure, dict[str, Scalar]]:
    amounts = [Decimal(repr(x)) for x in v["amounts"]]
    tax = money.tax_on_lines(amounts, Decimal(repr(v["rate_ratio"])), v["rounding"], v["half"])
    whole = sum(amounts, Decimal(0))
    steps = (
        *(step("amount", float(x), "", "+" if i else "", "input") for i, x in enumerate(amounts)),
        step("amounts_sum", float(whole), "", "="),
        step("tax_rate", v["rate_ratio"], "", "×", "input"),
        step("tax", float(tax), "", ""),
    )
    return figure_of("tax", float(tax), "", steps, "tax_on_lines", "tax", with_tax=float(whole + tax))


from quoting.sizing import (  # noqa: E402  (their methods are listed after these)
    methods_battery,  # noqa: F401
    methods_charging,  # noqa: F401
    methods_sun,  # noqa: F401
    methods_systems,  # noqa: F401
    methods_trip,  # noqa: F401
)
