"""Asked for so many papers, with a fault in the middle: all made, none twice, none half.

A few papers in the usual run; ``LOOMWRIGHT_DRILL=200`` gives the table in DEVELOPERS.md.
"""

from __future__ import annotations

import json
import signal
import time
from collections.abc import Iterator

import pytest

from tests.services.drill import PAPERS, Drill
from tests.services.prepared import migrated

pytestmark = pytest.mark.service


@pytest.fixture(scope="module", params=["files+sqlite", "redis+postgresql"])
def drill(request, tmp_path_factory) -> Iterator[Drill]:
    home = migrated(tmp_path_factory, tmp_path_factory.mktemp("drill") / "home")
    like = request.getfixturevalue("migrated_postgresql") if "postgresql" in request.param else ""
    drill = Drill(request.param, home, like)
    yield drill
    drill.close()


def settled(drill: Drill, title: str, began: float) -> None:
    """All that was asked for is made, and made once."""
    drill.until(title, done=PAPERS)
    found = drill.count(title)
    lost = found["asked"] - found["made"]
    row = {"fault": title, "setup": drill.setup, "lost": lost, **found, "took_s": round(time.monotonic() - began, 1)}
    print("\nDRILL " + json.dumps(row))
    assert (found["asked"], found["made"], found["done"]) == (PAPERS, PAPERS, PAPERS)
    assert (found["twice"], found["half"], found["open"], found["failed"]) == (0, 0, 0, 0)


def test_worker_killed_again_and_again(drill):
    title, began = "worker killed", time.monotonic()
    drill.ask(title)
    for part in (1, 2):
        worker = drill.worker(pause_s=0.3 if PAPERS < 50 else 0.05)
        drill.until(title, done=part * PAPERS // 4)
        drill.end(worker, number=signal.SIGKILL)
    last = drill.worker()

    settled(drill, title, began)
    drill.end(last)


def test_web_killed_between_the_row_and_its_message(drill):
    title, began = "web killed", time.monotonic()
    worker = drill.worker()
    drill.desk_dies(title, PAPERS, at=PAPERS // 2)
    asked = drill.count(title)["asked"]
    assert asked == PAPERS // 2 + 1  # the row was committed, its message never sent

    drill.ask(title, PAPERS - asked)

    settled(drill, title, began)
    drill.end(worker)


def test_broker_forgets_everything(drill):
    title, began = "broker emptied", time.monotonic()
    drill.ask(title)
    worker = drill.worker(pause_s=0.2 if PAPERS < 50 else 0.05)
    drill.until(title, done=PAPERS // 4)

    drill.forget_messages()

    settled(drill, title, began)
    drill.end(worker)


def test_disk_full_in_the_middle_of_papers(drill):
    title, began = "disk full", time.monotonic()
    (drill.shop.home / "full").touch()
    worker = drill.worker()
    drill.ask(title)
    refused = drill.until(title, failed=PAPERS)
    assert (refused["made"], refused["half"]) == (0, 0)

    (drill.shop.home / "full").unlink()
    assert drill.tell("retry", title) == {"again": PAPERS}

    settled(drill, title, began)
    drill.end(worker)


def test_two_workers_and_every_message_three_times(drill):
    title, began = "two workers", time.monotonic()
    drill.ask(title)
    drill.tell("double", title)
    drill.tell("double", title)
    before = len(drill.shop.log("begun").split())
    workers = [drill.worker(), drill.worker()]

    settled(drill, title, began)
    assert len(drill.shop.log("begun").split()) - before == PAPERS
    assert drill.count(title)["attempts"] == PAPERS
    drill.end(*workers)
