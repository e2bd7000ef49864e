"""Circuits of the converters of 12 V loads: input from the main bus, output to a board of their own, loads behind it.

A converter limits its own output. Where a device does not open on that limit within 5 s, the conductor must carry it
for good, and a finding says that the converter's limit is the protection.
"""

from __future__ import annotations

from dataclasses import dataclass

from catalog.kinds.capabilities import Converting
from quoting.sizing import protection
from quoting.sizing.appraisal import Circuit
from quoting.sizing.circuits_feeds import BoardSupply, discharge_a
from quoting.sizing.circuits_loads import Group, limit_ratio, stable_key
from quoting.sizing.circuits_system import System
from quoting.sizing.converters import LOAD_V, continuous_a, input_a, peak_of
from quoting.sizing.needs import Behind
from quoting.sizing.protection import Supply
from quoting.sizing.runs_ask import Ask
from quoting.sizing.topology import way


@dataclass(frozen=True, slots=True)
class Unit:
    """One converter with the circuits it carries."""

    tag: str
    board: str
    number: int
    """0 when it is the only one."""
    can: Converting
    shares: tuple[Behind, ...]
    at: str

    @property
    def suffix(self) -> str:
        return f" {self.number}" if self.number else ""

    @property
    def supplies(self) -> tuple[Supply, Supply]:
        """The largest and the least current it gives into a fault: its peak, and what it holds for good."""
        volts = self.can.output_v
        return Supply(volts, volts / self.can.peak_a), Supply(volts, volts / self.can.continuous_a)


def units_of(system: System, first: int) -> list[Unit]:
    """The chosen converters that have loads; tags go on from ``first``."""
    chosen, shares = system.choice.role("converter"), system.converter_shares
    if chosen is None or not shares:
        return []
    can = system.parts.can(chosen.part, Converting)
    at, several = system.converter_at, len(shares) > 1
    return [Unit(f"U{first + i}", f"W{5 + i}", i + 1 if several else 0, can, mine, at) for i, mine in enumerate(shares)]


def converter_circuits(
    system: System, unit: Unit, groups: list[Group], strong: Supply, weak: Supply, shared_ohm: float
) -> None:
    """Design input, output, board and load circuits of one converter."""
    can, chosen = unit.can, system.choice.role("converter")
    assert chosen is not None
    system.node(
        unit.tag, "converter", chosen.name + unit.suffix, unit.at, output_v=can.output_v, output_a=can.continuous_a,
        part=chosen.part,
    )  # fmt: skip
    _input(system, unit, strong, weak, shared_ohm)
    out = _output(system, unit)
    board = f"12 V board{unit.suffix}"
    system.busbar(unit.board, board, unit.at, continuous_a(unit.shares), len(groups) + 1, what="board")
    for group in groups:
        _load(system, unit, group, out)
        if group.group == "away" and not group.switched:
            system.warn("converter_not_switched", group.tag, level="info", name=group.name)


def _input(system: System, unit: Unit, strong: Supply, weak: Supply, shared_ohm: float) -> None:
    """Main bus to converter: output power over efficiency, at the lowest voltage that the limit leaves at its input."""
    can, policy, chosen = unit.can, system.brief.policy, system.choice.role("converter")
    assert chosen is not None
    at_v = system.low_v * (1 - policy.drop_other_ratio)
    amps = input_a(continuous_a(unit.shares) * LOAD_V, can.efficiency_ratio, at_v)
    peak_a, start_s = peak_of(unit.shares)
    start = input_a(peak_a * LOAD_V, can.efficiency_ratio, at_v)
    upstream_v = shared_ohm * discharge_a(system)
    ask = Ask(
        key=f"converter_input_{unit.tag}", name=f"Converter input{unit.suffix}", role="converter_input",
        source="W1", target=unit.tag, way=way(system.brief.vehicle, system.at("battery"), unit.at),
        current_a=amps, peak_a=start, start_s=start_s, nominal_v=system.volts, low_v=system.low_v,
        high_v=system.high_v, limit_ratio=policy.drop_other_ratio, strong=strong, weak=weak,
        upstream_v=upstream_v, upstream_peak_v=upstream_v, cutout_v=can.input_min_v,
    )  # fmt: skip
    system.design(system.guarded(ask, chosen.part))


def _output(system: System, unit: Unit) -> BoardSupply:
    """Converter to its board."""
    can, policy = unit.can, system.brief.policy
    strong, weak = unit.supplies
    amps = continuous_a(unit.shares)
    least = protection.least_rating_a(amps, policy.fuse_continuous_ratio, policy.fuse_temperature_ratio)
    found = system.design(
        Ask(
            key=f"converter_output_{unit.tag}", name=f"Converter output{unit.suffix}", role="converter_output",
            source=unit.tag, target=unit.board, way=way(system.brief.vehicle, unit.at, unit.at), current_a=amps,
            nominal_v=LOAD_V, low_v=can.output_v, high_v=system.high_v, limit_ratio=policy.drop_critical_ratio,
            strong=strong, weak=weak, limited=True, least_rating_a=max(least, can.peak_a), least_code="converter_limit",
        )
    )  # fmt: skip
    if found is None:
        return BoardSupply(strong, weak, 0.0, 0.0)
    _say_limit(system, unit, f"converter_output_{unit.tag}", found.circuit)
    return BoardSupply(found.strong(strong), found.weak(weak), found.circuit.drop_v, 0.0, found.hot_ohm)


def _load(system: System, unit: Unit, group: Group, board: BoardSupply) -> None:
    can, lost_v = unit.can, board.lost_v
    found = system.design(
        Ask(
            key=group.tag, name=group.name, role="load", source=unit.board, target=group.tag,
            way=way(system.brief.vehicle, unit.at, group.position), current_a=group.current_a, nominal_v=LOAD_V,
            low_v=can.output_v, high_v=system.high_v, limit_ratio=limit_ratio(system, group), strong=board.strong,
            weak=board.weak, peak_a=group.peak_a, start_s=group.start_s, upstream_v=lost_v,
            upstream_peak_v=lost_v + group.start_a * board.shared_ohm, cutout_v=group.cutout_v, lugged=False,
            peak_loads=group.loads, group=group.group, source_limit_a=can.peak_a, stable=stable_key(group),
            bonded_at="" if can.isolated else system.at("battery"),
        )
    )  # fmt: skip
    if found is None:
        return
    device = found.circuit.devices[0]
    fault_a = found.circuit.fault_end_a or 0.0
    if protection.clears_s(device.series or device.what, device.rating_a, fault_a) > protection.DISCONNECT_S:
        _say_limit(system, unit, group.tag, found.circuit)


def _say_limit(system: System, unit: Unit, subject: str, circuit: Circuit) -> None:
    system.warn(
        "converter_limits_fault", subject, level="info", name=circuit.name, device_a=circuit.devices[0].rating_a,
        limit_a=unit.can.peak_a, carries_a=circuit.ampacity_a,
    )  # fmt: skip
