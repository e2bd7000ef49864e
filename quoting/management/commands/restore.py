"""Put a whole workshop back from an archive."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management import BaseCommand, CommandError
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone

from quoting.archive import ArchiveRefused, reading, restoring, writing
from quoting.models import Archive
from quoting.services import archives


class Command(BaseCommand):
    help = "Put a workshop back from an archive, into an empty database; over another workshop only when it is named."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", help="The archive.")
        parser.add_argument("--replace", default="", metavar="NAME", help="Name of the workshop to replace.")
        parser.add_argument("--check", action="store_true", help="Only check the archive and say what it holds.")

    def handle(self, *, file: str, replace: str, check: bool, **options: Any) -> None:
        executor = MigrationExecutor(connection)
        if executor.migration_plan(executor.loader.graph.leaf_nodes()):
            raise CommandError("The database is not up to date. Run `manage.py migrate` first.")
        try:
            contents = reading.check(Path(file))
            self.stdout.write(
                f"“{contents.workshop}”, made {contents.manifest['made_at']}: {contents.rows} rows, "
                f"{len(contents.manifest['files'])} files; every checksum is right."
            )
            if check:
                return
            here = restoring.workshop_here()
            if here and here == replace.strip():
                name = archives.new_name()
                written = writing.write(archives.folder() / name, made_at=timezone.now())
                archives.note_down(Archive.objects.create(name=name), written)
                self.stdout.write(f"What was here is kept in {written.path}.")
            restored = restoring.restore(contents, replace=replace)
        except (ArchiveRefused, OSError) as error:
            raise CommandError(str(error)) from None
        self.stdout.write(f"“{restored.workshop}” is back: {restored.rows} rows, {restored.files} files.")
        if restored.erased_again:
            self.stdout.write(f"{restored.erased_again} people erased since then were erased again.")
        if restored.set_aside:
            self.stdout.write(f"Files of the workshop that was here lie in {restored.set_aside}.")
