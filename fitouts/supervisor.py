"""Keeps a handful of child processes alive, and takes them all along when it goes.

Ctrl-C or SIGTERM ends every child; so does killing this process outright, where the system can tell a child that its
parent died (Linux). A child that dies is started again, but not for ever.
"""

from __future__ import annotations

import contextlib
import ctypes
import logging
import os
import signal
import subprocess
import sys
import time
from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from threading import Event
from types import FrameType

logger = logging.getLogger("loomwright.start")

DEATHS, WITHIN_S = 5, 60
"""A child that dies so often within so long is not started again; everything stops."""
GRACE_S = 8
"""How long children may take to end by themselves. [s]"""
LOOK_S = 0.2
_PR_SET_PDEATHSIG = 1


class ChildKeepsDying(Exception):
    """A child died too often to go on."""


@dataclass
class Child:
    """One process to keep alive. ``orphan_signal`` is what it gets when this process is killed outright."""

    name: str
    command: Sequence[str]
    orphan_signal: signal.Signals = signal.SIGKILL
    process: subprocess.Popen[bytes] | None = None
    deaths: deque[float] = field(default_factory=lambda: deque(maxlen=DEATHS))

    def start(self) -> None:
        # A session of its own: Ctrl-C in the terminal reaches only the supervisor, which ends the children in order.
        self.process = subprocess.Popen(  # noqa: S603  (the commands are our own)
            self.command,
            stdin=subprocess.DEVNULL,
            start_new_session=True,
            preexec_fn=_die_with_parent(self.orphan_signal),
        )

    @property
    def alive(self) -> bool:
        return self.process is not None and self.process.poll() is None

    def signal(self, number: signal.Signals) -> None:
        """Signal the child with everything it started."""
        if self.process is not None:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(self.process.pid, number)


class Supervisor:
    """Start the children, watch over them, end them."""

    def __init__(self, children: Sequence[Child]) -> None:
        self.children = list(children)
        self._stop = Event()
        self._hurry = False

    def run(self, *, ready: Callable[[], bool], on_ready: Callable[[], None]) -> None:
        """Return when asked to stop; raise :class:`ChildKeepsDying` when that is no use. No child is left."""
        before = {number: signal.signal(number, self._asked) for number in _stop_signals()}
        try:
            for child in self.children:
                child.start()
            told = False
            while not self._stop.wait(LOOK_S):
                self._revive()
                if not told and ready():
                    told = True
                    on_ready()
        finally:
            self._end_all()
            for number, handler in before.items():
                signal.signal(number, handler)

    def _asked(self, number: int, frame: FrameType | None) -> None:
        self._hurry = self._stop.is_set()
        self._stop.set()

    def _revive(self) -> None:
        for child in self.children:
            if child.alive:
                continue
            code = child.process.returncode if child.process else None
            now = time.monotonic()
            child.deaths.append(now)
            if len(child.deaths) == DEATHS and now - child.deaths[0] < WITHIN_S:
                raise ChildKeepsDying(
                    f"The {child.name} stopped {DEATHS} times within {WITHIN_S} seconds (last code {code}). "
                    "The lines above say why."
                )
            logger.warning("The %s stopped (code %s) and is started again.", child.name, code)
            child.signal(signal.SIGKILL)  # what it may have left behind
            child.start()

    def _end_all(self) -> None:
        for child in self.children:
            child.signal(signal.SIGTERM)
        until = time.monotonic() + GRACE_S
        while any(child.alive for child in self.children) and time.monotonic() < until and not self._hurry:
            time.sleep(0.05)
        for child in self.children:
            child.signal(signal.SIGKILL)
            if child.process is not None:
                child.process.wait()


def _stop_signals() -> tuple[signal.Signals, ...]:
    return (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)


def _die_with_parent(number: signal.Signals) -> Callable[[], None] | None:
    """What a child does before it becomes its program: ask the kernel for a signal when its parent dies."""
    if not sys.platform.startswith("linux"):
        return None
    libc, parent = ctypes.CDLL(None, use_errno=True), os.getpid()

    def ask() -> None:
        libc.prctl(_PR_SET_PDEATHSIG, number, 0, 0, 0)
        if os.getppid() != parent:  # it died in between
            os._exit(1)

    return ask
