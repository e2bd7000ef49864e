"""Back the whole workshop up into one file."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management import BaseCommand, CommandError
from django.utils import timezone

from quoting.archive import ArchiveRefused, reading, writing
from quoting.models import Archive
from quoting.services import archives


class Command(BaseCommand):
    help = "Write every row and file of the workshop into one archive with checksums, and read it back."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", nargs="?", help="Where to. Default: a new file in the workshop's archive folder.")

    def handle(self, *, file: str | None, **options: Any) -> None:
        name = archives.new_name()
        target = Path(file) if file else archives.folder() / name
        if target.exists():
            raise CommandError(f"{target} is there already and is not overwritten.")
        try:
            written = writing.write(target, made_at=timezone.now())
            reading.check(target)
        except (OSError, ArchiveRefused) as error:
            raise CommandError(str(error)) from None
        if not file:
            archives.note_down(Archive.objects.create(name=name), written)
        self.stdout.write(
            f"{target}: {written.rows} rows, {written.files} files, {written.size} bytes, "
            f"content {written.content_sha256[:16]}."
        )
        for missing in written.missing:
            self.stderr.write(f"Named by a row and not on the disk: {missing}")
