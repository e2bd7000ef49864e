"""Workshops made once for the whole run, by whichever process of it needs them first, and copied by folder.

To migrate an empty database takes seconds and to fill the demo most of a minute; a copy takes neither.
"""

from __future__ import annotations

import fcntl
import os
import re
import shutil
import signal
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg
import pytest

from tests.services.running import Shop, free_port, wait_until

WAITING = """
import json
from quoting.models import BackgroundJob, Document
print(json.dumps({"waiting": BackgroundJob.objects.filter(state__in=["queued", "running"]).count(),
                  "made": Document.objects.exclude(file="").count()}))
"""
STATIC = """
import json
from pathlib import Path
from django.conf import settings
from django.core.management import call_command
from fitouts import opening
opening.collect_static_when_changed(Path(settings.STATIC_ROOT))
call_command("prepare_papers")
print(json.dumps({}))
"""


def migrated(factory: pytest.TempPathFactory, home: Path) -> Path:
    """``home`` becomes the folder of an empty workshop, all but opened."""
    return _copied(factory, "migrated", _migrate, home)


def demo(factory: pytest.TempPathFactory, home: Path) -> Path:
    """``home`` becomes the folder of the demo as ``start --demo`` left it, its papers made and closed again."""
    return _copied(factory, "demo", _open_the_demo, home)


def passwords(home: Path) -> dict[str, str]:
    """Of the demo's people, as ``start --demo`` printed them."""
    accounts = re.findall(
        r"^(\w+) +(\S+) +(?:manager|estimator|technician)$", (home / "start.log").read_text(), re.MULTILINE
    )
    return dict(accounts)


def _migrate(home: Path) -> None:
    shop = Shop(home)
    shop.manage("migrate", "-v", "0", timeout=240)
    shop.python(STATIC)
    shop.close()


def _open_the_demo(home: Path) -> None:
    shop = Shop(home)
    words = ("--demo", "--no-open", "--port", str(free_port()))
    process = shop.start("manage.py", "start", *words, log="start.log")
    try:
        shop.wait_until_open(process, "start.log", 240)
        wait_until(lambda: shop.python(WAITING)["waiting"] == 0, 120, why=lambda: shop.log("start.log"))
        assert shop.python(WAITING)["made"] > 0
        process.send_signal(signal.SIGINT)
        process.wait(timeout=60)
        assert "Loomwright is closed." in shop.log("start.log")
    finally:
        shop.close()


def _copied(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], None], home: Path) -> Path:
    shutil.copytree(_once(factory, name, make), home, dirs_exist_ok=True)
    home.chmod(0o700)
    return home


def _once(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], None]) -> Path:
    """The folder ``name`` of this run; whoever asks first makes it, and others wait for that."""
    run = factory.getbasetemp()
    run = run.parent if "PYTEST_XDIST_WORKER" in os.environ else run
    whole = run / f"{name}-whole"
    with (run / f"{name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not whole.exists():
            making = run / f"{name}-making"
            shutil.rmtree(making, ignore_errors=True)
            making.mkdir(mode=0o700)
            make(making)
            making.rename(whole)
    return whole


@contextmanager
def postgresql(server: str, like: str = "template0") -> Iterator[str]:
    """The address of a database of our own, made as a copy of ``like`` and dropped again."""
    name = f"drill_{uuid.uuid4().hex[:12]}"
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{name}" TEMPLATE "{like.rpartition("/")[2]}"')
    try:
        yield f"{server.rpartition('/')[0]}/{name}"
    finally:
        with psycopg.connect(server, autocommit=True) as connection:
            connection.execute(f'DROP DATABASE "{name}" WITH (FORCE)')
