"""Currents that circuits are designed for, and the smallest fault beside the largest."""

from __future__ import annotations

import pytest

from quoting.sizing.needs import BatteryNeed
from quoting.sizing.parts import Catalogue
from quoting.sizing.protection import Supply
from quoting.sizing.runs import Designed, design_run
from quoting.sizing.runs_ask import Ask
from quoting.sizing.topology import Way
from quoting.words import shortfall_words
from tests.quoting.sizing.test_circuits import named, wired
from tests.quoting.sizing.wiring_case import brief_of, case, part


def test_a_conductor_outlasts_the_smallest_fault_too() -> None:
    """A slow link lets more I²t through at the far end's fault than at the largest. IEC 60364-4-43, 434.5.2 (M)."""
    raw = case()
    raw["catalogue"] += [
        part("cable_1_red", "cable", 0.5, area_mm2=1, insulation_c=105, colour="red", ohm_per_km_20c=19.5),
        part("hold_e", "fuse_holder", 6, series="blade_e", max_rating_a=80, ways=1, max_v=58),
        part("slow_20", "fuse", 3, rating_a=20, series="blade_e", breaking_a=2000, max_v=58, resistance_ohm=0.001,
             min_opening_s_at_2x=0.5),
    ]  # fmt: skip
    raw["catalogue"] = [
        x for x in raw["catalogue"] if x["kind"] not in ("fuse", "circuit_breaker") or "slow" in x["key"]
    ]
    brief = brief_of(raw)
    bank = Supply(12.0, 0.01)
    found = design_run(
        Catalogue(brief),
        brief.policy,
        Ask(
            key="C1",
            name="Lamp",
            role="load",
            source="W3",
            target="C1",
            way=Way(("rear",), 2.5, 30.0, 1, False),
            current_a=1.0,
            nominal_v=12.0,
            low_v=12.0,
            high_v=14.4,
            limit_ratio=0.05,
            strong=bank,
            weak=bank,
        ),
    )

    assert isinstance(found, Designed)
    # D: 12 V over 10 mOhm and 5 m of 1 mm2 at 105 °C (26 mOhm/m) is 85 A, 4.3 times 20 A: 4.3 s by ISO 8820 (M);
    # 85² x 4.3 = 31 000 A²s, over (143 x 1)² = 20 400 and under (143 x 1.5)² = 46 000
    assert found.circuit.area_mm2 == 1.5
    assert found.circuit.decided_by == "adiabatic"


def test_the_battery_main_carries_the_inverter_at_its_rating_beside_the_other_loads() -> None:
    wiring = wired(battery=BatteryNeed({"lifepo4": 150.0}, 40.0, 40.0, 0.0))
    main, feed = named(wiring, "Battery main"), named(wiring, "Inverter feed")
    # D: coincident current of every feeder on the way, 14 A of house loads in this case's needs
    assert main.current_a == pytest.approx(feed.current_a + 14.0, abs=0.01)


def test_an_output_that_cannot_protect_itself_is_protected_by_the_device_before_it() -> None:
    """D: 9 A wants a device of 11.25 A or more, which a 10 A output would not outlast."""
    raw = case()
    raw["loads"][3]["use"]["power_w"] = 108.0
    wiring = wired(raw)
    for channel in wiring.channels:
        circuit = next(c for c in wiring.circuits if c.tag == channel["circuit"])
        rating_a = next(d.rating_a for d in circuit.devices if d.what in ("fuse", "breaker"))
        assert rating_a <= channel["limit_a"]
    assert next(c["limit_a"] for c in wiring.channels if c["circuit_name"] == "Water pump") >= 11.25


def test_a_voltage_that_no_conductor_leaves_is_said_as_such() -> None:
    raw = case()
    raw["loads"][3]["min_voltage_v"] = 11.9
    short = next(s for s in wired(raw).shortfalls if "Water pump" in s.subject)

    assert shortfall_words(short).startswith("No conductor leaves C")
    assert "12.2 V with its margin" in shortfall_words(short).replace("\u00a0", " ")
