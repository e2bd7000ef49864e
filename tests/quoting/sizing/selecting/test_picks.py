"""Parts that are picked: each is the choice for its role, bought, in the number that was picked, whatever it misses."""

from __future__ import annotations

from typing import Any

import pytest

from quoting.sizing.appraisal import Appraisal, Chosen
from quoting.sizing.appraise import appraise
from quoting.sizing.brief import Brief
from quoting.sizing.brief_choosing import Pick, Room
from quoting.sizing.errors import SizingError
from tests.quoting.sizing.systems_case import battery, converter, dcdc, keeping, part, read, sunny, truck
from tests.quoting.sizing.test_choice import MULTI
from tests.quoting.sizing.wagon import wagon
from tests.quoting.sizing.worded import assert_sums_follow, assert_worded


def picking(raw: dict[str, Any], *picks: tuple[str, str, int] | tuple[str, str, int, int]) -> Brief:
    """The same with parts picked: (role, part, quantity, in series)."""
    said = [{"role": p[0], "part": p[1], "quantity": p[2], "series": p[3] if len(p) > 3 else 1} for p in picks]
    return read({**raw, "picks": said})


def picks_of(found: Appraisal) -> tuple[Pick, ...]:
    """Everything that was chosen, as picks."""
    roles = [c for c in found.chosen if c.role not in ("sensor", "coupling") and not c.kept]
    return tuple(Pick(role=c.role, part=c.part, quantity=c.quantity, series=c.series) for c in roles)  # type: ignore[arg-type]


def chosen(found: Appraisal, role: str) -> Chosen:
    return next(c for c in found.chosen if c.role == role)


def picked_shortfalls(found: Appraisal) -> dict[str, str]:
    return {s.subject: s.code for s in found.shortfalls if s.code.startswith("picked_")}


@pytest.mark.parametrize("brief", [wagon(), read(sunny()), read(truck())], ids=["wagon", "12 V", "24 V, converter"])
def test_what_was_chosen_freely_leads_to_the_very_same_system_when_it_is_picked(brief):
    free = appraise(brief)

    found = appraise(brief.model_copy(update={"picks": picks_of(free)}))

    left_out = {"brief_sha256", "chosen"}
    assert found.model_dump(exclude=left_out) == free.model_dump(exclude=left_out)
    assert [c.model_copy(update={"runner_up": ""}) for c in free.chosen] == list(found.chosen)


def test_a_picked_bank_is_exactly_that_many_and_bought():
    found = appraise(picking(sunny(), ("battery", "larkham_100", 3)))
    bank = chosen(found, "battery")

    assert (bank.part, bank.quantity, bank.series, bank.parallel, bank.kept) == ("larkham_100", 3, 1, 3, False)
    assert found.value("battery.got_ah") == 300
    assert picked_shortfalls(found) == {}
    (line,) = [x for x in found.bill if x.part == "larkham_100"]
    assert (line.quantity, line.kept) == (3, False)
    assert line.mass_kg == pytest.approx(bank.mass_kg)
    assert bank.mass_kg > 0
    assert next(x.quantity for x in found.bill if x.labour == "fit_battery") == 3
    assert_worded(found)
    assert_sums_follow(found)


def test_a_picked_bank_in_series_makes_24_v():
    found = appraise(picking(truck(), ("battery", "larkham_100", 4, 2)))
    bank = chosen(found, "battery")

    assert (bank.series, bank.parallel) == (2, 2)
    assert picked_shortfalls(found) == {}


def test_too_small_a_bank_stays_and_says_by_how_much():
    found = appraise(picking(sunny(), ("battery", "larkham_100", 1)))

    (lack,) = [s for s in found.shortfalls if s.need.code == "storage"]
    assert lack.code == "picked_too_small"
    assert chosen(found, "battery").part == "larkham_100"
    assert lack.params["short_by"] == pytest.approx(lack.params["asked"] - 100, abs=0.001)
    assert lack.params["instead"] == "larkham 200"
    assert_worded(found)


