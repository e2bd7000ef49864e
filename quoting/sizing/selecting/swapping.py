"""One part of a system changed by hand: what could stand in its role, the others as they are, and in what number."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import islice, product

from quoting.sizing.brief import Brief
from quoting.sizing.brief_choosing import KeptRole, Pick
from quoting.sizing.choice import choose
from quoting.sizing.kept import ALONE, CAN, IN_STRINGS
from quoting.sizing.needs import Needs
from quoting.sizing.parts import Catalogue
from quoting.sizing.selecting.options import Everything, Use, everything, steered
from quoting.sizing.selecting.problem import Option, Row
from quoting.sizing.selecting.records import Market, Steer
from quoting.sizing.selecting.settling import asked_of
from quoting.sizing.selecting.steering import GROUPS_OF
from quoting.sizing.system import assemble

MOST_WAYS = 64
"""Ways in which the other parts may stand (the same pieces joined or set otherwise) that are looked at."""


@dataclass(frozen=True, slots=True)
class Instead:
    """A part that could stand in a role, in the number that does best there."""

    part: str
    name: str
    quantity: int
    series: int
    fits: bool
    """With the other parts as they are, it meets everything that is asked, and all may be connected."""
    more: float | None
    """What it costs more with its fitting than what is there; ``None`` where either has no number. [currency]"""
    more_mass_kg: float | None


def instead_in(brief: Brief, role: KeptRole, market: Market) -> tuple[Instead, ...]:
    """Say what could stand in a role of a system.

    Parameters
    ----------
    brief : Brief
        With the picks and the room of the system.
    role : str
        What is to be changed.
    market : Market
        Prices of the day.

    Returns
    -------
    tuple of Instead
        Every part that can do what the role is for and is not ruled out, without the one that is there in that very
        number: those that fit by what they cost more, then the others by name. Budget and mass rule nothing out here:
        what the whole comes to is said when it is proved.
    """
    parts = Catalogue.of(brief)
    every, problem_rows, options = _programme(brief, role, market)
    others, own = _divided(options, role)
    there = _there(every.options, brief, role)
    ways = _ways(others, own, every.groups)
    best: dict[str, Option] = {}
    for option in sorted(own, key=lambda o: (o.price, o.mass_kg, o.key)):
        part = _pick(option, role).part
        if part not in best and any(_holds(problem_rows, (*way, option)) for way in ways):
            best[part] = option
    found = [_fitting(parts, option, role, there) for option in best.values() if not _is_there(option, brief, role)]
    found.sort(key=lambda one: (math.inf if one.more is None else one.more, one.more_mass_kg or 0.0, one.part))
    banned = set(brief.wishes.banned)
    able = {able.part.key: able.part for can in CAN[role] for able in parts.free().having(can)}
    rest = [
        Instead(key, able[key].name, *_number(every.options, brief, role, key), False, None, None)
        for key in able
        if key not in best and key not in banned and not _is_picked(brief, role, key)
    ]
    return (*found, *sorted(rest, key=lambda one: (one.name, one.part)))


def pick_of(brief: Brief, role: KeptRole, part: str, quantity: int | None, market: Market) -> Pick:
    """A pick of a part by hand: in the number given, else in the one that does best there.

    Pieces in series are as the other parts ask where so many would do beside them, as panels do their controller; else
    as the system's voltage asks, and whole strings are for the caller to check.
    """
    every, rows, options = _programme(brief, role, market)
    others, own = _divided(options, role)
    ways = _ways(others, own, every.groups)
    for option in sorted(own, key=lambda o: (o.price, o.mass_kg, o.key)):
        one = _pick(option, role)
        if one.part == part and quantity in (None, one.quantity) and any(_holds(rows, (*w, option)) for w in ways):
            return Pick(role=role, part=part, quantity=one.quantity, series=one.series, by_hand=True)
    number, series = _number(every.options, brief, role, part, quantity)
    return Pick(role=role, part=part, quantity=quantity or number, series=series, by_hand=True)


def swapped(picks: Iterable[Pick], pick: Pick) -> tuple[Pick, ...]:
    """Picks with one in place of what fills its role, by role."""
    kept = [one for one in picks if one.role != pick.role]
    return tuple(sorted([*kept, pick], key=lambda one: one.role))


def _programme(brief: Brief, role: KeptRole, market: Market) -> tuple[Everything, tuple[Row, ...], list[Option]]:
    """Every option for what the system asks, and those that are left with its other parts as they are."""
    others = tuple(pick for pick in brief.picks if pick.role != role)
    wishes = brief.wishes.model_copy(update={"pinned": ()})
    free = brief.model_copy(update={"picks": (), "wishes": wishes})
    needs, use = _asked(brief)
    every = everything(free, needs, market, use)
    problem = steered(every, free, market, Steer(swaps=others))
    return every, problem.rows, list(problem.options)


def _asked(brief: Brief) -> tuple[Needs, Use]:
    """What is asked with the own draw of the parts that are picked."""
    parts = Catalogue.of(brief)
    system = assemble(brief, (), parts)
    for _ in range(2):
        needs, _use = asked_of(brief, system)
        system = assemble(brief, choose(brief, needs).chosen, parts)
    return asked_of(brief, system)


def _divided(options: Sequence[Option], role: KeptRole) -> tuple[list[Option], list[Option]]:
    """The other parts' options, and those of the role."""
    own = [option for option in options if any(pick.role == role for pick in option.picks)]
    groups = set(GROUPS_OF.get(role, (role,))) if role != "multi_charger" else {g for o in own for g in o.fills}
    return [o for o in options if o not in own and not groups & set(o.fills)], own


