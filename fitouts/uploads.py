"""Stops reading a file that is too large, so that it never fills the disk."""

from __future__ import annotations

from typing import Any

from django.core.files.uploadhandler import FileUploadHandler, SkipFile

from fitouts.services.photos import MAX_BYTES


class SizeLimit(FileUploadHandler):
    """The first handler: drops what is past the limit, all files of a request together, and notes it on the request."""

    taken = 0

    def receive_data_chunk(self, raw_data: bytes, start: int) -> bytes:
        self.taken += len(raw_data)
        if self.taken > MAX_BYTES:
            self.request.file_too_large = True  # type: ignore[union-attr]
            raise SkipFile
        return raw_data

    def file_complete(self, file_size: int) -> Any:
        return None
