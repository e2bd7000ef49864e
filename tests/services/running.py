"""A workshop of its own in a temporary folder, run by real processes."""

from __future__ import annotations

import contextlib
import json
import os
import select
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


class Shop:
    """One temporary workshop; every process started through it is ended by :meth:`close`."""

    def __init__(self, home: Path, **environment: str) -> None:
        self.home = home
        clean = {name: value for name, value in os.environ.items() if name not in {"DATABASE_URL", "REDIS_URL"}}
        self.environment = {
            **clean,
            "LOOMWRIGHT_HOME": str(home),
            "DJANGO_SETTINGS_MODULE": "fitouts.config.settings",
            "PYTHONUNBUFFERED": "1",
            **environment,
        }
        self.processes: list[subprocess.Popen[bytes]] = []
        self._asked: subprocess.Popen[str] | None = None

    def manage(self, *words: str, timeout: float = 90) -> str:
        command = [sys.executable, str(ROOT / "manage.py"), *words]
        ran = subprocess.run(command, env=self.environment, cwd=ROOT, capture_output=True, text=True, timeout=timeout)
        assert ran.returncode == 0, ran.stdout + ran.stderr
        return ran.stdout

    def python(self, code: str, timeout: float = 90) -> dict:
        """Run code in the process that waits for it; it prints one line of JSON last."""
        asked = self._asked = self._asked or self._wait_to_be_asked()
        assert asked.stdin is not None
        assert asked.stdout is not None
        asked.stdin.write(json.dumps(code) + "\n")
        asked.stdin.flush()
        assert select.select([asked.stdout], [], [], timeout)[0], f"no answer within {timeout:g} s to\n{code}"
        answer = json.loads(asked.stdout.readline())
        assert "failed" not in answer, answer["failed"]
        return json.loads(answer["said"].splitlines()[-1])

    def _wait_to_be_asked(self) -> subprocess.Popen[str]:
        command = [sys.executable, "-m", "tests.services.asking"]
        pipe = subprocess.PIPE
        return subprocess.Popen(
            command, env=self.environment, cwd=ROOT, stdin=pipe, stdout=pipe, text=True, start_new_session=True
        )

    def ask_no_more(self) -> None:
        """End the process that :meth:`python` asks."""
        if self._asked is None:
            return
        self._asked.kill()
        self._asked.communicate()
        self._asked = None

    def start(self, *words: str, log: str, **environment: str) -> subprocess.Popen[bytes]:
        with (self.home / log).open("ab") as file:
            process = subprocess.Popen(
                [sys.executable, *words],
                env={**self.environment, **environment},
                cwd=ROOT,
                stdin=subprocess.DEVNULL,
                stdout=file,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )
        self.processes.append(process)
        return process

    def worker(
        self, queue: str = "documents", pausing: str = "tests.services.pausing", **environment: str
    ) -> subprocess.Popen[bytes]:
        words = ["-m", "celery", "-A", "fitouts.config", "worker", "-P", "solo", "-Q", queue, "-l", "INFO"]
        words += ["--without-mingle", "--without-gossip", "--without-heartbeat", "-I", pausing]
        return self.start(*words, log="worker.log", CATCH_PAPERS="1", **environment)

    def log(self, name: str) -> str:
        path = self.home / name
        return path.read_text(errors="replace") if path.exists() else ""

    def wait_until_open(self, process: subprocess.Popen[bytes], log: str, seconds: float = 60) -> None:
        """Wait for the last line of ``start``; fail at once when it ended instead."""
        last = "Ctrl-C closes it."
        wait_until(lambda: last in self.log(log) or process.poll() is not None, seconds, lambda: self.log(log))
        assert last in self.log(log), self.log(log)

    def close(self) -> None:
        self.ask_no_more()
        for process in self.processes:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGKILL)
            process.wait()


def free_port() -> int:
    """A port that nobody listens at."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def give_time_to(what: Callable[[], object], seconds: float) -> None:
    """Wait for what may or may not come; whatever comes of it is judged afterwards."""
    until = time.monotonic() + seconds
    while time.monotonic() < until and not what():
        time.sleep(0.1)


def wait_until(what: Callable[[], object], seconds: float, why: Callable[[], str] = lambda: "") -> None:
    """Wait until ``what`` holds; fail with ``why`` when it does not in time."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        if what():
            return
        time.sleep(0.1)
    raise AssertionError(f"not within {seconds:g} s\n{why()}")
