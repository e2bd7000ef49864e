"""Wrong entries: refused in words that name value, range and unit, or shown as harmless text; nothing half saved."""

from __future__ import annotations

import copy
import html
import io
import json
import re
from datetime import timedelta
from decimal import Decimal

import pytest
from django.apps import apps
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from catalog import kinds
from catalog import services as catalog
from catalog.models import Component, RecentItem
from fitouts.models import Customer, User, Vehicle, VehiclePosition
from fitouts.services import audit, customers
from fitouts.services import fitouts as jobs
from fitouts.services.photos import MAX_BYTES
from quoting.models import Document
from quoting.services import briefs, documents, quotes
from quoting.sizing import brief as sizing_brief
from quoting.sizing.errors import SizingError
from quoting.sizing.methods import run
from tests.factories.course import issue, load_labour
from tests.factories.jobs import make_user
from tests.factories.wagon import example, make_wagon

LINE = {
    "name": "Satellite terminal",
    "quantity": "1",
    "bus": "house",
    "way": "steady",
    "spec_power_w": "38",
    "spec_hours_per_day": "5",
    "spec_duty_ratio": "100",
    "window_start_h": "0",
    "window_end_h": "24",
    "power_factor": "1",
    "start_multiple": "1",
    "start_s": "0",
    "at_once": "on",
}
EVENT = {**LINE, "way": "event", "spec_minutes": "6", "spec_times_per_day": "2"}
STOP = {
    "site": "",
    "month": "7",
    "days": "3",
    "driving_h_per_day": "1",
    "driving_start_h": "8",
    "mains_h_per_day": "0",
    "mains_start_h": "18",
    "shade_ratio": "0",
}
VEHICLE = {"make": "Halvard", "model": "Tor", "nominal_v": "12", "alternator_control": "fixed"}
PART = {"mass_kg": "17", "stock": "0", "lead_days": "0", "cost": "790", "name": "Corrie CB-160"}
BATTERY = {
    **PART,
    "spec_chemistry": "lifepo4",
    "spec_nominal_v": "12.8",
    "spec_cells": "4",
    "spec_capacity_ah": "160",
    "spec_rate_h": "20",
    "spec_peukert": "1.03",
    "spec_resistance_ohm": "0.003",
    "spec_max_charge_a": "80",
    "spec_max_discharge_a": "160",
    "spec_peak_a": "320",
    "spec_peak_s": "5",
    "spec_cutoff_v": "10",
    "spec_absorption_v": "14.4",
    "spec_float_v": "13.6",
    "spec_compensation_mv_per_cell_k": "0",
    "spec_max_series": "1",
    "spec_max_parallel": "4",
    "spec_min_charge_c": "0",
    "spec_max_charge_c": "45",
    "spec_heater_w": "0",
    "spec_own_awake_w": "0",
    "spec_own_asleep_w": "0",
}