@pytest.mark.parametrize(("raw", "pick", "code"), [
    (sunny, ("battery", "larkham_100", 9), "picked_too_many"),  # its maker allows 4 in parallel
    (truck, ("battery", "larkham_100", 4), "picked_wrong_voltage"),  # all side by side are 12.8 V
    (sunny, ("battery", "larkham_100", 4, 2), "picked_wrong_voltage"),  # two in series are 25.6 V
])  # fmt: skip
def test_batteries_that_make_no_bank_are_left_out_and_say_why(raw, pick, code):
    found = appraise(picking(raw(), pick))

    assert picked_shortfalls(found)["battery"] == code
    assert not [c for c in found.chosen if c.role == "battery"]
    assert_worded(found)


def test_what_may_not_be_connected_is_left_out():
    raw = sunny()
    raw["catalogue"] += [
        dcdc("corrie_24", 25, 1, input_nominal_v=24, output_nominal_v=24, stop_below_v=23),
        dcdc("corrie_lead", 25, 1, profiles=["agm"]),
    ]

    volts = appraise(picking(raw, ("engine_charger", "corrie_24", 1)))
    chemistry = appraise(picking(raw, ("engine_charger", "corrie_lead", 1)))

    assert picked_shortfalls(volts) == {"engine_charger": "picked_wrong_voltage"}
    assert picked_shortfalls(chemistry) == {"engine_charger": "picked_wrong_chemistry"}
    for found in (volts, chemistry):
        assert not [c for c in found.chosen if c.role == "engine_charger"]
        assert_worded(found)


def test_a_charger_under_what_is_asked_is_short_where_another_gives_more():
    """By itself it would be taken for the most that the alternator's headroom feeds."""
    raw = sunny()
    raw["catalogue"].append(dcdc("corrie_5", 5, 40))

    found = appraise(picking(raw, ("engine_charger", "corrie_5", 1)))

    (lack,) = [s for s in found.shortfalls if s.subject == "engine_charger"]
    assert (lack.code, lack.params["best_value"]) == ("picked_too_small", 5)
    assert chosen(found, "engine_charger").part == "corrie_5"
    assert not [f for f in found.findings if f.code == "alternator_limits_charging"]


def test_what_is_kept_goes_before_a_pick():
    raw = keeping(sunny(), ("larkham_100", 2, "battery"))

    found = appraise(picking(raw, ("battery", "larkham_200", 1)))

    assert (chosen(found, "battery").part, chosen(found, "battery").kept) == ("larkham_100", True)


def test_a_pick_that_nothing_asks_for_is_said():
    raw = sunny()
    raw["catalogue"].append(converter())

    found = appraise(picking(raw, ("converter", "tarn_20", 1)))

    (said,) = [f for f in found.findings if f.code == "picked_not_used"]
    assert said.subject == "converter"
    assert not [x for x in found.bill if x.part == "tarn_20"]
    assert_worded(found)


def modest() -> dict[str, Any]:
    """The sun is to give half of the day's use: two panels do."""
    raw = sunny()
    raw["wishes"] = {**raw.get("wishes", {}), "solar_share_ratio": 0.5}
    return raw


def test_a_charger_of_several_inputs_serves_what_it_can():
    raw = modest()
    raw["catalogue"].append(part("pellow_multi", "multi_charger", 9999, 4, **MULTI))

    found = appraise(picking(raw, ("multi_charger", "pellow_multi", 1), ("engine_charger", "corrie_25", 1)))

    assert chosen(found, "multi_charger").serves == ("mains_charging", "solar_control")
    assert chosen(found, "engine_charger").part == "corrie_25"
    assert not picked_shortfalls(found)


def test_panels_that_the_roof_does_not_take_are_told_with_how_many_it_does():
    raw = modest()
    raw["vehicle"] |= {"roof_length_m": 1.2, "roof_width_m": 1.2}  # two of 1.1 m × 0.55 m

    found = appraise(picking(raw, ("panel", "harrowell_120", 3)))

    (lack,) = [s for s in found.shortfalls if s.need.code == "panel"]
    assert (lack.code, lack.params["best_value"], lack.params["asked"]) == ("picked_too_large", 3, 2)
    assert chosen(found, "panel").quantity == 3
    assert_worded(found)


def test_panels_beyond_what_their_controller_passes_on_are_told():
    found = appraise(picking(modest(), ("panel", "harrowell_120", 4)))

    (lack,) = [s for s in found.shortfalls if s.need.code == "solar_control"]
    # by hand: 4 × 120 W × 0.97 / 13.2 V = 35.3 A on 30 A
    assert (lack.code, lack.params["best_value"]) == ("picked_too_small", 30)
    assert lack.params["asked"] == pytest.approx(4 * 120 * 0.97 / 13.2, abs=0.001)


