"""What is said about an offer once it is proved: runners-up for its parts, and what each wish costs."""

from __future__ import annotations

import math
from dataclasses import replace

from quoting.sizing.brief import Brief
from quoting.sizing.selecting.near_misses import near_misses
from quoting.sizing.selecting.options import Rest
from quoting.sizing.selecting.problem import Problem
from quoting.sizing.selecting.proving import Proofs
from quoting.sizing.selecting.records import NearMiss, Said, Steer, WishPrice
from quoting.sizing.selecting.searching import Outcome
from quoting.sizing.selecting.settling import asked_of
from quoting.sizing.selecting.tightening import Tried, rest_of
from quoting.sizing.selecting.wish_prices import freed_problems, wish_prices


class Making:
    """One offer's outcome, and its problem asked again with something else wished."""

    def __init__(self, proofs: Proofs, outcome: Outcome) -> None:
        self.proofs = proofs
        self.outcome = outcome
        self.tried = outcome.tried or Tried(outcome.start)
        self.brief = proofs.brief.model_copy(update={"room": self.tried.room})
        self.rest = self._rest()

    def near_misses(self) -> tuple[NearMiss, ...]:
        """The runner-up for each part."""
        answer = self.outcome.found.answer
        if answer is None:
            return ()
        names = {part.key: part.name for part in self.brief.catalogue}
        problem = self._left(beside(self.outcome.found.problem, self.rest))
        return near_misses(problem, answer, self.outcome.objective, names)

    def wish_prices(self) -> tuple[WishPrice, ...]:
        """What each wish in force makes the offer dearer by."""
        answer = self.outcome.found.answer
        if answer is None:
            return ()
        return wish_prices(
            self.problem, self.brief, self.proofs.steer, self.proofs.market, answer, self.outcome.objective
        )

    def freed(self) -> tuple[tuple[Said, Problem], ...]:
        """The problem without each wish that leaves options out."""
        return freed_problems(self.whole, self.brief, self.proofs.steer, self.proofs.market)

    def whole(self, brief: Brief, steer: Steer) -> Problem:
        """As :meth:`problem`, with options too that are short of what is asked."""
        return self.problem(brief, steer, short=True)

    def problem(self, brief: Brief, steer: Steer, short: bool = False) -> Problem:
        """The programme of a Brief and a steering, in the room of this offer; pins and bans move no need."""
        found, mine = self.outcome.found, self.brief
        needs, use = found.needs, found.use
        wishes = brief.wishes.model_copy(update={"pinned": mine.wishes.pinned, "banned": mine.wishes.banned})
        if wishes != mine.wishes or brief.kept != mine.kept or brief.vehicle is not mine.vehicle:
            needs, use = asked_of(brief, replace(found.system, brief=brief))
        return self._left(self.proofs.options.problem(brief, needs, use, self.rest, steer, short))

    def _rest(self) -> Rest:
        """What the bill has beside the options, at least as much as was found, so that limits bind all the same."""
        asked, proof, answer = self.tried.rest, self.outcome.proof, self.outcome.found.answer
        if proof is None or answer is None or not proof.holds:
            return asked
        found = rest_of(answer, proof, self.proofs.market)
        return Rest(max(asked.price, found.price), max(asked.mass_kg, found.mass_kg))

    def _left(self, problem: Problem) -> Problem:
        """Without what the proof ruled out."""
        ruled_out = self.tried.without
        if not ruled_out:
            return problem
        return replace(problem, options=tuple(o for o in problem.options if o.key not in ruled_out))


def beside(problem: Problem, rest: Rest) -> Problem:
    """The same problem with so much beside its options towards budget and mass."""
    counts = {"budget": rest.price, "mass_kg": rest.mass_kg}
    rows = tuple(
        replace(row, most=row.most + row.beside - counts[row.name], beside=counts[row.name])
        if row.name in counts and row.most < math.inf
        else row
        for row in problem.rows
    )
    return replace(problem, rows=rows)
