"""What cannot be met together, and the smallest change, against plain enumeration."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from quoting.sizing.brief_choosing import Pick
from quoting.sizing.selecting.clashing import WISH, clash, with_wishes
from quoting.sizing.selecting.options import problem_of
from quoting.sizing.selecting.problem import Option, Problem, Row
from quoting.sizing.selecting.records import Miss, Said, Steer
from quoting.sizing.selecting.searching import began
from quoting.sizing.selecting.settling import asked_of
from quoting.sizing.selecting.wish_prices import freed_problems
from tests.quoting.sizing.library_case import brief as library_brief
from tests.quoting.sizing.selecting import brute
from tests.quoting.sizing.selecting.many_parts import market_of
from tests.quoting.sizing.selecting.small_problems import problem_at, problems

QUICK = settings(
    max_examples=70, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much]
)


def only(problem: Problem, names: set[str]) -> Problem:
    """The problem with its fit rows and those."""
    return replace(problem, rows=tuple(r for r in problem.rows if r.sort == "fit" or r.name in names))


def without_group(problem: Problem, groups: set[str]) -> Problem:
    """The problem in which only those groups must be filled; the others may be, by an option that does nothing else."""
    free = [Option(f"~{g}", (g,), (), 0.0, 0.0, 0.0) for g in problem.groups if g not in groups]
    return replace(problem, options=(*problem.options, *free))


def changed(problem: Problem, change: tuple[Miss, ...], share: float = 1.0) -> Problem:
    """The problem after a change, or after so much of it."""
    rows = []
    by_code = {miss.code: miss for miss in change}
    for row in problem.rows:
        if row.name in by_code:
            to = row.least if math.isfinite(row.least) else row.most
            to += share * (by_code[row.name].best - to)
            row = replace(row, least=to) if math.isfinite(row.least) else replace(row, most=to)
        rows.append(row)
    return replace(problem, rows=tuple(rows))


def meets(problem: Problem) -> bool:
    return brute.best(problem, "price") is not None


@QUICK
@given(problems())
def test_leaving_any_one_out_makes_the_rest_possible(problem):
    found = clash(problem)

    if meets(problem):
        event("has an answer")
        assert found.together == found.change == ()
        return
    codes = {miss.code for miss in found.together}
    groups = {code.removeprefix("group:") for code in codes if code.startswith("group:")}
    if groups:
        event("parts apart")
        bare = only(problem, set())
        assert not meets(without_group(bare, groups))
        assert all(meets(without_group(bare, groups - {g})) for g in groups)
        return
    event(f"{len(codes)} together")
    assert codes
    assert not meets(only(problem, codes))
    assert all(meets(only(problem, codes - {code})) for code in codes)


@QUICK
@given(problems())
def test_each_is_told_with_the_best_there_is_while_the_others_hold(problem):
    rows = {row.name: row for row in problem.rows}
    together = [miss for miss in clash(problem).together if miss.code in rows]

    for miss in together:
        others = only(problem, {m.code for m in together} - {miss.code})
        totals = [float(brute.total(rows[miss.code], s)) for s in brute.all_best(others, "price")]
        least = math.isfinite(rows[miss.code].least)
        assert miss.best == pytest.approx(max(totals) if least else min(totals))
        assert miss.asked == (rows[miss.code].least if least else rows[miss.code].most)
        assert miss.short_by == pytest.approx(abs(miss.asked - miss.best))
        assert miss.unit == rows[miss.code].unit


@QUICK
@given(problems())
def test_the_change_is_the_smallest_that_will_do(problem):
    found = clash(problem)
    smallest = brute.least_give(problem)
    if not found.together or smallest is None:
        return
    rows = {row.name: row for row in problem.rows}

    given_up = math.fsum(miss.short_by / rows[miss.code].scale for miss in found.change)
    assert given_up == pytest.approx(smallest)
    assert meets(changed(problem, found.change))
    assert not meets(changed(problem, found.change, share=0.99))


@QUICK
@given(problems())
def test_limits_alone_give_the_least_that_meets_every_need(problem):
    found = clash(problem)
    if not found.together or found.together[0].code.startswith("group:"):
        assert found.limits == ()
        return
    rows = {row.name: row for row in problem.rows}
    firm = replace(problem, rows=tuple(replace(r, sort="fit") if r.sort == "need" else r for r in problem.rows))

    smallest = brute.least_give(firm)

    mine = found.limits or (found.change if all(rows[m.code].sort == "limit" for m in found.change) else ())
    assert bool(mine) == (smallest is not None)
    if mine:
        assert math.fsum(miss.short_by / rows[miss.code].scale for miss in mine) == pytest.approx(smallest)
        assert meets(changed(problem, mine))


def test_the_sorts_of_clash_that_are_drawn():
    """Counted over a fixed run: each sort comes often enough that the tests above try it."""
    seen: Counter[str] = Counter()
    for number in range(120):
        codes = [miss.code for miss in clash(problem_at(number)).together]
        seen["none" if not codes else "groups" if codes[0].startswith("group:") else f"{len(codes)} rows"] += 1

    assert min(seen["none"], seen["1 rows"], seen["groups"]) >= 15, seen
    assert seen["2 rows"] >= 6, seen


def option(key: str, group: str, price: float, **gives: float) -> Option:
    pick = Pick(role="battery", part=key)
    return Option(key, (group,), (pick,), price, price / 10, 1.0, {**gives, "budget": price})


SMALL, LARGE = option("small", "battery", 300, capacity_ah=60), option("large", "battery", 900, capacity_ah=210)
BATTERIES = Problem(
    ("battery",),
    (SMALL, LARGE),
    (
        Row("capacity_ah", "need", least=180, unit="Ah", scale=180),
        Row("budget", "limit", most=800, unit="", scale=800),
    ),
)


def test_a_budget_against_a_capacity():
    """By hand: the large one is 100 over 800 (0.125); the small one 120 under 180 (0.667)."""
    found = clash(BATTERIES)

    assert found.together == (
        Miss(code="capacity_ah", asked=180, best=60, short_by=120, unit="Ah"),
        Miss(code="budget", asked=800, best=900, short_by=100, unit=""),
    )
    assert found.change == (Miss(code="budget", asked=800, best=900, short_by=100, unit=""),)


def test_a_limit_is_told_with_what_counts_towards_it_beside_the_options():
    """Cable and labour of 500 are on the bill anyway: the budget is told as the 1,300 it is, not as the 800 left."""
    budget = replace(BATTERIES.rows[1], beside=500.0)

    found = clash(replace(BATTERIES, rows=(BATTERIES.rows[0], budget)))

    assert found.change == (Miss(code="budget", asked=1300, best=1400, short_by=100, unit=""),)


def test_a_wish_that_leaves_the_only_fitting_part_out_is_named():
    """One that would bring nothing back is not."""
    ban, other = Said(code="banned", params={"name": "Middle"}), Said(code="banned", params={"name": "Tiny"})
    middle, tiny = option("middle", "battery", 700, capacity_ah=190), option("tiny", "battery", 50, capacity_ah=5)
    freed = [(other, replace(BATTERIES, options=(SMALL, LARGE, tiny))),
             (ban, replace(BATTERIES, options=(SMALL, LARGE, middle)))]  # fmt: skip

    found = clash(BATTERIES, freed)

    assert [miss.code for miss in found.together] == ["capacity_ah", "budget", WISH]
    assert found.together[2].wish == ban
    # 100 of 800 is less than a whole wish
    assert [miss.code for miss in found.change] == ["budget"]


def test_a_wish_is_given_up_where_that_is_less_than_the_rest():
    ban = Said(code="banned", params={"name": "Middle"})
    lone = replace(BATTERIES, options=(option("dear", "battery", 4000, capacity_ah=190),))
    freed = [(ban, replace(lone, options=(*lone.options, option("middle", "battery", 700, capacity_ah=190))))]

    found = clash(lone, freed)

    assert [(miss.code, miss.wish) for miss in found.change] == [(WISH, ban)]


def test_parts_that_do_not_go_together_are_told_as_groups():
    """A charger whose profile no battery has: no size can be changed to help."""
    charger = Option("c", ("mains_charger",), (), 10, 1, 1, {"profile": 1.0})
    rows = (Row("profile", "fit", 0, 0), Row("budget", "limit", most=5000, scale=5000))

    found = clash(Problem(("battery", "mains_charger"), (SMALL, LARGE, charger), rows))

    assert [miss.code for miss in found.together] == ["group:mains_charger"]
    assert [miss.code for miss in found.change] == ["group:mains_charger"]


def test_a_group_without_any_option_is_the_clash_and_its_needs_are_not_told_twice():
    rows = (*BATTERIES.rows[:1], Row("surge_w", "need", least=900, unit="W", scale=900))

    found = clash(Problem(("battery", "inverter"), (LARGE,), rows))

    assert [miss.code for miss in found.together] == ["group:inverter"]
    assert [miss.code for miss in found.change] == ["group:inverter"]


@settings(max_examples=40, deadline=None)
@given(problems(), st.data())
def test_wishes_count_whole_and_bring_back_only_what_they_alone_leave_out(problem, data):
    """Options are held off by two wishes, some by both; the change is never more than giving both up would be."""
    ways = {o.key: data.draw(st.sampled_from(("free", "free", "a", "b", "ab")), label=o.key) for o in problem.options}
    left = {w: replace(problem, options=tuple(o for o in problem.options if set(ways[o.key]) <= {*"fre", *w}))
            for w in ("", "a", "b")}  # fmt: skip
    freed = [(Said(code=w), left[w]) for w in ("b", "a")]

    whole, said = with_wishes(left[""], freed)
    found = clash(left[""], freed)

    assert {o.key for o in whole.options} == {key for key, way in ways.items() if way != "ab"}
    assert {one.code for one in said.values()} == {way for way in ways.values() if way in ("a", "b")}
    given_up = {miss.wish.code for miss in found.change if miss.wish}
    rows = {row.name: row for row in problem.rows}
    if meets(left[""]):
        assert found.change == ()
    elif not any(miss.code.startswith("group:") for miss in found.change):
        opened = replace(left[""], options=tuple(o for o in whole.options if ways[o.key] in {"free", *given_up}))
        assert meets(changed(opened, found.change))
        cost = math.fsum(1 if m.wish else m.short_by / rows[m.code].scale for m in found.change)
        bare = [brute.least_give(left[w]) for w in ("", "a", "b")]
        assert (
            cost
            <= min(math.inf if b is None else b + bool(w) for b, w in zip(bare, ("", "a", "b"), strict=True)) + 1e-6
        )


def test_another_chemistry_is_named_where_the_wished_one_is_not_to_be_had():
    """The library's medium system without a lithium battery on the shelf; its chargers have profiles for AGM, too."""
    whole = library_brief(12, "lifepo4", "medium")
    lithium = [p.key for p in whole.catalogue if p.spec.get("chemistry") == "lifepo4"]
    brief = whole.model_copy(update={"catalogue": tuple(p for p in whole.catalogue if p.key not in lithium)})
    market, steer = market_of(brief), Steer()

    def problem(asked, wished):
        needs, use = asked_of(asked, began(asked))
        return problem_of(asked, needs, market, wished, use=use)

    found = clash(problem(brief, steer), freed_problems(problem, brief, steer, market))

    assert [miss.code for miss in found.together] == [WISH]
    assert [miss.wish.code for miss in found.change if miss.wish] == ["chemistries"]
