"""Who may use which address, and that a technician finds no money anywhere."""

from __future__ import annotations

import io
import re
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.test import Client, TestCase
from PIL import Image
from pypdf import PdfReader

from catalog.models import Component
from fitouts.models import Fitout, User
from fitouts.services import photos
from quoting.models import Document, Line, Offer, Revision, SheetImport
from quoting.services import background, documents, sheets
from tests.every_url import TABLE, named
from tests.factories.course import ODD_COST, make_people, make_world, set_cost

ROLES = ("nobody", "technician", "estimator", "manager")


def test_every_address_is_in_the_table():
    assert sorted(named()) == sorted(TABLE)


@pytest.fixture(scope="module")
def world_people(kept_rows, kept_files):
    return make_people()


@pytest.fixture(scope="module")
def world_keys(world_people):
    """Keys of the rows by the names of the table. Papers are made. All of it is made once for a module."""
    people = world_people
    with TestCase.captureOnCommitCallbacks(execute=True):
        keys = make_world(people)
        job = Fitout.objects.get(pk=keys["job"])
        for kind in (Document.Kind.DIAGRAM, Document.Kind.TEST_SHEET):
            documents.ask_latest(kind, job, by=people["estimator"])
    stream = io.BytesIO()
    Image.new("RGB", (40, 30), "teal").save(stream, "JPEG")
    upload = SimpleUploadedFile("roof.jpg", stream.getvalue(), "image/jpeg")
    keys["photo"] = photos.add_photo(job.vehicle, upload, caption="Roof", by=people["technician"]).pk
    keys |= {"table": "supplier", "list": "supplier", "format": "csv", "sheet": make_sheet(people["estimator"]).pk}
    keys["paper"] = Document.objects.filter(fitout=job, kind=Document.Kind.DIAGRAM).latest("pk").pk
    return keys


@pytest.fixture
def people(world_people, db):
    return world_people


@pytest.fixture
def keys(world_keys, db):
    return dict(world_keys)


def make_sheet(by: User) -> SheetImport:
    """A table brought in and checked, with a wrong cell in it."""
    content = b"Name,Contact\nAmbry Cable Works,Pell\n,Nobody\n"
    sheet = sheets.start("supplier", SimpleUploadedFile("suppliers.csv", content), by=by)
    sheets.ask_check(sheet, by=by)
    sheets.do_check(background.claim(sheet.job.pk, "a:1"))
    return sheet


def client_of(role, people) -> Client:
    client = Client()
    if role in people:
        client.force_login(people[role])
    return client


@pytest.mark.parametrize("role", ROLES)
def test_answers(role, people, keys):
    client, column = client_of(role, people), ROLES.index(role)
    answers, led = {}, set()

    for name, address in TABLE.items():
        for method in ("get", "post"):
            with transaction.atomic():
                person = client if name != "sign_out" else client_of(role, people)
                response = getattr(person, method)(address.url(keys), {"says": "nothing"})
                transaction.set_rollback(True)
            answers[name, method] = response.status_code
            if response.headers.get("Location", "").startswith("/sign-in/"):
                led.add((name, method))
            response.close()

    expected = {(name, m): getattr(a, m)[column] for name, a in TABLE.items() for m in ("get", "post")}
    assert answers == expected
    signs_out = {("sign_out", "post")}
    assert led == ({key for key, code in expected.items() if code == 302} if role == "nobody" else signs_out)


def test_deeds_refuse_get():
    """A link, a crawler or a preview never changes anything: what changes things answers 403 or 405 to GET."""
    deeds = [address for address in TABLE.values() if address.kind == "deed"]

    assert len(deeds) > 40
    assert {code for address in deeds for code in address.get} == {302, 403, 405}
    assert {code for address in deeds for code in address.get[1:]} == {403, 405}


def test_what_is_not_there_is_404(people, keys):
    missing = dict.fromkeys(keys, 99_999_999) | {"kind": "no-such-kind", "way": "no-such-way", "set": "no-such-set"}
    client = client_of("manager", people)
    asked = [a for a in TABLE.values() if a.rows and a.get[3] == 200]

    answers = {address.name: client.get(address.url(missing)).status_code for address in asked}

    assert answers == {address.name: 404 for address in asked}


