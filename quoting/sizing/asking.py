"""From loads, vehicle and trip to what is asked of battery, engine, mains, sun and inverter."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from quoting.sizing import battery, charging, shade, sun
from quoting.sizing.battery_volts import highest_charging_v
from quoting.sizing.brief import Brief, Cooling, Load, Stop
from quoting.sizing.charging import Headroom
from quoting.sizing.converters import ask_converter
from quoting.sizing.driving import DrivingShare, driving_share, driving_steps
from quoting.sizing.errors import SizingError
from quoting.sizing.hitch import is_dead
from quoting.sizing.inverter import LossCurve
from quoting.sizing.loads import Day, Peak, air_of, coincident, cooling_steps
from quoting.sizing.needs import BatteryNeed, InverterNeed, Needs, SolarNeed
from quoting.sizing.placing import roof_m2
from quoting.sizing.system import Book, System, compartment_c
from quoting.sizing.trace import Step, step

CUTOFF_V_PER_12 = 11.0
"""Voltage at which an inverter still works before one is chosen, per 12 V. Common practice."""
CHARGER_EFFICIENCY_RATIO = 0.9
"""Of a DC-DC charger before one is chosen. Common practice."""
CONTROLLER_EFFICIENCY_RATIO = 0.96
"""Of a solar controller before one is chosen. Common practice."""
POWER_PER_K = -0.0035
"""Of a module before one is chosen. [1/K] PVWatts v5, premium module."""
LEAST_DRIVING_H = 1 / 60
"""Driving a day under which the engine is not asked to restore anything. [h] Common practice."""
LEAST_IDLE_OUTPUT_A = 5.0
"""Charger output under which hot idle is given up and the output planned on driving alone. [A] Common practice."""
TAIL_END_RATIO = 0.995
"""Charge that counts as full in charging times. Common practice."""


@dataclass(frozen=True, slots=True)
class Peaks:
    """Largest loads at one time."""

    house: Peak
    ac: Peak | None


def find_peaks(brief: Brief, day: Day) -> Peaks:
    """Coincident loads of the house bus (all that hangs on it but the inverter) and of AC."""
    by_key = {line.key: line for line in day.lines}
    house = tuple(x for x in brief.loads if x.bus in ("house", "house12", "usb"))
    own = tuple((x.name, x.running_w) for x in day.lines if x.own_draw and x.key != "own:inverter")
    ac = tuple(x for x in brief.loads if x.bus == "ac")
    return Peaks(
        coincident(house, tuple(by_key[x.key].running_w for x in house), own),
        coincident(ac, tuple(_ac_w(x) for x in ac)) if ac else None,
    )


def _ac_w(load: Load) -> float:
    return load.use.power_w * load.quantity


def ask(brief: Brief, days: tuple[Day, ...], curve: LossCurve, system: System, book: Book) -> Needs:
    """Work out everything asked, with a figure for each, from the trip's most demanding stop."""
    worst = max(range(len(days)), key=lambda i: days[i].energy_wh)
    day, stop, bank_v = days[worst], brief.trip[worst], system.bank_v
    peaks = find_peaks(brief, day)
    _day_figures(brief, stop, day, bank_v, book)
    hottest = max(brief.trip, key=lambda s: s.site.tmax_c[s.month - 1])
    air_c, _ = compartment_c(brief, hottest, "inverter")
    inverter = _ask_inverter(brief, peaks, air_c, book)
    cutoff_v = system.inverter[1].cutoff_v if system.inverter else CUTOFF_V_PER_12 * brief.wishes.system_v / 12
    need = _ask_battery(brief, days, peaks, curve, cutoff_v, system, book)
    room = _headroom(brief, day, book)
    charger_air, _ = compartment_c(brief, hottest, "charger")
    engine_a, engine_most = _ask_engine(brief, days, room, system, book)
    mains_a = _ask_mains(brief, day, stop, need, system, book)
    solar = _ask_sun(brief, days, system, book)
    return Needs(
        battery=need,
        engine_a=engine_a,
        engine_most_a=engine_most,
        mains_a=mains_a,
        solar=solar,
        inverter=inverter,
        house_peak_a=peaks.house.running_w / bank_v,
        compartment_c=charger_air,
        converter=ask_converter(brief, compartment_c(brief, hottest, "converter")[0], _highest_v(system)),
    )


