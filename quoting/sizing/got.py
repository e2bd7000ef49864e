"""Figures of what was chosen, each beside what was asked, and the checks that choosing cannot make alone."""

from __future__ import annotations

import math

from catalog.kinds.capabilities import at
from quoting.sizing import battery, cells, charging, filling, sun
from quoting.sizing.appraisal import SourceSummary, StopResult
from quoting.sizing.asking import charging_hours, counted_from, record_low_c
from quoting.sizing.brief import Brief, Stop
from quoting.sizing.charging import Headroom
from quoting.sizing.driving import driving_share, driving_steps, feed_ohm
from quoting.sizing.errors import SizingError
from quoting.sizing.loads import Day, ambient_by_hour
from quoting.sizing.needs import Needs
from quoting.sizing.offers import let_through_a, sun_day
from quoting.sizing.own import plugged
from quoting.sizing.system import Book, Output, System, compartment_c, output
from quoting.sizing.trace import step


def bank(system: System, needs: Needs, day: Day, book: Book) -> None:
    """What the chosen bank holds, how long it lasts worn, and whether it stands the currents."""
    if not system.storage or system.capacity_ah is None:
        book.note("warning", "battery_missing", "battery", capacity_ah=needs.battery.capacity_ah[system.chemistry])
        return
    one, can = system.storage
    capacity, policy = system.capacity_ah, system.chemistry_policy
    steps = (
        step("capacity_each", can.capacity_ah, "Ah", origin="catalogue"),
        step("parallel", one.parallel, "", "×", "catalogue"),
        step("capacity_got", capacity, "Ah", "="),
    )
    book.put("battery.got_ah", capacity, "Ah", steps, "bank_got")
    charge = day.energy_wh / system.bank_v
    if charge > 0:
        days = capacity * policy.end_of_life_ratio * policy.usable_depth_ratio / charge
        worn = (
            step("capacity_got", capacity, "Ah", origin="catalogue"),
            step("end_of_life", policy.end_of_life_ratio, "", "×", "policy"),
            step("depth", policy.usable_depth_ratio, "", "×", "policy"),
            step("day_charge", charge, "Ah", "÷"),
            step("days_worn", days, "day", "="),
        )
        book.put("battery.days", days, "day", worn, "autonomy")
    need = needs.battery
    limit = can.max_discharge_a * one.parallel
    if need.discharge_a > limit:
        book.note("danger", "discharge_over_limit", "battery", current_a=need.discharge_a, limit_a=limit)
    peak = can.peak_a * one.parallel if need.peak_s <= can.peak_s else limit
    if need.peak_a > peak:
        book.note(
            "warning",
            "peak_over_limit",
            "battery",
            peak_a=need.peak_a,
            seconds_s=need.peak_s,
            limit_a=peak,
            limit_s=can.peak_s,
        )
    _sag(system, needs, book)
    place = system.brief.vehicle.places.get("battery")
    position = next((p for p in system.brief.vehicle.positions if p.key == place), None)
    if position is not None:
        if position.engine_space and not can.engine_bay_allowed:
            book.note("danger", "battery_in_engine_space", "battery", name=one.name)
        if position.ambient_c > can.max_charge_c:
            book.note("warning", "battery_too_hot", "battery", ambient_c=position.ambient_c, limit_c=can.max_charge_c)
    if can.needs_venting and can.chemistry in battery.GAS_MA_PER_AH:
        in_series, gas = can.cells * one.series, battery.GAS_MA_PER_AH[can.chemistry]
        air = battery.ventilation_m3_h(in_series, gas, capacity)
        vent = (
            step("vent_constant", 0.05, "m³/Ah", origin="table"),
            step("vent_cells", in_series, "", "×", "catalogue"),
            step("vent_gas", gas / 1000, "A/Ah", "×", "table"),
            step("capacity_got", capacity, "Ah", "×", "catalogue"),
            step("vent_air", air, "m³/h", "="),
        )
        book.put("battery.vent_m3_h", air, "m³/h", vent, "ventilation", "iec62485")
        book.note("warning", "battery_wants_venting", "battery", air_m3_h=air)


