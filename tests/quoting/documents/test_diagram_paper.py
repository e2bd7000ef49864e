"""The diagram's paper: the page it is made for, its sheets before the schedule, names that have no glyph."""

from __future__ import annotations

import copy
import re
from io import BytesIO

import pytest
from pypdf import PdfReader

from quoting.documents.render import render
from tests.quoting.documents import sample
from tests.quoting.documents.reading import flat, pages
from tests.quoting.sizing.many_circuits import many_made


def made(body, form=""):
    return render("diagram", body, copy.deepcopy(sample.PERSONAL), sample.CHECKSUM, form).pdf


@pytest.mark.parametrize(("form", "wide"), [("", 841.89), ("a3", 1190.55)])
def test_it_is_made_for_the_page_that_was_asked_for(form, wide):
    file = PdfReader(BytesIO(made(sample.design_body(), form)))

    assert {round(float(page.mediabox.width), 2) for page in file.pages} == {wide}


@pytest.mark.parametrize("form", ["", "a3"])
def test_sixty_circuits_stand_on_their_sheets_before_the_schedule(form):
    brief, appraisal = many_made(60, senses=8, batteries=2)
    body = sample.design_body()
    body |= {"brief": brief.model_dump(mode="json"), "appraisal": appraisal.model_dump(mode="json")}

    read = pages(made(body, form))

    drawn = [index for index, text in enumerate(read) if re.search(r"^Sheet \d of \d", text, re.M)]
    assert drawn == list(range(len(drawn)))
    assert len(drawn) == (2 if form else 5)
    said = " ".join(read[index] for index in drawn).split()
    assert {circuit.tag for circuit in appraisal.circuits} - set(said) == set()
    assert "Circuit schedule" in read[len(drawn)]


def test_a_name_in_characters_without_a_glyph_is_printed_by_their_codes():
    body = sample.design_body()
    node = next(n for n in body["appraisal"]["nodes"] if n["what"] == "battery")
    node["name"] = "\u51b7 cell"

    assert "[U+51B7]" in flat(made(body))
