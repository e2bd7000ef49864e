"""Every number on a paper comes from its snapshot."""

from __future__ import annotations

import pytest

from quoting.documents.render import render
from quoting.documents.tracing import FIXED, allowed_numbers, numbers_on
from tests.quoting.documents import sample
from tests.quoting.documents.reading import BODIES

PAPERS = [(kind, BODIES[kind]) for kind in BODIES] + [
    ("test_sheet", sample.as_built_body),
    ("diagram", sample.as_built_body),
    ("diagram", sample.quote_body),
]


@pytest.mark.parametrize(("kind", "body_of"), PAPERS, ids=lambda value: getattr(value, "__name__", value))
def test_every_number_on_a_paper_is_traced(kind, body_of):
    body = body_of()
    made = render(kind, body, sample.PERSONAL, sample.CHECKSUM)
    allowed = allowed_numbers(body, sample.PERSONAL)

    printed = numbers_on(made.pdf)

    assert len(printed) > 100
    assert [(page, token) for page, token in printed if token not in allowed] == []


@pytest.mark.parametrize("change", [sample.without_mains, sample.without_parts])
@pytest.mark.parametrize("kind", BODIES)
def test_numbers_of_other_systems_are_traced_too(kind, change):
    body = BODIES[kind](change)

    made = render(kind, body, sample.PERSONAL, sample.CHECKSUM)

    allowed = allowed_numbers(body, sample.PERSONAL)
    assert [(page, token) for page, token in numbers_on(made.pdf) if token not in allowed] == []


def test_a_number_that_is_not_in_the_snapshot_is_found():
    body = sample.quote_body()
    made = render("quote", body, sample.PERSONAL, sample.CHECKSUM)
    other = sample.quote_body()
    other["offer"]["total"] = "12345.67"

    strange = {token for _page, token in numbers_on(made.pdf)} - allowed_numbers(other, sample.PERSONAL)

    assert strange == {f"{float(body['offer']['total']):,.2f}"}


def test_the_fixed_numbers_are_few():
    assert sum(len(tokens) for tokens in FIXED.values()) <= 8
