"""An archive holds everything, comes back equal, and is refused when anything about it is wrong."""

from __future__ import annotations

import errno
import hashlib
import json
import os
import zipfile
from datetime import UTC, datetime
from decimal import Decimal
from io import StringIO
from pathlib import Path

import pytest
from django.apps import apps
from django.core.management import CommandError, call_command
from django.db import connection
from PIL import Image

from catalog.models import Component
from fitouts.models import Customer, Fitout, User, VehiclePhoto, Workshop
from fitouts.services import photos
from quoting.archive import ArchiveRefused, reading, restoring, writing
from quoting.archive.tables import APPS, LEFT_OUT, tables, tidy
from quoting.models import CircuitChange, Document, Snapshot
from quoting.services import designs, erasure, quotes, snapshots
from tests.factories.course import issue
from tests.factories.jobs import make_fitout, make_snapshot, make_user, make_workshop

MADE = datetime(2026, 11, 25, 8, 30, tzinfo=UTC)
NAME = "Kestrel Flat Auto Electrical"


@pytest.fixture
def shop(worked_out, estimator, files, tmp_path):
    """A workshop with a job, a quote that was issued, a photo and a paper's file."""
    revision = issue(worked_out, estimator)
    paper = Document.objects.get(snapshot=revision.snapshot)
    (files / "papers").mkdir(parents=True)
    (files / "papers" / "00000001-aaaa.pdf").write_bytes(b"%PDF-1.7 a paper")
    Document.objects.filter(pk=paper.pk).update(file="papers/00000001-aaaa.pdf", sha256="a" * 64, pages=1)
    picture = tmp_path / "bay.png"
    Image.new("RGB", (60, 40), "teal").save(picture)
    from django.core.files.uploadedfile import SimpleUploadedFile

    photos.add_photo(worked_out.vehicle, SimpleUploadedFile("bay.png", picture.read_bytes()), by=estimator)
    return worked_out


@pytest.fixture
def archive(shop, tmp_path) -> Path:
    return writing.write(tmp_path / "kept" / "shop.zip", made_at=MADE).path


def everything() -> dict[str, str]:
    """A checksum of the rows of each table."""
    from quoting.archive.tables import lines

    return {m._meta.label_lower: hashlib.sha256(b"".join(lines(m))).hexdigest() for m in tables()}


def test_every_table_of_the_apps_is_archived_or_left_out_for_a_reason():
    ours = {m._meta.label_lower for m in apps.get_models(include_auto_created=True) if m._meta.app_label in APPS}

    assert {m._meta.label_lower for m in tables()} == ours - set(LEFT_OUT)
    assert set(LEFT_OUT) <= ours
    assert "fitouts.historicalvehicle" in {m._meta.label_lower for m in tables()}


def test_a_workshop_comes_back_equal(archive, shop, files):
    before, contents = everything(), reading.check(archive)
    photo = VehiclePhoto.objects.get()
    Component.objects.update(cost=Decimal("1"))
    Customer.objects.create(name="Somebody after the backup")
    (files / photo.file.name).unlink()

    restored = restoring.restore(contents, replace=NAME)

    assert everything() == before
    assert (restored.workshop, restored.files) == (NAME, 2)
    assert restored.rows == contents.rows > 500
    with photo.file.open("rb") as file:
        assert file.read(2) == b"\xff\xd8"
    assert (files / "papers" / "00000001-aaaa.pdf").read_bytes() == b"%PDF-1.7 a paper"


def test_an_archive_made_after_the_restore_has_the_same_content(archive, shop, tmp_path):
    restoring.restore(reading.check(archive), replace=NAME)

    again = writing.write(tmp_path / "again.zip", made_at=datetime(2027, 1, 1, tzinfo=UTC))

    assert again.content_sha256 == reading.check(archive).manifest["content_sha256"]


def test_frozen_records_are_frozen_again_after_a_restore(archive, shop):
    restoring.restore(reading.check(archive), replace=NAME)

    snapshot = Snapshot.objects.get()
    assert snapshots.verify(snapshot)
    with pytest.raises(Exception, match="never changed or deleted"):
        Snapshot.objects.filter(pk=snapshot.pk).update(kind="design")


