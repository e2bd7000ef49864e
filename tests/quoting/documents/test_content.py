"""Snapshots into words and numbers, compared as whole values."""

from __future__ import annotations

import pytest

from quoting.documents.build_test import expected_words
from quoting.documents.builders import content_of, open_for
from quoting.documents.common import UnknownSnapshot
from quoting.documents.content import Bar, Check, Named, Priced, PriceGroup, ShedStep, Sum, Use
from quoting.documents.content_wiring import ModuleBlock, OutputRow
from quoting.documents.text import strong, unmarked
from quoting.sizing.appraisal import Expectation
from tests.quoting.documents import sample


def content(kind, body, personal=sample.PERSONAL):
    return content_of(kind, open_for(kind, body, personal, sample.CHECKSUM))


def line(name="Battery", quantity="2", unit="each", price="100.00", amount="200.00", group="storage"):
    return {
        "group": group,
        "name": name,
        "quantity": quantity,
        "unit": unit,
        "unit_price": price,
        "amount": amount,
        "mass_kg": 1.0,
        "rule": "",
    }


def test_lines_stand_in_groups_with_their_sums():
    body = sample.quote_body()
    body["offer"] = sample.offer_of(
        [
            line("Fitting", "1.5", "h", "118.00", "177.00", "labour"),
            line("Battery", "2", "each", "740.00", "1480.00"),
            line("Tray", "1", "each", "165.50", "165.50"),
            line("Cable", "10.4", "m", "14.80", "153.92", "conductors"),
        ]
    )

    groups = content("quote", body).groups

    assert groups == (
        PriceGroup(
            "Battery and main protection",
            (Priced("Battery", "2", "", "740.00", "1,480.00"), Priced("Tray", "1", "", "165.50", "165.50")),
            "1,645.50",
        ),
        PriceGroup("Cable", (Priced("Cable", "10.4", "m", "14.80", "153.92"),), "153.92"),
        PriceGroup("Labour", (Priced("Fitting", "1.50", "h", "118.00", "177.00"),), "177.00"),
    )


def test_cable_and_terminals_stand_in_few_lines_that_add_up():
    """By hand: 1.85 + 9.95 + 1.85 = 13.65 for 7 m of 2.5 mm²; 0.52 × 4 + 0.81 × 2 = 3.70."""
    body = sample.quote_body()
    body["parts"] = {
        "r": part("cable", "Ossery C5-2.5R", area_mm2=2.5, insulation_c=105, colour="red", ohm_per_km_20c=7.98),
        "b": part("cable", "Ossery C5-2.5B", area_mm2=2.5, insulation_c=105, colour="black", ohm_per_km_20c=7.98),
        "t": part("terminal", "Ossery BT-2.5", area_mm2=2.5, stud_mm=0, form="blade"),
        "u": part("terminal", "Ossery RT-6-8", area_mm2=6, stud_mm=8, form="ring"),
    }
    body["offer"] = sample.offer_of(
        [
            line("Cable, 2.5 mm², red (Ossery C5-2.5R)", "1.0", "m", "1.85", "1.85", "conductors"),
            line("Cable, 2.5 mm², black (Ossery C5-2.5B)", "5.0", "m", "1.99", "9.95", "conductors"),
            line("Cable, 2.5 mm², red (Ossery C5-2.5R)", "1.0", "m", "1.85", "1.85", "conductors"),
            line("Terminal, 2.5 mm² (Ossery BT-2.5)", "4", "each", "0.52", "2.08", "conductors"),
            line("Terminal, 6 mm² (Ossery RT-6-8)", "2", "each", "0.81", "1.62", "conductors"),
        ]
    )

    groups = content("quote", body).groups

    assert groups == (
        PriceGroup(
            "Cable",
            (
                Priced("Cable, 2.5\u00a0mm², red and black", "7.0", "m", "", "13.65"),
                Priced("Crimp terminals, 2.5\u00a0mm² to 6\u00a0mm²", "6", "", "", "3.70"),
            ),
            "17.35",
        ),
    )


def part(kind, name, **spec):
    return {"kind": kind, "name": name, "part_number": "", "spec": spec, "mass_kg": 0.1}


