"""Circuits of loads on the starter bus."""

from __future__ import annotations

from typing import Any

import pytest

from quoting.sizing.appraisal import Appraisal, Circuit
from quoting.sizing.appraise import appraise
from quoting.sizing.brief import read
from tests.quoting.sizing.systems_case import caravan, sunny, truck


def on_starter(raw: dict[str, Any], *powers_w: float, position: str = "rear", **more: Any) -> dict[str, Any]:
    raw["loads"] += [
        {"key": f"lamp_{i}", "name": f"Lamp {i}", "bus": "starter", "position": position,
         "use": {"way": "steady", "power_w": watts, "hours_per_day": 1}} | more
        for i, watts in enumerate(powers_w)
    ]  # fmt: skip
    return raw


def made(raw: dict[str, Any]) -> Appraisal:
    return appraise(read(raw))


def of_starter(found: Appraisal) -> list[Circuit]:
    return [c for c in found.circuits if c.key.endswith("@starter")]


def test_two_loads_start_each_at_the_post_with_a_device_there() -> None:
    found = made(on_starter(sunny(), 24.0, 60.0))

    assert [(c.source, c.role, c.group) for c in of_starter(found)] == [("B0", "load", "none")] * 2
    for circuit, amps in zip(of_starter(found), (2.0, 5.0), strict=True):
        assert circuit.current_a == amps  # 24 W and 60 W at 12 V
        (device,) = circuit.devices
        assert device.end == "source"
        assert device.position == "engine"
        assert device.distance_m <= 0.2


def test_three_loads_share_a_feed_and_a_board_beside_the_starter_battery() -> None:
    found = made(on_starter(sunny(), 24.0, 60.0, 36.0))
    (feed,) = [c for c in found.circuits if c.role == "starter_feed"]
    board = next(n for n in found.nodes if n.tag == feed.target)

    assert (feed.source, feed.key, board.what, board.position) == ("B0", "starter_feed", "board", "engine")
    assert feed.current_a == 10.0
    assert [c.source for c in of_starter(found)] == [feed.target] * 3
    assert all(c.drop_total_v > c.drop_v + 0.9 * feed.drop_v for c in of_starter(found))


def test_fault_behind_a_device_at_the_post_is_battery_and_alternator() -> None:
    found = made(on_starter(sunny(), 24.0))
    (circuit,) = of_starter(found)

    # 14.4 V behind 6 mΩ, and the alternator's 150 A
    assert circuit.fault_a == pytest.approx(14.4 / 0.006 + 150, rel=1e-3)
    assert circuit.devices[0].breaking_a is not None
    assert circuit.devices[0].breaking_a >= circuit.fault_a


def test_unmeasured_starter_battery_wants_devices_of_the_highest_breaking_capacity() -> None:
    raw = on_starter(sunny(), 500.0, position="engine")
    raw["vehicle"]["starter_ohm"] = None
    (circuit,) = of_starter(made(raw))

    assert circuit.fault_a is None
    assert (circuit.devices[0].breaking_a or 0) >= 20000


def test_nothing_of_the_starter_bus_is_counted_on_the_house_side() -> None:
    bare, found = made(sunny()), made(on_starter(sunny(), 24.0, 60.0, 36.0))
    currents = [{c.key: c.current_a for c in x.circuits if c.role != "engine_feed"} for x in (bare, found)]

    assert {key: currents[1][key] for key in currents[0]} == currents[0]
    tags = {c.tag for c in of_starter(found)}
    assert not tags & {row["circuit"] for row in found.channels}
    assert {c.key: c.tag for c in bare.circuits}.items() <= {c.key: c.tag for c in found.circuits}.items()


def test_volts_are_those_of_the_vehicle() -> None:
    found = made(on_starter(truck(), 48.0))
    (circuit,) = of_starter(found)

    assert circuit.current_a == 2.0  # 48 W at 24 V
    assert circuit.voltage_v == pytest.approx(24.0 - circuit.drop_total_v, abs=1e-3)


def test_cut_out_of_a_starter_load_is_kept_with_its_margin() -> None:
    raw = on_starter(sunny(), 60.0, min_voltage_v=11.2, start_multiple=2.0, start_s=0.2)
    (circuit,) = of_starter(made(raw))

    assert circuit.voltage_v >= 11.5


def test_without_a_starter_place_nobody_guesses_where_it_starts() -> None:
    raw = on_starter(sunny(), 24.0, 36.0)
    raw["wishes"] = {"system_v": 12, "engine_charging": False}
    del raw["vehicle"]["places"]["starter"]
    found = made(raw)

    assert not of_starter(found)
    (said,) = [f for f in found.findings if f.code == "starter_loads_without_place"]
    assert (said.level, said.params["names"]) == ("danger", "Lamp 0, Lamp 1")


def test_starter_load_on_a_trailer_passes_the_coupling_and_is_dead_unhitched() -> None:
    found = made(on_starter(caravan(), 24.0))
    (circuit,) = of_starter(found)

    assert circuit.crosses_hitch
    assert circuit.dead_unhitched
    assert circuit.pin_pairs == 1 or any(s.need.code == "coupling" for s in found.shortfalls)


def test_loads_of_one_name_on_both_buses_are_two_circuits() -> None:
    found = made(on_starter(sunny(), 24.0, circuit="Rear"))

    assert {"load:Rear", "load:Rear@starter"} <= {c.key for c in found.circuits}