def test_numbers_go_on_after_the_highest(archive, shop):
    highest = Customer.objects.order_by("-pk").values_list("pk", flat=True)[0]

    restoring.restore(reading.check(archive), replace=NAME)

    assert Customer.objects.create(name="New").pk > highest


@pytest.mark.parametrize("given", ["", "Kestrel Flat", "kestrel flat auto electrical"])
def test_nothing_is_overwritten_unasked(archive, shop, given):
    before = everything()

    with pytest.raises(ArchiveRefused, match=r"holds the workshop “Kestrel Flat Auto Electrical”\. Nothing was"):
        restoring.restore(reading.check(archive), replace=given)

    assert everything() == before


def test_a_failure_half_way_changes_nothing(archive, shop, monkeypatch):
    Customer.objects.create(name="Somebody after the backup")
    before, contents = everything(), reading.check(archive)
    real = restoring._insert

    def stop(model, *args):
        if model._meta.label_lower == "quoting.snapshot":
            raise OSError(errno.ENOSPC, "No space left on device")
        real(model, *args)

    monkeypatch.setattr(restoring, "_insert", stop)

    with pytest.raises(OSError, match="No space"):
        restoring.restore(contents, replace=NAME)

    assert everything() == before
    with pytest.raises(Exception, match="never changed or deleted"):
        Snapshot.objects.update(kind="design")


def test_files_of_the_workshop_that_was_here_are_set_aside(archive, shop, files):
    contents = reading.check(archive)
    (files / "papers" / "00000009-bbbb.pdf").write_bytes(b"later")

    restored = restoring.restore(contents, replace=NAME)

    assert [p.name for p in restored.set_aside.rglob("*.pdf")] == ["00000009-bbbb.pdf"]
    assert not (files / "papers" / "00000009-bbbb.pdf").exists()


def test_a_damaged_file_on_the_disk_is_put_right(archive, shop, files):
    (files / "papers" / "00000001-aaaa.pdf").write_bytes(b"%PDF-1.7 a scratch")

    restoring.restore(reading.check(archive), replace=NAME)

    assert (files / "papers" / "00000001-aaaa.pdf").read_bytes() == b"%PDF-1.7 a paper"


def test_somebody_erased_after_the_backup_stays_erased(archive, shop, estimator):
    contents = reading.check(archive)
    name = shop.customer.name
    frozen = Snapshot.objects.count()
    quotes.withdraw(shop.quote.revisions.get())
    type(shop).objects.filter(pk=shop.pk).update(stage="cancelled")
    erasure.erase(shop.customer, by=estimator)

    # in the archive the job is under way still; that keeps nobody from being erased again
    restored = restoring.restore(contents, replace=NAME)

    assert restored.erased_again == 1
    assert not Customer.objects.filter(name=name).exists()
    assert Snapshot.objects.count() == frozen
    assert snapshots.read(Snapshot.objects.get())[1] is None


def test_a_customer_of_another_workshop_with_the_same_number_is_left_alone(archive, shop, estimator):
    contents = reading.check(archive)
    name = shop.customer.name
    quotes.withdraw(shop.quote.revisions.get())
    type(shop).objects.filter(pk=shop.pk).update(stage="cancelled")
    erasure.erase(shop.customer, by=estimator)
    Customer.objects.update(created_at=MADE)  # who was erased here was entered at another moment: somebody else

    restored = restoring.restore(contents, replace=NAME)

    assert restored.erased_again == 0
    assert Customer.objects.get().name == name


def test_a_long_table_can_be_stopped_in_the_middle(archive, monkeypatch):
    """A small file may unpack to very much; the worker that reads it must hear of a cancel, and keep its lease."""
    signs: list[int] = []
    reading.check(archive, tick=lambda done, of: signs.append(done))
    entries = len(signs)
    monkeypatch.setattr(reading, "CHUNK", 1000)
    monkeypatch.setattr(reading, "SIGN_EVERY", 5000)
    signs.clear()

    reading.check(archive, tick=lambda done, of: signs.append(done))

    assert len(signs) > entries + 10


def test_a_missing_file_is_told_and_does_not_stop_the_backup(shop, files, tmp_path):
    (files / "papers" / "00000001-aaaa.pdf").unlink()

    written = writing.write(tmp_path / "kept.zip", made_at=MADE)

    assert written.missing == ("papers/00000001-aaaa.pdf",)
    assert reading.check(written.path).manifest["missing"] == ["papers/00000001-aaaa.pdf"]


