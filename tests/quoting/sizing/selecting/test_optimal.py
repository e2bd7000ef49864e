"""Every answer is the best there is: against enumeration of the programme, and of whole systems on paper.

The first brute force (:mod:`brute`) knows the programme and nothing of a solver; the second (:mod:`every_system` and
:mod:`judged`) knows needs and parts and nothing of the programme. Values must be equal always, and the very options
where the tie order settles them.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, event, given, settings

from quoting.sizing.brief_choosing import Objective
from quoting.sizing.selecting.options import problem_of
from quoting.sizing.selecting.problem import Answer
from quoting.sizing.selecting.records import Steer
from quoting.sizing.selecting.solving import solve
from tests.quoting.sizing.selecting import brute
from tests.quoting.sizing.selecting.every_system import best_system, every_system, faults_of, value_of
from tests.quoting.sizing.selecting.judged import Judge, Placed
from tests.quoting.sizing.selecting.small_catalogues import WISHES, Case, case_at, cases
from tests.quoting.sizing.selecting.small_problems import problems

OBJECTIVES: tuple[Objective, ...] = ("price", "cost_per_year", "mass")
SLOW = (HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much)


@settings(max_examples=120, deadline=None)
@given(problems())
def test_an_answer_is_the_first_that_enumeration_finds(problem):
    for objective in OBJECTIVES:
        found, best = solve(problem, objective), brute.best(problem, objective)

        assert (found is None) == (best is None)
        if found is not None and best is not None:
            assert sorted(o.key for o in found.options) == [o.key for o in best]
            assert found.objective == pytest.approx(brute.value(best, objective))
            assert found.optimal
            assert found.bound == pytest.approx(found.objective)


def system_of(answer: Answer) -> dict[str, Placed]:
    """An answer as a workshop would write it down."""
    system = {}
    for option in answer.options:
        for pick in (*option.picks, *option.kept):
            sources = option.fills if pick.role == "multi_charger" else ()
            system[pick.role] = Placed(pick.part, pick.quantity, pick.series, sources, bool(option.kept))
    return system


def check(case: Case) -> list[str]:
    """Hold the choice for each objective against paper; the sorts of case that it was."""
    judge = Judge(case)
    problem = problem_of(case.brief, case.needs, case.market, case.steer)
    seen: list[str] = []
    for objective in OBJECTIVES:
        answer, best = solve(problem, objective), best_system(judge, objective)

        assert (answer is None) == (best is None), best or system_of(answer)
        if answer is None or best is None:
            continue
        system = system_of(answer)
        least = value_of(judge, best, objective)
        assert faults_of(judge, system) == []
        assert judge.within(system)
        assert value_of(judge, system, objective) == pytest.approx(least, abs=1e-3)
        assert answer.objective == pytest.approx(least, abs=1e-3)
        assert judge.mass_of(system) <= judge.mass_of(best) + 1e-6
        if objective == "price":
            seen = sorts_of(judge, system, least)
    return seen or ["none"]


def sorts_of(judge: Judge, system: dict[str, Placed], least: float) -> list[str]:
    """What is special about a case that is met, and about its answer."""
    within = [s for s in every_system(judge) if judge.within(s) and not faults_of(judge, s)]
    sorts = {
        "tie": sum(abs(judge.counted(s) - least) < 0.01 for s in within) > 1,
        "several batteries": system["battery"].count > 1,
        "in series": system["battery"].series > 1,
        "several panels": "panel" in system and system["panel"].count > 1,
        "several inputs": "multi_charger" in system,
        "kept": any(one.kept for one in system.values()),
        "pinned": any(one.part in judge.brief.wishes.pinned for one in system.values()),
        "held by the alternator": "engine" in judge.sources and is_held(judge, system),
        "another chemistry": judge.specs[system["battery"].part]["chemistry"] != "lifepo4",
        "shade": judge.needs.solar is not None and judge.needs.solar.by_stop[0][1] > 0,
        "wish decides": decides(judge, least),
    }
    return ["met", *(name for name, is_so in sorts.items() if is_so)]


def is_held(judge: Judge, system: dict[str, Placed]) -> bool:
    return judge.engine_a(judge.serving(system)["engine"]) < (judge.needs.engine_a or 0)


def decides(judge: Judge, least: float) -> bool:
    """Say whether without any wish the choice would come to something else."""
    bare = judge.brief.wishes.model_copy(update={"pinned": (), "banned": ()})
    brief = judge.brief.model_copy(update={"wishes": bare, "kept": ()})
    free = Judge(replace(judge.case, brief=brief, steer=Steer()))
    best = best_system(free, "price")
    return best is not None and abs(free.price_of(best) - least) > 0.01


@pytest.mark.parametrize("wish", WISHES)
def test_a_choice_is_the_best_of_every_system_on_paper(wish):
    """New cases in every run."""

    @settings(max_examples=12, deadline=None, suppress_health_check=SLOW)
    @given(cases(wish))
    def run(case: Case) -> None:
        for sort in check(case):
            event(sort)

    run()


def test_the_sorts_of_case_that_are_held_against_paper():
    """The same over cases that do not change: each sort comes often enough to be tried."""
    seen: Counter[str] = Counter()
    for wish in WISHES:
        for number in range(40):
            seen.update(check(case_at(number, wish)))

    few = {sort: seen[sort] for sort, least in LEAST.items() if seen[sort] < least}
    assert few == {}, seen


LEAST = {
    "none": 150, "met": 60, "tie": 12, "several batteries": 25, "in series": 4, "several panels": 12,
    "several inputs": 3, "kept": 4, "pinned": 3, "held by the alternator": 6, "another chemistry": 7, "shade": 3,
    "wish decides": 12,
}  # fmt: skip
"""Cases of each sort at least, among 360."""
