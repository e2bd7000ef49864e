"""From the first sign-in to the handover sheet by buttons alone, in the demo workshop as `start --demo` opens it."""

from __future__ import annotations

import io
import re
from itertools import count

import pytest
from playwright.sync_api import Locator, expect
from pypdf import PdfReader

from tests.e2e.browsing import Person

pytestmark = pytest.mark.service

BATTERY = {
    "Name": "Corrie CB-160",
    "Maker": "Corrie",
    "Part number": "CB-160",
    "Mass": "17,9 kg",
    "Nominal voltage": "12,8",
    "Cells in series": "4",
    "Rate of the capacity": "20",
    "Peukert exponent": "1.03",
    "Internal resistance": "3 mΩ",
    "Most charging current": "80",
    "Continuous discharge current": "160 A",
    "Peak discharge current": "320",
    "Time of the peak": "5",
    "Cut-off voltage": "10",
    "Absorption voltage": "14.4",
    "Float voltage": "13,6",
    "Most in parallel": "4",
    "Coldest charging": "0",
    "Hottest charging": "45",
    "Cost": "790,00",
}
VEHICLE = {
    "make": "Halvard",
    "model": "Tor 3.0",
    "body": "wagon",
    "year": "2023",
    "registration": "kf 612 t",
    "odometer": "41200",
    "alternator rating": "150",
    "starter battery": "80 Ah",
    "its internal resistance": "5",
    "roof length free": "2,2",
    "roof width free": "1.3",
    "payload left": "310",
}
SURVEY = {
    "voltage at hot idle": "13,9",
    "alternator output at hot idle": "72",
    "own draw under way": "28",
    "standing draw": "22",
    "lowest cranking voltage": "10.2",
}
PLACES = {
    "Starter battery": "Starter battery",
    "Auxiliary battery": "Cargo area, left",
    "Distribution board": "Cargo area, board",
    "Chargers": "Cargo area, charger panel",
    "Inverter": "Cargo area, right",
    "Solar panels": "Roof",
    "Shore inlet": "Rear bar",
}


def test_nine_steps(sit_down):
    mara = sit_down("mara")
    _bench(mara)
    _battery_in_the_catalogue(mara)
    vehicle = _customer_and_vehicle(mara)
    job = _job_with_audit(mara, vehicle)
    _trip_and_places(mara)
    _work_it_out(mara)
    total = _quote(mara)
    _paper_of_the_quote(mara, total)
    _revise_and_accept(mara, job)
    joss = sit_down("joss")
    build = _build(joss, job)
    tove = sit_down("tove")
    _prove(tove, build)
    _deliver(tove)
    _installed_system(tove, job)
    assert [person.complaints for person in (mara, joss, tove)] == [[], [], []]


def _bench(mara: Person) -> None:
    expect(mara.page.get_by_role("heading", name="Bench", level=1)).to_be_visible()
    mara.look("walk-bench")


def _battery_in_the_catalogue(mara: Person) -> None:
    page = mara.page
    mara.follow("Catalogue", page.get_by_role("navigation", name="Main"))
    mara.look("walk-catalogue")
    mara.follow("Add one")
    mara.follow("battery")
    page.get_by_label("Chemistry").select_option("lifepo4")
    for label, text in BATTERY.items():
        mara.write(re.compile(rf"^{label}"), text)
    mara.write(re.compile("^Capacity"), "1,500")
    mara.press("Save")
    refused = page.locator(".field.bad", has=page.get_by_label(re.compile("^Capacity")))
    expect(refused).to_contain_text("1,500")
    expect(refused).to_contain_text("1500")
    expect(refused).to_contain_text("1.5")
    expect(page.get_by_label(re.compile("^Nominal voltage"))).to_have_value("12,8")
    mara.look("walk-component-refused")
    mara.write(re.compile("^Capacity"), "160 Ah")
    mara.press("Save")
    expect(page.get_by_role("heading", name="Corrie CB-160", level=1)).to_be_visible()
    expect(page.get_by_text("12.8 V").first).to_be_visible()
    expect(page.get_by_text("160 Ah").first).to_be_visible()
    mara.look("walk-component")


def _customer_and_vehicle(mara: Person) -> str:
    page = mara.page
    mara.follow("Customers", page.get_by_role("navigation", name="Main"))
    mara.follow("Add a customer")
    mara.write(re.compile("^name", re.IGNORECASE), "Ferrin & Daughters <Survey>")
    mara.write(re.compile("^phone", re.IGNORECASE), "01632 960 612")
    mara.press("Save")
    expect(page.get_by_role("heading", name="Ferrin & Daughters <Survey>", level=1)).to_be_visible()
    mara.look("walk-customer")
    mara.follow("Add a vehicle")
    for label, text in VEHICLE.items():
        mara.write(re.compile(f"^{label}", re.IGNORECASE), text)
    mara.press("Save")
    expect(page.get_by_text("KF 612 T").first).to_be_visible()
    vehicle = page.url
    mara.press("Wagon")
    expect(mara.section("Positions").get_by_role("rowheader", name="Cargo area, left")).to_be_visible()
    mara.follow("Enter measured values")
    for label, text in SURVEY.items():
        mara.write(re.compile(f"^{label}", re.IGNORECASE), text)
    mara.press("Save")
    expect(mara.section("Survey")).to_contain_text("13.9 V")
    expect(mara.section("Survey")).to_contain_text("22 mA")
    mara.look("walk-vehicle")
    return vehicle


