"""Words of needs, limits, groups and wishes: every code that choosing can give has them."""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path

import pytest

from quoting.queries.offers_rows import asked_words, best_words, row_label, short_of
from quoting.queries.offers_words import lacks_words, miss_label, wish_words
from quoting.sizing.selecting.clashing import clash
from quoting.sizing.selecting.options import problem_of
from quoting.sizing.selecting.records import Miss, OfferMade, Said
from quoting.wording.selecting_rows import GROUP, OF_ROW, ROW
from quoting.wording.selecting_wishes import WISH
from tests.quoting.sizing.selecting.small_catalogues import WISHES, case_at

SOURCE = Path(__file__).parents[2] / "quoting" / "sizing" / "selecting"


def test_every_wish_has_words_and_no_wish_too_many():
    """By the codes in the source: a wish that is rare in examples is held to it too."""
    said = set(re.findall(r'_said\("(\w+)"', (SOURCE / "wishes.py").read_text(encoding="utf-8")))

    assert set(WISH) == said
    assert len(said) == 13


def test_every_need_and_limit_of_many_problems_has_words():
    rows, groups = set(), set()
    for number in range(60):
        for wish in WISHES:
            case = case_at(number, wish)
            problem = problem_of(case.brief, case.needs, case.market, case.steer)
            rows |= {row.name for row in problem.rows if row.sort != "fit"}
            groups |= set(problem.groups)

    assert {name.partition(":")[0] for name in rows} <= set(ROW)
    assert {name.partition(":")[2] for name in rows if ":" in name} <= set(OF_ROW)
    assert groups <= set(GROUP)
    assert {"capacity_ah", "engine_a:agm", "array_w", "budget", "mass_kg", "roof_m2"} <= rows


def test_rows_that_the_source_names_have_words():
    """Those of switched outputs, inputs and spaces, which small catalogues have none of."""
    text = "".join(path.read_text(encoding="utf-8") for path in SOURCE.glob("*.py"))
    named = {name for name, _ in re.findall(r'Row\(f?"(\w+)[^"]*", "(need|limit)"', text)}

    assert {"spare_outputs", "inputs", "battery_space_m2"} <= named
    assert named - {"ah"} <= set(ROW)  # "ah" stands in an example


@pytest.mark.parametrize(("wish", "words"), [
    (Said(code="pinned", params={"names": "Model B"}), "Pinned: Model B"),
    (Said(code="kept", params={"name": "Old", "role": "battery"}), "Kept: Old (battery)"),
    (Said(code="chemistries", params={"chemistries": "gel, agm"}), "No other battery than gel, AGM"),
    (Said(code="most_lead_days", params={"lead_days": 7}), "Nothing to wait for longer than 7\N{NO-BREAK SPACE}days"),
    (Said(code="mass", params={"mass_kg": 120.0}), "Weighs at most 120\N{NO-BREAK SPACE}kg in all"),
])  # fmt: skip
def test_a_wish_is_worded_with_its_names_and_numbers(wish, words):
    assert wish_words(wish, "EUR") == words


def test_a_budget_is_worded_with_its_currency():
    said = wish_words(Said(code="budget", params={"amount": "2500.00"}), "EUR")

    assert said.replace("\N{NARROW NO-BREAK SPACE}", "").count("2500.00") == 1
    assert said.startswith("Costs in all at most ")


@pytest.mark.parametrize(("miss", "label", "asked", "best"), [
    (Miss(code="capacity_ah", asked=180, best=133.37, short_by=46.63, unit="Ah"),
     "Capacity of the battery", "at least 180 Ah", "at least 133.3 Ah"),
    (Miss(code="budget", asked=1300, best=1400.001, short_by=100.001, unit=""),
     "Price of the whole bill, without tax", "at most 1,300.00", "at most 1,400.01"),
    (Miss(code="engine_a:agm", asked=25, best=20, short_by=5, unit="A"),
     "Charging current from the engine, with an AGM bank", "at least 25 A", "at least 20 A"),
    (Miss(code="group:array", asked=1, best=0, short_by=1, unit=""),
     "Solar panels", "must be there", "none goes with the rest"),
    (Miss(code="wish", asked=0, best=1, short_by=1, unit="", wish=Said(code="banned", params={"name": "Q"})),
     "Ruled out: Q", "as wished", "given up"),
    (Miss(code="dark_chance", asked=0.05, best=0.08, short_by=0.03, unit=""),
     "Chance of going dark", "at most 5 %", "at most 8 %"),
])  # fmt: skip
def test_what_is_missed_is_shown_so_that_what_is_shown_would_do(miss, label, asked, best):
    """What would have to be is rounded away from what was asked: a budget up, a capacity down."""

    def plain(text: str) -> str:
        return text.replace("\N{NO-BREAK SPACE}", " ").replace("\N{NARROW NO-BREAK SPACE}", ",")

    assert (miss_label(miss), plain(asked_words(miss)), plain(best_words(miss))) == (label, asked, best)


def test_a_group_or_wish_is_short_by_nothing_that_could_be_counted():
    assert short_of(Miss(code="group:array", asked=1, best=0, short_by=1, unit="")) is None
    assert short_of(Miss(code="mass_kg", asked=9, best=12, short_by=3, unit="kg")).unit == "kg"


def test_clashes_of_many_cases_are_worded_whole():
    for number in range(40):
        case = case_at(number, "budget")
        found = clash(problem_of(case.brief, case.needs, case.market, case.steer))
        for miss in (*found.together, *found.change):
            assert row_label(miss) != miss.code
            assert asked_words(miss) != best_words(miss)


def test_what_the_next_cheaper_saves_is_what_is_to_pay_less():
    said = Said(code="lacks_saves", params={"offer": "lean", "saves": "10.00"})
    made = OfferMade.model_construct(offer="steady", lacks=(said,))

    assert lacks_words(made, "EUR", {"lean": Decimal(100), "steady": Decimal("115.5")}) == (
        "Lean saves €15.50, tax included.",
    )
    assert lacks_words(made, "EUR", {}) == ("Lean saves €10.00 of parts and labour without tax.",)


def test_what_was_asked_in_steps_is_not_told_as_the_best_of_all():
    from quoting.queries.offers_words import solved_words
    from quoting.sizing.selecting.records import Solved

    solved = Solved(options=36, rows=20, bound=1.0, objective=1.0, gap_ratio=0.0, optimal=True)

    assert "a size between two steps was not tried" in solved_words(solved, raised=True)
    assert "no better one meets what is asked" in solved_words(solved)
