"""What a system comes to, whether it does, what is tried after it fails, and which systems no other beats."""

from __future__ import annotations

import json
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.sizing.appraisal import Appraisal, Circuit, Shortfall
from quoting.sizing.appraise import appraise, canonical
from quoting.sizing.brief import Brief
from quoting.sizing.brief_choosing import Pick, Room
from quoting.sizing.needs import BatteryNeed, Needs, SolarNeed
from quoting.sizing.parts import short
from quoting.sizing.selecting.facts import cost_per_year, facts_of, parts_price
from quoting.sizing.selecting.frontier import is_beaten, on_frontier
from quoting.sizing.selecting.options import Rest
from quoting.sizing.selecting.problem import Answer, Option, Problem, Row
from quoting.sizing.selecting.proving import Proof, Proofs, key_of
from quoting.sizing.selecting.records import Facts, Market, MarketPart, Operation, Said, Steer
from quoting.sizing.selecting.settling import Found, asked_of, is_harder
from quoting.sizing.selecting.tightening import STEPS, Tried, children, has_over_asked, rest_of
from quoting.sizing.selecting.verdict import Failed, failures
from quoting.sizing.system import System
from quoting.sizing.trace import Finding
from tests.quoting.sizing.library_case import brief as library_brief
from tests.quoting.sizing.selecting.test_picks import picks_of
from tests.quoting.sizing.systems_case import keeping, read, sunny
from tests.quoting.sizing.wagon import wagon


def market_of(brief: Brief, **more: MarketPart) -> Market:
    return Market(
        parts={p.key: MarketPart(price=p.cost, stock=1, lead_days=p.lead_days) for p in brief.catalogue} | more,
        labour={"fit_battery": "80.00"},
        operations={"fit_battery": Operation(minutes=60, hour_price="80.00")},
        sundries_ratio="0.05",
    )


@pytest.fixture(scope="module")
def brief() -> Brief:
    return wagon()


@pytest.fixture(scope="module")
def found(brief) -> Appraisal:
    return appraise(brief)


@pytest.fixture(scope="module")
def facts(brief, found) -> Facts:
    return facts_of(brief, found, market_of(brief))


# --- Facts ----------------------------------------------------------------------------------------------


def test_the_price_is_that_of_every_line_of_the_bill(brief, found, facts):
    costs = {p.key: Decimal(p.cost) for p in brief.catalogue}
    cents = Decimal("0.01")
    parts = sum((costs[x.part] * Decimal(str(x.quantity))).quantize(cents) for x in found.bill if x.part)
    batteries = next(x.quantity for x in found.bill if x.labour == "fit_battery")

    assert Decimal(facts.price) == parts + 80 * Decimal(str(batteries))  # the only operation there is a price for


def test_the_price_of_chosen_parts_counts_each_piece_once_and_nothing_that_is_kept():
    brief = read(keeping(sunny(), ("larkham_200", 1, "battery")))
    found = appraise(brief)
    costs = {p.key: Decimal(p.cost) for p in brief.catalogue}

    bought = sum(costs[c.part] * c.quantity for c in found.chosen if not c.kept and not c.same_as)

    assert parts_price(found.chosen, market_of(brief)) == bought


def test_cost_per_year_spreads_the_battery_over_its_years_and_all_else_over_the_policys(brief, found):
    """By hand: batteries and their fitting by the figure, capped by policy; the rest of the bill over 12 years."""
    market = market_of(brief)
    bank = next(c for c in found.chosen if c.role == "battery")
    years = Decimal(repr(min(found.value("battery.years"), brief.policy.battery_most_years)))
    worn = sum(market.amount(x) for x in found.bill if x.part == bank.part or x.labour == "fit_battery")

    asked = worn / years + (market.bill(found.bill) - worn) / 12

    assert cost_per_year(brief, found, market) == pytest.approx(asked)


def test_the_part_waited_for_longest_is_named_and_what_the_shelf_has_is_there(brief, found):
    slow = next(c for c in found.chosen if c.role == "inverter")
    shelf = MarketPart(price="1", stock=5, lead_days=90)

    waits = facts_of(brief, found, market_of(brief, **{slow.part: shelf.model_copy(update={"stock": 0})}))
    there = facts_of(brief, found, market_of(brief, **{slow.part: shelf}))

    assert (waits.lead_days, waits.waits_for) == (90, slow.name)
    assert there.lead_days < 90