def _job_with_audit(mara: Person, vehicle: str) -> str:
    page = mara.page
    mara.go(f"/jobs/add/?vehicle={vehicle.rstrip('/').rpartition('/')[2]}")
    mara.write(re.compile("^Title"), "Survey wagon, five days out")
    mara.look("walk-job-add")
    mara.press(re.compile("^Open"))
    expect(page.get_by_role("heading", name="Survey wagon, five days out", level=1)).to_be_visible()
    job = page.url.partition("#")[0]
    _line_from_the_library(mara)
    totals = page.get_by_role("region", name="Totals of this job")
    _free_line(mara, "event", {"Load": "Water pump", "Power": "60", "Minutes each time": "2", "Times a day": "12"})
    _free_line(mara, "steady", {"Load": "Site lights", "Power": "24 W", "Hours a day": "4,5"})
    _free_line(
        mara,
        "recharge",
        {
            "Load": "Drone packs",
            "Battery pack": "95",
            "Charges a day": "6",
            "Charger's efficiency": "86",
            "Charger draws": "150",
        },
        bus="ac",
    )
    _free_line(
        mara,
        "cooling",
        {"Load": "Sample box", "Power": "45", "Duty": "30 %", "At ambient": "25", "Inside": "4"},
    )
    saved = totals.inner_text()
    mara.follow(re.compile("^Edit Site lights"))
    mara.write(re.compile("^Power"), "240", _open_row(mara))
    expect(totals).to_contain_text("as typed")
    assert totals.inner_text() != saved
    mara.follow("Leave as it was", _open_row(mara))
    expect(_open_row(mara)).to_have_count(0)
    expect(totals).to_have_text(re.compile(re.escape(saved.split("\n")[1])))
    mara.look("walk-job-audit")
    return job


def _open_row(mara: Person) -> Locator:
    return mara.section("Power audit").locator("tr.writing")


def _line_from_the_library(mara: Person) -> None:
    section = mara.section("Power audit")
    section.get_by_text("From the appliance library").click()
    mara.write("Appliance or group", "refrigerator 60", section)
    section.get_by_role("listitem").get_by_role("link").first.click()
    expect(_open_row(mara).get_by_label(re.compile("^Load"))).not_to_have_value("")
    _sits_at(_open_row(mara), "Cargo area, right")
    mara.press("Save line", _open_row(mara))
    expect(_open_row(mara)).to_have_count(0)


def _sits_at(row: Locator, position: str) -> None:
    row.get_by_text("Hours, start, voltages, place").click()
    row.get_by_label("Sits at").select_option(label=position)


def _free_line(mara: Person, way: str, values: dict[str, str], bus: str = "house") -> None:
    section = mara.section("Power audit")
    mara.follow("Add a load", section)
    row = _open_row(mara)
    expect(row).to_be_visible()
    if way != "steady":  # a new line begins steady
        row.get_by_label("Way of use").select_option(way)
    expect(row.get_by_label(re.compile(f"^{list(values)[-1]}"))).to_be_visible()
    expect(row.get_by_label("Way of use")).to_have_value(way)
    row.get_by_label("Fed from").select_option(bus)
    for label, text in values.items():
        mara.write(re.compile(f"^{label}"), text, row)
    _sits_at(row, "Tailgate")
    mara.press("Save line", row)
    expect(row).to_have_count(0)
    expect(section.get_by_role("rowheader", name=re.compile(f"^{values['Load']}"))).to_be_visible()


def _trip_and_places(mara: Person) -> None:
    page, trip = mara.page, mara.section("Trip")
    mara.follow(re.compile("^Add a stop"), trip)
    mara.write(re.compile("^Site"), "Birchip", trip)
    trip.get_by_label("Month").select_option(label="July")
    mara.write(re.compile("^Stays"), "5", trip)
    mara.write(re.compile("^Driving a day"), "1,5", trip)
    mara.press(re.compile("^Save"), trip)
    expect(trip.get_by_role("rowheader", name=re.compile("Birchip"))).to_be_visible()
    places = mara.section("Places in the vehicle")
    for label, position in PLACES.items():
        places.get_by_label(label).select_option(label=position)
    mara.press("Save places", places)
    expect(page.get_by_text("What sits where was saved.")).to_be_visible()
    wishes = mara.section("Wishes")
    mara.write(re.compile("^Share of the day from the sun"), "60 %", wishes)
    mara.press("Save wishes", wishes)
    expect(page.get_by_text("The wishes were saved.")).to_be_visible()


