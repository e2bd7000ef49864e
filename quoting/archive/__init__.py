"""The whole workshop in one file with checksums, and back: the same file on SQLite and on PostgreSQL.

An archive is a zip with ``manifest.json``, ``manifest.sha256``, one ``rows/<table>.jsonl`` for each table and
``files/…`` for each file that a row names. ``content_sha256`` is the same for equal workshops on either database.
"""

from __future__ import annotations

FORMAT = "loomwright.archive/1"


class ArchiveRefused(Exception):
    """An archive that is not written or not taken in, in a sentence a person can act on. Nothing was changed."""


__all__ = ["FORMAT", "ArchiveRefused"]
