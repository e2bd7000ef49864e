"""Feeds: engine, array, chargers, battery, boards, inverter. Every one with a source at each end has two devices."""

from __future__ import annotations

import math
from dataclasses import dataclass

from catalog.kinds.capabilities import (
    EngineCharging,
    Inverting,
    MainsCharging,
    Monitoring,
    Panel,
    SolarControl,
    Storage,
)
from quoting.sizing.appraisal import Chosen
from quoting.sizing.charging import SMART_LOW_V_PER_12, charger_input
from quoting.sizing.circuits_system import Bank, System, bank_supply, starter_supply
from quoting.sizing.errors import SizingError
from quoting.sizing.protection import Supply
from quoting.sizing.runs import Designed
from quoting.sizing.runs_ask import Ask
from quoting.sizing.topology import way

SOLAR_DESIGN_RATIO = 1.56
"""Conductors and device of an array over its short-circuit current. NEC 690.8: 1.25 × 1.25."""

MAIN_TARGET_RATIO = 0.004
"""Wished loss in the battery main's conductors, which are short, so that the circuits behind have room. C: tried on
systems of 5 to 60 circuits, 0.003 buys a size or two more of the main and thins next to no circuit behind it; from
0.005 on circuits and feeds grow instead."""

FEED_JOINTS_RATIO = 0.004
"""Wished loss in device and joints of a board's feed. C"""

LEAST_TARGET_RATIO = 0.001
"""Least wished loss of a board's feed. C"""

UNEQUAL_RATIO = 1.05
"""Resistance of one battery lead over another's, beyond which they no longer count as equal. C"""

DESIGN_PASSES = 12
"""Times that a charger's input current and its feed are solved in turn; it settles in two or three."""


@dataclass(frozen=True, slots=True)
class Source:
    """One charger's output into the main bus."""

    tag: str
    role: str
    name: str
    output_a: float
    part: str


def charger_sources(system: System) -> list[Source]:
    """Converters with their output into the main bus, in the order of their tags (U1, U2 ...)."""
    found: list[Source] = []
    roles = {
        "multi_charger": "charger_output",
        "engine_charger": "charger_output",
        "solar_controller": "controller_output",
        "mains_charger": "mains_output",
    }
    for role, circuit in roles.items():
        chosen = system.choice.role(role)
        if chosen is not None:
            found.append(Source(f"U{len(found) + 1}", circuit, chosen.name, _output_a(system, chosen), chosen.part))
    return found


def _output_a(system: System, chosen: Chosen) -> float:
    """Most it gives: the limit set for an engine charger, the stated whole of a shared output. [A]"""
    outputs: list[float] = []
    shared = False
    for can in system.parts.all(chosen.part):
        if isinstance(can, EngineCharging | MainsCharging | SolarControl):
            shared = shared or can.shares_output
            outputs.append(can.output_a)
    if shared:
        whole = system.parts.part(chosen.part).spec.get("output_a")
        return float(whole) if isinstance(whole, int | float) else sum(outputs)
    return max(outputs)


def engine_feed(system: System, tag: str) -> Designed | None:
    """Starter battery to charger, a device at both ends; input current and feed drop solved together."""
    charger = system.choice.role("multi_charger", "engine_charger")
    if charger is None or not system.parts.has(charger.part, EngineCharging) or "engine_charging" not in charger.serves:
        return None
    vehicle, policy = system.brief.vehicle, system.brief.policy
    can = system.parts.can(charger.part, EngineCharging)
    limit = charger.output_limit_a
    output_w = (can.output_a if limit is None else limit) * system.high_v
    strong, weak = starter_supply(system)
    source_v = _lowest_source_v(system, weak.emf_v)
    route = way(vehicle, system.at("starter"), system.at("charger"))
    amps = output_w / (can.efficiency_ratio * source_v)
    found: Designed | None = None
    kept = len(system.runs), len(system.shortfalls)
    for _ in range(DESIGN_PASSES):
        del system.runs[kept[0] :], system.shortfalls[kept[1] :]
        ask = Ask(
            key="engine_feed", name="Engine feed", role="engine_feed", source="B0", target=tag, way=route,
            current_a=amps, nominal_v=vehicle.nominal_v, low_v=source_v, high_v=strong.emf_v,
            limit_ratio=policy.drop_other_ratio, strong=strong, weak=weak, ends=("source", "load"),
        )  # fmt: skip
        found = system.design(system.guarded(ask, charger.part))
        if found is None:
            return None
        try:
            solved, _ = charger_input(output_w, can.efficiency_ratio, source_v, found.hot_ohm)
        except SizingError:
            return found
        if abs(solved - amps) < 0.01:
            break
        amps = max(amps, solved)
    return found


