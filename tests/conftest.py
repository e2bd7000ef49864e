"""Fixtures for all tests."""

from __future__ import annotations

from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection, transaction
from django.test import TransactionTestCase, override_settings

_frozen = import_module("quoting.migrations.0002_frozen_snapshots")


SLOW = ("tests/e2e/test_pages", "tests/services/", "tests/e2e/", "tests/test_")
"""Files that take longest, in the order in which they are run."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What waits for processes and browsers comes first, so that at the end no worker is left alone with it."""
    items.sort(key=lambda item: next((at for at, path in enumerate(SLOW) if item.nodeid.startswith(path)), len(SLOW)))


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


@pytest.fixture(scope="module")
def kept_rows(django_db_setup, django_db_blocker) -> Iterator[None]:
    """What is made under this stays for the module; each test's own transaction is a savepoint inside it."""
    with django_db_blocker.unblock():
        outer = transaction.atomic()
        outer.__enter__()
        try:
            yield
        finally:
            transaction.set_rollback(True)
            outer.__exit__(None, None, None)


@pytest.fixture(scope="module")
def kept_files(tmp_path_factory) -> Iterator[Path]:
    """A folder for papers and photos that stays for the module, beside ``kept_rows``."""
    folder = tmp_path_factory.mktemp("files")
    default = {
        "BACKEND": "django.core.files.storage.FileSystemStorage",
        "OPTIONS": {"location": folder, "base_url": None},
    }
    with override_settings(STORAGES={**settings.STORAGES, "default": default}, MEDIA_ROOT=folder):
        yield folder
