"""Switched outputs: which circuit hangs on which, and in what order they shed."""

from __future__ import annotations

from typing import Any

from catalog.kinds.capabilities import Switching
from quoting.sizing.choice import assign_channels
from quoting.sizing.circuits_loads import Group
from quoting.sizing.circuits_system import System
from quoting.sizing.parts import Able, short


def channels_of(system: System, groups: list[Group], devices_a: dict[str, float]) -> list[dict[str, Any]]:
    """Give every circuit that is to be switched an output of the chosen modules, and say in what order they shed.

    ``devices_a``: by circuit, the rating of the device before the output. An output that does not open on overcurrent
    itself is protected by that device, so its limit is not below the rating. [A]
    """
    modules = system.choice.role("switching")
    wanted = [g for g in groups if g.switched]
    if modules is None or not wanted:
        return []
    can = system.parts.can(modules.part, Switching)
    most = max(can.channel_limits_a)
    best = Able(system.parts.part(modules.part), can)
    for g in wanted:
        if g.current_a > most:
            system.shortfalls.append(
                short(
                    "too_small",
                    "switching",
                    f"{g.tag} {g.name}",
                    best=best,
                    best_value=most,
                    asked=g.current_a,
                    unit="A",
                )
            )
    fits = [g for g in wanted if g.current_a <= most]
    currents = [g.current_a for g in fits]
    least = currents if can.protects else [max(g.current_a, devices_a.get(g.tag, 0.0)) for g in fits]
    places = assign_channels(currents, can, modules.quantity, least)
    if places is None:
        total = sum(least)
        system.shortfalls.append(
            short(
                "too_small",
                "switching",
                "switching",
                best=best,
                best_value=min(can.total_a, sum(can.channel_limits_a)) * modules.quantity,
                asked=total,
                unit="A",
                rule="device",
            )
        )
        return []
    shed = sorted((g for g in fits if g.shed_below_ratio is not None), key=lambda g: -(g.shed_below_ratio or 0))
    order = {g.tag: i for i, g in enumerate(shed, start=1)}
    return [
        {
            "tag": f"K{i}",
            "part": modules.part,
            "name": modules.name,
            "module": module + 1,
            "channel": channel + 1,
            "circuit": g.tag,
            "circuit_name": g.name,
            "limit_a": can.channel_limits_a[channel],
            "load_a": round(g.current_a, 3),
            "group": g.group,
            "shed_below_ratio": g.shed_below_ratio,
            "shed_order": order.get(g.tag),
        }
        for i, (g, (module, channel)) in enumerate(zip(fits, places, strict=True), start=1)
    ]