def _work_it_out(mara: Person) -> None:
    page, sizing = mara.page, mara.section("Sizing")
    mara.press("Work it out", sizing)
    expect(page.get_by_text("Design 1 was worked out.")).to_be_visible()
    figure = sizing.locator("details.figure").first
    figure.locator("summary").click()
    expect(figure.locator(".working")).to_be_visible()
    assert re.search(r"\d", figure.locator(".working").inner_text())
    circuits = mara.section("Circuits")
    expect(circuits.get_by_role("table", name="Circuits with cable and protection")).to_be_visible()
    expect(circuits.get_by_role("link", name="Every circuit in full")).to_be_visible()
    expect(circuits.locator("svg[role=img], .sheet-drawing svg").first).to_be_visible()
    mara.look("walk-job-sized")


def _quote_part(mara: Person) -> Locator:
    return mara.page.get_by_role("region", name=re.compile("^Quote"))


def _quote(mara: Person) -> str:
    page = mara.page
    moves = mara.section("Stage, copies, set aside")
    mara.press("Move to Surveyed", moves)
    mara.press("Draft a quote", _quote_part(mara))
    expect(page.get_by_text("The draft is priced.")).to_be_visible()
    before = _to_pay(mara)
    _quote_part(mara).get_by_text("Discount, days off the road, note").click()
    mara.write(re.compile("^Discount"), "2,5", _quote_part(mara))
    mara.press("Save and add up", _quote_part(mara))
    expect(page.get_by_text("Added up anew.")).to_be_visible()
    assert float(_to_pay(mara)) < float(before)
    mara.look("walk-job-draft")
    total = _to_pay(mara)
    mara.press("Issue revision A", _quote_part(mara))
    expect(page.get_by_text("Revision A is issued and frozen. Its paper is queued.")).to_be_visible()
    return total


def _to_pay(mara: Person) -> str:
    row = _quote_part(mara).get_by_role("row", name=re.compile("^To pay")).last.inner_text()
    return re.sub(r"[^\d.]", "", re.findall(r"\d[\d,\u202f\u00a0]*\.\d\d", row)[-1])


def _paper_of_the_quote(mara: Person, total: str) -> None:
    """No reload: the list asks for itself until the worker has made the paper."""
    papers = mara.section("Papers")
    link = papers.get_by_role("link", name=re.compile("^Open.*Quote"))
    expect(link).to_be_visible(timeout=60_000)
    text = _pdf(mara, link)
    assert total in re.sub(r"(?<=\d)[,\s\u202f\u00a0](?=\d{3})", "", text)
    assert "Ferrin & Daughters <Survey>" in " ".join(text.split())
    for name, title in (("Single-line diagram", "diagram"), ("Test and settings sheet", "test")):
        mara.press(re.compile(f"^Make: {name}"), papers)
        made = papers.get_by_role("link", name=re.compile(f"^Open.*{title}", re.IGNORECASE))
        expect(made.first).to_be_visible(timeout=60_000)


def _pdf(person: Person, link: Locator) -> str:
    answer = person.page.request.get(person.base + str(link.get_attribute("href")))
    assert answer.body()[:5] == b"%PDF-"
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(answer.body())).pages)


def _revise_and_accept(mara: Person, job: str) -> None:
    page = mara.page
    mara.press("Draft the next revision", _quote_part(mara))
    _quote_part(mara).get_by_text("Add a line by hand").click()
    mara.write(re.compile("^What it is"), "Carpet cut and edged", _quote_part(mara))
    mara.write(re.compile("^Price each"), "88", _quote_part(mara))
    mara.write(re.compile("^Costs us"), "41", _quote_part(mara))
    mara.press("Add the line", _quote_part(mara))
    mara.press("Issue revision B", _quote_part(mara))
    mara.follow("Revision B", _quote_part(mara))
    expect(mara.section("Since revision A")).to_contain_text("Carpet cut and edged")
    mara.look("walk-revision-b")
    mara.write(re.compile("^Accepted by"), "Ada Ferrin")
    mara.press("Record the acceptance")
    expect(page.get_by_text("The acceptance is recorded.")).to_be_visible()
    mara.look("walk-job-accepted")
    assert page.url.startswith(job)


def _build(joss: Person, job: str) -> str:
    """The technician without a licence: everything but the licensed step."""
    page = joss.page
    joss.go(job)
    assert "To pay" not in page.locator("body").inner_text()
    joss.press("Take it into build")
    expect(page.get_by_text("In build. The steps are laid out.")).to_be_visible()
    joss.look("walk-build")
    _tick_all(joss)
    _write_down_parts(joss)
    return page.url.partition("#")[0]


