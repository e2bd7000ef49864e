"""Runners-up, against plain enumeration without the part."""

from __future__ import annotations

import pytest
from hypothesis import assume, event, given, settings

from quoting.sizing.brief_choosing import Pick
from quoting.sizing.selecting.making import beside
from quoting.sizing.selecting.near_misses import amount, moved, near_misses
from quoting.sizing.selecting.options import Rest
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


def test_a_runner_up_is_never_what_was_tried_and_fell_short() -> None:
    """By hand: the small bank is cheaper, but its whole bill was not; of a dearer system the runner-up is the next."""
    options = tuple(
        Option(f"battery:{key}", ("battery",), (Pick(role="battery", part=key),), price, price, 1.0, {"ah": 100.0})
        for key, price in (("small", 300.0), ("taken", 500.0), ("next", 520.0), ("large", 800.0))
    )
    problem = Problem(("battery",), options, (Row("ah", "need", least=90.0),))
    answer = Answer((options[1],), 500.0, 300.0, True)

    (found,) = near_misses(problem, answer, "price")

    assert (found.instead, found.more) == ("next", "20.00")


def test_limits_of_runners_up_count_the_rest_of_the_bill() -> None:
    """By hand: 10 kg may be; the bill weighs 4 kg beside the options, so the heavy bank of 7 kg is no runner-up."""
    masses = {"taken": (5.0, 300.0), "heavy": (7.0, 310.0), "light": (3.0, 400.0)}
    options = tuple(
        Option(f"battery:{key}", ("battery",), (Pick(role="battery", part=key),), price, price, kg, {"mass_kg": kg})
        for key, (kg, price) in masses.items()
    )
    problem = Problem(("battery",), options, (Row("mass_kg", "limit", most=10.0, scale=10.0),))
    answer = Answer((options[0],), 300.0, 300.0, True)

    (alone,) = near_misses(problem, answer, "price")
    (beside_all,) = near_misses(beside(problem, Rest(mass_kg=4.0)), answer, "price")

    assert (alone.instead, beside_all.instead) == ("heavy", "light")
    assert beside(beside(problem, Rest(mass_kg=4.0)), Rest()) == problem
