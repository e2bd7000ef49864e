"""Appliance circuits: loads that share one, their board."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from quoting.sizing.appraisal import LoadResult
from quoting.sizing.brief import Brief, Load
from quoting.sizing.circuits_feeds import BoardSupply
from quoting.sizing.circuits_system import System
from quoting.sizing.converters import load_a
from quoting.sizing.runs import Designed, joint_ohm
from quoting.sizing.runs_ask import Ask
from quoting.sizing.sharing import DIRECT, Shared, circuits_shared
from quoting.sizing.topology import way

__all__ = ["DIRECT", "Group", "group_loads"]


@dataclass(slots=True)
class Group:
    """Loads on one circuit."""

    key: str
    name: str
    loads: tuple[str, ...]
    group: str
    current_a: float
    position: str
    tag: str = ""
    peak_a: float = 0.0
    start_s: float = 0.0
    cutout_v: float | None = None
    critical: bool = False
    switched: bool = False
    shed_below_ratio: float | None = None
    behind: int | None = None
    """Which converter it hangs on, counted from 0; ``None``: none."""
    at_once_a: float = 0.0
    """Share of the current that counts at once with other circuits. [A]"""

    @property
    def start_a(self) -> float:
        """More than running, while its largest load starts. [A]"""
        return max(0.0, self.peak_a - self.current_a)


def group_loads(system: System, results: tuple[LoadResult, ...]) -> list[Group]:
    """Circuits of the direct-current loads, in the order of the audit; loads of the same name share one."""
    amps = {r.key: r.running_a for r in results}
    homes = {c.key: i for i, mine in enumerate(system.converter_shares) for c in mine}
    shared = circuits_shared(system.brief, homes)
    for circuit in shared:
        if circuit.mixed and circuit.always_live:
            name, other = circuit.loads[0].circuit or "", _other(circuit, shared)
            system.warn("circuit_mixes_groups", name, name=name, live=circuit.name, away=other)
    found = [_group(system, circuit, amps) for circuit in shared]
    return [g for g in found if g is not None]


def _other(circuit: Shared, shared: Iterable[Shared]) -> str:
    """Names of the loads of the same circuit's name that are in the Away set."""
    name = circuit.loads[0].circuit
    return next((c.name for c in shared if c.mixed and not c.always_live and c.loads[0].circuit == name), "")


def _group(system: System, circuit: Shared, amps: dict[str, float]) -> Group | None:
    members, home = circuit.loads, circuit.home
    placed = [x for x in members if x.position]
    for load in members:
        if not load.position:
            system.warn("load_without_position", load.key, level="danger", name=load.name)
    if not placed:
        return None
    brief = system.brief
    running = [(x, amps.get(x.key, x.use.power_w * x.quantity / brief.wishes.system_v)) for x in members]
    if home is not None:
        running = [(x, load_a(x)) for x in members]
    current = coincident_a([(x.at_once, a) for x, a in running])
    extra, start_s = max(
        (((x.start_multiple - 1) * a / x.quantity, x.start_s) for x, a in running), key=lambda e: e[0], default=(0, 0)
    )
    board = system.at("board") if home is None else system.converter_at
    farthest = max(placed, key=lambda x: (way(brief.vehicle, board, x.position or "").run_m, x.key))
    return Group(
        key=circuit.key,
        name=circuit.name,
        loads=tuple(x.key for x in members),
        group="always_live" if circuit.always_live else "away",
        current_a=current,
        position=farthest.position or board,
        peak_a=current + extra if extra > 0 else 0.0,
        start_s=start_s if extra > 0 else 0.0,
        cutout_v=_cutout_v(brief, members, home is not None),
        behind=home,
        critical=any(x.critical for x in members),
        switched=circuit.on_output,
        shed_below_ratio=circuit.shed_below_ratio,
        at_once_a=sum(a for x, a in running if x.at_once),
    )


def _cutout_v(brief: Brief, members: Sequence[Load], converted: bool) -> float | None:
    """Highest of the lowest working voltages, with margin; loads with a converter of their own left out. [V]"""
    own = "house12" if brief.wishes.system_v == 12 or converted else ""
    lowest = [x.min_voltage_v for x in members if x.min_voltage_v is not None and x.bus in ("house", own)]
    return max(lowest) + brief.policy.cutout_margin_v if lowest else None


def coincident_a(currents: list[tuple[bool, float]]) -> float:
    """What runs at once, or the largest single one that does not when it is more. [A]"""
    together = sum(a for at_once, a in currents if at_once)
    return max(together, *(a for at_once, a in currents if not at_once), 0.0)


def board_current_a(groups: list[Group]) -> float:
    """Coincident current of a board: what runs at once, or the largest circuit when that is more. [A]"""
    return max(
        sum(g.at_once_a or (g.current_a if not g.loads else 0.0) for g in groups), *(g.current_a for g in groups)
    )


def limit_ratio(system: System, group: Group) -> float:
    """Share of the voltage that a circuit may lose, by policy."""
    policy = system.brief.policy
    return policy.drop_critical_ratio if group.critical else policy.drop_other_ratio


def budget(system: System, group: Group) -> tuple[float, float, float]:
    """A circuit's limit [V], what its own devices and joints lose [V], its one-way length [m]."""
    route = way(system.brief.vehicle, system.at("board"), group.position)
    joints_v = group.current_a * joint_ohm(system.brief.policy, group.current_a)
    return limit_ratio(system, group) * system.volts, joints_v, route.run_m


def stable_key(group: Group) -> str:
    """``Circuit.key`` of an appliance circuit: by its loads, not by its place in the audit."""
    return f"load:{group.key}" + ("" if group.behind is None else f"@{group.behind + 1}")


def load_circuit(system: System, group: Group, board: str, feed: BoardSupply, main_v: float) -> Designed | None:
    """Design one appliance circuit from its board."""
    upstream_v = main_v + feed.lost_v
    return system.design(
        Ask(
            key=group.tag, name=group.name, role="load", source=board, target=group.tag,
            way=way(system.brief.vehicle, system.at("board"), group.position), current_a=group.current_a,
            nominal_v=system.volts, low_v=system.low_v, high_v=system.high_v, limit_ratio=limit_ratio(system, group),
            strong=feed.strong, weak=feed.weak, peak_a=group.peak_a, start_s=group.start_s, upstream_v=upstream_v,
            upstream_peak_v=upstream_v + group.start_a * feed.shared_ohm, reserved_v=feed.reserved_v,
            cutout_v=group.cutout_v, lugged=False, peak_loads=group.loads, group=group.group, stable=stable_key(group),
            bonded_at=system.at("battery"),
        )
    )  # fmt: skip
