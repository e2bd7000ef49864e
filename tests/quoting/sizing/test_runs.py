"""What a run is reckoned at: arrays by what flows, far-end faults of a worn battery, colours, selectivity."""

from __future__ import annotations

from typing import Any

import pytest

from quoting.sizing.circuits import Wiring
from quoting.sizing.conductors import conductor_ohm
from quoting.sizing.runs_colours import NEGATIVE_COLOURS, POSITIVE_COLOURS
from quoting.sizing.selectivity import SELECTIVE_RATIO
from quoting.wording.policy import CHOICES
from tests.quoting.sizing.test_circuits import named, role, wired
from tests.quoting.sizing.wiring_case import case, part, without


def with_policy(**policy: Any) -> Wiring:
    return wired({**case(), "policy": policy})


def test_an_array_s_conductor_is_for_1_56_isc_and_its_drop_for_what_flows():
    """NEC 690.8: 1.25 x 1.25 of Isc (P). The panel gives 5.9 A at most power, 6.3 A short circuited."""
    string = role(wired(), "solar_array")[0]
    sums = {s.code: s.value for s in string.steps}

    assert string.current_a == pytest.approx(1.56 * 6.3)
    assert string.drop_a == 5.9
    assert sums["solar_design_current"] == pytest.approx(1.56 * 6.3)
    assert sums["string_current"] == 5.9
    assert string.devices[0].rating_a >= string.current_a
    # at no more than 105 °C: 5.9 A there and back through 1.5 mm² and the joints
    most = 5.9 * (2 * conductor_ohm(string.run_m, 13.3, 105) + 0.01)
    assert sums["conductor_drop"] < string.drop_v < most


def test_the_smallest_fault_is_that_of_a_worn_battery_and_the_largest_of_a_new_one():
    new, worn = with_policy(worn_resistance_ratio=1.0), with_policy(worn_resistance_ratio=2.0)

    for before, after in zip(new.circuits, worn.circuits, strict=True):
        if before.role in ("load", "distribution", "inverter_feed", "battery_main"):
            assert after.fault_end_a < before.fault_end_a
            assert (after.clears_s or 0) <= 5
    # the largest is of a new battery whatever is said of a worn one
    assert role(worn, "battery_main")[0].fault_a == role(new, "battery_main")[0].fault_a


@pytest.mark.parametrize(("positive", "negative"), [("brown", "blue"), ("red", "yellow"), ("red", "white")])
def test_conductors_have_the_colours_that_the_country_calls_for(positive, negative):
    raw = {**without(case(), "cable"), "policy": {"positive_colour": positive, "negative_colour": negative}}
    for cable in (p for p in case()["catalogue"] if p["kind"] == "cable" and p["spec"]["colour"] == "red"):
        for colour in (positive, negative, "black"):
            spec = {**cable["spec"], "colour": colour}
            raw["catalogue"].append(part(f"{colour}_{spec['area_mm2']:g}", "cable", float(cable["cost"]), **spec))
    wiring = wired(raw)

    assert wiring.shortfalls == ()
    assert {c.colour for c in wiring.circuits if c.role != "negative_bond"} == {positive}
    assert {c.negative_colour for c in wiring.circuits if c.negative} == {negative}
    assert role(wiring, "negative_bond")[0].colour == negative


def test_a_return_is_never_thinner_nor_of_a_lower_class():
    raw = without(case(), "cable_4_black")
    raw["catalogue"].append(
        part("cool_4", "cable", 0.1, area_mm2=4, insulation_c=70, colour="black", ohm_per_km_20c=4.95)
    )
    fridge = named(wired(raw), "Refrigerator")

    assert (fridge.area_mm2, fridge.negative) == (4.0, "cable_6_black")


def test_colours_of_policy_wording_and_catalogue_are_the_same():
    assert set(POSITIVE_COLOURS) == set(CHOICES["positive_colour"])
    assert set(NEGATIVE_COLOURS) == set(CHOICES["negative_colour"])


def test_a_device_that_may_open_before_those_behind_it_is_told():
    """IEC 60269: fuses of 1.6 times the rating behind them open after them (M)."""
    wiring = wired()
    ratings = {c.tag: max((d.rating_a for d in c.devices if d.what in ("fuse", "breaker")), default=0.0)
               for c in wiring.circuits}  # fmt: skip
    told = {f.subject: f for f in wiring.findings if f.code == "not_selective"}

    for feed in (c for c in wiring.circuits if c.role in ("battery_main", "distribution")):
        behind = [c for c in wiring.circuits if c.source == feed.target]
        close = [c.tag for c in behind if ratings[feed.tag] < SELECTIVE_RATIO * ratings[c.tag]]
        assert (feed.tag in told) == bool(close)
        assert all(tag in told[feed.tag].params["names"] for tag in close)
    assert all(f.level == "info" for f in told.values())
