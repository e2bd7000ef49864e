"""Three offers: chosen by the programme, borne out by circuits and simulation, honest about one another."""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from quoting.sizing.appraise import appraise, brief_sha256
from quoting.sizing.brief import Brief
from quoting.sizing.brief_choosing import OFFERS, Pick, Room
from quoting.sizing.errors import SizingError
from quoting.sizing.policy import OfferPolicy
from quoting.sizing.selecting.facts import parts_price
from quoting.sizing.selecting.frontier import is_beaten, worth
from quoting.sizing.selecting.records import Facts, Market, MarketPart, Selection, Steer
from quoting.sizing.selecting.select import Selected, bare, select
from quoting.wording.findings import FINDING
from quoting.wording.selecting import SAID
from tests.quoting.sizing.library_case import brief as library_brief
from tests.quoting.sizing.selecting.test_picks import modest, two_in_one
from tests.quoting.sizing.systems_case import part, read, truck
from tests.quoting.sizing.wagon import wagon


def market_of(brief: Brief, **lead: int) -> Market:
    """Parts at what they cost, none on the shelf, no labour: then the programme's price is that of the parts."""
    return Market(
        parts={p.key: MarketPart(price=p.cost, lead_days=lead.get(p.key, p.lead_days)) for p in brief.catalogue}
    )


def asking(brief: Brief, **offers: OfferPolicy) -> Brief:
    """The same under a policy that asks something else of some offers."""
    policy = brief.policy.model_copy(update={"offers": {**brief.policy.offers, **offers}})
    return brief.model_copy(update={"policy": policy})


BARE = OfferPolicy(spare_outputs=1, dark_chance_ratio=0.9)
"""What loads and trip ask, and nothing over it."""


@pytest.fixture(scope="module")
def brief() -> Brief:
    return wagon()


@pytest.fixture(scope="module")
def made(brief) -> Selected:
    return select(brief, market_of(brief), Steer())


def proofs_of(made: Selected) -> dict[str, str]:
    """Key of the candidate that proves each offer: that with its picks and room."""
    return {
        one.offer: next(
            c.key for c in made.record.candidates if (c.picks, c.room, c.holds) == (one.picks, one.room, True)
        )
        for one in made.record.offers
    }


def test_there_are_three_offers_from_the_leanest_on(made):
    assert [one.offer for one in made.record.offers] == list(OFFERS)
    assert made.record.clashes == {}
    assert Selection.model_validate_json(made.record.model_dump_json()) == made.record


def test_every_offer_is_a_system_that_nothing_refuses(made):
    for offer, key in proofs_of(made).items():
        found = made.appraisals[key]
        one = next(o for o in made.record.offers if o.offer == offer)
        assert found.shortfalls == ()
        assert not [f for f in found.findings if f.level == "danger"]
        assert not [f for f in found.findings if f.code == "outputs_no_spare"]
        assert found.value("trip.dark_chance_ratio") <= one.room.dark_chance_ratio
        assert found.room == one.room


def test_what_was_picked_is_what_the_system_is_made_of(made):
    for one in made.record.offers:
        found = made.appraisals[proofs_of(made)[one.offer]]
        bought = {c.role: c for c in found.chosen if c.role not in ("sensor", "coupling")}
        assert set(bought) == {pick.role for pick in one.picks}
        for pick in one.picks:
            chosen = bought[pick.role]
            assert (chosen.part, chosen.quantity, chosen.series) == (pick.part, pick.quantity, pick.series)
            assert chosen.quantity == chosen.series * chosen.parallel or pick.role not in ("battery", "panel")


def test_the_same_brief_is_proved_the_same_way_again(made):
    for key, brief in made.briefs.items():
        assert made.appraisals[key].brief_sha256 == brief_sha256(brief)
    key = proofs_of(made)["steady"]
    assert appraise(made.briefs[key]) == made.appraisals[key]


def test_no_offer_is_dearer_than_another_that_does_all_that_it_does(made):
    for one in made.record.offers:
        beaten_by = [o.offer for o in made.record.offers if is_beaten(one.facts, o.facts, one.objective)]
        told = [f.subject for f in made.record.findings if f.code.endswith("_beaten")]
        assert bool(beaten_by) == (one.offer in told)


def test_a_lower_chance_of_going_dark_is_raised_until_it_holds(made):
    """The wagon's Lean by need alone goes dark too often: more is asked, the cheapest first."""
    lean = made.record.offers[0]
    failed = [c for c in made.record.candidates if c.offer == "lean" and not c.holds]

    assert lean.why.code == "why_price_raised"
    assert failed
    assert all(c.facts.dark_chance_ratio > 0.15 for c in failed)
    assert {said.code for c in failed for said in c.fails} == {"fails_dark"}
    assert max(lean.room.array_ratio, lean.room.battery_ratio) > 0.75
    assert lean.proofs == len(failed) + 1