def _highest_v(system: System) -> float:
    """Highest voltage that charging brings to the bus, in the cold where lead-acid is compensated. [V]"""
    if system.storage is None:
        return system.absorption_v
    return highest_charging_v(system.storage[1], system.storage[0].series)


def _day_figures(brief: Brief, stop: Stop, day: Day, bank_v: float, book: Book) -> None:
    lines = [x for x in day.lines if x.energy_wh > 0]

    def total(code: str, picked: list[Step], value: float, end: str) -> None:
        book.put(code, value, "Wh", (*picked, step(end, value, "Wh", "=")), "sum", "energy")

    def rows(live: bool | None) -> list[Step]:
        picked = [x for x in lines if live is None or x.always_live == live]
        return [step("line", x.energy_wh, "Wh", "+" if i else "", name=x.name) for i, x in enumerate(picked)]

    energy = day.energy_wh
    total("day.energy_wh", rows(None), energy, "day_energy")
    total("day.live_wh", rows(True), math.fsum(x.energy_wh for x in lines if x.always_live), "live_energy")
    total("day.away_wh", rows(False), math.fsum(x.energy_wh for x in lines if not x.always_live), "away_energy")
    steps = (
        step("day_energy", energy, "Wh"),
        step("nominal_v", bank_v, "V", "÷", "catalogue"),
        step("day_charge", energy / bank_v, "Ah", "="),
    )
    book.put("day.charge_ah", energy / bank_v, "Ah", steps, "charge_of_energy", "energy")
    for load in brief.loads:
        if isinstance(load.use, Cooling):
            mean, cooling = cooling_steps(brief, load, load.use, air_of(brief, stop, load, day.ambient_c))
            book.put(f"cooling.{load.key}.duty", mean, "", cooling, "cooling_duty", "carnot")


def _ask_inverter(brief: Brief, peaks: Peaks, air_c: float, book: Book) -> InverterNeed | None:
    if peaks.ac is None:
        return None
    ac = peaks.ac
    rows = tuple(step("line", w, "W", "+" if i else "", "input", name=n) for i, (n, w) in enumerate(ac.items))
    book.put(
        "inverter.asked_w", ac.running_w, "W", (*rows, step("inverter_asked", ac.running_w, "W", "=")), "coincident"
    )
    surge = [step("inverter_asked", ac.running_w, "W")]
    if ac.start_w > ac.running_w:
        surge.append(step("largest_start", ac.start_w - ac.running_w, "W", "+", "input", name=ac.starter))
    surge.append(step("inverter_surge", ac.start_w, "W", "="))
    book.put("inverter.surge_w", ac.start_w, "W", surge, "coincident")
    return InverterNeed(ac.running_w, ac.running_va, ac.start_w, ac.start_s, air_c)


