"""The vehicle plan on paper: every run and position of the design, to scale on A4 and A3."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest

from quoting.documents.builders import content_of, open_for
from quoting.documents.render import render
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
