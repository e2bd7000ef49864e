"""A vehicle or a component named by typing: offered as one types, read on the server, refused in words."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.urls import reverse

from catalog import services as catalog
from catalog.typed import NotOne, resolve
from fitouts.models import Customer, Fitout, Vehicle
from tests.factories.jobs import make_user, make_workshop
from tests.factories.wagon import example
from tests.seen import seen

pytestmark = pytest.mark.django_db


@pytest.fixture
def estimator(client):
    make_workshop()
    estimator = make_user()
    client.force_login(estimator)
    return estimator


@pytest.fixture
def vehicles(estimator):
    owner = Customer.objects.create(name="Ardle Shire")
    plates = ("KF 417", "KF 418", "4170", "")
    return [
        Vehicle.objects.create(customer=owner, make="Halvard", model="Tor", body="truck", registration=p)
        for p in plates
    ]


@pytest.mark.parametrize(("text", "which"), [("kf417", 0), ("KF-418", 1), ("4170", 2), ("Ardle 418", 1)])
def test_a_number_or_enough_words_name_one_vehicle(vehicles, text, which):
    assert resolve("vehicle", Vehicle.objects.all(), text) == vehicles[which]


def test_a_key_behind_a_name_is_certain(vehicles):
    assert resolve("vehicle", Vehicle.objects.all(), f"anything #{vehicles[3].pk}") == vehicles[3]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Halvard", "“Halvard” names several: "),
        ("Brindle", "Nothing in use is called “Brindle”."),
        ("#99999", "#99999"),
    ],
)
def test_none_or_several_are_refused_with_what_was_typed(vehicles, text, said):
    with pytest.raises(NotOne, match=said.replace("#", "\\#")):
        resolve("vehicle", Vehicle.objects.all(), text)


def test_a_job_is_opened_by_registration_and_a_refusal_loses_nothing(client, vehicles):
    refused = client.post(reverse("job_add"), {"vehicle": "Halvard", "title": "Tree survey"})
    opened = client.post(reverse("job_add"), {"vehicle": "kf 417", "title": "Tree survey"})

    assert refused.status_code == 422
    assert 'value="Halvard"' in refused.content.decode()
    assert "names several" in refused.content.decode()
    assert opened.status_code == 302
    assert Fitout.objects.get().vehicle == vehicles[0]


def test_the_vehicle_of_an_address_is_shown_by_its_name(client, vehicles):
    page = client.get(reverse("job_add"), {"vehicle": vehicles[0].pk}).content.decode()

    assert f"#{vehicles[0].pk}" in page
    assert "KF 417" in page
    assert "KF 418" not in page


def test_names_are_offered_as_one_types_and_nothing_for_a_letter(client, vehicles):
    names = client.get(reverse("vehicle_names"), {"vehicle": "kf4"}).content.decode()

    assert names.count("<option") == 2
    assert "<option" not in client.get(reverse("vehicle_names"), {"vehicle": "k"}).content.decode()
    assert "<option" not in client.get(reverse("vehicle_names")).content.decode()


def test_components_are_offered_without_their_cost(client, estimator):
    part = next(part for part in example()["catalogue"] if part["kind"] == "battery")
    catalog.save_component("battery", part["spec"], name="Larkham LF-7", cost=Decimal("813.77"), by=estimator)
    client.force_login(make_user("technician"))

    names = seen(client.get(reverse("component_names"), {"component": "larkham"}))

    assert "Larkham LF-7" in names
    assert "813" not in names


@pytest.mark.parametrize("count", [3, 60])
def test_names_take_the_same_queries_for_3_and_60(client, estimator, count, django_assert_num_queries):
    owner = Customer.objects.create(name="Ardle Shire")
    for n in range(count):
        Vehicle.objects.create(customer=owner, make="Halvard", model="Tor", registration=f"KF {n:03}")
    client.get(reverse("vehicle_names"))

    with django_assert_num_queries(6):
        client.get(reverse("vehicle_names"), {"q": "kf"})
