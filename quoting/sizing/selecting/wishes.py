"""The wishes that are in force, each with Brief and steering as they are without it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from catalog.kinds.capabilities import CHEMISTRIES
from quoting.sizing.brief import Brief
from quoting.sizing.kept import CAN
from quoting.sizing.parts import Catalogue
from quoting.sizing.selecting.records import Market, Said, Steer
from quoting.sizing.trace import Scalar


@dataclass(frozen=True, slots=True)
class Freed:
    """One wish, and what is asked without it."""

    wish: Said
    brief: Brief
    steer: Steer
    does: Literal["leaves_out", "gives", "bounds", "weighs"] = "leaves_out"
    """It leaves options out, gives one for nothing in place of all others, bounds a sum of them, or weighs what an
    objective counts of them."""
    row: str = ""
    """The row that bounds, of one that does nothing else."""


def in_force(brief: Brief, steer: Steer, market: Market) -> tuple[Freed, ...]:
    """Every wish that may move the choice.

    Pins of parts that could stand in one another's place count as one wish, and so do the suppliers that are wanted:
    without one of them the others would bind all the more, and a wish's price would say nothing.
    """
    return (*_of_parts(brief, steer), *_of_suppliers(brief, steer, market), *_of_limits(brief, steer))


def _of_parts(brief: Brief, steer: Steer) -> Iterator[Freed]:
    names = {part.key: part.name for part in brief.catalogue}
    wishes = brief.wishes
    for keys in _in_one_place(brief):
        left = tuple(key for key in wishes.pinned if key not in keys)
        yield Freed(_said("pinned", names=_listed(names[key] for key in keys)), _wishing(brief, pinned=left), steer)
    for key in dict.fromkeys(wishes.banned):
        if key in names and key not in steer.banned_with_supplier:
            left = tuple(other for other in wishes.banned if other != key)
            yield Freed(_said("banned", name=names[key]), _wishing(brief, banned=left), steer)
    for swap in steer.swaps:
        swaps = tuple(other for other in steer.swaps if other != swap)
        said = _said("swapped", name=names.get(swap.part, swap.part), role=swap.role)
        yield Freed(said, brief, steer.model_copy(update={"swaps": swaps}))
    for kept in brief.kept:
        rest = tuple(other for other in brief.kept if other != kept)
        said = _said("kept", name=names[kept.part], role=kept.role)
        yield Freed(said, brief.model_copy(update={"kept": rest}), steer, "gives")
    others = tuple(code for code, _ in CHEMISTRIES if code not in wishes.chemistries)
    if others:
        free = _wishing(brief, chemistries=(*wishes.chemistries, *others))
        yield Freed(_said("chemistries", chemistries=_listed(wishes.chemistries)), free, steer)


def _in_one_place(brief: Brief) -> list[tuple[str, ...]]:
    """Pinned parts, those together that could stand in one another's place."""
    parts = Catalogue.of(brief)
    known = {part.key for part in brief.catalogue}
    found: list[tuple[set[str], list[str]]] = []
    for key in dict.fromkeys(brief.wishes.pinned):
        if key not in known:
            continue
        roles = {role for role, cans in CAN.items() if any(parts.has(key, can) for can in cans)}
        alike = [one for one in found if one[0] & roles]
        found = [one for one in found if one not in alike]
        found.append(({*roles, *(r for one in alike for r in one[0])}, [*(k for one in alike for k in one[1]), key]))
    return [tuple(keys) for _, keys in found]


def _of_suppliers(brief: Brief, steer: Steer, market: Market) -> Iterator[Freed]:
    names = market.suppliers
    if steer.suppliers_wanted:
        said = _said("suppliers_wanted", names=_listed(names.get(key, key) for key in steer.suppliers_wanted))
        yield Freed(said, brief, steer.model_copy(update={"suppliers_wanted": ()}))
    for key in steer.suppliers_banned:
        theirs = {part for part in steer.banned_with_supplier if _supplier(market, part) == key}
        free = steer.model_copy(
            update={
                "suppliers_banned": tuple(other for other in steer.suppliers_banned if other != key),
                "banned_with_supplier": tuple(p for p in steer.banned_with_supplier if p not in theirs),
            }
        )
        left = tuple(part for part in brief.wishes.banned if part not in theirs)
        yield Freed(_said("supplier_banned", name=names.get(key, key)), _wishing(brief, banned=left), free)


def _supplier(market: Market, part: str) -> str:
    one = market.parts.get(part)
    return one.supplier if one else ""


def _of_limits(brief: Brief, steer: Steer) -> Iterator[Freed]:
    vehicle = brief.vehicle

    def without(**free: Any) -> Steer:
        return steer.model_copy(update=free)

    if steer.prefer_stock:
        yield Freed(_said("prefer_stock"), brief, without(prefer_stock=False), "weighs")
    if steer.most_lead_days is not None:
        yield Freed(_said("most_lead_days", lead_days=steer.most_lead_days), brief, without(most_lead_days=None))
    if steer.budget is not None:
        yield Freed(_said("budget", amount=steer.budget), brief, without(budget=None), "bounds", "budget")
    masses = [m for m in (steer.most_mass_kg, vehicle.payload_left_kg) if m is not None]
    if masses:
        free = _with_vehicle(brief, payload_left_kg=None)
        yield Freed(_said("mass", mass_kg=min(masses)), free, without(most_mass_kg=None), "bounds", "mass_kg")
    if brief.wishes.solar_charging and (vehicle.roof or (vehicle.roof_length_m and vehicle.roof_width_m)):
        free = _with_vehicle(brief, roof=(), roof_length_m=None, roof_width_m=None)
        yield Freed(_said("roof"), free, steer, "bounds", "roof_m2")
    if vehicle.battery_spaces:
        free = _with_vehicle(brief, battery_spaces=())
        yield Freed(_said("battery_spaces"), free, steer, "bounds", "battery_space_m2")


def _wishing(brief: Brief, **wishes: Any) -> Brief:
    return brief.model_copy(update={"wishes": brief.wishes.model_copy(update=wishes)})


def _with_vehicle(brief: Brief, **vehicle: Any) -> Brief:
    return brief.model_copy(update={"vehicle": brief.vehicle.model_copy(update=vehicle)})


def _said(code: str, **params: Scalar) -> Said:
    return Said(code=code, params=params)


def _listed(names: Iterator[str] | Sequence[str]) -> str:
    return ", ".join(names)
