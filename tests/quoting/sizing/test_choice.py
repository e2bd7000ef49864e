"""Choosing: the cheapest single model in whole numbers, or a named shortfall; never a substitute."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from catalog.kinds.capabilities import EngineCharging, Panel, Storage
from quoting.sizing.choice import Choice, capability, choose
from quoting.sizing.choice_array import cold_voc_v
from quoting.sizing.needs import BatteryNeed, SolarNeed
from quoting.sizing.outputs_fit import Modules, Want, place_all
from quoting.sizing.sun import string_v
from tests.quoting.sizing.wiring_case import battery, brief_of, case, dcdc, needs, part, without


def chosen(raw: dict[str, Any] | None = None, **change: Any) -> dict[str, tuple[str, int]]:
    choice = choose(brief_of(raw), needs(**change))
    return {c.role: (c.part, c.quantity) for c in choice.chosen}


def with_parts(*more: dict[str, Any], drop: tuple[str, ...] = ()) -> dict[str, Any]:
    raw = without(case(), *drop)
    return {**raw, "catalogue": [*raw["catalogue"], *more]}


def test_every_need_of_the_wagon_is_met() -> None:
    assert choose(brief_of(), needs()).shortfalls == ()
    assert chosen() == {
        "battery": ("larkham_200", 1),  # 1100 against 2 × 600 and 4 × 250
        "engine_charger": ("corrie_40", 1),
        "mains_charger": ("corrie_mains_30", 1),
        "solar_controller": ("harrowell_mppt_30", 1),
        "panel": ("harrowell_120", 2),
        "inverter": ("pellow_2000", 1),
        "monitor": ("quoin_monitor", 1),
        "switching": ("quoin_switch_8", 1),
        "inlet": ("ambry_inlet", 1),
        "residual": ("ambry_rcd", 2),
    }


def test_a_price_turns_the_choice_and_the_other_is_the_runner_up() -> None:
    raw = with_parts(battery("larkham_100", 500), drop=("larkham_100",))
    bank = choose(brief_of(raw), needs()).role("battery")

    assert bank is not None
    assert (bank.part, bank.quantity, bank.parallel) == ("larkham_100", 2, 2)
    assert bank.runner_up == "larkham 200"


def test_series_make_the_bus_voltage() -> None:
    raw = case()
    raw["vehicle"] = {**raw["vehicle"], "nominal_v": 24}
    raw["wishes"] = {"system_v": 24}
    bank = choose(brief_of(raw), needs(engine_a=None, mains_a=None, solar=None, inverter=None)).role("battery")

    assert bank is not None
    assert (bank.series, bank.parallel, bank.quantity) == (2, 1, 2)


@pytest.mark.parametrize(
    ("need", "parallel"),
    [
        (BatteryNeed({"lifepo4": 100.0}, 100.0, 100.0, 1.0), 1),
        (BatteryNeed({"lifepo4": 101.0}, 100.0, 100.0, 1.0), 2),  # capacity
        (BatteryNeed({"lifepo4": 100.0}, 151.0, 151.0, 1.0), 2),  # continuous current, 150 A each
        (BatteryNeed({"lifepo4": 100.0}, 100.0, 301.0, 1.0), 2),  # peak, 300 A each for 10 s
        (BatteryNeed({"lifepo4": 100.0}, 100.0, 200.0, 11.0), 2),  # a peak longer than it allows counts as continuous
    ],
)
def test_each_limit_of_the_battery_counts(need: BatteryNeed, parallel: int) -> None:
    raw = without(case(), "larkham_200")
    asked = needs(battery=need, engine_a=None, mains_a=None, solar=None)
    bank = choose(brief_of(raw), asked).role("battery")

    assert bank is not None
    assert bank.parallel == parallel


def banked(max_charge_a: float) -> Choice:
    """A small need, one model of battery, and chargers that no heat touches: 40 A, 30 A and an array of 17.6 A."""
    raw = with_parts(battery("larkham_slow", 250, max_charge_a=max_charge_a), drop=("battery",))
    raw = {**raw, "policy": {"own_heat_k_per_w": 0.0}}
    return choose(brief_of(raw), needs(battery=BatteryNeed({"lifepo4": 90.0}, 50.0, 50.0, 1.0)))


def test_a_bank_takes_each_charger_and_is_told_of_all_at_once() -> None:
    choice = banked(40)
    bank = choice.role("battery")

    assert bank is not None
    assert bank.parallel == 1
    (said,) = [f for f in choice.findings if f.code == "charging_over_limit"]
    assert said.params["limit_a"] == 40
    # 240 W × 0.97 ÷ 13.2 V beside the engine's 40 A; mains is never there while it is driven
    assert said.params["together_a"] == pytest.approx(57.6, abs=0.1)


def test_a_charger_alone_over_the_limit_asks_for_another_battery() -> None:
    choice = banked(25)
    bank = choice.role("battery")

    assert bank is not None
    assert bank.parallel == 2  # the engine's charger of 40 A
    assert [f.code for f in choice.findings] == ["charging_over_limit"]


def test_a_bank_that_takes_it_all_is_not_spoken_of() -> None:
    assert "charging_over_limit" not in {f.code for f in banked(60).findings}


@pytest.mark.parametrize(
    ("gone", "need", "code"),
    [
        (("battery",), "storage", "none_of_kind"),
        (("dcdc_charger",), "engine_charging", "none_of_kind"),
        (("corrie_40",), "engine_charging", "too_small"),
        (("mains_charger",), "mains_charging", "none_of_kind"),
        (("solar_controller",), "solar_control", "none_of_kind"),
        (("solar_panel",), "panel", "none_of_kind"),
        (("inverter",), "inverting", "none_of_kind"),
        (("battery_monitor",), "monitoring", "none_of_kind"),
        (("switched_output_module",), "switching", "none_of_kind"),
        (("shore_inlet",), "inlet", "none_of_kind"),
        (("residual_current_device",), "residual", "none_of_kind"),
    ],
)
def test_taking_a_part_away_is_a_named_shortfall_and_never_a_substitute(gone, need: str, code: str) -> None:
    before, after = chosen(), choose(brief_of(without(case(), *gone)), needs())

    assert (need, code) in {(s.need.code, s.code) for s in after.shortfalls}
    assert {c.part for c in after.chosen} <= {key for key, _ in before.values()}


def test_a_shortfall_says_the_nearest_and_by_how_much() -> None:
    raw = without(case(), "corrie_40") | {"policy": {"own_heat_k_per_w": 0.0}}
    choice = choose(brief_of(raw), needs())

    assert choice.shortfalls[0].params == {
        "best": "corrie 25", "best_value": 25.0, "asked": 30.0, "short_by": 5.0, "unit": "A",
    }  # fmt: skip


def test_a_charger_is_set_to_what_the_alternator_feeds() -> None:
    held = choose(brief_of(), needs(engine_a=20.0, engine_most_a=35.0)).role("engine_charger")
    free = choose(brief_of(), needs(engine_a=30.0, engine_most_a=45.0)).role("engine_charger")

    assert held is not None
    assert (held.part, held.setting.get("output_limit_a")) == ("corrie_25", None)
    assert free is not None
    assert "output_limit_a" not in free.setting


def test_when_the_alternator_cannot_restore_a_day_the_most_it_feeds_is_set_and_said() -> None:
    choice = choose(brief_of(), needs(engine_a=45.0, engine_most_a=33.0))
    charger = choice.role("engine_charger")

    assert charger is not None
    assert charger.setting["output_limit_a"] == 30
    assert [f.code for f in choice.findings] == ["alternator_limits_charging"]


def test_a_setting_between_asked_and_headroom_is_not_blamed_on_the_alternator() -> None:
    choice = choose(brief_of(), needs(engine_a=31.0, engine_most_a=33.0))
    charger = choice.role("engine_charger")

    assert charger is not None
    assert charger.setting["output_limit_a"] == 30
    assert [f.code for f in choice.findings] == ["charger_under_asked"]


def test_when_every_setting_is_too_much_for_the_alternator_the_shortfall_says_so() -> None:
    choice = choose(brief_of(), needs(engine_a=45.0, engine_most_a=8.0))

    short = choice.shortfalls[0]
    assert choice.role("engine_charger") is None
    assert (short.need.code, short.code, short.params["asked"], short.params["best_value"]) == (
        "engine_charging", "too_large", 8.0, 10.0,
    )  # fmt: skip


def test_heat_takes_from_a_charger() -> None:
    # 40 A at 60 °C is 30 A by its curve (50 °C 1.0, 70 °C 0.5); then it loses 30 × 14.4 × (1/0.9 − 1) = 48 W, 2.4 K
    assert chosen(compartment_c=57.5)["engine_charger"] == ("corrie_40", 1)
    assert "engine_charger" not in chosen(compartment_c=57.7)


def test_a_profile_for_the_chemistry_is_wanted() -> None:
    raw = with_parts(dcdc(profiles=["agm"]), drop=("dcdc_charger",))
    choice = choose(brief_of(raw), needs())

    assert {(s.need.code, s.code) for s in choice.shortfalls} == {("engine_charging", "wrong_chemistry")}


MULTI = {
    "output_a": 40, "output_nominal_v": 12, "has_engine_input": True, "engine_a": 40, "input_nominal_v": 12,
    "stop_below_v": 11.5, "engine_efficiency_ratio": 0.9, "smart_alternator": True, "has_mains_input": True,
    "mains_a": 40, "mains_v": 230, "power_factor": 0.95, "mains_efficiency_ratio": 0.9, "has_solar_input": True,
    "solar_method": "mppt", "solar_a": 30, "max_voc_v": 60, "max_isc_a": 20, "start_margin_v": 1.0,
    "solar_efficiency_ratio": 0.97, "profiles": ["lifepo4"],
}  # fmt: skip


def test_one_charger_with_three_inputs_wins_when_it_is_cheaper() -> None:
    cheap = choose(brief_of(with_parts(part("pellow_multi", "multi_charger", 900, 4, **MULTI))), needs())
    dear = choose(brief_of(with_parts(part("pellow_multi", "multi_charger", 1100, 4, **MULTI))), needs())

    multi = cheap.role("multi_charger")
    assert multi is not None
    assert multi.serves == ("engine_charging", "mains_charging", "solar_control")
    assert cheap.role("engine_charger", "mains_charger", "solar_controller") is None
    assert dear.role("multi_charger") is None  # 420 + 350 + 230 = 1000


def test_cold_voltage_is_held_against_the_controller() -> None:
    panel = capability(brief_of(), choose(brief_of(), needs()).role("panel"), Panel)  # type: ignore[arg-type]

    # by hand: 24.3 V × (1 + 0.0028 × 27) = 26.14 V at -2 °C
    assert cold_voc_v(panel, 1, -2.0) == pytest.approx(24.3 * (1 + 0.0028 * 27))
    # by hand: 20.4 V × (1 - 0.0035 × 45) = 17.19 V with cells at 70 °C: over 14.4 V + 1 V
    assert string_v(panel, 1, 70.0) == pytest.approx(20.4 * (1 - 0.0035 * 45))


def test_a_panel_too_high_in_the_cold_is_not_strung_in_series() -> None:
    raw = with_parts(
        part("tight_mppt", "solar_controller", 100, 1, method="mppt", output_a=30, output_nominal_v=["12"],
             efficiency_ratio=0.97, max_voc_v=50, max_isc_a=35, start_margin_v=1.0, profiles=["lifepo4"]),
        drop=("solar_controller",),
    )  # fmt: skip
    mild, frost = SolarNeed(230.0, 25.0, 70.0, None), SolarNeed(230.0, -5.0, 70.0, None)

    # two in series: 48.6 V at 25 °C, 52.7 V at -5 °C against 50 V
    assert choose(brief_of(raw), needs(solar=mild)).role("panel").series in (1, 2)  # type: ignore[union-attr]
    assert choose(brief_of(raw), needs(solar=frost)).role("panel").series == 1  # type: ignore[union-attr]


def test_a_full_roof_is_a_shortfall() -> None:
    choice = choose(brief_of(), needs(solar=SolarNeed(700.0, -2.0, 70.0, 2.4 * 1.3)))

    short = choice.shortfalls[0]
    assert (short.need.code, short.code) == ("panel", "too_small")
    # 2.4 × 1.3 m takes two lengthwise by two, or four across by one: 4 × 120 W, and the controller's 30 A takes 3
    assert short.params["best_value"] == 360.0


def test_pwm_gets_nothing_from_a_12_v_panel_on_24_v() -> None:
    raw = with_parts(
        part("plain_pwm", "solar_controller", 40, 0.3, method="pwm", output_a=30, output_nominal_v=["12", "24"],
             efficiency_ratio=0.99, max_voc_v=55, max_isc_a=35, profiles=["lifepo4"]),
        drop=("solar_controller",),
    )  # fmt: skip
    twelve = choose(brief_of(raw), needs(solar=SolarNeed(140.0, -2.0, 70.0, None)))
    raw["wishes"] = {"system_v": 24}
    single = without(raw, "harrowell_120")
    single["catalogue"].append({**next(p for p in raw["catalogue"] if p["key"] == "harrowell_120")})
    twenty_four = choose(brief_of(single), needs(solar=SolarNeed(140.0, -2.0, 70.0, None)))

    assert twelve.role("panel").series == 1  # type: ignore[union-attr]
    assert twenty_four.role("panel").series == 2  # type: ignore[union-attr]


def test_banned_parts_are_left_out_and_pinned_ones_kept_to() -> None:
    raw = case()
    raw["wishes"] = {"system_v": 12, "banned": ["larkham_200"]}
    assert chosen(raw)["battery"] == ("larkham_100", 2)

    raw["wishes"] = {"system_v": 12, "pinned": ["larkham_100"]}
    assert chosen(raw)["battery"] == ("larkham_100", 2)


def test_an_inverter_is_judged_at_its_compartments_heat_and_surge_time() -> None:
    hot = replace(needs().inverter, compartment_c=60.0, continuous_w=1601.0)  # 2000 W × 0.8 = 1600 W
    long = replace(needs().inverter, surge_w=3000.0, surge_s=6.0)  # its 4000 W are good for 5 s

    assert "inverter" not in chosen(inverter=hot)
    assert "inverter" not in chosen(inverter=long)
    assert chosen(inverter=replace(hot, continuous_w=1600.0))["inverter"] == ("pellow_2000", 1)


def test_a_battery_the_maker_forbids_in_an_engine_bay_is_not_put_there() -> None:
    raw = case()
    raw["vehicle"] = {**raw["vehicle"], "places": {**raw["vehicle"]["places"], "battery": "engine"}}
    choice = choose(brief_of(raw), needs())

    assert choice.role("battery") is None
    assert choice.shortfalls[0].need.code == "storage"


def test_channels_are_given_smallest_first_within_channel_and_module() -> None:
    one = Modules((30, 10, 5), 32, 1)

    def placed(*amps: float, modules: Modules = one) -> list[tuple[int, int]] | None:
        found = place_all([Want(str(i), "", a) for i, a in enumerate(amps)], modules)
        return None if found is None else [found[str(i)] for i in range(len(amps))]

    assert placed(4, 9, 12) == [(0, 2), (0, 1), (0, 0)]
    assert placed(6, 9, 20) is None  # 35 A is over the module
    assert placed(31, modules=Modules((30, 10, 5), 32, 4)) is None


def test_equal_briefs_choose_equally_whatever_the_order_of_the_shelf() -> None:
    raw = case()
    twin = {**dcdc(), "key": "a_twin"}
    raw["catalogue"] = [*raw["catalogue"], twin]
    turned = {**raw, "catalogue": list(reversed(raw["catalogue"]))}

    assert chosen(raw) == chosen(turned)
    assert chosen(raw)["engine_charger"] == ("a_twin", 1)


def test_capability_reads_a_chosen_part() -> None:
    brief = brief_of()
    choice = choose(brief, needs())

    assert capability(brief, choice.role("battery"), Storage).capacity_ah == 200  # type: ignore[arg-type]
    with pytest.raises(KeyError):
        capability(brief, choice.role("battery"), EngineCharging)  # type: ignore[arg-type]