# form, entry that is wrong, what the page must say
ENTRIES = [
    ("line", {"spec_power_w": "-38"}, "−38 W", "at least 0.01 W"),
    ("line", {"spec_power_w": "1,500"}, "1.5", "1500"),
    ("line", {"spec_power_w": "NaN"}, "“NaN” is not a number", "W"),
    ("line", {"spec_power_w": "1e999"}, "“1e999” is too large a number", "W"),
    ("line", {"spec_hours_per_day": "25"}, "25 h", "at most 24 h"),
    ("line", {"spec_duty_ratio": "130"}, "130 %", "at most 100 %"),
    ("line", {"shed_below_ratio": "96"}, "96 %", "at most 95 %"),
    ("line", {"quantity": "0"}, "0", "at least 1"),
    ("line", {"quantity": "501"}, "501", "at most 500"),
    ("line", {"min_voltage_v": "1e9"}, "1 000 000 000 V", "at most 60 V"),
    ("line", {"name": "x" * 121}, "121", "at most 120 characters"),
    ("line", {"position": "{elsewhere}"}, "Select a valid choice", "one of the available choices"),
    ("event", {"spec_times_per_day": "250"}, "1500 min", "a day has 1440 min"),
    ("stop", {"month": "13"}, "13 is not one of the available choices", "Select"),
    ("stop", {"shade_ratio": "140"}, "140 %", "at most 100 %"),
    ("stop", {"days": "0"}, "0 d", "at least 0.5 d"),
    ("stop", {"driving_h_per_day": "25"}, "25 h", "at most 24 h"),
    ("stop", {"site": "Atlantis"}, "no site “Atlantis”", "in the list"),
    ("wishes", {"autonomy_days": "400", "system_v": "12"}, "400 d", "at most 30 d"),
    ("vehicle", {"vin": "1M8GDM9A1KP042788"}, "check digit does not fit", "character 9 is 1 and would have to be X"),
    ("vehicle", {"alternator_a": "99999"}, "99 999 A", "at most 600 A"),
    ("vehicle", {"roof_length_m": "-1"}, "−1 m", "at least 0 m"),
    ("survey", {"hot_idle_v": "1e9"}, "1 000 000 000 V", "at most 32 V"),
    ("position", {"position-name": "cargo DRAWER"}, "has a position of that name already", "This vehicle"),
    ("position", {"position-ambient_c": "500"}, "500 °C", "at most 110 °C"),
    ("run", {"run-end": "{start}"}, "A run goes from one position to another.", "to"),
    ("run", {"run-length_m": "0"}, "0 m", "at least 0.05 m"),
    ("battery", {"spec_nominal_v": "1e9"}, "1 000 000 000 V", "at most 60 V"),
    ("battery", {"spec_absorption_v": "28.8"}, "28.8 V does not suit 4 cells", "at most 14.6 V"),
    ("battery", {"spec_capacity_ah": "160 W"}, "“W” is not a unit", "Ah"),
    ("battery", {"cost": "-5"}, "−5", "at least 0"),
    ("battery", {"mass_kg": "inf"}, "“inf” is not a number", "kg"),
    ("battery", {"maker": "{maker}", "part_number": "{part_number}"}, "part number", "already"),
]


def counts() -> dict[str, int]:
    """Rows of every table of the project, histories too: a save of any kind would show."""
    names = ("catalog", "fitouts", "quoting")
    looked = RecentItem  # opening a page notes that, and is no save
    models = (m for m in apps.get_models() if m._meta.app_label in names and m is not looked)
    return {m._meta.label: m._default_manager.count() for m in models}


def words_of(page: str) -> str:
    plain = html.unescape(re.sub(r"<(script|style).*?</\1>|<[^>]*>", " ", page, flags=re.DOTALL))
    return re.sub(r"\s+", " ", plain.replace("\N{NO-BREAK SPACE}", " ").replace("\N{NARROW NO-BREAK SPACE}", " "))


@pytest.fixture
def estimator(db) -> User:
    return make_user(User.Role.ESTIMATOR)


@pytest.fixture
def wagon(estimator):
    return make_wagon(estimator)


@pytest.fixture
def desk(client, estimator):
    client.force_login(estimator)
    return client


@pytest.fixture
def form(wagon):
    """Address and right entries of a form, by its name."""
    vehicle = wagon.vehicle
    first, second = vehicle.positions.order_by("pk")[:2]
    stop = STOP | {"site": wagon.stops.first().site.name}
    run = {"run-start": first.pk, "run-end": second.pk, "run-length_m": "2", "run-bundled": "1"}
    forms = {
        "line": ("line_add", [wagon.pk], LINE),
        "event": ("line_add", [wagon.pk], EVENT),
        "stop": ("stop_add", [wagon.pk], stop),
        "wishes": ("wishes_set", [wagon.pk], {"solar_share_ratio": "100", "chemistries": "lifepo4"}),
        "vehicle": ("vehicle_add", [wagon.customer_id], VEHICLE),
        "survey": ("vehicle_survey", [vehicle.pk], {}),
        "position": ("position_add", [vehicle.pk], {"position-name": "Loft", "position-ambient_c": "50"}),
        "run": ("run_add", [vehicle.pk], run),
        "battery": ("catalog:component_add_kind", ["battery"], BATTERY),
    }

    def find(name: str) -> tuple[str, dict]:
        view, args, right = forms[name]
        return reverse(view, args=args), dict(right)

    return find


@pytest.mark.parametrize(("name", "wrong", "says", "also"), ENTRIES)
def test_wrong_entry_of_a_form(name, wrong, says, also, form, desk, wagon):
    stranger = Vehicle.objects.create(customer=Customer.objects.create(name="Other"), make="Brindle", model="Carrier")
    elsewhere = VehiclePosition.objects.create(vehicle=stranger, name="Boot")
    battery = Component.objects.filter(kind="battery").first()
    known = {
        "{elsewhere}": elsewhere.pk,
        "{start}": wagon.vehicle.positions.order_by("pk")[0].pk,
        "{maker}": battery.maker,
        "{part_number}": battery.part_number,
    }
    url, entries = form(name)
    before = counts()

    answer = desk.post(url, entries | {field: known.get(text, text) for field, text in wrong.items()})

    assert answer.status_code in (200, 422)
    said = words_of(answer.content.decode())
    assert says in said
    assert also in said
    assert counts() == before


