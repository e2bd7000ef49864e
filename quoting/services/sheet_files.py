"""Where tables brought in lie, and what was found in them: in the private folder, for as long as they are needed."""

from __future__ import annotations

import hashlib
import os
import time
import uuid
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from django.core.files.storage import default_storage

from fitouts.uploads import PART, LargeUpload

FOLDER = "imports"
MAX_BYTES = 25 * 1024 * 1024
UNNAMED_S = 6 * 3600
"""A file that no row names yet, because it is still being written, is not older than this. [s]"""


def path_of(name: Any) -> Path:
    """Where the file of a row lies, whether or not it is there."""
    return Path(default_storage.path(str(name)))


def is_there(name: Any) -> bool:
    return bool(name) and path_of(name).is_file()


def keep(upload: Any, ending: str) -> tuple[str, str, int]:
    """Put an upload in its place whole, for its owner alone; return its name, sha256 and size.

    Raises ``OSError`` when it cannot be written; nothing of it is left then.
    """
    name = f"{FOLDER}/{uuid.uuid4().hex}{ending}"
    if isinstance(upload, LargeUpload):
        upload.take(path_of(name))
        return name, upload.sha256, int(upload.size or 0)
    checksum, size = hashlib.sha256(), 0
    part = part_for(name)
    with open_private(part) as file:
        for chunk in upload.chunks():
            checksum.update(chunk)
            size += len(chunk)
            file.write(chunk)
    part.replace(path_of(name))
    return name, checksum.hexdigest(), size


def part_for(name: str) -> Path:
    """A file beside the named one, to write to until it is whole."""
    path = path_of(name)
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    return path.with_name(f".{path.name}.{uuid.uuid4().hex}{PART}")


def open_private(path: Path) -> Any:
    """A new file that its owner alone can read."""
    return os.fdopen(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "wb")


def open_text(path: Path) -> Any:
    """The same for lines of text."""
    return os.fdopen(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "w", encoding="utf-8")


def remove(*names: Any) -> None:
    """Erase files; one that is gone already does no harm."""
    for name in names:
        if name:
            path_of(name).unlink(missing_ok=True)


def strays(known: Iterable[str]) -> list[Path]:
    """Files that no row names: what a worker or a web server left that died half way."""
    folder, names, now = path_of(FOLDER), {Path(name).name for name in known if name}, time.time()
    if not folder.is_dir():
        return []
    found = []
    for path in folder.iterdir():
        try:
            age_s = now - path.stat().st_mtime
        except FileNotFoundError:
            continue
        if path.name not in names and age_s > UNNAMED_S:
            found.append(path)
    return found
