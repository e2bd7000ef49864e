"""Brief in, Appraisal out, as JSON; or one method by name. No database is touched.

The same as ``python -m quoting.sizing``, for who is at ``manage.py`` anyway.
"""

from __future__ import annotations

import sys
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from quoting.sizing import command


class Command(BaseCommand):
    help = command.HELP
    requires_system_checks: list[str] = []
    requires_migrations_checks = False

    def add_arguments(self, parser: ArgumentParser) -> None:
        command.add_arguments(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        code = command.perform(options, self.stdout.write, self.stderr.write)
        if code:
            sys.exit(code)
