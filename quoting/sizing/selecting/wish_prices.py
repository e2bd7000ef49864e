"""What each wish costs: the same choice without it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from quoting.sizing.brief import Brief
from quoting.sizing.brief_choosing import Objective
from quoting.sizing.selecting.near_misses import amount
from quoting.sizing.selecting.problem import Answer, Option, Problem
from quoting.sizing.selecting.records import Market, Said, Steer, WishPrice
from quoting.sizing.selecting.solving import OutOfTime, Programme
from quoting.sizing.selecting.wishes import Freed, in_force

TIME_LIMIT_S = 5.0
"""For each wish."""

MakeProblem = Callable[[Brief, Steer], Problem]
"""The problem of a Brief and a steering, with the needs of that Brief and the room of the offer."""


def wish_prices(
    make_problem: MakeProblem, brief: Brief, steer: Steer, market: Market, answer: Answer, objective: Objective
) -> tuple[WishPrice, ...]:
    """Say for every wish in force what the choice without it would come to less.

    Parameters
    ----------
    make_problem : callable
        Brief and steering to the problem that the programme solves.
    brief, steer, market : Brief, Steer, Market
        As they were asked.
    answer : Answer
        The best system with all wishes.
    objective : str
        What it has least of.

    Returns
    -------
    tuple of WishPrice
        The dearest first, equal ones in the order of the wishes; without one for which the solver ran out of time.
        ``more`` is in parts with their fitting; it is below zero where keeping a part saves buying one, or where the
        offer has least of something else than price. ``worse`` is by how much the objective itself is worse, never
        below zero but for what is kept.

    Notes
    -----
    Each wish is priced by itself, the others in force; prices of wishes do not add up. What is beside the programme
    (cable, devices, the proof by simulation) is taken to stay as it is.
    """
    whole = Programme(make_problem(brief, steer))
    rows = {row.name for row in whole.problem.rows}
    found = []
    for freed in in_force(brief, steer, market):
        if not freed.row:
            found.append(_price(freed, Programme(make_problem(freed.brief, freed.steer)), answer, objective))
        elif freed.row in rows:
            found.append(_price(freed, whole.without_row(freed.row), answer, objective))
    return tuple(sorted((one for one in found if one is not None), key=lambda one: -one.worse))


def freed_problems(
    make_problem: MakeProblem, brief: Brief, steer: Steer, market: Market
) -> tuple[tuple[Said, Problem], ...]:
    """Wishes that leave options out, each with the problem without it: what :func:`clashing.clash` asks for."""
    wishes = in_force(brief, steer, market)
    return tuple(
        (one.wish, make_problem(one.brief, one.steer)) for one in wishes if one.does in ("leaves_out", "gives")
    )


def _price(freed: Freed, programme: Programme, answer: Answer, objective: Objective) -> WishPrice | None:
    takes = freed.does in ("leaves_out", "bounds")
    try:
        under = answer.objective if takes else None
        other = programme.solve(objective, under=under, time_limit_s=TIME_LIMIT_S)
    except OutOfTime:
        return None
    if other is not None and not other.optimal:
        return None
    if other is None and not takes:
        return WishPrice(wish=freed.wish, more=None)
    worse = _worse(freed, answer, other, objective) if other is not None else 0.0
    if other is None or (worse <= 0 and freed.does != "gives"):
        # the system itself may be had without the wish as well, even where a wanted supplier then binds elsewhere
        return WishPrice(wish=freed.wish, more="0.00", without=answer.picks)
    return WishPrice(
        wish=freed.wish, more=amount(answer.price - other.price), worse=round(worse, 4), without=other.picks
    )


def _worse(freed: Freed, answer: Answer, other: Answer, objective: Objective) -> float:
    if freed.does == "weighs":  # the two objectives count differently
        return worth(answer.options, objective) - worth(other.options, objective)
    return answer.objective - other.objective


def worth(options: Sequence[Option], objective: Objective) -> float:
    """What an objective counts of options, without any premium for what is waited for."""
    if objective == "mass":
        return math.fsum(option.mass_kg for option in options)
    return math.fsum(option.price if objective == "price" else option.yearly for option in options)
