"""A fleet through a real worker that is killed in the middle of a vehicle: all are done, and each once."""

from __future__ import annotations

import os
import signal

import pytest

from tests.services.running import wait_until
from tests.services.test_worker import lines

pytestmark = pytest.mark.service

BEGIN = """
import json
from catalog.library.labour import LABOUR
from catalog.services import save_labour
from quoting.services import fleets
from tests.factories.jobs import make_user
from tests.factories.wagon import make_wagon
from tests.quoting.fleet_rows import another
by = make_user("estimator")
for operation in LABOUR:
    save_labour(operation, by=by)
source = make_wagon(by)
rows = [another(source.vehicle, f"XW {number}") for number in (501, 502, 503)]
fleets.start(rows, name="Wagons", by=by, source=source)
print(json.dumps({}))
"""
LOOK = """
import json
from fitouts.models import Fitout
from quoting.models import BackgroundJob, Design, FleetRun, Line, Revision
run = FleetRun.objects.select_related("job").get()
mine = Fitout.objects.filter(title="Wagons")
quotes = Revision.objects.filter(quote__fitout__in=mine)
print(json.dumps({
    "items": list(run.items.order_by("place").values_list("state", flat=True)), "job": run.job.state,
    "attempts": run.job.attempts, "tries": list(run.items.order_by("place").values_list("tries", flat=True)),
    "jobs": mine.count(), "loads": [job.requirements.count() for job in mine],
    "designs": Design.objects.filter(fitout__in=mine).count(), "quotes": quotes.count(),
    "totals": [str(r.offers.get().total) for r in quotes], "lines": [r.offers.get().lines.count() for r in quotes],
    "reasons": list(run.items.values_list("reason", flat=True)),
}))
"""
HEAVY = {"queue": "heavy", "pausing": "tests.services.pausing_fleets"}


def test_worker_killed_in_the_middle_of_a_vehicle(shop):
    (shop.home / "pause").touch()
    shop.python(BEGIN)
    first = shop.worker(**HEAVY, JOB_LEASE_S="5")
    wait_until(lambda: len(lines(shop, "opened")) == 2, 90, why=lambda: shop.log("worker.log"))
    os.kill(first.pid, signal.SIGKILL)
    first.wait()
    (shop.home / "pause").unlink()
    seen = shop.python(LOOK)
    assert (seen["items"], seen["job"]) == (["done", "waiting", "waiting"], "running")
    assert (seen["jobs"], seen["designs"], seen["quotes"]) == (2, 1, 1)

    shop.worker(**HEAVY)
    shop.start("manage.py", "sweep", "--every", "1", log="sweep.log")

    def ended() -> bool:
        return shop.python(LOOK)["job"] == "done"

    wait_until(ended, 120, why=lambda: shop.log("worker.log") + shop.log("sweep.log"))
    seen = shop.python(LOOK)
    assert seen["items"] == ["done"] * 3, seen["reasons"]
    assert (seen["attempts"], seen["tries"]) == (2, [1, 2, 1])
    assert (seen["jobs"], seen["designs"], seen["quotes"]) == (3, 3, 3)
    assert len({*seen["loads"]}) == len({*seen["totals"]}) == len({*seen["lines"]}) == 1