def test_a_full_disk_leaves_no_half_archive(shop, tmp_path, monkeypatch):
    def full(number):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)

    with pytest.raises(OSError, match="No space"):
        writing.write(tmp_path / "kept" / "shop.zip", made_at=MADE)

    assert list((tmp_path / "kept").iterdir()) == []


def test_one_workshop_gives_one_archive_byte_for_byte(shop, tmp_path):
    one, two = (writing.write(tmp_path / f"{n}.zip", made_at=MADE) for n in "ab")

    assert one.sha256 == two.sha256


# --- Damaged, forged, foreign ---------------------------------------------------------------------------


def _rewrite(archive: Path, change) -> None:
    """Write an archive anew after ``change(entries)``; its manifest's own checksum is made right again."""
    with zipfile.ZipFile(archive) as old:
        entries = {name: old.read(name) for name in old.namelist()}
    change(entries)
    if "manifest.json" in entries and entries.get("manifest.sha256", b"kept") != b"kept":
        entries["manifest.sha256"] = hashlib.sha256(entries["manifest.json"]).hexdigest().encode()
    with zipfile.ZipFile(archive, "w", zipfile.ZIP_DEFLATED) as new:
        for name, data in entries.items():
            new.writestr(name, data)


def _manifest(change):
    def apply(entries):
        manifest = json.loads(entries["manifest.json"])
        change(manifest, entries)
        kept = [*manifest["tables"], *manifest["files"]]
        manifest["content_sha256"] = hashlib.sha256(
            "".join(f"{e['name']} {e['sha256']}\n" for e in kept).encode()
        ).hexdigest()
        entries["manifest.json"] = json.dumps(manifest).encode()

    return apply


def _drop(name):
    return lambda entries: entries.pop(name)


def _set(name, data):
    return lambda entries: entries.__setitem__(name, data)


def _table(manifest, name):
    return next(t for t in manifest["tables"] if t["name"] == name)


def _replace_rows(name, change):
    """Forge the rows of a table with checksums that agree."""

    def apply(manifest, entries):
        entry = f"rows/{name}.jsonl"
        entries[entry] = change(entries[entry])
        table = _table(manifest, name)
        table["sha256"], table["rows"] = hashlib.sha256(entries[entry]).hexdigest(), entries[entry].count(b"\n")

    return _manifest(apply)


def _file_called(name):
    def apply(manifest, entries):
        data = b"out of here"
        manifest["files"].append({"name": name, "size": len(data), "sha256": hashlib.sha256(data).hexdigest()})
        entries[f"files/{name}"] = data

    return _manifest(apply)


