"""Half-configured servers are told so."""

from __future__ import annotations

from importlib import import_module

import pytest
from django.core.checks import run_checks
from django.core.checks.registry import Tags
from django.db import connection

from fitouts import checks


@pytest.fixture
def home(settings, tmp_path):
    tmp_path.chmod(0o700)
    settings.HOME = tmp_path
    settings.ALLOWED_HOSTS = ["127.0.0.1", "localhost", "[::1]"]  # the test runner adds its own
    return tmp_path


def ids() -> list[str]:
    return sorted(message.id for message in checks.check_server())


def test_bare_defaults_are_quiet(home):
    assert ids() == []


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"PUBLIC_URL": "http://shop.example", "SECURE_HTTPS": False}, "loomwright.W001"),
        ({"ALLOWED_HOSTS": ["127.0.0.1", "bay4.example"]}, "loomwright.W002"),
        ({"ALLOWED_HOSTS": ["*"], "PUBLIC_URL": "https://shop.example", "SECURE_HTTPS": True}, "loomwright.E003"),
        ({"DEBUG": True}, "loomwright.W005"),
        ({"DEBUG": True, "PUBLIC_URL": "https://shop.example", "SECURE_HTTPS": True}, "loomwright.E005"),
    ],
)
def test_settings_that_do_not_belong_together(home, settings, monkeypatch, changes, expected):
    monkeypatch.setattr("os.geteuid", lambda: 1000)
    for name, value in changes.items():
        setattr(settings, name, value)

    messages = checks.check_server()

    assert [message.id for message in messages] == [expected]
    assert all(message.hint for message in messages)


@pytest.mark.skipif("connection.vendor != 'sqlite'", reason="the warning is about SQLite")
def test_queue_for_many_computers_with_a_database_for_one(home, settings):
    settings.REDIS_URL = "redis://127.0.0.1/0"

    assert ids() == ["loomwright.W004"]


def test_root_behind_a_public_address(home, settings, monkeypatch):
    settings.PUBLIC_URL, settings.SECURE_HTTPS = "https://shop.example", True
    monkeypatch.setattr("os.geteuid", lambda: 0)

    assert ids() == ["loomwright.W006"]


def test_open_folder_and_open_key(home):
    (home / "secret_key").write_text("x")
    (home / "secret_key").chmod(0o644)
    home.chmod(0o755)

    assert ids() == ["loomwright.E008", "loomwright.W007"]


@pytest.mark.django_db
def test_missing_triggers_are_an_error():
    frozen = import_module("quoting.migrations.0002_frozen_snapshots")

    def found() -> list[str]:
        return [m.msg for m in run_checks(tags=[Tags.database], databases=["default"]) if m.id == "loomwright.E010"]

    assert found() == []
    on_table = " ON quoting_snapshot" if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TRIGGER quoting_snapshot_kept{on_table}")

    assert found() == ["The table quoting_snapshot accepts changes: its triggers are missing."]
    assert frozen.TABLES == checks.FROZEN
