"""The parts a wiring takes: devices, holders, cable, terminals, busbars; what of it is not in the catalogue."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field

import catalog.kinds as kinds
from catalog.kinds.capabilities import Conducting, Holding, Protecting, Storage, Terminating
from quoting.sizing.appraisal import BillLine, Circuit, Node, Shortfall
from quoting.sizing.battery_volts import highest_charging_v
from quoting.sizing.choice import Choice
from quoting.sizing.parts import Able, Catalogue, short
from quoting.sizing.runs import NEGATIVE

LUG_FROM_MM2 = 10.0
"""From this area an end is a ring terminal on a stud; thinner ends take any form. [mm²] C"""

SERIES_LINK_M = 0.4
"""Conductor between two batteries in series. [m] C"""


@dataclass(slots=True)
class TakeOff:
    """Quantities by part, and what is lacking."""

    parts: Catalogue
    spare_ratio: float
    lines: list[BillLine] = field(default_factory=list)
    shortfalls: list[Shortfall] = field(default_factory=list)
    ends: int = 0
    """Terminals to press. """
    run_m: float = 0.0
    """Metres to lay, both conductors. [m]"""
    devices: int = 0

    def add(
        self, key: str, quantity: float, rule: str, circuits: Iterable[str] = (), unit: str = "each", kept: bool = False
    ) -> None:
        """Put a part on the bill; one that is kept adds no mass."""
        part = self.parts.part(key)
        self.lines.append(
            BillLine(
                group=kinds.get(part.kind).group, part=key, name=part.name, quantity=quantity, unit=unit,
                mass_kg=0.0 if kept else round(part.mass_kg * quantity, 3), rule=rule,
                circuits=tuple(dict.fromkeys(circuits)), kept=kept,
            )
        )  # fmt: skip


def take_off(
    parts: Catalogue, choice: Choice, nodes: tuple[Node, ...], circuits: tuple[Circuit, ...], spare_ratio: float = 0.0
) -> TakeOff:
    """List the parts of a wiring; cable with its spare, terminals at both ends by area and stud."""
    out = TakeOff(parts, spare_ratio)
    for chosen in choice.chosen:
        out.add(chosen.part, chosen.quantity, f"need_{chosen.serves[0]}", kept=chosen.kept)
    _devices(out, circuits)
    _holders(out, choice, nodes, circuits)
    for node in nodes:
        if node.what in ("busbar", "board") and isinstance(node.params.get("part"), str):
            # A board's negatives land on a bar of their own beside it; the battery's on N1.
            out.add(str(node.params["part"]), 2 if node.what == "board" else 1, "busbar", (node.tag,))
    links = _series_links(choice, circuits)
    _cables(out, circuits, links)
    _terminals(out, nodes, circuits, links)
    out.lines = _merged(out.lines, parts)
    return out


def _merged(lines: list[BillLine], parts: Catalogue) -> list[BillLine]:
    """One line for the same part under the same rule."""
    sums: dict[tuple[str, str, str, bool], list[BillLine]] = defaultdict(list)
    for line in lines:
        sums[line.part, line.rule, line.unit, line.kept].append(line)
    merged = []
    for same in sums.values():
        quantity = sum(x.quantity for x in same)
        circuits = tuple(dict.fromkeys(c for x in same for c in x.circuits))
        mass = 0.0 if same[0].kept else round(parts.part(same[0].part).mass_kg * quantity, 3)
        merged.append(same[0].model_copy(update={"quantity": quantity, "circuits": circuits, "mass_kg": mass}))
    return merged


def _devices(out: TakeOff, circuits: tuple[Circuit, ...]) -> None:
    for circuit in circuits:
        for device in circuit.devices:
            if device.what in ("fuse", "breaker", "isolator"):
                out.add(device.part, 1, "isolator" if device.what == "isolator" else "protects", (circuit.tag,))
                out.devices += 1


def _holders(out: TakeOff, choice: Choice, nodes: tuple[Node, ...], circuits: tuple[Circuit, ...]) -> None:
    """Each link has a holder, good for the voltage there; on a board those of one series may share several ways."""
    wanted: dict[tuple[str, str], list[tuple[str, Protecting]]] = defaultdict(list)
    bus_v = _highest_v(out.parts, choice)
    cold_v = {n.tag: n.params.get("voc_cold_v") for n in nodes}
    highest: dict[str, float] = {}
    for circuit in circuits:
        for device in circuit.devices:
            if device.what == "fuse":
                can = out.parts.can(device.part, Protecting)
                where = circuit.source if circuit.role == "load" else f"{circuit.tag} {device.tag}"
                wanted[where, can.series].append((circuit.tag, can))
                own_v = cold_v.get(circuit.source)
                highest[where] = max(highest.get(where, 0.0), own_v if isinstance(own_v, float) else bus_v)
    for (where, series), links in wanted.items():
        most = max(can.rating_a for _, can in links)
        models = [
            h
            for h in out.parts.having(Holding)
            if h.can.series == series and h.can.max_rating_a >= most and h.can.max_v >= highest[where]
        ]
        tags = [tag for tag, _ in links]
        if not models:
            out.shortfalls.append(short("none_of_kind", "holding", tags[0], asked=most, unit="A", series=series))
            continue

        def price(h: Able[Holding], n: int = len(links)) -> tuple[object, ...]:
            return h.cost * math.ceil(n / h.can.ways), h.order

        holder = min(models, key=price)
        out.add(holder.part.key, math.ceil(len(links) / holder.can.ways), "holder", tags)


def _highest_v(parts: Catalogue, choice: Choice) -> float:
    """Highest voltage of any bus of the system. [V]"""
    brief, battery = parts.brief, choice.role("battery")
    own_v = highest_charging_v(parts.can(battery.part, Storage), battery.series) if battery else 0.0
    return max(brief.policy.charging_v_per_12 * max(brief.wishes.system_v, brief.vehicle.nominal_v) / 12, own_v)


@dataclass(frozen=True, slots=True)
class _Link:
    """Conductors between batteries in series, of the battery lead's own size."""

    circuit: Circuit
    count: int


