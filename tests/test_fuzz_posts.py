"""Every address, posted to and asked for with what nobody should send: an answer in words, never a fault of the server.

Entries are read from the pages' own forms, so that most of a post is right and one or a few things in it are not.
"""

from __future__ import annotations

import random
from html.parser import HTMLParser
from urllib.parse import urljoin, urlsplit

import pytest
from django.apps import apps
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.db.models import CharField, TextField
from django.test import Client

from fitouts.models import Fitout
from quoting.services import designs
from tests.every_url import TABLE
from tests.test_permissions import ROLES, client_of, keys, people, world_keys, world_people  # noqa: F401  (fixtures)

# A word that is no column to sort by warns of the next version of the tables; on a server that is no fault.
pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")

ODD = (
    "",
    " ",
    "\x00",
    "a\x00b",
    "²",
    "1²",
    "٣",
    "-1",
    "0",
    "1e308",
    "1e-308",
    "NaN",
    "-inf",
    "1,500",
    "2,5 furlongs",
    "9" * 30,
    "9" * 5000,
    "99999999.9999",
    "-99999999.9999",
    "0.00001",
    "2147483648",
    "A" * 400,
    "Ω" * 5000,
    "<script>alert(1)</script>",
    "<b>bold</b> &amp; <img src=file:///etc/hostname>",
    "%(name)s %s {0} {name}",
    "'; DROP TABLE quoting_snapshot; --",
    "../../secret_key",
    "http://elsewhere.example/",
    "first\r\nSet-Cookie: b=c",
    "2026-02-30",
    "9999-12-31",
    "0001-01-01",
    "true",
    "[]",
    '{"a": 1}',
    "\u202e\ufeff\u0300",
    "👩\u200d🔧",
)
LOOSE = {
    **dict.fromkeys(("kind", "stage", "reason", "key", "way_to", "way", "number", "component", "how", "name"), "x"),
    **dict.fromkeys(("line", "appliance", "find", "next", "page", "sort", "q"), "1"),
}
"""Entries that views read by themselves."""


class Forms(HTMLParser):
    """Entries of each form of a page, by the path it posts to."""

    def __init__(self, url: str) -> None:
        super().__init__()
        self.url, self.at = url, url
        self.found: dict[str, dict[str, str]] = {}
        self.choice = ""

    def handle_starttag(self, tag, attrs):
        given = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.at = urlsplit(urljoin(self.url, given.get("action") or given.get("hx-post") or self.url)).path
        name = given.get("name", "")
        if tag in ("input", "textarea", "select", "button") and name and name != "csrfmiddlewaretoken":
            unticked = given.get("type") in ("checkbox", "radio") and "checked" not in given
            self.found.setdefault(self.at, {}).setdefault(name, "" if unticked else given.get("value", ""))
        if tag == "select":
            self.choice = name
        if tag == "option" and self.choice and "selected" in given:
            self.found[self.at][self.choice] = given.get("value", "")


@pytest.fixture(scope="module")
def entries(world_people, world_keys):  # noqa: F811
    """What an honest post to each address holds."""
    client, found = client_of("manager", world_people), {}
    urls = [a.url(world_keys) for a in TABLE.values() if a.get[3] == 200 and a.kind != "file"]
    for url in [*urls, f"/jobs/{world_keys['built']}/"]:
        for htmx in ({}, {"HTTP_HX_REQUEST": "true"}):
            page = Forms(url)
            page.feed(client.get(url, **htmx).content.decode())
            for path, names in page.found.items():
                found.setdefault(path, {}).update(names)
    return found


def posts(dice: random.Random, honest: dict[str, str]):
    """Bodies to post: all odd, one odd, a few odd and one missing."""
    honest = {**dict(dice.sample(sorted(LOOSE.items()), 6)), **honest}
    yield dict.fromkeys(honest, dice.choice(ODD))
    for most in (1, 1, 3):
        body = dict(honest)
        for name in dice.sample(sorted(body), min(most, len(body))):
            body[name] = dice.choice(ODD)
        if most > 1:
            body.pop(dice.choice(sorted(body)))
        yield body


def send(client: Client, method: str, url: str, body: dict, **more) -> str:
    """What went wrong, or nothing. Nothing is kept."""
    try:
        with transaction.atomic():
            response = getattr(client, method)(url, body, **more)
            if response.streaming:
                b"".join(response.streaming_content)
            transaction.set_rollback(True)
    except Exception as fault:
        return f"{type(fault).__name__}: {fault}"[:300]
    return f"answered {response.status_code}" if response.status_code >= 500 else ""


