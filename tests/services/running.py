"""A workshop of its own in a temporary folder, run by real processes."""

from __future__ import annotations

import contextlib
import json
import os
import signal
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

    def manage(self, *words: str, timeout: float = 90) -> str:
        command = [sys.executable, str(ROOT / "manage.py"), *words]
        ran = subprocess.run(command, env=self.environment, cwd=ROOT, capture_output=True, text=True, timeout=timeout)
        assert ran.returncode == 0, ran.stdout + ran.stderr
        return ran.stdout

    def python(self, code: str) -> dict:
        """Run code with Django set up; it prints one line of JSON last."""
        code = "import django; django.setup()\n" + code
        ran = subprocess.run(
            [sys.executable, "-c", code], env=self.environment, cwd=ROOT, capture_output=True, text=True, timeout=90
        )
        assert ran.returncode == 0, ran.stdout + ran.stderr
        return json.loads(ran.stdout.splitlines()[-1])

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

    def close(self) -> None:
        for process in self.processes:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGKILL)
            process.wait()


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
