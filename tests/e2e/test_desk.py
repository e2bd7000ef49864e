"""The desk's everyday tools by hand: find anything, keep a filter, re-price many, undo."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from tests.e2e.browsing import DESK, OVERFLOWING, PHONE, Person

pytestmark = pytest.mark.service

CHECK = """
import io, json
from django.core.management import call_command
said = io.StringIO()
call_command("index_words", check=True, stdout=said)
print(json.dumps({"said": said.getvalue()}))
"""


def faults(person: Person) -> list[str]:
    """What axe and a phone's width say against the page as it is."""
    found = [violation["id"] for violation in Axe().run(person.page).response["violations"]]
    for size in (PHONE, DESK):
        person.page.set_viewport_size(size)
        found += person.page.evaluate(OVERFLOWING)
    return found + person.complaints


def test_every_record_of_the_demo_is_found_by_its_words(demo):
    assert demo.shop.python(CHECK)["said"] == "Every record is found by its words.\n"


def test_anything_is_found_from_the_box_by_keys_alone(sit_down):
    mara = sit_down("mara")
    page, box = mara.page, mara.page.get_by_role("combobox", name="Find anything")
    mara.go("/jobs/")

    page.keyboard.press("/")
    expect(box).to_be_focused()
    page.keyboard.type("halvard")
    offers = page.locator("#find-offers").get_by_role("option")
    expect(offers.first).to_be_visible()
    expect(box).to_have_attribute("aria-expanded", "true")
    assert faults(mara) == []

    page.keyboard.press("Escape")
    expect(offers.first).to_be_hidden()
    expect(box).to_have_value("halvard")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowUp")
    chosen = page.locator("#find-offers").get_by_role("option", selected=True)
    expect(chosen).to_have_count(1)
    expect(box).to_have_attribute("aria-activedescendant", chosen.get_attribute("id") or "")
    words = chosen.locator("b").inner_text()
    page.keyboard.press("Enter")
    page.wait_for_url(lambda url: not url.endswith("/jobs/"))

    mara.go("/find/")  # what was opened is offered again
    expect(page.get_by_role("link", name=words, exact=True).first).to_be_visible()
    assert faults(mara) == []

    box.fill("/")  # in a field, the key is a letter like others
    expect(box).to_have_value("/")


def test_box_works_without_script(sit_down):
    joss = sit_down("joss", java_script_enabled=False)

    joss.page.get_by_role("searchbox", name="Find anything").fill("larkham 12.8 v")
    joss.page.keyboard.press("Enter")

    expect(joss.page.get_by_role("region", name="Found")).to_contain_text("Larkham")
    expect(joss.page.locator("main")).not_to_contain_text("$")


def test_many_are_repriced_looked_at_and_undone(sit_down):
    mara = sit_down("mara")
    page = mara.page
    mara.go("/catalogue/?q=larkham&sort=-cost")
    before = page.locator("tbody td.n").all_inner_texts()
    mara.follow("Pick rows")
    page.locator("tbody .pick label").first.click()
    page.locator("tbody .pick label").nth(1).click()
    assert faults(mara) == []
    mara.press("Go on with the ticked ones")

    expect(page.get_by_role("heading", name="2 records picked")).to_be_visible()
    assert faults(mara) == []
    reprice = mara.section("Re-price")
    mara.write("By or to", "-4", reprice)
    reprice.get_by_label("Rounded to").select_option("0.05")
    mara.press("Show what changes", reprice)
    expect(page.get_by_text("Cost of 2 components lowered by 4")).to_be_visible()
    assert faults(mara) == []
    mara.press("Do it to 2 records")

    expect(page.get_by_role("status")).to_contain_text("lowered by 4")
    assert faults(mara) == []
    mara.follow("Undo", exact=False)
    expect(page.get_by_role("region", name="What is put back")).to_be_visible()
    assert faults(mara) == []
    mara.press("Put 2 records back")
    expect(page.get_by_role("status")).to_contain_text("2 records are as before")
    mara.go("/catalogue/?q=larkham&sort=-cost")
    assert page.locator("tbody td.n").all_inner_texts() == before


def test_filter_is_kept_chosen_and_removed(sit_down):
    joss = sit_down("joss")
    page = joss.page
    joss.go("/catalogue/?q=larkham")
    page.get_by_text("Keep this filter").click()
    joss.write("Name of the filter", "Our batteries")
    assert faults(joss) == []
    joss.press("Keep")

    joss.go("/catalogue/")
    joss.follow("Our batteries")
    expect(page.get_by_role("link", name="Our batteries")).to_have_attribute("aria-current", "true")
    page.get_by_text("Rename or remove").click()
    assert faults(joss) == []
    joss.press("Remove Our batteries")
    expect(page.get_by_role("link", name="Our batteries")).to_have_count(0)
