"""A quote of several offers on paper."""

from __future__ import annotations

import pytest

from quoting.documents import side_by_side
from quoting.documents.common import Frozen
from quoting.documents.render import render
from quoting.documents.tracing import allowed_numbers, numbers_on
from tests.quoting.documents import sample
from tests.quoting.documents.reading import flat


@pytest.fixture(scope="module")
def body():
    return sample.side_by_side(sample.quote_body())


@pytest.fixture(scope="module")
def pdf(body):
    return render("quote", body, sample.PERSONAL, sample.CHECKSUM).pdf


def test_every_offer_stands_there_with_its_sum_its_lines_and_a_box(body, pdf):
    text = flat(pdf)

    for one in body["offers"]:
        total = f"{float(one['total']):,.2f}"
        assert text.count(total) >= 3, one["name"]
    for name in ("Lean", "Steady", "Roomy"):
        assert f"The {name} offer, line by line" in text
    assert "Lean, Steady or Roomy to choose from" in text
    assert "I accept the offer of Quote Q-0417, revision B that is ticked here" in text


def test_every_number_on_it_is_traced(body, pdf):
    allowed = allowed_numbers(body, sample.PERSONAL)

    assert [(page, token) for page, token in numbers_on(pdf) if token not in allowed] == []


def test_what_offers_have_and_lack_is_told_apart(body):
    frozen = Frozen.open(body, sample.PERSONAL, sample.CHECKSUM)

    compared = side_by_side.compared(frozen)

    rows, parts = dict(compared.rows), dict(compared.parts)
    assert rows["Trips on which something essential goes dark"] == (
        "12.5\u00a0%, at most 18\u00a0%",
        "3.5\u00a0%, at most 7\u00a0%",
        "0\u00a0%, at most 1.9\u00a0%",
    )
    assert rows["Waits for parts"][0] == "nothing; it is on the shelf"
    assert parts["Inverter"][0] == side_by_side.NOTHING


def test_one_offer_prints_as_it_did(body):
    one = {name: value for name, value in body.items() if name != "offers"}

    text = flat(render("quote", one, sample.PERSONAL, sample.CHECKSUM).pdf)

    assert "side by side" not in text
    assert "I accept Quote Q-0417, revision B with its assumptions, exclusions and terms, for $" in text
