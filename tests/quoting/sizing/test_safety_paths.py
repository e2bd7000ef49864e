"""Ways in which a part could be overstressed or somebody hurt, each tried: voltage, heat, coupling, polarity."""

from __future__ import annotations

from typing import Any

import pytest

from quoting.sizing.appraisal import Appraisal
from quoting.sizing.appraise import appraise
from tests.quoting.sizing import library_case
from tests.quoting.sizing.systems_case import caravan, coupling, keeping, part, read, truck
from tests.quoting.sizing.test_hitch import codes, feed, towing

FLOODED_V = 29.64
"""Absorption of twelve flooded cells at 2.47 V. [V] (D), more than the policy's 28.8."""
FLOODED_COLD_V = 31.14
"""The same at 0 °C: 5 mV a cell and kelvin for 25 K more. [V] (D)"""


def flooded(**low: float) -> Appraisal:
    """A library system of 24 V and flooded batteries, with a lower maximum stated for some kinds: kind__field."""
    raw: dict[str, Any] = library_case.brief(24, "flooded", "medium").model_dump(mode="json")
    for said, value in low.items():
        kind, field = said.split("__")
        for found in raw["catalogue"]:
            if found["kind"] == kind:
                found["spec"][field] = value
    return appraise(read(raw))


@pytest.mark.parametrize(
    ("limits", "need"),
    [
        (("voltage_converter__input_max_v",), "converting"),
        (("battery_monitor__max_v",), "monitoring"),
        (("busbar__max_v",), "distributing"),
        (("isolator__max_v", "circuit_breaker__max_v"), "isolating"),
    ],
)
def test_no_part_is_taken_whose_maximum_the_banks_own_charging_voltage_passes(limits, need):
    assert need not in {s.need.code for s in flooded(**dict.fromkeys(limits, FLOODED_COLD_V)).shortfalls}
    assert need in {s.need.code for s in flooded(**dict.fromkeys(limits, FLOODED_V)).shortfalls}


def test_devices_and_holders_stand_the_banks_own_charging_voltage():
    found = flooded(fuse__max_v=29.0, circuit_breaker__max_v=29.0)

    assert {c.role for c in found.circuits for d in c.devices if d.what in ("fuse", "breaker")} <= {"engine_feed"}
    assert {s.need.code for s in found.shortfalls} >= {"protecting"}


def test_an_arrays_holder_is_good_for_its_coldest_voltage():
    """A cheap holder for 32 V of the right series is no holder for a string of more."""
    low = part("ossery_hold_c_low", "fuse_holder", 1, 0.05, series="blade_c", max_rating_a=40, ways=1, max_v=32)
    raw = truck(low)
    raw["catalogue"] = [p for p in raw["catalogue"] if p["kind"] != "circuit_breaker"]
    for one in raw["catalogue"]:
        if one["spec"].get("series") == "blade_c" and one["key"] != "ossery_hold_c_low":
            one["spec"]["max_v"] = 100  # for three panels in a string as well
    found = appraise(read(raw))
    arrays = [c for c in found.circuits if c.role == "solar_array"]
    cold_v = max(n.params["voc_cold_v"] for n in found.nodes if n.what == "panel")

    assert arrays
    assert cold_v > 32
    assert {d.part for c in arrays for d in c.devices} == {"fuse_blade_c_10"}
    tags = {c.tag for c in arrays}
    holders = {line.part for line in found.bill if line.rule == "holder" and tags & set(line.circuits)}
    assert holders == {"ossery_hold_c"}


