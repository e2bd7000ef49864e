"""What wishes cost: against whole systems on paper, and by hand."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache, partial
from itertools import count, islice

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.sizing.brief import Brief
from quoting.sizing.brief_choosing import BatterySpace, Pick, RoofArea
from quoting.sizing.selecting.options import problem_of
from quoting.sizing.selecting.problem import Problem
from quoting.sizing.selecting.records import Market, Said, Steer
from quoting.sizing.selecting.solving import Programme, solve
from quoting.sizing.selecting.wish_prices import freed_problems, wish_prices
from quoting.sizing.selecting.wishes import in_force
from tests.quoting.sizing.selecting import brute
from tests.quoting.sizing.selecting.every_system import best_system
from tests.quoting.sizing.selecting.judged import Judge
from tests.quoting.sizing.selecting.small_catalogues import WISHES, Case, case_at
from tests.quoting.sizing.selecting.small_problems import problems


def make_problem(case: Case, brief: Brief, steer: Steer) -> Problem:
    """The needs stay: nothing of them hangs on the wishes that these cases have, but for the roof."""
    return problem_of(brief, case.needs, case.market, steer)


@lru_cache(maxsize=12)
def met(wish: str) -> tuple[Case, ...]:
    """Cases of a fixed run that have an answer."""
    return tuple(islice((case for case in (case_at(n, wish) for n in count()) if solved(case) is not None), 4))


def solved(case: Case, objective="price"):
    return solve(make_problem(case, case.brief, case.steer), objective)


@pytest.mark.parametrize("wish", [*WISHES, "wanted"])
def test_no_wish_makes_a_system_cheaper_but_what_is_kept(wish):
    """Each wish only takes away: the choice without it is as good or better, whatever there is least of."""
    for case in met(wish):
        for objective in ("price", "cost_per_year", "mass"):
            answer = solved(case, objective)
            prices = wish_prices(partial(make_problem, case), case.brief, case.steer, case.market, answer, objective)

            worse = {one.wish.code: one.worse for one in prices}
            assert all(by >= -1e-3 for code, by in worse.items() if code != "kept"), worse
            assert list(worse.values()) == sorted(worse.values(), reverse=True)
            assert all(one.more is not None for one in prices if one.wish.code != "kept")


@pytest.mark.parametrize(("wish", "code"), [("budget", "budget"), ("mass", "mass"), ("pinned", "pinned"),
                                            ("banned", "banned"), ("stock", "prefer_stock"), ("kept", "kept"),
                                            ("lead", "most_lead_days"), ("supplier", "supplier_banned")])  # fmt: skip
def test_a_wish_costs_what_the_best_system_without_it_is_cheaper(wish, code):
    """Against paper: the dearer of two systems that were both found by looking at every one."""
    for case in met(wish):
        answer = solved(case)
        prices = wish_prices(partial(make_problem, case), case.brief, case.steer, case.market, answer, "price")
        mine = [(freed, next(p for p in prices if p.wish == freed.wish))
                for freed in in_force(case.brief, case.steer, case.market) if freed.wish.code == code]  # fmt: skip
        assert mine
        for freed, price in mine:
            without = Judge(replace(case, brief=freed.brief, steer=freed.steer))
            best = best_system(without, "price")
            if best is None:  # only what is kept may be all there is
                assert (price.more, code) == (None, "kept")
            else:
                assert float(price.more) == pytest.approx(answer.price - without.price_of(best), abs=0.01)


def described(brief: Brief, steer: Steer, market: Market) -> dict[str, Said]:
    return {freed.wish.code: freed.wish for freed in in_force(brief, steer, market)}


BRIEF = case_at(0).brief
FREE = BRIEF.model_copy(
    update={
        "wishes": BRIEF.wishes.model_copy(update={"chemistries": ("lifepo4", "agm", "gel", "flooded")}),
        "vehicle": BRIEF.vehicle.model_copy(update={"roof_length_m": None, "roof_width_m": None}),
    }
)


def test_a_brief_without_wishes_has_none_in_force():
    assert in_force(FREE, Steer(), Market()) == ()


def test_every_wish_is_told_with_its_numbers_and_names():
    vehicle = FREE.vehicle.model_copy(
        update={
            "payload_left_kg": 120.0,
            "roof": (RoofArea(key="r", name="Roof", length_m=2, width_m=1),),
            "battery_spaces": (BatterySpace(key="b", name="Box", length_mm=400, width_mm=300, height_mm=300),),
        }
    )
    brief = FREE.model_copy(update={"vehicle": vehicle})
    market = Market(suppliers={"ashby": "Ashby Tools", "corrie": "Corrie"})
    steer = Steer(
        budget="2500.00", prefer_stock=True, most_lead_days=7, most_mass_kg=150, suppliers_banned=("ashby",),
        suppliers_wanted=("corrie",), swaps=(Pick(role="battery", part="B0", by_hand=True),),
    )  # fmt: skip

    said = {code: one.params for code, one in described(brief, steer, market).items()}

    assert said == {
        "swapped": {"name": "Model B0", "role": "battery"},
        "suppliers_wanted": {"names": "Corrie"},
        "supplier_banned": {"name": "Ashby Tools"},
        "prefer_stock": {},
        "most_lead_days": {"lead_days": 7},
        "budget": {"amount": "2500.00"},
        "mass": {"mass_kg": 120.0},
        "roof": {},
        "battery_spaces": {},
    }


def test_pins_that_stand_in_one_anothers_place_are_one_wish():
    """Without B0 alone, B1 would be the only battery there is: the price of that would say nothing of the wish."""
    keys = [p.key for p in FREE.catalogue]
    assert {"B0", "N0"} <= set(keys)
    other = next(p for p in FREE.catalogue if p.key == "B0").model_copy(update={"key": "B9", "name": "Model B9"})
    wishes = FREE.wishes.model_copy(update={"pinned": ("B0", "N0", "B9")})
    brief = FREE.model_copy(update={"wishes": wishes, "catalogue": (*FREE.catalogue, other)})

    freed = in_force(brief, Steer(), Market())

    assert [(one.wish.params["names"], one.brief.wishes.pinned) for one in freed] == [
        ("Model N0", ("B0", "B9")),
        ("Model B0, Model B9", ("N0",)),
    ]


def test_parts_banned_for_their_supplier_are_freed_with_it_and_told_with_it_alone():
    wishes = FREE.wishes.model_copy(update={"banned": ("B0", "N0", "P0")})
    brief = FREE.model_copy(update={"wishes": wishes})
    market = Market.model_validate(
        {"parts": {"N0": {"price": "1", "supplier": "ashby"}, "P0": {"price": "1", "supplier": "corrie"}},
         "suppliers": {"ashby": "Ashby", "corrie": "Corrie"}}
    )  # fmt: skip
    steer = Steer(suppliers_banned=("ashby", "corrie"), banned_with_supplier=("N0", "P0"))

    freed = {str(one.wish.params["name"]): one for one in in_force(brief, steer, market)}

    assert set(freed) == {"Model B0", "Ashby", "Corrie"}
    assert freed["Ashby"].brief.wishes.banned == ("B0", "P0")
    assert freed["Ashby"].steer.suppliers_banned == ("corrie",)
    assert freed["Model B0"].brief.wishes.banned == ("N0", "P0")


def test_wishes_that_bound_a_sum_are_not_asked_to_bring_options_back():
    case = case_at(0, "budget")

    codes = {said.code for said, _ in freed_problems(partial(make_problem, case), case.brief, case.steer, case.market)}

    assert "budget" not in codes


@settings(max_examples=60, deadline=None)
@given(problems(), st.data())
def test_a_programme_without_a_row_is_the_problem_without_it(problem, data):
    """And an answer under a bound is the best one, or there is none that is better than the bound."""
    name = data.draw(st.sampled_from([row.name for row in problem.rows]))
    left = replace(problem, rows=tuple(row for row in problem.rows if row.name != name))
    best = brute.best(left, "price")
    programme = Programme(problem).without_row(name)

    found = programme.solve("price")

    assert (found is None) == (best is None)
    if found is not None and best is not None:
        assert sorted(o.key for o in found.options) == [o.key for o in best]
        assert programme.solve("price", under=found.objective) is None
        assert programme.solve("price", under=found.objective + 0.01) == found
