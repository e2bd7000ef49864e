"""Circuits of the starter bus's loads: from the starter battery's post, by a board of their own when there are many.

They belong to the vehicle: nothing of them passes the auxiliary battery, its shunt or a switched output. The starter
battery and the alternator are the one source, at one end.
"""

from __future__ import annotations

from itertools import count

from quoting.sizing.brief import Load
from quoting.sizing.circuits_feeds import BoardSupply
from quoting.sizing.circuits_loads import Group, board_current_a, coincident_a, limit_ratio
from quoting.sizing.circuits_system import System, starter_supply
from quoting.sizing.load_circuit import circuit_keys
from quoting.sizing.protection import Supply
from quoting.sizing.runs_ask import Ask
from quoting.sizing.topology import way

MOST_AT_POST = 2
"""Circuits that may each have a device at the post; more get a board behind one feed. C"""

STARTER = "B0"


def starter_groups(system: System) -> list[Group]:
    """Circuits of the starter bus in the order of the audit; loads of the same name share one."""
    keys = circuit_keys(system.brief)
    together: dict[str, list[Load]] = {}
    for load in system.brief.loads:
        if load.bus == "starter":
            together.setdefault(keys[load.key], []).append(load)
    at = system.brief.vehicle.places.get("starter")
    if together and at is None:
        names = ", ".join(x.name for members in together.values() for x in members)
        system.warn("starter_loads_without_place", "starter", level="danger", names=names)
        return []
    found = [_group(system, key, members, at or "") for key, members in together.items()]
    return [g for g in found if g is not None]


def _group(system: System, key: str, members: list[Load], at: str) -> Group | None:
    for load in members:
        if not load.position:
            system.warn("load_without_position", load.key, level="danger", name=load.name)
    placed = [x for x in members if x.position]
    if not placed:
        return None
    vehicle, margin_v = system.brief.vehicle, system.brief.policy.cutout_margin_v
    amps = [(x, x.use.power_w * x.quantity / vehicle.nominal_v) for x in members]
    current_a = coincident_a([(x.at_once, a) for x, a in amps])
    extra_a, start_s = max(((x.start_multiple - 1) * a / x.quantity, x.start_s) for x, a in amps)
    lowest = [x.min_voltage_v for x in members if x.min_voltage_v is not None]
    farthest = max(placed, key=lambda x: (way(vehicle, at, x.position or "").run_m, x.key))
    return Group(
        key=key, name=members[0].name if len(members) == 1 else (members[0].circuit or members[0].name),
        loads=tuple(x.key for x in members), group="none", current_a=current_a, position=farthest.position or at,
        peak_a=current_a + extra_a if extra_a > 0 else 0.0, start_s=start_s if extra_a > 0 else 0.0,
        cutout_v=max(lowest) + margin_v if lowest else None, critical=any(x.critical for x in members),
        at_once_a=sum(a for x, a in amps if x.at_once),
    )  # fmt: skip


def starter_circuits(system: System, groups: list[Group], first_tag: int, board: str) -> None:
    """Design the circuits of the starter bus; ``first_tag``: number of the first of their C-tags."""
    if not groups:
        return
    for group, number in zip(groups, count(first_tag)):
        group.tag = f"C{number}"
    strong, weak = starter_supply(system)
    source, before = STARTER, BoardSupply(strong, weak, 0.0, 0.0)
    if len(groups) > MOST_AT_POST:
        source, before = board, _feed(system, groups, board, strong, weak)
    for group in groups:
        _load(system, group, source, before)


def _feed(system: System, groups: list[Group], board: str, strong: Supply, weak: Supply) -> BoardSupply:
    """The starter battery's post to its board, which sits beside it."""
    policy, at, amps = system.brief.policy, system.at("starter"), board_current_a(groups)
    start_a, start_s = max((g.start_a, g.start_s) for g in groups)
    found = system.design(
        Ask(
            key="starter_feed", name="Feed to starter board", role="starter_feed", source=STARTER, target=board,
            way=way(system.brief.vehicle, at, at), current_a=amps, nominal_v=system.brief.vehicle.nominal_v,
            low_v=weak.emf_v, high_v=strong.emf_v, limit_ratio=policy.drop_critical_ratio, strong=strong, weak=weak,
            peak_a=amps + start_a if start_a > 0 else 0.0, start_s=start_s,
        )
    )  # fmt: skip
    system.busbar(board, "Starter board", at, amps, len(groups) + 1, what="board")
    if found is None:
        return BoardSupply(strong, weak, 0.0, 0.0)
    return BoardSupply(found.strong(strong), found.weak(weak), found.circuit.drop_v, 0.0, found.hot_ohm)


def _load(system: System, group: Group, source: str, before: BoardSupply) -> None:
    vehicle = system.brief.vehicle
    system.design(
        Ask(
            key=group.tag, name=group.name, role="load", source=source, target=group.tag,
            way=way(vehicle, system.at("starter"), group.position), current_a=group.current_a,
            nominal_v=vehicle.nominal_v, low_v=before.weak.emf_v, high_v=before.strong.emf_v,
            limit_ratio=limit_ratio(system, group), strong=before.strong, weak=before.weak, peak_a=group.peak_a,
            start_s=group.start_s, upstream_v=before.lost_v,
            upstream_peak_v=before.lost_v + group.start_a * before.shared_ohm, cutout_v=group.cutout_v, lugged=False,
            peak_loads=group.loads, group=group.group, stable=f"load:{group.key}@starter",
            bonded_at=system.at("starter"),
        )
    )  # fmt: skip
