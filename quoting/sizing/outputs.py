"""Switched outputs of the designed circuits: modules, who hangs where, and in what order circuits are shed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from catalog.kinds.capabilities import Switching
from quoting.sizing.appraisal import Appraisal, Chosen
from quoting.sizing.brief import Brief
from quoting.sizing.circuits_loads import Group, stable_key
from quoting.sizing.circuits_system import System
from quoting.sizing.outputs_fit import Laid, Modules, Want
from quoting.sizing.outputs_laid import lay_out
from quoting.sizing.parts import Able, Catalogue, short
from quoting.sizing.sharing import DIRECT, on_output
from quoting.sizing.trace import Finding
from quoting.sizing.wiring_records import OutputGroup, OutputModule


@dataclass(frozen=True, slots=True)
class Outputs:
    """The switched outputs of a design."""

    channels: tuple[dict[str, Any], ...] = ()
    """``Appraisal.channels``."""
    modules: tuple[OutputModule, ...] = ()
    shed_groups: tuple[OutputGroup, ...] = ()


def give_outputs(system: System, groups: Sequence[Group], devices_a: Mapping[str, float]) -> Outputs:
    """Give every circuit that is to be switched an output of the chosen modules; what has none is a shortfall.

    Parameters
    ----------
    system : System
        With the chosen modules; findings and shortfalls are kept in it.
    groups : sequence of Group
        Circuits with their tags.
    devices_a : mapping of str to float
        By tag, the rating of the device before the output. An output that does not open on overcurrent itself is
        protected by that device, so its limit is not below the rating. [A]

    Returns
    -------
    Outputs
        What a person laid stands where it fits.
    """
    chosen = system.choice.role("switching")
    wanted = [g for g in groups if g.switched]
    if chosen is None or not wanted:
        _say_not_shed(system, {})
        return Outputs()
    can = system.parts.can(chosen.part, Switching)
    wants = [_want(g, 0.0 if can.protects else devices_a.get(g.tag, 0.0)) for g in wanted]
    modules = Modules(can.channel_limits_a, can.total_a, chosen.quantity)
    hard_wired = {stable_key(g): g.name for g in groups if not g.switched}
    laid = lay_out(wants, modules, system.brief.layout, hard_wired)
    _say_unplaced(system, Able(system.parts.part(chosen.part), can), modules, laid)
    for refusal in laid.refused:
        params = dict(refusal.params)
        system.findings.append(
            Finding(level="warning", code=f"laid_{refusal.code}", subject=refusal.circuit, params=params)
        )
    _say_spares(system, wants, modules, laid)
    channels = _channels(system, chosen, can, wanted, wants, laid)
    _say_not_shed(system, {key: row for row in channels for key in row["loads"]} if can.sheds else {})
    groups_shed = _shed_groups(system.brief, channels) if can.sheds else ()
    return Outputs(channels, _modules(system, chosen, can, wanted, channels), groups_shed)


def _want(group: Group, device_a: float) -> Want:
    supply = "" if group.behind is None else f"converter {group.behind + 1}"
    return Want(stable_key(group), group.name, group.current_a, device_a, supply, group.tag)


def _channels(
    system: System, chosen: Chosen, can: Switching, wanted: Sequence[Group], wants: Sequence[Want], laid: Laid
) -> tuple[dict[str, Any], ...]:
    """Rows of ``Appraisal.channels``, in the order of the circuits."""
    levels = sorted({g.shed_below_ratio for g in wanted if g.shed_below_ratio is not None}, reverse=True)
    order = {level: i for i, level in enumerate(levels, start=1)} if can.sheds else {}
    rows: list[dict[str, Any]] = []
    for group, want in zip(wanted, wants, strict=True):
        if want.key not in laid.places:
            continue
        module, channel = laid.places[want.key]
        rows.append(
            {
                "tag": f"K{len(rows) + 1}",
                "part": chosen.part,
                "name": chosen.name,
                "module": module + 1,
                "channel": channel + 1,
                "circuit": group.tag,
                "circuit_name": group.name,
                "key": want.key,
                "loads": list(group.loads),
                "limit_a": can.channel_limits_a[channel],
                "load_a": round(group.current_a, 3),
                "device_a": want.device_a,
                "group": group.group,
                "shed_below_ratio": group.shed_below_ratio if can.sheds else None,
                "shed_order": order.get(group.shed_below_ratio) if group.shed_below_ratio is not None else None,
                "laid": want.key in laid.by_hand,
            }
        )
    return tuple(rows)


def _modules(
    system: System, chosen: Chosen, can: Switching, wanted: Sequence[Group], channels: Iterable[dict[str, Any]]
) -> tuple[OutputModule, ...]:
    behind = {g.tag for g in wanted if g.behind is not None}
    out = []
    for number in range(1, chosen.quantity + 1):
        mine = [row for row in channels if row["module"] == number]
        taken = {row["channel"] for row in mine}
        at_converter = any(row["circuit"] in behind for row in mine)
        out.append(
            OutputModule(
                number=number,
                part=chosen.part,
                name=chosen.name,
                position=system.converter_at if at_converter else system.at("board"),
                limits_a=can.channel_limits_a,
                total_a=can.total_a,
                load_a=round(sum(row["load_a"] for row in mine), 3),
                sheds=can.sheds,
                protects=can.protects,
                free=tuple(c for c in range(1, len(can.channel_limits_a) + 1) if c not in taken),
            )
        )
    return tuple(out)


def _shed_groups(brief: Brief, channels: Sequence[dict[str, Any]]) -> tuple[OutputGroup, ...]:
    """Circuits that go off together, the first to go first; all of them go at the backstop's voltage."""
    policy, per_12 = brief.policy, brief.wishes.system_v / 12
    levels = sorted({row["shed_below_ratio"] for row in channels if row["shed_below_ratio"] is not None}, reverse=True)
    out = []
    for order, level in enumerate(levels, start=1):
        mine = [row for row in channels if row["shed_below_ratio"] == level]
        out.append(
            OutputGroup(
                order=order,
                below_ratio=level,
                restore_ratio=min(1.0, level + policy.shed_restore_ratio),
                backstop_v=round(policy.backstop_v_per_12 * per_12, 3),
                backstop_restore_v=round(policy.backstop_restore_v_per_12 * per_12, 3),
                backstop_delay_min=policy.backstop_delay_min,
                circuits=tuple(row["circuit"] for row in mine),
                outputs=tuple(row["tag"] for row in mine),
            )
        )
    return tuple(out)


