"""The vehicle plan on paper: every run and position of the design, to scale on A4 and A3."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Any

import pytest

from quoting.documents.builders import content_of, open_for
from quoting.documents.render import render
from quoting.documents.tracing import allowed_numbers, numbers_on
from tests.quoting.documents import sample
from tests.quoting.documents.many import design_of
from tests.quoting.documents.reading import flat


def content(body):
    return content_of("plan", open_for("plan", body, sample.PERSONAL, sample.CHECKSUM))


@pytest.mark.parametrize(("circuits", "more"), [(5, {}), (20, {"trailer": True}), (60, {})])
def test_every_run_position_and_circuit_of_the_design_is_on_it(circuits, more):
    body = design_of(circuits, **more)
    made = content(body)
    vehicle = body["brief"]["vehicle"]

    assert len(made.spots) == len(vehicle["positions"])
    assert len(made.lanes) == len(vehicle["runs"]) + bool(vehicle["hitch"])
    laid = {tag for row in made.lanes for tag in tags_in(row.circuits)}
    assert laid == {c["tag"] for c in body["appraisal"]["circuits"] if list(pairwise(c["passes"]))}


def tags_in(words: str) -> set[str]:
    """Tags of a cell: ``2.5 mm²: C1–C3, C7; 1.5 mm²: C4``."""
    found = set()
    for letters, first, last in re.findall(r"([A-Z]+)(\d+)(?:–[A-Z]+(\d+))?", words.replace("mm²", "")):
        found |= {f"{letters}{n}" for n in range(int(first), int(last or first) + 1)}
    return found


@pytest.mark.parametrize("form", ["", "a3"])
def test_the_plan_is_printed_on_either_page_with_its_scale(form):
    body = design_of(20)
    made = render("plan", body, sample.PERSONAL, sample.CHECKSUM, form)
    text = flat(made.pdf)

    assert ("1:25 at full size" if form else "1:50 at full size") in text
    assert "not on this plan" in text
    for position in body["brief"]["vehicle"]["positions"]:
        assert position["name"] in text
    assert render("plan", body, sample.PERSONAL, sample.CHECKSUM, form).pdf == made.pdf


def test_a_conduit_is_named_with_how_full_it_is():
    body = design_of(20)
    made = content(body)

    uses = [use for use in body["appraisal"]["sleeves"] if use["part"]]
    assert uses
    said = " ".join(row.conduit for row in made.lanes)
    assert all(use["name"] in said for use in uses)


def with_room() -> dict[str, Any]:
    """A design whose roof and battery space were surveyed, with two panels and a battery laid there."""
    body = design_of(5)
    area = {"key": "a", "name": "Canopy", "length_m": 2.4, "width_m": 1.4, "x_m": 1.5, "y_m": 0.0, "on_trailer": False}
    hatch = {"x_m": 1.4, "y_m": 0.5, "length_m": 0.4, "width_m": 0.35}
    box = {"key": "b", "name": "Bench", "length_mm": 813.0, "width_mm": 402.0, "height_mm": 300.0}
    body["brief"]["vehicle"] |= {"roof": [{**area, "taken": [hatch]}], "battery_spaces": [box]}
    body["appraisal"]["panels"] = [
        {"area": "a", "x_m": 0.03, "y_m": 0.03, "length_m": 0.68, "width_m": 1.21},
        {"area": "a", "x_m": 0.73, "y_m": 0.03, "length_m": 0.68, "width_m": 0.57},
    ]
    body["appraisal"]["batteries"] = [{"space": "b", "x_mm": 10.0, "y_mm": 17.0, "length_mm": 331.0, "width_mm": 173.0}]
    return body


def test_where_panels_lie_and_batteries_stand_is_a_table_on_the_plan():
    body = with_room()

    made = content(body)

    assert [(r.place, r.number, r.from_front, r.from_left, r.sides, r.way) for r in made.panels] == [
        ("Canopy", "1", "0.03", "0.03", "0.68 × 1.21", "across the vehicle"),
        ("Canopy", "2", "0.73", "0.03", "0.68 × 0.57", "lengthwise"),
    ]
    assert [(r.place, r.from_left, r.sides) for r in made.batteries] == [("Bench", "17", "331 × 173")]


def test_what_the_plan_says_of_panels_and_batteries_comes_from_the_snapshot():
    body = with_room()

    made = render("plan", body, sample.PERSONAL, sample.CHECKSUM)

    allowed = allowed_numbers(body, sample.PERSONAL)
    assert [(page, token) for page, token in numbers_on(made.pdf) if token not in allowed] == []
    text = flat(made.pdf)
    assert "Panels on the roof" in text
    assert "Batteries in their spaces" in text
    assert "Broken lines: roof areas" in text


def test_a_design_of_before_has_neither_table():
    made = content(design_of(5))

    assert (made.panels, made.batteries) == ((), ())
