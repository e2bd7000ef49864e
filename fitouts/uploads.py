"""Stops reading a file that is too large, so that it never fills the disk, and keeps large ones out of memory.

Every address takes 10 MB. One that takes more says so with :func:`take_larger`: its file is written straight into the
private folder, and is gone when the request ends unless somebody took it.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.core.files.storage import default_storage
from django.core.files.uploadedfile import UploadedFile
from django.core.files.uploadhandler import FileUploadHandler, SkipFile, StopFutureHandlers

from fitouts.services.photos import MAX_BYTES

PART = ".part"
"""Ending of a file that nobody has taken yet."""


def is_disk_full(error: OSError) -> bool:
    """Whether there is no room left: on the disk, or of what this account may take of it."""
    return error.errno in (errno.ENOSPC, errno.EDQUOT)


@dataclass(frozen=True, slots=True)
class Larger:
    """What an address takes beyond the ordinary: one file of so many bytes, from people who may."""

    max_bytes: int
    folder: str
    """In the private folder."""
    may: Callable[[Any], bool]


_larger: dict[str, Larger] = {}


def take_larger(name: str, larger: Larger) -> None:
    """Let the address of this name take a larger file than others."""
    _larger[name] = larger


def larger_for(request: Any) -> Larger | None:
    """What the address asked for takes beyond the ordinary; ``None`` for any other."""
    match = getattr(request, "resolver_match", None)
    return _larger.get(match.view_name) if match is not None else None


class SizeLimit(FileUploadHandler):
    """The first handler: drops what is past the limit, all files of a request together, and notes it on the request."""

    taken = 0
    files = 0

    def new_file(self, *args: Any, **kwargs: Any) -> None:
        super().new_file(*args, **kwargs)
        larger = larger_for(self.request)
        if larger is None:
            return
        if not larger.may(getattr(self.request, "user", None)):
            raise SkipFile  # the view answers; nothing is kept of it
        self.files += 1
        if self.files > 1:
            self.request.too_many_files = True  # type: ignore[union-attr]
            raise SkipFile

    def receive_data_chunk(self, raw_data: bytes, start: int) -> bytes:
        self.taken += len(raw_data)
        larger = larger_for(self.request)
        if self.taken > (larger.max_bytes if larger else MAX_BYTES):
            self.request.file_too_large = True  # type: ignore[union-attr]
            raise SkipFile
        return raw_data

    def file_complete(self, file_size: int) -> Any:
        return None


class StraightToFolder(FileUploadHandler):
    """The second: writes the file of an address that takes a larger one to the private folder, as it comes in."""

    upload: LargeUpload | None = None

    def new_file(self, *args: Any, **kwargs: Any) -> None:
        super().new_file(*args, **kwargs)
        larger = larger_for(self.request)
        if larger is None:
            return
        self.upload = LargeUpload(larger.folder, self.file_name, self.content_type)
        raise StopFutureHandlers

    def receive_data_chunk(self, raw_data: bytes, start: int) -> bytes | None:
        if self.upload is None:
            return raw_data
        try:
            self.upload.take_in(raw_data)
        except OSError as error:
            if not is_disk_full(error):
                raise
            self.request.disk_full = True  # type: ignore[union-attr]
            self._drop()
            raise SkipFile from error
        return None

    def file_complete(self, file_size: int) -> Any:
        if self.upload is None:
            return None
        upload, self.upload = self.upload, None
        upload.ready(file_size)
        return upload

    def upload_interrupted(self) -> None:
        self._drop()

    def upload_complete(self) -> None:
        self._drop()

    def _drop(self) -> None:
        if self.upload is not None:
            self.upload.close()
            self.upload = None


class LargeUpload(UploadedFile):
    """A file in the private folder, readable by its owner alone, with its checksum. Closing erases it unless taken."""

    def __init__(self, folder: str, name: str | None, content_type: str | None) -> None:
        place = Path(default_storage.path(folder))
        place.mkdir(mode=0o700, parents=True, exist_ok=True)
        self.path = place / f".{uuid.uuid4().hex}{PART}"
        descriptor = os.open(self.path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600)
        self._sum = hashlib.sha256()
        self._open = os.fdopen(descriptor, "w+b")
        super().__init__(self._open, name, content_type, 0)

    def take_in(self, chunk: bytes) -> None:
        self._sum.update(chunk)
        self._open.write(chunk)

    def ready(self, size: int) -> None:
        """All of it is here and forced to disk."""
        self.size, self.sha256 = size, self._sum.hexdigest()
        self._open.flush()
        os.fsync(self._open.fileno())
        self._open.seek(0)

    def take(self, path: Path) -> None:
        """Keep the file at ``path``, which becomes it whole or not at all."""
        os.replace(self.path, path)

    def close(self) -> None:
        super().close()
        with contextlib.suppress(FileNotFoundError):
            self.path.unlink()
