"""Who gets which page of people, customers, vehicles and workshop."""

from __future__ import annotations

import pytest
from django.contrib.messages import get_messages
from django.urls import reverse

from fitouts import urls
from fitouts.models import Instrument, TaxRate, VehiclePhoto
from fitouts.services.space import add_area, add_space
from fitouts.services.towing import join
from fitouts.services.vehicles import add_position, add_vehicle
from tests.fitouts.conftest import signed_in

READ = (200, 200, 200)
OFFICE = (403, 200, 200)
BOSS = (403, 403, 200)
# by GET: technician, estimator, manager; nobody is always led to the sign-in page
PAGES = {
    "account": READ,
    "customer_list": READ,
    "customer": READ,
    "customer_add": OFFICE,
    "customer_edit": OFFICE,
    "contact_add": OFFICE,
    "contact_edit": OFFICE,
    "vehicle_add": OFFICE,
    "vehicle_list": READ,
    "vehicle": READ,
    "vehicle_edit": OFFICE,
    "vehicle_survey": READ,
    "position_add": READ,
    "position_edit": READ,
    "run_add": READ,
    "run_edit": READ,
    "roof_add": READ,
    "roof_edit": READ,
    "battery_space_add": READ,
    "battery_space_edit": READ,
    "hitch_add": READ,
    "hitch_edit": READ,
    "photo": READ,
    "workshop": BOSS,
    "workshop_money": BOSS,
    "markups": BOSS,
    "tax_add": BOSS,
    "instruments": BOSS,
    "instrument_add": BOSS,
    "instrument_edit": BOSS,
    "people": BOSS,
    "person_add": BOSS,
    "person_edit": BOSS,
}
# by POST alone: 302 is done, 403 refused
DEEDS = {
    "customer_retire": (403, 302, 302),
    "contact_remove": (403, 302, 302),
    "vehicle_retire": (403, 302, 302),
    "position_remove": (302, 302, 302),
    "run_remove": (302, 302, 302),
    "starter_set": (302, 302, 302),
    "roof_remove": (302, 302, 302),
    "battery_space_remove": (302, 302, 302),
    "hitch_part": (302, 302, 302),
    "photo_add": (422, 422, 422),
    "photo_remove": (302, 302, 302),
    "tax_remove": (403, 403, 302),
    "instrument_retire": (403, 403, 302),
    "person_switch": (403, 403, 302),
    "person_password": (403, 403, 200),
}
OPEN = {"first_run", "sign_in", "sign_out"}


@pytest.fixture
def url_of(surveyed, customer, technician, files):
    from fitouts.services.customers import add_contact
    from tests.fitouts.test_photos import picture, upload

    contact = add_contact(customer, by=None, name="Dr Ines Venn")
    instrument = Instrument.objects.create(name="Clamp meter", serial="C1")
    rate = TaxRate.objects.create(name="GST", ratio="0.1", valid_from="2099-01-01")
    from fitouts.services.photos import add_photo

    photo = add_photo(surveyed, upload(picture()), by=technician)
    assert VehiclePhoto.objects.count() == 1
    trailer = add_vehicle(customer, by=None, make="Brindle", model="Nest", is_trailer=True)
    spot = add_position(trailer, by=None, name="Drawbar")
    hitch = join(surveyed, by=None, trailer=trailer, tow_position=surveyed.positions.first(), trailer_position=spot)
    area = add_area(surveyed, by=None, name="Canopy", length_m=2.0, width_m=1.2)
    box = add_space(surveyed, by=None, name="Box", length_mm=600, width_mm=300, height_mm=260)
    arguments = {
        "roof": [surveyed.pk, area.pk],
        "battery": [surveyed.pk, box.pk],
        "hitch": [surveyed.pk, hitch.pk],
        "customer": [customer.pk],
        "contact": [contact.pk],
        "vehicle": [surveyed.pk],
        "position": [surveyed.pk, surveyed.positions.first().pk],
        "run": [surveyed.pk, surveyed.runs.first().pk],
        "starter": [surveyed.pk, "van"],
        "photo": [photo.pk],
        "tax": [rate.pk],
        "instrument": [instrument.pk],
        "person": [technician.pk],
    }

    def find(name: str) -> str:
        if name in {"contact_add", "vehicle_add"}:
            return reverse(name, args=[customer.pk])
        if name in {"position_add", "run_add", "photo_add", "hitch_add", "roof_add", "battery_space_add"}:
            return reverse(name, args=[surveyed.pk])
        if name.endswith(("_add", "_list")) or name in {"account", "people", "instruments", "markups"}:
            return reverse(name)
        if name.startswith("workshop"):
            return reverse(name)
        return reverse(name, args=arguments[name.split("_")[0]])

    return find