COMPONENTS = "rows/catalog.component.jsonl"
WRONG = {
    "a row changed": (
        lambda e: e.update({COMPONENTS: e[COMPONENTS].replace(b"1", b"2", 1)}),
        "catalog.component.jsonl” does not agree with its checksum",
    ),
    "a table missing": (_drop("rows/fitouts.vehicle.jsonl"), "vehicle.jsonl” is missing"),
    "a file missing": (_drop("files/papers/00000001-aaaa.pdf"), "aaaa.pdf” is missing"),
    "a file changed": (_set("files/papers/00000001-aaaa.pdf", b"%PDF-1.7 a forgery"), "aaaa.pdf” does not agree"),
    "something unlisted": (_set("rows/auth.group.jsonl", b"[]\n"), "“rows/auth.group.jsonl”, which it does not list"),
    "no manifest": (_drop("manifest.json"), "it has no manifest"),
    "no checksum of the manifest": (_drop("manifest.sha256"), "has no manifest|checksum of its manifest"),
    "manifest changed": (
        lambda e: e.update({"manifest.json": e["manifest.json"] + b" ", "manifest.sha256": b"kept"}),
        "checksum of its manifest",
    ),
    "manifest no JSON": (_set("manifest.json", b"{"), "manifest cannot be read"),
    "manifest a list": (_set("manifest.json", b"[]"), "manifest cannot be read"),
    "rows counted wrong": (
        _manifest(lambda m, e: _table(m, "fitouts.vehicle").update(rows=0)),
        "vehicle.jsonl” does not agree",
    ),
    "another format": (_manifest(lambda m, e: m.update(format="other/9")), "format other/9; this program reads"),
    "leads out of its folder": (_file_called("../../workshop.sqlite3"), "leads out of its folder"),
    "an absolute name": (_file_called("/etc/passwd"), "leads out of its folder"),
    "a hidden name": (_file_called("papers/.htaccess"), "leads out of its folder"),
    "a backslash": (_file_called("papers\\x.pdf"), "leads out of its folder"),
    "from a newer version": (
        _manifest(lambda m, e: m["migrations"].append(["quoting", "0999_later"])),
        "newer version .it knows “quoting.0999_later”",
    ),
    "an unknown table": (
        _manifest(lambda m, e: _table(m, "fitouts.markup").update(name="fitouts.wheel")),
        "wheel.jsonl” is missing|no place for “fitouts.wheel”|does not list",
    ),
    "an unknown column": (
        _manifest(lambda m, e: _table(m, "fitouts.taxrate")["columns"].__setitem__(1, "colour")),
        "no place for “fitouts.taxrate.colour”",
    ),
    "a value no column can hold": (
        _replace_rows("fitouts.taxrate", lambda rows: rows.replace(b'"0.10000"', b'"ten"')),
        "Table fitouts.taxrate, row 1 cannot be read",
    ),
    "a row against a rule": (
        _replace_rows("fitouts.taxrate", lambda rows: rows.replace(b'"0.10000"', b'"7.00000"')),
        "Table fitouts.taxrate, after row 0: the database refuses it",
    ),
    "a row short of a value": (
        _replace_rows("fitouts.taxrate", lambda rows: rows.replace(b'"0.10000",', b"")),
        "Table fitouts.taxrate, row 1 cannot be read",
    ),
    "a row that points nowhere": (
        _replace_rows("fitouts.customer", lambda rows: b""),
        "points at one that is not in the archive",
    ),
    "a key twice": (
        _replace_rows("fitouts.customer", lambda rows: rows + rows),
        "Table fitouts.customer, after row 0: the database refuses it",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", WRONG)
def test_a_damaged_or_forged_archive_is_refused_with_nothing_changed(archive, shop, case):
    change, sentence = WRONG[case]
    _rewrite(archive, change)
    before = everything()

    with pytest.raises(ArchiveRefused, match=sentence):
        restoring.restore(reading.check(archive), replace=NAME)

    assert everything() == before


@pytest.mark.parametrize("share", [0.02, 0.3, 0.5, 0.8, 0.999])
def test_an_archive_cut_short_is_refused(archive, share):
    whole = archive.read_bytes()
    archive.write_bytes(whole[: int(len(whole) * share)])

    with pytest.raises(ArchiveRefused, match="damaged or is not one of Loomwright's"):
        reading.check(archive)


def test_one_wrong_bit_anywhere_in_the_content_is_found(archive):
    whole = archive.read_bytes()
    with zipfile.ZipFile(archive) as zipped:
        end = max(i.header_offset + i.compress_size for i in zipped.infolist())
        inside = [
            i.header_offset + 30 + len(i.filename) + 20 + i.compress_size // 2
            for i in zipped.infolist()
            if i.compress_size > 200
        ]

    for place in inside:
        assert place < end
        archive.write_bytes(whole[:place] + bytes([whole[place] ^ 1]) + whole[place + 1 :])
        with pytest.raises(ArchiveRefused):
            reading.check(archive)


@pytest.mark.parametrize("data", [b"", b"PK", b"no archive at all", b"\x00" * 500])
def test_what_is_no_archive_is_refused(tmp_path, data):
    path = tmp_path / "x.zip"
    path.write_bytes(data)

    with pytest.raises(ArchiveRefused):
        reading.check(path)


def test_an_archive_from_before_a_column_takes_its_default(archive, shop):
    def older(manifest, entries):
        table = _table(manifest, "fitouts.tripstop")
        at = table["columns"].index("hitched")
        del table["columns"][at]
        rows = [json.loads(line) for line in entries["rows/fitouts.tripstop.jsonl"].splitlines()]
        assert rows
        for row in rows:
            del row[at]
        text = b"".join(json.dumps(row).encode() + b"\n" for row in rows)
        entries["rows/fitouts.tripstop.jsonl"] = text
        table["sha256"] = hashlib.sha256(text).hexdigest()

    _rewrite(archive, _manifest(older))

    restoring.restore(reading.check(archive), replace=NAME)

    assert set(shop.stops.values_list("hitched", flat=True)) == {True}


def test_an_archive_from_before_circuits_were_settled_by_hand_restores(archive, shop):
    """Without the tables of hand changes, outputs, inputs, existing circuits and what is watched: nothing of them."""
    newer = (
        "quoting.circuitchange", "quoting.outputplace", "quoting.inputplace", "quoting.existingcircuit",
        "fitouts.sensepoint",
    )  # fmt: skip

    def older(manifest, entries):
        names = {t["name"] for t in manifest["tables"]}
        for name in newer:
            app, _dot, model = name.partition(".")
            for gone in (name, f"{app}.historical{model}"):
                assert gone in names
                del entries[f"rows/{gone}.jsonl"]
        manifest["tables"] = [t for t in manifest["tables"] if t["name"].replace(".historical", ".") not in newer]

    _rewrite(archive, _manifest(older))
    CircuitChange.objects.create(
        fitout=shop, circuit="engine_feed", name="Engine feed", values={"run_m": 4.0}, reason="as measured"
    )

    restoring.restore(reading.check(archive), replace=NAME)

    assert not CircuitChange.objects.exists()  # the archive has none
    assert designs.work_out(Fitout.objects.get(pk=shop.pk), by=None).number >= 1


@pytest.mark.parametrize(
    ("value", "one_form"),
    [(-0.0, 0.0), (1e22, 10**22), (2.5, 2.5), (1e-7, 1e-7), ({"b": -0.0, "a": [1e16]}, {"b": 0.0, "a": [10**16]})],
)
def test_a_number_has_one_form(value, one_form):
    assert json.dumps(tidy(value)) == json.dumps(one_form)


# --- Commands -------------------------------------------------------------------------------------------


def test_the_commands_say_what_they_did(shop, settings, tmp_path):
    settings.HOME = tmp_path / "home"
    said = StringIO()

    call_command("backup", str(tmp_path / "out.zip"), stdout=said)
    call_command("restore", str(tmp_path / "out.zip"), "--replace", NAME, stdout=said)

    words = said.getvalue()
    assert "out.zip: " in words
    assert "every checksum is right" in words
    assert "What was here is kept in" in words
    assert f"“{NAME}” is back" in words
    kept = list((tmp_path / "home" / "archives").glob("*.zip"))
    assert len(kept) == 1
    assert reading.check(kept[0]).workshop == NAME


def test_a_backup_never_overwrites(shop, tmp_path):
    target = tmp_path / "out.zip"
    target.write_bytes(b"mine")

    with pytest.raises(CommandError, match="there already and is not overwritten"):
        call_command("backup", str(target))

    assert target.read_bytes() == b"mine"


def test_restoring_without_a_name_over_a_workshop_is_refused_by_the_command(archive, shop, settings, tmp_path):
    settings.HOME = tmp_path / "home"

    with pytest.raises(CommandError, match="To replace it, give its name"):
        call_command("restore", str(archive), stdout=StringIO())


def test_an_empty_database_takes_an_archive_without_a_name(archive, shop):
    contents = reading.check(archive)
    before = everything()
    with restoring.unlocked():
        restoring._empty()
    assert restoring.workshop_here() == ""

    restoring.restore(contents)

    assert everything() == before


def test_rows_are_archived_whoever_made_them(db, files, tmp_path):
    """Odd characters, empty texts and none at all come back as they were."""
    Workshop.objects.filter(name=NAME).delete()
    make_workshop(terms="Line one\nLine two\r\n“quoted” \u2028 Ω ½ 漢")
    make_user(User.Role.MANAGER)
    make_snapshot(make_fitout("26-0777", title="Ünïcode \\ \" ' %s {x}"))
    before = everything()
    written = writing.write(tmp_path / "kept.zip", made_at=MADE)

    restoring.restore(reading.check(written.path), replace=NAME)

    assert everything() == before
    assert connection.vendor in ("sqlite", "postgresql")
