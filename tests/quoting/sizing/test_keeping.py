"""Years by cycles, days from cut-off to damage, minutes that undo a crank."""

import pytest

from quoting import words
from quoting.sizing import charging
from quoting.sizing.appraise import appraise
from quoting.sizing.errors import SizingError
from tests.quoting.sizing.sums import follow
from tests.quoting.sizing.wagon import raw, wagon

NEW = ("battery.years", "parked.damage_days", "starter.recharge_min")


@pytest.fixture(scope="module")
def example():
    return appraise(wagon())


def batteries(**changed):
    catalogue = raw()["catalogue"]
    for part in catalogue:
        if part["kind"] == "battery":
            part["spec"] = {k: v for k, v in {**part["spec"], **changed}.items() if v is not None}
    return catalogue


def test_each_figure_follows_from_its_steps(example):
    for code in NEW:
        assert follow(example.figures[code]) == pytest.approx(example.value(code), rel=1e-9), code


def test_years_are_cycles_at_the_day_s_depth(example):
    depth = example.value("day.charge_ah") / example.value("battery.got_ah")

    assert 0 < depth < 0.5  # shallower than the maker's first point: no more than it
    assert example.value("battery.years") == pytest.approx(6000 / 365.25)


def test_without_a_curve_there_is_no_figure():
    assert "battery.years" not in appraise(wagon(catalogue=batteries(cycles=None))).figures


def test_deeper_days_shorten_the_years():
    steep = batteries(cycles=[[0.1, 9000.0], [1.0, 1000.0]])
    light = appraise(wagon(catalogue=steep))
    heavy = appraise(wagon(catalogue=steep, **{"loads.5.use.power_w": 25.0}))

    assert light.value("battery.got_ah") == heavy.value("battery.got_ah")
    assert heavy.value("battery.years") < light.value("battery.years")


def test_heat_halves_lead_acid_and_not_lithium():
    curve = batteries(cycles=[[0.1, 1000.0], [1.0, 1000.0]])
    hot = {f"trip.{i}.site.{name}": [40.0] * 12 for i in (0, 1) for name in ("tmin_c", "tmax_c")}
    deep = {"agm": {"usable_depth_ratio": 0.8, "daily_depth_ratio": 0.8, "tail_h": 1.2}}
    hot |= {"policy": {"compartment_rise_k": 0.0, "chemistries": deep}, "wishes.autonomy_days": 0.5}

    lead = appraise(wagon(catalogue=curve, **hot, **{"wishes.chemistries": ["agm"]}))
    lithium = appraise(wagon(catalogue=curve, **hot))

    assert lead.value("battery.years") == pytest.approx(1000 / 365.25 * 0.5**1.5)  # 15 K over 25 °C
    assert lithium.value("battery.years") == pytest.approx(1000 / 365.25)


def test_damage_days_are_what_is_left_over_what_sleeps(example):
    figure = example.figures["parked.damage_days"]
    by = {s.code: s.value for s in figure.steps}

    assert by["left_at_cutoff"] == pytest.approx(0.1)
    bank_ah = example.value("battery.got_ah")
    a_day = by["asleep_draw"] * 24 / 12.8 + bank_ah * 0.03 / (365.25 / 12)
    assert figure.value == pytest.approx(bank_ah * 0.1 / a_day)
    said = next(f for f in example.findings if f.code == "damage_soon")
    assert said.params["alone_days"] > said.params["days"] == figure.value


def test_a_system_that_hardly_sleeps_is_left_in_peace():
    catalogue = batteries()
    for part in catalogue:
        part["spec"] = {k: (0.0 if k == "own_asleep_w" else v) for k, v in part["spec"].items()}

    found = appraise(wagon(catalogue=catalogue))

    assert found.value("parked.damage_days") == pytest.approx(
        0.1 / 0.03 * 365.25 / 12
    )  # by itself: 3 % a month of 10 %
    assert "damage_soon" not in {f.code for f in found.findings}


def test_a_crank_is_put_back_in_minutes(example):
    # (12.6 − 10.4) V / 5 mΩ = 440 A for 5 s; 0.1/h of 80 Ah = 8 A go in, 0.85 of it is stored
    assert example.value("starter.recharge_min") == pytest.approx(440 * 5 / 3600 / 0.85 / 8 * 60)


def test_without_a_measured_crank_the_policy_s_is_taken():
    found = appraise(wagon(**{"vehicle.cranking_v": None}))

    assert found.value("starter.recharge_min") == pytest.approx(200 * 5 / 3600 / 0.85 / 8 * 60)


def test_an_alternator_with_nothing_left_never_puts_a_crank_back():
    found = appraise(wagon(**{"vehicle.own_draw_a": 112.5, "vehicle.hot_idle_a": 60.0}))

    assert "starter.recharge_min" not in found.figures
    assert "starter_not_recharged" in {f.code for f in found.findings}


def test_no_current_is_refused():
    with pytest.raises(SizingError, match="charging_a is 0 A"):
        charging.crank_charge(200, 5, 0.85, 0)


def test_a_lead_acid_bank_says_what_charging_brings_in_the_cold():
    policy = {"chemistries": {"agm": {"usable_depth_ratio": 0.8, "daily_depth_ratio": 0.8, "tail_h": 1.2}}}
    changed = {"wishes.chemistries": ["agm"], "wishes.autonomy_days": 0.5, "policy": policy}

    lead, lithium = appraise(wagon(**changed)), appraise(wagon())

    # 14.6 V, and six cells at 4 mV a kelvin for 25 K
    assert lead.value("battery.charging_cold_v") == pytest.approx(14.6 + 6 * 0.004 * 25)
    assert follow(lead.figures["battery.charging_cold_v"]) == pytest.approx(15.2)
    said = next(f for f in lead.findings if f.code == "charging_v_cold")
    assert said.params["planned_v"] == pytest.approx(14.4)
    assert "{" not in " ".join(words.finding_words(said))
    assert "battery.charging_cold_v" not in lithium.figures
    assert all(s.code in words.STEP for s in lead.figures["battery.charging_cold_v"].steps)