def test_sums_lead_from_lines_to_what_is_to_pay():
    """By hand: 1000.00 + 30.00 sundries - 51.50 = 978.50; tax 97.85; 1076.35 is a multiple of 0.05."""
    body = sample.quote_body()
    body["offer"] = sample.offer_of([line(amount="1000.00")])

    assert content("quote", body).sums == (
        Sum("Parts", "1,000.00"),
        Sum("Labour", "0.00"),
        Sum("Sundries", "30.00"),
        Sum("Discount, 5\u00a0%", "−51.50"),
        Sum("Before tax", "978.50", strong=True),
        Sum("Tax (GST), 10\u00a0%", "97.85"),
        Sum("To pay", "$1,076.35", strong=True, due=True),
        Sum("of it on acceptance, deposit", "215.27"),
    )


@pytest.mark.parametrize(
    ("language", "currency", "printed"),
    [("de_DE", "EUR", "1.076,35\u00a0€"), ("ja_JP", "JPY", "￥1,076"), ("en_US", "USD", "$1,076.35")],
)
def test_money_speaks_the_workshops_language(language, currency, printed):
    body = sample.quote_body()
    body["workshop"].update(language=language, currency=currency)
    body["offer"]["total"] = "1076.35"

    due = next(each for each in content("quote", body).sums if each.due)

    assert due.amount == printed


@pytest.mark.parametrize(
    ("use", "words"),
    [
        ({"way": "steady", "power_w": 24, "hours_per_day": 4, "duty_ratio": 1.0}, "4 hours at 24\u00a0W"),
        (
            {"way": "steady", "power_w": 24, "hours_per_day": 1, "duty_ratio": 0.5},
            "1 hour at 24\u00a0W, on 50\u00a0% of them",
        ),
        (
            {"way": "recharge", "pack_wh": 77, "charges_per_day": 2, "charger_efficiency_ratio": 0.9, "power_w": 90},
            "2 charges of 77\u00a0Wh",
        ),
        (
            {"way": "event", "power_w": 1300, "minutes": 4, "times_per_day": 3},
            "4\u00a0min at 1\u202f300\u00a0W, 3 times",
        ),
    ],
)
def test_each_way_of_use_has_its_words(use, words):
    body = sample.quote_body()
    load = next(each for each in body["brief"]["loads"] if each["key"] == "lights")
    load.update(use=use, quantity=1)
    worked = next(each for each in body["appraisal"]["loads"] if each["key"] == "lights")

    uses = content("quote", body).uses

    assert Use(worked["name"], words, f"{worked['energy_wh']:.0f}") in uses


def test_uses_add_up_to_the_day():
    made = content("quote", sample.quote_body())

    total = sum(int(use.energy.replace("\u202f", "")) for use in made.uses)

    assert abs(total - int(made.uses_total.energy.replace("\u202f", ""))) <= len(made.uses) / 2


def test_mass_is_held_against_the_payload():
    body = sample.quote_body()
    body["offer"]["mass_kg"] = 71.7
    body["brief"]["vehicle"]["payload_left_kg"] = 60.0

    mass = next(each for each in content("quote", body).conditions if each.heading == "Mass")

    assert mass == Named(
        "Mass",
        (
            (
                "The system adds about 71.7\u00a0kg. That is 11.7\u00a0kg more than the 60\u00a0kg of payload left: "
                "something else must come out."
            ),
        ),
    )


def test_limits_stand_beside_what_it_runs():
    body = sample.quote_body()
    body["appraisal"]["findings"].append(
        {
            "level": "warning",
            "code": "sheds",
            "subject": "stop:1",
            "params": {"name": "Ridge", "lowest_ratio": 0.2, "hour": 5, "shed_wh": 120.0},
        }
    )

    made = content("quote", body)

    assert any(each.startswith("Loads are let go at Ridge.") for each in made.runs_not)
    assert not any("let go at Ridge" in each.title for each in made.notices)


def test_erased_people_leave_their_place():
    made = content("quote", sample.quote_body(), None)

    assert made.frame.facts[0].lines == (strong("erased on request"),)
    assert "plate: erased on request" in made.frame.facts[1].lines


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"minimum": 9.6, "unit": "V"}, "≥ 9.6"),
        ({"minimum": 0.0, "maximum": 0.1, "unit": "V"}, "≤ 0.100"),
        ({"minimum": 38.0, "maximum": 42.0, "unit": "A"}, "38 to 42"),
        ({"minimum": 25.0, "maximum": 25.0}, "25"),
        ({"answer": "yes"}, "yes"),
        ({}, "write down"),
    ],
)
def test_expectations_say_what_to_read(asked, words):
    assert expected_words(Expectation(key="k", group="drop", code="drop_positive", **asked)) == words


