"""The single-line diagram in a browser: zoomed and moved by keys, wheel, drag and pinch; led from; without script."""

from __future__ import annotations

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.e2e.browsing import DESK, OVERFLOWING, PHONE

pytestmark = pytest.mark.service

JOB = """
import json
from fitouts.models import Fitout
from quoting.services import designs
made = {f.pk: designs.latest_of(f) for f in Fitout.objects.all()}
best = max((d for d in made.values() if d), key=lambda d: len(d.appraisal["circuits"]))
print(json.dumps({"job": best.fitout_id}))
"""
PINCH = """view => {
  const at = (x, id) => new Touch({identifier: id, target: view, clientX: x, clientY: 500});
  const send = (type, a, b) => view.dispatchEvent(new TouchEvent(type, {
    touches: [at(a, 1), at(b, 2)], targetTouches: [at(a, 1), at(b, 2)], cancelable: true, bubbles: true}));
  send("touchstart", 400, 500); send("touchmove", 350, 550); view.dispatchEvent(new TouchEvent("touchend"));
}"""


@pytest.fixture(scope="module")
def job(demo) -> int:
    return demo.shop.python(JOB)["job"]


def per_cent(page: Page) -> int:
    return int(re.sub(r"\D", "", page.locator(".viewer output").inner_text()))


def scrolled(page: Page) -> list[int]:
    return page.locator(".viewer-view").evaluate("e => [e.scrollLeft, e.scrollTop]")


def test_a_diagram_is_zoomed_and_moved_and_leads_to_a_circuit(sit_down, job):
    joss = sit_down("joss")  # a technician
    page = joss.page
    page.set_viewport_size(DESK)
    joss.go(f"/jobs/{job}/diagram/")
    view = page.locator(".viewer-view")

    view.focus()
    page.keyboard.press("0")
    assert per_cent(page) == 100
    for _ in range(3):
        page.keyboard.press("+")
    assert per_cent(page) == 195
    page.keyboard.press("0")
    page.keyboard.press("+")
    page.keyboard.press("+")
    across, down = scrolled(page)
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowDown")
    assert scrolled(page) == [across + 80, down + 80]

    box = view.bounding_box()
    x, y = box["x"] + 300, box["y"] + 250
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 60, y - 40, steps=4)
    page.mouse.up()
    assert scrolled(page) == [across + 140, down + 120]
    page.keyboard.down("Control")
    page.mouse.wheel(0, -150)
    page.keyboard.up("Control")
    expect(page.locator(".viewer output")).to_have_text(re.compile(r"2[0-9]{2}"))
    before = per_cent(page)
    view.evaluate(PINCH)
    assert per_cent(page) == pytest.approx(2 * before, abs=3)

    page.get_by_role("button", name="Fit width").click()
    assert (per_cent(page), scrolled(page)) == (100, [0, 0])
    page.locator('.drawing a[href$="#circuit-L1"]').first.click()
    expect(page).to_have_url(re.compile(rf"/jobs/{job}/circuits/#circuit-L1$"))
    assert joss.complaints == []


def test_the_page_of_the_diagram_is_sound_at_both_widths(sit_down, job):
    mara = sit_down("mara")
    for path in (f"/jobs/{job}/diagram/", f"/jobs/{job}/diagram/?paper=A3"):
        mara.go(path)
        assert [violation["id"] for violation in Axe().run(mara.page).response["violations"]] == []
        for size in (PHONE, DESK):
            mara.page.set_viewport_size(size)
            assert mara.page.evaluate(OVERFLOWING) == []
    assert mara.complaints == []


def test_without_script_the_diagram_scrolls(chrome, sit_down, job):
    mara = sit_down("mara")
    mara.go(f"/jobs/{job}/diagram/")
    state = mara.page.context.storage_state()
    bare = chrome.new_context(java_script_enabled=False, storage_state=state, viewport={"width": 360, "height": 740})
    page = bare.new_page()
    page.goto(mara.page.url)
    expect(page.locator(".viewer-tools")).to_be_hidden()
    expect(page.locator("svg.drawing")).to_be_visible()
    wide = page.locator(".viewer-sheet").bounding_box()["width"]
    assert wide > 900
    bare.close()
