"""Two people at one form: the later is told what the other changed, loses nothing, overwrites only knowingly."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest

from catalog.models import LabourOperation
from fitouts.models import Customer, User, Vehicle, Workshop
from fitouts.services import customers, vehicles
from tests.factories.jobs import make_user, make_workshop


@pytest.fixture
def people(db):
    make_workshop()
    return {
        "mara": make_user(User.Role.ESTIMATOR, "mara", display_name="Mara Quill"),
        "orla": make_user(User.Role.MANAGER, "orla", display_name="Orla Penn"),
        "joss": make_user(User.Role.TECHNICIAN, "joss", display_name="Joss Rook"),
    }


@pytest.fixture
def customer(people) -> Customer:
    return customers.add_customer(by=people["mara"], name="Venn Field Geology", phone="01632 960 417")


@pytest.fixture
def vehicle(customer, people) -> Vehicle:
    return vehicles.add_vehicle(customer, by=people["mara"], make="Halvard", model="Tor 3.0", registration="KF 417 V")


def opened(client, url: str) -> dict[str, str]:
    """What a browser would send of a form that was just opened."""
    answer = client.get(url)
    form = answer.context["form"]
    entries = {}
    for field in form:
        value = field.value()
        if value not in (None, "", False):
            entries[field.html_name] = "on" if value is True else str(value)
    seen = re.search(r'name="seen" value="(\d+)"', answer.content.decode())
    return entries | ({"seen": seen[1]} if seen else {})


def test_the_later_of_two_is_told_and_nothing_is_overwritten(client, people, customer):
    client.force_login(people["orla"])
    url = f"/customers/{customer.pk}/edit/"
    entries = opened(client, url) | {"phone": "01632 960 999"}
    customers.change_customer(customer, by=people["mara"], phone="01632 960 111", name="Venn Geology")

    answer = client.post(url, entries)

    words = answer.content.decode()
    assert "Mara Quill changed this at" in words
    assert "Phone: 01632 960 417 → 01632 960 111" in words
    assert "Nothing of yours is saved yet" in words
    assert 'value="01632 960 999"' in words  # what was typed is still there
    customer.refresh_from_db()
    assert customer.phone == "01632 960 111"


def test_saving_again_puts_ones_own_entries_in_place(client, people, customer):
    client.force_login(people["orla"])
    url = f"/customers/{customer.pk}/edit/"
    entries = opened(client, url) | {"phone": "01632 960 999"}
    customers.change_customer(customer, by=people["mara"], phone="01632 960 111")
    told = client.post(url, entries)
    seen = re.search(r'name="seen" value="(\d+)"', told.content.decode())[1]

    answer = client.post(url, entries | {"seen": seen})

    assert answer.status_code == 302
    customer.refresh_from_db()
    assert customer.phone == "01632 960 999"


def test_nobody_in_between_saves_at_once(client, people, customer):
    client.force_login(people["orla"])
    url = f"/customers/{customer.pk}/edit/"

    assert client.post(url, opened(client, url) | {"phone": "1"}).status_code == 302


@pytest.mark.parametrize("seen", ["", "x", "-1", "1" * 400, "٣"])
def test_a_form_that_does_not_say_what_it_saw_is_saved(client, people, customer, seen):
    client.force_login(people["orla"])
    url = f"/customers/{customer.pk}/edit/"

    assert client.post(url, opened(client, url) | {"seen": seen, "phone": "1"}).status_code == 302


def test_a_survey_and_the_office_at_one_vehicle(client, people, vehicle):
    client.force_login(people["joss"])
    url = f"/vehicles/{vehicle.pk}/survey/"
    entries = opened(client, url) | {"hot_idle_v": "13.8"}
    vehicles.change_vehicle(vehicle, by=people["mara"], odometer_km=41200)

    answer = client.post(url, entries)

    assert "Mara Quill changed this at" in answer.content.decode()
    vehicle.refresh_from_db()
    assert vehicle.hot_idle_v is None


def test_the_catalogue_too(client, people):
    operation = LabourOperation.objects.create(code="fit_thing", name="Fit a thing", minutes_per_unit=10)
    client.force_login(people["mara"])
    url = f"/catalogue/labour/{operation.pk}/edit/"
    entries = opened(client, url) | {"minutes_per_unit": "25"}
    operation.minutes_per_unit = 15
    operation._history_user = people["orla"]
    operation.save()

    answer = client.post(url, entries)

    assert answer.status_code == 422
    assert "Orla Penn changed this at" in answer.content.decode()
    operation.refresh_from_db()
    assert operation.minutes_per_unit == 15


def test_the_workshops_rules_too(client, people):
    Workshop.objects.get().save()
    client.force_login(people["orla"])
    url = "/workshop/money/"
    entries = opened(client, url) | {"labour_rate": "125"}
    workshop = Workshop.objects.get()
    workshop.labour_rate = Decimal("130")
    workshop._history_user = people["mara"]
    workshop.save()

    answer = client.post(url, entries)

    assert "Mara Quill changed this at" in answer.content.decode()
    assert Workshop.objects.get().labour_rate == Decimal("130")


def test_every_page_that_changes_a_record_carries_what_it_saw(client, people, customer, vehicle):
    client.force_login(people["orla"])
    Workshop.objects.get().save()
    for url in (
        f"/customers/{customer.pk}/edit/",
        f"/vehicles/{vehicle.pk}/edit/",
        f"/vehicles/{vehicle.pk}/survey/",
        "/workshop/",
        "/workshop/money/",
        "/workshop/engineering/",
    ):
        assert 'name="seen"' in client.get(url).content.decode(), url
