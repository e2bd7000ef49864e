"""Runners-up, against plain enumeration without the part."""

from __future__ import annotations

import pytest
from hypothesis import assume, event, given, settings

from quoting.sizing.brief_choosing import Pick
from quoting.sizing.selecting.near_misses import amount, moved, near_misses
from quoting.sizing.selecting.problem import Answer, Option, Problem, Row
from quoting.sizing.selecting.solving import solve
from tests.quoting.sizing.selecting import brute
from tests.quoting.sizing.selecting.small_problems import problems


@pytest.mark.parametrize("objective", ["price", "cost_per_year", "mass"])
def test_a_runner_up_is_the_best_system_without_the_part(objective):
    @settings(max_examples=50, deadline=None)
    @given(problems())
    def run(problem):
        answer = solve(problem, objective)
        assume(answer is not None)

        found = near_misses(problem, answer, objective, {"battery-0": "Larkham 0"})

        assert [(one.role, one.part) for one in found] == [(p.role, p.part) for p in answer.picks]
        for one in found:
            banned = {o.key for o in problem.options if any((p.role, p.part) == (one.role, one.part) for p in o.picks)}
            best = brute.best(problem, objective, banned)
            event("nothing else" if best is None else "a runner-up")
            assert (one.instead == "") == (best is None)
            if best is not None:
                assert one.instead in {p.part for o in best for p in o.picks}
                assert float(one.more) == pytest.approx(brute.value(best, "price") - answer.price)
                assert one.more_mass_kg == pytest.approx(brute.value(best, "mass") - answer.mass_kg)

    run()


def option(key: str, fills: tuple[str, ...], role: str, price: float, **gives: float) -> Option:
    return Option(key, fills, (Pick(role=role, part=key),), price, price / 10, 1.0, gives)


SOURCES = Problem(
    ("engine", "solar"),
    (
        option("E", ("engine",), "engine_charger", 300),
        option("S", ("solar",), "solar_controller", 200),
        option("T", ("solar",), "solar_controller", 260),
        option("X", ("engine", "solar"), "multi_charger", 540),
    ),
    (),
)


def test_single_chargers_may_be_followed_by_one_with_several_inputs():
    """E and S are 500. Without E only X serves the engine: 40 more. Without S, T: 60 more; X: 40 more."""
    answer = solve(SOURCES, "price")

    engine, solar = near_misses(SOURCES, answer, "price", {"X": "Pellow X"})

    assert (engine.instead, engine.instead_name, engine.more, engine.moves) == (
        "X",
        "Pellow X",
        "40.00",
        ("solar_controller",),
    )
    assert (solar.instead, solar.more, solar.moves) == ("X", "40.00", ("engine_charger",))


def test_a_charger_with_several_inputs_may_be_followed_by_single_ones():
    dear = [option("E", ("engine",), "engine_charger", 400) if o.key == "E" else o for o in SOURCES.options]
    problem = Problem(SOURCES.groups, tuple(dear), ())
    answer = solve(problem, "price")

    (found,) = near_misses(problem, answer, "price")

    assert (found.role, found.instead, found.more) == ("multi_charger", "E", "60.00")
    assert found.moves == ("solar_controller",)


def test_the_same_model_in_another_number_is_not_a_runner_up():
    """Two of the small battery would do, but it is the small one that is without."""
    two = Option("2", ("battery",), (Pick(role="battery", part="small", quantity=2),), 500, 50, 20, {"ah": 200.0})
    one = Option("1", ("battery",), (Pick(role="battery", part="small", quantity=1),), 250, 25, 10, {"ah": 100.0})
    large = Option("L", ("battery",), (Pick(role="battery", part="large"),), 800, 80, 22, {"ah": 220.0})
    problem = Problem(("battery",), (two, one, large), (Row("ah", "need", 150.0),))

    (found,) = near_misses(problem, solve(problem, "price"), "price")

    assert (found.part, found.quantity, found.instead, found.more) == ("small", 2, "large", "300.00")
    assert found.more_mass_kg == 2.0


def test_what_is_kept_has_no_runner_up():
    there = Option("k", ("battery",), (), 0, 0, 0, kept=(Pick(role="battery", part="old"),))
    problem = Problem(("battery",), (there,), ())

    assert near_misses(problem, solve(problem, "price"), "price") == ()


def test_parts_that_move_are_those_whose_number_or_layout_differs_too():
    one = Answer((option("a", ("battery",), "battery", 1),), 1, 1, True)
    other = Answer((Option("a2", ("battery",), (Pick(role="battery", part="a", quantity=2),), 2, 1, 1),), 2, 2, True)

    assert moved(one, one) == ()
    assert moved(one, other) == ("battery",)


@pytest.mark.parametrize(
    ("price", "text"), [(12.345, "12.35"), (-0.001, "0.00"), (0, "0.00"), (-7.5, "-7.50"), (1e-7, "0.00")]
)
def test_an_amount_is_rounded_once_to_the_cent(price, text):
    assert amount(price) == text
