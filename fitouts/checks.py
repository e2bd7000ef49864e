"""A half-configured server says so: each message with what to do and an id."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, Warning, register
from django.db import connections

FROZEN = ("quoting_snapshot", "quoting_personalblock")
LOCAL = {"127.0.0.1", "localhost", "[::1]", "::1"}


@register(Tags.security)
def check_server(app_configs: Any = None, **kwargs: Any) -> list[CheckMessage]:
    """Settings that belong together, and are not."""
    return [*_address(), *_debug(), *_folder(), *_root()]


@register(Tags.database)
def check_database(
    app_configs: Any = None, databases: Iterable[str] | None = None, **kwargs: Any
) -> list[CheckMessage]:
    """Frozen records are guarded, once their tables are there."""
    messages: list[CheckMessage] = []
    for alias in databases or ():
        connection = connections[alias]
        with connection.cursor() as cursor:
            tables = set(connection.introspection.table_names(cursor))
            for table in FROZEN:
                if table in tables and not _guarded(cursor, connection.vendor, table):
                    messages.append(
                        Error(
                            f"The table {table} accepts changes: its triggers are missing.",
                            hint="A migration rebuilt the table. Add one that calls refuse_changes of "
                            "quoting/migrations/0002_frozen_snapshots.py again, before work goes on.",
                            id="loomwright.E010",
                        )
                    )
    return messages


def _address() -> list[CheckMessage]:
    messages: list[CheckMessage] = []
    public = settings.PUBLIC_URL
    if public and not settings.SECURE_HTTPS:
        messages.append(
            Warning(
                f"PUBLIC_URL is {public}: passwords and quotes would cross the network unencrypted.",
                hint="Put a web server with a certificate in front and write PUBLIC_URL=https://…",
                id="loomwright.W001",
            )
        )
    others = {host for host in settings.ALLOWED_HOSTS if host and host not in LOCAL}
    if others and not public:
        messages.append(
            Warning(
                f"ALLOWED_HOSTS lets in {', '.join(sorted(others))}, but PUBLIC_URL is not set.",
                hint="Set PUBLIC_URL to the https address people use; cookies are then only sent encrypted.",
                id="loomwright.W002",
            )
        )
    if "*" in settings.ALLOWED_HOSTS:
        messages.append(
            Error(
                "ALLOWED_HOSTS is *: any name would be believed, also in the links of a sign-in.",
                hint="Name the hosts, parted by commas.",
                id="loomwright.E003",
            )
        )
    if settings.REDIS_URL and connections["default"].vendor == "sqlite":
        messages.append(
            Warning(
                "Work is queued in Redis but kept in SQLite, which only serves one computer.",
                hint="Set DATABASE_URL to a PostgreSQL database when workers run on another computer.",
                id="loomwright.W004",
            )
        )
    return messages


def _debug() -> list[CheckMessage]:
    if not settings.DEBUG:
        return []
    if settings.PUBLIC_URL:
        return [
            Error(
                "DEBUG is on while PUBLIC_URL is set: faults would show the inside of the server to anybody.",
                hint="Unset DEBUG, or PUBLIC_URL while you develop.",
                id="loomwright.E005",
            )
        ]
    return [Warning("DEBUG is on.", hint="Unset it wherever real work is kept.", id="loomwright.W005")]


def _folder() -> list[CheckMessage]:
    home = Path(settings.HOME)
    messages: list[CheckMessage] = []
    if os.name == "posix" and home.exists() and home.stat().st_mode & 0o077:
        messages.append(
            Warning(
                f"Other people on this computer can look into {home}: database, papers and secret key.",
                hint=f"chmod 700 {home}",
                id="loomwright.W007",
            )
        )
    secret = home / "secret_key"
    if os.name == "posix" and secret.exists() and secret.stat().st_mode & 0o077:
        messages.append(
            Error(
                f"Other people on this computer can read {secret} and forge a sign-in.",
                hint=f"chmod 600 {secret}. If somebody may have read it, delete it: a new one is made.",
                id="loomwright.E008",
            )
        )
    if not os.access(home, os.W_OK):
        messages.append(
            Error(
                f"Nothing can be written to {home}.",
                hint="Give the user that runs Loomwright the folder, or choose another with LOOMWRIGHT_HOME.",
                id="loomwright.E009",
            )
        )
    return messages


def _root() -> list[CheckMessage]:
    if settings.PUBLIC_URL and hasattr(os, "geteuid") and os.geteuid() == 0:
        return [
            Warning(
                "A server that customers can reach runs as root.",
                hint="Make a user for it and give that user the folder LOOMWRIGHT_HOME.",
                id="loomwright.W006",
            )
        ]
    return []


def _guarded(cursor: Any, vendor: str, table: str) -> bool:
    """Whether both triggers that refuse UPDATE and DELETE stand on ``table``."""
    if vendor == "sqlite":
        cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = %s", [table])
    else:
        cursor.execute("SELECT tgname FROM pg_trigger WHERE tgrelid = %s::regclass AND tgenabled <> 'D'", [table])
    return {f"{table}_frozen", f"{table}_kept"} <= {row[0] for row in cursor.fetchall()}
