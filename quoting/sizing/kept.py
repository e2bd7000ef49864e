"""Parts that are settled beforehand: kept in the vehicle, or picked to be bought. Each is the choice for its role.

The choosing of a role is worked with the catalogue narrowed to the settled part. What that part misses is a shortfall
with ``kept_`` or ``picked_`` before its code and the part that would do in its place; it is never replaced silently. A
part that is only too small or too large stays in the design; one that may not be connected (other voltage, chemistry)
is left out. A kept part costs nothing and adds no mass, and goes before a pick for the same role.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from catalog.kinds.capabilities import (
    Capability,
    Converting,
    Coupling,
    EngineCharging,
    Inlet,
    Inverting,
    MainsCharging,
    Monitoring,
    Panel,
    ResidualProtection,
    Sensing,
    SolarControl,
    Storage,
    Switching,
)
from quoting.sizing.appraisal import Chosen, Shortfall
from quoting.sizing.brief import Brief
from quoting.sizing.brief_choosing import KeptRole
from quoting.sizing.errors import SizingError
from quoting.sizing.parts import Catalogue, rating_of, short
from quoting.sizing.trace import Finding

CAN: dict[str, tuple[type[Capability], ...]] = {
    "battery": (Storage,),
    "engine_charger": (EngineCharging,),
    "mains_charger": (MainsCharging,),
    "solar_controller": (SolarControl,),
    "multi_charger": (EngineCharging, MainsCharging, SolarControl),
    "panel": (Panel,),
    "inverter": (Inverting,),
    "switching": (Switching,),
    "monitor": (Monitoring,),
    "inlet": (Inlet,),
    "residual": (ResidualProtection,),
    "converter": (Converting,),
    "coupling": (Coupling,),
    "sensing": (Sensing,),
}
"""What a part of each role must be able to do: one of these."""

CONNECTED = ("too_small", "too_large")
"""What a kept part may fall short by and still be connected."""

ALONE = (
    "engine_charger",
    "mains_charger",
    "solar_controller",
    "multi_charger",
    "inverter",
    "monitor",
    "inlet",
    "coupling",
)
"""Roles of which a design counts on one piece: circuits of several side by side are not designed."""

IN_STRINGS = ("battery", "panel")
"""Roles whose pieces may be joined in series."""

Found = Chosen | Shortfall | None


@dataclass(frozen=True, slots=True)
class Settled:
    """A part that is settled for a role, in a number."""

    role: KeptRole
    part: str
    quantity: int
    kept: bool
    """In the vehicle already; else it is picked, and bought."""
    series: int | None = None
    """Of batteries or panels in one string, as picked; ``None``: as the voltage asks."""
    by_hand: bool = False

    @property
    def mark(self) -> Literal["kept", "picked"]:
        """What stands before the code of everything it misses."""
        return "kept" if self.kept else "picked"


def settled_as(brief: Brief, *roles: str) -> Settled | None:
    """What is settled for one of those roles; what is kept goes before what is picked."""
    for kept in brief.kept:
        if kept.role in roles:
            return Settled(kept.role, kept.part, kept.quantity, True)
    for pick in brief.picks:
        if pick.role in roles:
            return Settled(pick.role, pick.part, pick.quantity, False, pick.series, pick.by_hand)
    return None


def unsettled(brief: Brief) -> Brief:
    """The same Brief with nothing kept or picked: what the whole catalogue would give."""
    return brief.model_copy(update={"kept": (), "picks": ()})


def check_kept(brief: Brief, parts: Catalogue) -> None:
    """Refuse a part that is kept for what it cannot do; raises :class:`SizingError`."""
    for i, one in enumerate(brief.kept):
        if not any(parts.has(one.part, wanted) for wanted in CAN[one.role]):
            name = parts.part(one.part).name
            raise SizingError(
                f"kept[{i}].role", value=one.role, code="conflict",
                message=f"{name!r} cannot be kept as {one.role!r}: its kind does nothing of the sort",
            )  # fmt: skip


def check_picks(brief: Brief, parts: Catalogue) -> None:
    """Refuse a pick that its part cannot be, or that makes no whole strings; raises :class:`SizingError`."""
    for i, one in enumerate(brief.picks):
        name = parts.part(one.part).name
        if not any(parts.has(one.part, wanted) for wanted in CAN[one.role]):
            said = f"{name!r} cannot be picked as {one.role!r}: its kind does nothing of the sort"
            raise SizingError(f"picks[{i}].role", value=one.role, code="conflict", message=said)
        if one.role in ALONE and one.quantity > 1:
            raise SizingError(f"picks[{i}].quantity", value=one.quantity, minimum=1, maximum=1)
        if one.series > 1 and one.role not in IN_STRINGS:
            raise SizingError(f"picks[{i}].series", value=one.series, minimum=1, maximum=1)
        if one.quantity % one.series:
            said = f"{one.quantity} of {name!r} make no whole strings of {one.series}"
            raise SizingError(f"picks[{i}].quantity", value=one.quantity, code="conflict", message=said)


def marked(chosen: Chosen, one: Settled, parts: Catalogue) -> Chosen:
    """The choice as what it is: there already or settled to be bought, in the number that is settled."""
    count = 1 if one.role in ALONE else one.quantity
    mass_kg = 0.0 if one.kept else round(parts.part(one.part).mass_kg * count, 3)
    said = {"kept": one.kept, "by_hand": one.by_hand, "quantity": count, "mass_kg": mass_kg, "runner_up": ""}
    return chosen.model_copy(update=said)


def counted_once(brief: Brief, parts: Catalogue) -> tuple[Finding, ...]:
    """Say of which kept parts more are there than the design counts on."""
    return tuple(
        Finding(level="warning", code="kept_counts_once", subject=k.role,
                params={"name": parts.part(k.part).name, "quantity": k.quantity})
        for k in brief.kept
        if k.role in ALONE and k.quantity > 1
    )  # fmt: skip


def retired(brief: Brief, parts: Catalogue) -> tuple[Finding, ...]:
    """Say which picked parts the workshop has retired since they were settled."""
    return tuple(
        Finding(level="warning", code="picked_retired", subject=pick.role, params={"name": parts.part(pick.part).name})
        for pick in brief.picks
        if pick.retired
    )


def as_settled(shortfall: Shortfall, one: Settled, name: str, instead: str | None) -> Shortfall:
    """A settled part's shortfall: what it misses, and what would do in its place; ``None``: nobody looked.

    One that is said of another settled part already, as of panels where their controller is settled too, stays.
    """
    if shortfall.code.startswith(("kept_", "picked_")):
        return shortfall
    params = {**shortfall.params, "best": name, **({} if instead is None else {"instead": instead})}
    return shortfall.model_copy(update={"code": f"{one.mark}_{shortfall.code}", "params": params})


def too_few(one: Settled, name: str, needed: Chosen, instead: str) -> Shortfall:
    """More pieces are asked than are settled."""
    found = short(
        "too_small", needed.serves[0], needed.role, best_value=float(one.quantity), asked=float(needed.quantity)
    )
    return as_settled(found, one, name, instead)


def settle(
    brief: Brief, parts: Catalogue, role: str, need: str, choose: Callable[[Catalogue], Found]
) -> tuple[list[Chosen | Shortfall], list[Finding]]:
    """Choose for a role; a settled part is the choice, with a shortfall for what it misses."""
    one = settled_as(brief, role)
    if one is None:
        found = choose(parts)
        return ([found] if found is not None else []), []
    part = parts.part(one.part)
    found = choose(parts.narrowed(one.part, CAN[role]))
    if found is None:
        return [], [not_used(parts, one)]
    if isinstance(found, Chosen):
        if found.quantity <= one.quantity:
            return [marked(found, one, parts)], []
        return [marked(found, one, parts), too_few(one, part.name, found, _instead(parts, choose))], []
    missed = as_settled(found, one, part.name, _instead(parts, choose))
    if found.code not in CONNECTED:
        return [missed], []
    return [marked(plain(parts, one, need), one, parts), missed], []


def plain(parts: Catalogue, one: Settled, need: str) -> Chosen:
    """A settled part as a choice, before anything is checked."""
    part = parts.part(one.part)
    return Chosen(
        role=one.role,
        serves=(need,),
        part=part.key,
        name=part.name,
        part_number=part.part_number,
        quantity=one.quantity,
        rating=rating_of(part),
    )


def not_used(parts: Catalogue, one: Settled) -> Finding:
    """Nothing asks for what a settled part does."""
    return Finding(
        level="info", code=f"{one.mark}_not_used", subject=one.role, params={"name": parts.part(one.part).name}
    )


def _instead(parts: Catalogue, choose: Callable[[Catalogue], Found]) -> str:
    """Name of what the whole catalogue would give for this need; empty when it would not do either."""
    found = choose(parts)
    return found.name if isinstance(found, Chosen) else ""


def bank_of_settled(
    brief: Brief, parts: Catalogue, one: Settled, series: int | None
) -> tuple[Chosen | None, Shortfall | None]:
    """A settled bank in series and parallel, exactly as many as are settled; or why they make no bank.

    ``series``: how many of them in a string make the voltage of the bus; ``None`` where no whole number does.
    """
    can, name = parts.can(one.part, Storage), parts.part(one.part).name
    if series is None or one.series not in (None, series):
        volts = can.nominal_v * (one.series or 1)
        found = short("wrong_voltage", "storage", "battery", asked=brief.wishes.system_v, unit="V", best_value=volts)
        return None, as_settled(found, one, name, "")
    if one.quantity % series:
        found = short("no_match", "storage", "battery", quantity=one.quantity, series=series)
        return None, as_settled(found, one, name, "").model_copy(update={"code": f"{one.mark}_odd_bank"})
    parallel = one.quantity // series
    if parallel > can.max_parallel:
        found = short("too_large", "storage", "battery", asked=can.max_parallel * series, best_value=one.quantity)
        return None, as_settled(found, one, name, "").model_copy(update={"code": f"{one.mark}_too_many"})
    bank = plain(parts, one, "storage").model_copy(update={"series": series, "parallel": parallel})
    return marked(bank, one, parts), None