def _tick_all(person: Person, *, licensed: bool = False) -> None:
    steps = person.page.locator(".buildstep")
    for number in range(steps.count()):
        step = steps.nth(number)
        if "done" in str(step.get_attribute("class")):
            continue
        step.get_by_role("button").click()
        if "Licensed person." in step.inner_text() and not licensed:
            expect(step.get_by_role("alert")).to_contain_text("licensed person")
        else:
            expect(step).to_have_class(re.compile("done"))


def _write_down_parts(person: Person) -> None:
    numbers = count(1)
    parts = person.page.locator(".buildparts > li")
    for index in range(parts.count()):
        part = parts.nth(index)
        part.locator("summary").click()
        person.write("Serial number", f"FD-{next(numbers):03d}", part)
        for entry in part.locator(".field", has=person.page.get_by_text("Designed:")).all():
            designed = entry.get_by_text("Designed:").inner_text().partition(":")[2].strip()
            entry.get_by_role("textbox").fill(designed)
        person.press("Write it down", part)
        expect(person.page.get_by_text("is written down.").first).to_be_visible()
        expect(parts.nth(index)).to_contain_text(f"FD-{index + 1:03d}")


def _prove(tove: Person, build: str) -> None:
    page = tove.page
    tove.go(build)
    _tick_all(tove, licensed=True)
    readings = page.locator(".reading")
    for index in range(readings.count()):
        _take(tove, readings.nth(index))
    conditions = tove.section("Conditions")
    for label, text in {"Air": "24", "Battery": "25", "State of charge at start": "88 %", "Odometer": "41210"}.items():
        tove.write(re.compile(f"^{label}"), text, conditions)
    tove.write(re.compile("^Certificate"), "KF-C 0612", conditions)
    conditions.get_by_role("checkbox").first.check()
    tove.press("Write it down", conditions)
    expect(page.get_by_text("The conditions are written down.")).to_be_visible()
    tove.look("walk-build-proved")
    tove.press("Tested")
    expect(page.get_by_text("Tested.", exact=True)).to_be_visible()


def _take(person: Person, reading: Locator, answer: str = "yes", value: float | None = None) -> None:
    """Enter what a healthy system shows, or the value given."""
    reading.locator("summary").click()
    if reading.get_by_label("Seen").count():
        reading.get_by_label("Seen").select_option(answer)
    else:
        expected = reading.get_by_text(re.compile("^Expected")).inner_text()
        person.write(re.compile("^Measured"), f"{_healthy(expected) if value is None else value:g}", reading)
    if reading.get_by_label("Licence no.").count():
        person.write("Licence no.", "KF 20417", reading)
    person.press("Write it down", reading)
    chip = "failed" if answer == "no" or value is not None else "passed"
    expect(reading).to_have_class(re.compile(chip))


def _healthy(expected: str) -> float:
    """A number inside what is printed as expected: "12 to 14 V", "≥ 1 MΩ", "≤ 0.2 V"."""
    numbers = [float(n.replace(",", "")) for n in re.findall(r"-?\d[\d,]*(?:\.\d+)?", expected)]
    if len(numbers) > 1:
        return sum(numbers[:2]) / 2
    return numbers[0] * (1.05 if "≥" in expected else 0.9) if numbers else 1.0


def _deliver(tove: Person) -> None:
    """A safety reading that fails stands in the way, whoever signs."""
    page = tove.page
    safety = page.locator(".reading", has_text="safety").first
    if safety.get_by_label("Seen").count():
        _take(tove, safety, answer="no")
    else:
        _take(tove, safety, value=-999999)
    page.reload()
    tove.press("Deliver")
    expect(page.get_by_text(re.compile("Safety reading fails")).first).to_be_visible()
    expect(page.get_by_text("Not to be delivered")).to_be_visible()
    tove.look("walk-not-delivered")
    _take(tove, page.locator(".reading", has_text="safety").first)
    page.reload()
    tove.press("Deliver")
    expect(page.get_by_text("Delivered. What was fitted is frozen, and the handover sheet is queued.")).to_be_visible()


def _installed_system(tove: Person, job: str) -> None:
    page = tove.page
    tove.follow("The installed system")
    expect(tove.section("What is fitted")).to_contain_text("FD-001")
    tove.look("walk-system")
    tove.go(job)
    link = tove.section("Papers").get_by_role("link", name=re.compile("^Open.*Handover"))
    expect(link).to_be_visible(timeout=60_000)
    assert "FD-001" in _pdf(tove, link)
    assert page.get_by_role("link", name=re.compile("^Open.*Quote")).count() == 0
    tove.look("walk-job-delivered")