def _lowest_source_v(system: System, low_v: float) -> float:
    """Voltage at which the feed carries most: measured at hot idle, or what the ECU lowers it to when driving. [V]"""
    vehicle = system.brief.vehicle
    measured_v = vehicle.hot_idle_v or low_v
    if vehicle.alternator_control != "smart":
        return measured_v
    return min(measured_v, SMART_LOW_V_PER_12 * vehicle.nominal_v / 12)


def array_strings(system: System, tag: str) -> None:
    """Each string to the controller on its own conductors and device: 1.56 Isc, never over the series fuse.

    What is lost is reckoned at the current of most power, which is what flows.
    """
    panels = system.choice.role("panel")
    controller = system.choice.role("multi_charger", "solar_controller")
    if panels is None or controller is None:
        return
    can = system.parts.can(panels.part, Panel)
    assert system.needs.solar is not None
    cold_v = can.voc_v * panels.series * (1 + can.voc_per_k * (system.needs.solar.cold_c - 25))
    route = way(system.brief.vehicle, system.at("array"), system.at("charger"))
    design_a = SOLAR_DESIGN_RATIO * can.isc_a
    behind_a = 1.25 * can.isc_a * max(1, panels.parallel - 1)
    for i in range(1, panels.parallel + 1):
        several = panels.parallel > 1
        node = f"PV{i}"
        name = f"Solar array, string {i}" if several else "Solar array"
        system.node(
            node, "panel", panels.name, system.at("array"), power_w=can.power_w * panels.series,
            vmp_v=round(can.vmp_v * panels.series, 1), voc_cold_v=round(cold_v, 1), isc_a=can.isc_a,
            quantity=panels.series, part=panels.part,
        )  # fmt: skip
        supply = Supply(cold_v, math.inf, behind_a)
        system.design(
            Ask(
                key=f"solar_array_{i}", name=name, role="solar_array", source=node, target=tag, way=route,
                current_a=design_a, nominal_v=can.vmp_v * panels.series, low_v=can.vmp_v * panels.series,
                high_v=cold_v, limit_ratio=system.brief.policy.drop_critical_ratio, strong=supply, weak=supply,
                ends=("load",), limited=True, least_rating_a=design_a, most_rating_a=can.max_series_fuse_a,
                drop_a=can.imp_a,
            )
        )  # fmt: skip