@pytest.mark.parametrize("system_v", [12, 24])
def test_kept_lithium_in_an_engine_space_is_a_danger(system_v):
    raw = library_case.brief(system_v, "lifepo4", "small").model_dump(mode="json")
    raw["vehicle"]["places"]["battery"] = "engine"
    raw["kept"] = [{"part": "LF-200", "quantity": system_v // 12, "role": "battery"}]

    found = appraise(read(raw))

    assert ("danger", "battery_in_engine_space") in {(f.level, f.code) for f in found.findings}


def test_a_coupling_is_taken_whose_contacts_take_the_conductor():
    thick = coupling("brindle_50_thick", 1, 50, 75, largest_mm2=70)
    cheap, dear = appraise(read(caravan())), appraise(read(caravan(thick)))

    assert feed(dear).area_mm2 == feed(cheap).area_mm2 > 16  # mm², what a contact of the cheaper one takes
    assert {c.part for c in dear.chosen if c.role == "coupling"} == {"brindle_50_thick"}
    assert "coupling_takes_less" in codes(cheap)
    assert "coupling_takes_less" not in codes(dear)


def test_a_conductor_too_thick_for_every_coupling_is_told():
    raw = caravan()
    for found in raw["catalogue"]:
        if found["kind"] == "trailer_coupling":
            found["spec"]["largest_mm2"] = 1.5

    assert "coupling_takes_less" in codes(appraise(read(raw)))


def test_the_half_that_stays_live_is_named():
    """The starter battery feeds the tow vehicle's half; with the bank in the tow vehicle again that half alone."""
    live = {"coupling_live_on_tow", "coupling_live_on_trailer"}
    assert codes(appraise(read(caravan()))) & live == {"coupling_live_on_tow"}
    assert "coupling_live_on_tow" in codes(appraise(read(towing())))
    both = caravan(coupling("brindle_many", 8, 60, 90, contacts=20))
    both["vehicle"]["places"]["charger"] = "cab"  # charger and bank feed its output from either side
    assert codes(appraise(read(both))) >= live


def test_polarity_of_both_halves_is_a_safety_reading_of_its_own():
    over = {e.key: e for e in appraise(read(caravan())).expectations}
    alone = {e.key for e in appraise(read(truck())).expectations}

    assert over["coupling_polarity"].safety
    assert over["coupling_polarity"].answer == "yes"
    assert "coupling_polarity" not in alone


def test_a_converters_output_out_of_range_holds_up_delivery():
    reading = {e.key: e for e in appraise(read(truck())).expectations}["converter_output_v"]

    assert reading.safety
    assert reading.maximum < 14  # V, its input is 24


def test_what_a_kept_battery_may_not_be_charged_with_is_told_however_it_is_asked():
    """Chargers together over a kept battery's own limit: a shortfall, which holds the quote."""
    raw = keeping(caravan(), ("larkham_100", 1, "battery"))
    for found in raw["catalogue"]:
        if found["key"] == "larkham_100":
            found["spec"]["max_charge_a"] = 5

    assert "kept_too_small" in {s.code for s in appraise(read(raw)).shortfalls}


@pytest.mark.parametrize(("system_v", "bus", "cutout_v", "told"), [
    (24, "house", 10.4, True), (24, "house", 21.0, False), (24, "house12", 10.4, False), (12, "house", 10.4, False),
    (24, "house", None, False),
])  # fmt: skip
def test_an_appliance_of_12_v_on_a_bus_of_24_v_is_told(system_v, bus, cutout_v, told):
    raw = library_case.brief(system_v, "lifepo4", "small").model_dump(mode="json")
    raw["loads"] = [{**raw["loads"][0], "bus": bus, "min_voltage_v": cutout_v, "restart_voltage_v": None}]

    assert ("cutout_of_12_v" in codes(appraise(read(raw)))) == told


def test_the_library_puts_nothing_named_for_12_v_on_a_bus_of_24_v():
    named = {e["name"]: e["bus"] for e in library_case.APPLIANCES.values() if "12 V" in e["name"]}

    assert named
    assert set(named.values()) == {"house12"}


def test_that_charging_stops_with_the_engine_is_read_and_not_taken_for_granted():
    """A charger that stops at 11 V alone would empty the starter battery, through the hitch or not."""
    for raw in (caravan(), truck()):
        found = appraise(read(raw))
        (reading,) = [e for e in found.expectations if e.key == "engine_charger_stops"]

        assert (reading.answer, reading.safety) == ("yes", True)
    raw = truck()
    raw["wishes"]["engine_charging"] = False
    assert "engine_charger_stops" not in {e.key for e in appraise(read(raw)).expectations}