def _sag(system: System, needs: Needs, book: Book) -> None:
    """The bank under the largest current, at the charge kept in reserve and as cold as the trip makes its cells,
    against the inverter's cut-off.
    """
    assert system.storage
    one, can = system.storage
    air = [ambient_by_hour(stop.site, stop.month) for stop in system.brief.trip]
    ohm = battery.bank_ohm(can, one.series, one.parallel, cells.coldest_c(system, air))
    if ohm is None or not system.inverter:
        return
    ratio = counted_from(system)
    volts = battery.terminal_v(
        system.chemistry,
        ratio,
        system.brief.wishes.system_v,
        needs.battery.peak_a,
        ohm,
    )
    cutoff = system.inverter[1].cutoff_v
    if volts < cutoff:
        book.note(
            "warning", "sags_below_cutoff", "inverter", current_a=needs.battery.peak_a, voltage_v=volts, cutoff_v=cutoff
        )


def inverter(system: System, needs: Needs, book: Book) -> None:
    """What is left of the inverter in the heat, against what is asked."""
    if not system.inverter or needs.inverter is None:
        return
    can = system.inverter[1]
    hottest = max(system.brief.trip, key=lambda s: s.site.tmax_c[s.month - 1])
    air, place = compartment_c(system.brief, hottest, "inverter")
    left = at(can.derating, air)
    got = can.continuous_w * left
    steps = (
        *place,
        step("inverter_continuous", can.continuous_w, "W", "", "catalogue"),
        step("at_temperature", left, "", "×", "catalogue", compartment_c=air),
        step("inverter_got", got, "W", "="),
    )
    book.put("inverter.got_w", got, "W", steps, "inverter_at_heat")
    if needs.inverter.continuous_w > got:
        book.note(
            "danger",
            "inverter_overloaded",
            "inverter",
            asked_w=needs.inverter.continuous_w,
            got_w=got,
            compartment_c=air,
        )
    if needs.inverter.surge_w > can.surge_w:
        book.note(
            "warning",
            "inverter_surge_short",
            "inverter",
            surge_w=needs.inverter.surge_w,
            limit_w=can.surge_w,
            limit_s=can.surge_s,
        )


def _hot_output(system: System, source: str) -> Output | None:
    hottest = max(system.brief.trip, key=lambda s: s.site.tmax_c[s.month - 1])
    air, _ = compartment_c(system.brief, hottest, "charger")
    if source == "engine" and system.engine:
        return output(system, *system.engine, air)
    if source == "mains" and system.mains:
        return output(system, *system.mains, air)
    return None


def engine(system: System, room: Headroom | None, book: Book) -> None:
    """Output, input solved with the feed's drop, and what hot idle and a whole drive make of it."""
    out = _hot_output(system, "engine")
    if not system.engine or out is None:
        return
    one, can = system.engine
    brief, volts = system.brief, system.absorption_v
    book.put("engine.output_a", out.amps, "A", out.steps, "charger_output")
    stored = system.chemistry_policy.charge_efficiency_ratio
    share = driving_share(system)
    hour_ah = out.amps * share.ratio * stored
    gives = (
        step("output_now", out.amps, "A"),
        step("hour", 1, "h", "×"),
        *driving_steps(brief, share),
        step("charge_efficiency", stored, "", "×", "policy"),
        step("hour_gives", hour_ah, "Ah", "="),
    )
    book.put("engine.hour_gives_ah", hour_ah, "Ah", gives, "charger_output")
    if share.why == "steady_voltage":
        stop_v = can.stop_below_v
        book.note("warning", "charger_stops_driving", "engine", name=one.name, voltage_v=share.voltage_v, stop_v=stop_v)
    if not can.smart_alternator and brief.vehicle.alternator_control == "smart":
        book.note("warning", "not_for_smart_alternator", "engine", name=one.name)
    if room is None:
        return
    feed = feed_ohm(system)
    power = out.amps * volts
    try:
        amps, left_v = charging.charger_input(power, can.efficiency_ratio, room.idle_v, feed)
    except SizingError:
        book.note("danger", "feed_cannot_carry", "engine", resistance_ohm=feed, power_w=power)
        return
    steps = (
        step("charger_output", out.amps, "A", origin="catalogue"),
        step("charging_v", volts, "V", "×", "catalogue"),
        step("efficiency", can.efficiency_ratio, "", "÷", "catalogue"),
        step("voltage_after_feed", left_v, "V", "÷"),
        step("charger_input", amps, "A", "="),
    )
    book.put("engine.input_a", amps, "A", steps, "charger_input", "energy")
    if left_v < can.stop_below_v:
        book.note("warning", "charger_undervoltage", "engine", voltage_v=left_v, stop_v=can.stop_below_v)
    check = charging.idle_check(room, brief.policy, volts, out.amps, can.efficiency_ratio, feed, can.limit_steps_a)
    if check.deficit_a > 0:
        book.note(
            "warning",
            "idle_deficit" if check.suggested_output_a is not None else "idle_deficit_any_setting",
            "engine.input_a",
            input_a=amps,
            headroom_a=room.idle_a,
            deficit_a=check.deficit_a,
            setting_a=check.suggested_output_a,
        )
    if check.mean_loss_a > 0:
        book.note(
            "danger",
            "alternator_overdrawn",
            "engine.input_a",
            idle_ratio=brief.policy.idle_share_ratio,
            loss_a=check.mean_loss_a,
        )