def test_the_frontier_holds_what_no_other_proved_system_beats_in_price_and_light(made):
    proved = [c for c in made.record.candidates if c.holds]
    for one in proved:
        better = [
            o for o in proved
            if Decimal(o.facts.price) < Decimal(one.facts.price)
            and o.facts.dark_chance_ratio <= one.facts.dark_chance_ratio
        ]  # fmt: skip
        assert one.frontier != bool(better)
    assert not [c for c in made.record.candidates if c.frontier and not c.holds]


def test_each_says_why_and_what_the_next_cheaper_lacks(made):
    lean, steady, roomy = made.record.offers

    for one in (lean, steady, roomy):
        assert one.lacks
        assert one.solved.optimal
        assert one.solved.bound <= one.solved.objective + 1e-6
        for said in (one.why, *one.lacks):
            assert said.code in SAID
    assert lean.lacks[0].code == "lacks_tried"
    assert (steady.lacks[0].code, steady.lacks[0].params["offer"]) == ("lacks_saves", "lean")
    assert Decimal(steady.lacks[0].params["saves"]) == Decimal(steady.facts.price) - Decimal(lean.facts.price)


def test_every_code_that_choosing_says_has_words():
    """Read off the code itself, so that none is forgotten."""
    folder = Path(__file__).parents[4] / "quoting" / "sizing" / "selecting"
    text = "\n".join(path.read_text(encoding="utf-8") for path in folder.glob("*.py"))
    said = set(re.findall(r'"((?:fails|lacks)_[a-z_]+)"', text))
    said |= {f"why_{o}{more}" for o in ("price", "cost_per_year", "mass") for more in ("", "_raised", "_proved")}
    told = {f"{offer}_beaten" for offer in OFFERS} | set(re.findall(r'"(offer_[a-z_]+)"', text))

    assert said - set(SAID) == set()
    assert told - set(FINDING) == set()


def test_the_order_of_the_catalogue_changes_nothing(brief, made):
    turned = brief.model_copy(update={"catalogue": tuple(reversed(brief.catalogue))})

    again = select(turned, market_of(turned), Steer(), offers=("lean",))

    assert again.record.offers[0].picks == made.record.offers[0].picks


def test_picks_and_room_of_a_brief_are_left_aside(brief):
    held = brief.model_copy(
        update={"picks": (Pick(role="battery", part="larkham-lf-160"),), "room": Room(offer="lean")}
    )

    assert bare(held) == brief
    assert bare(brief) is brief


# --- Against the greedy choice ----------------------------------------------------------------------------


CASES: dict[str, Any] = {
    "wagon": wagon,
    "12 V lithium": lambda: library_brief(12, "lifepo4", "small"),
    "24 V lithium": lambda: library_brief(24, "lifepo4", "medium"),
    "24 V with a converter": lambda: read(truck()),
}


@pytest.mark.parametrize("case", CASES)
def test_with_no_room_the_programme_finds_what_a_choice_need_by_need_does(case):
    """In these, no part serves two needs and none is held by another: the cheapest for each is the cheapest of all."""
    brief = asking(CASES[case](), steady=BARE)
    market = market_of(brief)
    greedy = appraise(brief)
    assert greedy.shortfalls == ()

    (one,) = select(brief, market, Steer(), offers=("steady",)).record.offers

    assert Decimal(one.facts.parts_price) == parts_price(greedy.chosen, market)
    by_need = {(c.role, c.part, c.quantity) for c in greedy.chosen if c.role not in ("sensor", "coupling")}
    assert {(pick.role, pick.part, pick.quantity) for pick in one.picks} == by_need


def test_two_small_batteries_are_no_cheaper_than_one_that_needs_no_leads_of_its_own():
    """Of AGM the choice need by need takes two of the cheapest; each asks for a mounting, and links at both ends."""
    brief = asking(library_brief(12, "agm", "small"), steady=BARE)
    market = market_of(brief)
    greedy = appraise(brief)
    (one,) = select(brief, market, Steer(), offers=("steady",)).record.offers

    assert [c.quantity for c in greedy.chosen if c.role == "battery"] == [2]
    assert [pick.quantity for pick in one.picks if pick.role == "battery"] == [1]
    assert Decimal(one.facts.parts_price) > parts_price(greedy.chosen, market)
    assert Decimal(one.facts.price) < market.bill(greedy.bill)


def test_the_programme_is_cheaper_where_one_part_serves_two_needs():
    """By hand: 180 for the cheapest monitor and 320 for the cheapest module, or 400 for one part that is both."""
    brief = asking(read(two_in_one(modest(), 400)), steady=BARE)
    market = market_of(brief)
    greedy = appraise(brief)

    (one,) = select(brief, market, Steer(), offers=("steady",)).record.offers

    assert parts_price(greedy.chosen, market) - Decimal(one.facts.parts_price) == 180 + 320 - 400
    assert {p.role for p in one.picks if p.part == "tally_8"} == {"monitor", "switching"}


