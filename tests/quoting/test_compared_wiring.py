"""What has changed about wiring since a design, in words."""

from __future__ import annotations

import copy

import pytest

from quoting.services.compared_wiring import circuit_name, only_placed, wiring
from quoting.services.designs import INPUT_WORDS
from quoting.sizing.brief import Vehicle, read
from tests.factories.wagon import example

PLAIN = read(example()).model_dump(mode="json")
SENSE = {"key": "s", "name": "Fresh water", "what": "tank", "position": "cargo", "part": None}
CHANGE = {"circuit": "charger_output_U1", "area_mm2": 35.0, "reason": "spare", "by": "Mara"}
LYING = {"circuit": "load:fridge", "name": "Refrigerator", "area_mm2": 4.0, "rating_a": 10.0}


@pytest.mark.parametrize(
    ("part", "row", "change", "words"),
    [
        ("senses", SENSE, {"position": "rear"}, ("is watched now", "no longer watched", "in another way or place")),
        ("changes", CHANGE, {"area_mm2": 50.0}, ("Charger output u1” was settled", "taken back", "in another way")),
        ("existing", LYING, {"area_mm2": 6.0}, ("lying in the vehicle", "no longer counted on", "written down anew")),
    ],
)
def test_what_came_went_and_changed_is_named(part, row, change, words):
    without, with_, other = (copy.deepcopy(PLAIN) | {part: rows} for rows in ([], [row], [row | change]))

    pairs = ((without, with_), (with_, without), (with_, other), (with_, with_))
    said = [[sentence for _, sentence in wiring(before, now)] for before, now in pairs]

    assert [len(one) for one in said] == [1, 1, 1, 0]
    for (sentence,), piece in zip(said[:3], words, strict=True):
        assert piece in sentence


@pytest.mark.parametrize("part", ["layout", "inputs", "kept"])
def test_what_was_laid_otherwise_is_said_once(part):
    now = copy.deepcopy(PLAIN) | {part: [{"circuit": "load:fridge", "module": 1, "channel": 2}]}

    assert [p for p, _ in wiring(PLAIN, now)] == [part]


def test_a_brief_from_before_lacks_the_parts_and_nothing_is_said():
    older = {k: v for k, v in PLAIN.items() if k not in ("senses", "changes", "existing", "layout", "inputs", "kept")}

    assert list(wiring(older, PLAIN)) == []


def test_a_circuit_is_called_by_its_load():
    assert circuit_name("load:fridge", PLAIN) == "Refrigerator-freezer, 60 L"
    assert circuit_name("load:Lamps", PLAIN) == "Lamps"
    assert circuit_name("engine_feed", PLAIN) == "Engine feed"


def test_where_a_position_is_drawn_is_not_where_it_is():
    before = PLAIN["vehicle"]["positions"]
    drawn = [{**one, "x_m": 2.0} for one in before]

    assert only_placed(before, drawn)
    assert not only_placed(before, [{**one, "ambient_c": 80.0} for one in before])


def test_every_plain_field_of_a_vehicle_has_words():
    lists = {"positions", "runs", "places", "hitch", "weight_kg", "roof", "battery_spaces"}

    assert set(Vehicle.model_fields) - lists <= set(INPUT_WORDS)