def test_a_reading_stands_beside_its_expectation():
    body = sample.as_built_body()
    key = body["readings"][1]["key"]
    body["readings"][1].update(value=9.4, passed=False)

    made = content("test_sheet", body)
    check = next(each for group in made.groups for each in group.checks if each.no == "2")

    assert key == "cranking_v"
    assert check == Check("2", "Cranking voltage, lowest", "≥ 9.6", "9.4", "V", False, "Ines Okafor-Brandt")
    assert "Failed: no. 2." in made.result


def test_the_licensed_part_waits_for_its_person():
    made = content("test_sheet", sample.as_built_body())
    open_checks = [check for group in made.licensed for check in group.checks]

    assert {check.passed for check in open_checks} == {None}
    assert f"passed, 0 of {len(open_checks)}, {len(open_checks)} open." in unmarked(made.result)


def test_switched_outputs_say_when_they_let_go():
    body = sample.design_body()
    body["appraisal"]["channels"] = [
        {
            "part": "ossery-sw-8",
            "tag": "K2",
            "channel": 3,
            "circuit": "C5",
            "limit_a": 15.0,
            "load_a": 11.285,
            "shed_below_ratio": 0.2,
        }
    ]

    body["appraisal"]["modules"] = []

    modules = content("wiring", body).modules

    row = OutputRow("3", "K2", "C5 Laptops", "11.3", "15.0", "Away set", "at 20\u00a0%")
    assert modules == (ModuleBlock("Ossery SW-8", "", (row,)),)


def test_handover_bars_say_when_they_end():
    body = sample.as_built_body()
    body["appraisal"]["lasting"] = [
        {
            "key": "everything",
            "name": "",
            "power_w": 60.0,
            "new_h": 110.0,
            "worn_h": 88.0,
            "until": "shed",
            "until_ratio": 0.3,
        }
    ]

    bar = content("handover", body).charts[0].bars[0]

    assert bar == Bar("Everything", "until things go off at 30\u00a0%", 88.0, 110.0)


def test_shedding_goes_from_the_first_to_the_deepest():
    body = sample.as_built_body()
    for load in body["appraisal"]["loads"]:
        if load["name"] == "Camp and cargo lights":
            load["shed_below_ratio"] = 0.3

    made = content("handover", body).shedding

    assert made == (ShedStep(0.3, "Camp and cargo lights"), ShedStep(0.2, "Satellite terminal, Laptops"))


def test_no_inverter_no_words_of_one():
    body = sample.as_built_body()
    got = body["appraisal"]
    got["nodes"] = [n for n in got["nodes"] if n["what"] not in ("inverter", "outlet", "inlet", "mains_charger")]
    got["chosen"] = [c for c in got["chosen"] if c["role"] not in ("inverter", "mains_charger", "inlet")]
    del got["figures"]["inverter.got_w"]

    made = content("handover", body)

    assert "Residual-current device tripped" not in [each.heading for each in made.trouble]
    assert made.emergency[3].sentences == ("Take the source away first, then help, and call.",)


def test_a_paper_is_refused_from_the_wrong_snapshot():
    with pytest.raises(
        UnknownSnapshot, match=r"handover is made from loomwright\.as_built/1, not from 'loomwright\.quote/1'"
    ):
        open_for("handover", sample.quote_body(), None, "")
    with pytest.raises(UnknownSnapshot, match="'poster' is no paper"):
        open_for("poster", {}, None, "")


def test_what_two_stops_say_alike_stands_once():
    body = sample.design_body()
    finding = body["appraisal"]["findings"][0]
    body["appraisal"]["findings"].append(dict(finding))

    notices = content("diagram", body).notices

    assert len(notices) == len(set(notices)) == len(content("diagram", sample.design_body()).notices)


def test_nobody_is_asked_about_an_inverter_that_is_not_there():
    body = sample.design_body()
    assert any("inverter" in question for question in content("diagram", body).questions)
    body["appraisal"]["chosen"] = [part for part in body["appraisal"]["chosen"] if part["role"] != "inverter"]

    for kind in ("diagram", "test_sheet"):
        questions = content(kind, body).questions
        assert questions
        assert not any("inverter" in question for question in questions)
