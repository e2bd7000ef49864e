"""The pages for what went wrong."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from fitouts.proxies import client_address
from fitouts.views import errors


def test_missing_page_has_a_way_back(as_technician):
    response = as_technician.get("/nowhere/")

    assert response.status_code == 404
    assert "There is nothing here" in response.content.decode()
    assert f'href="{reverse("bench")}"' in response.content.decode()


def test_missing_page_for_nobody_shows_no_way_about(client, workshop):
    page = client.get("/nowhere/").content.decode()

    assert "There is nothing here" in page
    assert 'aria-label="Main"' not in page


def test_broken_page_is_drawn_without_a_database(rf):
    response = errors.broken(rf.get("/"))

    assert response.status_code == 500
    assert "This is a fault of the program, not of what you entered." in response.content.decode()


@pytest.mark.parametrize(
    ("cookie", "attribute"), [("dark", 'data-theme="dark"'), ("light", 'data-theme="light"'), ("x'><b>", None)]
)
def test_theme_is_kept_in_a_cookie(as_technician, cookie, attribute):
    as_technician.cookies["theme"] = cookie

    page = as_technician.get(reverse("account")).content.decode()

    assert ("data-theme=" in page.split(">")[1]) is (attribute is not None)
    assert attribute is None or attribute in page


def test_page_from_before_signing_in_says_to_load_it_again(workshop):
    client = Client(enforce_csrf_checks=True)

    response = client.post(reverse("sign_in"), {"username": "x"})

    page = response.content.decode()
    assert response.status_code == 403
    assert "Nothing was changed. The page was opened before you signed in or out" in page
    assert "<style" not in page


@pytest.mark.parametrize(
    ("https", "near", "told", "expected"),
    [
        (True, "127.0.0.1", "203.0.113.9", "203.0.113.9"),
        (True, "127.0.0.1", "198.51.100.1, 203.0.113.9", "203.0.113.9"),  # the first was written by who asked
        (True, "::1", "2001:db8::9", "2001:db8::9"),
        (True, "127.0.0.1", "unknown", "127.0.0.1"),
        (True, "203.0.113.7", "198.51.100.1", "203.0.113.7"),  # no web server of ours
        (False, "127.0.0.1", "198.51.100.1", "127.0.0.1"),
    ],
)
def test_address_behind_a_web_server(rf, settings, https, near, told, expected):
    settings.SECURE_HTTPS = https

    assert client_address(rf.get("/", REMOTE_ADDR=near, HTTP_X_FORWARDED_FOR=told)) == expected


def test_stranger_locks_nobody_else_out(settings, technician):
    settings.AXES_ENABLED, settings.SECURE_HTTPS, settings.SECURE_SSL_REDIRECT = True, True, False
    technician.set_password("copper-age-88x")
    technician.save()

    def sign_in(address, password):
        entries = {"username": technician.username, "password": password}
        return Client().post(reverse("sign_in"), entries, HTTP_X_FORWARDED_FOR=address).status_code

    assert [sign_in("203.0.113.9", "wrong") for _ in range(9)][-2:] == [429, 429]
    assert sign_in("203.0.113.9", "copper-age-88x") == 429
    assert sign_in("198.51.100.1", "copper-age-88x") == 302
