"""Wiring of what is watched: sensors with their pairs, and leads that read a voltage, from the part that reads them.

A pair to a tank, a temperature or a contact carries what its input gives it, milliamperes: it has no device. A lead
that reads a voltage could feed a fault, so it has a device where it is taken; it is one conductor alone.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from catalog.kinds.capabilities import Conducting
from quoting.sizing import conductors
from quoting.sizing.appraisal import Chosen, Circuit
from quoting.sizing.brief_wiring import Sense
from quoting.sizing.choice_sensing import Unit, units_of
from quoting.sizing.circuits_control import as_lead, over_hitch
from quoting.sizing.circuits_feeds import charger_sources
from quoting.sizing.circuits_system import Bank, System, bank_supply, starter_supply
from quoting.sizing.inputs import Given, give_inputs
from quoting.sizing.one_piece import also
from quoting.sizing.parts import Able, short
from quoting.sizing.protection import Supply
from quoting.sizing.runs import Designed
from quoting.sizing.runs_ask import Ask
from quoting.sizing.topology import Way, way
from quoting.sizing.trace import step
from quoting.sizing.wiring_records import InputUse

SIGNAL_A = 0.02
"""Most that an input gives a sensor or takes from a lead. [A] C: a resistance sender of 10 Ω at 0.2 V."""

SIGNAL_DROP_RATIO = 0.01
"""Of the voltage that a lead may lose before its reading is wrong. C: 0.1 V in 12 V."""

MEANS_POWER = {"yellow": 1, "brown": 1, "blue": 1, "red": 2, "black": 3}
"""Colours that mean a direct current's poles somewhere: a signal has one only when there is no other, the commonest
last. ISO 10133:2012, 6; IEC 60445."""

EARTH = "green_yellow"
"""Never anything but earth. IEC 60445."""

HOMES = {"monitor": "battery", "multi_charger": "charger", "engine_charger": "charger", "mains_charger": "charger",
         "solar_controller": "charger", "inverter": "inverter", "switching": "board", "sensing": "board"}  # fmt: skip
"""Place of the parts that sense."""


@dataclass(frozen=True, slots=True)
class Reader:
    """A part that reads, as a node of the diagram."""

    tag: str
    at: str


def sense_circuits(system: System, bank: Bank, extra_a: float, inverter_tag: str) -> list[Given]:
    """Give inputs, design the wiring of each, add the nodes of sensors and of modules that read something.

    ``extra_a``: what all chargers give into a fault. [A]
    """
    units = units_of(system.parts, system.choice.chosen)
    if not units:
        return []
    readers = {unit.number: _reader(system, unit, inverter_tag) for unit in units}

    def distance(unit: Unit, sense: Sense) -> tuple[float, ...]:
        found = _way(system, sense.position, readers[unit.number].at)
        return found.crossings, found.run_m

    given, said = give_inputs(system.brief, units, distance)
    system.findings.extend(said)
    _module_nodes(system, given, readers)
    sensors = 0
    order = {sense.key: i for i, sense in enumerate(system.brief.senses)}
    for one in sorted((g for g in given if g.sense), key=lambda g: order[g.sense.key if g.sense else ""]):
        assert one.sense is not None
        reader = readers[one.unit.number]
        if one.sense.what == "voltage":
            _voltage_lead(system, one.sense, reader, _watched(system, one.sense, bank, extra_a))
            continue
        sensors += 1
        _sensor_node(system, one.sense, f"S{sensors}")
        _pair(system, one.sense, f"S{sensors}", reader)
    return given


def _way(system: System, a: str, b: str) -> Way:
    """The cable way between two positions, looked for once for each two: many senses ask for the same."""
    found: Way = system.parts.remember(("way", a, b), lambda: way(system.brief.vehicle, a, b))
    return found


def _reader(system: System, unit: Unit, inverter_tag: str) -> Reader:
    roles = [r for r in ("multi_charger", "engine_charger", "solar_controller", "mains_charger")
             if system.choice.role(r)]  # fmt: skip
    tags = dict(zip(roles, (s.tag for s in charger_sources(system)), strict=True))
    tags |= {"monitor": "P1", "inverter": inverter_tag}
    role = _role(system, unit, tags)
    at = system.converter_at if role == "converter" else system.at(HOMES.get(role, "board"))
    return Reader(tags.get(role, f"M{unit.number}"), at)


def _role(system: System, unit: Unit, tags: Mapping[str, str]) -> str:
    """What a piece is; the first of a part that is two things is the one with a node of its own."""
    roles = [unit.chosen.role, *(c.role for c in also(system.choice.chosen, unit.chosen) if unit.piece == 0)]
    return next((role for role in roles if role in tags), unit.chosen.role)


def _module_nodes(system: System, given: list[Given], readers: dict[int, Reader]) -> None:
    """Modules are nodes where something of theirs is wired as such: parts that are there already have theirs."""
    seen: set[str] = set()
    for one in given:
        reader = readers[one.unit.number]
        if one.sense is None or not reader.tag.startswith("M") or reader.tag in seen:
            continue
        seen.add(reader.tag)
        part = one.unit.chosen
        number = f" {one.unit.piece + 1}" if part.quantity > 1 else ""
        system.node(reader.tag, "module", part.name + number, reader.at, part=part.part, rating=part.rating)


def _sensor_node(system: System, sense: Sense, tag: str) -> None:
    key = system.choice.sensors.get(sense.key)
    stated = {"part": key, "part_name": system.parts.part(key).name} if key else {}
    system.node(tag, "sensor", sense.name, sense.position, watched=sense.what, key=sense.key, **stated)


def _pair(system: System, sense: Sense, tag: str, reader: Reader) -> None:
    """Two conductors from sensor to input, without a device: what flows is the input's own current."""
    route = _way(system, sense.position, reader.at)
    pair = _signal_pair(system, route)
    if pair is None:
        system.shortfalls.append(
            short("none_of_kind", "conducting", sense.name, asked=system.brief.policy.signal_area_mm2, unit="mm²")
        )
        return
    cable, back = pair[0].can, pair[1].can
    drop_v = conductors.voltage_drop_v(SIGNAL_A, route.run_m, cable.ohm_per_km_20c, route.ambient_c)
    supply = Supply(system.high_v, None)
    ask = Ask(
        key=_key(sense), name=sense.name, role="sense", source=tag, target=reader.tag, way=route, current_a=SIGNAL_A,
        nominal_v=system.volts, low_v=system.low_v, high_v=system.high_v, limit_ratio=SIGNAL_DROP_RATIO, strong=supply,
        weak=supply, ends=(), limited=True,
    )  # fmt: skip
    circuit = Circuit(
        tag=ask.key, name=sense.name, role="sense", source=tag, target=reader.tag, from_position=route.positions[0],
        to_position=route.positions[-1], current_a=SIGNAL_A, peak_a=SIGNAL_A, run_m=route.run_m,
        area_mm2=cable.area_mm2, conductor=pair[0].part.key, insulation_c=cable.insulation_c,
        ambient_c=route.ambient_c, bundled=route.bundled, ampacity_a=round(_ampacity_a(cable, route), 2),
        drop_v=round(drop_v, 5), drop_total_v=round(drop_v, 5), drop_ratio=round(drop_v / system.volts, 6),
        drop_limit_ratio=SIGNAL_DROP_RATIO, voltage_v=round(system.low_v - drop_v, 3),
        drop_iso_v=round(conductors.iso10133_drop_v(SIGNAL_A, route.run_m, cable.area_mm2), 5), colour=cable.colour,
        negative=pair[1].part.key, negative_colour=back.colour, decided_by="signal",
        key=_key(sense), passes=route.positions, surveyed_bundled=route.bundled,
        steps=(
            step("signal_current", SIGNAL_A, "A"),
            step("signal_area", system.brief.policy.signal_area_mm2, "mm²", "", "policy"),
            step("area", cable.area_mm2, "mm²", "≤", "catalogue"),
        ),
    )  # fmt: skip
    system.runs.append(Designed(ask, circuit, 0.0, 0.0))
    over_hitch(system, system.runs[-1], route, 2)


