"""Circuits across the hitch: their pins' contacts in the drop, and nothing over what the pins carry."""

from __future__ import annotations

import math
from dataclasses import replace

from catalog.kinds.capabilities import Coupling
from quoting.sizing import protection
from quoting.sizing.appraisal import Shortfall
from quoting.sizing.hitch import contact_ohm
from quoting.sizing.parts import Able, Catalogue, short
from quoting.sizing.policy import Policy
from quoting.sizing.runs import Designed, design_run
from quoting.sizing.runs_ask import Ask


def design_across(
    parts: Catalogue, policy: Policy, ask: Ask, coupling: Able[Coupling] | None, used: int
) -> Designed | Shortfall:
    """Design a run over the hitch on as few pairs of pins as carry its device; ``used`` are taken by others already.

    Without a coupling the run is designed as if its contacts lost nothing: one is chosen by what crosses.
    """
    if coupling is None:
        return design_run(parts, policy, ask)
    can, times = coupling.can, ask.way.crossings
    if can.max_v < ask.high_v:
        return short(
            "wrong_voltage", "coupling", ask.subject, best=coupling, best_value=can.max_v, asked=ask.high_v, unit="V"
        )
    least_a = ask.least_rating_a or protection.least_rating_a(
        ask.current_a, policy.fuse_continuous_ratio, policy.fuse_temperature_ratio
    )
    least_a = max(least_a, ask.maker_least_a)
    free = max(0, can.pins - used) // times
    lack: Shortfall | None = None
    for pairs in range(max(1, math.ceil(least_a / can.pin_a - 1e-9)), free + 1):
        pins_a = pairs * can.pin_a
        tried = replace(
            ask, contact_ohm=contact_ohm(can.pin_ohm, pairs, times), pin_pairs=pairs * times, pins_a=pins_a,
            most_rating_a=min(pins_a, ask.most_rating_a or math.inf),
        )  # fmt: skip
        found = design_run(parts, policy, tried)
        if isinstance(found, Designed):
            return found
        lack = found
    if lack is not None and free * can.pin_a >= least_a and lack.need.code != "protecting":
        return lack
    return short(
        "too_small", "coupling", ask.subject, best=coupling, best_value=free * can.pin_a,
        asked=_device_a(parts, lack, least_a), unit="A", rule="pins",
    )  # fmt: skip


def _device_a(parts: Catalogue, lack: Shortfall | None, least_a: float) -> float:
    """What the device wants to carry: its next rating where the pins lie between two of them. [A]"""
    nearest = lack.params.get("best_value") if lack is not None else None
    return max(least_a, float(nearest)) if isinstance(nearest, int | float) else least_a
