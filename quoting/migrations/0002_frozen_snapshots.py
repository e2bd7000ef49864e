"""Frozen records refuse UPDATE and DELETE in the database itself.

SQLite drops a table's triggers when a later migration rebuilds the table: such a migration must call ``refuse_changes``
again (the system check ``loomwright.E010`` finds one that forgot).
"""

from django.db import migrations

TABLES = ("quoting_snapshot", "quoting_personalblock")


def refuse_changes(apps, schema_editor):
    vendor = schema_editor.connection.vendor
    allow_changes(apps, schema_editor)
    if vendor == "postgresql":
        schema_editor.execute(
            "CREATE OR REPLACE FUNCTION loomwright_frozen() RETURNS trigger LANGUAGE plpgsql AS "
            "$$ BEGIN RAISE EXCEPTION 'A frozen record in % is never changed or deleted.', TG_TABLE_NAME "
            "USING ERRCODE = 'restrict_violation'; END $$",
            params=None,
        )
        for table in TABLES:
            schema_editor.execute(
                f"CREATE TRIGGER {table}_frozen BEFORE UPDATE OR DELETE ON {table} "
                "FOR EACH ROW EXECUTE FUNCTION loomwright_frozen()"
            )
            schema_editor.execute(
                f"CREATE TRIGGER {table}_kept BEFORE TRUNCATE ON {table} "
                "FOR EACH STATEMENT EXECUTE FUNCTION loomwright_frozen()"
            )
    elif vendor == "sqlite":
        for table in TABLES:
            for what, name in (("UPDATE", "frozen"), ("DELETE", "kept")):
                schema_editor.execute(
                    f"CREATE TRIGGER {table}_{name} BEFORE {what} ON {table} "
                    f"BEGIN SELECT RAISE(ABORT, 'A frozen record in {table} is never changed or deleted.'); END"
                )
            # INSERT OR REPLACE deletes without firing a DELETE trigger, unless recursive triggers are on.
            schema_editor.execute(
                f"CREATE TRIGGER {table}_once BEFORE INSERT ON {table} "
                f"WHEN EXISTS (SELECT 1 FROM {table} WHERE id = NEW.id) "
                f"BEGIN SELECT RAISE(ABORT, 'A frozen record in {table} is never changed or deleted.'); END"
            )
    else:
        raise NotImplementedError(f"Frozen records know no triggers for {vendor}; use SQLite or PostgreSQL.")


def allow_changes(apps, schema_editor):
    vendor = schema_editor.connection.vendor
    for table in TABLES:
        for name in ("frozen", "kept", "once"):
            on_table = f" ON {table}" if vendor == "postgresql" else ""
            schema_editor.execute(f"DROP TRIGGER IF EXISTS {table}_{name}{on_table}")
    if vendor == "postgresql":
        schema_editor.execute("DROP FUNCTION IF EXISTS loomwright_frozen()")


class Migration(migrations.Migration):
    dependencies = [("quoting", "0001_initial")]
    operations = [migrations.RunPython(refuse_changes, allow_changes)]
