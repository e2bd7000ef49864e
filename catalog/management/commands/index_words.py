"""Fill, mend or check the index of words that records are found by."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from catalog.finding import FINDABLE, index_all


class Command(BaseCommand):
    """``manage.py index_words [--check]``: safe while the workshop is open; run again, it finds nothing to do."""

    help = "Bring the index of words that records are found by up to date."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--check", action="store_true", help="Only tell what is wrong; fails when something is.")

    def handle(self, *args: Any, check: bool, **options: Any) -> None:
        def tell(about: str, rows: int, words: int) -> None:
            name = str(FINDABLE[about].label)
            if options["verbosity"] > 1 or words:
                self.stdout.write(f"{name}: {rows} records, {words} words {'wrong' if check else 'put right'}")

        with transaction.atomic():
            wrong = index_all(check=check, tell=tell)
        if check and wrong:
            raise CommandError(f"{wrong} words are wrong. Put them right with: manage.py index_words")
        self.stdout.write("Every record is found by its words." if not wrong else f"{wrong} words were put right.")
