"""Lists and searches against the bare table page, on rows by the thousand. Prints ratios; run on purpose.

``BENCH_VEHICLES`` and ``BENCH_COMPONENTS`` set the size (2,000 and 6,000 when not given). For the full size fill a demo
once with ``manage.py seed_many`` and run ``python -m tests.bench.lists`` on it.
"""

from __future__ import annotations

import os

import pytest

from catalog import services as catalogue
from fitouts.models import User, Workshop
from quoting.demo.many import seed
from tests.bench.lists import measure

pytestmark = pytest.mark.django_db
VEHICLES = int(os.environ.get("BENCH_VEHICLES", "2000"))
COMPONENTS = int(os.environ.get("BENCH_COMPONENTS", "6000"))


def test_lists_and_searches_against_the_bare_table(capsys):
    Workshop.objects.create(name="Kestrel Flat Auto Electrical", is_demo=True)
    manager = User.objects.create_user("manager", role="manager")
    User.objects.create_user("estimator", role="estimator")
    catalogue.load_starter(by=manager)
    sizes = {"components": COMPONENTS, "vehicles": VEHICLES, "customers": VEHICLES // 5, "jobs": VEHICLES // 5}
    seed(**sizes, seed=1, say=lambda words: None)

    with capsys.disabled():
        print("\n" + ", ".join(f"{count:,} {name}" for name, count in sizes.items()))
        found = measure()

    for one in found:
        assert one.queries < 60, f"{one.name}: {one.queries} queries"
