"""Labels: both ends of every circuit, every device, the list at each board, warnings, and where to shut off."""

from __future__ import annotations

from collections.abc import Iterable

from catalog.kinds.capabilities import Storage
from catalog.kinds.capabilities_fitting import Labelling
from quoting.sizing.bill_lines import EACH, PACK, Count
from quoting.sizing.bill_uses import Uses, step_of

SOURCES = ("engine_charging", "mains_charging", "solar_control")
"""Needs that a second source of power beside the battery meets."""


def labels(count: Count) -> None:
    """Count labels of every new circuit as the paper of labels prints them, and the warnings the system calls for."""
    wiring, new = count.wiring, [c for c in count.wiring.circuits if not c.stays]
    ends, devices = Uses(), Uses()
    for circuit in new:
        for position in (circuit.from_position, circuit.to_position):
            ends.add(step_of(circuit), position, 1)
        for device in circuit.devices:
            devices.add(step_of(circuit), device.position or circuit.from_position, 1)
    _put(count, "label_conductor", "conductor", ends, [c.tag for c in new])
    _put(count, "label_device", "device", devices, [c.tag for c in new if c.devices])
    boards = Uses()
    for node in wiring.nodes:
        if node.what == "board":
            boards.add("finish", node.position, 1)
    _put(count, "label_list", "circuit", boards)
    isolators = Uses()
    for circuit in new:
        for device in circuit.devices:
            if device.what == "isolator":
                isolators.add(step_of(circuit), device.position or circuit.from_position, 1)
    _put(count, "label_shut_off", "shut_off", isolators)
    _warnings(count)


def _warnings(count: Count) -> None:
    places, choice = count.brief.vehicle.places, count.choice
    battery = choice.role("battery")
    if battery is not None:
        at = places.get("battery", "")
        _put(count, "label_battery", "warning", Uses().add("battery", at, 1), hazard="battery")
        if count.parts.can(battery.part, Storage).needs_venting:
            _put(count, "label_hydrogen", "warning", Uses().add("battery", at, 1), hazard="hydrogen")
        if any(need in one.serves for one in choice.chosen for need in SOURCES):
            _put(count, "label_two_sources", "warning", Uses().add("battery", at, 1), hazard="two_sources")
    solar = Uses()
    for circuit in count.wiring.circuits:
        if circuit.role == "solar_array":
            solar.add("solar", circuit.to_position, 1)
    _put(count, "label_daylight", "warning", solar, hazard="daylight")
    mains = Uses()
    for node in count.wiring.nodes:
        if node.what in ("inlet", "inverter", "outlet", "mains_charger"):
            mains.add("ac", node.position, 1)
    _put(count, "label_mains", "warning", mains, hazard="mains")


def _put(count: Count, rule: str, purpose: str, uses: Uses, tags: Iterable[str] = (), hazard: str = "") -> None:
    """The cheapest label of a purpose and hazard, each; of those in packs the share of one."""
    if not uses.quantity:
        return
    made = [a for a in count.parts.having(Labelling) if a.can.purpose == purpose and a.can.hazard == hazard]
    if not made:
        count.lacks(rule)
        return
    best = min(made, key=lambda a: (float(a.cost) / a.can.pack, a.order))
    unit = PACK if best.can.pack > 1 else EACH
    pieces = round(uses.quantity)
    count.add(best.part.key, rule, uses, tags, unit=unit, in_pack=best.can.pack, labels=pieces)
