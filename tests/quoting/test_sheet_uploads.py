"""How large a table may be: straight into the private folder, from people who may, and never anywhere else."""

from __future__ import annotations

import hashlib
import stat

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from fitouts import uploads
from quoting.models import SheetImport
from quoting.services import sheet_files
from tests.factories.jobs import make_user, make_workshop

pytestmark = pytest.mark.django_db
MEGABYTE = 1024 * 1024
HEADS = b"Name,Contact\r\n"


def table(size: int, name: str = "suppliers.csv") -> SimpleUploadedFile:
    row = b"Ambry Cable Works,Pell\r\n"
    return SimpleUploadedFile(name, (HEADS + row + b"," * size)[:size] if size else b"", "text/csv")


def address(code: str = "supplier") -> str:
    return reverse("table_kind", args=[code])


@pytest.fixture
def folder(files):
    make_workshop()
    return files / sheet_files.FOLDER


@pytest.fixture
def office(client, folder):
    client.force_login(make_user("estimator"))
    return client


def left(folder) -> list:
    return sorted(folder.iterdir()) if folder.exists() else []


def test_table_of_eleven_megabytes_is_kept_for_its_owner_alone(office, folder):
    body = HEADS + b"".join(b"Supplier %06d,%s\r\n" % (number, b"x" * 90) for number in range(110_000))
    assert 11 * MEGABYTE < len(body) < 25 * MEGABYTE

    # more rows than a table may have: that is for the check to say; here only its size counts
    response = office.post(address(), {"table": SimpleUploadedFile("suppliers.csv", body)})

    sheet = SheetImport.objects.get()
    assert response.status_code == 302
    assert [path.name for path in left(folder)] == [sheet.file.name.split("/")[1]]
    assert stat.S_IMODE(left(folder)[0].stat().st_mode) == 0o600
    assert (sheet.size, sheet.sha256) == (len(body), hashlib.sha256(body).hexdigest())
    assert left(folder)[0].read_bytes() == body


def test_table_that_is_too_large_is_refused_with_its_size_and_the_limit(office, folder):
    response = office.post(address(), {"table": table(26 * MEGABYTE)})

    assert response.status_code == 422
    assert "The file has 26.0 MB; a table may have at most 25 MB. Part it in several." in response.content.decode()
    assert (left(folder), SheetImport.objects.count()) == ([], 0)


def test_two_files_at_once_are_refused(office, folder):
    response = office.post(address(), {"table": [table(100), table(100)]})

    assert response.status_code == 422
    assert "Bring in one file at a time." in response.content.decode()
    assert (left(folder), SheetImport.objects.count()) == ([], 0)


@pytest.mark.parametrize(("role", "status"), [("", 302), ("technician", 403)])
def test_nothing_is_kept_of_what_somebody_sends_who_may_not(role, status, client, folder):
    if role:
        client.force_login(make_user(role))

    response = client.post(address(), {"table": table(11 * MEGABYTE)})

    assert response.status_code == status
    assert (left(folder), SheetImport.objects.count()) == ([], 0)


def test_other_addresses_keep_their_ten_megabytes(office, folder):
    from fitouts.models import Customer, Vehicle

    owner = Customer.objects.create(name="Mira Oakhollow")
    vehicle = Vehicle.objects.create(customer=owner, make="Brindle", model="Carrier")

    response = office.post(reverse("photo_add", args=[vehicle.pk]), {"photo": table(11 * MEGABYTE, "roof.jpg")})

    assert response.status_code == 422
    assert "The file is larger than 10 MB." in response.content.decode()
    assert left(folder) == []


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "The file “odd.csv” is empty."),
        (b"\0" * 200, "zero bytes"),
        (b"Name,Name\r\nA,B\r\n", "The head “Name” stands twice"),
        (b"PK\x03\x04 broken", "workbook"),
        (b"\n\n\n", "The table is empty"),
    ],
)
def test_what_is_no_table_is_refused_and_erased(content, words, office, folder):
    response = office.post(address(), {"table": SimpleUploadedFile("odd.csv", content)})

    assert response.status_code == 422
    assert words in response.content.decode()
    assert (left(folder), SheetImport.objects.count()) == ([], 0)


def test_no_file_at_all_is_refused(office, folder):
    response = office.post(address(), {})

    assert response.status_code == 422
    assert "Choose a file first." in response.content.decode()


def test_name_of_a_file_is_only_ever_a_name(office, folder):
    office.post(address(), {"table": table(100, "../../<img src=x>.csv")})

    sheet = SheetImport.objects.get()
    assert sheet.file_name == "<img src=x>.csv"
    assert sheet.file.name.startswith("imports/")
    assert "<img" not in office.get(reverse("sheet", args=[sheet.pk])).content.decode()


def test_disk_that_is_full_is_said(office, folder, monkeypatch):
    import errno

    def full(self, chunk):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(uploads.LargeUpload, "take_in", full)

    response = office.post(address(), {"table": table(100)})

    assert response.status_code == 422
    assert "disk is full" in response.content.decode()
    assert (left(folder), SheetImport.objects.count()) == ([], 0)


def test_upload_that_breaks_off_leaves_nothing(folder):
    part = uploads.LargeUpload(sheet_files.FOLDER, "suppliers.csv", "text/csv")
    part.take_in(HEADS)
    assert len(left(folder)) == 1

    part.close()

    assert left(folder) == []
