"""Loaded conductors that a design lays together: counted, larger of survey and count, settled in a few designs."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.sizing.appraisal import Circuit
from quoting.sizing.bundling import MOST_PASSES, counted, settle_bundles
from quoting.sizing.conductors import ampacity_a
from quoting.sizing.policy import Policy
from tests.quoting.sizing.many_circuits import many_made
from tests.quoting.sizing.rechecked import broken, loaded_together
from tests.quoting.sizing.test_circuits import named, wired
from tests.quoting.sizing.wiring_case import case

POLICY = Policy()


def lamps(count: int, watts: float) -> dict[str, Any]:
    """The wagon with so many lamps of their own circuits at its rear, always live so that no module limits them."""
    raw = copy.deepcopy(case())
    use = {"way": "steady", "power_w": watts, "hours_per_day": 1}
    raw["loads"] += [
        {"key": f"lamp{i}", "name": f"Lamp {i}", "position": "rear", "always_live": True, "at_once": i == 0, "use": use}
        for i in range(count)
    ]
    next(p for p in raw["catalogue"] if p["kind"] == "busbar")["spec"]["studs"] = 60
    return raw


def test_conductors_that_share_a_way_are_counted_feed_and_return():
    """Ten lamps of 12.5 A on one way: 20 conductors, factor 0.5 by 33 CFR table 5 note 2 (M)."""
    lamp = named(wired(lamps(10, 150.0)), "Lamp 3")
    sums = {s.code: s for s in lamp.steps}

    assert (lamp.surveyed_bundled, lamp.bundled) == (2, 20)
    assert sums["bundling_counted"].value == 0.5
    assert sums["bundling_counted"].params == {"bundled": 20, "surveyed": 2, "counted": 20}
    assert lamp.ampacity_a == pytest.approx(0.5 * ampacity_a(lamp.area_mm2, lamp.insulation_c, 50, 1, False), abs=0.01)


def test_conductors_of_little_current_heat_no_other():
    """IEC 60364-5-52, 523.5: up to 30 % of the grouped ampacity does not count (M)."""
    lamp = named(wired(lamps(10, 6.0)), "Lamp 3")

    assert lamp.bundled == 2


def test_the_survey_s_count_is_never_undercut():
    raw = lamps(3, 150.0)
    for run in raw["vehicle"]["runs"]:
        run["bundled"] = 9

    assert {named(wired(raw), f"Lamp {i}").bundled for i in range(3)} == {9}


def test_thick_feeders_are_laid_apart_by_policy_and_the_sum_says_so():
    raw = lamps(4, 150.0)
    raw["vehicle"]["places"]["inverter"] = "rear"
    feed = named(wired(raw), "Inverter feed")
    close = copy.deepcopy(raw)
    close["policy"] = {"laid_apart_mm2": 300.0}

    assert feed.area_mm2 >= POLICY.laid_apart_mm2
    step = next(s for s in feed.steps if s.code == "bundling_apart")
    assert (feed.bundled, step.value, step.params["apart_mm2"]) == (2, 1.0, 25.0)
    # apart from the four lamps, which then lie among eight; together, the feed would lie among ten
    assert named(wired(raw), "Lamp 1").bundled == 8
    assert {c.bundled for c in wired(close).circuits if c.name in ("Lamp 1", "Inverter feed")} <= {10, 2}


@pytest.mark.parametrize("circuits", [5, 60])
def test_a_system_of_many_circuits_lies_among_no_more_than_it_was_designed_for(circuits):
    brief, made = many_made(circuits)

    assert broken(brief, made) == []  # type: ignore[arg-type]
    among = loaded_together(brief, made)  # type: ignore[arg-type]
    assert all(c.bundled >= among[c.key] for c in made.circuits if c.role not in ("sense", "negative_bond"))


@dataclass(frozen=True)
class Laid:
    circuits: tuple[Circuit, ...]


def plain(key: str, amps: float, area: float, bundled: int, passes: tuple[str, ...]) -> Circuit:
    return Circuit(
        tag=key, key=key, name=key, role="load", source="W3", target=key, from_position=passes[0],
        to_position=passes[-1], current_a=amps, run_m=1.0, area_mm2=area, conductor="c", insulation_c=105.0,
        ambient_c=30.0, bundled=bundled, ampacity_a=ampacity_a(area, 105.0, 30.0, bundled, False), drop_v=0.0,
        drop_total_v=0.0, drop_ratio=0.0, drop_limit_ratio=0.03, voltage_v=12.0, drop_iso_v=0.0, decided_by="least",
        passes=passes,
    )  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(0.5, 60), st.sets(st.sampled_from("abcd"), min_size=2)), min_size=1, max_size=14))
def test_it_settles_whatever_is_laid_and_in_few_designs(asked: list[tuple[float, set[str]]]) -> None:
    designs = 0

    def design(together: Mapping[str, int]) -> Laid:
        nonlocal designs
        designs += 1
        out = []
        for i, (amps, spots) in enumerate(asked):
            n = together.get(f"C{i}", 2)
            area = next(a for a in (1, 2.5, 4, 6, 10, 16, 25, 50, 120) if ampacity_a(a, 105.0, 30.0, n, False) >= amps)
            out.append(plain(f"C{i}", amps, area, n, tuple(sorted(spots))))
        return Laid(tuple(out))

    made = settle_bundles(design, POLICY)

    assert designs <= MOST_PASSES + 1
    assert all(c.bundled >= counted(made.circuits, POLICY)[c.key] for c in made.circuits)
