"""Choosing from catalogues of 300, 1,000 and 5,000 components, as ratios to the bare solver on the same matrices.

Run with ``pytest -s tests/bench/test_selecting.py -p no:cacheprovider``; CI does not. No seconds are asserted.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Any, get_args

import numpy as np
import pytest

from quoting.sizing.appraise import appraise, once_through
from quoting.sizing.brief import Brief
from quoting.sizing.brief_choosing import Objective
from quoting.sizing.needs import Needs
from quoting.sizing.parts import Catalogue
from quoting.sizing.selecting.dominance import reduced
from quoting.sizing.selecting.matrices import PER_UNIT, Matrices
from quoting.sizing.selecting.options import Use, everything, steered
from quoting.sizing.selecting.problem import Problem
from quoting.sizing.selecting.records import Market, Steer
from quoting.sizing.selecting.select import select
from quoting.sizing.selecting.solving import Programme, solve
from quoting.sizing.system import assemble
from tests.bench.test_appraise import median_s
from tests.quoting.sizing.library_case import brief as library_brief
from tests.quoting.sizing.selecting.many_parts import market_of, with_many

SIZES = (300, 1000, 5000)
USE = Use(day_wh=2400.0, cells_c=25.0)


@dataclass(frozen=True, slots=True)
class Job:
    """One job with a catalogue of some size."""

    brief: Brief
    needs: Needs
    market: Market

    def problem(self) -> Problem:
        """As the search for an offer makes it: without what is short of the needs by itself."""
        every = everything(self.brief, self.needs, self.market, USE, short=False)
        return steered(every, self.brief, self.market, Steer())


def job(chosen_among: int) -> Job:
    """The medium job of the library; nothing's own draw is counted, so that all sizes are asked the same."""
    brief = with_many(library_brief(12, "lifepo4", "medium"), chosen_among)
    needs = once_through(brief, assemble(brief, (), Catalogue.of(brief)))[2]
    return Job(brief, needs, market_of(brief))


def bare(matrices: Matrices, gives: Any, rows: Any, costs: Any) -> Any:
    """The solver by itself, on matrices that are there already."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    ones = np.ones(len(matrices.fills))
    held = LinearConstraint(
        np.vstack([matrices.fills.astype(float), gives[rows]]),
        np.concatenate([ones, matrices.least[rows]]),
        np.concatenate([ones, matrices.most[rows]]),
    )
    return milp(costs / PER_UNIT, constraints=held, integrality=np.ones(len(costs)), bounds=Bounds(0, 1),
                options={"mip_rel_gap": 0.0, "time_limit": 60.0})  # fmt: skip


@pytest.mark.parametrize("chosen_among", SIZES)
def test_choosing_against_the_bare_solver(chosen_among: int) -> None:
    one = job(chosen_among)
    problem = one.problem()
    matrices = Matrices.of(problem)
    print(f"\n{chosen_among} components to choose among: {len(problem.options)} options, {len(problem.rows)} rows")
    made = median_s(one.problem, 5)
    answer = solve(problem, "price")
    assert answer is not None
    picked = one.brief.model_copy(update={"picks": answer.picks})
    proof = median_s(lambda: appraise(picked), 3)
    print(f"  making the programme {made * 1000:.0f} ms here, {made / proof:.2f} of one proof of its answer")
    for objective in get_args(Objective):
        _compare(problem, matrices, objective)


def _compare(problem: Problem, matrices: Matrices, objective: Objective) -> None:
    costs = matrices.costs(objective)
    left = reduced(matrices, costs)
    answer = solve(problem, objective)
    assert left is not None
    assert answer is not None
    every = np.ones(len(problem.rows), dtype=bool)
    full = median_s(lambda: bare(matrices, matrices.gives, every, costs), 3)
    small = median_s(lambda: bare(left.matrices, left.gives, left.rows, left.costs), 5)
    ours = median_s(lambda: Programme(problem).solve(objective), 5)
    taking = median_s(lambda: reduced(matrices, costs), 5)
    print(
        f"  {objective:>13}: {ours * 1000:.0f} ms here; {answer.size[0]} of the options are put to the solver;"
        f" {ours / full:.2f} x the bare solver on all, {ours / small:.2f} x on what is left;"
        f" {taking / ours:.2f} of it is leaving out"
    )
    assert bare(matrices, matrices.gives, every, costs).fun == pytest.approx(answer.objective, abs=1e-6)
    assert answer.optimal
    assert answer.bound == pytest.approx(answer.objective)


@pytest.mark.parametrize("chosen_among", SIZES)
def test_three_proved_offers_against_the_bare_solver_and_one_appraisal(chosen_among: int) -> None:
    """Everything: search, proofs by circuits and simulation, runners-up, prices of wishes."""
    one = job(chosen_among)
    made = select(one.brief, one.market, Steer())
    record = made.record
    proofs = len(made.appraisals)
    rounds = sum(offer.solved.rounds for offer in record.offers)
    repeats = 3 if chosen_among <= 1000 else 1
    whole = median_s(lambda: select(one.brief, one.market, Steer()), repeats)
    picked = next(iter(made.briefs.values()))
    proof = median_s(lambda: appraise(picked.model_copy()), 3)
    problem = one.problem()
    matrices = Matrices.of(problem)
    every = np.ones(len(problem.rows), dtype=bool)
    alone = {o: matrices.costs(o) for o in {offer.objective for offer in record.offers}}
    calls = {o: median_s(partial(bare, matrices, matrices.gives, every, costs), 3) for o, costs in alone.items()}
    full = sum(calls[offer.objective] for offer in record.offers)
    print(f"\n{chosen_among} components: {len(record.offers)} offers, {proofs} systems worked through, {rounds} rounds")
    print(f"  {whole:.2f} s here: {whole / full:.1f} x one bare call for each offer")
    print(f"  {whole / (rounds * full / 3):.2f} x one bare call for each round of the search")
    print(f"  {whole / proof:.1f} x one appraisal; the proofs are {proofs * proof / whole:.2f} of it")
    assert [offer.offer for offer in record.offers] == ["lean", "steady", "roomy"]
    assert all(offer.solved.optimal for offer in record.offers)
