"""Circuits on switched outputs by hand: by drag, by keys alone, and without script; refused with its numbers."""

from __future__ import annotations

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Locator, expect

from tests.e2e.browsing import DESK, OVERFLOWING, PHONE, Person

pytestmark = pytest.mark.service

JOB = """
import json
from fitouts.models import Fitout
from quoting.services import designs
made = {f.pk: designs.latest_of(f) for f in Fitout.objects.all()}
best = max((d for d in made.values() if d), key=lambda d: len(d.appraisal["channels"]))
print(json.dumps({"job": best.fitout_id}))
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


def largest(slots: Locator) -> tuple[Locator, Locator]:
    """The circuit that wants the largest output, and its slot."""
    amps = slots.locator(".hung").evaluate_all("all => all.map(one => Number(one.dataset.least))")
    hung = slots.locator(".hung").nth(amps.index(max(amps)))
    return hung, slots.filter(has=hung.page.locator(f'[data-key="{hung.get_attribute("data-key")}"]'))


def spare(slots: Locator, hung: Locator) -> str:
    """Id of an output that is spare and carries this circuit."""
    least = float(hung.get_attribute("data-least") or 0)
    ids = slots.evaluate_all(
        "(all, least) => all.filter(s => s.matches('.spare') && Number(s.dataset.limit) >= least).map(s => s.id)", least
    )
    return str(ids[0])


def test_a_circuit_is_moved_by_keys_alone_and_the_move_taken_back(sit_down, job):
    mara = sit_down("mara")
    page = mara.page
    mara.go(f"/jobs/{job}/outputs/")
    slots, said = page.locator("#outputs .slot"), page.locator("#said")
    hung, _slot = largest(slots)
    name, to = hung.locator(".hung-name b").inner_text(), spare(slots, hung)
    all_ids = slots.evaluate_all("all => all.map(s => s.id)")

    hung.locator(".hold").focus()
    page.keyboard.press("Enter")
    expect(said).to_contain_text("picked up")
    page.keyboard.press("Home")
    for _press in range(all_ids.index(to)):
        page.keyboard.press("ArrowRight")
    expect(page.locator(f"#{to}")).to_have_class(re.compile(r"\bat\b"))
    page.keyboard.press("Escape")
    expect(said).to_have_text("Put back where it was.")
    expect(page.locator(".slot.at")).to_have_count(0)

    page.keyboard.press("Space")
    page.keyboard.press("Home")
    for _press in range(all_ids.index(to)):
        page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    expect(page.locator(f"#{to}")).to_contain_text(name)
    expect(page.locator(f"#{to} .hold")).to_be_focused()
    expect(said).to_contain_text(f"{name} is on output")
    assert faults(mara) == []

    page.get_by_role("button", name="Take the last move back").click()
    expect(page.locator(f"#{to}")).to_contain_text("Spare")
    expect(page.locator("#messages")).to_contain_text("The last move is taken back.")
    assert faults(mara) == []


def test_a_circuit_is_dragged_and_refused_where_it_does_not_fit(sit_down, job):
    mara = sit_down("mara")
    page = mara.page
    page.set_viewport_size(DESK)
    mara.go(f"/jobs/{job}/outputs/")
    slots = page.locator("#outputs .slot")
    hung, slot = largest(slots)
    name, home, to = hung.locator(".hung-name b").inner_text(), slot.get_attribute("id"), spare(slots, hung)

    hung.locator(".hung-name").drag_to(page.locator(f"#{to}"))
    expect(page.locator(f"#{to}")).to_contain_text(name)
    expect(page.locator(".ghost")).to_have_count(0)

    least = float(page.locator(f"#{to} .hung").get_attribute("data-least"))
    small = page.locator("#outputs .slot").evaluate_all(
        "(all, least) => all.filter(s => Number(s.dataset.limit) < least).map(s => s.id)", least
    )
    if small:
        page.locator(f"#{to} .hung-name").drag_to(page.locator(f"#{small[-1]}"))
        expect(page.locator("#messages")).to_contain_text(re.compile(r"carries \d+\s?A: [\d.]+\s?A too much"))
        expect(page.locator(f"#{to}")).to_contain_text(name)
    page.get_by_role("button", name="Lay it out by itself").click()
    expect(page.locator(f"#{home}")).to_contain_text(name)
    assert mara.complaints == []


def test_without_script_a_circuit_is_picked_up_and_put_down_on_a_phone(sit_down, job):
    mara = sit_down("mara", java_script_enabled=False)
    page = mara.page
    page.set_viewport_size(PHONE)
    mara.go(f"/jobs/{job}/outputs/")
    hung = page.locator("#outputs .slot .hung").first
    name = hung.locator(".hung-name b").inner_text()

    hung.locator(".hold").click()
    expect(page.locator(".held-note")).to_contain_text(name)
    page.get_by_role("button", name=re.compile("Put it here")).first.click()

    expect(page.locator("#messages")).to_contain_text(f"{name} is on output")
    page.get_by_role("button", name="Take the last move back").click()
    expect(page.locator("#messages")).to_contain_text("The last move is taken back.")
