"""What every circuit is designed from: the system's voltages, its supplies, and what has been decided so far."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from catalog.kinds.capabilities import Converting, Coupling, Distributing, Guarded, Inverting, Storage, Terminating
from quoting.sizing import protection
from quoting.sizing.appraisal import Node, Shortfall
from quoting.sizing.battery_volts import highest_charging_v
from quoting.sizing.brief import Brief
from quoting.sizing.choice import Choice, inverter_dc_a
from quoting.sizing.circuits_hitch import design_across
from quoting.sizing.converters import Shares, shared_out
from quoting.sizing.needs import Needs
from quoting.sizing.parts import Able, Catalogue, short
from quoting.sizing.protection import Supply
from quoting.sizing.runs import Designed, design_run
from quoting.sizing.runs_ask import Ask
from quoting.sizing.runs_hand import Settled, settle
from quoting.sizing.selectivity import FEEDING
from quoting.sizing.topology import place
from quoting.sizing.trace import Finding, Scalar

STARTER_MOST_OHM = 0.02
"""Most resistance of a starter battery that still cranks, for the smallest fault. [Ω] C: 4 V lost at 200 A."""


MAIN_BAR, LINK_BAR, NEGATIVE_BAR = "W1", "W4", "N1"
OPENING = ("fuse", "breaker")


@dataclass(slots=True)
class System:
    """The design so far."""

    brief: Brief
    parts: Catalogue
    choice: Choice
    needs: Needs
    coupling: Able[Coupling] | None = None
    """Between tow vehicle and trailer, when it is known."""
    nodes: list[Node] = field(default_factory=list)
    runs: list[Designed] = field(default_factory=list)
    shortfalls: list[Shortfall] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    together: Mapping[str, int] = field(default_factory=dict)
    """Loaded conductors that lie along a circuit's way, by ``Circuit.key``."""
    memo: dict[tuple[Ask, int], Designed | Shortfall] = field(default_factory=dict)
    """Runs designed before, of this Brief and coupling."""
    settled: dict[str, Settled] = field(default_factory=dict)
    """By ``Circuit.key``, what became of each run that was designed."""

    @property
    def volts(self) -> int:
        return self.brief.wishes.system_v

    @property
    def high_v(self) -> float:
        """Highest voltage of the house bus: the policy's, or the bank's own in the cold when that is more. [V]"""
        battery = self.choice.role("battery")
        own_v = highest_charging_v(self.parts.can(battery.part, Storage), battery.series) if battery else 0.0
        return max(self.brief.policy.charging_v_per_12 * self.volts / 12, own_v)

    @property
    def low_v(self) -> float:
        """Battery voltage at which everything must still work. [V]"""
        return self.brief.policy.low_voltage_v_per_12 * self.volts / 12

    @property
    def inverter_a(self) -> float:
        """Direct current of the inverter at its rating and cut-off. [A]"""
        inverter = self.choice.role("inverter")
        return inverter_dc_a(self.parts.can(inverter.part, Inverting)) if inverter else 0.0

    @property
    def converter_shares(self) -> Shares:
        """Circuits of 12 V loads by converter; none without one. What no converter carries is in none."""
        chosen, need = self.choice.role("converter"), self.needs.converter
        if chosen is None or need is None:
            return ()
        return shared_out(self.parts.can(chosen.part, Converting), need, chosen.quantity)

    @property
    def converter_at(self) -> str:
        """Where converters sit: a place of their own, or with the board."""
        return self.brief.vehicle.places.get("converter") or self.at("board")

    def at(self, role: str) -> str:
        return place(self.brief.vehicle, role)  # type: ignore[arg-type]

    def warn(self, code: str, subject: str = "", level: str = "warning", **params: Scalar) -> None:
        self.findings.append(Finding(level=level, code=code, subject=subject, params=params))  # type: ignore[arg-type]

    def design(self, ask: Ask) -> Designed | None:
        """Design a run and keep it; what the catalogue lacks is kept as a shortfall.

        What a person settled for its key is taken as far as no rule is broken; so is what lies there already.
        """
        key = ask.stable_key
        change = next((c for c in self.brief.changes if c.circuit == key), None)
        lies = next((e for e in self.brief.existing if e.circuit == key), None)
        counting = replace(ask, counted=self.together.get(key, ask.returns))
        done = settle(self._designed, self.brief, counting, change, lies)
        self.settled[key] = done
        if isinstance(done.found, Shortfall):
            self.shortfalls.append(done.found.model_copy(update={"circuit_role": ask.role}))
            return None
        self.runs.append(done.found)
        return done.found

    def _designed(self, ask: Ask) -> Designed | Shortfall:
        """One run, over the hitch on pins that are still free; the same one is designed once."""
        used = sum(r.circuit.pin_pairs for r in self.runs) if ask.way.crossings else 0
        if (ask, used) not in self.memo:
            policy = self.brief.policy
            self.memo[ask, used] = (
                design_across(self.parts, policy, ask, self.coupling, used)
                if ask.way.crossings
                else design_run(self.parts, policy, ask)
            )
        return self.memo[ask, used]

    def guarded(self, ask: Ask, part: str) -> Ask:
        """The run to or from a part, its device within what the part's maker states."""
        if not self.parts.has(part, Guarded):
            return ask
        can = self.parts.can(part, Guarded)
        most = [a for a in (ask.most_rating_a, can.most_a) if a is not None]
        return replace(ask, maker_least_a=can.least_a, most_rating_a=min(most, default=None))

    def node(self, tag: str, what: str, name: str, position: str = "", **params: Scalar) -> None:
        self.nodes.append(Node(tag=tag, what=what, name=name, position=position, params=params))  # type: ignore[arg-type]

    def _device_a(self, tag: str) -> float:
        """Rating of the device that a bar stands behind; where it joins batteries, the largest about it. [A]"""
        at = MAIN_BAR if tag == NEGATIVE_BAR else tag
        feeds = [r for r in self.runs if r.circuit.role in FEEDING]
        through = [r for r in feeds if at == r.ask.target or (at == LINK_BAR and at == r.ask.source)]
        return max((d.rating_a for r in through for d in r.circuit.devices if d.what in OPENING), default=0.0)

    def busbar(self, tag: str, name: str, position: str, current_a: float, studs: int, what: str = "busbar") -> None:
        """A busbar node; its part is the cheapest one that carries current and device on enough studs."""
        asked_a = max(current_a, self._device_a(tag))
        models = [a for a in self.parts.having(Distributing) if a.can.max_v >= self.high_v]
        fits = [a for a in models if a.can.rating_a >= asked_a and a.can.studs >= studs]
        areas = {r.circuit.area_mm2 for r in self.runs if tag in (r.ask.source, r.ask.target)}
        lugs = {(t.can.area_mm2, t.can.stud_mm) for t in self.parts.having(Terminating)}
        lugged = [a for a in fits if all((area, a.can.stud_mm) in lugs for area in areas)]
        fit = next(iter(lugged or fits), None)
        if fit is None:
            near = max(models, key=lambda a: (a.can.rating_a, a.can.studs, a.part.key), default=None)
            over = near is not None and near.can.rating_a >= asked_a
            value = None if near is None else float(near.can.studs) if over else near.can.rating_a
            asked, unit = (float(studs), "studs") if over else (asked_a, "A")
            code = "too_small" if near else "none_of_kind"
            self.shortfalls.append(
                short(code, "distributing", tag, best=near, best_value=value, asked=asked, unit=unit)
            )
            self.node(tag, what, name, position, current_a=round(current_a, 1), connections=studs)
            return
        self.node(
            tag, what, name, position, part=fit.part.key, part_name=fit.part.name, rating_a=fit.can.rating_a,
            stud_mm=fit.can.stud_mm, studs=fit.can.studs, current_a=round(current_a, 1), connections=studs,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Bank:
    """The battery bank as a source of fault current."""

    strings: int
    series: int
    string_ohm: float | None
    most_ohm: float
    """Upper bound of a string's resistance, from the peak current its maker promises. [Ω]"""
    max_discharge_a: float
    worn_ratio: float = 1.0
    """Resistance worn and cold over new."""

    @property
    def ohm(self) -> float | None:
        return None if self.string_ohm is None else self.string_ohm / self.strings

    @property
    def weak_string_ohm(self) -> float:
        """One string worn and cold, for the smallest fault. [Ω]"""
        return self.worn_ratio * (self.string_ohm or self.most_ohm)


def bank_of(system: System) -> Bank | None:
    """The chosen bank; a battery whose resistance is not stated leaves a finding."""
    battery = system.choice.role("battery")
    if battery is None:
        return None
    can = system.parts.can(battery.part, Storage)
    ohm = None if can.resistance_ohm is None else can.resistance_ohm * battery.series
    if ohm is None:
        system.warn(
            "battery_resistance_unknown", "battery", breaking_a=system.brief.policy.unknown_battery_breaking_a,
            name=battery.name,
        )  # fmt: skip
    room_v = max(system.low_v - can.cutoff_v * battery.series, 0.5)
    most = max(room_v / can.peak_a, ohm or 0.0)
    worn = system.brief.policy.worn_resistance_ratio
    return Bank(battery.parallel, battery.series, ohm, most, can.max_discharge_a, worn)


def bank_supply(system: System, bank: Bank, extra_a: float) -> tuple[Supply, Supply]:
    """The bank at its posts: charging with every source added, and low by itself, worn and cold."""
    weak_ohm = protection.parallel_ohm((bank.weak_string_ohm,) * bank.strings)
    return Supply(system.high_v, bank.ohm, extra_a), Supply(system.low_v, weak_ohm)


def starter_supply(system: System) -> tuple[Supply, Supply]:
    """The starter battery with the alternator added, and low by itself, as worn as still cranks."""
    vehicle, policy = system.brief.vehicle, system.brief.policy
    if vehicle.starter_ohm is None:
        system.warn("starter_resistance_unknown", "engine_feed", breaking_a=policy.unknown_battery_breaking_a)
    high = policy.charging_v_per_12 * vehicle.nominal_v / 12
    low = policy.low_voltage_v_per_12 * vehicle.nominal_v / 12
    strong = Supply(high, vehicle.starter_ohm, vehicle.alternator_a or 0.0)
    worn = min(policy.worn_resistance_ratio * (vehicle.starter_ohm or STARTER_MOST_OHM), STARTER_MOST_OHM)
    return strong, Supply(low, max(worn, vehicle.starter_ohm or 0.0))