def test_panels_are_strung_as_they_were_picked():
    side_by_side = appraise(picking(modest(), ("panel", "harrowell_120", 2)))
    in_series = appraise(picking(modest(), ("panel", "harrowell_120", 2, 2)))

    assert [(chosen(x, "panel").series, chosen(x, "panel").parallel) for x in (side_by_side, in_series)] == [
        (1, 2), (2, 1)
    ]  # fmt: skip


@pytest.mark.parametrize(("pick", "field", "said"), [
    (("inverter", "larkham_100", 1), r"picks\[0\]\.role", "cannot be picked"),
    (("inverter", "pellow_2000", 2), r"picks\[0\]\.quantity", "1"),
    (("monitor", "quoin_monitor", 2, 2), r"picks\[0\]\.quantity", "1"),
    (("residual", "ambry_rcd", 2, 2), r"picks\[0\]\.series", "1"),
    (("battery", "larkham_100", 3, 2), r"picks\[0\]\.quantity", "no whole strings"),
])  # fmt: skip
def test_what_cannot_be_picked_is_refused(pick, field, said):
    with pytest.raises(SizingError, match=field) as refused:
        appraise(picking(sunny(), pick))

    assert said in str(refused.value)


@pytest.mark.parametrize(("picks", "said"), [
    ((("battery", "larkham_100", 1), ("battery", "larkham_200", 1)), "two parts are picked as 'battery'"),
    ((("battery", "nothing", 1),), "the picked part 'nothing' is not in the catalogue"),
])  # fmt: skip
def test_a_role_has_one_pick_of_the_catalogue(picks, said):
    with pytest.raises(SizingError, match=said):
        picking(sunny(), *picks)


# --- One part for two things ----------------------------------------------------------------------------


def two_in_one(raw: dict[str, Any], cost: float) -> dict[str, Any]:
    """The catalogue with a monitor that has eight switched outputs."""
    by_key = {p["key"]: p for p in raw["catalogue"]}
    spec = {**by_key["quoin_monitor"]["spec"]}
    limits = by_key["quoin_switch_8"]["spec"]["channel_limits_a"]
    outputs = {"channel_limits_a": limits, "channels_total_a": 100, "channels_shed": True}
    raw["catalogue"].append(part("tally_8", "battery_monitor", cost, 0.9, **{**spec, **outputs}))
    return raw


@pytest.fixture(scope="module")
def once() -> tuple[Appraisal, Appraisal]:
    """The system with two parts, and with one that does both."""
    plain = appraise(read(sunny()))
    return plain, appraise(picking(two_in_one(sunny(), 500), ("monitor", "tally_8", 1), ("switching", "tally_8", 1)))


def test_one_part_that_monitors_and_switches_is_bought_weighed_and_fitted_once(once):
    plain, found = once

    assert (chosen(found, "switching").same_as, chosen(found, "monitor").same_as) == ("monitor", "")
    assert chosen(found, "switching").mass_kg == 0
    (line,) = [x for x in found.bill if x.part == "tally_8"]
    assert (line.quantity, line.mass_kg) == (1, 0.9)
    fitted = {x.labour: x.quantity for x in found.bill if x.labour.startswith("fit_")}
    apart = {x.labour: x.quantity for x in plain.bill if x.labour.startswith("fit_")}
    assert sum(apart.values()) - sum(fitted.values()) == 1
    assert len(found.modules) == 1
    assert_worded(found)


def test_it_draws_for_itself_once(once):
    _plain, found = once

    assert [x.name for x in found.loads if x.own_draw].count("tally 8") == 1


def test_a_free_choice_of_one_part_for_both_buys_it_once_too():
    found = appraise(read(two_in_one(sunny(), 1)))

    assert {chosen(found, role).part for role in ("monitor", "switching")} == {"tally_8"}
    assert chosen(found, "switching").same_as == "monitor"
    assert sum(x.quantity for x in found.bill if x.part == "tally_8") == 1


# --- The room of an offer -------------------------------------------------------------------------------


ROOM = Room(
    offer="roomy", battery_ratio=1.3, array_ratio=1.25, charging_ratio=1.5, spare_outputs=3, dark_chance_ratio=0.01
)


