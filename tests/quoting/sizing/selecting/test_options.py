"""What options there are, what they give to which row, and what wishes leave of them."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from functools import cache
from typing import Any

import pytest

from catalog.kinds.capabilities import EngineCharging, MainsCharging, SolarControl, Storage, at
from quoting.sizing.appraisal import Chosen
from quoting.sizing.appraise import appraise, once_through
from quoting.sizing.brief import Brief, Kept, Part
from quoting.sizing.brief_choosing import BatterySpace, Pick, RoofArea, Taken
from quoting.sizing.choice import choose
from quoting.sizing.needs import Needs
from quoting.sizing.parts import Catalogue
from quoting.sizing.selecting.options import Everything, Rest, Use, everything, problem_of, steered
from quoting.sizing.selecting.options_array import taken_of
from quoting.sizing.selecting.options_ask import Ask
from quoting.sizing.selecting.options_beside import beside_each
from quoting.sizing.selecting.options_strings import beside_strings
from quoting.sizing.selecting.problem import Answer, Option, Problem, Row
from quoting.sizing.selecting.records import Market, MarketPart, Steer
from quoting.sizing.selecting.solving import meets, solve
from quoting.sizing.system import assemble
from quoting.sizing.topology import way
from tests.quoting.sizing.library_case import brief as library_brief
from tests.quoting.sizing.selecting.many_parts import with_many

NO_WISH = Steer()
SYSTEMS = [(v, c, d) for v in (12, 24) for c in ("lifepo4", "agm") for d in ("small", "medium", "large")]


def at_cost(brief: Brief) -> Market:
    """Everything at what it costs, all on the shelf, fitting free."""
    return Market(parts={p.key: MarketPart(price=p.cost, stock=200) for p in brief.catalogue})


@cache
def job(system_v: int = 12, chemistry: str = "lifepo4", demand: str = "medium") -> tuple[Brief, Needs]:
    """A library job with the needs that its greedy choice settles to."""
    brief = library_brief(system_v, chemistry, demand)
    parts, chosen = Catalogue.of(brief), ()
    for _ in range(3):
        needs = once_through(brief, assemble(brief, chosen, parts))[2]
        chosen = choose(brief, needs).chosen
    return brief, needs


def answer_of(brief: Brief, needs: Needs, steer: Steer = NO_WISH, market: Market | None = None, **more: Any) -> Answer:
    found = solve(problem_of(brief, needs, market or at_cost(brief), steer, **more), "price")
    assert found is not None
    return found


def taken(answer: Answer, group: str) -> Option:
    return next(option for option in answer.options if group in option.fills)


def beside(brief: Brief, needs: Needs, chosen: Sequence[Chosen]) -> float:
    """What parts bring with them: what holds each, what joins strings side by side."""
    ask = Ask(brief, Catalogue.of(brief).free(), needs, at_cost(brief))
    found = math.fsum(c.quantity * beside_each(ask.parts, ask.market, c.role, c.part).price for c in chosen)
    bank = next(c for c in chosen if c.role == "battery")
    return found + beside_strings(ask, ask.parts.can(bank.part, Storage), bank.series, bank.parallel).price


def with_wishes(brief: Brief, **wishes: Any) -> Brief:
    return brief.model_copy(update={"wishes": brief.wishes.model_copy(update=wishes)})


def with_vehicle(brief: Brief, **vehicle: Any) -> Brief:
    return brief.model_copy(update={"vehicle": brief.vehicle.model_copy(update=vehicle)})


def with_part(brief: Brief, like: str, key: str, cost: str, **spec: Any) -> Brief:
    """The same job with another part in the catalogue, like one that is there."""
    part = next(p for p in brief.catalogue if p.key == like)
    more = part.model_copy(update={"key": key, "name": key, "cost": cost, "spec": {**part.spec, **spec}})
    return brief.model_copy(update={"catalogue": (*brief.catalogue, Part.model_validate(more.model_dump()))})


@pytest.mark.parametrize(("system_v", "chemistry", "demand"), SYSTEMS)
def test_programme_is_never_dearer_than_the_choice_need_by_need(system_v: int, chemistry: str, demand: str) -> None:
    """Both meet the same needs from the library, within seven per cent; what holds and joins the parts is counted.

    A charger with several inputs may be set to less than the alternator spares where needs are chosen for one by one;
    the programme asks of it what single ones would give, and may then be dearer.
    """
    brief, needs = job(system_v, chemistry, demand)
    greedy = choose(brief, needs)
    cost = {p.key: Decimal(p.cost) for p in brief.catalogue}
    problem = problem_of(brief, needs, at_cost(brief), NO_WISH)

    found = solve(problem, "price")

    assert (found is None) == any(s.code != "no_match" for s in greedy.shortfalls)
    if found is None:
        return
    whole = float(sum((cost[c.part] * c.quantity for c in greedy.chosen if not c.same_as), Decimal(0)))
    whole += beside(brief, needs, greedy.chosen)
    engine = next(c for c in greedy.chosen if "engine_charging" in c.serves)
    given_a = engine.output_limit_a or math.inf
    asked_a = next(r.least for r in problem.rows if r.name == "engine_a")
    assert found.objective <= whole + 1e-3 or (engine.role == "multi_charger" and given_a < asked_a)
    assert found.objective == pytest.approx(whole, rel=0.07)


def test_order_of_the_catalogue_moves_nothing() -> None:
    brief, needs = job()
    turned = brief.model_copy(update={"catalogue": brief.catalogue[::-1]})

    assert problem_of(turned, needs, at_cost(brief), NO_WISH) == problem_of(brief, needs, at_cost(brief), NO_WISH)


MOUNT, LINK, BAR = 68.00, 40.38, 24.00
"""For one LF-100: mounting; link of 125 A that breaks 14.4 V / 4 mΩ = 3600 A, and holder; bars of 150 A."""
JOINED = 2 * MOUNT + 4 * LINK + 2 * BAR


def test_an_option_costs_its_parts_and_what_fits_holds_and_joins_them() -> None:
    """By hand: two batteries, each fitted for 60.00; two leads with a link at both ends; bars of either pole.

    Each lead has eight ends of 5.00, two links to fit for 9.00; it is labelled for 2.00 and tested for 4.00.
    """
    brief, needs = job()
    parts = {p.key: MarketPart(price=p.cost, stock=1) for p in brief.catalogue}
    labour = {"fit_battery": "60", "fit_charger": "80", "program_settings": "25", "terminate": "5", "fit_device": "9",
              "label_circuit": "2", "test_circuit": "4"}  # fmt: skip
    options = {o.key: o for o in problem_of(brief, needs, Market(parts=parts, labour=labour), NO_WISH).options}
    cost = {p.key: float(p.cost) for p in brief.catalogue}
    mass = {p.key: p.mass_kg for p in brief.catalogue}

    two, charger = options["battery:LF-100:2x1"], options["engine_charger:EC-40:1x1"]

    leads = 2 * (8 * 5 + 2 * 9 + 2 + 4)
    assert two.price == pytest.approx(2 * (cost["LF-100"] + 60) + JOINED + leads)
    assert two.mass_kg == pytest.approx(2 * mass["LF-100"] + 2 * 2.1 + 0.88)
    assert two.waits
    assert not charger.waits
    assert charger.price == pytest.approx(cost["EC-40"] + 80 + 25)
    assert charger.yearly == pytest.approx(charger.price / 12, abs=1e-4)


def test_a_battery_counts_for_the_years_that_its_cycles_last() -> None:
    """By hand: 1200 Wh of 12.8 V are 93.75 Ah a day; of 200 Ah 46.9 %, within 6000 cycles: 16.4, held to 15 years.

    Of 100 Ah 93.75 %: 3500 - (3500 - 2200) * 13.75 / 20 = 2606 cycles, 7.14 years.
    """
    brief, needs = job()
    options = {
        o.key: o for o in problem_of(brief, needs, at_cost(brief), NO_WISH, use=Use(day_wh=1200, cells_c=25)).options
    }
    cost = {p.key: float(p.cost) for p in brief.catalogue}

    assert options["battery:LF-100:2x1"].yearly == pytest.approx(2 * cost["LF-100"] / 15 + JOINED / 12, abs=1e-3)
    assert options["battery:LF-100:1x1"].yearly == pytest.approx(cost["LF-100"] / 7.136 + MOUNT / 12, rel=1e-3)


def test_each_further_string_of_panels_has_leads_of_its_own() -> None:
    """The same panels one behind the other or side by side: both conductors end at panel, device and controller."""
    brief, needs = job()
    market = at_cost(brief).model_copy(update={"labour": {"terminate": "5", "run_cable_m": "1", "test_circuit": "4"}})
    options = {o.key: o.price for o in problem_of(brief, needs, market, NO_WISH).options if "array" in o.fills}
    run_m = way(brief.vehicle, brief.vehicle.places["array"], brief.vehicle.places["charger"]).run_m
    pairs = [
        (key, key.replace("2x2", "2x1")) for key in options if ":2x2" in key and key.replace("2x2", "2x1") in options
    ]

    assert pairs
    assert all(options[aside] - options[behind] == pytest.approx(6 * 5 + 4 + 2 * run_m) for behind, aside in pairs)


def test_what_nobody_states_the_life_of_counts_as_the_shortest_lived() -> None:
    brief, needs = job()
    brief = with_part(brief, "LF-100", "UNKNOWN", "1.00", cycles=[])
    unheld = tuple(part for part in brief.catalogue if not part.key.startswith("MT-"))
    brief = brief.model_copy(update={"catalogue": unheld})
    use = Use(day_wh=1200, cells_c=25)
    options = {o.key: o for o in problem_of(brief, needs, at_cost(brief), NO_WISH, use=use).options}
    single = {k: o for k, o in options.items() if k.startswith("battery:") and o.picks[0].quantity == 1}
    shortest = min(o.price / o.yearly for k, o in single.items() if "UNKNOWN" not in k)

    found = options["battery:UNKNOWN:1x1"]

    assert found.price / found.yearly == pytest.approx(shortest, rel=0.01)


# --- What is kept, settled, pinned, banned ------------------------------------------------------------------------


def test_what_is_kept_is_the_only_option_and_costs_nothing() -> None:
    brief, needs = job()
    kept = brief.model_copy(update={"kept": (Kept(part="LF-300", quantity=1, role="battery"),)})

    problem = problem_of(kept, needs, at_cost(brief), NO_WISH)
    found = answer_of(kept, needs)

    (only,) = (o for o in problem.options if "battery" in o.fills)
    assert (only.price, only.mass_kg, only.picks, only.kept[0].part) == (0.0, 0.0, (), "LF-300")
    assert found.objective == pytest.approx(answer_of(brief, needs).objective - 2080.0 - 138.0)  # with its mounting


def test_a_kept_array_may_be_larger_than_its_controller() -> None:
    """Ten panels on the roof already: a controller that gives less than they could holds them back."""
    brief, needs = job()
    brief = with_vehicle(brief, roof_length_m=None, roof_width_m=None)
    kept = brief.model_copy(update={"kept": (Kept(part="TM-100", quantity=10, role="panel"),)})

    array = taken(answer_of(kept, needs), "array")

    assert array.kept[0].quantity == 10
    assert array.price == 0.0


def test_kept_charger_with_several_inputs_serves_what_has_none_of_its_own() -> None:
    brief, needs = job()
    multi = Kept(part="MC-30", quantity=1, role="multi_charger")
    own = Kept(part="TC-30", quantity=1, role="solar_controller")

    both = everything(brief.model_copy(update={"kept": (multi,)}), needs, at_cost(brief))
    one = everything(brief.model_copy(update={"kept": (multi, own)}), needs, at_cost(brief))

    assert {o.fills for o in both.options if o.kept} == {("engine", "solar")}
    assert {o.fills for o in one.options if o.kept} == {("engine",), ("solar",)}


def test_a_swap_is_the_only_option_in_its_number_and_marked() -> None:
    brief, needs = job()
    swaps = (Pick(role="battery", part="LF-100", quantity=4), Pick(role="inverter", part="PS-2000"))

    found = answer_of(brief, needs, Steer(swaps=swaps))

    assert taken(found, "battery").picks == (Pick(role="battery", part="LF-100", quantity=4, by_hand=True),)
    assert taken(found, "inverter").picks == (Pick(role="inverter", part="PS-2000", by_hand=True),)
    assert not taken(found, "engine").picks[0].by_hand


def test_what_was_settled_by_hand_is_not_left_out_by_a_ban() -> None:
    brief, needs = job()
    brief = with_wishes(brief, banned=("PS-2000",))

    assert solve(problem_of(brief, needs, at_cost(brief), NO_WISH), "price") is not None
    found = answer_of(brief, needs, Steer(swaps=(Pick(role="inverter", part="PS-2000"),)))
    assert taken(found, "inverter").parts == ("PS-2000",)


def test_bans_and_pins_hold_for_whatever_a_part_can_do() -> None:
    brief, needs = job()
    first = answer_of(brief, needs)
    part = taken(first, "engine").parts[0]

    banned = answer_of(with_wishes(brief, banned=(part,)), needs)
    pinned = problem_of(with_wishes(brief, pinned=("MC-50",)), needs, at_cost(brief), NO_WISH)

    assert part not in {p for o in banned.options for p in o.parts}
    assert {o.parts[0] for o in pinned.options if {"engine", "solar"} & set(o.fills)} == {"MC-50"}
    assert len({o.parts[0] for o in pinned.options if "inverter" in o.fills}) > 5


def test_every_option_comes_back_when_a_wish_is_lifted() -> None:
    """Steering takes options out and changes none: what is left has the same key and gives the same."""
    brief, needs = job()
    whole = {o.key: o for o in problem_of(brief, needs, at_cost(brief), NO_WISH).options}
    wished = with_wishes(brief, banned=("LF-300", "EC-40"), pinned=("PS-2000",))

    left = problem_of(wished, needs, at_cost(brief), Steer(suppliers_wanted=("nobody",))).options

    assert 0 < len(left) < len(whole)
    assert all(whole[o.key] == o for o in left)


# --- The market ---------------------------------------------------------------------------------------------------


def shelf(brief: Brief, supplier: str = "ashby", **parts: MarketPart) -> Market:
    found = {p.key: MarketPart(price=p.cost, supplier=supplier, stock=200, lead_days=9) for p in brief.catalogue}
    return Market(parts={**found, **{key.replace("_", "-"): part for key, part in parts.items()}})


def test_suppliers_are_banned_and_wanted() -> None:
    brief, needs = job()
    market = shelf(brief, PS_2000=MarketPart(price="986", supplier="corrie", stock=9))
    market = shelf(brief, PS_2000=market.parts["PS-2000"], PS_300=MarketPart(price="214", supplier="corrie", stock=9))

    wanted = answer_of(brief, needs, Steer(suppliers_wanted=("corrie",)), market)
    banned = problem_of(brief, needs, market, Steer(suppliers_banned=("corrie",)))

    assert taken(wanted, "inverter").parts == ("PS-2000",)  # the small one of theirs does not do what is asked
    assert {"PS-2000", "PS-300"}.isdisjoint(p for o in banned.options for p in o.parts)
    assert taken(wanted, "battery") == taken(answer_of(brief, needs, market=market), "battery")


def test_only_as_many_as_are_on_the_shelf_need_no_waiting() -> None:
    brief, needs = job()
    market = shelf(brief, LF_100=MarketPart(price="1", stock=1, lead_days=30))

    keys = {o.key for o in problem_of(brief, needs, market, Steer(most_lead_days=10)).options}

    assert "battery:LF-100:1x1" in keys
    assert "battery:LF-100:2x1" not in keys


def test_stock_is_preferred_as_far_as_the_policys_premium() -> None:
    brief, needs = job()
    part = taken(answer_of(brief, needs), "monitor").parts[0]
    dearer = with_part(
        brief, part, "THERE", f"{float(next(p.cost for p in brief.catalogue if p.key == part)) * 1.08:.2f}"
    )
    parts = {p.key: MarketPart(price=p.cost, stock=int(p.key != part) * 9) for p in dearer.catalogue}

    assert taken(answer_of(dearer, needs, market=Market(parts=parts)), "monitor").parts == (part,)
    found = answer_of(dearer, needs, Steer(prefer_stock=True), Market(parts=parts))
    assert taken(found, "monitor").parts == ("THERE",)


# --- Limits -------------------------------------------------------------------------------------------------------


def test_budget_and_mass_hold_for_the_whole_with_what_is_beside() -> None:
    """A budget a cent under the cheapest leaves nothing; mass a gram under the lightest neither."""
    brief, needs = job()
    whole = answer_of(brief, needs).objective
    lightest = solve(problem_of(brief, needs, at_cost(brief), NO_WISH), "mass")
    assert lightest is not None

    def left(steer: Steer, rest: Rest) -> Answer | None:
        return solve(problem_of(brief, needs, at_cost(brief), steer, rest), "price")

    assert left(Steer(budget=f"{whole + 250:.2f}"), Rest(price=250.0)) is not None
    assert left(Steer(budget=f"{whole + 249.99:.2f}"), Rest(price=250.0)) is None
    assert left(Steer(most_mass_kg=lightest.mass_kg + 7), Rest(mass_kg=7.0)) is not None
    assert left(Steer(most_mass_kg=lightest.mass_kg + 6.999), Rest(mass_kg=7.0)) is None


def test_payload_that_is_left_holds_as_a_wish_would() -> None:
    brief, needs = job()
    lightest = solve(problem_of(brief, needs, at_cost(brief), NO_WISH), "mass")
    assert lightest is not None
    full = with_vehicle(brief, payload_left_kg=lightest.mass_kg - 0.01)

    assert solve(problem_of(full, needs, at_cost(brief), NO_WISH), "price") is None


def test_panels_lie_on_the_surveyed_areas() -> None:
    """A roof that takes two of a panel of 1.05 by 0.54 m and no more, for its hatch in the middle."""
    brief, needs = job()
    hatch = Taken(x_m=1.2, y_m=0.0, length_m=0.5, width_m=0.7)
    area = RoofArea(key="roof", name="Roof", length_m=2.9, width_m=0.7, taken=(hatch,))
    roofed = with_vehicle(brief, roof=(area,))

    problem = problem_of(roofed, needs, at_cost(brief), NO_WISH)

    (row,) = (r for r in problem.rows if r.name == "roof_m2")
    assert row.most == pytest.approx(2.9 * 0.7 - 0.5 * 0.7)
    length, width = next((p.spec["length_m"], p.spec["width_m"]) for p in brief.catalogue if p.key == "TM-100")
    assert max(length, width) < 1.2 < 2 * max(length, width)
    by_count = {o.picks[0].quantity: o for o in problem.options if o.parts == ("TM-100",)}
    assert {count: row.holds(o.gives["roof_m2"]) for count, o in by_count.items() if count < 5} == {
        1: True, 2: True, 3: False, 4: False,
    }  # fmt: skip


def test_batteries_stand_in_their_spaces() -> None:
    """A box for two of a battery of 330 x 172 x 220 mm, with 10 mm round each."""
    brief, needs = job()
    size = {"length_mm": 330.0, "width_mm": 172.0, "height_mm": 220.0}
    box = BatterySpace(key="box", name="Box", length_mm=350, width_mm=374, height_mm=230)
    low = box.model_copy(update={"height_mm": 229.0})
    brief = with_part(brief, "LF-100", "BOXED", "1.00", **size)

    def fit(space: BatterySpace) -> list[bool]:
        problem = problem_of(with_vehicle(brief, battery_spaces=(space,)), needs, at_cost(brief), NO_WISH)
        (row,) = (r for r in problem.rows if r.name == "battery_space_m2")
        options = {o.picks[0].quantity: o for o in problem.options if o.parts == ("BOXED",)}
        return [row.holds(options[count].gives["battery_space_m2"]) for count in (1, 2, 3)]

    assert fit(box) == [True, True, False]
    assert fit(low) == [False, False, False]
    assert taken_of(0.13, 0.057, 3, 2) == pytest.approx(0.13 * 3 / 2)


# --- Parts that go together ---------------------------------------------------------------------------------------


def test_a_part_that_monitors_and_switches_is_bought_once() -> None:
    """A monitor with switched outputs at less than a monitor and a module together, at more than either."""
    brief, needs = job(demand="small")
    limits = next(p.spec["channel_limits_a"] for p in brief.catalogue if p.key == "SO-12")
    one = with_part(
        brief, "BM-300", "BOTH", "400.00", channel_limits_a=limits, channels_protect=True, channels_shed=True
    )

    found = answer_of(one, needs)

    both = taken(found, "monitor")
    assert both.fills == ("switching", "monitor")
    assert {pick.role for pick in both.picks} == {"switching", "monitor"}
    assert both.price == pytest.approx(400.0)


def test_an_inverter_with_outputs_is_bought_once_and_proved() -> None:
    """An inverter of 512.00 and a module of 540.00, or an inverter with as many outputs for 900.00."""
    brief, needs = job()
    limits = next(p.spec["channel_limits_a"] for p in brief.catalogue if p.key == "SO-12")
    channels = {
        "channel_limits_a": limits,
        "channels_protect": True,
        "channels_shed": True,
        "channel_breaking_a": 20000.0,
    }
    one = with_part(brief, "PS-1000", "BOTH", "900.00", **channels)

    bare, found = answer_of(brief, needs), answer_of(one, needs)
    proof = appraise(one.model_copy(update={"picks": found.picks}))

    assert taken(found, "inverter") is taken(found, "switching")
    assert found.objective == pytest.approx(bare.objective - (512 + 540 - 900))
    assert [line.quantity for line in proof.bill if line.part == "BOTH"] == [1]
    assert {c.role for c in proof.chosen if c.part == "BOTH"} == {"inverter", "switching"}
    assert [s.code for s in proof.shortfalls if s.subject in ("inverter", "switching")] == []


def test_inputs_that_are_watched_are_had_from_what_is_chosen_or_from_a_reader() -> None:
    from quoting.sizing.brief_wiring import Sense

    brief, needs = job()
    place = brief.vehicle.positions[0].key
    senses = tuple(Sense(key=f"t{i}", name=f"Tank {i}", what="tank", position=place) for i in range(4))

    bare, watched = answer_of(brief, needs), answer_of(brief.model_copy(update={"senses": senses}), needs)

    assert all("sensing" not in o.fills for o in bare.options)
    reader = taken(watched, "sensing")
    have = sum(o.gives.get("inputs:resistance", 0.0) for o in watched.options)
    assert have >= 4
    assert reader.picks or have - reader.gives.get("inputs:resistance", 0.0) >= 4


def test_twenty_four_volts_ask_a_converter_that_carries_every_circuit() -> None:
    brief, needs = job(24, demand="medium")
    assert needs.converter is not None

    found = answer_of(brief, needs)

    assert taken(found, "converter").picks[0].quantity >= 1


def test_each_chemistry_is_asked_what_its_own_chargers_give_where_the_alternator_limits() -> None:
    """The alternator spares 18 A: a setting of 15 A is the best for lithium, for lead-acid one of 17 A."""
    brief, needs = job()
    brief = with_wishes(brief, chemistries=("lifepo4", "agm"))
    engines = [p for p in brief.catalogue if p.kind == "dcdc_charger" and p.spec["input_nominal_v"] == 12]
    others = tuple(p for p in brief.catalogue if p.kind not in ("dcdc_charger", "multi_charger"))
    spec = {**engines[0].spec, "output_nominal_v": 12, "derating_ratio": [], "output_a": 30.0}
    lithium = {**spec, "limit_steps_a": [15.0], "profiles": ["lifepo4", "agm"]}
    lead = {**spec, "limit_steps_a": [17.0], "profiles": ["agm"]}
    made = tuple(
        Part.model_validate({**engines[0].model_dump(), "key": key, "name": key, "spec": its, "cost": "100.00"})
        for key, its in (("LITHIUM", lithium), ("LEAD", lead))
    )
    brief = brief.model_copy(update={"catalogue": (*others, *made)})
    needs = replace(needs, engine_a=40.0, engine_most_a=18.0, solar=None, mains_a=None)
    ah = needs.battery.capacity_ah["lifepo4"]
    needs = replace(needs, battery=replace(needs.battery, capacity_ah={"lifepo4": ah, "agm": ah}))

    problem = problem_of(brief, needs, at_cost(brief), NO_WISH)

    assert {r.name: r.least for r in problem.rows if r.code == "engine_a"} == {
        "engine_a:agm": 17.0, "engine_a:lifepo4": 15.0,
    }  # fmt: skip
    pairs = {("LF-300", "LITHIUM"): True, ("LF-300", "LEAD"): False}
    rows = [r for r in problem.rows if r.code in ("engine_a", "profile_engine")]
    for (battery, charger), goes in pairs.items():
        options = (option_of(problem, battery), option_of(problem, charger))
        assert goes is all(r.holds(math.fsum(o.gives.get(r.name, 0.0) for o in options)) for r in rows)


def option_of(problem: Problem, part: str) -> Option:
    return next(o for o in problem.options if o.parts == (part,))


@cache
def spread() -> tuple[Brief, Needs, Problem]:
    """A catalogue of several sizes, most of them with an input for the sun beside another."""
    brief, needs = job()
    every = with_many(brief, 700)
    kinds = {"multi_charger": 12, "solar_panel": 9, "solar_controller": 8, "battery": 16}
    found: list[Part] = [p for p in every.catalogue if p.kind not in kinds]
    for kind, most in kinds.items():
        mine = [p for p in every.catalogue if p.kind == kind]
        found += mine[:: max(1, len(mine) // most)]
    brief = brief.model_copy(update={"catalogue": tuple(found)})
    return brief, needs, problem_of(brief, needs, at_cost(brief), NO_WISH)


def test_charging_rows_say_what_a_bank_takes_of_every_charger_with_every_array() -> None:
    """Against the sums themselves: each input by itself, and two at once behind one output, within its whole.

    Every bank with every charger that has a solar input and every array that the rest of the rows let them have.
    """
    brief, needs, problem = spread()
    parts = Catalogue.of(brief)
    banks = [o for o in problem.options if "battery" in o.fills]
    suns = [o for o in problem.options if "solar" in o.fills]
    arrays = [o for o in problem.options if "array" in o.fills]
    charge = [r for r in problem.rows if r.name.startswith("charge_")]
    apart = [r for r in problem.rows if r.code in ("array_sort", "array_output_w", "string_hot_v")]
    seen = {True: 0, False: 0}
    for sun, array in itertools.product(suns, arrays[::2]):
        if not all(r.holds(total((sun, array), r.name)) for r in apart):
            continue
        asked_a = most_at_once_a(brief, needs, parts, sun, array)
        for bank in banks:
            can = parts.can(bank.parts[0], Storage)
            takes_a = can.max_charge_a * bank.picks[0].quantity / bank.picks[0].series
            holds = all(r.holds(total((sun, array, bank), r.name)) for r in charge)
            assert holds is (asked_a <= takes_a + 1e-9), (sun.key, array.key, bank.key)
            seen[holds] += 1
    assert min(seen.values()) > 300


def total(options: Sequence[Option], row: str) -> float:
    return math.fsum(o.gives.get(row, 0.0) for o in options)


def most_at_once_a(brief: Brief, needs: Needs, parts: Catalogue, sun: Option, array: Option) -> float:
    """Most that a charger with the sun behind it puts into a bank at once, by the rules of the trade. [A]"""
    part = parts.part(sun.parts[0])
    solar = parts.can(part.key, SolarControl)
    panel = next(p for p in brief.catalogue if p.key == array.parts[0]).spec
    strings = array.picks[0].quantity // array.picks[0].series
    sun_a = panel["imp_a"] * strings
    if solar.method == "mppt":
        sun_a = panel["power_w"] * array.picks[0].quantity * solar.efficiency_ratio / 13.2
    beside = [0.0]
    if "engine" in sun.fills:
        engine = parts.can(part.key, EngineCharging)
        steps = [s for s in (*engine.limit_steps_a, engine.output_a) if s <= (needs.engine_most_a or math.inf) + 1e-9]
        beside.append(min(max(steps), engine.output_a * at(engine.derating, needs.compartment_c)))
    if "mains" in sun.fills:
        mains = parts.can(part.key, MainsCharging)
        beside.append(mains.output_a * at(mains.derating, needs.compartment_c))
    whole_a = float(part.spec["output_a"]) if len(sun.fills) > 1 else math.inf
    return max(min(a + sun_a, whole_a) for a in beside)


def test_an_answer_from_a_spread_catalogue_meets_every_row() -> None:
    _, _, problem = spread()
    for objective in ("price", "cost_per_year", "mass"):
        found = solve(problem, objective)  # type: ignore[arg-type]
        assert found is not None
        assert meets(problem, found.options)
        assert found.optimal


def test_what_no_other_charger_goes_beside_does_not_say_how_much_the_engine_gives() -> None:
    """By hand: of 14 A asked the single charger gives 20, but nothing for the sun goes beside it; 10 A is the most."""
    brief, _needs = job()
    single = Option("single", ("engine",), (), 1.0, 1.0, 1.0, {"engine_a": 20.0})
    both = Option("both", ("engine", "solar"), (), 1.0, 1.0, 1.0, {"engine_a": 10.0})
    sun = Option("sun", ("solar",), (), 1.0, 1.0, 1.0)
    rows, held = (Row("engine_a", "need", 14.0),), frozenset(("both",))

    def asked(*options: Option) -> float:
        every = Everything(("engine", "solar"), options, rows, held)
        return next(r.least for r in steered(every, brief, at_cost(brief), NO_WISH).rows if r.name == "engine_a")

    assert (asked(single, both), asked(single, both, sun)) == (10.0, 14.0)
