"""The solver's answers: the first best one, whatever is left out before, in whatever order the options come."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, get_args

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.sizing.brief_choosing import Objective, Pick
from quoting.sizing.selecting.dominance import reduced
from quoting.sizing.selecting.matrices import PER_UNIT, Matrices
from quoting.sizing.selecting.problem import Option, Problem, Row
from quoting.sizing.selecting.solving import OutOfTime, Programme, WrongAnswer, meets, solve
from tests.quoting.sizing.selecting import brute
from tests.quoting.sizing.selecting.small_problems import problems

OBJECTIVES: tuple[Objective, ...] = get_args(Objective)


def option(
    key: str, fills: Sequence[str] = ("bank",), price: float = 1.0, mass_kg: float = 1.0, **gives: float
) -> Option:
    return Option(key, tuple(fills), (Pick(role="battery", part=key),), price, price, mass_kg, gives)


def keys_of(answer: Any) -> tuple[str, ...] | None:
    return None if answer is None else tuple(sorted(o.key for o in answer.options))


@settings(max_examples=120, deadline=None)
@given(problem=problems(), objective=st.sampled_from(OBJECTIVES), data=st.data())
def test_answer_is_the_first_best_with_and_without_what_is_left_out_before(
    problem: Problem, objective: Objective, data: st.DataObject
) -> None:
    """Equal to plain enumeration, ties included."""
    without = data.draw(st.sets(st.sampled_from([o.key for o in problem.options]), max_size=2))
    best = brute.best(problem, objective, without)

    found = solve(problem, objective, without)
    plain = solve(problem, objective, without, dominance=False)

    assert keys_of(found) == keys_of(plain) == (None if best is None else tuple(o.key for o in best))
    if found is not None and best is not None:
        assert found.objective == pytest.approx(brute.value(best, objective), abs=1e-9)
        assert found.optimal
        assert found.bound <= found.objective + 1e-6
        assert meets(problem, found.options)


@settings(max_examples=60, deadline=None)
@given(problem=problems(), objective=st.sampled_from(OBJECTIVES))
def test_what_is_left_out_is_in_no_first_best_answer(problem: Problem, objective: Objective) -> None:
    """The reduced programme keeps the first best answer, and has none where there is none."""
    matrices = Matrices.of(problem)

    left = reduced(matrices, matrices.costs(objective))
    best = brute.best(problem, objective)

    if best is not None:
        assert left is not None
        assert {o.key for o in best} <= {o.key for o in left.matrices.options}
    if left is None:
        assert best is None


@settings(max_examples=40, deadline=None)
@given(problem=problems(), data=st.data())
def test_order_of_options_and_rows_moves_nothing(problem: Problem, data: st.DataObject) -> None:
    mixed = replace(
        problem,
        options=tuple(data.draw(st.permutations(problem.options))),
        rows=tuple(data.draw(st.permutations(problem.rows))),
    )

    assert keys_of(solve(problem, "price")) == keys_of(solve(mixed, "price"))


@settings(max_examples=40, deadline=None)
@given(problem=problems(), objective=st.sampled_from(OBJECTIVES))
def test_banning_what_was_taken_never_makes_it_better(problem: Problem, objective: Objective) -> None:
    """What the winner had dominated comes back once the winner is out."""
    programme = Programme(problem)
    first = programme.solve(objective)
    if first is None:
        return

    for taken in first.options:
        second = programme.solve(objective, without=(taken.key,))
        best = brute.best(problem, objective, (taken.key,))
        assert keys_of(second) == (None if best is None else tuple(o.key for o in best))
        assert second is None or second.objective >= first.objective


def test_equal_prices_go_to_the_lighter_then_to_the_first_key() -> None:
    options = (
        option("c", price=5.0, mass_kg=2.0),
        option("b", price=5.0),
        option("a", price=5.0),
        option("d", price=6.0),
    )

    found = solve(Problem(("bank",), options, ()), "price")

    assert keys_of(found) == ("a",)


def test_ties_over_several_groups_are_settled_by_all_keys() -> None:
    """Fifty pairs that cost the same: more than one question to the solver, and the first keys of all."""
    groups = tuple(f"g{i:02d}" for i in range(50))
    options = [option(f"{g}-{n}", (g,), price=2.0) for g in groups for n in ("b", "a")]
    # a row in which every first key helps no more than the second, so that none is dominated by what it gives
    rows = (Row("some", "need", least=25.0),)
    options = [replace(o, gives={"some": 1.0 if o.key.endswith("b") else 0.0}) for o in options]

    found = solve(Problem(groups, tuple(options), rows), "price")

    assert found is not None
    assert Counter(o.key[-1] for o in found.options) == {"a": 25, "b": 25}
    assert [o.key[-1] for o in sorted(found.options, key=lambda o: o.key)] == ["a"] * 25 + ["b"] * 25


def test_a_part_that_does_two_things_is_weighed_against_two_parts() -> None:
    both = option("both", ("monitor", "switching"), price=7.0)
    apart = (option("m", ("monitor",), price=3.0), option("s", ("switching",), price=5.0))
    groups = ("monitor", "switching")

    assert keys_of(solve(Problem(groups, (both, *apart), ()), "price")) == ("both",)
    dear = replace(both, price=8.5)
    assert keys_of(solve(Problem(groups, (dear, *apart), ()), "price")) == ("m", "s")


def test_what_is_on_the_shelf_goes_before_as_far_as_the_premium() -> None:
    waits, there = replace(option("waits", price=100.0), waits=True), option("there", price=108.0)
    problem = Problem(("bank",), (waits, there), ())

    assert keys_of(solve(problem, "price")) == ("waits",)
    assert keys_of(solve(replace(problem, premium_ratio=0.1), "price")) == ("there",)
    assert keys_of(solve(replace(problem, premium_ratio=0.07), "price")) == ("waits",)
    found = solve(replace(problem, premium_ratio=0.1), "price")
    assert found is not None
    assert found.price == 108.0


def test_no_answer_is_told_from_no_time() -> None:
    """A group without an option and a row that nothing meets have none; a solver without time raises."""
    small = option("small", ah=50.0)
    ask = Row("ah", "need", least=100.0)
    assert solve(Problem(("bank", "other"), (small,), ()), "price") is None
    assert solve(Problem(("bank",), (small,), (ask,)), "price") is None
    assert solve(Problem((), (), ()), "price") is not None


def hard_problem(groups: int = 30, each: int = 20) -> Problem:
    """Many sums that nearly meet: an equality over weights that leaves much to try."""
    names = tuple(f"g{i}" for i in range(groups))
    options = tuple(
        option(f"{g}-{n}", (g,), price=float((i * 7919 + n * 104729) % 1009), w=float((i * 31 + n * 977) % 499))
        for i, g in enumerate(names)
        for n in range(each)
    )
    return Problem(names, options, (Row("w", "fit", 4321.0, 4321.0),))


def test_a_time_limit_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """What was found so far is given as not proved, with the bound; nothing found at all raises."""
    import scipy.optimize

    whole = scipy.optimize.milp
    problem = hard_problem(4, 5)
    proved = solve(replace(problem, rows=()), "price")
    assert proved is not None

    def stopped(*args: Any, **options: Any) -> Any:
        said = whole(*args, **options)
        said.status, said.mip_dual_bound = 1, said.fun - 3.0
        return said

    monkeypatch.setattr(scipy.optimize, "milp", stopped)
    found = solve(replace(problem, rows=()), "price")
    assert found is not None
    assert not found.optimal
    assert found.bound == pytest.approx(found.objective - 3.0)

    def nothing(*args: Any, **options: Any) -> Any:
        said = whole(*args, **options)
        said.status, said.x = 1, None
        return said

    monkeypatch.setattr(scipy.optimize, "milp", nothing)
    with pytest.raises(OutOfTime, match=r"no answer within 20 s among \d+ options"):
        solve(replace(problem, rows=()), "price")


def test_an_answer_that_breaks_a_row_is_never_given(monkeypatch: pytest.MonkeyPatch) -> None:
    import scipy.optimize

    options = (option("a", ah=1.0), option("b", ah=2.0), option("k", ("load",), ah=0.5), option("l", ("load",), ah=1.5))
    problem = Problem(("bank", "load"), options, (Row("ah", "need", 2.5),))
    whole = scipy.optimize.milp

    def wrong(*args: Any, **options: Any) -> Any:
        said = whole(*args, **options)
        said.x = np.ones_like(said.x)
        return said

    monkeypatch.setattr(scipy.optimize, "milp", wrong)
    with pytest.raises(WrongAnswer):
        solve(problem, "price", dominance=False)


def test_what_only_the_solvers_tolerance_lets_through_is_put_aside() -> None:
    """A sum that misses by 1e-8 is within HiGHS's tolerance and not within ours; the dearer system is the answer."""
    near = (option("a", ah=1.0 - 1e-8, price=1.0), option("l", ("load",), ah=1.0, price=1.0))
    sure = (option("b", ah=1.5, price=3.0), option("k", ("load",), ah=1.0 - 2e-8, price=1.5))

    found = solve(Problem(("bank", "load"), (*near, *sure), (Row("ah", "need", 2.0),)), "price")

    assert keys_of(found) == ("b", "l")


