"""How long sets of loads run from full, new and worn, with no charging, for the owner's sheet."""

from __future__ import annotations

import math
from collections.abc import Sequence

from quoting.sizing.appraisal import Lasting
from quoting.sizing.battery import peukert_time_h
from quoting.sizing.loads import Line


def lasting(
    lines: Sequence[Line],
    capacity_ah: float,
    bank_v: float,
    usable_depth_ratio: float,
    end_of_life_ratio: float,
    rate_h: float = 20.0,
    peukert: float = 1.0,
) -> tuple[Lasting, ...]:
    """Hours each set of loads lasts: everything, without the inverter, always live, essential, and each by itself.

    Parameters
    ----------
    lines : sequence of Line
        The most demanding stop's lines, own draw included.
    capacity_ah : float
        Of the bank, new, at the maker's rate. [Ah]
    bank_v : float
        Nominal. [V]
    usable_depth_ratio, end_of_life_ratio : float
        Policy of the chemistry.
    rate_h, peukert : float
        Maker's rate [h] and exponent; a current below the rate's earns no more than the stated capacity.

    Notes
    -----
    Mean power over the day. It ends where the first of the set sheds, or at the usable depth.
    """
    own = [x for x in lines if x.own_draw]
    used = [x for x in lines if x.energy_wh > 0 and not x.own_draw]
    sets: list[tuple[str, str, list[Line]]] = [
        ("everything", "", [*used, *own]),
        ("without_inverter", "", [x for x in [*used, *own] if x.bus != "ac" and x.key != "own:inverter"]),
        ("always_live", "", [x for x in [*used, *own] if x.always_live]),
        ("essential", "", [*(x for x in used if x.essential), *(own if any(x.essential for x in used) else [])]),
    ]
    sets += [(f"load:{x.key}", x.name, [x]) for x in used]
    out = []
    for key, name, members in sets:
        power = math.fsum(x.energy_wh for x in members) / 24
        if power <= 0:
            continue
        floor = 1 - usable_depth_ratio
        shed = max((x.shed_below_ratio for x in members if x.shed_below_ratio is not None), default=0.0)
        until, ratio = ("shed", shed) if shed > floor else ("empty", floor)
        new_h = _hours(capacity_ah, power / bank_v, 1 - ratio, rate_h, peukert)
        worn_h = _hours(capacity_ah * end_of_life_ratio, power / bank_v, 1 - ratio, rate_h, peukert)
        out.append(
            Lasting(key=key, name=name, power_w=power, new_h=new_h, worn_h=worn_h, until=until, until_ratio=ratio)
        )
    return tuple(out)


def _hours(capacity_ah: float, current_a: float, share: float, rate_h: float, peukert: float) -> float:
    if capacity_ah <= 0 or current_a < 1e-6:
        return 0.0 if capacity_ah <= 0 else share * capacity_ah / max(current_a, 1e-9)
    flat = capacity_ah / current_a
    return share * (flat if flat >= rate_h else peukert_time_h(capacity_ah, rate_h, current_a, peukert))
