"""Where the bytes of papers lie: each file put in its place whole, and all of a paper's files found again."""

from __future__ import annotations

import os
import uuid
from pathlib import Path
from typing import Any

from django.core.files.storage import default_storage

FOLDER = "papers"


def store(paper_id: int, pdf: bytes, sha256: str) -> str:
    """Put the file in its place whole and force it to disk; return its name in the storage.

    Raises ``OSError`` when it cannot be written; nothing of it is left then.
    """
    name = f"{FOLDER}/{paper_id:08d}-{sha256[:16]}.pdf"
    path = Path(default_storage.path(name))
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}.{uuid.uuid4().hex}.part")
    try:
        with os.fdopen(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "wb") as file:
            file.write(pdf)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except OSError:
        part.unlink(missing_ok=True)
        raise
    folder = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)
    return name


def remove(paper_id: int) -> int:
    """Remove every file of a paper, also what a worker left that died before it could write down the name.

    Returns how many there were.
    """
    folder = Path(default_storage.path(FOLDER))
    found: list[Any] = [*folder.glob(f"{paper_id:08d}-*.pdf"), *folder.glob(f".{paper_id:08d}-*.part")]
    for path in found:
        path.unlink(missing_ok=True)
    return len(found)
