"""`manage.py start`: opens, answers, and leaves no process behind however it ends."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.services.prepared import migrated
from tests.services.running import ROOT, Shop, free_port, wait_until

pytestmark = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads /proc, which only Linux has")


@pytest.fixture
def port() -> int:
    return free_port()


@pytest.fixture
def empty(tmp_path):
    """A workshop never opened: nothing but its folder."""
    yield from _kept(Shop(tmp_path / "home"))


@pytest.fixture
def shop(tmp_path, tmp_path_factory):
    """One whose database was made before."""
    yield from _kept(Shop(migrated(tmp_path_factory, tmp_path / "home")))


def _kept(shop: Shop) -> Iterator[Shop]:
    shop.home.mkdir(exist_ok=True)
    yield shop
    shop.close()
    for pid in family(shop.home):
        os.kill(pid, signal.SIGKILL)


def family(home: Path) -> list[int]:
    """Processes that run for this workshop, by the folder in their environment."""
    wanted = f"LOOMWRIGHT_HOME={home}".encode()
    found = []
    for process in Path("/proc").glob("[0-9]*"):
        try:
            if wanted in (process / "environ").read_bytes().split(b"\0") and b"Z" not in _state(process):
                found.append(int(process.name))
        except OSError:
            continue
    return sorted(found)


def _state(process: Path) -> bytes:
    return (process / "stat").read_bytes().rpartition(b")")[2].split()[0]


def opened(shop: Shop, port: int) -> subprocess.Popen[bytes]:
    process = shop.start("manage.py", "start", "--no-open", "--port", str(port), log="start.log")
    shop.wait_until_open(process, "start.log")
    assert f"Loomwright is open at http://127.0.0.1:{port}" in shop.log("start.log")
    return process


def page(port: int) -> str:
    with urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=20) as response:
        return response.read().decode()


def ends(process: subprocess.Popen[bytes], shop: Shop) -> None:
    process.wait(timeout=30)
    wait_until(lambda: family(shop.home) == [], 15, why=lambda: f"left: {family(shop.home)}")


def test_first_run_opens_and_control_c_leaves_no_process(empty, port):
    process = opened(empty, port)

    text = page(port)
    code = (empty.home / "first_run_code").read_text()
    running = family(empty.home)
    os.kill(process.pid, signal.SIGINT)
    ends(process, empty)

    assert "<h1" in text
    assert f"enter the code {code}" in empty.log("start.log")
    assert len(running) == 7  # supervisor, gunicorn with its two, two workers, sweeper
    assert process.returncode == 0
    assert empty.log("start.log").endswith("Loomwright is closed.\n")
    assert empty.home.stat().st_mode & 0o777 == 0o700
    assert [path.name for path in empty.home.iterdir() if path.is_file() and path.stat().st_mode & 0o077] == [
        "start.log"
    ]


def test_killing_the_supervisor_takes_all_along(shop, port):
    process = opened(shop, port)

    os.kill(process.pid, signal.SIGKILL)

    ends(process, shop)


def test_second_start_is_quick_and_does_not_prepare_again(empty, port):
    began = time.monotonic()
    first = opened(empty, port)
    first_s = time.monotonic() - began
    os.kill(first.pid, signal.SIGTERM)
    ends(first, empty)
    before = (empty.home / "static/.collected").stat().st_mtime_ns
    (empty.home / "start.log").unlink()

    began = time.monotonic()
    second = opened(empty, port)
    second_s = time.monotonic() - began
    os.kill(second.pid, signal.SIGTERM)
    ends(second, empty)

    assert "Preparing the database" not in empty.log("start.log")
    assert (empty.home / "static/.collected").stat().st_mtime_ns == before
    assert second_s < first_s


def test_child_that_dies_is_started_again(shop, port):
    process = opened(shop, port)
    worker = next(pid for pid in family(shop.home) if b"heavy" in Path(f"/proc/{pid}/cmdline").read_bytes())

    os.kill(worker, signal.SIGKILL)

    line = "The heavy worker stopped (code -9) and is started again."
    wait_until(lambda: line in shop.log("start.log"), 10, why=lambda: shop.log("start.log"))
    wait_until(lambda: len(family(shop.home)) == 7, 10)
    assert worker not in family(shop.home)
    os.kill(process.pid, signal.SIGINT)
    ends(process, shop)


def test_taken_port_is_said_at_once_and_by_whom(empty, port):
    with socket.create_server(("127.0.0.1", port)):
        process = empty.start("manage.py", "start", "--no-open", "--port", str(port), log="start.log")
        process.wait(timeout=30)

    said = re.sub(r"\s+", " ", empty.log("start.log"))
    assert process.returncode == 1
    assert f"Port {port} is taken by process {os.getpid()}" in said
    assert f"choose another port: manage.py start --port {port + 1}" in said
    assert not (empty.home / "workshop.sqlite3").exists()


def test_one_folder_opens_once(shop, port):
    process = opened(shop, port)

    second = shop.start("manage.py", "start", "--no-open", "--port", str(port + 1), log="second.log")
    second.wait(timeout=30)
    os.kill(process.pid, signal.SIGINT)
    ends(process, shop)

    assert f"already open at http://127.0.0.1:{port}. Close it there first" in shop.log("second.log")


HANG = """
import json
from quoting.services import background
from django.db import transaction
with transaction.atomic():
    job = background.enqueue(kind="hang", payload={}, by=None)
print(json.dumps({"job": job.pk}))
"""
LOOK = """
import json
from quoting.models import BackgroundJob
print(json.dumps(BackgroundJob.objects.values("state", "attempts", "reason").get()))
"""


def test_hung_worker_is_ended_when_its_job_outran_the_lease(tmp_path, tmp_path_factory, port):
    # A settings module of the test's own, beside the real one: it adds work that never ends.
    (tmp_path / "hanging.py").write_text(
        "from fitouts.config.settings import *\nCELERY_IMPORTS = ['hangs']\nJOB_ATTEMPTS = 2\nJOB_LEASE_S = 3\n"
    )
    (tmp_path / "hangs.py").write_text(
        "import time\nfrom celery.signals import worker_ready\n\n"
        "@worker_ready.connect\n"
        "def register(**kwargs):\n"
        "    from quoting.services.background import handler\n"
        "    handler('hang')(lambda job: time.sleep(3600))\n"
    )
    path = f"{tmp_path}{os.pathsep}{ROOT}"
    home = migrated(tmp_path_factory, tmp_path / "home")
    shop = Shop(home, DJANGO_SETTINGS_MODULE="hanging", PYTHONPATH=path)
    try:
        process = opened(shop, port)
        shop.python(HANG)
        wait_until(lambda: shop.python(LOOK)["state"] == "failed", 60, why=lambda: shop.log("start.log"))
        seen = shop.python(LOOK)
        again = "The documents worker stopped (code -9) and is started again."
        wait_until(lambda: shop.log("start.log").count(again) == 2, 20, why=lambda: shop.log("start.log"))
        shop.ask_no_more()
        os.kill(process.pid, signal.SIGINT)
        ends(process, shop)
    finally:
        shop.close()

    assert seen == {
        "state": "failed",
        "attempts": 2,
        "reason": "Stopped 2 times without an answer; the worker was ended or hung. Try again later.",
    }
    assert shop.log("start.log").count("hangs on job 1 and is ended.") == 2
    assert shop.log("start.log").count(again) == 2
