"""A circuit settled by hand, by keys alone: refused by its rule, kept with a reason, taken back; without script too."""

from __future__ import annotations

import re
from io import BytesIO

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect
from pypdf import PdfReader

from tests.e2e.browsing import DESK, OVERFLOWING, PHONE, Person

pytestmark = pytest.mark.service

JOB = """
import json
from fitouts.models import Fitout
from quoting.services import designs
job = Fitout.objects.filter(stage="surveyed").order_by("pk").first()
circuits = designs.appraisal_of(job.designs.first()).circuits
one, other = (next(c for c in circuits if c.role == role) for role in ("distribution", "engine_feed"))
print(json.dumps({
    "job": job.pk, "tag": one.tag, "area": one.area_mm2, "other": other.tag, "name": other.name, "run": other.run_m,
}))
"""


@pytest.fixture(scope="module")
def circuit(demo) -> dict[str, object]:
    return demo.shop.python(JOB)


def faults(person: Person) -> list[str]:
    """What axe and two widths say against the page as it is."""
    found = [violation["id"] for violation in Axe().run(person.page).response["violations"]]
    for size in (PHONE, DESK):
        person.page.set_viewport_size(size)
        found += person.page.evaluate(OVERFLOWING)
    return found + person.complaints


def test_refused_kept_and_taken_back_by_keys(sit_down, circuit):
    mara = sit_down("mara")
    page, tag = mara.page, circuit["tag"]
    mara.go(f"/jobs/{circuit['job']}/circuits/")
    row = page.locator(f"#circuit-{tag}")

    row.locator("summary").focus()
    page.keyboard.press("Enter")
    row.get_by_role("link", name="Change by hand").focus()
    page.keyboard.press("Enter")
    form = page.locator(f"#change-{tag} form")
    expect(form.get_by_label("Conductor")).to_be_focused()

    page.keyboard.type(f"{circuit['area']:g}")  # picks the size it has
    form.get_by_label("Device rating").focus()
    page.keyboard.type("150")
    form.get_by_label("Why").focus()
    page.keyboard.type("It was in the box")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(form).to_contain_text(re.compile(r"A device of 150.A on a conductor that carries"))
    expect(form.get_by_label("Why")).to_have_value("It was in the box")
    assert faults(mara) == []

    form.get_by_label("Device rating").focus()
    page.keyboard.press("Home")
    form.get_by_label("Conductor").focus()
    page.keyboard.press("Home")
    form.get_by_label("Length one way").focus()
    page.keyboard.type("2,4")
    form.get_by_label("Why").fill("Measured along the sill")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(row).to_contain_text("Changed since this design was made: length one way 2.4")
    expect(row.locator("summary")).to_be_focused()
    expect(page.locator("#circuits-state")).to_contain_text("was settled by hand")
    expect(page.locator("#messages")).to_contain_text("the change is kept")
    assert faults(mara) == []

    page.get_by_role("button", name="Work it out again").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#messages")).to_contain_text("was worked out", timeout=60_000)
    expect(row).to_contain_text("changed by hand")
    mara.go(f"/jobs/{circuit['job']}/circuits/?show=changed")
    expect(page.locator(".circuits > tbody")).to_have_count(1)

    row.locator("summary").focus()
    page.keyboard.press("Enter")
    expect(row).to_contain_text("Measured along the sill")
    row.get_by_role("button", name="Take the change back").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#messages")).to_contain_text("the change is taken back")
    assert faults(mara) == []


def test_it_prints_on_fewer_pages_than_it_has_circuits(sit_down, circuit):
    """Every sum is opened on paper, and none begins a page of its own."""
    mara = sit_down("mara")
    mara.go(f"/jobs/{circuit['job']}/circuits/")

    printed = PdfReader(BytesIO(mara.page.pdf(format="A4")))

    assert 2 < len(printed.pages) < mara.page.locator(".circuits > tbody").count()
    assert "Prospective current" in printed.pages[0].extract_text()


def test_without_script_it_is_a_page_of_its_own(sit_down, circuit):
    mara = sit_down("mara", java_script_enabled=False)
    page, tag = mara.page, circuit["other"]
    mara.go(f"/jobs/{circuit['job']}/circuits/")
    row = page.locator(f"#circuit-{tag}")

    row.locator("summary").click()
    row.get_by_role("link", name="Change by hand").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(str(circuit["name"]))
    page.get_by_label("Length one way").fill(f"{circuit['run'] - 0.1:.2f}")
    page.get_by_role("button", name="Try and keep it").click()
    expect(page.get_by_label("Why")).to_have_attribute("aria-invalid", "true")
    page.get_by_label("Why").fill("Measured again")
    page.get_by_role("button", name="Try and keep it").click()
    expect(page.locator("#messages")).to_contain_text("the change is kept")
    row.locator("summary").click()
    row.get_by_role("button", name="Take the change back").click()
    expect(page.locator("#messages")).to_contain_text("the change is taken back")
