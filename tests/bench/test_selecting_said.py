"""What is said about a choice, as ratios to one solve: runners-up, prices of wishes, what cannot be met together.

Run with ``pytest -s tests/bench/test_selecting_said.py -p no:cacheprovider``; CI does not. No seconds are asserted.
"""

from __future__ import annotations

from functools import partial

import pytest

from quoting.sizing.brief import Brief
from quoting.sizing.selecting.clashing import clash
from quoting.sizing.selecting.near_misses import near_misses
from quoting.sizing.selecting.options import everything, steered
from quoting.sizing.selecting.problem import Problem
from quoting.sizing.selecting.records import Steer
from quoting.sizing.selecting.solving import solve
from quoting.sizing.selecting.wish_prices import freed_problems, wish_prices
from tests.bench.test_appraise import median_s
from tests.bench.test_selecting import SIZES, USE, Job, job


def problem(one: Job, brief: Brief, steer: Steer) -> Problem:
    """Every option anew only where the Brief itself is another, as for an offer."""
    return steered(_everything(one, brief), brief, one.market, steer)


_made: dict[int, object] = {}


def _everything(one: Job, brief: Brief):
    if brief is not one.brief:
        return everything(brief, one.needs, one.market, USE)
    if id(brief) not in _made:
        _made.clear()
        _made[id(brief)] = everything(brief, one.needs, one.market, USE)
    return _made[id(brief)]


@pytest.mark.parametrize("chosen_among", SIZES)
def test_what_is_said_against_one_solve(chosen_among: int) -> None:
    one, steer = job(chosen_among), Steer(prefer_stock=True, budget="9000", most_mass_kg=400)
    whole, make = problem(one, one.brief, steer), partial(problem, one)
    answer = solve(whole, "price")
    assert answer is not None
    once = median_s(lambda: solve(whole, "price"), 5)
    print(f"\n{chosen_among} components to choose among: one solve {once * 1000:.0f} ms here")

    misses = near_misses(whole, answer, "price")
    took = median_s(lambda: near_misses(whole, answer, "price"), 3)
    print(f"  {len(misses)} runners-up: {took / once:.1f} solves")

    prices = wish_prices(make, one.brief, steer, one.market, answer, "price")
    took = median_s(lambda: wish_prices(make, one.brief, steer, one.market, answer, "price"), 3)
    print(f"  {len(prices)} prices of wishes: {took / once:.1f} solves")

    tight = Steer(budget="1500", most_mass_kg=30)
    freed = freed_problems(make, one.brief, tight, one.market)
    found = clash(problem(one, one.brief, tight), freed)
    took = median_s(lambda: clash(problem(one, one.brief, tight), freed), 1)
    print(f"  a clash of {len(found.together)}, {len(found.change)} to change: {took / once:.1f} solves")
    assert found.together
    assert len(misses) == len(answer.picks)