def mains(system: System, stop: Stop, day: Day, book: Book) -> None:
    """Hours from the reserve to full with the loads running, and what the outlet gives."""
    out = _hot_output(system, "mains")
    if not system.mains or out is None:
        return
    can = system.mains[1]
    power = out.amps * system.absorption_v
    amps = charging.outlet_a(power, can.efficiency_ratio, can.power_factor, can.mains_v)
    steps = (
        step("charger_output", out.amps, "A", origin="catalogue"),
        step("charging_v", system.absorption_v, "V", "×", "catalogue"),
        step("efficiency", can.efficiency_ratio, "", "÷", "catalogue"),
        step("power_factor", can.power_factor, "", "÷", "catalogue"),
        step("mains_v", can.mains_v, "V", "÷", "catalogue"),
        step("outlet_current", amps, "A", "="),
    )
    book.put("mains.outlet_a", amps, "A", steps, "outlet", "energy")
    if system.capacity_ah is None:
        return
    meanwhile = day.energy_wh / 24 / system.bank_v
    if out.amps <= meanwhile:
        book.note("warning", "mains_below_loads", "mains", output_a=out.amps, loads_a=meanwhile)
        return
    taken = cells.least_share(system, stop, day.ambient_c, plugged(stop))
    hours = filling.fill("mains.hours_to_full", out.steps, out.amps, system, day, book, taken)
    if hours is not None and hours > system.brief.policy.mains_full_h * 1.001:
        book.note("warning", "mains_slow", "mains", hours_h=hours, allowed_h=system.brief.policy.mains_full_h)


def solar(system: System, days: tuple[Day, ...], book: Book) -> None:
    """A day's sun at the stop where least of what is asked comes, cold voltage, roof."""
    if not system.panel or not system.solar:
        return
    brief = system.brief
    lights = [sun_day(system, stop, day) for stop, day in zip(brief.trip, days, strict=True)]
    worst = min(range(len(days)), key=lambda i: lights[i].wh / max(days[i].energy_wh, 1e-9))
    got = lights[worst]
    for code in ("sun.got_wh", "sun.day_wh"):
        book.put(code, got.wh, "Wh/day", got.steps, "array_day", "collares_pereira_rabl")
    one, panel = system.panel
    control = system.solar[1]
    cold_c = record_low_c(brief, book)
    voc = sun.cold_voc_v(panel.voc_v, panel.voc_per_k, one.series, cold_c)
    steps = (
        step("voc", panel.voc_v, "V", origin="catalogue"),
        step("in_series", one.series, "", "×", "catalogue"),
        step("cold_rise", voc / (panel.voc_v * one.series), "", "×", "catalogue", cold_c=cold_c),
        step("cold_voc", voc, "V", "="),
    )
    book.put("sun.cold_voc_v", voc, "V", steps, "cold_voltage", "nec690")
    if voc > control.max_voc_v:
        book.note("danger", "cold_voc_over_limit", "sun", cold_c=cold_c, voc_v=voc, limit_v=control.max_voc_v)
    vehicle = brief.vehicle
    if vehicle.roof_length_m and vehicle.roof_width_m and not vehicle.roof:
        roof, array = vehicle.roof_length_m * vehicle.roof_width_m, panel.length_m * panel.width_m * one.quantity
        if array > roof:
            book.note("warning", "solar_array_over_roof", "sun", array_m2=array, roof_m2=roof)


