"""The page of the single-line diagram: sheets, papers, links to rows and sheets, drawn once, nothing to draw."""

from __future__ import annotations

import re
from html import unescape
from urllib.parse import parse_qs, urlparse

import pytest
from django.core.cache import cache
from django.test import Client
from django.urls import reverse

from fitouts.models import User
from fitouts.services import fitouts
from quoting.drawings import single_line
from quoting.models import Document
from quoting.services import designs
from quoting.views import diagram
from tests.factories.jobs import make_user

pytestmark = pytest.mark.django_db


@pytest.fixture
def desk(estimator) -> Client:
    client = Client()
    client.force_login(estimator)
    return client


@pytest.fixture
def url(worked_out) -> str:
    cache.clear()
    return reverse("diagram", args=[worked_out.pk])


def svg_of(page: str) -> str:
    return re.search(r"<svg[^>]*class=\"drawing\".*?</svg>", page, re.S).group()


def test_every_circuit_on_the_sheets_leads_to_its_row(desk, url, worked_out):
    design = designs.latest_of(worked_out)
    sheets = diagram.sheets_of(design, "A4")
    rows = desk.get(reverse("circuits", args=[worked_out.pk])).content.decode()

    tags = {circuit["tag"] for circuit in design.appraisal["circuits"]}
    anchors = {anchor for sheet in sheets for anchor in re.findall(r"#(circuit-\w+)", sheet)}

    assert anchors == {f"circuit-{tag}" for tag in tags}
    assert all(f'id="{anchor}"' in rows for anchor in anchors)


def test_each_sheet_has_its_address_and_references_lead_to_theirs(desk, url, worked_out):
    design = designs.latest_of(worked_out)
    count = len(diagram.sheets_of(design, "A4"))
    assert count > 1

    for number in range(1, count + 1):
        page = desk.get(f"{url}?sheet={number}").content.decode()
        assert f"Sheet {number} of {count}" in page
        led = {
            parse_qs(urlparse(unescape(href)).query)["sheet"][0]
            for href in re.findall(rf'href="({url}\?[^"]+)"', svg_of(page))
        }
        said = set(re.findall(r">sheet (\d+), [A-Z]\d+<", svg_of(page)))
        assert led == said
        assert led <= {str(n) for n in range(1, count + 1)} - {str(number)}


def test_another_paper_is_drawn_for_and_asked_for(desk, url, worked_out):
    page = desk.get(f"{url}?paper=a3").content.decode()

    wide = float(re.search(r'viewBox="0 0 ([\d.]+) ', svg_of(page)).group(1))
    assert wide == pytest.approx(384 * 72 / 25.4, abs=0.1)
    asked = dict(re.findall(r'<(?:input type="hidden"|button class="press") name="([^"]+)" value="([^"]+)"', page))
    assert (asked["kind"], asked["diagram-form"]) == ("diagram", "a3")
    desk.post(reverse("paper_ask", args=[worked_out.pk]), {"kind": "diagram", "diagram-form": "a3"})
    assert Document.objects.filter(fitout=worked_out, kind="diagram", form="a3").exists()


@pytest.mark.parametrize(
    "query", ["sheet=0", "sheet=-1", "sheet=99999999999", "sheet=x", "sheet=²", "paper=A0", "paper="]
)
def test_what_no_sheet_answers_to_shows_one_that_is_there(desk, url, query):
    answer = desk.get(f"{url}?{query}")

    assert answer.status_code == 200
    assert "Sheet" in answer.content.decode()


def test_a_design_is_drawn_once(desk, url, monkeypatch):
    desk.get(url)
    monkeypatch.setattr(single_line, "sheets", None)

    assert desk.get(url).status_code == 200
    assert desk.get(f"{url}?sheet=2").status_code == 200


def test_the_page_takes_few_queries(desk, url, django_assert_num_queries):
    desk.get(url)

    with django_assert_num_queries(29):
        desk.get(url)


def test_no_style_and_no_script_is_in_the_page(desk, url):
    page = desk.get(url).content.decode()

    assert " style=" not in page
    assert re.findall(r"<script(?![^>]*src=)", page) == []
    assert 'role="group"' in svg_of(page)


def test_a_technician_looks_and_sees_no_money(url):
    client = Client()
    client.force_login(make_user(User.Role.TECHNICIAN))

    page = client.get(url).content.decode()

    assert "C1" in svg_of(page)
    assert "cost" not in page.lower()


def test_a_job_without_a_design_says_so(desk, worked_out, estimator):
    bare = fitouts.open_job(worked_out.customer, worked_out.vehicle, "One more job", by=estimator)

    page = desk.get(reverse("diagram", args=[bare.pk])).content.decode()

    assert "No diagram yet" in page
    assert 'class="drawing"' not in page
