"""A workshop under drill: two hundred papers asked for, a fault in the middle, and the count at the end."""

from __future__ import annotations

import json
import os
import shutil
import signal
import socket
import subprocess
import time
import uuid
from pathlib import Path
from typing import Any

from tests import needs
from tests.services.running import ROOT, Shop, wait_until

PAPERS = int(os.environ.get("LOOMWRIGHT_DRILL", "8"))
"""How many papers each drill asks for; set LOOMWRIGHT_DRILL=200 for the table in DEVELOPERS.md."""
PATIENCE_S = 60 + PAPERS


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


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
    """One set-up, kept for all its faults: the default one of files and SQLite, or Redis and PostgreSQL."""

    def __init__(self, setup: str, folder: Path) -> None:
        self.setup, self.redis, self.database = setup, None, ""
        environment = {"JOB_LEASE_S": "5", "REDIS_VISIBILITY_TIMEOUT_S": "5", "DRILL": ""}
        if setup == "redis+postgresql":
            self.server = needs.database_url()
            self.redis = Redis(folder)
            self.database = f"drill_{uuid.uuid4().hex[:12]}"
            self._sql(f'CREATE DATABASE "{self.database}"')
            environment |= {"REDIS_URL": self.redis.url}
            environment |= {"DATABASE_URL": f"{self.server.rpartition('/')[0]}/{self.database}"}
        self.shop = Shop(folder / "home", **environment)
        self.shop.home.mkdir(mode=0o700)
        self.shop.manage("migrate", "-v", "0", timeout=240)
        self.desk = self._open_desk()
        self.sweeper = self.shop.start("manage.py", "sweep", "--every", "1", log="sweep.log")

    def _sql(self, statement: str) -> None:
        import psycopg

        with psycopg.connect(self.server, autocommit=True) as connection:
            connection.execute(statement)

    def close(self) -> None:
        self.desk.kill()
        self.desk.wait()
        for pipe in (self.desk.stdin, self.desk.stdout):
            pipe.close()
        self.shop.close()
        if self.redis:
            self.redis.kill()
        if self.database:
            self._sql(f'DROP DATABASE "{self.database}" WITH (FORCE)')

    # --- the desk: one process that asks, presses Retry and counts --------------------------------------

    def _open_desk(self) -> subprocess.Popen[str]:
        import sys

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
