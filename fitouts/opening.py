"""What must hold before the workshop opens: nobody else has its folder or its port, and its static files are fresh."""

from __future__ import annotations

import errno
import hashlib
import os
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.contrib.staticfiles.finders import get_finders
from django.core.management import call_command


class CannotOpen(Exception):
    """The workshop cannot be opened, with the sentence that says what to do."""


@contextmanager
def only_one(home: Path, address: str) -> Iterator[None]:
    """Hold the workshop's folder. Raises :class:`CannotOpen` naming where it is open already."""
    import fcntl  # not on Windows, where `start` has said so already

    with (home / "open.lock").open("a+", encoding="utf-8") as file:
        try:
            fcntl.flock(file.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            file.seek(0)
            where = file.read().strip() or "another address"
            raise CannotOpen(f"This workshop is already open at {where}. Close it there first (Ctrl-C).") from None
        file.truncate(0)
        file.write(address)
        file.flush()
        yield


def must_be_free(host: str, port: int) -> None:
    """Raise :class:`CannotOpen` when nothing can listen at the address, saying who does if that can be seen."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            if error.errno == errno.EADDRINUSE:
                raise CannotOpen(
                    f"Port {port} is taken by {_who(port) or 'another program'}. Close that, or choose another "
                    f"port: manage.py start --port {port + 1 if port < 65535 else port - 1}"
                ) from None
            if error.errno == errno.EACCES:
                raise CannotOpen(f"Port {port} needs more rights than you have. Choose one from 1024 up.") from None
            raise CannotOpen(f"Cannot listen at {host} port {port}: {error.strerror or error}.") from None


def _who(port: int) -> str:
    """The program listening at ``port``, where Linux shows it to us; else nothing."""
    sockets = set()
    for table in ("/proc/net/tcp", "/proc/net/tcp6"):
        try:
            rows = Path(table).read_text(encoding="ascii").splitlines()[1:]
        except OSError:
            return ""
        for row in rows:
            fields = row.split()
            if fields[3] == "0A" and int(fields[1].rpartition(":")[2], 16) == port:
                sockets.add(f"socket:[{fields[9]}]")
    for process in Path("/proc").glob("[0-9]*"):
        try:
            if any(os.readlink(link) in sockets for link in (process / "fd").iterdir()):
                words = (process / "cmdline").read_bytes().replace(b"\0", b" ").decode(errors="replace").strip()
                return f"process {process.name} ({words[:80]})"
        except OSError:
            continue
    return ""


def collect_static_when_changed(folder: Path) -> bool:
    """Collect the static files unless they are as they were; return whether that was needed."""
    mark = folder / ".collected"
    now = _fingerprint()
    if mark.exists() and mark.read_text(encoding="ascii") == now:
        return False
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    mark.unlink(missing_ok=True)
    call_command("collectstatic", verbosity=0, interactive=False, clear=True)
    mark.write_text(now, encoding="ascii")
    return True


def _fingerprint() -> str:
    """Of every static file's name, size and time."""
    seen = hashlib.sha256()
    for finder in get_finders():
        for name, storage in finder.list([]):
            facts = Path(storage.path(name)).stat()
            seen.update(f"{name} {facts.st_size} {facts.st_mtime_ns}\n".encode())
    return seen.hexdigest()
