"""What holds the heavy parts in place, in a crash too: a mounting for each battery, panel, inverter and board.

What a mounting is bolted to must hold as much: that is for whoever fits it, by the vehicle's maker and local rules. On
the water ISO 10133 (a battery moves no more than 10 mm under twice its weight) and 33 CFR 183.420 say how firm; on the
road a crash asks far more, and the maker of the mounting states what it carries in a vehicle.
"""

from __future__ import annotations

from dataclasses import dataclass

from catalog.kinds.capabilities import Panel, Storage
from catalog.kinds.capabilities_fitting import Mounting
from quoting.sizing.bill_covers import adhesive, sealant
from quoting.sizing.bill_lines import Count
from quoting.sizing.bill_uses import OF_ROLE, Uses, place_of
from quoting.sizing.parts import Catalogue

HELD = ("battery", "panel", "inverter")
"""Roles whose parts are held by a mounting each. Lighter ones are screwed down: screws are small parts."""

SEALANT_ML_PER_PANEL, ADHESIVE_ML_PER_M2 = 40.0, 300.0
"""Under the brackets of a panel on a roof; under a flexible one. [ml, ml/m²] C"""


@dataclass(frozen=True, slots=True)
class Thing:
    """What is to be held; sizes longest first, as far as its maker states them."""

    what: str
    mass_kg: float
    length_mm: float | None = None
    width_mm: float | None = None
    height_mm: float | None = None


def mountings(count: Count) -> None:
    """Count a mounting for each heavy part that is new, the cheapest that carries and takes it.

    Without one for a battery the design is told to be unsafe until somebody gets one; a quote can be made all the same.
    """
    for one in count.choice.chosen:
        if one.role in HELD and not one.kept and not one.same_as:
            place, step = place_of(count.brief.vehicle, one), OF_ROLE[one.role]
            if one.role == "panel" and count.parts.can(one.part, Panel).flexible:
                can = count.parts.can(one.part, Panel)
                adhesive(count, Uses().add(step, place, one.quantity * can.length_m * can.width_m * ADHESIVE_ML_PER_M2))
                continue
            _hold(count, thing_of(count.parts, one.role, one.part), Uses().add(step, place, one.quantity))
            if one.role == "panel":
                sealant(count, Uses().add(step, place, one.quantity * SEALANT_ML_PER_PANEL))
    for node in count.wiring.nodes:
        if node.what == "board":
            _hold(count, Thing("board", _board_kg(count, node.tag)), Uses().add("boards", node.position, 1), node.tag)


def thing_of(parts: Catalogue, role: str, part: str) -> Thing:
    """One piece of a part in its role, as a mounting sees it."""
    mass_kg = parts.part(part).mass_kg
    if role == "panel":
        panel = parts.can(part, Panel)
        longest, least = sorted((1000 * panel.length_m, 1000 * panel.width_m), reverse=True)
        return Thing("panel", mass_kg, longest, least)
    if role == "battery":
        can = parts.can(part, Storage)
        if can.length_mm is not None and can.width_mm is not None:
            longest, least = sorted((can.length_mm, can.width_mm), reverse=True)
            return Thing("battery", mass_kg, longest, least, can.height_mm)
    return Thing(role, mass_kg)


def holds(can: Mounting, thing: Thing) -> bool:
    """Whether a mounting carries a thing and takes its size; sizes that nobody states are not asked."""
    return (
        can.what == thing.what
        and can.carries_kg >= thing.mass_kg
        and can.length_mm >= (thing.length_mm or 0)
        and can.width_mm >= (thing.width_mm or 0)
        and (can.height_mm is None or can.height_mm >= (thing.height_mm or 0))
    )


def _hold(count: Count, thing: Thing, uses: Uses, *tags: str) -> None:
    able = next((a for a in count.parts.having(Mounting) if holds(a.can, thing)), None)
    rule = f"mount_{thing.what}"
    if able is None:
        count.lacks(rule, unsafe=thing.what in ("battery", "panel"))
        return
    count.add(able.part.key, rule, uses, tags, held_kg=round(thing.mass_kg, 2), carries_kg=able.can.carries_kg)


def _board_kg(count: Count, tag: str) -> float:
    """Bars, and the holders and links on a board. [kg]"""
    part = count.nodes[tag].params.get("part")
    bars = 2 * count.parts.part(str(part)).mass_kg if isinstance(part, str) else 0.0
    mine = {c.tag for c in count.wiring.circuits if c.source == tag}
    on = [h for h in count.wiring.holders if set(h.circuits) <= mine]
    links = sum(
        count.parts.part(d.part).mass_kg
        for c in count.wiring.circuits
        for d in c.devices
        if c.tag in mine and d.part and d.what != "channel"
    )
    return bars + links + sum(h.holder.part.mass_kg * h.count for h in on)
