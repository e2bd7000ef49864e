"""In what two Briefs differ about settled parts and about room, in words; fields that one does not know are empty."""

from __future__ import annotations

import pytest

from quoting.services.compared_held import held, space

BATTERY = {"role": "battery", "part": "2", "quantity": 2, "series": 1}
STEADY, LEAN = {"offer": "steady", "battery_ratio": 1.0}, {"offer": "lean", "battery_ratio": 0.75}


@pytest.mark.parametrize(
    ("before", "now", "said"),
    [
        ({}, {"picks": [], "room": None}, []),
        ({}, {"picks": [BATTERY]}, ["The job is held to parts now: Battery."]),
        ({"picks": [BATTERY]}, {"picks": [{**BATTERY, "quantity": 3}]}, ["The job is held to other parts: Battery."]),
        ({"picks": [BATTERY]}, {"picks": [{**BATTERY, "by_hand": True}]}, []),
        (
            {"picks": [BATTERY], "room": STEADY},
            {},
            ["The job is held to no parts any more; it chooses freely."],
        ),
        ({"room": STEADY}, {"room": LEAN}, ["It asks the room of the offer Lean now."]),
        ({"room": STEADY}, {"room": None}, ["No more than the need itself is asked: the job follows no offer."]),
    ],
)
def test_settled_parts_and_room_of_an_offer(before, now, said):
    assert [words for _part, words in held(before, now)] == said


@pytest.mark.parametrize(
    ("before", "now", "said"),
    [
        ({}, {"roof": [], "battery_spaces": []}, []),
        ({}, {"roof": [{"key": "1"}]}, ["The roof areas of the vehicle were changed."]),
        ({"battery_spaces": [{"key": "1"}]}, {}, ["The battery spaces of the vehicle were changed."]),
    ],
)
def test_room_in_the_vehicle(before, now, said):
    assert [words for _part, words in space(before, now)] == said