def test_facts_are_those_of_the_appraisal(found, facts):
    assert facts.mass_kg == pytest.approx(found.mass_kg, abs=0.001)
    assert facts.dark_chance_ratio == found.value("trip.dark_chance_ratio")
    assert facts.days_without_charging == found.value("battery.days")
    assert facts.spare_outputs == sum(len(m.limits_a) for m in found.modules) - len(found.channels)
    assert facts.warnings == len([f for f in found.findings if f.level == "warning"])


# --- Verdict --------------------------------------------------------------------------------------------


def verdict(brief: Brief, found: Appraisal, steer: Steer = Steer(), **room: float) -> tuple[Failed, ...]:  # noqa: B008
    market = market_of(brief)
    asking = brief.model_copy(update={"room": Room(offer="steady", **room)})
    return failures(asking, found, facts_of(brief, found, market), market, steer)


def test_a_system_that_lacks_nothing_does(brief, found):
    assert verdict(brief, found, dark_chance_ratio=1.0) == ()


def test_the_whole_bill_with_its_sundries_is_held_against_the_budget(brief, found):
    market = market_of(brief)
    whole = market.bill(found.bill) + market.sundries(found.bill)

    exact = verdict(brief, found, Steer(budget=f"{whole:.2f}"), dark_chance_ratio=1.0)
    (short_by,) = verdict(brief, found, Steer(budget=f"{whole - 1:.2f}"), dark_chance_ratio=1.0)

    assert exact == ()
    assert (short_by.said.code, short_by.said.params["over"], short_by.counts_rest) == ("fails_budget", "1.00", True)


def test_dark_more_often_than_the_room_allows_asks_for_more_of_what_charges(brief, found):
    dark = found.model_copy(
        update={"outlook": found.outlook.model_copy(
            update={"dark": found.outlook.dark.model_copy(update={"chance_ratio": 0.2, "draws_dark": 40})}
        )}
    )  # fmt: skip

    (one,) = verdict(brief, dark, dark_chance_ratio=0.1)

    assert (one.said.code, one.said.params["chance_ratio"], one.raises) == (
        "fails_dark", 0.2, ("battery", "array", "charging")
    )  # fmt: skip


@pytest.mark.parametrize(("lack", "roles"), [
    (short("too_small", "inverting", "inverter"), ("inverter",)),
    (short("none_of_kind", "protecting", "Inverter feed").model_copy(update={"circuit_role": "inverter_feed"}),
     ("inverter",)),
    (short("none_of_kind", "conducting", "Array 1").model_copy(update={"circuit_role": "solar_array"}),
     ("panel", "solar_controller", "multi_charger")),
    (short("none_of_kind", "terminating", "C4 Pump").model_copy(update={"circuit_role": "load"}), ()),
])  # fmt: skip
def test_a_shortfall_names_the_parts_that_led_to_it(brief, found, lack: Shortfall, roles):
    (one,) = verdict(brief, found.model_copy(update={"shortfalls": (lack,)}), dark_chance_ratio=1.0)

    assert (one.said.code, one.rules_out) == ("fails_shortfall", roles)


def test_a_danger_on_a_circuit_names_the_parts_at_its_ends(brief, found):
    feed: Circuit = next(c for c in found.circuits if c.role == "engine_feed")
    danger = Finding(level="danger", code="battery_in_engine_space", subject=feed.tag, params={"name": "Larkham"})

    (one,) = verdict(brief, found.model_copy(update={"findings": (danger,)}), dark_chance_ratio=1.0)

    assert (one.said.code, one.said.params["finding"]) == ("fails_danger", "battery_in_engine_space")
    assert one.rules_out == ("engine_charger", "multi_charger")


# --- Tightening -----------------------------------------------------------------------------------------


def small_found(has_ah: float = 150.0) -> Found:
    """An answer with a bank of so many ampere-hours where 100 are asked, and an inverter."""
    bank = Option("bank", ("battery",), (Pick(role="battery", part="b"),), 500.0, 50.0, 20.0, {"capacity_ah": has_ah})
    inverter = Option("inverter", ("inverter",), (Pick(role="inverter", part="i"),), 300.0, 30.0, 5.0)
    problem = Problem(
        ("battery", "inverter"), (bank, inverter), (Row("capacity_ah", "need", least=100.0, unit="Ah", scale=100.0),)
    )
    needs = Needs(BatteryNeed({}, 0, 0, 0), None, None, None, None, None, 0, 0)
    answer = Answer((bank, inverter), 800.0, 800.0, True)
    return Found(problem, answer, System(wagon()), needs, None, 1)  # type: ignore[arg-type]


