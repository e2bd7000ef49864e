"""Fill the demo, or an empty workshop, with a great many invented rows."""

from __future__ import annotations

import sys
import time
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from fitouts.models import Workshop
from quoting.demo.load import load
from quoting.demo.many import NotHere, refuse_real, seed


class Command(BaseCommand):
    """``manage.py seed_many --vehicles 100000 --components 300000``: to see how a large workshop does."""

    help = "Fill the demo, or an empty workshop, with invented rows by the thousand. Never a real workshop."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--vehicles", type=int, default=1000)
        parser.add_argument("--components", type=int, default=3000)
        parser.add_argument("--customers", type=int, help="A fifth as many as vehicles when not given.")
        parser.add_argument("--jobs", type=int, help="A fifth as many as vehicles when not given.")
        parser.add_argument("--seed", type=int, default=1, help="The same number gives the same rows.")

    def handle(self, *args: Any, **options: Any) -> None:
        fifth = options["vehicles"] // 5
        counts = {name: options[name] for name in ("components", "vehicles")}
        counts |= {name: fifth if options[name] is None else options[name] for name in ("customers", "jobs")}
        for name, count in counts.items():
            if not 0 <= count <= 2_000_000:
                raise CommandError(f"--{name} {count} is outside 0 to 2,000,000.")
        try:
            refuse_real()
        except NotHere as error:
            raise CommandError(str(error)) from None
        if not Workshop.objects.exists():
            self.stdout.write("The workshop is empty; the demo goes in first.")
            for account in load():
                self.stdout.write(f"{account.username:10} {account.password}   {account.role}")
        began = time.monotonic()
        seed(**counts, seed=options["seed"], say=self._progress)
        added = ", ".join(f"{count:,} {name}" for name, count in counts.items())
        took = round(time.monotonic() - began)
        self.stdout.write(f"Added {added}, each found by its words, without their histories, in {took} s.")

    def _progress(self, words: str) -> None:
        if sys.stderr.isatty() or words.endswith("0,000") or " of " not in words:
            self.stderr.write(words, ending="\r" if sys.stderr.isatty() else "\n")
