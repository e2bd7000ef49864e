"""Requeue what dead workers left. Run every few seconds beside `start`, or by cron beside workers of your own."""

from __future__ import annotations

import logging
import os
import signal
import socket
import subprocess
import time
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import BaseCommand
from django.db import DatabaseError, close_old_connections, connection

from fitouts.config import file_queue
from quoting.services import background, sheets

logger = logging.getLogger("loomwright.sweep")
TIDY_EVERY_S = 3600


class Command(BaseCommand):
    help = "Requeue background work whose worker died, fail what was tried too often, resend what got lost."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--every", type=float, metavar="SECONDS", help="Go on for ever, this often.")
        parser.add_argument(
            "--siblings",
            action="store_true",
            help="The workers are children of the same parent: end one that hangs, do not wait for one that is gone.",
        )

    def handle(self, *, every: float | None, siblings: bool, **options: Any) -> None:
        if every is None:
            swept = self._once(siblings)
            self.stdout.write(f"{swept.requeued} requeued, {swept.failed} failed, {swept.resent} sent again.")
            self.stdout.write(f"{sheets.tidy()} tables dropped that nobody went on with.")
            return
        tidied = 0.0
        while True:
            close_old_connections()
            try:
                self._once(siblings)
            except DatabaseError:
                logger.exception("The database did not answer; sweeping goes on.")
            if time.monotonic() - tidied > TIDY_EVERY_S:
                tidied = time.monotonic()
                self._tidy()
            time.sleep(max(0.2, every))

    def _tidy(self) -> None:
        file_queue.tidy(settings.HOME / "queue")
        try:
            sheets.tidy()
            if connection.vendor == "sqlite":  # PostgreSQL looks after what it knows of its tables by itself
                with connection.cursor() as cursor:
                    cursor.execute("PRAGMA optimize")
        except DatabaseError:
            logger.exception("The database did not answer; old tables stay until the next time.")

    def _once(self, siblings: bool) -> background.Swept:
        if siblings:
            for job in background.overdue():
                _end_hung(job.claimed_by, job.pk)
        return background.sweep(gone=_gone if siblings else None)


def _end_hung(worker: str, job_id: int) -> None:
    """Kill a worker that let a lease run out, if it is a child of our own parent. Its supervisor starts another."""
    pid = _pid_here(worker)
    if pid is not None and _parent(pid) == os.getppid():
        logger.warning("Worker %s hangs on job %s and is ended.", worker, job_id)
        os.kill(pid, signal.SIGKILL)


def _gone(worker: str) -> bool:
    """Whether a worker of this computer is no longer there at all."""
    pid = _pid_here(worker)
    return pid is not None and _parent(pid) is None


def _pid_here(worker: str) -> int | None:
    host, _colon, pid = worker.rpartition(":")
    return int(pid) if host == socket.gethostname() and pid.isdigit() else None


def _parent(pid: int) -> int | None:
    """The parent of a process, None when it is gone or a zombie."""
    try:
        state, parent = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()[:2]
    except FileNotFoundError:
        if Path("/proc/self").exists():
            return None
        return _parent_by_ps(pid)
    except ProcessLookupError:
        return None
    return None if state == "Z" else int(parent)


def _parent_by_ps(pid: int) -> int | None:
    answer = subprocess.run(["ps", "-o", "ppid=", "-p", str(pid)], capture_output=True, text=True, check=False)  # noqa: S603, S607
    return int(answer.stdout) if answer.stdout.strip().isdigit() else None
