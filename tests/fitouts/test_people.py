"""Accounts."""

from __future__ import annotations

import re

import pytest
from django.test import Client
from django.urls import reverse

from fitouts.models import User
from fitouts.services import people
from tests.factories.jobs import make_user
from tests.fitouts.conftest import signed_in


def test_person_is_added_and_the_password_shown_once(as_manager):
    response = as_manager.post(
        reverse("person_add"), {"username": "tove", "display_name": "Tove Aldren", "role": "technician"}
    )

    password = re.search(r"<code>(.+)</code>", response.content.decode()).group(1)
    person = User.objects.get(username="tove")
    assert (person.role, str(person), person.is_superuser) == ("technician", "Tove Aldren", False)
    assert Client().login(username="tove", password=password)
    assert len(password.replace("-", "")) == 20
    assert "no-store" in response.headers["Cache-Control"]
    assert password not in as_manager.get(reverse("people")).content.decode()


@pytest.mark.parametrize(
    ("entries", "words"),
    [
        ({"username": "manager", "role": "technician"}, "A user with that username already exists."),
        ({"username": "", "role": "technician"}, "This field is required."),
        ({"username": "a b", "role": "technician"}, "Enter a valid username."),
        ({"username": "tove", "role": "owner"}, "owner is not one of the available choices."),
    ],
)
def test_wrong_person_is_refused(as_manager, entries, words):
    response = as_manager.post(reverse("person_add"), entries)

    assert words in response.content.decode()
    assert User.objects.count() == 1


def test_role_is_never_taken_from_more_than_the_form_asks(as_manager):
    as_manager.post(reverse("person_add"), {"username": "tove", "role": "technician", "is_superuser": "1"})

    assert User.objects.get(username="tove").is_superuser is False


def test_closed_account_is_out_at_once(as_manager, technician):
    theirs = signed_in(technician)
    assert theirs.get(reverse("account")).status_code == 200

    as_manager.post(reverse("person_switch", args=[technician.pk]))

    assert theirs.get(reverse("account")).status_code == 302
    assert not Client().login(username="technician", password="a-long-passphrase")

    as_manager.post(reverse("person_switch", args=[technician.pk]))
    assert Client().login(username="technician", password="a-long-passphrase")


def test_new_password_ends_the_old_one_and_open_sessions(as_manager, technician):
    theirs = signed_in(technician)

    response = as_manager.post(reverse("person_password", args=[technician.pk]))

    password = re.search(r"<code>(.+)</code>", response.content.decode()).group(1)
    assert theirs.get(reverse("account")).status_code == 302
    assert not Client().login(username="technician", password="a-long-passphrase")
    assert Client().login(username="technician", password=password)


def test_last_manager_stays(as_manager, manager):
    closed = as_manager.post(reverse("person_switch", args=[manager.pk]), follow=True)
    demoted = as_manager.post(reverse("person_edit", args=[manager.pk]), {"role": "technician"})

    manager.refresh_from_db()
    assert (manager.is_active, manager.role) == (True, "manager")
    assert "Orla Penn is the last active manager." in closed.content.decode()
    assert "Make somebody else a manager first." in demoted.content.decode()


def test_one_of_two_managers_may_go(manager, workshop):
    make_user(User.Role.MANAGER, "second")

    people.deactivate(manager)

    assert manager.is_active is False
