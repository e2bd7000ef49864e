"""Ways through the vehicle."""

from __future__ import annotations

from typing import Any

import pytest

from quoting.sizing.errors import SizingError
from quoting.sizing.topology import SAME_PLACE_M, place, way
from tests.quoting.sizing.wiring_case import brief_of, case


def vehicle(runs: list[dict[str, Any]]):
    raw = case()
    raw["vehicle"] = {**raw["vehicle"], "runs": runs}
    return brief_of(raw).vehicle


RUNS = [
    {"a": "engine", "b": "canopy", "length_m": 5.0, "bundled": 4},
    {"a": "engine", "b": "roof", "length_m": 1.0, "bundled": 9},
    {"a": "roof", "b": "canopy", "length_m": 1.5, "bundled": 1},
]


def test_the_shortest_way_is_taken_with_the_worst_along_it() -> None:
    found = way(vehicle(RUNS), "canopy", "engine")

    assert found.positions == ("canopy", "roof", "engine")
    assert found.run_m == pytest.approx(2.5)
    assert (found.ambient_c, found.bundled, found.engine_space) == (70, 9, True)


def test_a_shorter_direct_run_wins() -> None:
    found = way(vehicle([{**RUNS[0], "length_m": 2.4}, *RUNS[1:]]), "canopy", "engine")

    assert found.positions == ("canopy", "engine")
    assert found.bundled == 4


def test_two_things_at_one_place_are_still_a_little_apart() -> None:
    assert way(vehicle(RUNS), "roof", "roof").run_m == SAME_PLACE_M


def test_a_missing_run_names_both_positions() -> None:
    with pytest.raises(SizingError, match=r"no cable way from 'Canopy rear' \(rear\) to 'Roof' \(roof\)"):
        way(vehicle(RUNS), "rear", "roof")


def test_a_missing_place_is_named() -> None:
    raw = case()
    places = {k: v for k, v in raw["vehicle"]["places"].items() if k != "board"}
    raw["vehicle"] = {**raw["vehicle"], "places": places}

    with pytest.raises(SizingError, match=r"vehicle\.places\.board is missing"):
        place(brief_of(raw).vehicle, "board")