def _say_unplaced(system: System, best: Able[Switching], modules: Modules, laid: Laid) -> None:
    """A shortfall for each circuit without an output, with what is missing."""
    largest_a = max(modules.limits_a)
    for want in laid.unplaced:
        rule: dict[str, str] = {}
        if want.current_a > largest_a:
            value, asked = largest_a, want.current_a
        else:
            value, asked, rule = _room(want, modules, laid), want.least_a, {"rule": "device"}
        subject = f"{want.tag} {want.name}"
        system.shortfalls.append(
            short("too_small", "switching", subject, best=best, best_value=value, asked=asked, unit="A", **rule)
        )


def _room(want: Want, modules: Modules, laid: Laid) -> float:
    """Most that any output still free would carry for this circuit. [A]"""
    taken = set(laid.places.values())
    free = [(m, limit) for m in range(modules.count) for c, limit in enumerate(modules.limits_a) if (m, c) not in taken]
    return min(max((limit for _, limit in free), default=0.0), want.least_a)


def _say_spares(system: System, wants: Sequence[Want], modules: Modules, laid: Laid) -> None:
    """Warn where fewer outputs stay free than by policy, or where what a person laid leaves only small ones."""
    spare, free = system.brief.spare_outputs, modules.count * len(modules.limits_a) - len(laid.places)
    if free < spare:
        system.warn("outputs_no_spare", "switching", free=free, spare=spare)
    if not laid.by_hand or not free or not spare:
        return
    by_itself = largest_spare_a(modules, lay_out(wants, modules))
    left = largest_spare_a(modules, laid)
    if left < by_itself - 1e-9:
        system.warn("outputs_spare_smaller", "switching", "info", left_a=left, by_itself_a=by_itself)


def largest_spare_a(modules: Modules, laid: Laid) -> float:
    """Limit of the largest output that is free. [A]"""
    taken = set(laid.places.values())
    free = (limit for m in range(modules.count) for c, limit in enumerate(modules.limits_a) if (m, c) not in taken)
    return max(free, default=0.0)


def _say_not_shed(system: System, outputs: Mapping[str, dict[str, Any]]) -> None:
    """Say of every load with a threshold that is on no output that sheds, and of those that go off with others.

    ``outputs``: rows of switched outputs that shed, by load.
    """
    for load in system.brief.loads:
        level, row = load.shed_below_ratio, outputs.get(load.key)
        if level is not None and row is None:
            why = "inverter" if load.bus == "ac" else "starter" if load.bus == "starter" else "output"
            system.warn(f"sheds_nothing_{why}", load.key, name=load.name, below_ratio=level)
        elif (
            row is not None
            and row["shed_below_ratio"] is not None
            and (level is None or level < row["shed_below_ratio"])
        ):
            system.warn(
                "goes_off_with_circuit", load.key, "warning" if load.essential else "info",
                name=load.name, circuit=row["circuit"], below_ratio=row["shed_below_ratio"],
            )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Bench:
    """What a layout of a kept design is tried on, without working the design out again."""

    wants: tuple[Want, ...]
    modules: Modules
    can: Switching
    hard_wired: Mapping[str, str]
    """Names of the circuits that have no output, by key."""
    loads: Mapping[str, tuple[str, ...]]
    """Keys of the loads on each circuit that wants an output."""

    def try_layout(self, layout: Sequence[Any]) -> Laid:
        """``layout``: of :class:`quoting.sizing.brief_wiring.LaidOut`."""
        return lay_out(self.wants, self.modules, layout, self.hard_wired)


def bench_of(brief: Brief, appraisal: Appraisal) -> Bench | None:
    """Circuits and modules of a kept design; ``None`` where nothing is switched, or it is older than circuits' keys."""
    chosen = next((c for c in appraisal.chosen if c.role == "switching"), None)
    if chosen is None:
        return None
    can = Catalogue.of(brief).can(chosen.part, Switching)
    by_key = {x.key: x for x in brief.loads}
    wants: list[Want] = []
    hard_wired: dict[str, str] = {}
    loads: dict[str, tuple[str, ...]] = {}
    for c in appraisal.circuits:
        members = [by_key[key] for key in c.loads if key in by_key]
        direct = [x for x in members if x.bus in DIRECT]
        if c.role != "load" or not c.key:
            continue
        if not direct or not on_output(direct):
            hard_wired[c.key] = c.name
            continue
        device_a = 0.0 if can.protects else max((d.rating_a for d in c.devices if d.what != "channel"), default=0.0)
        supply = "" if c.source in HOUSE_BOARDS else c.source
        wants.append(Want(c.key, c.name, c.current_a, device_a, supply, c.tag))
        loads[c.key] = c.loads
    if not wants:
        return None
    return Bench(tuple(wants), Modules(can.channel_limits_a, can.total_a, chosen.quantity), can, hard_wired, loads)


HOUSE_BOARDS = ("W2", "W3")
"""Tags of the boards on the house bus; others stand behind converters."""