# --- Money -------------------------------------------------------------------------------------------


def as_shown(amount: Decimal) -> set[str]:
    """An amount as a page or paper could print it."""
    return {f"{amount:.2f}", f"{amount:,.2f}", f"{amount:.2f}".replace(".", ","), f"{amount:,.2f}".replace(",", " ")}


def secrets(keys) -> dict[str, set[str]]:
    """What a technician must not meet, in every way of writing it. Round amounts say nothing and are left out."""
    offer = Offer.objects.get(revision=keys["issued"])
    component = Component.objects.get(pk=keys["component"])
    amounts = {
        "cost of the battery": component.cost,
        "its price on the quote": Line.objects.get(offer=offer, component=component).unit_price,
        "its cost, once changed": Decimal("733.91"),
        "net": offer.net,
        "total": offer.total,
        "tax": offer.tax,
        "deposit": offer.deposit,
        "cost of all": offer.cost,
        "margin": offer.net - offer.cost,
    }
    found = {words: as_shown(amount) for words, amount in amounts.items()}
    margin = (offer.net - offer.cost) / offer.net
    found["margin, %"] = {f"{100 * margin:.1f} %"}
    return found


def everything_read(client: Client, keys: dict, column: int) -> dict[str, str]:
    """Text of every page, part and paper that this role may get, by its address."""
    urls = {a.url(keys) for a in TABLE.values() if a.get[column] == 200 and a.kind in ("page", "part")}
    jobs = Fitout.objects.values_list("pk", flat=True)
    urls |= {TABLE[name].url(keys | {"job": pk, "built": pk}) for pk in jobs for name in ("job", "build", "papers")}
    read = {url: client.get(url).content.decode() for url in urls}
    for document in Document.objects.all():
        response = client.get(TABLE["paper_open"].url(keys | {"paper": document.pk}))
        if response.status_code == 200:
            pages = PdfReader(io.BytesIO(b"".join(response.streaming_content))).pages
            read[f"{document.kind} {document.pk}"] = "\n".join(page.extract_text() for page in pages)
    return read


@pytest.fixture
def changed_price(keys, people):
    for cost in (Decimal("733.91"), ODD_COST):
        set_cost(Component.objects.get(pk=keys["component"]), cost, people["estimator"])


def test_technician_meets_no_money(keys, people, changed_price):
    hidden = secrets(keys)

    read = everything_read(client_of("technician", people), keys, ROLES.index("technician"))

    met = [(where, words) for where, text in read.items() for words, forms in hidden.items() if _found(text, forms)]
    assert met == []
    kinds = {where.split()[0] for where in read if not where.startswith("/")}
    assert kinds == {"diagram", "test_sheet", "handover"}
    assert "Costs the workshop" not in " ".join(read.values())


def test_estimator_meets_all_of_it(keys, people, changed_price):
    """The other side of the test above: what it looks for is really there to be found."""
    hidden = secrets(keys)

    read = everything_read(client_of("estimator", people), keys, ROLES.index("estimator"))

    text = "\n".join(read.values())
    assert [words for words, forms in hidden.items() if not _found(text, forms)] == []
    assert {"quote"} < {where.split()[0] for where in read if not where.startswith("/")}


def test_quote_paper_is_refused_to_technicians(keys, people):
    document = Document.objects.filter(kind=Document.Kind.QUOTE).first()
    client, url = client_of("technician", people), TABLE["paper_open"].url({"paper": document.pk})

    assert document.file
    assert client.get(url).status_code == 403
    for deed in ("paper_retry", "paper_cancel"):
        assert client.post(TABLE[deed].url({"paper": document.pk})).status_code == 403
    assert client.post(TABLE["paper_ask"].url(keys), {"kind": "quote"}).status_code == 403
    assert client.get(TABLE["revision"].url(keys)).status_code == 403
    assert Revision.objects.get(pk=keys["issued"]).state == Revision.State.ISSUED


def _found(text: str, forms: set[str]) -> set[str]:
    plain = re.sub("<[^>]*>", "", text).replace("&nbsp;", " ")
    for space in ("\N{NO-BREAK SPACE}", "\N{NARROW NO-BREAK SPACE}"):
        plain = plain.replace(space, " ")
    return {form for form in forms if form in text or form in plain}