def test_an_offers_room_is_a_line_of_every_sum_that_it_moves():
    brief = read(sunny())
    bare, found = appraise(brief), appraise(brief.model_copy(update={"room": ROOM, "picks": picks_of(appraise(brief))}))

    for code, ratio in (
        ("battery.asked_ah", 1.3), ("sun.array_w", 1.25), ("engine.asked_a", 1.5), ("mains.asked_a", 1.5)
    ):  # fmt: skip
        assert found.value(code) == pytest.approx(ratio * bare.value(code)), code
        assert [(x.op, x.value) for x in found.figure(code).steps if x.code == "room_of_offer"] == [("×", ratio)]
    assert found.room == ROOM
    assert_worded(found)
    assert_sums_follow(found)


def test_a_room_of_one_is_the_need_itself():
    brief = read(sunny())
    bare, found = appraise(brief), appraise(brief.model_copy(update={"room": Room(offer="steady")}))

    assert found.figures == bare.figures
    assert found.circuits == bare.circuits


def test_an_offers_spare_outputs_are_kept_in_place_of_the_policys():
    brief = read(sunny())
    none = appraise(brief.model_copy(update={"room": Room(offer="lean", spare_outputs=0)}))
    many = appraise(brief.model_copy(update={"room": Room(offer="roomy", spare_outputs=12)}))

    free = [sum(len(module.free) for module in one.modules) for one in (none, many)]
    assert free[1] >= 12 > free[0]
    assert not [f for f in many.findings if f.code == "outputs_no_spare"]


def test_the_chance_of_going_dark_is_held_against_the_offers_own():
    raw = sunny()
    raw["wishes"] = {**raw.get("wishes", {}), "autonomy_days": 0.4}
    for load in raw["loads"]:
        load["essential"] = True
    for stop in raw["trip"]:
        stop["driving_h_per_day"] = 0.1
    brief = read(raw)
    chance = appraise(brief).value("trip.dark_chance_ratio")

    strict = appraise(brief.model_copy(update={"room": Room(offer="roomy", dark_chance_ratio=0.0)}))
    easy = appraise(brief.model_copy(update={"room": Room(offer="lean", dark_chance_ratio=1.0)}))

    assert chance > 0
    assert [f.params["allowed_ratio"] for f in strict.findings if f.code == "dark_likely"] == [0.0]
    assert [f.params["allowed_ratio"] for f in easy.findings if f.code == "dark_possible"] == [1.0]


def test_a_battery_that_someone_swapped_in_is_marked_as_by_hand():
    raw = sunny()
    raw["catalogue"].append(battery("larkham_300", 300, 2000))
    raw["picks"] = [{"role": "battery", "part": "larkham_300", "by_hand": True}]

    assert chosen(appraise(read(raw)), "battery").by_hand


def test_it_is_shown_once_with_both_things_it_does(once):
    from quoting.queries.wiring import chosen_rows

    _plain, found = once
    (row,) = [row for row in chosen_rows(found) if row.name == "tally 8"]

    assert (row.quantity, row.serves) == (1, "a battery monitor, a switched-output module")
    names = [name for name, _value in row.settings]
    assert len(names) == len(chosen(found, "monitor").setting) + len(chosen(found, "switching").setting)


def test_its_serial_is_asked_for_once(once):
    from quoting.services.proof import _parts_to_fit

    _plain, found = once
    (one,) = [part for part in _parts_to_fit(found) if part["name"] == "tally 8"]

    assert one["role"] == "monitor"
    assert set(one["settings_asked"]) == {*chosen(found, "monitor").setting, *chosen(found, "switching").setting}


def test_what_it_reads_is_led_to_it_as_the_monitor():
    raw = two_in_one(sunny(), 500)
    raw["catalogue"][-1]["spec"]["voltage_inputs"] = 1
    raw["senses"] = [
        {"key": "v", "name": "Starter", "what": "voltage", "position": raw["vehicle"]["places"]["starter"]}
    ]

    found = appraise(picking(raw, ("monitor", "tally_8", 1), ("switching", "tally_8", 2)))

    assert (chosen(found, "monitor").same_as, chosen(found, "switching").same_as) == ("switching", "")
    assert sum(x.quantity for x in found.bill if x.part == "tally_8") == 2
    (lead,) = [c for c in found.circuits if c.role == "sense"]
    assert lead.target == next(n.tag for n in found.nodes if n.what == "monitor")
