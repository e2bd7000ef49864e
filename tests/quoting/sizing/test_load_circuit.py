"""No two circuits are known by one key, whatever people call them."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.sizing.appraise import appraise
from quoting.sizing.brief import read
from quoting.sizing.load_circuit import circuit_keys, words_of
from tests.quoting.sizing.many_circuits import many

NAMES = st.sampled_from([None, "load_2", "control", "7", "#7", "=control", "x@2", "x", "A", "A+live", "#", "@starter"])


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("load_2", "load:#load_2"),  # key of another load
        ("control", "load:#control"),  # the supply of monitor and modules
        ("1", "load:#1"),  # lines of an audit are known by numbers
        ("#1", "load:##1"),
        ("x@2", "load:#x@2"),  # as if it hung on the second converter
        ("lights+live", "load:#lights+live"),
        ("Galley", "load:Galley"),
    ],
)
def test_a_name_that_could_be_another_circuit_is_marked(name, key):
    raw = many(6)
    raw["loads"][0]["circuit"] = name

    keys = [c.key for c in appraise(read(raw)).circuits]

    assert key in keys
    assert len(set(keys)) == len(keys)


def test_a_change_by_hand_is_for_the_circuit_it_names_alone():
    raw = many(6)
    raw["loads"][0]["circuit"] = "load_2"
    raw["changes"] = [{"circuit": "load:load_2", "run_m": 9.0, "reason": "Measured with a cord"}]

    changed = [c for c in appraise(read(raw)).circuits if c.changed]

    assert [c.loads for c in changed] == [("load_2",)]


def test_a_load_that_is_called_control_in_a_brief_is_not_the_control_circuit():
    raw = many(3)
    raw["loads"][0]["key"] = "control"

    keys = [c.key for c in appraise(read(raw)).circuits]

    assert {"load:control", "load:=control"} <= set(keys)


@settings(max_examples=40, deadline=None)
@given(st.lists(NAMES, min_size=6, max_size=6), st.lists(NAMES, min_size=2, max_size=2, unique=True))
def test_loads_share_a_key_only_where_they_share_a_name(names, own):
    raw = many(6)
    for load, name in zip(raw["loads"], names, strict=False):
        load["circuit"] = name
    for load, key in zip(raw["loads"][:2], own, strict=True):
        load["key"] = key or load["key"]
    brief = read(raw)

    keys = circuit_keys(brief)

    shared = {}
    for load in brief.loads:
        shared.setdefault(keys[load.key], set()).add(("named", load.circuit) if load.circuit else ("alone", load.key))
    assert all(len(of) == 1 for of in shared.values())
    assert {words_of(key) for key in keys.values()} == {x.circuit or x.key for x in brief.loads}
