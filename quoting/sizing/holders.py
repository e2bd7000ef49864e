"""Holders of fuse-links: one for each link, or several ways on a board."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from catalog.kinds.capabilities import Holding, Protecting, Storage
from quoting.sizing.appraisal import Circuit, Device, Node, Shortfall
from quoting.sizing.battery_volts import highest_charging_v
from quoting.sizing.choice import Choice
from quoting.sizing.parts import Able, Catalogue, short


@dataclass(frozen=True, slots=True)
class Held:
    """Holders of one model at one place, and the links in them."""

    holder: Able[Holding]
    count: int
    circuits: tuple[str, ...]
    """Tags."""
    devices: tuple[str, ...]
    """Tags."""


def held(
    parts: Catalogue, choice: Choice, nodes: Sequence[Node], circuits: Sequence[Circuit]
) -> tuple[tuple[Held, ...], tuple[Shortfall, ...]]:
    """Give each link a holder of its series, good for the voltage there; on a board those of one series share ways.

    What lies in the vehicle already has its own.
    """
    wanted: dict[tuple[str, str], list[tuple[Circuit, Device]]] = defaultdict(list)
    bus_v = highest_v(parts, choice)
    cold_v = {n.tag: n.params.get("voc_cold_v") for n in nodes}
    highest: dict[str, float] = {}
    for circuit in circuits:
        for device in circuit.devices:
            if device.what != "fuse" or device.stays or not device.part:
                continue
            where = circuit.source if circuit.role == "load" else f"{circuit.tag} {device.tag}"
            wanted[where, parts.can(device.part, Protecting).series].append((circuit, device))
            own_v = cold_v.get(circuit.source)
            highest[where] = max(highest.get(where, 0.0), own_v if isinstance(own_v, float) else bus_v)
    found, missing = [], []
    for (where, series), links in wanted.items():
        most = max(d.rating_a for _, d in links)
        holder = _cheapest(parts, series, most, highest[where], len(links))
        tags = tuple(c.tag for c, _ in links)
        if holder is None:
            missing.append(short("none_of_kind", "holding", tags[0], asked=most, unit="A", series=series))
            continue
        count = math.ceil(len(links) / holder.can.ways)
        found.append(Held(holder, count, tags, tuple(d.tag for _, d in links)))
    return tuple(found), tuple(missing)


def _cheapest(parts: Catalogue, series: str, most_a: float, high_v: float, links: int) -> Able[Holding] | None:
    models = [
        h
        for h in parts.having(Holding)
        if h.can.series == series and h.can.max_rating_a >= most_a and h.can.max_v >= high_v
    ]

    def price(h: Able[Holding]) -> tuple[object, ...]:
        return h.cost * math.ceil(links / h.can.ways), h.order

    return min(models, key=price, default=None)


def highest_v(parts: Catalogue, choice: Choice) -> float:
    """Highest voltage of any bus of the system. [V]"""
    brief, battery = parts.brief, choice.role("battery")
    own_v = highest_charging_v(parts.can(battery.part, Storage), battery.series) if battery else 0.0
    return max(brief.policy.charging_v_per_12 * max(brief.wishes.system_v, brief.vehicle.nominal_v) / 12, own_v)