def test_every_page_is_in_the_table():
    assert {pattern.name for pattern in urls.urlpatterns} == PAGES.keys() | DEEDS.keys() | OPEN


@pytest.mark.parametrize("name", PAGES)
def test_page(name, url_of, technician, estimator, manager, client):
    url = url_of(name)

    answers = [signed_in(person).get(url) for person in (technician, estimator, manager)]

    assert tuple(answer.status_code for answer in answers) == PAGES[name]
    for answer in answers:
        answer.close()
    nobody = client.get(url)
    assert (nobody.status_code, nobody.headers["Location"]) == (302, f"/sign-in/?next={url}")


@pytest.mark.parametrize("role", [0, 1, 2])
@pytest.mark.parametrize("name", DEEDS)
def test_deed(name, role, url_of, technician, estimator, manager, client):
    url = url_of(name)
    person = (technician, estimator, manager)[role]

    assert client.post(url).headers["Location"] == f"/sign-in/?next={url}"
    assert signed_in(person).get(url).status_code == 405
    assert signed_in(person).post(url).status_code == DEEDS[name][role]


def test_refused_page_says_so_in_words(as_technician):
    response = as_technician.get(reverse("people"))

    assert response.status_code == 403
    assert "this page or button belongs to another role" in response.content.decode()


def test_what_is_not_there_is_404(as_manager, surveyed):
    for name in ("customer", "vehicle", "photo", "person_edit", "instrument_edit"):
        assert as_manager.get(reverse(name, args=[9999])).status_code == 404
    assert as_manager.get(reverse("position_edit", args=[surveyed.pk, 9999])).status_code == 404


def test_position_of_another_vehicle_is_404(as_manager, surveyed, customer):
    from fitouts.services.vehicles import add_vehicle

    other = add_vehicle(customer, by=None, make="Brindle", model="Carrier")

    assert as_manager.get(reverse("position_edit", args=[other.pk, surveyed.positions.first().pk])).status_code == 404


def test_menu_shows_the_workshop_to_managers_alone(as_manager, as_technician):
    assert 'href="/workshop/"' in as_manager.get(reverse("customer_list")).content.decode()
    assert 'href="/workshop/"' not in as_technician.get(reverse("customer_list")).content.decode()


def test_sign_in_and_out(client, technician):
    wrong = client.post(reverse("sign_in"), {"username": "technician", "password": "no"})
    assert "Name and password do not fit together." in wrong.content.decode()

    right = client.post(reverse("sign_in"), {"username": "technician", "password": "a-long-passphrase"})
    assert right.headers["Location"] == "/"

    assert client.get(reverse("sign_out")).status_code == 405
    assert client.post(reverse("sign_out")).headers["Location"] == "/sign-in/"
    assert "_auth_user_id" not in client.session


def test_too_many_wrong_passwords_close_the_door(client, technician, settings):
    settings.AXES_ENABLED = True
    settings.AXES_FAILURE_LIMIT = 3
    wrong = {"username": "technician", "password": "no"}

    answers = [client.post(reverse("sign_in"), wrong).status_code for _try in range(3)]
    closed = client.post(reverse("sign_in"), {"username": "technician", "password": "a-long-passphrase"})

    assert answers[:2] == [200, 200]
    assert closed.status_code == 429
    assert "Too many wrong passwords" in closed.content.decode()


def test_password_can_be_changed(as_technician, technician):
    response = as_technician.post(
        reverse("account"),
        {
            "old_password": "a-long-passphrase",
            "new_password1": "copper-age-88x",
            "new_password2": "copper-age-88x",
        },
    )

    technician.refresh_from_db()
    assert technician.check_password("copper-age-88x")
    assert [str(m) for m in get_messages(response.wsgi_request)] == [
        "Password changed. Other places where you were signed in are signed out."
    ]
    assert as_technician.get(reverse("account")).status_code == 200


def test_policy_allows_nothing_inline(as_manager, surveyed):
    response = as_manager.get(reverse("vehicle", args=[surveyed.pk]))
    page = response.content.decode()

    policy = set(response.headers["Content-Security-Policy"].split("; "))
    assert {"default-src 'none'", "script-src 'self'", "style-src 'self'", "form-action 'self'"} <= policy
    assert "style=" not in page
    assert "<style" not in page
    assert "onclick" not in page
    assert page.count("<script") == page.count('<script src="/static/')
