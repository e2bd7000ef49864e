"""Devices that may stand in a run: rating, breaking capacity, voltage, inrush, holder."""

from __future__ import annotations

from decimal import Decimal

from catalog.kinds.capabilities import Holding, Protecting
from quoting.sizing import protection
from quoting.sizing.parts import Able, Catalogue
from quoting.sizing.policy import Policy
from quoting.sizing.runs_ask import Ask, Picked

LEAST_INRUSH_S = 0.15
"""Shortest opening time at twice the rating where the maker states none. [s] ISO 8820-3 (M)."""

CIRCUIT_STEP, FEEDER_STEP = 1.6, 4.0
"""How far over the smallest rating that serves another device may go: a step or two in an appliance circuit; more in a
shared feeder, where a larger one loses less and opens after those behind it. C"""


def devices_for(parts: Catalogue, policy: Policy, ask: Ask, least_a: float, most_a: float) -> list[Picked]:
    """Devices between two ratings that break the fault: the smallest rating first, the cheapest of it first.

    After the first only those follow that can do better where it fails: of less resistance than all before, or the
    first of another series, and not much larger; else a larger conductor is the remedy.
    """
    fit: list[tuple[tuple[float, Decimal, str], Picked]] = []
    fault_a = ask.strong.fault_a
    for able in parts.having(Protecting):
        can = able.can
        if not least_a - 1e-9 <= can.rating_a <= most_a + 1e-9 or can.max_v < ask.high_v:
            continue
        if not protection.breaks(can.breaking_a, fault_a, policy.unknown_battery_breaking_a):
            continue
        if not (holds_inrush(can, ask) and is_settled(can, ask)):
            continue
        holder = holder_for(parts, can, ask.high_v) if can.needs_holder else None
        if can.needs_holder and holder is None:
            continue
        picked = Picked(able, holder)
        fit.append(((can.rating_a, picked.cost, able.part.key), picked))
    out: list[Picked] = []
    step = FEEDER_STEP if ask.target_joints_v is not None else CIRCUIT_STEP
    top = step * min((entry[0][0] for entry in fit), default=0.0)
    for _, picked in sorted(fit, key=lambda entry: entry[0]):
        can = picked.able.can
        if can.rating_a > top:
            break
        fresh = series_of(can) not in {series_of(o.able.can) for o in out}
        if fresh or can.resistance_ohm < min(o.able.can.resistance_ohm for o in out):
            out.append(picked)
    return out


def is_settled(can: Protecting, ask: Ask) -> bool:
    """The device is what a person settled, where a person did."""
    if ask.hand is None:
        return True
    rated = ask.hand.rating_a is None or abs(ask.hand.rating_a - can.rating_a) < 1e-6
    return rated and ask.hand.form in (None, can.form)


def series_of(can: Protecting) -> str:
    """Series whose opening times hold: a breaker's own form always, and never a breaker's for a fuse-link."""
    return "breaker" if can.form == "breaker" else can.series if can.series != "breaker" else "fuse"


def holder_for(parts: Catalogue, can: Protecting, high_v: float) -> Able[Holding] | None:
    """The cheapest holder, by the way, that takes this link."""

    def find() -> Able[Holding] | None:
        fits = [
            h
            for h in parts.having(Holding)
            if h.can.series == can.series and h.can.max_rating_a >= can.rating_a and h.can.max_v >= high_v
        ]
        return min(fits, key=lambda h: (h.can.ways != 1, *h.order), default=None)

    found: Able[Holding] | None = parts.remember(("holder", can.series, can.rating_a, high_v), find)
    return found


def holds_inrush(can: Protecting, ask: Ask) -> bool:
    """The start does not reach the shortest opening time, taken along I²t from the one at twice the rating."""
    multiple = ask.peak_a / can.rating_a
    if multiple <= 1.35 or ask.start_s <= 0:
        return True
    at_2x = can.min_melting_s_at_2x or LEAST_INRUSH_S
    return ask.start_s <= at_2x * (2 / multiple) ** 2