def _ways(others: Sequence[Option], own: Sequence[Option], groups: Sequence[str]) -> list[tuple[Option, ...]]:
    """Ways to fill the groups that the role leaves: mostly one, as every other part is settled."""
    left = {option.fills for option in own}
    found: list[tuple[Option, ...]] = []
    for fills in left:
        wanted = [group for group in groups if group not in fills]
        by_group: list[list[Option | None]] = [[o for o in others if group == o.fills[0]] for group in wanted]
        for way in islice(product(*(choices or [None] for choices in by_group)), MOST_WAYS):
            taken = tuple(option for option in way if option is not None)
            filled = [group for option in taken for group in option.fills]
            if sorted(filled) == sorted(wanted):
                found.append(taken)
    return found


def _holds(rows: Iterable[Row], options: Sequence[Option]) -> bool:
    filled = [group for option in options for group in option.fills]
    if len(filled) != len(set(filled)):
        return False
    return all(row.holds(math.fsum(option.gives.get(row.name, 0.0) for option in options)) for row in rows)


def _fitting(parts: Catalogue, option: Option, role: KeptRole, there: Option | None) -> Instead:
    pick = _pick(option, role)
    return Instead(
        part=pick.part,
        name=parts.part(pick.part).name,
        quantity=pick.quantity,
        series=pick.series,
        fits=True,
        more=None if there is None else round(option.price - there.price, 2),
        more_mass_kg=None if there is None else round(option.mass_kg - there.mass_kg, 3),
    )


def _number(
    options: Iterable[Option], brief: Brief, role: KeptRole, part: str, wanted: int | None = None
) -> tuple[int, int]:
    """How many of a part, and in series, where nothing says that they fit: as near to what is wanted as can be."""
    own = [p for o in options for p in o.picks if p.role == role and p.part == part]
    there = next((pick for pick in brief.picks if pick.role == role), None)
    wanted = wanted or (there.quantity if there is not None and role not in ALONE else 1)
    if not own:
        return (wanted if role not in IN_STRINGS else 1), 1
    nearest = min(own, key=lambda p: (abs(p.quantity - wanted), p.quantity, p.series))
    return nearest.quantity, nearest.series


def _pick(option: Option, role: KeptRole) -> Pick:
    return next(pick for pick in option.picks if pick.role == role)


def _there(options: Iterable[Option], brief: Brief, role: KeptRole) -> Option | None:
    """The option that stands in the role now, if it is one."""
    return next((o for o in options if any(p.role == role for p in o.picks) and _is_there(o, brief, role)), None)


def _is_there(option: Option, brief: Brief, role: KeptRole) -> bool:
    pick = _pick(option, role)
    return any(
        (one.role, one.part, one.quantity, one.series) == (role, pick.part, pick.quantity, pick.series)
        for one in brief.picks
    )


def _is_picked(brief: Brief, role: KeptRole, part: str) -> bool:
    return any(one.role == role and one.part == part for one in brief.picks)