def _ampacity_a(cable: Conducting, route: Way) -> float:
    """By the tables from their thinnest size on; under it what a signal carries is all that is claimed. [A]"""
    if cable.area_mm2 < min(conductors.AREAS_MM2):
        return SIGNAL_A
    return conductors.ampacity_a(
        cable.area_mm2, cable.insulation_c, route.ambient_c, route.bundled, route.engine_space
    )  # fmt: skip


def _signal_pair(system: System, route: Way) -> tuple[Able[Conducting], Able[Conducting]] | None:
    """The thinnest, then cheapest conductor for signals, and one of its size in another colour if there is one."""
    least = system.brief.policy.signal_area_mm2
    fits = [
        a
        for a in system.parts.having(Conducting)
        if a.can.area_mm2 >= least - 1e-9 and a.can.insulation_c > route.ambient_c + 1 and a.can.colour != EARTH
    ]
    first = min(fits, key=lambda a: (MEANS_POWER.get(a.can.colour, 0), a.can.area_mm2, a.order), default=None)
    if first is None:
        return None
    same = [a for a in fits if abs(a.can.area_mm2 - first.can.area_mm2) < 1e-9 and a.can.colour != first.can.colour]
    back = min(same, key=lambda a: (a.can.colour == "red", MEANS_POWER.get(a.can.colour, 0), a.order), default=first)
    return first, back


