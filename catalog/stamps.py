"""A stamp on each kind of component, moved by the database itself whenever a component of the kind changes.

What is worked out from the catalogue and kept may be used again as long as the stamps are the same. Triggers move
them, so that no way of writing is forgotten: services, bulk updates, restores, SQL typed by hand. A stamp is a random
number, never a counter: a change that is rolled back must not leave its number to another one.

SQLite drops a table's triggers when a migration rebuilds it, so they are laid again after every ``migrate``.
"""

from __future__ import annotations

from typing import Any

from django.db import connection

TABLE = "catalog_kindstamp"
SQLITE_EVENTS = {"INSERT": ("NEW",), "DELETE": ("OLD",), "UPDATE": ("OLD", "NEW")}
POSTGRESQL_FUNCTION = f"""
CREATE OR REPLACE FUNCTION loomwright_stamp() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF TG_OP = 'TRUNCATE' THEN
    UPDATE {TABLE} SET stamp = (random() * 9e15)::bigint;
  ELSIF TG_OP = 'INSERT' THEN
    INSERT INTO {TABLE} (kind, stamp)
      SELECT kind, (random() * 9e15)::bigint FROM (SELECT DISTINCT kind FROM fresh ORDER BY kind) AS moved
      ON CONFLICT (kind) DO UPDATE SET stamp = EXCLUDED.stamp;
  ELSIF TG_OP = 'DELETE' THEN
    INSERT INTO {TABLE} (kind, stamp)
      SELECT kind, (random() * 9e15)::bigint FROM (SELECT DISTINCT kind FROM stale ORDER BY kind) AS moved
      ON CONFLICT (kind) DO UPDATE SET stamp = EXCLUDED.stamp;
  ELSE
    INSERT INTO {TABLE} (kind, stamp)
      SELECT kind, (random() * 9e15)::bigint
      FROM (SELECT kind FROM fresh UNION SELECT kind FROM stale ORDER BY kind) AS moved
      ON CONFLICT (kind) DO UPDATE SET stamp = EXCLUDED.stamp;
  END IF;
  RETURN NULL;
END $$"""  # noqa: S608 (constants)
"""Rows in the order of their kinds, so that two transactions that edit many kinds cannot wait for each other."""
POSTGRESQL_EVENTS = {
    "insert": "AFTER INSERT ON catalog_component REFERENCING NEW TABLE AS fresh",
    "delete": "AFTER DELETE ON catalog_component REFERENCING OLD TABLE AS stale",
    "update": "AFTER UPDATE ON catalog_component REFERENCING OLD TABLE AS stale NEW TABLE AS fresh",
    "truncate": "AFTER TRUNCATE ON catalog_component",
}


def stamps() -> dict[str, int]:
    """The stamp of every kind that has or had components, in one query."""
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT kind, stamp FROM {TABLE} ORDER BY kind")  # noqa: S608 (a constant)
        return dict(cursor.fetchall())


def lay_triggers(**kwargs: Any) -> None:
    """Lay the triggers that move the stamps, in place of any there are. Called after every ``migrate``."""
    if not {TABLE, "catalog_component"} <= set(connection.introspection.table_names()):
        return  # migrated back to before there were any
    with connection.cursor() as cursor:
        for statement in _postgresql() if connection.vendor == "postgresql" else _sqlite():
            cursor.execute(statement)


def _postgresql() -> list[str]:
    laid = [POSTGRESQL_FUNCTION]
    for name, when in POSTGRESQL_EVENTS.items():
        laid.append(f"DROP TRIGGER IF EXISTS catalog_stamp_{name} ON catalog_component")
        laid.append(
            f"CREATE TRIGGER catalog_stamp_{name} {when} FOR EACH STATEMENT EXECUTE FUNCTION loomwright_stamp()"
        )
    return laid


def _sqlite() -> list[str]:
    laid = []
    for event, rows in SQLITE_EVENTS.items():
        name = f"catalog_stamp_{event.lower()}"
        moves = " ".join(
            f"INSERT INTO {TABLE} (kind, stamp) VALUES ({row}.kind, random() >> 11) "  # noqa: S608 (constants)
            "ON CONFLICT (kind) DO UPDATE SET stamp = excluded.stamp;"
            for row in rows
        )
        laid += [
            f"DROP TRIGGER IF EXISTS {name}",
            f"CREATE TRIGGER {name} AFTER {event} ON catalog_component BEGIN {moves} END",
        ]
    return laid
