"""The first run of an empty server."""

from __future__ import annotations

import itertools
import stat
from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.urls import reverse

from fitouts.config.env import kept_secret
from fitouts.models import Markup, TaxRate, User, Workshop
from fitouts.services import first_run
from tests.factories.jobs import make_workshop


@pytest.fixture
def home(settings, tmp_path):
    settings.HOME = tmp_path
    return tmp_path


def entries(**changed: str) -> dict[str, str]:
    return {
        "code": first_run.code(),
        "name": "Kestrel Flat Auto Electrical",
        "country": "AU",
        "currency": "AUD",
        "time_zone": "Australia/Adelaide",
        "tax_name": "GST",
        "tax_ratio": "10",
        "display_name": "Orla Penn",
        "username": "orla",
        "password": "copper-age-88x",
        "password_again": "copper-age-88x",
        **changed,
    }


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["bench", "sign_in", "customer_list", "people", "job_list", "catalog:component_list"])
def test_every_page_leads_to_the_first_run(client, home, name):
    response = client.get(reverse(name))

    assert (response.status_code, response.headers["Location"]) == (302, "/first-run/")


@pytest.mark.django_db
def test_code_is_made_once_for_the_owner_of_the_server_alone(home):
    code = first_run.code()

    assert len(code.replace("-", "")) == 12
    assert first_run.code() == code
    assert stat.S_IMODE(first_run.code_path().stat().st_mode) == 0o600


def test_code_is_read_with_other_spaces_and_capitals(home):
    code = first_run.code()

    assert first_run.is_code(f" {code.upper().replace('-', ' ')} ")
    assert not first_run.is_code(code[:-1])
    assert not first_run.is_code("")


@pytest.mark.django_db
@pytest.mark.parametrize("typed", ["-", " - ", "--"])
def test_an_empty_file_is_no_code(home, typed):
    """As a full disk could leave it: nothing typed may fit nothing kept."""
    first_run.code_path().touch(mode=0o600)

    with pytest.raises(ImproperlyConfigured, match="is empty"):
        first_run.is_code(typed)


def test_a_secret_asked_for_by_many_at_once_is_one(tmp_path):
    path, numbers = tmp_path / "new" / "secret_key", itertools.count()

    with ThreadPoolExecutor(8) as pool:
        got = set(pool.map(lambda _: kept_secret(path, lambda: f"secret {next(numbers)}"), range(40)))

    assert got == {path.read_text()}
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert [each.name for each in path.parent.iterdir()] == ["secret_key"]


@pytest.mark.django_db
def test_workshop_opened_in_the_same_moment_is_one(home, monkeypatch):
    make_workshop()
    monkeypatch.setattr(type(Workshop.objects), "exists", lambda self: False)  # as it was when the other looked

    with pytest.raises(first_run.WorkshopExists):
        first_run.open_workshop(
            workshop={"name": "Another"}, tax_name="GST", tax_ratio=Decimal(0), username="x", password="y"
        )

    assert Workshop.objects.get().name != "Another"


@pytest.mark.django_db
def test_workshop_tax_markups_and_manager_are_made(client, home, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        response = client.post(reverse("first_run"), entries())

    assert response.headers["Location"] == reverse("bench")
    workshop = Workshop.objects.get()
    assert (workshop.name, workshop.currency, workshop.language) == ("Kestrel Flat Auto Electrical", "AUD", "en_AU")
    assert TaxRate.objects.values_list("name", "ratio").get() == ("GST", Decimal("0.10000"))
    assert set(Markup.objects.values_list("ratio", flat=True)) == {Decimal("0.3000")}
    person = User.objects.get()
    assert (person.username, person.role, person.check_password("copper-age-88x")) == ("orla", "manager", True)
    assert client.session["_auth_user_id"] == str(person.pk)
    assert not first_run.code_path().exists()


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"code": "aaaa-bbbb-cccc"}, "This is not the code on the console."),
        ({"tax_ratio": "1,500"}, "“1,500” can mean 1.5 or 1500. Write one of these."),
        ({"tax_ratio": "-10"}, "It is −10\u00a0%; it must be at least 0\u00a0% and at most 100\u00a0%."),
        ({"tax_ratio": "12.3456"}, "It has more than three decimals of a percent."),
        ({"password_again": "copper-age-88"}, "The two passwords differ."),
        ({"password": "short", "password_again": "short"}, "at least 10 characters"),
        ({"username": "orla penn"}, "Enter a valid username."),
        ({"currency": "XXX"}, "XXX is not one of the available choices."),
        ({"time_zone": "Mars/Olympus"}, "Mars/Olympus is not one of the available choices."),
        ({"name": ""}, "This field is required."),
    ],
)
def test_wrong_entry_is_refused_and_nothing_is_kept(client, home, wrong, words):
    response = client.post(reverse("first_run"), entries(**wrong))

    assert words in response.content.decode()
    assert (Workshop.objects.count(), User.objects.count(), TaxRate.objects.count()) == (0, 0, 0)


@pytest.mark.django_db
def test_afterwards_there_is_no_such_page(client, home):
    make_workshop()

    assert client.get(reverse("first_run")).status_code == 404
    assert client.post(reverse("first_run"), entries()).status_code == 404
    assert User.objects.count() == 0


@pytest.mark.django_db
def test_second_workshop_is_refused(home):
    make_workshop()

    with pytest.raises(first_run.WorkshopExists):
        first_run.open_workshop(
            workshop={"name": "Another"}, tax_name="GST", tax_ratio=Decimal(0), username="x", password="y"
        )
