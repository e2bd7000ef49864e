"""What a fault drill runs besides the workers themselves.

Loaded by a worker under drill (``-I``), it makes every paper one small page, so that two hundred take seconds, waits
a moment over each, notes each beginning, and lets the disk run full when a file says so: half of a paper is written and
then the system refuses. Run as a program it is the desk: it asks for papers, presses Retry and counts, told by lines.
"""

from __future__ import annotations

import errno
import hashlib
import io
import json
import os
import signal
import sys
import time
from pathlib import Path
from typing import Any

PAUSE_S = float(os.environ.get("DRILL_PAUSE_S", "0.02"))


def _home() -> Path:
    return Path(os.environ["LOOMWRIGHT_HOME"])


# --- In the worker ----------------------------------------------------------------------------------------


def _small(kind: str, body: dict[str, Any], personal: Any, checksum: str, form: str = "") -> Any:
    from reportlab.pdfgen.canvas import Canvas

    from quoting.documents.render import Rendered

    with (_home() / "begun").open("a", encoding="utf-8") as file:
        file.write(f"{os.getpid()}\n")
    out = io.BytesIO()
    canvas = Canvas(out, invariant=1)
    canvas.drawString(72, 720, f"{kind} {checksum}")
    for line in range(200):  # long enough to be cut in half
        canvas.drawString(72, 700 - 3 * line, f"{checksum} {line}")
    canvas.save()
    time.sleep(PAUSE_S)
    return Rendered(out.getvalue(), 1, "drill")


class _FullDisk:
    """The system's calls, but a paper's file takes half of what is written while the disk is full."""

    def __getattr__(self, name: str) -> Any:
        return getattr(os, name)

    def fdopen(self, *args: Any, **kwargs: Any) -> Any:
        file = os.fdopen(*args, **kwargs)
        if not (_home() / "full").exists():
            return file
        whole = file.write

        def half(content: bytes) -> int:
            whole(content[: len(content) // 2])
            file.flush()
            raise OSError(errno.ENOSPC, "No space left on device")

        return _Writing(file, half)


class _Writing:
    def __init__(self, file: Any, write: Any) -> None:
        self.file, self.write = file, write

    def __enter__(self) -> _Writing:
        return self

    def __exit__(self, *error: Any) -> None:
        self.file.close()

    def __getattr__(self, name: str) -> Any:
        return getattr(self.file, name)


if os.environ.get("DRILL"):  # not when pytest only looks for doctests here
    from quoting.documents import render as module
    from quoting.services import paper_files

    module.render = _small
    paper_files.os = _FullDisk()


# --- At the desk ------------------------------------------------------------------------------------------


def _ask(title: str, count: int, die_at: int = -1) -> dict[str, Any]:
    """Ask for ``count`` papers, each for a job of its own; ended from outside before the message of one."""
    from django.db import transaction

    from fitouts.models import Customer, Fitout, Vehicle
    from quoting.services import background, documents, snapshots
    from tests.quoting.documents.sample import quote_body

    owner = Customer.objects.first() or Customer.objects.create(name="Mira Oakhollow")
    wagon = Vehicle.objects.first() or Vehicle.objects.create(customer=owner, make="Brindle", model="Carrier")
    with transaction.atomic():
        snapshot = snapshots.freeze(kind="quote", body=quote_body(), personal=None, customer_id=None, by=None)
    first, send = Fitout.objects.count(), background._send
    for number in range(count):
        if number == die_at:
            background._send = lambda *args: os.kill(os.getpid(), signal.SIGKILL)
        fitout = Fitout.objects.create(number=f"D{first + number:06}", title=title, customer=owner, vehicle=wagon)
        documents.ask(kind="quote", snapshot=snapshot, fitout=fitout, title=title, by=None)
    background._send = send
    return {"asked": count}


def _count(title: str) -> dict[str, Any]:
    """How the papers of a drill stand, and what lies in the folder for them."""
    from django.core.files.storage import default_storage

    from quoting.models import Document
    from quoting.services.paper_files import FOLDER

    folder = Path(default_storage.path(FOLDER))
    papers = list(Document.objects.filter(title=title).select_related("job"))
    states = [paper.job.state for paper in papers]
    made = [paper for paper in papers if paper.file]
    twice = half = 0
    for paper in papers:
        files = list(folder.glob(f"{paper.pk:08d}-*.pdf"))
        half += len(list(folder.glob(f".{paper.pk:08d}-*.part")))
        half += sum(hashlib.sha256(path.read_bytes()).hexdigest()[:16] != path.stem.partition("-")[2] for path in files)
        half += (
            bool(paper.file)
            and paper.sha256 != hashlib.sha256(default_storage.open(paper.file.name).read()).hexdigest()
        )
        twice += max(0, len(files) - 1)
    return {
        "asked": len(papers),
        "made": len(made),
        "done": states.count("done"),
        "failed": states.count("failed"),
        "open": states.count("queued") + states.count("running"),
        "twice": twice,
        "half": half,
        "attempts": sum(paper.job.attempts for paper in papers),
    }


def _retry(title: str) -> dict[str, Any]:
    from fitouts.models import User
    from quoting.models import Document
    from quoting.services import documents

    by = User.objects.first() or User.objects.create_user("drill", password=os.urandom(9).hex(), role="estimator")
    failed = Document.objects.filter(title=title, job__state="failed")
    return {"again": sum(documents.retry(document, by=by) for document in failed)}


def _double(title: str) -> dict[str, Any]:
    """Send the message of every paper once more."""
    from quoting.models import BackgroundJob
    from quoting.services import background

    jobs = BackgroundJob.objects.filter(documents__title=title).values_list("pk", "queue")
    return {"sent": sum(background._send(*job) for job in jobs)}


DEEDS = {"ask": _ask, "count": _count, "retry": _retry, "double": _double}


def desk() -> None:
    """Answer each line ``["deed", arguments...]`` with a line of JSON."""
    import django

    django.setup()
    for line in sys.stdin:
        deed, *arguments = json.loads(line)
        print(json.dumps(DEEDS[deed](*arguments)), flush=True)


if __name__ == "__main__":
    desk()