@pytest.mark.parametrize("name", ["line", "event", "stop", "vehicle", "position", "battery"])
def test_the_same_form_takes_right_entries(name, form, desk):
    """Otherwise the refusals above could have another reason."""
    url, entries = form(name)
    before = counts()

    answer = desk.post(url, entries)

    assert answer.status_code == 302
    assert sum(counts().values()) > sum(before.values())


def test_empty_trip_and_missing_places_are_named(wagon, desk):
    wagon.stops.all().delete()
    wagon.placements.filter(role="battery").delete()
    before = counts()

    answer = desk.post(reverse("job_work_out", args=[wagon.pk]), follow=True)

    said = words_of(answer.content.decode())
    assert "The trip has no stop. Add where and when it goes." in said
    assert "Nobody has said where it sits: auxiliary battery." in said
    assert counts() == before


def test_upload_past_the_limit(wagon, desk):
    huge = SimpleUploadedFile("roof.jpg", b"\xff\xd8\xff" + b"0" * MAX_BYTES, "image/jpeg")
    before = counts()

    answer = desk.post(reverse("photo_add", args=[wagon.vehicle_id]), {"photo": huge})

    assert answer.status_code == 422
    assert "10 MB" in words_of(answer.content.decode())
    assert counts() == before


def test_upload_that_is_no_picture(wagon, desk):
    text = SimpleUploadedFile("roof.jpg", b"<script>alert(1)</script>", "image/jpeg")
    before = counts()

    answer = desk.post(reverse("photo_add", args=[wagon.vehicle_id]), {"photo": text})

    assert "This is not a photo. Send a JPEG, PNG or WebP file." in words_of(answer.content.decode())
    assert counts() == before


# --- Catalogue ---------------------------------------------------------------------------------------


def test_unknown_kind(estimator, desk):
    before = counts()

    with pytest.raises(kinds.UnknownKind, match="flux"):
        catalog.save_component("flux", {}, by=estimator, name="Flux", cost=Decimal(1))

    assert desk.get(reverse("catalog:component_add_kind", args=["flux"])).status_code in (302, 404)
    assert counts() == before


# --- Quote, build ------------------------------------------------------------------------------------

TERMS = {"terms-discount_ratio": "0", "terms-days_off_road": "3", "terms-note": ""}
HAND = {"line-name": "Carpet", "line-quantity": "1", "line-unit_price": "88", "line-unit_cost": "41"}


@pytest.mark.parametrize(
    ("view", "right", "wrong", "says"),
    [
        ("quote_terms", TERMS, {"terms-discount_ratio": "80"}, "80 %; it must be at least 0 % and at most 50 %"),
        ("quote_terms", TERMS, {"terms-days_off_road": "0"}, "greater than or equal to 1"),
        ("quote_line_add", HAND, {"line-unit_price": "-88"}, "at least 0"),
        ("quote_line_add", HAND, {"line-quantity": "0"}, "greater than or equal to 0.001"),
        ("quote_line_add", HAND, {"line-name": "x" * 201}, "at most 200 characters"),
    ],
)
def test_wrong_entry_of_a_quote(view, right, wrong, says, wagon, estimator, desk):
    load_labour(estimator)
    draft = _draft(wagon, estimator)
    before, offer = counts(), draft.offers.values().get()

    answer = desk.post(reverse(view, args=[draft.pk]), right | wrong)

    assert answer.status_code == 422
    assert says in words_of(answer.content.decode())
    assert counts() == before
    assert draft.offers.values().get() == offer


def _draft(wagon, by):
    issue(wagon, by)
    return quotes.draft(wagon, by=by)


def test_day_of_delivery_in_the_future(wagon, desk):
    day = timezone.localdate() + timedelta(days=2)
    before = counts()

    answer = desk.post(reverse("deliver", args=[wagon.pk]), {"deliver-delivered_on": day.isoformat()})

    assert "The day of delivery is in the future." in words_of(answer.content.decode())
    assert counts() == before


