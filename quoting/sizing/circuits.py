"""Circuits from node to node, designed: conductors, devices, drops, faults; boards, switched outputs, nodes.

Tags: G1 alternator, B0 starter battery, B1 ... batteries, PV1 ... strings, U1 ... converters; W1 main positive bus, W2
Always live, W3 Away set, W4 battery link, W5 ... the boards of converters, then that of the starter bus, W0 body, N1
system negative; P1 monitor, M1 ... modules that read something, S1 ... sensors; X0 inlet, X1 and X2 residual devices of
shore and inverter, X3 changeover, AC1 outlets. Conductors L1 ... for feeds, C1 ... for appliance circuits, T1 ... for
what is watched and control; A1 ... ways of the AC side. Devices F (fuse), Q (breaker, isolator), K (switched output).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import catalog.kinds as kinds
from catalog.kinds.capabilities import Coupling, Storage
from quoting.sizing import hitch
from quoting.sizing.appraisal import Chosen, Circuit, Device, LoadResult, Node, Shortfall
from quoting.sizing.brief import Brief
from quoting.sizing.bundling import settle_bundles
from quoting.sizing.choice import Choice
from quoting.sizing.circuits_ac import ac_side
from quoting.sizing.circuits_bond import bond
from quoting.sizing.circuits_control import control_circuits
from quoting.sizing.circuits_converters import Unit, converter_circuits, units_of
from quoting.sizing.circuits_feeds import (
    array_strings,
    battery_main,
    board_feed,
    charger_outputs,
    charger_sources,
    engine_feed,
    feed_target_v,
    inverter_feed,
    main_current_a,
)
from quoting.sizing.circuits_loads import Group, board_current_a, budget, group_loads, load_circuit
from quoting.sizing.circuits_sense import input_uses, sense_circuits
from quoting.sizing.circuits_starter import starter_circuits, starter_groups
from quoting.sizing.circuits_system import System, bank_of
from quoting.sizing.holders import Held, held
from quoting.sizing.load_symbols import symbol_of
from quoting.sizing.needs import Needs
from quoting.sizing.one_piece import pieces
from quoting.sizing.outputs import Outputs, give_outputs
from quoting.sizing.parts import Able, Catalogue
from quoting.sizing.pieces import cut
from quoting.sizing.selectivity import not_selective
from quoting.sizing.shunt import past_the_shunt, to_be_moved
from quoting.sizing.told import refused_changes, told_of
from quoting.sizing.trace import Finding
from quoting.sizing.wiring_records import (
    AcLink,
    CablePiece,
    InputUse,
    OutputGroup,
    OutputModule,
    RefusedChange,
    SleeveUse,
)


@dataclass(frozen=True, slots=True)
class Wiring:
    """Every node and circuit of the system, and what could not be decided."""

    nodes: tuple[Node, ...] = ()
    circuits: tuple[Circuit, ...] = ()
    channels: tuple[dict[str, Any], ...] = ()
    modules: tuple[OutputModule, ...] = ()
    shed_groups: tuple[OutputGroup, ...] = ()
    shortfalls: tuple[Shortfall, ...] = ()
    findings: tuple[Finding, ...] = ()
    questions: tuple[str, ...] = ()
    coupling: Chosen | None = None
    """Between tow vehicle and trailer, where something crosses."""
    inputs: tuple[InputUse, ...] = ()
    ac: tuple[AcLink, ...] = ()
    holders: tuple[Held, ...] = ()
    """Holders of fuse-links, and the links in each."""
    pieces: tuple[CablePiece, ...] = ()
    """Every length to cut."""
    refused: tuple[RefusedChange, ...] = ()
    """Changes by hand that break a rule."""
    sleeves: tuple[SleeveUse, ...] = ()
    """Conduit along the cable ways in use."""


COUPLING_TRIES = 5
"""Couplings that are tried in turn, cheapest first. C"""


def design_circuits(brief: Brief, choice: Choice, loads: tuple[LoadResult, ...], needs: Needs) -> Wiring:
    """Design every circuit of the chosen system by section 7.

    Parameters
    ----------
    brief : Brief
        With the vehicle's positions, runs and places.
    choice : Choice
        The chosen components.
    loads : tuple of LoadResult
        Loads with their running current at the house bus.
    needs : Needs
        Coincident currents.

    Returns
    -------
    Wiring
        Without a battery nothing can be designed: only a finding says so.

    Raises
    ------
    SizingError
        If a place is missing or no cable way joins two positions; it names both.
    """
    parts = Catalogue.of(brief)
    found = _with_coupling(brief, parts, choice, loads, needs)
    holders, missing = held(parts, choice, found.nodes, found.circuits)
    made = cut(parts, choice, found.nodes, found.circuits, holders)
    shortfalls = _once([*found.shortfalls, *missing, *made.shortfalls])
    return replace(found, shortfalls=shortfalls, holders=holders, pieces=tuple(made.pieces))


def _with_coupling(
    brief: Brief, parts: Catalogue, choice: Choice, loads: tuple[LoadResult, ...], needs: Needs
) -> Wiring:
    """The circuits with the coupling that is given, or the cheapest that carries what crosses."""
    if brief.vehicle.hitch is None:
        return _design(brief, choice, loads, needs, None)
    given = hitch.given_coupling(brief, parts)
    if given is not None:
        found = _design(brief, choice, loads, needs, given)
        told = hitch.as_settled_coupling(brief, parts, found.shortfalls, given)
        return _coupled(brief, parts, replace(found, shortfalls=told), given)
    bare = _design(brief, choice, loads, needs, None)
    crossing = [c for c in bare.circuits if c.crosses_hitch and c.role not in hitch.SIGNALS]
    if not crossing:
        return bare
    high_v = System(brief, parts, choice, needs).high_v
    thick: Wiring | None = None
    for able in hitch.couplings_for(parts, crossing, high_v)[:COUPLING_TRIES]:
        found = _design(brief, choice, loads, needs, able)
        if any(s.need.code == "coupling" for s in found.shortfalls):
            continue
        if not hitch.too_thick(able, found.circuits):
            return _coupled(brief, parts, found, able)
        # it carries the current, but its contacts take no such conductor
        thick = thick or _coupled(brief, parts, found, able)
    return thick or replace(bare, shortfalls=(*bare.shortfalls, hitch.lacking(parts, crossing, high_v)))


def _coupled(brief: Brief, parts: Catalogue, wiring: Wiring, able: Able[Coupling]) -> Wiring:
    said = (
        *hitch.too_thick(able, wiring.circuits),
        *hitch.live_halves(brief, wiring.circuits),
    )
    findings = (*wiring.findings, *said)
    return replace(wiring, coupling=hitch.coupling_chosen(brief, parts, able), findings=findings)


def _design(
    brief: Brief, choice: Choice, loads: tuple[LoadResult, ...], needs: Needs, coupling: Able[Coupling] | None
) -> Wiring:
    """Design until no circuit lies among more loaded conductors than it was designed for."""
    parts = Catalogue.of(brief)
    memo: dict[Any, Any] = {}

    def once(together: Mapping[str, int]) -> Wiring:
        return _design_once(System(brief, parts, choice, needs, coupling, together=together, memo=memo), loads)

    return settle_bundles(once, brief.policy)


def _design_once(system: System, loads: tuple[LoadResult, ...]) -> Wiring:
    brief, choice = system.brief, system.choice
    groups, at_starter = group_loads(system, loads), starter_groups(system)
    bank = bank_of(system)
    if bank is None:
        system.warn("no_battery_no_circuits", "battery", level="danger")
        return Wiring(findings=tuple(system.findings))
    sources = charger_sources(system)
    converters = {s.role: s.tag for s in sources}
    engine_tag = next((s.tag for s in sources if s.role == "charger_output"), "")
    solar_tag = converters.get("controller_output", engine_tag)
    _source_nodes(system, engine_feed(system, engine_tag) is not None, bool(at_starter))
    array_strings(system, solar_tag)
    _converter_nodes(system, sources)
    charge_a = sum(s.output_a for s in sources)
    _battery_nodes(system)
    strong, weak, shared_ohm = battery_main(system, bank, charge_a)
    if bank.strings > 1:
        system.warn("leads_of_equal_length", "battery", level="info", strings=bank.strings)
    if bank.series > 1:
        system.warn("links_without_device", "battery", level="info", links=(bank.series - 1) * bank.strings)
    charger_outputs(system, sources, strong, weak)
    inverter_tag = f"U{len(sources) + 1}"
    inverter_feed(system, inverter_tag, strong, weak, shared_ohm)
    units = units_of(system, len(sources) + (2 if choice.role("inverter") else 1))
    outputs = _boards(system, groups, units, strong, weak, shared_ohm)
    starter_circuits(system, at_starter, _loads_so_far(system) + 1, f"W{5 + len(units)}")
    control_circuits(system)
    given = sense_circuits(system, bank, charge_a, inverter_tag)
    bond(system)
    ac = ac_side(system, inverter_tag, next((s.tag for s in sources if _takes_mains(choice, s.role)), ""))
    connections = sum("W1" in (r.ask.source, r.ask.target) for r in system.runs)
    system.busbar("W1", "Main positive", system.at("battery"), main_current_a(system, charge_a), connections)
    circuits = hitch.with_dead(brief, _tagged(system, outputs.channels))
    system.findings.extend(past_the_shunt(circuits, tuple(system.nodes)))
    system.findings.extend(to_be_moved(choice.chosen))
    system.findings.extend(hitch.apart(brief, tuple(system.nodes), circuits))
    refused = refused_changes(brief, system.settled, circuits)
    told = (*told_of(brief, system.settled, circuits, refused), *not_selective(circuits))
    return Wiring(
        nodes=tuple(system.nodes),
        circuits=circuits,
        channels=outputs.channels,
        modules=outputs.modules,
        shed_groups=outputs.shed_groups,
        shortfalls=_once(system.shortfalls),
        findings=(*system.findings, *told),
        refused=refused,
        questions=ac.questions,
        inputs=input_uses(given, circuits),
        ac=ac.links,
    )


def _takes_mains(choice: Choice, role: str) -> bool:
    multi = choice.role("multi_charger")
    return role == "mains_output" or (
        role == "charger_output" and multi is not None and "mains_charging" in multi.serves
    )


def _source_nodes(system: System, engine: bool, loaded: bool) -> None:
    """Alternator and starter battery, where they feed something or are read."""
    vehicle = system.brief.vehicle
    at = vehicle.places.get("starter")
    read = any(x.what == "voltage" and x.position == at for x in system.brief.senses)
    if at is None or not (engine or loaded or read):
        return
    rated = {"rated_a": vehicle.alternator_a} if vehicle.alternator_a else {}
    system.node("G1", "alternator", "Alternator", at, **rated)
    system.node("B0", "starter_battery", "Starter battery", at, nominal_v=vehicle.nominal_v)


def _converter_nodes(system: System, sources: Iterable[Any]) -> None:
    whats = {"charger_output": "charger", "controller_output": "controller", "mains_output": "mains_charger"}
    roles = {"charger_output": ("multi_charger", "engine_charger"), "controller_output": ("solar_controller",),
             "mains_output": ("mains_charger",)}  # fmt: skip
    for s in sources:
        chosen = system.choice.role(*roles[s.role])
        assert chosen is not None
        inputs = ",".join(chosen.serves)
        system.node(
            s.tag, whats[s.role], s.name, system.at("charger"), output_a=s.output_a, inputs=inputs,
            absorption_v=chosen.setting.get("absorption_v"), part=chosen.part,
        )  # fmt: skip


def _battery_nodes(system: System) -> None:
    battery = system.choice.role("battery")
    assert battery is not None
    can = system.parts.can(battery.part, Storage)
    for i in range(1, battery.parallel + 1):
        system.node(
            f"B{i}", "battery", battery.name, system.at("battery"), nominal_v=round(can.nominal_v * battery.series, 1),
            capacity_ah=can.capacity_ah, chemistry=can.chemistry, series=battery.series, part=battery.part,
        )  # fmt: skip
    monitor = system.choice.role("monitor")
    if monitor is not None:
        system.node("P1", "monitor", monitor.name, system.at("battery"), part=monitor.part, rating=monitor.rating)


def _boards(
    system: System, groups: list[Group], units: list[Unit], strong: Any, weak: Any, shared_ohm: float
) -> Outputs:
    """Both boards with their feeds and circuits, those behind converters; the switched outputs that were given."""
    groups = [*_control(system), *groups]
    for i, group in enumerate(groups, start=1):
        group.tag = f"C{i}"
    for tag, name, kind in (("W2", "Always live", "always_live"), ("W3", "Away set", "away")):
        mine = [g for g in groups if g.group == kind and g.behind is None]
        if not mine:
            continue
        amps = board_current_a(mine)
        budgets = [budget(system, g) for g in mine]
        target_v = feed_target_v(system, shared_ohm, budgets)
        start = max((g.start_a, g.start_s) for g in mine)
        feed = board_feed(system, tag, f"Feed to {name}", amps, strong, weak, shared_ohm, target_v, start)
        system.busbar(tag, name, system.at("board"), amps, len(mine) + 1, what="board")
        main_v = shared_ohm * system.needs.battery.discharge_a
        for group in mine:
            load_circuit(system, group, tag, feed, main_v)
    for i, unit in enumerate(units):
        converter_circuits(system, unit, [g for g in groups if g.behind == i], strong, weak, shared_ohm)
    rated = {r.ask.key: r.circuit.devices[0].rating_a for r in system.runs if r.circuit.role == "load"}
    return give_outputs(system, groups, rated)


def _loads_so_far(system: System) -> int:
    """The highest number of a C-tag that is given."""
    return max((int(r.ask.key[1:]) for r in system.runs if r.circuit.role == "load"), default=0)


def _control(system: System) -> list[Group]:
    """The monitor's and the modules' own supply: one Always live circuit."""
    fitted = [c for c in pieces(system.choice.chosen) if c.role in ("monitor", "switching", "sensing")]
    if not fitted:
        return []
    watts = 0.0
    for chosen in fitted:
        part = system.parts.part(chosen.part)
        kind = kinds.get(part.kind)
        watts += kind.own_draw(kind.clean(part.spec)).awake_w * chosen.quantity
    return [
        Group(
            key="control", name="Monitor and control", loads=(), group="always_live",
            current_a=max(CONTROL_LEAST_A, watts / system.volts), position=system.at("battery"),
        )
    ]  # fmt: skip


CONTROL_LEAST_A = 0.5
"""Allowed for monitor and control at least. [A] C"""


ORDER = (
    "engine_feed", "solar_array", "charger_output", "controller_output", "mains_output", "battery_main",
    "negative_bond", "distribution", "inverter_feed", "converter_input", "converter_output", "starter_feed", "load",
    "control", "sense",
)  # fmt: skip
"""Order of tags: from the sources to the loads."""


def _tagged(system: System, channels: Iterable[dict[str, Any]]) -> tuple[Circuit, ...]:
    """Give conductors and devices their tags, and circuits their switched outputs."""
    runs = sorted(system.runs, key=lambda r: ORDER.index(r.circuit.role))
    switched = {c["circuit"]: c for c in channels}
    feeds = fuses = breakers = signals = 0
    out: list[Circuit] = []
    for run in runs:
        circuit, devices = run.circuit, []
        if circuit.role == "load":
            tag = run.ask.key
        elif circuit.role in hitch.SIGNALS:
            signals += 1
            tag = f"T{signals}"
        else:
            feeds += 1
            tag = f"L{feeds}"
        for device in circuit.devices:
            if device.what == "fuse":
                fuses += 1
                devices.append(device.model_copy(update={"tag": f"F{fuses}"}))
            else:
                breakers += 1
                devices.append(device.model_copy(update={"tag": f"Q{breakers}"}))
        channel = switched.get(tag)
        if channel is not None:
            devices.append(
                Device(
                    tag=channel["tag"],
                    what="channel",
                    rating_a=channel["limit_a"],
                    part=channel["part"],
                    name=channel["name"],
                    position=circuit.from_position,
                )
            )
        out.append(circuit.model_copy(update={"tag": tag, "devices": tuple(devices)}))
        if circuit.role == "load":
            symbol = symbol_of([load for load in system.brief.loads if load.key in circuit.loads])
            system.node(tag, "load", circuit.name, circuit.to_position, current_a=circuit.current_a, symbol=symbol)
    return tuple(out)


def _once(shortfalls: Iterable[Shortfall]) -> tuple[Shortfall, ...]:
    """One shortfall for the same lack of the same circuit."""
    seen: dict[tuple[str, str, str], Shortfall] = {}
    for s in shortfalls:
        seen.setdefault((s.need.code, s.code, s.subject), s)
    return tuple(seen.values())
