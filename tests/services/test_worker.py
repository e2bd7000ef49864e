"""One paper through a real worker that is killed in the middle of it: made in the end, and made once."""

from __future__ import annotations

import hashlib
import io
import os
import signal

import pytest
from pypdf import PdfReader

from tests.services.running import Shop, give_time_to, wait_until

pytestmark = pytest.mark.service

ASK = """
import json
from django.db import transaction
from tests.factories.jobs import make_fitout, make_workshop
from tests.quoting.documents.sample import quote_body
from quoting.services import documents, snapshots
make_workshop()
fitout = make_fitout()
customer = {"kind": "person", "name": "Mira Oakhollow", "address": "", "phone": "", "email": "", "business_no": ""}
with transaction.atomic():
    snapshot = snapshots.freeze(
        kind="quote", body=quote_body(), customer_id=fitout.customer_id, by=None,
        personal={"customer": customer, "contact": None, "vehicle": {"registration": "XX 000", "vin": ""}},
    )
    document = documents.ask(kind="quote", snapshot=snapshot, fitout=fitout, title="Quote", by=None)
print(json.dumps({"document": document.pk}))
"""
LOOK = """
import json
from quoting.models import BackgroundJob, Document
job, paper = BackgroundJob.objects.get(), Document.objects.get()
print(json.dumps({"state": job.state, "attempts": job.attempts, "reason": job.reason, "sha256": paper.sha256,
                  "file": paper.file.name, "pages": paper.pages}))
"""


def lines(shop: Shop, name: str) -> list[str]:
    return shop.log(name).split()


def test_worker_killed_in_the_middle_of_a_paper(shop):
    (shop.home / "pause").touch()
    shop.python(ASK)
    first = shop.worker(JOB_LEASE_S="5")  # it holds its job so long beyond its death; the second takes its time
    wait_until(lambda: lines(shop, "begun"), 60, why=lambda: shop.log("worker.log"))

    os.kill(first.pid, signal.SIGKILL)
    first.wait()
    (shop.home / "pause").unlink()
    assert shop.python(LOOK)["state"] == "running"
    assert not list(shop.home.glob("files/papers/*.pdf"))
    second = shop.worker()
    shop.start("manage.py", "sweep", "--every", "1", log="sweep.log")

    wait_until(lambda: lines(shop, "ended"), 90, why=lambda: shop.log("worker.log") + shop.log("sweep.log"))
    wait_until(lambda: shop.python(LOOK)["state"] == "done", 60, why=lambda: shop.log("worker.log"))
    # On Redis the killed worker's message comes back after its visibility timeout; nothing may come of it.
    give_time_to(lambda: _handled(shop) >= 2 or "REDIS_URL" not in shop.environment, 25)

    seen = shop.python(LOOK)
    papers = list(shop.home.glob("files/papers/*"))
    pdf = papers[0].read_bytes()
    assert lines(shop, "begun") == [str(first.pid), str(second.pid)]
    assert lines(shop, "ended") == [str(second.pid)]
    assert (seen["attempts"], seen["reason"]) == (2, "")
    assert [path.name for path in papers] == [seen["file"].removeprefix("papers/")]
    assert hashlib.sha256(pdf).hexdigest() == seen["sha256"]
    assert len(PdfReader(io.BytesIO(pdf)).pages) == seen["pages"] > 0


def _handled(shop: Shop) -> int:
    return shop.log("worker.log").count("succeeded in")
