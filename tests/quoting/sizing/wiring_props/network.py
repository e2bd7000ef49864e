"""A direct-current network solved by nodal analysis, and a wiring as such a network, made of its pieces.

Written for reading and with nothing of the sizing but its tables: two rails, a resistor for each length that is cut and
for each device, an electromotive force behind a resistance for each battery, a current for what only gives current.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from catalog.kinds.capabilities import Conducting, Isolating, Monitoring, Protecting, Storage
from quoting.sizing.appraisal import Appraisal, Circuit, Device
from quoting.sizing.brief import Brief
from quoting.sizing.brief_wiring import Existing
from quoting.sizing.conductor_tables import CLASS_5_OHM_PER_KM_20C
from quoting.sizing.parts import Catalogue
from quoting.sizing.wiring_records import CablePiece

ALPHA_PER_K = 0.00393
"""Copper at 20 °C. IEC 60028:1925 (P)."""
LEAK_S = 1e-6
"""From every node to a common point, so that islands have a potential; 15 µA at 15 V."""
IDEAL_OHM = 1e-6
"""Of a device that is taken as a link."""
OUTPUT_OHM = 1e-5
"""A switched output, which states no resistance."""

INTO_A_CONVERTER = ("engine_feed", "solar_array", "converter_input")
"""What comes in there does not come out: the input of a charger, a controller or a converter is a spot of its own."""

Spot = tuple[str, str]
"""A node's tag with its rail, ``+`` or ``-``; or a device's tag with ``in`` or ``out``."""


@dataclass
class Network:
    """Branches between named spots."""

    resistors: list[tuple[Spot, Spot, float]] = field(default_factory=list)
    batteries: list[tuple[Spot, Spot, float, float]] = field(default_factory=list)
    """Positive, negative, electromotive force [V], resistance [Ω]."""
    currents: list[tuple[Spot, Spot, float]] = field(default_factory=list)
    """Current driven into the first and out of the second. [A]"""

    def solve(self) -> Solved:
        """Potential of every spot, by Kirchhoff's current law at each node: G v = i."""
        row = {spot: n for n, spot in enumerate(self.spots())}
        g, i = np.eye(len(row)) * LEAK_S, np.zeros(len(row))
        branches = [(a, b, 1 / ohm) for a, b, ohm in self.resistors]
        branches += [(a, b, 1 / ohm) for a, b, _, ohm in self.batteries]
        for a, b, siemens in branches:
            m, n = row[a], row[b]
            g[m, m] += siemens
            g[n, n] += siemens
            g[m, n] -= siemens
            g[n, m] -= siemens
        driven = [(a, b, emf_v / ohm) for a, b, emf_v, ohm in self.batteries] + self.currents
        for a, b, amps in driven:
            i[row[a]] += amps
            i[row[b]] -= amps
        z = np.linalg.inv(g)
        return Solved(row, z, z @ i)

    def spots(self) -> list[Spot]:
        found: dict[Spot, None] = {}
        for branch in (*self.resistors, *self.batteries, *self.currents):
            found[branch[0]] = found[branch[1]] = None
        return list(found)


@dataclass(frozen=True)
class Solved:
    """A network's potentials, and what becomes of them when branches are added (Woodbury's identity)."""

    row: dict[Spot, int]
    z: np.ndarray
    """Inverse of the conductances. [Ω]"""
    volts: np.ndarray

    def between_v(self, a: Spot, b: Spot) -> float:
        return float(self.volts[self.row[a]] - self.volts[self.row[b]])

    def added_a(self, branches: list[tuple[Spot, Spot, float]]) -> list[float]:
        """Currents in branches put in beside the rest, from their first to their second spot; 0 Ω is a dead short."""
        u = np.zeros((len(self.row), len(branches)))
        for k, (a, b, _) in enumerate(branches):
            u[self.row[a], k] += 1
            u[self.row[b], k] -= 1
        inner = np.diag([ohm for _, _, ohm in branches]) + u.T @ self.z @ u
        return [float(x) for x in np.linalg.solve(inner, u.T @ self.volts)]


@dataclass(frozen=True)
class Wired:
    """A wiring as a network."""

    network: Network
    devices: dict[str, tuple[Device, float, Spot]]
    """By tag: device, its resistance, and the negative beside it."""

    def prospective_a(self, solved: Solved, tag: str, returns: Spot | None = None) -> float:
        """Current that a dead short beside a device would drive through it, from the side that gives more. [A]

        Prospective: as if the device were a link of no impedance (IEC 60050-826, 826-11-16, M). The short is to the
        negative beside it, or to ``returns``.
        """
        _, ohm, beside = self.devices[tag]
        most = 0.0
        for side in ("in", "out"):
            link = ((tag, "in"), (tag, "out"), IDEAL_OHM)
            through, _ = solved.added_a([link, ((tag, side), returns or beside, 0.0)])
            most = max(most, abs(through) * (1 + IDEAL_OHM / ohm))
        return most


def _negative_at(circuit: Circuit, device: Device) -> Spot:
    """Negative beside a device: the main bus has the system's negative bar beside it."""
    if device.end == "load" and device.what != "isolator":
        port = " input" if circuit.role in INTO_A_CONVERTER else ""
        return ("N1" if circuit.target == "W1" else circuit.target + port, "-")
    return ("N1" if circuit.source == "W1" else circuit.source, "-")


