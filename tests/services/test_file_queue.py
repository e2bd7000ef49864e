"""The queue in files under load, through kombu as Celery uses it."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from kombu import Connection

from fitouts.config import celery_app, file_queue  # noqa: F401  (celery_app makes looms-files:// known)
from tests.services.running import ROOT

WRITE = """
import sys
from kombu import Connection
import fitouts.config.celery_app
folder, first, count = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
with Connection("looms-files://localhost/", transport_options={"queue_folder": folder}) as connection:
    queue = connection.SimpleQueue("load")
    for number in range(first, first + count):
        queue.put({"n": number, "ballast": "x" * 5000})
"""
READ = """
import json, sys, time
from queue import Empty
from kombu import Connection
import fitouts.config.celery_app
got, quiet_since = [], time.monotonic()
options = {"queue_folder": sys.argv[1], "polling_interval": 0.02}
with Connection("looms-files://localhost/", transport_options=options) as connection:
    queue = connection.SimpleQueue("load")
    while time.monotonic() - quiet_since < 6:
        try:
            message = queue.get(timeout=0.5)
        except Empty:
            continue
        got.append(message.payload["n"])
        message.ack()
        quiet_since = time.monotonic()
print(json.dumps(got))
"""


def spawn(code: str, *words: str) -> subprocess.Popen[str]:
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "fitouts.config.settings_test"}
    return subprocess.Popen(
        [sys.executable, "-c", code, *words], cwd=ROOT, env=environment, stdout=subprocess.PIPE, text=True
    )


@pytest.fixture
def queue(tmp_path):
    options = {"queue_folder": str(tmp_path), "polling_interval": 0.01}
    with Connection("looms-files://localhost/", transport_options=options) as connection:
        yield connection.SimpleQueue("load")


def test_a_thousand_messages_from_three_writers_reach_two_readers_once_each(tmp_path):
    readers = [spawn(READ, str(tmp_path)) for _ in range(2)]
    writers = [
        spawn(WRITE, str(tmp_path), str(first), str(count)) for first, count in ((0, 334), (334, 333), (667, 333))
    ]

    assert [writer.communicate(timeout=120)[0] for writer in writers] == ["", "", ""]
    got = [json.loads(reader.communicate(timeout=120)[0]) for reader in readers]

    assert sorted(got[0] + got[1]) == list(range(1000))
    left = [path.name for path in tmp_path.rglob("*") if path.is_file() and path.parent.name != "bindings"]
    assert left == []


def test_messages_come_in_the_order_they_were_sent(queue):
    for number in range(50):
        queue.put(number)

    assert [queue.get(timeout=2).payload for _ in range(50)] == list(range(50))


def test_half_a_message_is_set_aside_and_stops_nobody(queue, tmp_path):
    queue.put("first")
    waiting = next(tmp_path.glob("waiting/*.msg"))
    spoiled = waiting.with_name(waiting.name.replace(waiting.name[:20], f"{0:020d}"))
    spoiled.write_bytes(waiting.read_bytes()[:40])
    spoiled.with_name(f"{1:020d}_x.load.msg").write_text('{"properties": {}}')

    assert queue.get(timeout=2).payload == "first"
    assert len(list((tmp_path / "spoiled").iterdir())) == 2


def test_a_message_being_written_is_not_seen(queue, tmp_path):
    queue.put("whole")
    waiting = next(tmp_path.glob("waiting/*.msg"))
    waiting.rename(waiting.with_name(f".{waiting.name}.1.part"))

    assert queue.qsize() == 0


def test_what_dead_processes_left_is_tidied_once_it_is_old(tmp_path):
    names = ("waiting/.a.load.msg.1.part", "taken/b.load.msg", "waiting/c.load.msg")
    for name in names:
        path = Path(tmp_path / name)
        path.parent.mkdir(exist_ok=True)
        path.touch()
        os.utime(path, (0, 0))
    (tmp_path / "taken/new.load.msg").touch()

    assert file_queue.tidy(tmp_path) == 2
    assert sorted(path.name for path in tmp_path.rglob("*.msg")) == ["c.load.msg", "new.load.msg"]
