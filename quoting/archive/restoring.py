"""Put a workshop back from a checked archive: all of it, in one transaction, or nothing."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from pathlib import Path
from typing import Any

from django.apps import apps
from django.core.exceptions import ValidationError
from django.core.files.storage import default_storage
from django.core.management.color import no_style
from django.db import DatabaseError, connection, migrations, models, transaction
from django.db.migrations.loader import MigrationLoader
from django.utils import timezone
from django.utils.translation import gettext as _

from fitouts.models import Customer, Workshop
from quoting.archive import ArchiveRefused
from quoting.archive.frozen_tables import unlocked
from quoting.archive.reading import Contents
from quoting.archive.tables import APPS, LEFT_OUT, columns, lines, read, tables
from quoting.archive.writing import Tick, sha256_of
from quoting.models import BackgroundJob

BATCH = 500
ENDED = ("backup", "archive_check", "restore", "sheet_check", "sheet_save")
"""Kinds of background work that make no sense any more once the workshop is another one."""


@dataclass(frozen=True, slots=True)
class Restored:
    """What was put back."""

    workshop: str
    rows: int
    files: int
    erased_again: int
    """People erased here after the archive was made; they stay erased."""
    set_aside: Path | None
    """Where the files of the workshop that was here lie now."""


def workshop_here() -> str:
    """Name of the workshop this database holds, or nothing when it is empty."""
    name = Workshop.objects.values_list("name", flat=True).first()
    if name is not None:
        return name or "?"
    return "?" if any(model._base_manager.exists() for model in tables()) else ""


def restore(
    contents: Contents,
    *,
    replace: str = "",
    tick: Tick = lambda done, of: None,
    held: Callable[[], None] = lambda: None,
) -> Restored:
    """Put the workshop of an archive into this database.

    What is here is replaced only when ``replace`` is its name; then its files are set aside, not deleted. Everybody is
    signed out. ``held`` is called once nobody else can write any more, and may raise to stop. Raises
    :class:`ArchiveRefused` with nothing changed, ``OSError`` when the disk is full.
    """
    here = workshop_here()
    if here and replace.strip() != here:
        raise ArchiveRefused(
            _("This database holds the workshop “%(name)s”. Nothing was restored. To replace it, give its name.")
            % {"name": here}
        )
    defaults = _fitting(contents)
    _put_files(contents, tick)  # beside what is there: nobody sees them before the rows name them
    with transaction.atomic():
        _hold_everybody_off()
        held()
        erased = dict(Customer.objects.exclude(erased_at=None).values_list("pk", "created_at"))
        with unlocked():
            _empty()
            for model in tables():
                _insert(model, contents, defaults)
            _check_references()
        _sequences()
        _must_be_equal(contents)
        again = _erase_again(erased)
        _follow_up()
    aside = _set_aside() if here else None
    return Restored(contents.workshop, contents.rows, len(contents.manifest["files"]), again, aside)


# --- Does it fit this program ------------------------------------------------------------------------


def _fitting(contents: Contents) -> dict[str, dict[str, Any]]:
    """Values for columns that are newer than the archive, by table; refuses what cannot be carried over."""
    loader = MigrationLoader(connection)
    known = {key for key in loader.disk_migrations if key[0] in APPS}
    theirs = {(app, name) for app, name in contents.manifest["migrations"]}
    if theirs - known:
        name = "{}.{}".format(*sorted(theirs - known)[0])
        raise ArchiveRefused(
            _("This archive was made by a newer version (it knows “%s”). Update Loomwright first.") % name
        )
    for key in sorted(known - theirs):
        if any(isinstance(o, migrations.RunPython | migrations.RunSQL) for o in loader.disk_migrations[key].operations):
            raise ArchiveRefused(
                _("This archive is older than “%s”, which rewrites data. Restore it with the version it was made by, "
                  "then update.") % "{}.{}".format(*key)
            )  # fmt: skip
    ours = {model._meta.label_lower: model for model in tables()}
    defaults: dict[str, dict[str, Any]] = {}
    for table in contents.manifest["tables"]:
        model = ours.get(table["name"])
        mine = {field.attname: field for field in columns(model)} if model else {}
        strange = [name for name in table["columns"] if name not in mine]
        if model is None or strange:
            what = table["name"] + (f".{strange[0]}" if model and strange else "")
            raise ArchiveRefused(_("This version has no place for “%s”. Nothing was restored.") % what)
        defaults[table["name"]] = {
            name: _default(field) for name, field in mine.items() if name not in table["columns"]
        }
    return defaults


def _default(field: Any) -> Any:
    if not field.has_default() and not field.null and not field.empty_strings_allowed:
        raise ArchiveRefused(
            _("This archive lacks “%s”, which has no default. Restore it with the version it was made by.") % field
        )
    return field.get_default()


# --- Files -------------------------------------------------------------------------------------------


def _put_files(contents: Contents, tick: Tick) -> None:
    """Lay every file in its place. Names carry a checksum or chance in them: a file that is there is the same one."""
    entries = contents.manifest["files"]
    for done, entry in enumerate(entries):
        tick(done, len(entries))
        path = Path(default_storage.path(entry["name"]))
        if path.is_file() and sha256_of(path) == entry["sha256"]:
            continue
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        part = path.with_name(f".{path.name}.part")
        try:
            with part.open("wb") as file:
                part.chmod(0o600)
                for chunk in contents.file(entry["name"]):
                    file.write(chunk)
            if sha256_of(part) != entry["sha256"]:
                raise ArchiveRefused(_("“%s” changed while it was read. Nothing was restored.") % entry["name"])
            if path.exists():  # damaged, or not what its name says
                path.replace(path.with_name(f"{path.name}.before"))
            part.replace(path)
        finally:
            part.unlink(missing_ok=True)


def _set_aside() -> Path | None:
    """Move files that no row names any more out of the way of the new workshop; they are the old one's."""
    root = Path(default_storage.path(""))
    named = {
        str(name)
        for model in tables()
        for field in columns(model)
        if isinstance(field, models.FileField)
        for name in model._base_manager.exclude(**{field.attname: ""}).values_list(field.attname, flat=True)
    }
    target = root.parent / f"{root.name}-before-{timezone.now():%Y%m%d-%H%M%S}"
    moved = 0
    for path in sorted(p for p in root.rglob("*") if p.is_file()):
        name = path.relative_to(root).as_posix()
        if name not in named:
            (target / name).parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            path.replace(target / name)
            moved += 1
    return target if moved else None


