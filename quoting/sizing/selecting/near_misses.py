"""The runner-up for each part of an answer: the best system without that part in its role."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from decimal import Decimal

from quoting import money
from quoting.sizing.brief_choosing import KeptRole, Objective, Pick
from quoting.sizing.selecting.problem import Answer, Option, Problem
from quoting.sizing.selecting.records import NearMiss
from quoting.sizing.selecting.solving import OutOfTime, Programme

TIME_LIMIT_S = 5.0
"""For each runner-up."""
EXACT = 1e-6
"""By how much objectives of equals may differ. [currency, currency/year or kg]"""


def near_misses(
    problem: Problem, answer: Answer, objective: Objective, names: Mapping[str, str] | None = None
) -> tuple[NearMiss, ...]:
    """Say for every part that is bought what the system would be made with instead, and what that comes to.

    Parameters
    ----------
    problem : Problem
        The one that ``answer`` is of.
    answer : Answer
        The best system.
    objective : str
        What it has least of.
    names : mapping, optional
        Key of a part -> its name.

    Returns
    -------
    tuple of NearMiss
        In the order of the answer's picks; without one for which the solver ran out of time. The same model in another
        number or layout counts as the same part. A charger with several inputs may be followed by single ones, and they
        by it; ``moves`` names what else changes.
    """
    programme, named = Programme(problem), names or {}
    made_of: dict[tuple[str, str], set[str]] = {}
    for option in problem.options:
        for pick in option.picks:
            made_of.setdefault((pick.role, pick.part), set()).add(option.key)
    found = (
        _runner_up(programme, answer, objective, named, pick, made_of[pick.role, pick.part]) for pick in answer.picks
    )
    return tuple(one for one in found if one is not None)


def _runner_up(
    programme: Programme,
    answer: Answer,
    objective: Objective,
    names: Mapping[str, str],
    pick: Pick,
    without: Collection[str],
) -> NearMiss | None:
    """The best system without any option that has this part in this role."""
    found = NearMiss(role=pick.role, part=pick.part, name=names.get(pick.part, pick.part), quantity=pick.quantity)
    try:
        other = programme.solve(objective, without, time_limit_s=TIME_LIMIT_S)
        if other is not None and other.objective < answer.objective - EXACT:
            # what would be better was tried, and fell short, or its whole bill came to more
            other = programme.solve(objective, without, over=answer.objective, time_limit_s=TIME_LIMIT_S)
    except OutOfTime:
        return None
    if other is None:
        return found
    if not other.optimal:
        return None
    instead = _in_place_of(pick, _of(answer, pick), other)
    if instead is None:
        return found
    return found.model_copy(
        update={
            "instead": instead.part,
            "instead_name": names.get(instead.part, instead.part),
            "instead_quantity": instead.quantity,
            "more": amount(other.price - answer.price),
            "more_mass_kg": round(other.mass_kg - answer.mass_kg, 3),
            "moves": tuple(r for r in moved(answer, other) if r not in (pick.role, instead.role)),
        }
    )


def amount(price: float) -> str:
    """A difference of prices to the cent, as text."""
    cents = money.round_to(Decimal(repr(round(price, 6))))
    return str(abs(cents) if cents == 0 else cents)


def moved(one: Answer, other: Answer) -> tuple[KeptRole, ...]:
    """Roles whose part, number or layout differs between two answers, in the order of the picks."""
    before, after = ({p.role: (p.part, p.quantity, p.series) for p in a.picks} for a in (one, other))
    return tuple(role for role in dict.fromkeys((*before, *after)) if before.get(role) != after.get(role))


def _of(answer: Answer, pick: Pick) -> Option:
    """The option of the answer that a pick is from."""
    return next(option for option in answer.options if pick in option.picks)


def _in_place_of(pick: Pick, option: Option, other: Answer) -> Pick | None:
    """What the other answer has in this role; else what fills any of the same groups."""
    for_role = next((p for p in other.picks if p.role == pick.role), None)
    if for_role is not None:
        return for_role
    groups = (pick.role, *option.fills) if pick.role in option.fills else option.fills
    fills = (o for group in groups for o in other.options if group in o.fills)
    return next((p for o in fills for p in o.picks), None)
