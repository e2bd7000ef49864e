"""Parts that are in the vehicle already: each is the choice for its role, whatever it misses, and costs nothing."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from quoting import words
from quoting.sizing.appraisal import Appraisal, Chosen
from quoting.sizing.appraise import appraise
from quoting.sizing.errors import SizingError
from quoting.sizing.kept import Settled, as_settled, short
from tests.quoting.sizing.systems_case import battery, caravan, converter, dcdc, keeping, part, read, sunny, truck
from tests.quoting.sizing.test_choice import MULTI
from tests.quoting.sizing.worded import assert_sums_follow, assert_worded

SLOW = settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def chosen(found: Appraisal, role: str) -> Chosen | None:
    return next((c for c in found.chosen if c.role == role), None)


def kept_shortfalls(found: Appraisal) -> dict[str, str]:
    return {s.subject: s.code for s in found.shortfalls if s.code.startswith("kept_")}


def test_a_kept_bank_is_exactly_that_many():
    found = appraise(read(keeping(sunny(), ("larkham_100", 2, "battery"))))
    bank = chosen(found, "battery")

    assert (bank.part, bank.quantity, bank.series, bank.parallel, bank.kept) == ("larkham_100", 2, 1, 2, True)
    assert found.value("battery.got_ah") == 200
    assert kept_shortfalls(found) == {}
    assert len([n for n in found.nodes if n.what == "battery"]) == 2
    assert_worded(found)
    assert_sums_follow(found)


def test_on_the_bill_it_stands_without_mass_and_without_labour_to_fit_it():
    plain = appraise(read(sunny()))
    found = appraise(read(keeping(sunny(), ("larkham_200", 1, "battery"))))

    (line,) = [x for x in found.bill if x.part == "larkham_200"]
    assert (line.kept, line.mass_kg, line.quantity) == (True, 0.0, 1)
    labour = {x.labour: x.quantity for x in found.bill if x.labour}
    assert labour["check_kept_part"] == 1
    assert "fit_battery" not in labour
    assert found.mass_kg == pytest.approx(plain.mass_kg - 23.0)
    assert all(not x.kept for x in plain.bill)


def test_too_small_a_bank_stays_and_says_by_how_much_and_what_would_do():
    found = appraise(read(keeping(sunny(), ("larkham_100", 1, "battery"))))

    (lack,) = [s for s in found.shortfalls if s.need.code == "storage"]
    assert lack.code == "kept_too_small"
    assert chosen(found, "battery").part == "larkham_100"
    assert lack.params["best_value"] == 100
    assert lack.params["short_by"] == pytest.approx(lack.params["asked"] - 100, abs=0.001)
    assert lack.params["instead"] == "larkham 200"
    said = words.shortfall_words(lack)
    assert "larkham 100 is kept" in said
    assert "larkham 200 would do in its place" in said


@pytest.mark.parametrize(("raw", "count", "code"), [
    (sunny, 9, "kept_too_many"),  # its maker allows 4 in parallel
    (truck, 3, "kept_odd_bank"),  # two in series make 24 V
])  # fmt: skip
def test_batteries_that_make_no_bank_are_left_out_and_say_why(raw, count, code):
    found = appraise(read(keeping(raw(), ("larkham_100", count, "battery"))))

    assert kept_shortfalls(found) == {"battery": code}
    assert chosen(found, "battery") is None
    assert_worded(found)


def test_a_kept_battery_brings_its_chemistry():
    found = appraise(read(keeping(sunny(), ("larkham_agm", 4, "battery"))))

    assert chosen(found, "battery").parallel == 4
    assert chosen(found, "engine_charger").setting["profile"] == "agm"
    assert "battery.vent_m3_h" in found.figures or "lead_acid_not_full" in {f.code for f in found.findings}


def test_a_kept_charger_is_used_at_the_setting_that_the_alternator_feeds():
    found = appraise(read(keeping(sunny(), ("corrie_40", 1, "engine_charger"))))
    one = chosen(found, "engine_charger")

    assert (one.part, one.kept, one.setting["output_limit_a"]) == ("corrie_40", True, 20)
    assert any(c.role == "engine_feed" for c in found.circuits)


def test_a_kept_charger_for_another_voltage_is_left_out():
    raw = sunny()
    raw["catalogue"].append(dcdc("corrie_24", 25, 1, input_nominal_v=24, output_nominal_v=24, stop_below_v=23))

    found = appraise(read(keeping(raw, ("corrie_24", 1, "engine_charger"))))

    assert kept_shortfalls(found) == {"engine_charger": "kept_wrong_voltage"}
    assert chosen(found, "engine_charger") is None
    (lack,) = [s for s in found.shortfalls if s.code == "kept_wrong_voltage"]
    assert lack.params["instead"].startswith("corrie")
    assert_worded(found)


def test_kept_panels_and_controller_are_all_used():
    kept = (("harrowell_120", 2, "panel"), ("harrowell_mppt_30", 1, "solar_controller"))
    found = appraise(read(keeping(sunny(), *kept)))

    assert (chosen(found, "panel").quantity, chosen(found, "panel").kept) == (2, True)
    assert chosen(found, "solar_controller").kept
    assert kept_shortfalls(found) == {"panel": "kept_too_small"}
    assert_worded(found)


def test_everything_else_that_is_kept_is_the_choice_too():
    kept = (
        ("corrie_mains_30", 1, "mains_charger"), ("pellow_2000", 1, "inverter"), ("quoin_monitor", 1, "monitor"),
        ("quoin_switch_8", 1, "switching"), ("ambry_inlet", 1, "inlet"), ("ambry_rcd", 2, "residual"),
    )  # fmt: skip
    found = appraise(read(keeping(sunny(), *kept)))

    assert {c.role for c in found.chosen if c.kept} == {role for _, _, role in kept}
    assert kept_shortfalls(found) == {}
    assert next(x.quantity for x in found.bill if x.labour == "check_kept_part") == 7


def test_fewer_pieces_than_are_asked_is_a_shortfall():
    found = appraise(read(keeping(sunny(), ("ambry_rcd", 1, "residual"))))

    assert kept_shortfalls(found) == {"residual": "kept_too_small"}
    assert chosen(found, "residual").quantity == 1


def test_a_kept_inverter_that_is_too_small_stays():
    raw = sunny()
    small = part("pellow_600", "inverter", 200, 3, continuous_w=600, continuous_va=600, surge_w=1200, surge_s=5,
                 nominal_v=12, output_v=230, output_hz=50, no_load_w=5, efficiency_half_ratio=0.92,
                 efficiency_full_ratio=0.9, cutoff_v=10.8)  # fmt: skip
    raw["catalogue"].append(small)

    found = appraise(read(keeping(raw, ("pellow_600", 1, "inverter"))))

    assert chosen(found, "inverter").part == "pellow_600"
    assert kept_shortfalls(found) == {"inverter": "kept_too_small"}
    assert_worded(found)


def test_a_kept_charger_of_several_inputs_serves_what_it_can():
    raw = sunny()
    raw["catalogue"].append(part("gannet_multi", "multi_charger", 900, 4, **MULTI))
    found = appraise(read(keeping(raw, ("gannet_multi", 1, "multi_charger"))))
    one = chosen(found, "multi_charger")

    assert (one.kept, one.mass_kg) == (True, 0.0)
    assert "engine_charging" in one.serves
    assert_worded(found)


def test_a_kept_converter_and_coupling():
    small = keeping(truck(converter("tarn_5", 5, 40)), ("tarn_5", 1, "converter"))
    found = appraise(read(small))
    assert kept_shortfalls(found) == {"converter": "kept_too_small"}
    assert [f.params["loads"] for f in found.findings if f.code == "converter_needed"] == ["Radio"]
    assert chosen(found, "converter").part == "tarn_5"
    assert_worded(found)

    over = appraise(read(keeping(caravan(), ("brindle_175", 1, "coupling"))))
    assert (chosen(over, "coupling").part, chosen(over, "coupling").kept) == ("brindle_175", True)
    plug = appraise(read(keeping(caravan(), ("brindle_plug", 1, "coupling"))))
    assert kept_shortfalls(plug) == {"Engine feed": "kept_too_small"}
    assert_worded(plug)


def test_what_is_kept_and_not_asked_for_is_said():
    raw = keeping(sunny(), ("corrie_25", 1, "engine_charger"), ("harrowell_120", 2, "panel"))
    raw["wishes"] |= {"engine_charging": False, "solar_charging": False}

    found = appraise(read(raw))

    assert {f.subject for f in found.findings if f.code == "kept_not_used"} == {"engine_charger", "panel"}
    assert not any(x.kept for x in found.bill)
    assert_worded(found)


@pytest.mark.parametrize(("kept", "said"), [
    ([("corrie_25", 1, "battery")], "'corrie 25' cannot be kept as 'battery'"),
    ([("nothing", 1, "battery")], "the kept part 'nothing' is not in the catalogue"),
    ([("larkham_100", 1, "battery"), ("larkham_200", 1, "battery")], "two parts are kept as 'battery'"),
    ([("larkham_100", 0, "battery")], "quantity is 0"),
    ([("larkham_100", 1, "roof")], "kept"),
])  # fmt: skip
def test_what_cannot_be_kept_is_refused(kept, said):
    with pytest.raises(SizingError, match=said):
        appraise(read(keeping(sunny(), *kept)))


@given(st.integers(1, 12), st.sampled_from(["larkham_100", "larkham_200", "larkham_agm"]), st.booleans())
@SLOW
def test_a_kept_bank_is_never_exceeded_nor_replaced(count, key, heavy):
    raw = truck() if heavy else sunny()

    found = appraise(read(keeping(raw, (key, count, "battery"))))

    one = chosen(found, "battery")
    assert one is None or (one.part, one.quantity) == (key, count)
    assert one is None or one.series * one.parallel == count
    assert one is not None or "battery" in kept_shortfalls(found)
    assert not any(x.part.startswith("larkham") and not x.kept for x in found.bill)


def test_banned_does_not_drive_out_what_is_kept():
    raw = keeping(sunny(), ("larkham_100", 2, "battery"))
    raw["wishes"] |= {"banned": ["larkham_100"]}
    raw["catalogue"].append(battery("larkham_300", 900, 300))

    assert chosen(appraise(read(raw)), "battery").part == "larkham_100"


def test_of_several_chargers_that_are_kept_one_is_counted_on():
    found = appraise(read(keeping(sunny(), ("corrie_25", 2, "engine_charger"))))

    assert chosen(found, "engine_charger").quantity == 1
    assert [f.params["quantity"] for f in found.findings if f.code == "kept_counts_once"] == [2]
    assert_worded(found)


def test_what_one_settled_part_misses_is_not_said_again_of_another():
    """Panels and their controller are settled together: the code had both marks, and no words."""
    panel, controller = Settled("panel", "62", 2, kept=False), Settled("solar_controller", "69", 1, kept=False)
    missed = as_settled(short("no_match", "panel", "panel", asked=316.0, unit="W"), panel, "Panel", None)

    assert missed.code == "picked_no_match"
    assert as_settled(missed, controller, "Controller", "Another") == missed