def failed_proof(brief: Brief, found: Appraisal, facts: Facts, *failed: Failed) -> Proof:
    asking = brief.model_copy(update={"room": Room(offer="steady")})
    return Proof("key", asking, found, facts, failed)


def test_more_is_asked_than_the_failed_system_has(brief, found, facts):
    """Half as much again was there as was asked: a step over that, or the same system would be found again."""
    dark = Failed(Said(code="fails_dark"), raises=("battery", "array", "charging"))
    proof = failed_proof(brief, found, facts, dark)

    tries = list(children(Tried(Room(offer="steady")), small_found(), proof, market_of(brief)))

    assert has_over_asked("battery", small_found()) == 1.5
    assert [t.room.battery_ratio for t in tries] == [pytest.approx(1.5 * STEPS["battery"]), 1.0, 1.0]
    assert [t.room.array_ratio for t in tries] == [1.0, STEPS["array"], 1.0]
    assert [t.room.charging_ratio for t in tries] == [1.0, 1.0, STEPS["charging"]]
    assert {t.times for t in tries} == {1}


def test_what_led_to_a_shortfall_is_ruled_out(brief, found, facts):
    proof = failed_proof(brief, found, facts, Failed(Said(code="fails_shortfall"), rules_out=("inverter",)))

    tries = list(children(Tried(Room(offer="steady")), small_found(), proof, market_of(brief)))

    assert [t.without for t in tries] == [frozenset({"inverter"})]


def test_nothing_is_tried_where_one_reason_cannot_be_helped(brief, found, facts):
    hopeless = Failed(Said(code="fails_shortfall"))
    dark = Failed(Said(code="fails_dark"), raises=("battery",))

    assert list(children(Tried(Room(offer="steady")), small_found(), failed_proof(brief, found, facts, dark, hopeless),
                         market_of(brief))) == []  # fmt: skip


def test_what_the_rest_of_a_bill_takes_is_counted(brief, found, facts):
    market = market_of(brief)
    answer = small_found().answer
    proof = failed_proof(brief, found, facts, Failed(Said(code="fails_budget"), counts_rest=True))

    rest = rest_of(answer, proof, market)

    whole = market.bill(found.bill) + market.sundries(found.bill)
    assert rest.price == pytest.approx(float(whole) - 800.0)
    assert rest.mass_kg == pytest.approx(found.mass_kg - 25.0)
    (child,) = children(Tried(Room(offer="steady")), small_found(), proof, market)
    assert child.rest == rest
    assert Tried(Room(offer="steady")).rest == Rest()


NEEDS = Needs(
    battery=BatteryNeed({"lifepo4": 100.0}, 50.0, 60.0, 2.0),
    engine_a=20.0,
    engine_most_a=30.0,
    mains_a=15.0,
    solar=SolarNeed(200.0, -5.0, 70.0, 3.0, ((200.0, 0.0),)),
    inverter=None,
    house_peak_a=40.0,
    compartment_c=50.0,
)


def test_a_need_is_harder_where_nothing_of_it_is_smaller():
    from dataclasses import replace

    more = replace(NEEDS, battery=replace(NEEDS.battery, capacity_ah={"lifepo4": 101.0}), mains_a=16.0)

    assert is_harder(NEEDS, NEEDS)
    assert is_harder(more, NEEDS)
    assert not is_harder(NEEDS, more)
    assert not is_harder(replace(more, engine_a=19.0), NEEDS)
    assert not is_harder(replace(more, engine_most_a=29.0), NEEDS)
    assert not is_harder(replace(more, solar=None), NEEDS)
    assert not is_harder(replace(more, solar=replace(NEEDS.solar, by_stop=((199.0, 0.0),))), NEEDS)


def test_a_systems_own_draw_makes_its_need_harder(brief, found):
    from quoting.sizing.parts import Catalogue
    from quoting.sizing.system import assemble

    none, use = asked_of(brief, System(brief))
    own, more = asked_of(brief, assemble(brief, found.chosen, Catalogue.of(brief)))

    assert more.day_wh > use.day_wh
    assert own.battery.capacity_ah["lifepo4"] > none.battery.capacity_ah["lifepo4"]


