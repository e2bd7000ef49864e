"""Back up, destroy, restore, compare every row and file; from SQLite to PostgreSQL and back; killed half way."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests import needs
from tests.services import prepared
from tests.services.running import ROOT, Shop

NAME = "Kestrel Flat Auto Electrical"
FILL = """
import json
from PIL import Image
from django.core.files.uploadedfile import SimpleUploadedFile
from fitouts.models import User, Vehicle
from fitouts.services import photos
by = User.objects.filter(role="manager").first()
for number, vehicle in enumerate(Vehicle.objects.all()[:3]):
    import io
    out = io.BytesIO()
    Image.new("RGB", (80, 60), (number * 60, 90, 120)).save(out, "PNG")
    photos.add_photo(vehicle, SimpleUploadedFile("p.png", out.getvalue()), by=by, caption=f"Bay {number}")
print(json.dumps({"photos": 3}))
"""
WORKS = """
import json
from quoting.models import Document, Snapshot
from quoting.services import documents, snapshots
from fitouts.models import Fitout
papers = [len(documents.content(d)) > 1000 for d in Document.objects.exclude(file="")]
print(json.dumps({"papers": papers, "frozen": [snapshots.verify(s) for s in Snapshot.objects.all()],
                  "jobs": Fitout.objects.count()}))
"""
KILL = """
import os, signal
from pathlib import Path
from quoting.archive import reading, restoring
restoring._must_be_equal = lambda contents: os.kill(os.getpid(), signal.SIGKILL)
restoring.restore(reading.check(Path({path!r})), replace={name!r})
"""

BUSY = """
import json, threading, time
from pathlib import Path
from django.db import connection
from django.utils import timezone
from fitouts.models import Customer
from quoting.archive import reading, writing
stop, written = threading.Event(), []
def write():
    while not stop.is_set():
        Customer.objects.create(name=f"Meanwhile {{len(written)}}")
        written.append(1)
        time.sleep(0.005)
    connection.close()
thread = threading.Thread(target=write)
thread.start()
while not written:
    time.sleep(0.01)
