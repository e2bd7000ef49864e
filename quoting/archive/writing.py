"""Write an archive."""

from __future__ import annotations

import hashlib
import json
import os
import zipfile
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from django.core.files.storage import default_storage
from django.db import DEFAULT_DB_ALIAS, connection, connections, models, transaction
from django.db.migrations.recorder import MigrationRecorder

from fitouts.models import Workshop
from quoting.archive import FORMAT
from quoting.archive.tables import APPS, columns, lines, tables

Tick = Callable[[int, int], None]
CHUNK = 1 << 20
EPOCH = (2000, 1, 1, 0, 0, 0)
"""Every entry carries one date, so that the bytes depend on the content alone."""


@dataclass(frozen=True, slots=True)
class Written:
    """What an archive holds."""

    path: Path
    size: int
    sha256: str
    content_sha256: str
    rows: int
    files: int
    missing: tuple[str, ...]
    """Files that rows name and the disk lacks."""


def _quiet(done: int, of: int) -> None:
    """Say nothing."""


def write(target: Path, *, made_at: datetime, tick: Tick = _quiet) -> Written:
    """Write every row and file of the workshop to ``target``, whole or not at all.

    All rows are read at one moment, while others go on working. ``tick(done, of)`` may write to the database and may
    raise to stop. Raises ``OSError`` when it cannot be written; nothing of it is left then.
    """
    target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    part = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        with os.fdopen(os.open(part, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600), "w+b") as raw:
            with zipfile.ZipFile(raw, "w", zipfile.ZIP_DEFLATED, allowZip64=True) as archive:
                manifest, missing = _fill(archive, made_at, tick if tick is _quiet else _elsewhere(tick))
            raw.flush()
            os.fsync(raw.fileno())
        sha256 = sha256_of(part)
        part.replace(target)
    finally:
        part.unlink(missing_ok=True)
    return Written(
        path=target,
        size=target.stat().st_size,
        sha256=sha256,
        content_sha256=manifest["content_sha256"],
        rows=sum(t["rows"] for t in manifest["tables"]),
        files=len(manifest["files"]),
        missing=tuple(missing),
    )


def _fill(archive: zipfile.ZipFile, made_at: datetime, tick: Tick) -> tuple[dict[str, Any], list[str]]:
    names: set[str] = set()
    found, kept = tables(), []
    with at_one_moment():
        for done, model in enumerate(found):
            tick(done, len(found))
            kept.append(_table(archive, model, names))
        workshop = Workshop.objects.values_list("name", flat=True).first() or ""
        done_migrations = sorted(
            key for key in MigrationRecorder(connection).applied_migrations() if key[0] in APPS
        )  # fmt: skip
    files, missing = [], []
    for done, name in enumerate(sorted(names)):
        tick(len(found) + done, len(found) + len(names))
        try:
            files.append(_file(archive, name))
        except FileNotFoundError:
            missing.append(name)
    manifest = {
        "format": FORMAT,
        "workshop": workshop,
        "made_at": made_at.isoformat(timespec="seconds"),
        "migrations": [list(key) for key in done_migrations],
        "tables": kept,
        "files": files,
        "missing": missing,
        "content_sha256": content_sha256(kept, files),
    }
    text = json.dumps(manifest, ensure_ascii=False, indent=1, sort_keys=True).encode()
    archive.writestr(_entry("manifest.json"), text)
    archive.writestr(_entry("manifest.sha256"), hashlib.sha256(text).hexdigest() + "\n")
    return manifest, missing


def content_sha256(kept: list[dict[str, Any]], files: list[dict[str, Any]]) -> str:
    """One checksum for all rows and files: equal for equal workshops."""
    whole = hashlib.sha256()
    for entry in [*kept, *files]:
        whole.update(f"{entry['name']} {entry['sha256']}\n".encode())
    return whole.hexdigest()


def _table(archive: zipfile.ZipFile, model: type[models.Model], names: set[str]) -> dict[str, Any]:
    fields = columns(model)
    file_columns = [i for i, field in enumerate(fields) if isinstance(field, models.FileField)]
    digest, rows = hashlib.sha256(), 0
    with archive.open(_entry(f"rows/{model._meta.label_lower}.jsonl"), "w", force_zip64=True) as out:
        for line in lines(model):
            out.write(line)
            digest.update(line)
            rows += 1
            if file_columns:
                values = json.loads(line)
                names.update(values[i] for i in file_columns if values[i])
    return {
        "name": model._meta.label_lower,
        "columns": [field.attname for field in fields],
        "rows": rows,
        "sha256": digest.hexdigest(),
    }


def _file(archive: zipfile.ZipFile, name: str) -> dict[str, Any]:
    path, digest, size = Path(default_storage.path(name)), hashlib.sha256(), 0
    entry = _entry(f"files/{name}", zipfile.ZIP_STORED)  # the file is opened first: a missing one leaves no empty entry
    with path.open("rb") as file, archive.open(entry, "w", force_zip64=True) as out:
        while chunk := file.read(CHUNK):
            out.write(chunk)
            digest.update(chunk)
            size += len(chunk)
    return {"name": name, "size": size, "sha256": digest.hexdigest()}


def _entry(name: str, how: int = zipfile.ZIP_DEFLATED) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, EPOCH)
    entry.compress_type, entry.external_attr = how, 0o600 << 16
    return entry


@contextmanager
def at_one_moment() -> Iterator[None]:
    """Read everything as it was at one moment, without keeping anybody from writing."""
    if connection.in_atomic_block:  # a test's transaction, or that of a restore
        yield
    elif connection.vendor == "postgresql":
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield
    else:  # SQLite's write-ahead log gives readers a moment of their own, unless the transaction asks to write
        sqlite: Any = connections[DEFAULT_DB_ALIAS]
        sqlite.ensure_connection()  # the mode is read from the settings when it connects
        mode, sqlite.transaction_mode = sqlite.transaction_mode, "DEFERRED"
        try:
            with transaction.atomic():
                yield
        finally:
            sqlite.transaction_mode = mode


def _elsewhere(tick: Tick) -> Tick:
    """``tick`` on a connection of its own: the one that reads must not write. Inside a transaction there is but one."""
    if connection.in_atomic_block:
        return tick

    def on_own_connection(done: int, of: int) -> None:
        try:
            tick(done, of)
        finally:
            connection.close()  # that of the helping thread

    def call(done: int, of: int) -> None:
        with ThreadPoolExecutor(max_workers=1) as helper:
            helper.submit(on_own_connection, done, of).result()

    return call


def sha256_of(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
