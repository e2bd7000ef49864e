"""Before a record is retired its page says what still uses it; it comes back as it was."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from catalog.models import Component, LabourOperation
from catalog.services import load_starter
from fitouts.models import Stage
from tests.factories.jobs import make_fitout


@pytest.fixture
def library(estimator):
    load_starter(estimator)


def page_of(client, name: str, row) -> str:
    html = client.get(reverse(f"catalog:{name}_detail", args=[row.pk])).content.decode()
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def test_component_says_which_assemblies_and_jobs_have_it(desk, library):
    part = Component.objects.get(name="Pimbury LB-OFF")
    make_fitout(pinned=[part.pk])
    make_fitout(number="26-0002", pinned=[part.pk], stage=Stage.CLOSED)

    said = page_of(desk, "component", part)

    assert "These still use it and keep it: 1 assembly, 1 job that asks for it by name." in said


def test_labour_says_which_assemblies_have_it(desk, library):
    said = page_of(desk, "labour", LabourOperation.objects.get(code="terminate"))

    assert "These still use it and keep it: 1 assembly." in said


def test_what_nothing_uses_says_so_by_leaving_it_out(desk, library):
    said = page_of(desk, "component", Component.objects.get(name="Tidewell TW-60"))

    assert "These still use it" not in said
    assert "It is no longer offered for new jobs." in said


def test_retired_component_comes_back_as_it_was(desk, library):
    part = Component.objects.get(name="Pimbury LB-OFF")
    before = dict(part.specification)

    desk.post(reverse("catalog:component_retire", args=[part.pk]))
    retired = page_of(desk, "component", part)
    desk.post(reverse("catalog:component_restore", args=[part.pk]))

    part.refresh_from_db()
    assert "Take back into use" in retired
    assert (part.is_retired, part.specification) == (False, before)


def test_technician_is_not_asked(client, technician, library):
    client.force_login(technician)

    assert "Retire" not in page_of(client, "component", Component.objects.get(name="Pimbury LB-OFF"))
