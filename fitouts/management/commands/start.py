"""Open the workshop: one command, one line when it is open, Ctrl-C to close."""

from __future__ import annotations

import http.client
import io
import os
import signal
import sys
import webbrowser
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.checks import Tags
from django.core.management import BaseCommand, CommandError, call_command
from django.db import connection, connections
from django.db.migrations.executor import MigrationExecutor

from catalog.finding import index_if_empty
from fitouts import opening
from fitouts.models import Workshop
from fitouts.supervisor import Child, ChildKeepsDying, Supervisor


class Command(BaseCommand):
    help = "Open the workshop on this computer: web server, two workers and the sweeper, until Ctrl-C."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--demo", action="store_true", help="Fill an empty workshop with an invented one.")
        parser.add_argument("--host", default="127.0.0.1", help="Address to listen at; this computer alone by default.")
        parser.add_argument("--port", type=int, default=8010, help="Port to listen at. Default 8010.")
        parser.add_argument("--no-open", action="store_true", help="Do not open a browser.")

    def handle(self, *, demo: bool, host: str, port: int, no_open: bool, **options: Any) -> None:
        if os.name == "nt":
            raise CommandError(
                "The web server and the workers need Linux or macOS. On Windows, start Loomwright inside WSL "
                "(Windows Subsystem for Linux)."
            )
        if not 1 <= port <= 65535:
            raise CommandError(f"--port {port}: write a number from 1 to 65535.")
        os.umask(0o077)  # for the children too: what they write is the owner's alone
        address = f"http://{f'[{host}]' if ':' in host else host}:{port}"
        try:
            with opening.only_one(settings.HOME, address):
                opening.must_be_free(host, port)
                self._prepare()
                notes = self._fill(demo)
                self._serve(host, port, address, notes, open_browser=not no_open)
        except opening.CannotOpen as error:
            raise CommandError(str(error)) from None

    def _prepare(self) -> None:
        """Folder, database, static files and type, each touched only when something changed."""
        settings.HOME.chmod(0o700)
        executor = MigrationExecutor(connection)
        if executor.migration_plan(executor.loader.graph.leaf_nodes()):
            self.stdout.write("Preparing the database …")
            call_command("migrate", verbosity=0, interactive=False)
        self.check(tags=[Tags.database], databases=["default"])
        if index_if_empty():
            self.stdout.write("The words that records are found by were gathered.")
        opening.collect_static_when_changed(Path(settings.STATIC_ROOT))
        call_command("prepare_papers")

    def _fill(self, demo: bool) -> list[str]:
        """What to say once the pages are open: demo passwords, or the code of the first run."""
        workshop = Workshop.objects.filter(pk=1).first()
        if workshop is None and demo:
            self.stdout.write("Filling the demo workshop …")
            words = io.StringIO()
            call_command("load_demo", stdout=words)
            return [words.getvalue().rstrip()]
        if workshop is None:
            from fitouts.services import first_run

            return [f"First run: open the address and enter the code {first_run.code()}"]
        if demo and workshop.is_demo:
            return ["The demo is as you left it. A password forgotten: manage.py changepassword NAME"]
        if demo:
            return [f"{workshop.name} is already here, so the demo was not loaded."]
        return []

    def _serve(self, host: str, port: int, address: str, notes: list[str], *, open_browser: bool) -> None:
        def tell() -> None:
            self.stdout.write(self.style.SUCCESS(f"Loomwright is open at {address}"))
            for note in notes:
                self.stdout.write(note)
            self.stdout.write("Ctrl-C closes it.")
            self.stdout.flush()
            if open_browser and _has_display():
                webbrowser.open(address)

        connections.close_all()  # children and this process must not share one
        try:
            Supervisor(_children(host, port)).run(ready=lambda: _answers(host, port), on_ready=tell)
        except ChildKeepsDying as error:
            raise CommandError(str(error)) from None
        self.stdout.write("Loomwright is closed.")


def _children(host: str, port: int) -> list[Child]:
    bind = f"[{host}]:{port}" if ":" in host else f"{host}:{port}"
    web = ["gunicorn", "fitouts.config.wsgi:application", "--bind", bind, "--workers", "2", "--preload"]
    web += ["--config", "python:fitouts.config.web", "--timeout", "60", "--graceful-timeout", "5"]
    web += ["--log-level", "warning", "--no-control-socket"]
    # Celery's warning about root says nothing that the check loomwright.W006 does not say more calmly.
    worker = [
        "-W",
        "ignore:You're running the worker",
        "-m",
        "celery",
        "--quiet",
        "-A",
        "fitouts.config",
        "worker",
        "-P",
        "solo",
        "--loglevel",
        "WARNING",
    ]
    worker += ["--without-mingle", "--without-gossip", "--without-heartbeat"]
    manage = str(settings.BASE_DIR / "manage.py")
    return [
        # gunicorn's own workers only hear of a death through their parent, so it is asked to end, not killed.
        Child("web server", [sys.executable, "-m", *web], orphan_signal=signal.SIGTERM),
        *(
            Child(f"{queue} worker", [sys.executable, *worker, "-Q", queue, "-n", f"{queue}@%h"])
            for queue in ("documents", "heavy")
        ),
        Child("sweeper", [sys.executable, manage, "sweep", "--every", "2", "--siblings", "--skip-checks"]),
    ]


def _answers(host: str, port: int) -> bool:
    """Whether the sign-in page comes back."""
    target = {"0.0.0.0": "127.0.0.1", "::": "::1"}.get(host, host)  # noqa: S104  (compared, not bound)
    web = http.client.HTTPConnection(target, port, timeout=10)
    try:
        web.request("GET", "/", headers={"Host": f"127.0.0.1:{port}"})
        return web.getresponse().status < 500
    except (OSError, http.client.HTTPException):
        return False
    finally:
        web.close()


def _has_display() -> bool:
    return sys.platform == "darwin" or bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))