@dataclass(frozen=True, slots=True)
class _Point:
    """Where a voltage is read: a node, its position, and what a short of the lead there would draw on."""

    tag: str
    at: str
    strong: Supply
    weak: Supply
    nominal_v: float


def _watched(system: System, sense: Sense, bank: Bank, extra_a: float) -> _Point:
    """The node at a position: a battery's post first, then a board, then an appliance; else the main bus, and said."""
    places, vehicle = system.brief.vehicle.places, system.brief.vehicle
    at = sense.position
    volts = float(system.volts)
    if at == places.get("starter") and any(n.tag == "B0" for n in system.nodes):
        return _Point("B0", at, *starter_supply(system), vehicle.nominal_v)
    posts = bank_supply(system, bank, extra_a)
    if at == places.get("battery"):
        return _Point("B1", at, *posts, volts)
    there = [r for r in system.runs if r.circuit.to_position == at and r.circuit.role in WATCHABLE]
    if there:
        run = min(there, key=lambda r: WATCHABLE.index(r.circuit.role))
        return _Point(run.ask.target, at, run.strong(run.ask.strong), run.weak(run.ask.weak), run.ask.nominal_v)
    system.warn("sense_nothing_there", sense.key, name=sense.name)
    main = next((r for r in system.runs if r.circuit.role == "battery_main" and r.ask.target == "W1"), None)
    if main is None:
        return _Point("B1", system.at("battery"), *posts, volts)
    return _Point("W1", system.at("battery"), main.strong(main.ask.strong), main.weak(main.ask.weak), volts)


WATCHABLE = ("distribution", "converter_output", "starter_feed", "inverter_feed", "load")
"""Roles of circuits whose far end is a bus, or then an appliance, in the order in which a position is read."""


def _voltage_lead(system: System, sense: Sense, reader: Reader, point: _Point) -> None:
    """From what is watched to the input, with a device where it is taken."""
    route = _way(system, point.at, reader.at)
    found = system.design(
        Ask(
            key=_key(sense), name=sense.name, role="sense", source=point.tag, target=reader.tag,
            way=replace(route, crossings=0), current_a=SIGNAL_A, nominal_v=point.nominal_v, low_v=point.weak.emf_v,
            high_v=point.strong.emf_v, limit_ratio=SIGNAL_DROP_RATIO, strong=point.strong, weak=point.weak,
            lugged=False,
        )
    )  # fmt: skip
    as_lead(system, found, route)


def _key(sense: Sense) -> str:
    return f"sense:{sense.key}"


def input_uses(given: list[Given], circuits: tuple[Circuit, ...]) -> tuple[InputUse, ...]:
    """Inputs with what is on them, once the circuits have their tags."""
    wired = {c.key: c for c in circuits if c.role == "sense"}

    def use(one: Given) -> InputUse:
        chosen: Chosen = one.unit.chosen
        bare = InputUse(
            unit=one.unit.number, part=chosen.part, name=chosen.name, sense=one.kind, channel=one.channel
        )  # fmt: skip
        if one.sense is None:
            return bare
        circuit = wired.get(_key(one.sense))
        return bare.model_copy(
            update={
                "key": one.sense.key, "watched": one.sense.name, "laid": one.laid,
                "tag": circuit.source if circuit else "", "circuit": circuit.tag if circuit else "",
            }
        )  # fmt: skip

    return tuple(use(one) for one in given)
