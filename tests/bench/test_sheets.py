"""Bringing in 10 000 components, as a ratio to writing the same rows with nothing checked; no seconds are asserted.

Run with ``pytest -s tests/bench -p no:cacheprovider``; CI does not.
"""

from __future__ import annotations

import time
import tracemalloc
from decimal import Decimal

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from catalog import kinds, services, sheets
from catalog.models import Component, PriceChange
from fitouts.models import User
from tests.catalog.sheet_files import bring, check_rows
from tests.factories.jobs import make_user, make_workshop

ROWS = 10_000
HEADS = (
    *("name", "maker", "part number", "cost", "mass", "rating_a", "breaking_a", "series", "max_v", "resistance_ohm"),
    "min_opening_s_at_2x",
)
SPEC = {
    "rating_a": 200.0,
    "breaking_a": 20000.0,
    "series": "class_t",
    "max_v": 125.0,
    "resistance_ohm": 0.0002,
    "min_opening_s_at_2x": 1.0,
}


def line(number: int) -> tuple[str, ...]:
    cost = f"{10 + number % 90}.50"
    return (
        *(f"Ambry HF-{number}", "Ambry", f"HF-{number}", cost, "180 g", "200 A", "20 kA", "class_t", "125"),
        *("0.2 mΩ", "1"),
    )


def bare(by: User) -> None:
    """The floor: the same rows and their price steps, written in bulk with nothing checked and no history."""
    kind = kinds.get("fuse")
    spec = kind.clean(SPEC)
    rows = [
        Component(
            name=f"Ambry HF-{number}",
            maker="Ambry",
            part_number=f"HF-{number}",
            cost=Decimal(10 + number % 90),
            mass_kg=0.18,
            **{k: v for k, v in services.derived(kind, spec, f"Ambry HF-{number}").items() if k != "name"},
        )
        for number in range(ROWS)
    ]
    Component.objects.bulk_create(rows, batch_size=500)
    PriceChange.objects.bulk_create([services.price_change(row, "", by) for row in rows], batch_size=500)


@pytest.mark.django_db
def test_ten_thousand_components(tmp_path) -> None:
    make_workshop()
    by = make_user(User.Role.ESTIMATOR)
    type = sheets.get("component:fuse")
    began = time.perf_counter()
    with transaction.atomic():
        bare(by)
        transaction.set_rollback(True)
    floor = time.perf_counter() - began

    began = time.perf_counter()
    with CaptureQueriesContext(
        connection,
    ) as asked:
        plan = check_rows(type, tmp_path, by, HEADS, *map(line, range(ROWS)))
    checked = time.perf_counter() - began
    assert (plan.added, plan.wrong) == (ROWS, 0), plan.problems(0, 3)
    began = time.perf_counter()
    bring(type, plan, by)
    saved = time.perf_counter() - began

    began = time.perf_counter()
    again = check_rows(type, tmp_path, by, HEADS, *((*line(n)[:3], "99.99", *line(n)[4:]) for n in range(ROWS)))
    checked_again = time.perf_counter() - began
    assert again.changed == ROWS
    began = time.perf_counter()
    bring(type, again, by)
    changed = time.perf_counter() - began
    tracemalloc.start()
    check_rows(type, tmp_path, by, HEADS, *map(line, range(ROWS)))
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()

    print(f"\n{ROWS} components; floor (bulk_create, nothing checked): {floor:.2f} s here")
    print(f"  check, all new      {checked / floor:6.2f} x   {checked:.2f} s here, {len(asked)} queries")
    print(f"  save, all new       {saved / floor:6.2f} x   {saved:.2f} s here")
    print(f"  check, all changed  {checked_again / floor:6.2f} x   {checked_again:.2f} s here")
    print(f"  save, all changed   {changed / floor:6.2f} x   {changed:.2f} s here")
    print(f"  memory of a check   {peak / 1e6:.0f} MB at its highest")
    assert Component.objects.count() == ROWS
    assert PriceChange.objects.count() == 2 * ROWS
    assert len(asked) < 20
