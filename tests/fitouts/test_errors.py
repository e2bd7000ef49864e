"""The pages for what went wrong."""

from __future__ import annotations

import pytest
from django.urls import reverse

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