# --- Steering ---------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def steady(brief) -> Selected:
    return select(brief, market_of(brief), Steer(), offers=("steady",))


def test_one_offer_alone_may_be_asked_for(steady):
    assert [one.offer for one in steady.record.offers] == ["steady"]


def test_a_budget_that_is_met_binds_the_whole_bill(brief, steady):
    price = Decimal(steady.record.offers[0].facts.price)

    enough = select(brief, market_of(brief), Steer(budget=f"{price:f}"), offers=("steady",))
    too_little = select(brief, market_of(brief), Steer(budget=f"{price / 2:.2f}"), offers=("steady",))

    assert Decimal(enough.record.offers[0].facts.price) <= price
    assert too_little.record.offers == ()
    assert "budget" in {miss.code for miss in too_little.record.clashes["steady"].together}


def test_a_mass_that_may_be_carried_binds_the_whole_system(brief, steady):
    mass_kg = steady.record.offers[0].facts.mass_kg

    lighter = select(brief, market_of(brief), Steer(most_mass_kg=mass_kg - 1), offers=("steady",))

    for one in lighter.record.offers:
        assert one.facts.mass_kg <= mass_kg - 1
    if not lighter.record.offers:
        assert "mass_kg" in {miss.code for miss in lighter.record.clashes["steady"].together}


def test_a_part_that_was_swapped_in_is_in_the_offer_and_marked(brief, steady):
    one = steady.record.offers[0]
    inverter = next(p for p in one.picks if p.role == "inverter")
    other = "corrie-ps-1600" if inverter.part != "corrie-ps-1600" else "corrie-ps-1000"

    found = select(
        brief, market_of(brief), Steer(swaps=(Pick(role="inverter", part=other, by_hand=True),)), offers=("steady",)
    )

    (made,) = found.record.offers
    assert next(p for p in made.picks if p.role == "inverter") == Pick(role="inverter", part=other, by_hand=True)
    assert next(w for w in made.wish_prices if w.wish.code == "swapped").worse >= 0


# --- What the proof refuses -------------------------------------------------------------------------------


def with_a_monster() -> Brief:
    """An inverter that is cheap and within the monitor's shunt, but over every device of the catalogue: 370 A."""
    raw = modest()
    pellow = next(p for p in raw["catalogue"] if p["key"] == "pellow_2000")
    spec = {**pellow["spec"], "continuous_w": 3600, "continuous_va": 3600, "surge_w": 5400}
    raw["catalogue"].append(part("pellow_3600", "inverter", 90, 12, **spec))
    return read(raw)


def test_a_part_that_no_circuit_can_be_made_for_is_ruled_out():
    brief = asking(with_a_monster(), steady=BARE)

    made = select(brief, market_of(brief), Steer(), offers=("steady",))

    (one,) = made.record.offers
    assert next(p for p in one.picks if p.role == "inverter").part == "pellow_2000"
    assert one.why.code == "why_price_proved"
    refused = [c for c in made.record.candidates if not c.holds]
    assert {p.part for c in refused for p in c.picks if p.role == "inverter"} == {"pellow_3600"}
    assert {said.code for c in refused for said in c.fails} == {"fails_shortfall"}


def test_a_search_that_is_given_up_says_so_and_by_how_much_the_nearest_misses(brief):
    never = asking(brief, steady=OfferPolicy(dark_chance_ratio=0.0, battery_ratio=0.5, array_ratio=0.4))

    made = select(never, market_of(never), Steer(), offers=("steady",), most_proofs=1)

    assert made.record.offers == ()
    (said,) = made.record.findings
    assert (said.code, said.subject, said.params["proofs"]) == ("offer_not_proved", "steady", 1)
    (miss,) = made.record.clashes["steady"].together
    nearest = next(c for c in made.record.candidates if c.key == said.params["candidate"])
    assert (miss.code, miss.asked, miss.best) == ("dark_chance", 0.0, nearest.facts.dark_chance_ratio)
    assert not nearest.holds


def test_it_can_be_stopped(brief):
    told = []

    def stop(done: int, of: int) -> None:
        told.append((done, of))
        if done == 1:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        select(brief, market_of(brief), Steer(), stop)

    assert told[0] == (0, 36)


def test_what_cannot_be_worked_with_is_refused(brief):
    none = brief.model_copy(update={"wishes": brief.wishes.model_copy(update={"chemistries": ()})})

    with pytest.raises(SizingError, match=r"wishes\.chemistries"):
        select(none, market_of(none), Steer())


def test_an_offer_has_least_of_what_policy_says(brief, made):
    light = asking(brief, steady=OfferPolicy(objective="mass"))

    found = select(light, market_of(light), Steer(), offers=("steady",))

    facts: list[Facts] = [one.record.offers[-1].facts for one in (found,)]
    steady = next(o for o in made.record.offers if o.offer == "steady")
    assert worth(facts[0], "mass") <= worth(steady.facts, "mass")
    assert found.record.offers[0].objective == "mass"
