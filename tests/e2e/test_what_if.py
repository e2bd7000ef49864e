"""What if by hand: a slider moves and the figures with it, by keys alone, and without script."""

from __future__ import annotations

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from tests.e2e.browsing import DESK, OVERFLOWING, PHONE, Person

pytestmark = pytest.mark.service

JOB = """
import json
from fitouts.models import Fitout
job = Fitout.objects.get(stage="quoted", kind="new")
print(json.dumps({"job": job.pk}))
"""


@pytest.fixture(scope="module")
def job(demo) -> int:
    return demo.shop.python(JOB)["job"]


def faults(person: Person) -> list[str]:
    """What axe and two widths say against the page as it is."""
    found = [violation["id"] for violation in Axe().run(person.page).response["violations"]]
    for size in (PHONE, DESK):
        person.page.set_viewport_size(size)
        found += person.page.evaluate(OVERFLOWING)
    return found + person.complaints


def test_figures_move_while_a_slider_is_moved_by_keys(sit_down, job):
    mara = sit_down("mara")
    page = mara.page
    mara.go(f"/jobs/{job}/what-if/")
    moves = page.locator("#what-if-answer .moves")
    sun, output = page.get_by_label("Sun of the weather"), page.locator(".dial", has_text="Sun of the weather")

    sun.focus()
    for _press in range(8):
        page.keyboard.press("ArrowLeft")

    expect(output.locator("output")).to_have_text("60\u00a0%")
    expect(sun).to_have_attribute("aria-valuetext", "60\u00a0%")
    expect(moves).to_contain_text("Lowest, bad weather")
    expect(sun).to_be_focused()  # the answer is put beside the sliders, never over them
    expect(page.locator("#what-if-said")).to_contain_text("was")
    link = page.get_by_role("link", name="This trial as a link")
    expect(link).to_have_attribute("href", re.compile(r"what-if/\?sun=60$"))
    assert faults(mara) == []

    link.click()
    expect(output.locator("output")).to_have_text("60\u00a0%")
    expect(moves).to_contain_text("Lowest, bad weather")
    mara.follow("Back to the design")
    expect(moves).to_have_count(0)
    expect(page.locator(".dial.moved")).to_have_count(0)
    assert faults(mara) == []


def test_appliance_is_typed_chosen_and_tried_on_the_page_of_the_job(sit_down, job):
    mara = sit_down("mara")
    page = mara.page
    mara.go(f"/jobs/{job}/")
    part = mara.section("What if")

    part.get_by_label("Add an appliance").fill("no such thing at all")
    page.keyboard.press("Tab")
    expect(part.locator("#what-if-appliance-wrong")).to_contain_text("Nothing in use is called")
    part.get_by_label("Add an appliance").fill("")
    part.get_by_label("Add an appliance").press_sequentially("refrigerator")
    expect(part.locator("#appliance-names option").first).to_be_attached()
    name = part.locator("#appliance-names option").first.get_attribute("value") or ""
    part.get_by_label("Add an appliance").fill(name)
    page.keyboard.press("Tab")

    expect(part.locator("#what-if-appliance-wrong")).to_be_empty()
    expect(part.locator(".moves")).to_contain_text("Used")
    expect(part.locator(".moves .worse").first).to_be_visible()
    expect(part.get_by_role("link", name=re.compile("into the audit"))).to_be_visible()
    assert faults(mara) == []


def test_what_if_works_without_script(sit_down, job):
    joss = sit_down("joss", java_script_enabled=False)
    joss.go(f"/jobs/{job}/what-if/")

    joss.page.get_by_label("Battery worn").check()
    joss.press("Try it")

    expect(joss.page.locator(".moves")).to_contain_text("Lowest, bad weather")
    expect(joss.page.get_by_label("Battery worn")).to_be_checked()
    expect(joss.page.locator("main")).not_to_contain_text("$")