def _series_links(choice: Choice, circuits: tuple[Circuit, ...]) -> _Link | None:
    battery = choice.role("battery")
    lead = next((c for c in circuits if c.role == "battery_main" and c.source.startswith("B")), None)
    if battery is None or lead is None or battery.series < 2:
        return None
    return _Link(lead, (battery.series - 1) * battery.parallel)


def negative_of(parts: Catalogue, circuit: Circuit) -> Able[Conducting] | None:
    """The cheapest conductor of a negative's colour with the circuit's own area and at least its class."""
    for a in parts.having(Conducting):
        same = abs(a.can.area_mm2 - circuit.area_mm2) < 1e-9 and a.can.insulation_c >= circuit.insulation_c
        if same and a.can.colour in NEGATIVE:
            return a
    return None


def _cables(out: TakeOff, circuits: tuple[Circuit, ...], links: _Link | None) -> None:
    metres: dict[tuple[str, str], float] = defaultdict(float)
    tags: dict[tuple[str, str], list[str]] = defaultdict(list)

    def lay(key: str, rule: str, run_m: float, tag: str) -> None:
        metres[key, rule] += run_m
        tags[key, rule].append(tag)
        out.run_m += run_m

    for circuit in circuits:
        if circuit.role == "negative_bond":
            lay(circuit.conductor, "cable_bond", circuit.run_m, circuit.tag)
            continue
        lay(circuit.conductor, "cable_positive", circuit.run_m, circuit.tag)
        negative = negative_of(out.parts, circuit)
        if negative is None:
            out.shortfalls.append(
                short(
                    "none_of_kind", "conducting", circuit.tag, asked=circuit.area_mm2, unit="mm²", colour="black",
                    insulation_c=circuit.insulation_c,
                )
            )  # fmt: skip
        else:
            lay(negative.part.key, "cable_negative", circuit.run_m, circuit.tag)
    if links is not None:
        lay(links.circuit.conductor, "cable_positive", SERIES_LINK_M * links.count, links.circuit.tag)
    for (key, rule), run_m in metres.items():
        bought_m = math.ceil(round(run_m * (1 + out.spare_ratio) * 10, 6)) / 10
        out.add(key, bought_m, rule, tags[key, rule], "m")


def _terminals(out: TakeOff, nodes: tuple[Node, ...], circuits: tuple[Circuit, ...], links: _Link | None) -> None:
    """Two ends for each conductor and two for each device in the positive; stud by the busbar where there is one."""
    studs = {n.tag: n.params["stud_mm"] for n in nodes if "stud_mm" in n.params}
    negative_stud = studs.get("N1")
    for circuit in circuits:
        if circuit.role == "negative_bond":
            ends: list[object] = [negative_stud, None]
        else:
            devices = sum(d.what in ("fuse", "breaker", "isolator") for d in circuit.devices)
            on_bar = [studs.get(circuit.source), studs.get(circuit.target)] if circuit.role != "load" else [None, None]
            ends = [*on_bar, *([None] * 2 * devices), negative_stud if circuit.role != "load" else None, None]
        for stud in ends:
            _terminal(out, circuit, stud if isinstance(stud, float | int) else None, 1)
    if links is not None:
        _terminal(out, links.circuit, None, 2 * links.count)


def _terminal(out: TakeOff, circuit: Circuit, stud_mm: float | None, count: int) -> None:
    models = [t for t in out.parts.having(Terminating) if abs(t.can.area_mm2 - circuit.area_mm2) < 1e-9]
    fits = [t for t in models if stud_mm is None or (t.can.stud_mm == stud_mm and t.can.form == "ring")]
    if stud_mm is None and circuit.area_mm2 >= LUG_FROM_MM2:
        fits = sorted((t for t in fits if t.can.form == "ring"), key=lambda t: (abs(t.can.stud_mm - 8), t.order))
    out.ends += count
    if fits:
        out.add(fits[0].part.key, count, "terminal", (circuit.tag,))
        return
    near = models[0] if models else None
    code = "no_match" if near else "none_of_kind"
    out.shortfalls.append(
        short(code, "terminating", circuit.tag, best=near, asked=circuit.area_mm2, unit="mm²", stud_mm=stud_mm or 0.0)
    )
