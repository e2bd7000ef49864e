"""Cut the type that papers and drawings are set in, so that the first of them is as quick as the next."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand

from quoting.documents import fonts


class Command(BaseCommand):
    help = "Cut and keep the type of papers and drawings. Does nothing when it is there."

    def handle(self, *args: Any, **options: Any) -> None:
        fonts.cut()