def starter(brief: Brief, starter_wh: float, book: Book) -> None:
    """Days that the starter battery may be parked."""
    vehicle, policy = brief.vehicle, brief.policy
    if vehicle.starter_ah is None or vehicle.standing_draw_a is None:
        book.note("info", "starter_unknown", "starter")
        return
    loads_a = starter_wh / 24 / vehicle.nominal_v
    draw = vehicle.standing_draw_a + loads_a
    if draw < 1e-4:
        return
    days = charging.days_parked(vehicle.starter_ah, policy.crank_charge_ratio, draw)
    steps = [
        step("starter_capacity", vehicle.starter_ah, "Ah", origin="survey"),
        step("above_crank", 1 - policy.crank_charge_ratio, "", "×", "policy"),
    ]
    if loads_a > 0:
        steps.append(step("standing_with_loads", draw, "A", "÷"))
    else:
        steps.append(step("standing_draw", draw, "A", "÷", "survey"))
    steps += [step("hours_in_day", 24, "h", "÷"), step("days_parked", days, "day", "=")]
    book.put("starter.days_parked", days, "day", steps, "parked")
    if days < 14:
        book.note("warning", "starter_flat_soon", "starter", standing_a=draw, days=days)


def parked(system: System, day: Day, book: Book) -> None:
    """Days the always-live set runs from a full bank with the vehicle parked up and nothing charging."""
    capacity = system.capacity_ah
    live = math.fsum(x.energy_wh for x in day.lines if x.always_live and x.key != "own:inverter")
    if capacity is None or live <= 0:
        return
    depth, per_day = system.chemistry_policy.usable_depth_ratio, live / system.bank_v
    days = capacity * depth / per_day
    steps = (
        step("capacity_got", capacity, "Ah", origin="catalogue"),
        step("depth", depth, "", "×", "policy"),
        step("live_charge", per_day, "Ah", "÷"),
        step("days_parked", days, "day", "="),
    )
    book.put("parked.days", days, "day", steps, "autonomy")


def sources(system: System, stops: tuple[StopResult, ...], worst: int) -> tuple[SourceSummary, ...]:
    """How each source charges, nothing else drawing: current, hours from reserve to full, energy of a day.

    The sun's current is that of the best hour of a mean day. Together they charge all at once, held to an output that
    several of them share and to what the battery takes.
    """
    capacity, stop = system.capacity_ah, stops[worst]
    reserve = counted_from(system)
    found: list[SourceSummary] = []

    def add(source: str, amps: float, wh: float, name: str) -> None:
        hours: float | None = None
        if capacity and amps > 0.01 and source != "sun":
            hours = sum(charging_hours(capacity, reserve, amps, system))
        elif capacity and source == "sun" and wh > 1:
            wanted = (1 - reserve) * capacity * system.bank_v / system.chemistry_policy.charge_efficiency_ratio
            hours = 24 * wanted / wh
        found.append(
            SourceSummary.model_validate(
                {
                    "source": source, "current_a": amps, "hours_to_full": hours, "energy_wh_day": wh,
                    "unit_name": name, "stop_index": stop.index,
                }
            )
        )  # fmt: skip

    engine_out, mains_out = _hot_output(system, "engine"), _hot_output(system, "mains")
    amps = {"engine": 0.0, "mains": 0.0, "sun": 0.0}
    if system.engine and engine_out and "engine" not in system.cut:
        amps["engine"] = engine_out.amps
        add("engine", engine_out.amps, stop.engine_wh, system.engine[0].name)
    if system.mains and mains_out and "mains" not in system.cut:
        amps["mains"] = mains_out.amps
        add("mains", mains_out.amps, stop.mains_wh, system.mains[0].name)
    if system.solar and system.panel and "sun" not in system.cut:
        amps["sun"] = max(stop.sun_w) / system.bank_v
        add("sun", amps["sun"], stop.sun_wh, system.solar[0].name)
    if len(found) > 1:
        hottest = max(system.brief.trip, key=lambda s: s.site.tmax_c[s.month - 1])
        air_c, _ = compartment_c(system.brief, hottest, "charger")
        both = min(system.charge_limit_a, let_through_a(system, amps, air_c))
        add("together", both, stop.engine_wh + stop.mains_wh + stop.sun_wh, "")
    return tuple(found)