def test_conditions_out_of_range(wagon, desk):
    before = counts()

    answer = desk.post(reverse("commissioning", args=[wagon.pk]), {"test-air_c": "90", "test-charge_ratio": "120"})

    said = words_of(answer.content.decode())
    assert "90 °C" in said
    assert "at most 60 °C" in said
    assert "120 %" in said
    assert counts() == before


def test_service_refuses_what_no_form_checked(wagon, estimator):
    """A line that comes past the form is held to the same ranges, and leaves nothing behind."""
    values = {"name": "Pump", "way": "event", "use": {"power_w": 60, "minutes": 200, "times_per_day": 12}}
    before = counts()

    with pytest.raises(SizingError, match=r"1440|24 h|min"):
        audit.add_line(wagon, values, by=estimator, check=briefs.check_line)

    assert counts() == before


# --- Brief in JSON -----------------------------------------------------------------------------------


def _negative_volts(raw: dict) -> None:
    raw["vehicle"]["nominal_v"] = -12


def _unknown_field(raw: dict) -> None:
    raw["loads"][0]["colour"] = "red"


def _wrong_version(raw: dict) -> None:
    raw["version"] = 99


def _twice(raw: dict) -> None:
    raw["loads"].append(copy.deepcopy(raw["loads"][0]))


def _nowhere(raw: dict) -> None:
    raw["loads"][0]["position"] = "attic"


def _month(raw: dict) -> None:
    raw["trip"][0]["month"] = 13


def _no_trip(raw: dict) -> None:
    raw["trip"] = []


def _infinite(raw: dict) -> None:
    raw["loads"][0]["use"]["power_w"] = float("inf")


@pytest.mark.parametrize(
    ("spoil", "field", "says"),
    [
        (_unknown_field, "loads[0].colour", "not permitted (got 'red')"),
        (_wrong_version, "version", "99"),
        (_twice, "loads", "key"),
        (_nowhere, "position", "attic"),
        (_month, "trip[0].month", "13"),
        (_no_trip, "trip", "at least 1"),
        (_infinite, "power_w", "inf W"),
        (_negative_volts, "vehicle.nominal_v", "-12"),
    ],
)
def test_wrong_brief(spoil, field, says):
    raw = example()
    spoil(raw)

    with pytest.raises(SizingError) as refused:
        sizing_brief.read(json.dumps(raw))

    assert field in str(refused.value)
    assert says in str(refused.value)


def test_fault_behind_a_battery_of_unknown_resistance():
    """No silent default where it would choose a device that cannot break the fault."""
    with pytest.raises(SizingError, match=r"battery_ohm is missing \[Ω\]"):
        run("short-circuit", {"voltage_v": 13.6})
    with pytest.raises(SizingError, match=r"battery_ohm is 0 Ω; it must be at least 1e-05 Ω"):
        run("short-circuit", {"voltage_v": 13.6, "battery_ohm": 0})


# --- Text that is more than text ---------------------------------------------------------------------


@pytest.mark.parametrize("nasty", ["<script>alert(1)</script>", "=1+1", '"><img src=x onerror=alert(1)>', "{{ 7 }} %s"])
def test_names_are_text_on_page_and_paper(nasty, wagon, estimator, desk, files, django_capture_on_commit_callbacks):
    load_labour(estimator)
    wagon.customer.name = nasty
    customers.change_customer(wagon.customer, by=estimator, name=nasty)
    line = wagon.requirements.first()
    audit.change_line(line, {"name": nasty}, by=estimator, check=briefs.check_line)
    jobs.change_details(wagon, {"title": nasty}, by=estimator)
    with django_capture_on_commit_callbacks(execute=True):
        issue(wagon, estimator)
        documents.ask_latest(Document.Kind.DIAGRAM, wagon, by=estimator)

    pages = [desk.get(reverse(name, args=[key])).content.decode() for name, key in _where(wagon)]
    papers = [documents.content(paper) for paper in wagon.documents.all()]

    assert len(papers) == 2
    for page in pages:
        assert html.escape(nasty) in page or html.escape(nasty, quote=False) in page
        assert "<" not in nasty or nasty not in page
    for paper in papers:
        text = "".join("".join(p.extract_text() for p in PdfReader(io.BytesIO(paper)).pages).split())
        assert "".join(nasty.split()) in text


def _where(wagon):
    return [("job", wagon.pk), ("customer", wagon.customer_id), ("job_edit", wagon.pk)]
