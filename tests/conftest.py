"""Fixtures for all tests."""

from __future__ import annotations

from collections.abc import Iterator
from importlib import import_module

import pytest
from django.db import connection
from django.test import TransactionTestCase

_frozen = import_module("quoting.migrations.0002_frozen_snapshots")


@pytest.fixture(autouse=True, scope="session")
def _flush_may_empty_frozen_tables() -> Iterator[None]:
    """Tests that commit are followed by a flush, which the triggers on frozen records rightly refuse."""
    flush = TransactionTestCase._fixture_teardown

    def thawed(self: TransactionTestCase) -> None:
        with connection.schema_editor() as editor:
            _frozen.allow_changes(None, editor)
        try:
            flush(self)
        finally:
            with connection.schema_editor() as editor:
                _frozen.refuse_changes(None, editor)

    TransactionTestCase._fixture_teardown = thawed
    yield
    TransactionTestCase._fixture_teardown = flush


@pytest.fixture
def files(settings, tmp_path):
    """A folder of its own for papers and photos."""
    folder = tmp_path / "files"
    settings.STORAGES = {
        **settings.STORAGES,
        "default": {
            "BACKEND": "django.core.files.storage.FileSystemStorage",
            "OPTIONS": {"location": folder, "base_url": None},
        },
    }
    settings.MEDIA_ROOT = folder
    return folder
