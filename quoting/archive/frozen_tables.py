"""The one way past the triggers of frozen tables: while a whole workshop is put back, inside its transaction."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from typing import Any

from django.db import connection

_migration = import_module("quoting.migrations.0002_frozen_snapshots")


class _Plain:
    """As much of a schema editor as the migration asks for. A real one refuses to open inside a transaction."""

    def __init__(self) -> None:
        self.connection = connection

    def execute(self, sql: str, params: Any = None) -> None:
        with connection.cursor() as cursor:
            cursor.execute(sql, params)


@contextmanager
def unlocked() -> Iterator[None]:
    """Take the triggers away and put them back; a failure in between rolls both back with the rest."""
    if not connection.in_atomic_block:
        raise RuntimeError("Frozen tables are opened only inside a transaction.")
    _migration.allow_changes(None, _Plain())
    yield
    connection.check_constraints()  # PostgreSQL changes no trigger of a table with checks pending
    _migration.refuse_changes(None, _Plain())