def _ask_battery(
    brief: Brief, days: tuple[Day, ...], peaks: Peaks, curve: LossCurve, cutoff_v: float, system: System, book: Book
) -> BatteryNeed:
    policy, bank_v = brief.policy, system.bank_v
    energy = max(day.energy_wh for day in days)
    coldest_c = min(math.fsum(day.ambient_c) / 24 for day in days)
    asked: dict[str, float] = {}
    for chemistry in dict.fromkeys((*brief.wishes.chemistries, system.chemistry)):
        nominal = bank_v if chemistry == system.chemistry else battery.nominal_v(chemistry, brief.wishes.system_v)
        got = battery.asked_ah(
            chemistry,
            policy.chemistries[chemistry],
            energy / nominal,
            brief.wishes.autonomy_days,
            coldest_c,
            policy.design_margin_ratio,
        )
        asked[chemistry], roomy = with_room(brief, "battery", got.capacity_ah, "Ah")
        if chemistry == system.chemistry:
            head = (step("day_energy", energy, "Wh"), step("nominal_v", nominal, "V", "÷", "catalogue"))
            tail = tuple(_dated(x, coldest_c) for x in got.steps)
            first = (tail[0].model_copy(update={"op": "="}), *tail[1:])
            book.put("battery.asked_ah", asked[chemistry], "Ah", (*head, *first, *roomy), got.method, "ieee1013")
    house_a = peaks.house.running_w / bank_v
    inverter_a = 0.0
    if peaks.ac is not None:
        dc_w = curve.dc_w(peaks.ac.running_w)
        inverter_a = dc_w / cutoff_v
        steps = (
            step("inverter_asked", peaks.ac.running_w, "W"),
            step("no_load", curve.no_load_w, "W", "+", "catalogue"),
            step("linear_loss", curve.linear * peaks.ac.running_w, "W", "+"),
            step("resistive_loss", curve.resistive_per_w * peaks.ac.running_w**2, "W", "+"),
            step("dc_power", dc_w, "W", "="),
            step("cutoff_v", cutoff_v, "V", "÷", "catalogue" if system.inverter else "constant"),
            step("inverter_input", inverter_a, "A", "="),
        )
        book.put("inverter.input_a", inverter_a, "A", steps, "inverter_input", "schmidt_sauer")
    at_once = house_a + inverter_a
    together = (
        step("house_current", house_a, "A"),
        step("inverter_current", inverter_a, "A", "+"),
        step("coincident_current", at_once, "A", "="),
    )
    book.put("day.peak_a", at_once, "A", together, "coincident")
    extra, seconds, who = (
        (peaks.house.start_w - peaks.house.running_w) / bank_v,
        peaks.house.start_s,
        peaks.house.starter,
    )
    if peaks.ac is not None:
        more = (curve.dc_w(peaks.ac.start_w) - curve.dc_w(peaks.ac.running_w)) / cutoff_v
        if more > extra:
            extra, seconds, who = more, peaks.ac.start_s, peaks.ac.starter
    peak_steps = [step("coincident_current", at_once, "A")]
    if extra > 0:
        peak_steps.append(step("largest_start", extra, "A", "+", "input", name=who))
    peak_steps.append(step("peak_current", at_once + extra, "A", "="))
    book.put("battery.peak_a", at_once + extra, "A", peak_steps, "coincident")
    return BatteryNeed(asked, at_once, at_once + extra, seconds)


def with_room(
    brief: Brief, of: Literal["battery", "array", "charging"], asked: float, unit: str
) -> tuple[float, tuple[Step, ...]]:
    """What is asked with the room of the offer, and the lines that say so; none where it asks no more than the need."""
    if brief.room is None:
        return asked, ()
    ratio = {
        "battery": brief.room.battery_ratio, "array": brief.room.array_ratio, "charging": brief.room.charging_ratio,
    }[of]  # fmt: skip
    if ratio == 1:
        return asked, ()
    steps = (
        step("room_of_offer", ratio, "", "×", "policy", offer=brief.room.offer),
        step(f"{of}_with_room", asked * ratio, unit, "="),
    )
    return asked * ratio, steps


def _dated(one: Step, battery_c: float) -> Step:
    if one.code != "temperature_factor":
        return one
    return one.model_copy(update={"params": {"battery_c": battery_c}})


def _headroom(brief: Brief, day: Day, book: Book) -> Headroom | None:
    if not brief.wishes.engine_charging:
        return None
    starter_a = day.starter_w / (13.5 * brief.vehicle.nominal_v / 12)
    room = charging.headroom(brief.vehicle, brief.policy, starter_a)
    if room is None:
        return None
    book.put("engine.headroom_idle_a", room.idle_a, "A", room.idle_steps, "headroom", "iso8854")
    book.put("engine.headroom_speed_a", room.speed_a, "A", room.speed_steps, "headroom", "iso8854")
    for found in room.findings:
        if found not in book.findings:
            book.findings.append(found)
    return room