# --- Proofs ---------------------------------------------------------------------------------------------


def test_the_same_candidate_is_worked_through_once(brief, found):
    picks = picks_of(found)
    told: list[tuple[int, int]] = []
    proofs = Proofs(brief, market_of(brief), Steer(), 12, lambda done, of: told.append((done, of)))
    room = Room(offer="steady", dark_chance_ratio=1.0)

    one, again = proofs.prove(picks, room), proofs.prove(tuple(reversed(picks)), room)

    assert one is again
    assert told == [(0, 12)]
    assert one.holds
    assert (one.candidate().key, one.candidate().picks, one.candidate().holds) == (one.key, one.picks, True)


def test_a_key_is_of_picks_and_room_alone(found):
    picks = picks_of(found)
    room = Room(offer="steady")

    assert key_of(picks, room) == key_of(picks, room)
    assert key_of(picks, room) != key_of(picks, room.model_copy(update={"battery_ratio": 1.15}))
    assert key_of(picks, room) != key_of(picks[1:], room)


# --- Frontier -------------------------------------------------------------------------------------------


def a_system(price: int, dark: float | None, days: float = 2.0, **more: object) -> Facts:
    values = {
        "price": f"{price}.00", "parts_price": "0", "mass_kg": 10.0, "dark_chance_ratio": dark,
        "dark_high_ratio": dark, "days_without_charging": days, "flat_days": None, "battery_years": 10.0,
        "cost_per_year": f"{price / 10:.2f}", "spare_outputs": 1, "lead_days": 0,
    }  # fmt: skip
    return Facts(**values | more)


SYSTEMS = st.lists(
    st.builds(
        a_system,
        st.integers(1, 6),
        st.one_of(st.none(), st.sampled_from([0.0, 0.01, 0.05, 0.1])),
        st.sampled_from([1.0, 2.0]),
    ),
    max_size=12,
)


@given(SYSTEMS)
@settings(max_examples=200, deadline=None)
def test_the_frontier_is_what_no_other_beats(systems):
    """Against the definition, pair by pair."""

    def beats(a: Facts, b: Facts) -> bool:
        if a.dark_chance_ratio is None:
            return False
        price_a, price_b = Decimal(a.price), Decimal(b.price)
        no_worse = price_a <= price_b and a.dark_chance_ratio <= b.dark_chance_ratio
        equal = (price_a, a.dark_chance_ratio) == (price_b, b.dark_chance_ratio)
        return no_worse and (not equal or a.days_without_charging > b.days_without_charging)

    asked = tuple(
        one.dark_chance_ratio is not None and not any(beats(other, one) for other in systems) for one in systems
    )

    assert on_frontier(systems) == asked


@given(SYSTEMS)
@settings(max_examples=100, deadline=None)
def test_nothing_is_beaten_by_its_equal_and_two_never_beat_each_other(systems):
    for one in systems:
        assert not is_beaten(one, one)
        for other in systems:
            assert not (is_beaten(one, other) and is_beaten(other, one))


def test_room_and_the_least_of_something_keep_an_offer_from_being_beaten():
    plain = a_system(5, 0.0)

    assert is_beaten(a_system(6, 0.0), plain)
    assert not is_beaten(a_system(6, 0.0, spare_outputs=3), plain)
    assert not is_beaten(a_system(6, 0.0, array_w=300.0), plain)
    assert not is_beaten(a_system(6, 0.0, days=2.5), plain)
    assert is_beaten(a_system(6, 0.0, mass_kg=5.0), plain)
    assert not is_beaten(a_system(6, 0.0, mass_kg=5.0), plain, "mass")
    assert not is_beaten(a_system(6, 0.0, cost_per_year="0.10"), plain, "cost_per_year")


def test_a_brief_is_keyed_by_the_very_bytes_that_plain_json_writes():
    """A catalogue is written once for all Briefs that share it: the key must not tell."""
    one = library_brief(12, "lifepo4", "small")
    other = one.model_copy(update={"title": "Ölfass", "catalogue": one.catalogue[1:]})
    for brief in (one, one.model_copy(update={"title": "again"}), other, one):
        said = json.dumps(brief.model_dump(mode="json"), sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        assert canonical(brief) == said.encode()