def battery_main(system: System, bank: Bank, extra_a: float) -> tuple[Supply, Supply, float]:
    """Battery to main bus with device and isolator; parallel batteries by leads of their own to a link before it.

    Returns the supplies at the main bus and the loop resistance of the shared part. [Ω]
    """
    policy, needs = system.brief.policy, system.needs
    at = system.at("battery")
    route = way(system.brief.vehicle, at, at)
    main_a, (peak_a, start_s) = main_current_a(system, extra_a), start_of(system)
    strong, weak = bank_supply(system, bank, extra_a)
    monitor = system.choice.role("monitor")
    shunt = system.parts.can(monitor.part, Monitoring).shunt_ohm if monitor else 0.0
    shared_ohm = 0.0
    if bank.strings > 1:
        others = None if bank.string_ohm is None else bank.string_ohm / (bank.strings - 1)
        into = Supply(system.high_v, others, extra_a)
        own = Supply(system.high_v, bank.string_ohm, 0.0)
        worst = into if into.fault_a is None or own.fault_a is None or into.fault_a >= own.fault_a else own
        lead_a = main_a / (bank.strings - 1)
        lead_peak_a = peak_a / (bank.strings - 1)
        leads = [
            system.design(
                Ask(
                    key=f"battery_lead_{i}", name=f"Battery {i} to link", role="battery_main", source=f"B{i}",
                    target="W4", way=route, current_a=lead_a, peak_a=lead_peak_a, start_s=start_s,
                    limit_ratio=policy.drop_critical_ratio, strong=worst,
                    weak=Supply(system.low_v, bank.weak_string_ohm), ends=("source", "load"),
                    target_v=MAIN_TARGET_RATIO * system.volts, nominal_v=system.volts,
                    low_v=system.low_v, high_v=system.high_v,
                )
            )
            for i in range(1, bank.strings + 1)
        ]  # fmt: skip
        laid = [lead for lead in leads if lead is not None]
        if laid:
            cold, hot = min(x.cold_ohm for x in laid), max(x.hot_ohm for x in laid)
            strong, weak = strong.behind(cold / bank.strings), weak.behind(hot / bank.strings)
            shared_ohm += hot / bank.strings
            _say_unequal(system, laid)
        if needs.battery.discharge_a > (bank.strings - 1) * bank.max_discharge_a:
            system.warn(
                "rest_of_bank_too_small", "battery", discharge_a=round(needs.battery.discharge_a, 1),
                left_a=(bank.strings - 1) * bank.max_discharge_a,
            )  # fmt: skip
    upstream_v = shared_ohm * main_a
    main = system.design(
        Ask(
            key="battery_main", name="Battery main", role="battery_main", source="W4" if bank.strings > 1 else "B1",
            target="W1", way=route, current_a=main_a, limit_ratio=policy.drop_critical_ratio, strong=strong, weak=weak,
            peak_a=peak_a, start_s=start_s, target_v=MAIN_TARGET_RATIO * system.volts, isolator=True, extra_ohm=shunt,
            upstream_v=upstream_v,
            nominal_v=system.volts, low_v=system.low_v, high_v=system.high_v,
        )
    )  # fmt: skip
    if bank.strings > 1:
        system.busbar("W4", "Battery link", at, main_a, bank.strings + 1)
    if main is None:
        return strong, weak, shared_ohm
    return main.strong(strong), main.weak(weak), shared_ohm + main.hot_ohm


def _say_unequal(system: System, leads: list[Designed]) -> None:
    """Leads of batteries side by side share their current only while they are equal; one changed by hand is not."""
    ohms = [lead.hot_ohm for lead in leads]
    if max(ohms) > UNEQUAL_RATIO * min(ohms):
        system.warn("leads_unequal", "battery", most_ohm=max(ohms), least_ohm=min(ohms))


def main_current_a(system: System, charge_a: float) -> float:
    """The larger of coincident loads with the inverter at its rating, and all chargers together. [A]"""
    return max(discharge_a(system), charge_a, 1.0)


def discharge_a(system: System) -> float:
    """Coincident design current of every feeder behind the main bus, the inverter at its rating. [A]"""
    return max(system.needs.battery.discharge_a, system.needs.house_peak_a + system.inverter_a)


def start_of(system: System) -> tuple[float, float]:
    """Most that the main carries while a load starts or the inverter gives its surge, and how long. [A, s]"""
    need, inverter = system.needs.battery, system.choice.role("inverter")
    started = discharge_a(system) + max(0.0, need.peak_a - need.discharge_a), need.peak_s
    if inverter is None:
        return started
    can = system.parts.can(inverter.part, Inverting)
    return max(started, (system.needs.house_peak_a + surge_a(system, can), can.surge_s))


def surge_a(system: System, can: Inverting) -> float:
    """Direct current of the inverter's surge at the battery's low voltage. [A]"""
    return can.surge_w / (can.efficiency_full_ratio * system.low_v)


def charger_outputs(system: System, sources: list[Source], strong: Supply, weak: Supply) -> None:
    """Chargers and controllers to the main bus: a source at each end, so a device at both."""
    route = way(system.brief.vehicle, system.at("charger"), system.at("battery"))
    names = {"charger_output": "Charger output", "controller_output": "Solar controller output",
             "mains_output": "Mains charger output"}  # fmt: skip
    for source in sources:
        ask = Ask(
            key=f"{source.role}_{source.tag}", name=names[source.role], role=source.role, source=source.tag,
            target="W1", way=route, current_a=source.output_a, nominal_v=system.volts, low_v=system.low_v,
            high_v=system.high_v, limit_ratio=system.brief.policy.drop_critical_ratio, strong=strong, weak=weak,
            ends=("source", "load"),
        )  # fmt: skip
        system.design(system.guarded(ask, source.part))


