"""Two jobs that differ in one input differ in figures, and the figure moves the right way.

The example's Brief is the one; each row changes a single input of it. The directions are physics, not our output:
hotter air loads a refrigerator more, a longer run is thicker, less alternator leaves less headroom.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from quoting.documents.builders import content_of, open_for
from quoting.sizing.appraisal import Appraisal
from quoting.sizing.appraise import appraise
from quoting.sizing.brief import read
from tests.quoting.documents.sample import as_built_body

EXAMPLE = json.loads((Path(__file__).parent.parent / "examples" / "field_wagon.json").read_text(encoding="utf-8"))
Raw = dict[str, Any]


def worked_out(change: Callable[[Raw], None] = lambda raw: None) -> Appraisal:
    raw = copy.deepcopy(EXAMPLE)
    change(raw)
    return appraise(read(raw))


@cache
def plain() -> Appraisal:
    return worked_out()


def set_(path: str, value: Any) -> Callable[[Raw], None]:
    """Set one value of a Brief, by a path as ``trip.0.month``."""

    def change(raw: Raw) -> None:
        *way, last = path.split(".")
        here: Any = raw
        for name in way:
            here = here[int(name)] if isinstance(here, list) else here[name]
        assert here[int(last) if isinstance(here, list) else last] != value, "the change must be one"
        here[int(last) if isinstance(here, list) else last] = value

    return change


def hotter(raw: Raw) -> None:
    for stop in raw["trip"]:
        stop["site"]["tmin_c"] = [t + 16 for t in stop["site"]["tmin_c"]]
        stop["site"]["tmax_c"] = [t + 16 for t in stop["site"]["tmax_c"]]


def longer_feed(raw: Raw) -> None:
    starter = raw["vehicle"]["places"]["starter"]
    for run in raw["vehicle"]["runs"]:
        if starter in (run["a"], run["b"]):
            run["length_m"] *= 2.5


def one_appliance_more(raw: Raw) -> None:
    use = {"way": "steady", "power_w": 40.0, "hours_per_day": 6.0}
    raw["loads"].append({"key": "extra", "name": "Extra radio", "use": use, "position": raw["loads"][0]["position"]})


def figure(code: str) -> Callable[[Appraisal], float]:
    return lambda a: a.value(code)


def feed_area_mm2(a: Appraisal) -> float:
    return next(c.area_mm2 for c in a.circuits if c.role == "engine_feed")


def sun_wh(a: Appraisal) -> float:
    return a.stops[0].sun_wh


def sun_wh_per_w(a: Appraisal) -> float:
    """Of the panels chosen: a sunnier trip may well be met by fewer of them."""
    panel = next(c for c in a.chosen if c.role == "panel")
    power_w = next(p["spec"]["power_w"] for p in EXAMPLE["catalogue"] if p["key"] == panel.part)
    return a.stops[0].sun_wh / (panel.quantity * power_w)


UP, DOWN = 1, -1
PAIRS = [
    ("hotter air", hotter, figure("day.energy_wh"), UP),
    ("hotter air takes more power", hotter, lambda a: a.lasting[0].power_w, UP),
    ("longer engine feed", longer_feed, feed_area_mm2, UP),
    ("weaker alternator", set_("vehicle.hot_idle_a", 40.0), figure("engine.headroom_idle_a"), DOWN),
    ("hungrier vehicle", set_("vehicle.own_draw_a", 45.0), figure("engine.headroom_idle_a"), DOWN),
    ("summer for winter", set_("trip.0.month", 1), sun_wh_per_w, UP),
    ("more shade", set_("trip.0.shade_ratio", 0.6), sun_wh, DOWN),
    ("more driving", set_("trip.0.driving_h_per_day", 5.0), lambda a: a.stops[0].engine_wh, UP),
    ("one appliance more", one_appliance_more, figure("day.energy_wh"), UP),
    ("one appliance more asks more battery", one_appliance_more, figure("battery.asked_ah"), UP),
    ("more days of autonomy", set_("wishes.autonomy_days", 3.0), figure("battery.asked_ah"), UP),
    ("more draw standing", set_("vehicle.standing_draw_a", 0.2), figure("starter.days_parked"), DOWN),
]


@pytest.mark.parametrize(("change", "measure", "way"), [p[1:] for p in PAIRS], ids=[p[0] for p in PAIRS])
def test_one_input_moves_its_figure_the_right_way(change, measure, way):
    before, after = measure(plain()), measure(worked_out(change))

    assert (after - before) * way > 0, f"{before} became {after}"


@pytest.mark.parametrize("change", [p[1] for p in PAIRS], ids=[p[0] for p in PAIRS])
def test_one_input_changes_what_is_printed(change):
    after = worked_out(change)

    assert after.brief_sha256 != plain().brief_sha256
    assert after.figures != plain().figures or after.circuits != plain().circuits


BY_NAME = {name: change for name, change, _measure, _way in PAIRS}
CHANGE_THE_BILL = (
    "hotter air",
    "longer engine feed",
    "hungrier vehicle",
    "more shade",
    "one appliance more",
    "more days of autonomy",
)
SEEN_BY_THE_OWNER = (
    "hotter air",
    "weaker alternator",
    "hungrier vehicle",
    "summer for winter",
    "more shade",
    "one appliance more",
    "more days of autonomy",
    "more draw standing",
)
"""A longer feed is a thicker cable and more driving another trip: neither changes how to live with the system."""


@pytest.mark.parametrize("name", CHANGE_THE_BILL)
def test_what_changes_the_system_changes_its_bill(name):
    assert worked_out(BY_NAME[name]).bill != plain().bill


@pytest.mark.parametrize("name", SEEN_BY_THE_OWNER)
def test_what_changes_life_with_it_changes_the_handover_sheet(name):
    assert handover(worked_out(BY_NAME[name])) != handover(plain())


def handover(appraisal: Appraisal) -> Any:
    """What the handover sheet would print of an appraisal, all else alike."""
    body = {**as_built_body(), "appraisal": appraisal.model_dump(mode="json")}
    return content_of("handover", open_for("handover", body, None, "ab" * 32))


def test_a_kind_gone_from_the_catalogue_is_a_named_shortfall_and_never_a_substitute():
    def without_batteries(raw: Raw) -> None:
        raw["catalogue"] = [p for p in raw["catalogue"] if p["kind"] != "battery"]

    after = worked_out(without_batteries)

    assert [s.need.code for s in after.shortfalls].count("storage") == 1
    assert not [c for c in after.chosen if c.role == "battery"]
    assert not [line for line in after.bill if line.rule == "battery"]


@pytest.mark.parametrize("index", range(len(plain().chosen)))
def test_a_chosen_part_gone_is_replaced_by_one_that_meets_the_need_or_named(index):
    gone = plain().chosen[index]

    def without(raw: Raw) -> None:
        raw["catalogue"] = [p for p in raw["catalogue"] if p["key"] != gone.part]

    after = worked_out(without)

    assert gone.part not in {c.part for c in after.chosen}
    met = {need for c in after.chosen for need in c.serves} | {s.need.code for s in after.shortfalls}
    assert set(gone.serves) <= met
