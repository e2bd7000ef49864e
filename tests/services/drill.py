"""A workshop under drill: two hundred papers asked for, a fault in the middle, and the count at the end."""

from __future__ import annotations

import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from tests import needs
from tests.services.prepared import postgresql
from tests.services.running import ROOT, Shop, free_port, wait_until

PAPERS = int(os.environ.get("LOOMWRIGHT_DRILL", "8"))
"""How many papers each drill asks for; set LOOMWRIGHT_DRILL=200 for the table in DEVELOPERS.md."""
PATIENCE_S = 60 + PAPERS


class Redis:
    """A Redis of our own, which forgets everything when it is started again."""

    def __init__(self, folder: Path) -> None:
        needs.need(shutil.which("redis-server"), "no redis-server on this machine (apt-get install redis-server)")
        self.folder, self.port = folder, free_port()
        self.start()

    @property
    def url(self) -> str:
        return f"redis://127.0.0.1:{self.port}/0"

    def start(self) -> None:
        words = ["redis-server", "--bind", "127.0.0.1", "--port", str(self.port), "--dir", str(self.folder)]
        self.process = subprocess.Popen([*words, "--save", "", "--appendonly", "no"], stdout=subprocess.DEVNULL)
        wait_until(self._answers, 20)

    def _answers(self) -> bool:
        with socket.socket() as probe:
            return probe.connect_ex(("127.0.0.1", self.port)) == 0

    def kill(self) -> None:
        self.process.kill()
        self.process.wait()


class Drill:
    """One set-up, kept for all its faults: the default one of files and SQLite, or Redis and PostgreSQL.

    ``home`` is an empty workshop's folder. With ``like``, its database is a copy of the one at that address, and it
    has a Redis of its own.
    """

    def __init__(self, setup: str, home: Path, like: str = "") -> None:
        self.setup, self.redis, self._closing = setup, None, ExitStack()
        environment = {"JOB_LEASE_S": "5", "REDIS_VISIBILITY_TIMEOUT_S": "5", "DRILL": ""}
        if like:
            address = self._closing.enter_context(postgresql(needs.database_url(), like))
            self.redis = Redis(home.parent)
            self._closing.callback(self.redis.kill)
            environment |= {"REDIS_URL": self.redis.url, "DATABASE_URL": address}
        self.shop = Shop(home, **environment)
        self._closing.callback(self.shop.close)
        self.desk = self._open_desk()
        self.sweeper = self.shop.start("manage.py", "sweep", "--every", "1", log="sweep.log")

    def close(self) -> None:
        self.desk.kill()
        self.desk.wait()
        for pipe in (self.desk.stdin, self.desk.stdout):
            pipe.close()
        self._closing.close()

    # --- the desk: one process that asks, presses Retry and counts --------------------------------------

    def _open_desk(self) -> subprocess.Popen[str]:
        return subprocess.Popen(
            [sys.executable, "-m", "tests.services.drilling"],
            cwd=ROOT, env=self.shop.environment, text=True, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            start_new_session=True,
        )  # fmt: skip

    def tell(self, *words: Any) -> dict[str, Any]:
        """What the desk answers; empty when it died over it."""
        self.desk.stdin.write(json.dumps(words) + "\n")
        self.desk.stdin.flush()
        answer = self.desk.stdout.readline()
        return json.loads(answer) if answer else {}

    def ask(self, title: str, count: int = PAPERS) -> None:
        assert self.tell("ask", title, count) == {"asked": count}

    def count(self, title: str) -> dict[str, Any]:
        return self.tell("count", title)

    def desk_dies(self, title: str, count: int, at: int) -> None:
        """Ended with -9 after the row of a paper is committed and before its message is sent."""
        assert self.tell("ask", title, count, at) == {}
        self.desk.wait()
        for pipe in (self.desk.stdin, self.desk.stdout):
            pipe.close()
        self.desk = self._open_desk()

    # --- workers ----------------------------------------------------------------------------------------

    def worker(self, pause_s: float = 0.02) -> subprocess.Popen[bytes]:
        words = ["-m", "celery", "-A", "fitouts.config", "worker", "-P", "solo", "-Q", "documents", "-l", "WARNING"]
        words += ["--without-mingle", "--without-gossip", "--without-heartbeat", "-I", "tests.services.drilling"]
        return self.shop.start(*words, log="worker.log", DRILL="1", DRILL_PAUSE_S=str(pause_s))

    def until(self, title: str, seconds: float = PATIENCE_S, **wanted: int) -> dict[str, Any]:
        """Wait until at least so many papers are in each of these states; the count then."""
        wait_until(lambda: self._reached(title, wanted), seconds, why=lambda: self.why(title))
        return self.count(title)

    def _reached(self, title: str, wanted: dict[str, int]) -> bool:
        found = self.count(title)
        return all(found[name] >= number for name, number in wanted.items())

    def why(self, title: str) -> str:
        logs = "\n---\n".join(self.shop.log(name)[-3000:] for name in ("worker.log", "sweep.log"))
        return f"{self.count(title)}\n{logs}"

    def end(self, *workers: subprocess.Popen[bytes], number: int = signal.SIGTERM) -> None:
        for worker in workers:
            os.kill(worker.pid, number)
        for worker in workers:
            worker.wait(timeout=60)

    def forget_messages(self) -> None:
        """The broker loses what it holds: Redis is killed and started empty, or the folder of the queue is emptied."""
        if self.redis:
            self.redis.kill()
            time.sleep(0.5)
            self.redis.start()
        else:
            for path in (self.shop.home / "queue").glob("waiting/*"):
                path.unlink(missing_ok=True)
