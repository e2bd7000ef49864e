"""Fill an empty workshop with the demo."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from fitouts.models import Workshop
from quoting.demo.load import load


class Command(BaseCommand):
    """``manage.py load_demo``: prints the accounts with their passwords, once."""

    help = "Fill an empty workshop with invented customers, vehicles, components and jobs."

    def handle(self, *args: Any, **options: Any) -> None:
        if Workshop.objects.exists():
            raise CommandError("There is a workshop already; the demo goes only into an empty one.")
        for account in load():
            self.stdout.write(f"{account.username:10} {account.password}   {account.role}")