# --- Rows --------------------------------------------------------------------------------------------


def _hold_everybody_off() -> None:
    """SQLite lets one write at a time; PostgreSQL is asked to."""
    if connection.vendor == "postgresql":
        names = ", ".join(connection.ops.quote_name(model._meta.db_table) for model in tables())
        with connection.cursor() as cursor:
            cursor.execute(f"LOCK TABLE {names} IN ACCESS EXCLUSIVE MODE")


def _empty() -> None:
    archives = apps.get_model("quoting", "Archive")
    archives._base_manager.update(job=None, asked_by=None)
    for label in (*LEFT_OUT, "sessions.session"):
        if label != "quoting.archive":
            _all_of(label).delete()
    for model in tables():
        model._base_manager.all()._raw_delete(connection.alias)


def _all_of(label: str) -> models.QuerySet[Any]:
    found = {m._meta.label_lower: m for m in apps.get_models(include_auto_created=True)}
    return found[label]._base_manager.all()


def _insert(model: type[models.Model], contents: Contents, defaults: dict[str, dict[str, Any]]) -> None:
    """Rows as they were: no default, no time stamp and no history is added."""
    name = model._meta.label_lower
    table = next((t for t in contents.manifest["tables"] if t["name"] == name), None)
    if table is None:
        return  # newer than the archive: empty
    fields = {field.attname: field for field in columns(model)}
    rows = _rows(model, fields, table, defaults[name], contents)
    number = 0
    try:
        while batch := list(islice(rows, BATCH)):
            rows_of: Any = model._base_manager.all()
            rows_of._insert(batch, fields=list(fields.values()), using=connection.alias, raw=True)
            number += len(batch)
    except (DatabaseError, ValueError) as error:  # ValueError: a NUL, which PostgreSQL has no way to keep
        raise ArchiveRefused(
            _("Table %(table)s, after row %(number)d: the database refuses it (%(why)s). Nothing was restored.")
            % {"table": name, "number": number, "why": str(error).strip().splitlines()[0]}
        ) from error


def _rows(
    model: type[models.Model],
    fields: dict[str, Any],
    table: dict[str, Any],
    defaults: dict[str, Any],
    contents: Contents,
) -> Iterator[models.Model]:
    order = [fields[name] for name in table["columns"]]
    for number, values in enumerate(contents.lines(table["name"]), start=1):
        row = model()
        try:
            for field, value in zip(order, values, strict=True):
                setattr(row, field.attname, read(field, value))
        except (ValidationError, ValueError, TypeError) as error:
            why = "; ".join(error.messages) if isinstance(error, ValidationError) else str(error)
            raise ArchiveRefused(
                _("Table %(table)s, row %(number)d cannot be read (%(why)s). Nothing was restored.")
                % {"table": table["name"], "number": number, "why": why}
            ) from error
        for name, value in defaults.items():
            setattr(row, name, value)
        yield row


def _check_references() -> None:
    try:
        connection.check_constraints()
    except DatabaseError as error:
        raise ArchiveRefused(
            _("A row points at one that is not in the archive (%s). Nothing was restored.") % str(error).strip()
        ) from error


def _sequences() -> None:
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), list(tables())):
            cursor.execute(statement)


def _must_be_equal(contents: Contents) -> None:
    """Read back what was written and hold it against the archive, table by table."""
    for table in contents.manifest["tables"]:
        model = apps.get_model(table["name"])
        if [field.attname for field in columns(model)] != table["columns"]:
            continue  # columns were added since
        digest = hashlib.sha256()
        for line in lines(model):
            digest.update(line)
        if digest.hexdigest() != table["sha256"]:
            raise ArchiveRefused(
                _("Table %s came out differently from what the archive holds. Nothing was restored.") % table["name"]
            )


def _erase_again(erased: dict[int, datetime]) -> int:
    """Whoever was erased here stays erased, though the archive is older than that.

    Erased rows keep key and moment of entry: another workshop's customer of the same number is somebody else.
    """
    from quoting.services.erasure import wipe

    found = Customer.objects.filter(pk__in=erased, erased_at=None)
    again = [customer for customer in found if customer.created_at == erased[customer.pk]]
    for customer in again:
        wipe(customer, by=None)
    return len(again)


def _follow_up() -> None:
    """What is not in an archive, and what must not go on from where it stood."""
    from catalog.finding import index_all

    under_way = BackgroundJob.objects.filter(kind__in=ENDED, state__in=["queued", "running"])
    under_way.update(state="failed", reason=_("Ended when the workshop was restored."), lease_until=None)
    index_all()
