# mypy: disable-error-code="no-untyped-call,override,no-any-return"
"""The queue of a workshop on one computer: messages as files, written whole or not at all.

kombu's own file transport writes a message in place, so a reader can meet half of it. Here a message is written under
a ``.part`` name, forced to disk and renamed; a reader first renames it away, and only one rename can win. A file that
cannot be read is set aside, never allowed to stop the queue. Bindings are kept the same way.

The row of the job is the truth (``quoting.services.background``): a message lost to a power cut is sent again.
"""

from __future__ import annotations

import fcntl
import logging
import os
import time
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from queue import Empty
from typing import Any

from kombu.transport import filesystem, virtual
from kombu.utils.encoding import bytes_to_str, str_to_bytes
from kombu.utils.json import dumps, loads

logger = logging.getLogger("loomwright.queue")

LEFT_OVER_S = 3600
"""A ``.part`` or taken file older than this was left by a process that died. [s]"""


def write_whole(path: Path, content: bytes) -> None:
    """Put ``content`` at ``path`` so that a reader sees all of it or nothing."""
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    with part.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    part.replace(path)


class Channel(filesystem.Channel):
    """A channel over one folder: ``waiting``, ``taken``, ``spoiled`` and ``bindings`` in it."""

    def _put(self, queue: str, payload: dict[str, Any], **kwargs: Any) -> None:
        # Wall-clock nanoseconds order the names also after a restart, which a monotonic clock does not.
        name = f"{time.time_ns():020d}_{uuid.uuid4().hex}.{queue}.msg"
        write_whole(self._folder("waiting") / name, str_to_bytes(dumps(payload)))

    def _get(self, queue: str) -> dict[str, Any]:
        for name in self._names(queue):
            taken = self._folder("taken") / name
            try:
                (self._folder("waiting") / name).rename(taken)
            except FileNotFoundError:
                continue  # another reader was quicker
            try:
                payload = loads(bytes_to_str(taken.read_bytes()))
                payload["properties"]["delivery_tag"]
            except (ValueError, KeyError, TypeError):
                taken.rename(self._folder("spoiled") / name)
                logger.error("Message %s could not be read and was set aside; its job is sent again.", name)
                continue
            taken.unlink()
            return payload
        raise Empty()

    def _purge(self, queue: str) -> int:
        names = self._names(queue)
        for name in names:
            (self._folder("waiting") / name).unlink(missing_ok=True)
        return len(names)

    def _size(self, queue: str) -> int:
        return len(self._names(queue))

    def _names(self, queue: str) -> list[str]:
        """Whole messages of ``queue``, oldest first."""
        ending = f"{queue}.msg"
        with os.scandir(self._folder("waiting")) as entries:
            return sorted(e.name for e in entries if e.name[0] != "." and e.name.partition(".")[2] == ending)

    # --- bindings: read and changed under one lock, replaced whole ----------------------------------

    def get_table(self, exchange: str) -> list[filesystem.exchange_queue_t]:
        try:
            table = loads(bytes_to_str(self._exchange_file(exchange).read_bytes()))
        except (FileNotFoundError, ValueError):
            return []
        return [filesystem.exchange_queue_t(*row) for row in table]

    def _queue_bind(self, exchange: str, routing_key: str, pattern: str, queue: str) -> None:
        row = filesystem.exchange_queue_t(routing_key or "", pattern or "", queue or "")
        if row in self.get_table(exchange):
            return
        with self._bindings_locked():
            table = self.get_table(exchange)
            if row not in table:
                self._write_table(exchange, [row, *table])

    def _delete(self, queue: str, exchange: str, routing_key: str, pattern: str, *args: Any, **kwargs: Any) -> None:
        virtual.Channel._delete(self, queue, exchange, routing_key, pattern, *args, **kwargs)
        row = filesystem.exchange_queue_t(routing_key or "", pattern or "", queue or "")
        with self._bindings_locked():
            self._write_table(exchange, [kept for kept in self.get_table(exchange) if kept != row])

    def _write_table(self, exchange: str, rows: list[filesystem.exchange_queue_t]) -> None:
        write_whole(self._exchange_file(exchange), str_to_bytes(dumps([list(row) for row in rows])))

    @contextmanager
    def _bindings_locked(self) -> Iterator[None]:
        with (self.control_folder / ".lock").open("w") as file:
            fcntl.flock(file.fileno(), fcntl.LOCK_EX)
            yield

    @property
    def control_folder(self) -> Path:
        return self._folder("bindings")

    def _folder(self, name: str) -> Path:
        made: dict[str, Path] = self.__dict__.setdefault("_made", {})
        if name not in made:
            path = Path(self.transport_options["queue_folder"]) / name
            path.mkdir(mode=0o700, parents=True, exist_ok=True)
            made[name] = path
        return made[name]


class Transport(filesystem.Transport):
    """``looms-files://`` with the option ``queue_folder``; ``celery_app`` makes the name known to kombu."""

    Channel = Channel
    driver_type = "looms-files"
    driver_name = "looms-files"

    def __init__(self, client: Any, **kwargs: Any) -> None:
        super().__init__(client, **kwargs)
        # kombu shares one memory of what is bound among all connections of a process; another folder then has no
        # bindings, and its messages go nowhere without a word.
        self.state = virtual.BrokerState()

    def driver_version(self) -> str:
        return "1"


def tidy(folder: Path, *, older_than_s: float = LEFT_OVER_S) -> int:
    """Remove what dead processes left half-written or taken in ``folder``; return how many files."""
    limit = time.time() - older_than_s
    left = [*folder.glob("waiting/.*.part"), *folder.glob("bindings/.*.part"), *folder.glob("taken/*.msg")]
    removed = 0
    for path in left:
        try:
            if path.stat().st_mtime < limit:
                path.unlink()
                removed += 1
        except FileNotFoundError:
            continue
    return removed