def inverter_feed(system: System, tag: str, strong: Supply, weak: Supply, shared_ohm: float) -> None:
    """Main bus to inverter, for its rating at its low-voltage limit."""
    inverter = system.choice.role("inverter")
    if inverter is None:
        return
    can = system.parts.can(inverter.part, Inverting)
    amps = system.inverter_a
    most_a = surge_a(system, can)
    route = way(system.brief.vehicle, system.at("battery"), system.at("inverter"))
    ask = Ask(
        key="inverter_feed", name="Inverter feed", role="inverter_feed", source="W1", target=tag, way=route,
        current_a=amps, peak_a=most_a, start_s=can.surge_s, nominal_v=system.volts, low_v=system.low_v,
        high_v=system.high_v, limit_ratio=system.brief.policy.drop_other_ratio, strong=strong, weak=weak,
        upstream_v=shared_ohm * discharge_a(system), cutout_v=can.cutoff_v,
        upstream_peak_v=shared_ohm * (system.needs.house_peak_a + most_a),
    )  # fmt: skip
    system.design(system.guarded(ask, inverter.part))
    battery = system.choice.role("battery")
    if battery is not None and discharge_a(system) > system.needs.battery.discharge_a + 1e-9:
        from_bank = _bank_limit_a(system)
        if discharge_a(system) > from_bank:
            system.warn(
                "inverter_over_battery", "inverter", level="info", inverter_a=round(discharge_a(system), 1),
                battery_a=from_bank,
            )  # fmt: skip


def _bank_limit_a(system: System) -> float:
    battery = system.choice.role("battery")
    assert battery is not None
    return system.parts.can(battery.part, Storage).max_discharge_a * battery.parallel


@dataclass(frozen=True, slots=True)
class BoardSupply:
    """What a board's circuits start from."""

    strong: Supply
    weak: Supply
    lost_v: float
    """In the feed, at its design current. [V]"""
    reserved_v: float
    """Kept for the feed's conductors beyond what they lose: volts are shared by length, not by what is left. [V]"""
    shared_ohm: float = 0.0
    """From the battery's posts to the board, hot: what a load's start loses more of before its own circuit. [Ω]"""


def board_feed(
    system: System, tag: str, name: str, current_a: float, strong: Supply, weak: Supply, shared_ohm: float,
    target_v: float, start: tuple[float, float] = (0.0, 0.0),
) -> BoardSupply:  # fmt: skip
    """Main bus to a board; ``target_v`` is the feed's share of the volts that its circuits may lose. [V]

    ``start``: what the largest start behind it takes more than running, and how long. [A, s]
    """
    route = way(system.brief.vehicle, system.at("battery"), system.at("board"))
    found = system.design(
        Ask(
            key=f"feed_{tag}", name=name, role="distribution", source="W1", target=tag, way=route, current_a=current_a,
            peak_a=current_a + start[0] if start[0] > 0 else 0.0, start_s=start[1],
            nominal_v=system.volts, low_v=system.low_v, high_v=system.high_v,
            limit_ratio=system.brief.policy.drop_critical_ratio, strong=strong, weak=weak, target_v=target_v,
            target_joints_v=FEED_JOINTS_RATIO * system.volts,
            upstream_v=shared_ohm * system.needs.battery.discharge_a, group="always_live" if tag == "W2" else "away",
        )
    )  # fmt: skip
    if found is None:
        return BoardSupply(strong, weak, 0.0, 0.0, shared_ohm)
    conductor_v = next(s.value for s in found.circuit.steps if s.code == "conductor_drop")
    reserved_v = max(0.0, target_v - conductor_v)
    through_ohm = shared_ohm + found.hot_ohm
    return BoardSupply(found.strong(strong), found.weak(weak), found.circuit.drop_v, reserved_v, through_ohm)


def feed_target_v(system: System, shared_ohm: float, circuits: list[tuple[float, float, float]]) -> float:
    """The feed's share of the volts, by length, for the circuit that leaves it least. [V]

    ``circuits``: for each, its limit [V], what its own devices and joints lose [V], its one-way length [m].
    """
    route = way(system.brief.vehicle, system.at("battery"), system.at("board"))
    shared_v = shared_ohm * system.needs.battery.discharge_a + FEED_JOINTS_RATIO * system.volts
    shares = [
        max(0.0, limit_v - shared_v - joints_v) * route.run_m / (route.run_m + run_m)
        for limit_v, joints_v, run_m in circuits
    ]
    return max(min(shares, default=0.0), LEAST_TARGET_RATIO * system.volts)