begun = len(written)
out = writing.write(Path({path!r}), made_at=timezone.now(), tick=lambda done, of: Customer.objects.count())
ended = len(written)
stop.set(); thread.join()
contents = reading.check(out.path)
rows = [r for r in contents.lines("fitouts.customer") if any(str(v).startswith("Meanwhile") for v in r)]
print(json.dumps({{"begun": begun, "ended": ended, "kept": len(rows)}}))
"""


@pytest.fixture
def postgresql(migrated_postgresql):
    """A database of its own, dropped again."""
    with prepared.postgresql(needs.database_url(), migrated_postgresql) as address:
        yield address


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """A demo workshop with papers made and photos, and its archive."""
    shop = Shop(prepared.demo(tmp_path_factory, tmp_path_factory.mktemp("demo") / "home"))
    shop.python(FILL)
    shop.ask_no_more()
    archive = shop.home.parent / "demo.zip"
    shop.manage("backup", str(archive))
    return shop, archive


@pytest.fixture
def new(tmp_path_factory) -> Iterator[Callable[..., Shop]]:
    """Open an empty workshop in a folder: ``new(tmp_path / "home")``."""
    shops: list[Shop] = []

    def make(home: Path, **environment: str) -> Shop:
        shops.append(Shop(prepared.migrated(tmp_path_factory, home), **environment))
        return shops[-1]

    yield make
    for shop in shops:
        shop.close()


def manifest(archive: Path) -> dict:
    with zipfile.ZipFile(archive) as zipped:
        return json.loads(zipped.read("manifest.json"))


def rows_and_files(archive: Path) -> dict[str, str]:
    """Checksum of every table and file."""
    found = manifest(archive)
    return {entry["name"]: entry["sha256"] for entry in [*found["tables"], *found["files"]]}


def restored(shop: Shop, archive: Path, name: str) -> Path:
    """Restore into an empty shop and back it up again."""
    shop.manage("restore", str(archive), timeout=200)
    shop.manage("check", "--database", "default")
    again = shop.home.parent / name
    shop.manage("backup", str(again))
    return again


def test_destroyed_and_restored_every_row_and_file_is_equal(demo, new, tmp_path):
    _shop, archive = demo
    fresh = new(tmp_path / "home")

    again = restored(fresh, archive, "again.zip")

    assert rows_and_files(again) == rows_and_files(archive)
    assert len(manifest(archive)["files"]) >= 4
    assert sum(t["rows"] for t in manifest(archive)["tables"]) > 1000
    works = fresh.python(WORKS)
    assert all(works["papers"])
    assert all(works["frozen"])
    assert works["jobs"] > 0


def test_the_same_archive_moves_to_postgresql_and_back(demo, new, postgresql, tmp_path):
    _shop, archive = demo
    there = new(tmp_path / "there", DATABASE_URL=postgresql)

    moved = restored(there, archive, "moved.zip")
    back = restored(new(tmp_path / "back"), moved, "back.zip")

    assert rows_and_files(moved) == rows_and_files(archive)
    assert rows_and_files(back) == rows_and_files(archive)
    works = there.python(WORKS)
    assert all(works["papers"])
    assert all(works["frozen"])


def test_a_workshop_on_postgresql_is_replaced_only_by_name(demo, new, postgresql, tmp_path):
    _shop, archive = demo
    there = new(tmp_path / "there", DATABASE_URL=postgresql)
    there.manage("restore", str(archive), timeout=200)

    refused = subprocess.run(
        [sys.executable, str(ROOT / "manage.py"), "restore", str(archive)],
        env=there.environment, cwd=ROOT, capture_output=True, text=True, timeout=120,
    )  # fmt: skip
    assert refused.returncode == 1
    assert f"holds the workshop “{NAME}”" in refused.stderr

    said = there.manage("restore", str(archive), "--replace", NAME, timeout=200)

    assert "What was here is kept in" in said
    again = tmp_path / "again.zip"
    there.manage("backup", str(again))
    assert rows_and_files(again) == rows_and_files(archive)


@pytest.mark.parametrize("database", ["sqlite", "postgresql"])
def test_killed_half_way_the_workshop_that_was_here_is_whole(demo, new, request, tmp_path, database):
    _shop, archive = demo
    environment = {"DATABASE_URL": request.getfixturevalue("postgresql")} if database == "postgresql" else {}
    here = new(tmp_path / "home", **environment)
    here.manage("restore", str(archive), timeout=200)
    here.python(
        "import json\nfrom fitouts.models import Customer\n"
        "Customer.objects.create(name='After the backup')\nprint(json.dumps({}))"
    )
    before = tmp_path / "before.zip"
    here.manage("backup", str(before))

    code = "import django; django.setup()\n" + KILL.format(path=str(archive), name=NAME)
    killed = subprocess.run([sys.executable, "-c", code], env=here.environment, cwd=ROOT, timeout=200, check=False)

    assert killed.returncode == -signal.SIGKILL
    after = tmp_path / "after.zip"
    here.manage("backup", str(after))
    assert rows_and_files(after) == rows_and_files(before)
    here.manage("check", "--database", "default")


def test_people_go_on_working_while_a_backup_is_made(demo, tmp_path):
    shop, _archive = demo
    home = tmp_path / "home"
    shutil.copytree(shop.home, home)
    busy = Shop(home)
    counted = busy.python(BUSY.format(path=str(tmp_path / "busy.zip")))
    busy.close()

    assert counted["ended"] > counted["begun"]  # nobody waited for the backup to end
    assert counted["begun"] - 1 <= counted["kept"] <= counted["ended"]  # one moment in between


def test_the_archive_is_its_owners_alone(demo):
    _shop, archive = demo

    assert os.stat(archive).st_mode & 0o777 == 0o600
