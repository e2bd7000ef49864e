"""Look into an archive and believe nothing of it before its checksums are right."""

from __future__ import annotations

import hashlib
import json
import zipfile
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from django.utils.translation import gettext as _

from quoting.archive import FORMAT, ArchiveRefused
from quoting.archive.writing import CHUNK, Tick, content_sha256

MANIFEST_LIMIT = 50_000_000
SIGN_EVERY = 512 * CHUNK
"""A sign of life is given whenever so much was read. [byte]"""
LINE_LIMIT = 20_000_000
"""Longest row. [byte]"""


@dataclass(frozen=True, slots=True)
class Contents:
    """A checked archive."""

    path: Path
    manifest: dict[str, Any]

    @property
    def workshop(self) -> str:
        return str(self.manifest["workshop"])

    @property
    def rows(self) -> int:
        return sum(t["rows"] for t in self.manifest["tables"])

    def count(self, table: str) -> int:
        """Rows of one table, as ``fitouts.vehicle``."""
        return next((t["rows"] for t in self.manifest["tables"] if t["name"] == table), 0)

    def lines(self, table: str) -> Iterator[list[Any]]:
        with zipfile.ZipFile(self.path) as archive, archive.open(f"rows/{table}.jsonl") as file:
            while line := file.readline(LINE_LIMIT):
                yield json.loads(line)

    def file(self, name: str) -> Iterator[bytes]:
        with zipfile.ZipFile(self.path) as archive, archive.open(f"files/{name}") as file:
            while chunk := file.read(CHUNK):
                yield chunk


def check(path: Path, *, tick: Tick = lambda done, of: None) -> Contents:
    """Read a whole archive and hold every checksum against what is there.

    Raises :class:`ArchiveRefused` for a file that is no archive, is cut short, damaged, or holds what it does not list.
    """
    try:
        with zipfile.ZipFile(path) as archive:
            manifest = _manifest(archive)
            wanted = _wanted(manifest)
            names = [info.filename for info in archive.infolist()]
            strangers = sorted(set(names) - set(wanted) - {"manifest.json", "manifest.sha256"})
            if strangers or len(set(names)) != len(names):
                raise _damaged(_("it holds “%s”, which it does not list") % (strangers or names)[0][:80])
            for done, (name, entry) in enumerate(wanted.items()):
                _check_entry(archive, name, entry, lambda done=done: tick(done, len(wanted)))  # type: ignore[misc]
    except FileNotFoundError:
        raise ArchiveRefused(_("There is no file %(path)s.") % {"path": path}) from None
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, RuntimeError) as error:
        raise _damaged(str(error) or type(error).__name__) from error
    if content_sha256(manifest["tables"], manifest["files"]) != manifest["content_sha256"]:
        raise _damaged(_("the checksum over all of it is wrong"))
    return Contents(path, manifest)


def _damaged(why: str) -> ArchiveRefused:
    return ArchiveRefused(
        _("This archive is damaged or is not one of Loomwright's: %(why)s. Nothing was restored.") % {"why": why}
    )


def _manifest(archive: zipfile.ZipFile) -> dict[str, Any]:
    names = set(archive.namelist())
    if not {"manifest.json", "manifest.sha256"} <= names:
        raise _damaged(_("it has no manifest"))
    if archive.getinfo("manifest.json").file_size > MANIFEST_LIMIT or archive.getinfo("manifest.sha256").file_size > 99:
        raise _damaged(_("its manifest is too large"))
    text = archive.read("manifest.json")
    if hashlib.sha256(text).hexdigest() != archive.read("manifest.sha256").decode("ascii", "replace").strip():
        raise _damaged(_("the checksum of its manifest is wrong"))
    try:
        manifest = json.loads(text)
        if manifest["format"] != FORMAT:
            raise ArchiveRefused(
                _("This archive is of the format %(found)s; this program reads %(known)s. Nothing was restored.")
                % {"found": str(manifest["format"])[:60], "known": FORMAT}
            )
        for table in manifest["tables"]:
            str(table["name"]), int(table["rows"]), str(table["sha256"]), list(table["columns"])
        for file in manifest["files"]:
            str(file["name"]), int(file["size"]), str(file["sha256"])
        str(manifest["content_sha256"]), str(manifest["workshop"]), str(manifest["made_at"])
        [(str(app), str(name)) for app, name in manifest["migrations"]]
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise _damaged(_("its manifest cannot be read (%s)") % error) from error
    return dict(manifest)


def _wanted(manifest: dict[str, Any]) -> dict[str, dict[str, Any]]:
    wanted: dict[str, dict[str, Any]] = {f"rows/{t['name']}.jsonl": t for t in manifest["tables"]}
    for file in manifest["files"]:
        if not is_inside(file["name"]):
            raise _damaged(_("the name “%s” leads out of its folder") % file["name"][:80])
        wanted[f"files/{file['name']}"] = file
    return wanted


def is_inside(name: str) -> bool:
    """Whether a name of a file stays inside the folder it is put into."""
    parts = PurePosixPath(name).parts
    plain = not any(part.startswith(".") or "\\" in part or ":" in part or "\0" in part for part in parts)
    return bool(parts) and plain and not name.startswith("/") and str(PurePosixPath(*parts)) == name


def _check_entry(archive: zipfile.ZipFile, name: str, entry: dict[str, Any], alive: Callable[[], None]) -> None:
    """``alive`` is called all the while: a small entry may unpack to very much, and must be possible to stop."""
    try:
        info = archive.getinfo(name)
    except KeyError:
        raise _damaged(_("“%s” is missing") % name[:120]) from None
    digest, size, rows = hashlib.sha256(), 0, 0
    alive()
    with archive.open(info) as file:
        while chunk := file.read(CHUNK):
            digest.update(chunk)
            size += len(chunk)
            if size % SIGN_EVERY < CHUNK:
                alive()
            rows += chunk.count(b"\n")
            if size > entry.get("size", size) or rows > entry.get("rows", rows):
                break
    right = size == entry["size"] if "size" in entry else rows == entry["rows"]
    if not right or digest.hexdigest() != entry["sha256"]:
        raise _damaged(_("“%s” does not agree with its checksum") % name[:120])