def cold_network(brief: Brief, made: Appraisal, warm: Mapping[str, float] | None = None) -> Wired:
    """Every piece at 20 °C, or at its circuit's own temperature in ``warm``; every device by its stated resistance.

    Sources are still to be added.
    """
    parts, net = Catalogue(brief), Network()
    devices: dict[str, tuple[Device, float, Spot]] = {}
    known = {d.tag: (d, c) for c in made.circuits for d in c.devices}
    lies = {e.circuit: e for e in brief.existing}
    for tag, (device, circuit) in known.items():
        ohm = _device_ohm(parts, device, lies.get(circuit.key))
        net.resistors.append(((tag, "in"), (tag, "out"), ohm))
        devices[tag] = (device, ohm, _negative_at(circuit, device))
    monitor = next((c for c in made.chosen if c.role == "monitor"), None)
    shunt_ohm = parts.can(monitor.part, Monitoring).shunt_ohm if monitor else 0.0
    if any(p.polarity == "negative" and e.at == "P1" for p in made.pieces for e in p.ends):
        net.resistors.append((("P1", "a"), ("P1", "b"), shunt_ohm))
    pins = {c.tag: c for c in made.circuits if c.pin_pairs}
    inputs = {c.tag: c.target for c in made.circuits if c.role in INTO_A_CONVERTER}
    for piece in made.pieces:
        rail = "+" if piece.polarity in ("positive", "signal") else "-"
        spots: list[Spot] = []
        for side, end in enumerate(piece.ends):
            if end.at in known:
                spots.append((end.at, "in" if side == 1 else "out"))
            elif end.at == "P1" and rail == "-":
                spots.append(("P1", "a" if side == 1 else "b"))
            elif end.at == "J1":
                spots.append((f"J1 {piece.circuit} {piece.polarity}", "a" if side == 1 else "b"))
            else:
                port = " input" if inputs.get(piece.circuit) == end.at else ""
                spots.append((end.at + port, rail))
        ohm_per_km = _per_km(brief, made, parts, piece)
        hotter_k = warm.get(piece.circuit, 20.0) - 20.0 if warm else 0.0
        ohm = piece.length_m * ohm_per_km / 1000 * (1 + ALPHA_PER_K * hotter_k)
        if spots[0] != spots[1]:  # not a link inside a battery of two in series
            net.resistors.append((spots[0], spots[1], max(ohm, 1e-7)))
        if piece.ends[1].at == "J1":
            here = f"J1 {piece.circuit} {piece.polarity}"
            crossing = pins.get(piece.circuit)
            contact = crossing.coupling_v / crossing.current_a / 2 if crossing and crossing.current_a else 0.0
            net.resistors.append(((here, "a"), (here, "b"), max(contact, 1e-6)))
    return Wired(net, devices)


def _per_km(brief: Brief, made: Appraisal, parts: Catalogue, piece: CablePiece) -> float:
    """Of a conductor that lies there: as its maker states it, else the most that class 5 allows. [Ω/km]"""
    if piece.part:
        return parts.can(piece.part, Conducting).ohm_per_km_20c
    key = next(c.key for c in made.circuits if c.tag == piece.circuit)
    stated = next(e.ohm_per_km_20c for e in brief.existing if e.circuit == key)
    return stated or CLASS_5_OHM_PER_KM_20C[piece.area_mm2]


def _device_ohm(parts: Catalogue, device: Device, lies: Existing | None = None) -> float:
    if device.stays and lies is not None and device.what in ("fuse", "breaker"):
        return max(lies.device_ohm or 0.0, 1e-6)
    if device.what == "channel" or not device.part:
        return OUTPUT_OHM
    kind = Isolating if device.what == "isolator" else Protecting
    return max(parts.can(device.part, kind).resistance_ohm, 1e-6)


def add_strong_sources(brief: Brief, made: Appraisal, net: Network) -> None:
    """Everything that can feed a fault, at its most: charging voltage, batteries new, chargers at their output."""
    parts, policy = Catalogue(brief), brief.policy
    high_v = policy.charging_v_per_12 * brief.wishes.system_v / 12
    battery = next(c for c in made.chosen if c.role == "battery")
    can = parts.can(battery.part, Storage)
    high_v = max(high_v, can.absorption_v * battery.series)
    spots = set(net.spots())
    for node in made.nodes:
        plus, minus = (node.tag, "+"), (node.tag, "-")
        if node.what == "battery":
            assert can.resistance_ohm is not None
            net.batteries.append((plus, minus, high_v, can.resistance_ohm * battery.series))
        if node.what == "starter_battery" and brief.vehicle.starter_ohm:
            emf_v = policy.charging_v_per_12 * brief.vehicle.nominal_v / 12
            net.batteries.append((plus, minus, emf_v, brief.vehicle.starter_ohm))
            net.currents.append((plus, minus, brief.vehicle.alternator_a or 0.0))
    for circuit in made.circuits:
        if circuit.role in ("charger_output", "controller_output", "mains_output"):
            plus, minus = (circuit.source, "+"), (circuit.source, "-")
            if plus in spots and minus in spots:
                net.currents.append((plus, minus, circuit.current_a))