def _ask_engine(
    brief: Brief, days: tuple[Day, ...], room: Headroom | None, system: System, book: Book
) -> tuple[float | None, float | None]:
    """Charging current from the engine that restores a day by itself, and the most that may be set.

    The most is what hot idle feeds, so that it holds; where idle spares next to nothing, what driving feeds.
    """
    if room is None:
        return None, None
    apart = [i for i, s in enumerate(brief.trip) if is_dead(brief, s, "engine")]
    driven = [i for i, s in enumerate(brief.trip) if s.driving_h_per_day >= LEAST_DRIVING_H and i not in apart]
    for i, stop in enumerate(brief.trip):
        if i not in driven and i not in apart:
            book.note("info", "engine_no_driving", f"stop:{i}", name=stop.site.name)
    efficiency = system.engine[1].efficiency_ratio if system.engine else CHARGER_EFFICIENCY_RATIO
    left_v = room.idle_v * (1 - brief.policy.drop_critical_ratio)
    at_idle, planned = (amps * left_v * efficiency / system.absorption_v for amps in (room.idle_a, room.plan_a))
    most = min(at_idle, planned) if at_idle >= LEAST_IDLE_OUTPUT_A else planned
    if most < 1:
        book.note("warning", "engine_no_headroom", "engine.headroom_speed_a", speed_a=room.speed_a)
        return None, max(0.0, most)
    if not driven:
        return None, most
    worst = max(driven, key=lambda i: days[i].energy_wh / brief.trip[i].driving_h_per_day)
    hours, charge = brief.trip[worst].driving_h_per_day, days[worst].energy_wh / system.bank_v
    stored = system.chemistry_policy.charge_efficiency_ratio
    share = driving_share(system)
    if share.ratio <= 0:
        share = DrivingShare(1.0)  # a charger that gives nothing on this drive asks for another, not for a larger one
    asked, more = with_room(brief, "charging", charge / hours / share.ratio / stored, "A")
    steps = (
        step("day_charge", charge, "Ah"),
        step("driving", hours, "h", "÷", "input"),
        *(x.model_copy(update={"op": "÷"}) for x in driving_steps(brief, share)),
        step("charge_efficiency", stored, "", "÷", "policy"),
        step("engine_asked", charge / hours / share.ratio / stored, "A", "="),
        *more,
    )
    book.put("engine.asked_a", asked, "A", steps, "restore_day", "energy")
    return asked, most


def _ask_mains(brief: Brief, day: Day, stop: Stop, need: BatteryNeed, system: System, book: Book) -> float | None:
    """Charging current from mains that fills the bank from the reserve in the policy's time, loads running."""
    if not brief.wishes.mains_charging:
        return None
    policy, chemistry = brief.policy, system.chemistry_policy
    capacity = system.capacity_ah or need.capacity_ah[system.chemistry]
    meanwhile = day.energy_wh / 24 / system.bank_v
    reserve = counted_from(system)
    put_back = (1 - reserve) * capacity / chemistry.charge_efficiency_ratio
    if capacity <= 1e-6:
        return meanwhile
    low, high = capacity / 500, capacity / chemistry.tail_h
    for _ in range(60):
        middle = math.sqrt(low * high)
        bulk, tail = charging_hours(capacity, reserve, middle, system)
        low, high = (middle, high) if bulk + tail > policy.mains_full_h else (low, middle)
    asked, more = with_room(brief, "charging", high + meanwhile, "A")
    steps = (
        step("charge_to_put_back", put_back, "Ah", reserve_ratio=reserve),
        step("hours_allowed", policy.mains_full_h, "h", "", "policy"),
        step("left_for_battery", high, "A"),
        step("loads_meanwhile", meanwhile, "A", "+"),
        step("mains_asked", high + meanwhile, "A", "="),
        *more,
    )
    book.put("mains.asked_a", asked, "A", steps, "charge_time", "policy")
    return asked


def counted_from(system: System) -> float:
    """Charge from which charging times are counted: the policy's reserve, or where the usable depth ends."""
    return max(system.brief.policy.reserve_ratio, 1 - system.chemistry_policy.usable_depth_ratio)


def charging_hours(capacity_ah: float, from_ratio: float, current_a: float, system: System) -> tuple[float, float]:
    """Hours of bulk and tail into this bank, what is not stored put in as well. [h, h]"""
    chemistry = system.chemistry_policy
    stored = max(current_a, 1e-9) * chemistry.charge_efficiency_ratio
    return battery.charge_time_h(capacity_ah, from_ratio, stored, chemistry.tail_h, TAIL_END_RATIO)


def record_low_c(brief: Brief, book: Book) -> float:
    """Coldest morning of the trip: the record low, or the lowest monthly mean less the policy's offset. [°C]"""
    lows = []
    for i, stop in enumerate(brief.trip):
        low = stop.site.record_low_c
        if low is None:
            low = min(stop.site.tmin_c) - brief.policy.record_low_offset_k
            book.note("info", "record_low_assumed", f"stop:{i}", name=stop.site.name, cold_c=low)
        lows.append(low)
    return min(lows)


