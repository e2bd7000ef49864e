"""A price list by buttons alone: two wrong cells named, corrected, what changes seen, saved, and undone."""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from tests.e2e.browsing import DESK, PHONE, Person

pytestmark = pytest.mark.service
SOME = 6


def test_price_list_in_corrected_saved_and_undone(sit_down, tmp_path):
    mara = sit_down("mara")
    rows = _taken_out(mara)
    _bring(mara, _written(tmp_path / "prices.csv", _wrong(rows)))
    _matched(mara)
    _wrong_cells_are_named(mara, rows)

    mara.follow("Bring in the corrected file")
    _bring(mara, _written(tmp_path / "prices corrected.csv", _dearer(rows)))
    mara.press("Check every cell")
    _changes_are_shown(mara, rows)

    mara.press(f"Save {SOME} rows")
    expect(mara.page.get_by_text(f"0 added, {SOME} changed. The file is erased.")).to_be_visible()
    _calm(mara, "tables-saved")
    assert _costs(_taken_out(mara)) == [f"{float(cost) * 2:.2f}" for cost in _costs(rows)]
    _undo(mara)
    assert _costs(_taken_out(mara)) == _costs(rows)


def _taken_out(person: Person) -> list[dict[str, str]]:
    """The first few of the price list as it is now, from the page that a person goes to."""
    person.go("/catalogue/")
    person.follow("Tables", person.page.get_by_role("navigation", name="Catalogue"))
    _calm(person, "tables")
    person.follow("Price list")
    _calm(person, "tables-kind")
    with person.page.expect_download() as coming:
        person.follow(re.compile("^CSV.*all there are"))
    with Path(coming.value.path()).open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))[:SOME]


def _costs(rows: list[dict[str, str]]) -> list[str]:
    return [f"{float(row['Cost']):.2f}" for row in rows]


def _wrong(rows: list[dict[str, str]]) -> list[dict[str, str]]:
    wrong = _dearer(rows)
    wrong[1]["Cost"], wrong[3]["Lead time (d)"] = "on request", "800"
    return wrong


def _dearer(rows: list[dict[str, str]]) -> list[dict[str, str]]:
    return [{**row, "Cost": f"{float(row['Cost']) * 2:.4f}"} for row in rows]


def _written(path: Path, rows: list[dict[str, str]]) -> Path:
    with path.open("w", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]), delimiter=";")
        writer.writeheader()
        writer.writerows(rows)
    return path


def _bring(person: Person, path: Path) -> None:
    person.page.get_by_label("File").set_input_files(path)
    person.press("Bring in")
    expect(person.page.get_by_role("heading", name="Where its columns go")).to_be_visible()


def _matched(person: Person) -> None:
    page = person.page
    expect(page.get_by_label("Between cells")).to_have_value(";")
    expect(page.get_by_label("Cost", exact=True)).to_have_value("cost")
    _calm(person, "tables-match")
    person.press("Check every cell")


def _wrong_cells_are_named(person: Person, rows: list[dict[str, str]]) -> None:
    page = person.page
    expect(page.get_by_role("heading", name="Not to be saved yet")).to_be_visible()
    cells = page.locator("section[aria-labelledby='rows'] tbody tr")
    expect(cells).to_have_count(2)
    expect(cells.nth(0)).to_contain_text(re.compile("3.*Cost.*on request.*0 or more", re.DOTALL))
    expect(cells.nth(1)).to_contain_text(re.compile("5.*Lead time.*800.*0 to 720", re.DOTALL))
    expect(page.get_by_role("button", name=re.compile("^Save "))).to_have_count(0)
    _calm(person, "tables-wrong")


def _changes_are_shown(person: Person, rows: list[dict[str, str]]) -> None:
    page = person.page
    expect(page.get_by_role("heading", name="Ready to save")).to_be_visible()
    changes = page.locator("section[aria-labelledby='rows'] tbody tr")
    expect(changes).to_have_count(SOME)
    for place, cost in enumerate(_costs(rows)):
        old, new = f"{float(cost):,.2f}", f"{float(cost) * 2:,.2f}"
        words = [part.replace(",", ".") for part in (old, new)]
        expect(changes.nth(place)).to_contain_text(re.compile(".*".join([*words, r"\+100"]), re.DOTALL))
    _calm(person, "tables-ready")


def _undo(person: Person) -> None:
    person.page.go_back()
    while not person.page.get_by_role("link", name="Undo", exact=True).count():
        person.page.go_back()
    person.follow("Undo")
    person.press(f"Put {SOME} records back")
    expect(person.page.get_by_text(f"Undone: {SOME} records are as before.")).to_be_visible()


def _calm(person: Person, name: str) -> None:
    """Nothing too wide, no complaint of the browser, nothing that axe finds, at a desk and on a phone."""
    person.look(name)
    for size in (PHONE, DESK):
        person.page.set_viewport_size(size)
        found = Axe().run(person.page).response["violations"]
        assert [(v["id"], v["nodes"][0]["target"]) for v in found] == [], name
