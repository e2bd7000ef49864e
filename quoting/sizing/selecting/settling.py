"""The best system for a room: the programme and the parts' own draw follow each other until nothing changes."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass

from quoting.sizing import cells
from quoting.sizing.appraise import once_through
from quoting.sizing.brief import Brief
from quoting.sizing.brief_choosing import Objective, Pick
from quoting.sizing.choice import choose
from quoting.sizing.needs import Needs
from quoting.sizing.parts import Catalogue
from quoting.sizing.selecting.options import Rest, Use, problem_of
from quoting.sizing.selecting.problem import Answer, Problem
from quoting.sizing.selecting.proving import ordered
from quoting.sizing.selecting.records import Market, Steer
from quoting.sizing.selecting.solving import solve
from quoting.sizing.system import System, assemble

MOST_ROUNDS = 5
"""Rounds in which answer and own draw may follow each other. As in an appraisal."""


@dataclass(frozen=True, slots=True)
class Found:
    """The best system for a room, by the needs that it has itself."""

    problem: Problem
    """The last that was solved; where there is no answer, it says why."""
    answer: Answer | None
    system: System
    """The answer's parts; what it began with where there is none."""
    needs: Needs
    use: Use | None
    rounds: int


def settled_answer(
    brief: Brief,
    market: Market,
    steer: Steer,
    objective: Objective,
    rest: Rest,
    without: Collection[str],
    start: System,
) -> Found:
    """Solve for a Brief with its room until the answer's own draw leads to the same answer.

    Parameters
    ----------
    brief : Brief
        With the room of an offer, without picks.
    market, steer : Market, Steer
        As for :func:`problem_of`.
    objective : str
        What the offer has least of.
    rest : Rest
        What the bill has beside the chosen parts.
    without : collection of str
        Keys of options that are ruled out.
    start : System
        Parts whose own draw the first round counts.

    Returns
    -------
    Found
        Where answers go round in circles, the one that asked most of its rounds; the proof says whether it does.
    """
    system, parts = start, Catalogue.of(brief)
    seen: list[tuple[Answer, tuple[Pick, ...], Found]] = []
    for rounds in range(1, MOST_ROUNDS + 1):
        needs, use = asked_of(brief, system)
        problem = problem_of(brief, needs, market, steer, rest, use)
        answer = solve(problem, objective, without=without)
        if answer is None:
            return Found(problem, None, system, needs, use, rounds)
        picks = ordered(answer.picks)
        picked = brief.model_copy(update={"picks": picks})
        system = assemble(brief, choose(picked, needs).chosen, parts)
        found = Found(problem, answer, system, needs, use, rounds)
        if seen and seen[-1][1] == picks:
            return found
        seen.append((answer, picks, found))
    return max(seen, key=lambda one: one[0].objective)[2]


def meets(brief: Brief, picks: tuple[Pick, ...], system: System) -> bool:
    """Say whether picked parts meet everything that a Brief with its room asks, by the rules of choosing alone."""
    needs, _use = asked_of(brief, system)
    return not choose(brief.model_copy(update={"picks": picks}), needs).shortfalls


def asked_of(brief: Brief, system: System) -> tuple[Needs, Use]:
    """What loads and trip ask with a system's own draw, and how hard that uses the battery."""
    _book, days, needs = once_through(brief, system)
    worst = max(range(len(days)), key=lambda i: days[i].energy_wh)
    warm = cells.bank_cells_c(system, brief.trip[worst], days[worst].ambient_c)
    return needs, Use(day_wh=days[worst].energy_wh, cells_c=math.fsum(warm) / len(warm))
