"""Three offers at a browser: asked for, watched, compared, one part swapped, taken, quoted."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.service

JOB = """
from fitouts.models import Fitout
print(Fitout.objects.get(kind="upgrade", stage="surveyed").pk)
"""


def test_from_one_button_to_a_quote(demo, sit_down):
    mara = sit_down("mara")
    job = demo.shop.python(JOB)
    page = mara.page

    mara.go(f"/jobs/{job}/")
    mara.follow("Three offers")
    mara.press("Work out three offers")
    expect(page.get_by_role("heading", name="The offers")).to_be_visible(timeout=90_000)  # the page asks by itself
    mara.look("offers")

    steady = page.get_by_role("article", name="Steady")
    price = steady.locator(".price b").inner_text()
    mara.press(re.compile(r"^Take it instead ?: .*, Steady$"), exact=False)
    expect(page.get_by_role("heading", name="Steady, by hand 1")).to_be_visible()
    expect(page.get_by_role("columnheader", name="Steady, by hand 1")).to_be_visible()
    mara.look("offers-swap")

    mara.follow("Keep it beside the offers")
    expect(steady.get_by_role("link", name="By hand 1 of Steady")).to_be_visible()
    expect(steady.locator(".price b")).to_have_text(price)

    mara.press("Put the ticked ones into the quote")
    said = page.locator("#messages")
    expect(said).to_contain_text("is the job’s design now")
    taken = re.search(r"(Lean|Steady|Roomy) is the job’s design now", said.inner_text())  # what is alike is ticked once
    assert taken is not None
    mara.go(f"/jobs/{job}/offers/")
    expect(page.get_by_role("article", name=taken[1]).get_by_text("the job’s design")).to_be_visible()
    assert mara.complaints == []