def test_the_solver_says_nothing_on_the_way(capfd: pytest.CaptureFixture[str]) -> None:
    solve(hard_problem(6, 8), "price")

    assert capfd.readouterr() == ("", "")


def test_two_options_of_one_key_are_refused() -> None:
    with pytest.raises(ValueError, match="two options have the key 'a'"):
        solve(Problem(("bank",), (option("a"), option("a", price=2.0)), ()), "price")


def test_money_is_whole_steps() -> None:
    """A tenth of a cent is the smallest price; a premium is rounded to a hundredth of one."""
    problem = Problem(("bank",), (option("a", price=0.1 + 0.2), option("b", price=0.3)), ())

    matrices = Matrices.of(problem)

    assert list(matrices.costs("price")) == [round(0.3 * PER_UNIT)] * 2
    assert keys_of(solve(problem, "price")) == ("a",)


@settings(max_examples=30, deadline=None)
@given(problem=problems(), objective=st.sampled_from(OBJECTIVES))
def test_bound_and_objective_are_those_of_the_bare_solver(problem: Problem, objective: Objective) -> None:
    """The same programme, whole, put to HiGHS as it stands."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    matrices = Matrices.of(problem)
    rows = LinearConstraint(
        np.vstack([matrices.fills.astype(float), matrices.gives]),
        np.concatenate([np.ones(len(problem.groups)), matrices.least]),
        np.concatenate([np.ones(len(problem.groups)), matrices.most]),
    )
    bare = milp(matrices.costs(objective) / PER_UNIT, constraints=rows, integrality=np.ones(len(matrices.options)),
                bounds=Bounds(0, 1), options={"mip_rel_gap": 0.0})  # fmt: skip

    found = solve(problem, objective)

    assert (found is None) == (bare.status == 2)
    if found is not None:
        assert found.objective == pytest.approx(bare.fun, abs=1e-6)
        assert math.isfinite(found.bound)


def test_no_time_for_the_ties_still_gives_the_best(monkeypatch: pytest.MonkeyPatch) -> None:
    """Which of equals is taken is worth nothing: the first that was proved best is the answer."""
    import scipy.optimize

    whole, calls = scipy.optimize.milp, []

    def slow(*args: Any, **options: Any) -> Any:
        said = whole(*args, **options)
        calls.append(said.status)
        if len(calls) > 1:
            said.status, said.x = 1, None
        return said

    monkeypatch.setattr(scipy.optimize, "milp", slow)
    found = solve(replace(hard_problem(4, 5), rows=()), "price", dominance=False)

    assert len(calls) == 2
    assert found is not None
    assert found.optimal
