"""What a fleet of a hundred takes for each vehicle, against one appraisal of the same Brief; and whether it holds on to
what it has done.

Run with ``pytest -s tests/bench/test_fleets.py -p no:cacheprovider``; CI does not.
"""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from catalog.library.labour import LABOUR
from catalog.services import save_labour
from fitouts.models import Fitout, User
from quoting.models import BackgroundJob, FleetItem, FleetRun
from quoting.queries import fleets as queries
from quoting.services import background, briefs, designs, fleet_work, fleets
from quoting.sizing.appraise import appraise
from tests.bench.test_appraise import median_s
from tests.factories.jobs import make_user
from tests.factories.wagon import make_wagon
from tests.quoting.fleet_rows import another

pytestmark = pytest.mark.django_db
MANY = 100


@pytest.fixture
def source() -> Fitout:
    by = make_user(User.Role.ESTIMATOR)
    for operation in LABOUR:
        save_labour(operation, by=by)
    fitout = make_wagon(by)
    designs.work_out(fitout, by=by)
    return fitout


def resident_mb() -> float:
    """Memory that the process holds. [MB]"""
    return int(Path("/proc/self/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6


def begun(source: Fitout, parts: str, many: int) -> FleetRun:
    rows = [another(source.vehicle, f"{parts[:1].upper()} {number}") for number in range(many)]
    return fleets.start(rows, name=f"Wagons, {parts}", by=source.created_by, source=source, parts=parts)


@pytest.mark.parametrize("parts", ["free", "same", "chosen"])
def test_a_vehicle_of_a_fleet(parts: str, source: Fitout, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fleets, "TURN_S", 1e9)
    monkeypatch.setattr(background, "SLOWEST_S", 10**9)
    brief = briefs.make_brief(source)
    alone = median_s(lambda: appraise(brief), rounds=5)
    many = MANY if parts != "chosen" else MANY // 4
    run = begun(source, parts, many)
    taken: list[float] = []
    held: list[float] = []
    do = fleet_work.do

    def timed(item: FleetItem, job: BackgroundJob, by: User) -> None:
        began = time.perf_counter()
        do(item, job, by)
        taken.append(time.perf_counter() - began)
        held.append(resident_mb())

    monkeypatch.setattr(fleet_work, "do", timed)
    background.run(run.job_id)

    states = list(run.items.values_list("state", flat=True))
    taken.sort()
    middle = taken[len(taken) // 2]
    print(
        f"\na fleet of {many} wagons, parts {parts}: {middle * 1000:.0f} ms a vehicle here, {sum(taken):.0f} s in all"
    )
    print(f"  {middle / alone:8.1f} x one appraisal of the same Brief, {alone * 1000:.0f} ms here")
    print(f"  {taken[-1] / middle:8.1f} x the middle one: the slowest of them")
    print(f"  {held[-1] / held[many // 5]:8.2f} x the memory after the last one of that after the fifth part")
    with CaptureQueriesContext(connection) as asked:
        page = median_s(lambda: queries.summary(run), rounds=3)
    print(f"  {page / middle:8.2f} of a vehicle: its summary, {page * 1000:.0f} ms here, {len(asked) // 4} queries")
    assert states == [FleetItem.State.DONE] * many, run.items.exclude(reason="").first().reason