@pytest.mark.parametrize("role", ROLES)
def test_no_post_is_a_fault(role, people, keys, entries):  # noqa: F811
    client, dice, faults = client_of(role, people), random.Random(ROLES.index(role)), {}

    for name, address in TABLE.items():
        url = address.url(keys)
        for body in posts(dice, entries.get(url, {})):
            who = client_of(role, people) if name == "sign_out" else client
            htmx = dice.choice(({}, {"HTTP_HX_REQUEST": "true"}))
            if fault := send(who, "post", url, body, **htmx):
                faults[name, fault] = {k: v[:60] for k, v in body.items()}

    assert faults == {}


@pytest.mark.parametrize("role", ROLES)
def test_no_question_is_a_fault(role, people, keys, entries):  # noqa: F811
    client, dice, faults = client_of(role, people), random.Random(ROLES.index(role)), {}

    for name, address in TABLE.items():
        url = address.url(keys)
        for body in posts(dice, entries.get(url, {})):
            htmx = dice.choice(({}, {"HTTP_HX_REQUEST": "true"}))
            if fault := send(client, "get", url, body, **htmx):
                faults[name, fault] = {k: v[:60] for k, v in body.items()}

    assert faults == {}


@pytest.mark.parametrize(
    "content", [b"", b"GIF89a", b"\xff\xd8\xff" + b"\0" * 999, b"<svg onload=alert(1)>", b"\0" * 9]
)
def test_no_file_is_a_fault(content, people, keys):  # noqa: F811
    client = client_of("technician", people)
    upload = SimpleUploadedFile("../../<img src=x>\x00.php.jpg", content, "text/html")

    response = client.post(TABLE["photo_add"].url(keys), {"photo": upload, "caption": "A" * 400})

    assert response.status_code == 422


@pytest.mark.parametrize("odd", ["²", "٣", "9" * 5000, "\x00", ""])
def test_odd_keys_find_nothing(odd, people, keys):  # noqa: F811
    """Text that looks like a number to Python and is none, or fits into no column."""
    client = client_of("estimator", people)

    wished = client.post(TABLE["component_wish"].url(keys), {"how": "pinned", "component": odd}, follow=True)
    begun = client.post(TABLE["line_add"].url(keys), {"appliance": odd})
    moved = client.post(TABLE["job_move"].url(keys), {"stage": "on_hold", "reason": f"{odd}\x00waiting"}, follow=True)

    refusals = ("Nothing in use is called", "names several", "Type a name or a number.")
    assert any(words in wished.content.decode() for words in refusals)
    assert not Fitout.objects.get(pk=keys["job"]).pinned
    assert begun.status_code == 422
    assert moved.status_code == 200


TYPED = {
    "catalog": ("Component", "Appliance", "Supplier", "Site", "LabourOperation"),
    "fitouts": (
        *("Workshop", "User", "Customer", "Contact", "Vehicle", "VehiclePosition", "VehiclePhoto", "Fitout"),
        *("StageEvent", "Requirement", "BuildTick", "FittedPart", "Instrument", "Reading", "Commissioning", "TaxRate"),
        *("InstalledSystem", "InstalledComponent", "SensePoint"),
    ),
    "quoting": ("Revision", "Line", "Document"),
}
CODES = {"username", "password", "number", "code", "key", "rule", "letter", "role", "unit", "group", "snapshot_sha256"}
CODES |= {
    "kind",
    "way",
    "rating",
    "country",
    "currency",
    "language",
    "time_zone",
    "part_number",
    "sort_key",
    "labour_code",
    "vin",
    "file",
}
PROBE = '<x-probe a=\'"{{ 7|add:35 }}{% now "Y" %}&amp;'


def test_typed_text_is_only_ever_text(people, keys):  # noqa: F811
    """Mark-up in every text that somebody types, looked for on every page and in every drawing."""
    for app, names in TYPED.items():
        for model in (apps.get_model(app, name) for name in names):
            words = [f for f in model._meta.concrete_fields if isinstance(f, CharField | TextField) and not f.choices]
            columns = [f.attname for f in words if f.name not in CODES and (f.max_length or 99) >= 30]
            for pk in model._default_manager.values_list("pk", flat=True):
                model._default_manager.filter(pk=pk).update(
                    **{name: f"{pk}{PROBE}"[: model._meta.get_field(name).max_length or 200] for name in columns}
                )
    job = Fitout.objects.get(pk=keys["job"])
    designs.work_out(job, by=people["estimator"])
    client, seen = client_of("manager", people), 0

    for address in TABLE.values():
        if address.get[3] != 200 or address.kind == "file":
            continue
        for htmx in ({}, {"HTTP_HX_REQUEST": "true"}):
            page = client.get(address.url(keys), **htmx).content.decode()
            assert "<x-probe" not in page, address.name
            seen += "&lt;x-probe" in page

    assert seen > 60
