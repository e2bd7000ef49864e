"""Positions set on the vehicle's plan in a browser: by dragging, by keys, by typing without script; a circuit's way."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.e2e.browsing import DESK, OVERFLOWING, PHONE

pytestmark = pytest.mark.service

ROWS = """
import json
from fitouts.models import Fitout
from quoting.services import designs
job = Fitout.objects.get(stage="quoted", kind="new")
laid = next(c for c in designs.appraisal_of(designs.latest_of(job)).circuits if len(c.passes) > 1)
print(json.dumps({"job": job.pk, "vehicle": job.vehicle_id, "circuit": laid.tag, "name": laid.name}))
"""


@pytest.fixture(scope="module")
def rows(demo) -> dict:
    return demo.shop.python(ROWS)


def typed(page: Page) -> list[str]:
    """The first position's two entries."""
    return [page.locator("tr[data-position] input").nth(i).input_value() for i in (0, 1)]


def test_a_position_is_dragged_and_moved_by_keys_and_saved(sit_down, rows):
    joss = sit_down("joss")  # a technician surveys
    page = joss.page
    page.set_viewport_size(DESK)
    joss.go(f"/vehicles/{rows['vehicle']}/plan/")
    handle = page.locator(".handle").first
    before = [float(value) for value in typed(page)]

    handle.scroll_into_view_if_needed()
    box = handle.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 60, y + 20, steps=4)
    page.mouse.up()
    dragged = [float(value) for value in typed(page)]
    assert dragged[0] > before[0]
    assert dragged[1] < before[1]

    handle.focus()
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("Shift+ArrowUp")
    assert [float(value) for value in typed(page)] == pytest.approx([dragged[0] - 0.05, dragged[1] + 0.25])
    expect(page.locator("#plan-said")).to_contain_text("Not saved yet")

    kept = typed(page)
    page.get_by_role("button", name="Save the places").click()
    expect(page.get_by_text("One place saved.")).to_be_visible()
    assert [float(value) for value in typed(page)] == [float(value) for value in kept]
    assert Axe().run(page).response["violations"] == []
    page.set_viewport_size(PHONE)
    assert page.evaluate(OVERFLOWING) == []
    assert joss.complaints == []


def test_a_circuits_way_is_chosen_in_the_table_and_drawn_out(sit_down, rows):
    joss = sit_down("joss")
    page = joss.page
    joss.go(f"/jobs/{rows['job']}/plan/")

    page.get_by_role("link", name=rows["circuit"], exact=True).first.click()

    expect(page.get_by_role("heading", name=f"{rows['circuit']} {rows['name']}")).to_be_visible()
    expect(page.locator(".drawing .s-accent").first).to_be_attached()
    page.get_by_role("link", name="Show all").click()
    expect(page.get_by_role("heading", name="From above")).to_be_visible()
    assert joss.complaints == []