def _ask_sun(brief: Brief, days: tuple[Day, ...], system: System, book: Book) -> SolarNeed | None:
    if not brief.wishes.solar_charging or brief.wishes.solar_share_ratio <= 0:
        return None
    share, asked, hot = brief.wishes.solar_share_ratio, [], -90.0
    per_k = system.panel[1].power_per_k if system.panel else POWER_PER_K
    control = system.solar[1].efficiency_ratio if system.solar else CONTROLLER_EFFICIENCY_RATIO
    for i, (stop, day) in enumerate(zip(brief.trip, days, strict=True)):
        ghi = stop.site.ghi_kwh_m2_day[stop.month - 1]
        limit = sun.check_site(
            f"trip[{i}].site.ghi_kwh_m2_day[{stop.month - 1}]", stop.site.latitude_deg, stop.month, ghi
        )
        if ghi > limit:
            book.note(
                "warning", "site_sun_high", f"stop:{i}", name=stop.site.name, month=stop.month, ghi=ghi, limit=limit
            )
        heat = 0.0
        plane = sun.plane_w_m2(
            stop.site.latitude_deg,
            stop.month,
            ghi,
            brief.wishes.panel_tilt_deg,
            brief.wishes.panel_azimuth_deg,
        )
        for h, light_w_m2 in enumerate(plane):
            cell = sun.cell_c(light_w_m2, day.ambient_c[h], brief.policy.wind_m_s)
            hot = max(hot, cell)
            heat += light_w_m2 / 1000 * (1 + per_k * (cell - sun.STC_C))
        left = sun.losses_left(brief.policy)
        per_watt = heat * left * control * system.charging_share
        wanted = share * day.energy_wh
        if is_dead(brief, stop, "sun"):
            continue
        if per_watt * (1 - stop.shade_ratio) > 1e-6:
            asked.append((wanted / per_watt, i, wanted, per_watt))
        else:
            book.note("warning", "sun_none", f"stop:{i}", name=stop.site.name, month=stop.month)
    if not asked:
        return None
    shaded = {i: _shade_step(system, brief.trip[i], hot) for _, i, _, _ in asked}
    open_w, index, wanted, per_watt = max(asked, key=lambda one: one[0] / shaded[one[1]].value)
    stop = brief.trip[index]
    array, more = with_room(brief, "array", open_w / shaded[index].value, "W")
    book.put(
        "sun.asked_wh",
        wanted,
        "Wh/day",
        (
            step("day_energy", days[index].energy_wh, "Wh"),
            step("sun_share", share, "", "×", "input"),
            step("sun_asked", wanted, "Wh/day", "="),
        ),
        "sum",
        "energy",
    )
    steps = (
        step("sun_asked", wanted, "Wh/day"),
        step("per_watt", per_watt, "Wh/W", "÷", name=stop.site.name, month=stop.month),
        *((shaded[index],) if stop.shade_ratio else ()),
        step("array_asked", open_w / shaded[index].value, "W", "="),
        *more,
    )
    book.put("sun.array_w", array, "W", steps, "array_asked", "collares_pereira_rabl")
    roof = roof_m2(brief)
    if roof is None:
        book.note("info", "solar_needs_roof", "sun.array_w")
    if not math.isfinite(array):
        raise SizingError("trip", value=array, code="not_a_number")
    ratio = brief.room.array_ratio if brief.room else 1.0
    by_stop = tuple((watts * ratio, brief.trip[i].shade_ratio) for watts, i, _, _ in asked)
    return SolarNeed(array, record_low_c(brief, book), hot, roof, by_stop)


def _shade_step(system: System, stop: Stop, hot_cell_c: float) -> Step:
    """What a stop's shade leaves of the chosen array with its cells at their hottest.

    Before one is chosen, or where shade leaves it nothing, all that lies in the sun.
    """
    if system.panel and system.solar:
        (one, panel), control = system.panel, system.solar[1]
        hot_v = sun.string_v(panel, one.series, hot_cell_c)
        asked_v = sun.asked_v(control, system.absorption_v)
        left = float(shade.left_ratio(panel, control, one.series, one.parallel, stop.shade_ratio, hot_v, asked_v))
        if left > 0:
            groups = shade.groups_of(panel) * one.series * one.parallel
            return step("shade", left, "", "÷", "survey", shade_ratio=stop.shade_ratio, groups=groups)
    return step("out_of_shade", 1 - stop.shade_ratio, "", "÷", "survey")
