"""Parts that are in the vehicle already and stay: each is the choice for its role, whatever it fails to meet.

The choosing of a role is worked with the catalogue narrowed to the kept part. What that part misses is a shortfall
with ``kept_`` before its code and the part that would do in its place; it is never replaced silently. A part that is
only too small or too large stays in the design; one that may not be connected (other voltage, chemistry) is left out.
"""

from __future__ import annotations

from collections.abc import Callable

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
from quoting.sizing.brief import Brief, Kept
from quoting.sizing.errors import SizingError
from quoting.sizing.parts import Able, Catalogue, rating_of, short
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

Found = Chosen | Shortfall | None


def kept_as(brief: Brief, *roles: str) -> Kept | None:
    """What is kept for one of those roles."""
    return next((k for k in brief.kept if k.role in roles), None)


def check_kept(brief: Brief, parts: Catalogue) -> None:
    """Refuse a part that is kept for what it cannot do; raises :class:`SizingError`."""
    for i, one in enumerate(brief.kept):
        if not any(parts.has(one.part, wanted) for wanted in CAN[one.role]):
            name = parts.part(one.part).name
            raise SizingError(
                f"kept[{i}].role", value=one.role, code="conflict",
                message=f"{name!r} cannot be kept as {one.role!r}: its kind does nothing of the sort",
            )  # fmt: skip


def marked(chosen: Chosen, one: Kept) -> Chosen:
    """The choice as what it is: there already, in the number that is there, or the one that is counted on."""
    count = 1 if one.role in ALONE else one.quantity
    return chosen.model_copy(update={"kept": True, "quantity": count, "mass_kg": 0.0, "runner_up": ""})


def counted_once(brief: Brief, parts: Catalogue) -> tuple[Finding, ...]:
    """Say of which kept parts more are there than the design counts on."""
    return tuple(
        Finding(level="warning", code="kept_counts_once", subject=k.role,
                params={"name": parts.part(k.part).name, "quantity": k.quantity})
        for k in brief.kept
        if k.role in ALONE and k.quantity > 1
    )  # fmt: skip


def as_kept(shortfall: Shortfall, name: str, instead: str) -> Shortfall:
    """A kept part's shortfall: what it misses, and what would do in its place."""
    params = {**shortfall.params, "best": name, "instead": instead}
    return shortfall.model_copy(update={"code": f"kept_{shortfall.code}", "params": params})


def too_few(one: Kept, name: str, needed: Chosen, instead: str) -> Shortfall:
    """More pieces are asked than are kept."""
    found = short(
        "too_small", needed.serves[0], needed.role, best_value=float(one.quantity), asked=float(needed.quantity)
    )
    return as_kept(found, name, instead)


def settle(
    brief: Brief, parts: Catalogue, role: str, need: str, choose: Callable[[Catalogue], Found]
) -> tuple[list[Chosen | Shortfall], list[Finding]]:
    """Choose for a role; a kept part is the choice, with a shortfall for what it misses."""
    one = kept_as(brief, role)
    if one is None:
        found = choose(parts)
        return ([found] if found is not None else []), []
    part = parts.part(one.part)
    found = choose(parts.narrowed(one.part, CAN[role]))
    if found is None:
        return [], [not_used(brief, parts, role)]
    if isinstance(found, Chosen):
        if found.quantity <= one.quantity:
            return [marked(found, one)], []
        return [marked(found, one), too_few(one, part.name, found, _instead(parts, choose))], []
    missed = as_kept(found, part.name, _instead(parts, choose))
    if found.code not in CONNECTED:
        return [missed], []
    return [marked(plain(parts, one, need), one), missed], []


def plain(parts: Catalogue, one: Kept, need: str) -> Chosen:
    """A kept part as a choice, before anything is checked."""
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


def not_used(brief: Brief, parts: Catalogue, role: str) -> Finding:
    """Nothing asks for what a kept part does."""
    one = kept_as(brief, role)
    name = parts.part(one.part).name if one else ""
    return Finding(level="info", code="kept_not_used", subject=role, params={"name": name})


def _instead(parts: Catalogue, choose: Callable[[Catalogue], Found]) -> str:
    """Name of what the whole catalogue would give for this need; empty when it would not do either."""
    found = choose(parts)
    return found.name if isinstance(found, Chosen) else ""


def able(parts: Catalogue, one: Kept, wanted: type[Capability]) -> Able[Capability] | None:
    """A kept part with that capability, or ``None``."""
    return Able(parts.part(one.part), parts.can(one.part, wanted)) if parts.has(one.part, wanted) else None


def bank_of_kept(brief: Brief, parts: Catalogue, series: int | None) -> tuple[Chosen | None, Shortfall | None]:
    """A kept bank in series and parallel, exactly as many as there are; or why they make no bank."""
    one = kept_as(brief, "battery")
    assert one is not None
    can, name = parts.can(one.part, Storage), parts.part(one.part).name
    if series is None:
        found = short("wrong_voltage", "storage", "battery", asked=brief.wishes.system_v, unit="V",
                      best_value=can.nominal_v)  # fmt: skip
        return None, as_kept(found, name, "")
    if one.quantity % series:
        found = short("no_match", "storage", "battery", quantity=one.quantity, series=series)
        return None, as_kept(found, name, "").model_copy(update={"code": "kept_odd_bank"})
    parallel = one.quantity // series
    if parallel > can.max_parallel:
        found = short("too_large", "storage", "battery", asked=can.max_parallel * series, best_value=one.quantity)
        return None, as_kept(found, name, "").model_copy(update={"code": "kept_too_many"})
    return marked(plain(parts, one, "storage").model_copy(update={"series": series, "parallel": parallel}), one), None
