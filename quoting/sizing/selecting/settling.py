"""The best system for a room: the programme and the parts' own draw follow each other until nothing changes."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace

from quoting.sizing import cells
from quoting.sizing.appraise import once_through
from quoting.sizing.brief import Brief
from quoting.sizing.brief_choosing import Objective, Pick
from quoting.sizing.choice import choose
from quoting.sizing.needs import Needs
from quoting.sizing.parts import Catalogue
from quoting.sizing.selecting.options import Everything, Rest, Use, everything, steered
from quoting.sizing.selecting.problem import Answer, Problem
from quoting.sizing.selecting.records import Market, Steer
from quoting.sizing.selecting.solving import solve
from quoting.sizing.system import System, assemble

MOST_ROUNDS = 5
"""Rounds in which answer and own draw may follow each other. As in an appraisal."""
KEPT_AT_HAND = 8
"""Sets of options that are kept for the same needs to be asked of again."""


@dataclass(frozen=True, slots=True)
class Found:
    """The best system for a room, by the needs that it has itself."""

    problem: Problem
    """The last that was solved; where there is no answer, it says why."""
    answer: Answer | None
    system: System
    """The answer's parts; what it began with where there is none."""
    needs: Needs
    use: Use
    rounds: int
    settled: bool = True
    """Its own draw leads to the same answer again; else only one round was made."""


class Options:
    """All options of a market under a steering, made once for the same needs."""

    def __init__(self, market: Market, steer: Steer) -> None:
        self.market = market
        self.steer = steer
        self._made: dict[tuple[object, ...], Everything] = {}

    def everything(self, brief: Brief, needs: Needs, use: Use, short: bool = False) -> Everything:
        """Every option for these needs, those too that are ``short`` of them; bans and pins do not count."""
        wishes = brief.wishes.model_copy(update={"pinned": (), "banned": ()})
        vehicle = brief.vehicle.model_copy(update={"payload_left_kg": None})
        key = short, repr(needs), repr(use), brief.spare_outputs, repr(wishes), repr(brief.kept), repr(vehicle)
        if key not in self._made:
            while len(self._made) >= KEPT_AT_HAND:
                self._made.pop(next(iter(self._made)))
            self._made[key] = everything(brief, needs, self.market, use, short)
        return self._made[key]

    def problem(
        self, brief: Brief, needs: Needs, use: Use, rest: Rest, steer: Steer | None = None, short: bool = False
    ) -> Problem:
        """The programme for these needs; with what is ``short`` of them, where it is asked what would have to give."""
        every = self.everything(brief, needs, use, short)
        return steered(every, brief, self.market, self.steer if steer is None else steer, rest)


def settled_answer(
    options: Options,
    brief: Brief,
    objective: Objective,
    rest: Rest,
    without: Collection[str],
    start: System,
    most_rounds: int = MOST_ROUNDS,
) -> Found:
    """Solve for a Brief with its room until the answer's own draw leads to the same answer.

    Parameters
    ----------
    options : Options
        Of market and steering.
    brief : Brief
        With the room of an offer, without picks.
    objective : str
        What the offer has least of.
    rest : Rest
        What the bill has beside the chosen parts.
    without : collection of str
        Keys of options that are ruled out.
    start : System
        Parts whose own draw the first round counts.
    most_rounds : int
        Rounds after which it is left as it is.

    Returns
    -------
    Found
        Where answers go round in circles, the one that asked most of its rounds; the proof says whether it does.

    Notes
    -----
    The best answer to a need is still the best when the need has grown and the answer still meets it. Cost per year
    hangs on how hard the battery is used as well, so there only the same need is answered the same way.
    """
    system, parts = start, Catalogue.of(brief)
    seen: list[tuple[Answer, tuple[Pick, ...], Found]] = []
    for rounds in range(1, most_rounds + 1):
        needs, use = asked_of(brief, system)
        if seen:
            before, picks = seen[-1][2], seen[-1][1]
            if needs == before.needs and use == before.use:
                return before
            grown = objective != "cost_per_year" and is_harder(needs, before.needs)
            if grown and not choose(brief.model_copy(update={"picks": picks}), needs).shortfalls:
                return before
        problem = options.problem(brief, needs, use, rest)
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
    last = max(seen, key=lambda one: one[0].objective)[2]
    return replace(last, settled=most_rounds >= MOST_ROUNDS)


def is_harder(needs: Needs, than: Needs) -> bool:
    """Say whether whatever meets one set of needs meets another too: every size at least as large, else the same."""
    mine, theirs = needs.battery, than.battery
    sun, other = needs.solar, than.solar
    if (sun is None) != (other is None) or (needs.inverter, needs.converter) != (than.inverter, than.converter):
        return False
    if sun is not None and other is not None:
        same = (sun.cold_c, sun.hot_cell_c, sun.roof_area_m2) == (other.cold_c, other.hot_cell_c, other.roof_area_m2)
        stops = list(zip(sun.by_stop, other.by_stop, strict=False))
        if not same or len(sun.by_stop) != len(other.by_stop) or sun.array_w < other.array_w:
            return False
        if any(a[1] != b[1] or a[0] < b[0] for a, b in stops):
            return False
    sizes = [
        (mine.discharge_a, theirs.discharge_a),
        (mine.peak_a, theirs.peak_a),
        (mine.peak_s, theirs.peak_s),
        (needs.engine_a or 0.0, than.engine_a or 0.0),
        (needs.mains_a or 0.0, than.mains_a or 0.0),
        (needs.house_peak_a, than.house_peak_a),
        *((mine.capacity_ah.get(code, 0.0), asked) for code, asked in theirs.capacity_ah.items()),
    ]
    if (needs.engine_a is None) != (than.engine_a is None) or (needs.mains_a is None) != (than.mains_a is None):
        return False
    held = needs.engine_most_a == than.engine_most_a and needs.compartment_c == than.compartment_c
    return held and all(a >= b for a, b in sizes)


def ordered(picks: Iterable[Pick]) -> tuple[Pick, ...]:
    """Picks by role: in whatever order they are found, the same system is the same Brief."""
    return tuple(sorted(picks, key=lambda pick: pick.role))


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
