"""How long lists and searches take against the bare thing: ratios, because seconds are the machine's.

Against a workshop that is already filled: ``LOOMWRIGHT_HOME=<place> .venv/bin/python -m tests.bench.lists``.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

ROUNDS = 3


@dataclass(frozen=True, slots=True)
class Measured:
    """One page: milliseconds of the whole answer, of its SQL and of its slowest statement, and of the bare table."""

    name: str
    page_ms: float
    bare_ms: float
    sql_ms: float
    slowest_ms: float
    bare_sql_ms: float
    queries: int
    slowest: str

    @property
    def ratio(self) -> float:
        return self.page_ms / self.bare_ms

    @property
    def sql_ratio(self) -> float:
        return self.sql_ms / self.bare_sql_ms

    def line(self) -> str:
        return (
            f"{self.name:34} {self.page_ms:8.1f} {self.bare_ms:8.1f} {self.ratio:7.1f} {self.sql_ms:8.1f} "
            f"{self.slowest_ms:8.1f} {self.bare_sql_ms:8.1f} {self.sql_ratio:7.1f} {self.queries:4}"
        )


HEAD = f"{'page':34} {'ms':>8} {'bare':>8} {'ratio':>7} {'SQL':>8} {'slowest':>8} {'bare SQL':>8} {'ratio':>7} {'n':>4}"


def pages() -> list[tuple[str, str, dict[str, Any]]]:
    """What is measured: its name, the list whose bare table it stands against, and the address's query."""
    from catalog.models import Supplier

    supplier = Supplier.objects.order_by("pk").values_list("pk", flat=True).first()
    return [
        ("components", "component", {}),
        ("components, page 300", "component", {"page": 300}),
        ("components, page 9,000", "component", {"page": 9000}),
        ("components, dearest first", "component", {"sort": "-cost"}),
        ("components, kind", "component", {"kind": "fuse"}),
        ("components, supplier", "component", {"supplier": supplier}),
        ("components, cost up to", "component", {"cost_up_to": "20"}),
        ("components, on the shelf", "component", {"on_shelf": "on"}),
        ("components, retired too", "component", {"retired": "on"}),
        ("components, search fuse", "component", {"q": "fuse"}),
        ("components, search larkham 100", "component", {"q": "larkham 100"}),
        ("components, search one number", "component", {"q": "0100123"}),
        ("components, search nothing", "component", {"q": "zzyzx"}),
        ("customers", "customer", {}),
        ("customers, page 400", "customer", {"page": 400}),
        ("customers, most jobs first", "customer", {"sort": "-job_count"}),
        ("customers, search", "customer", {"q": "ashmere"}),
        ("vehicles", "vehicle", {}),
        ("vehicles, page 2,400", "vehicle", {"page": 2400}),
        ("vehicles, by make", "vehicle", {"sort": "vehicle"}),
        ("vehicles, by owner", "vehicle", {"sort": "customer"}),
        ("vehicles, 24 V", "vehicle", {"nominal_v": 24}),
        ("vehicles, search halvard tor", "vehicle", {"q": "halvard tor"}),
        ("vehicles, search a plate", "vehicle", {"q": "050123"}),
        ("jobs", "job", {}),
        ("jobs, page 500", "job", {"page": 500}),
        ("jobs, under way", "job", {"stage": "open"}),
        ("jobs, longest still first", "job", {"sort": "moved_at"}),
        ("jobs, search camper", "job", {"q": "camper"}),
        ("appliances", "appliance", {}),
        ("find: larkham", "find", {"q": "larkham"}),
        ("find: halvard tor wagon", "find", {"q": "halvard tor wagon"}),
        ("find: a plate", "find", {"q": "050123"}),
        ("names: components", "component_names", {"q": "larkham 1"}),
        ("names: vehicles", "vehicle_names", {"q": "halvard"}),
        ("open a job", "job_add", {}),
        ("bench", "bench", {}),
    ]


ADDRESS = {
    "component": "catalog:component_list", "appliance": "catalog:appliance_list", "customer": "customer_list",
    "vehicle": "vehicle_list", "job": "job_list",
}  # fmt: skip


def measure(say: Callable[[str], None] = print) -> list[Measured]:
    """Measure every page as an estimator, print a line for each, and return them."""
    from django.test import Client, override_settings
    from django.urls import reverse

    from fitouts.models import User

    person = User.objects.filter(role="estimator", is_active=True).first()
    client, bare = Client(), Client()
    client.force_login(person)
    bare.force_login(person)
    say(HEAD)
    found = []
    for name, about, query in pages():
        url = reverse(ADDRESS.get(about, about))
        plain = f"/bare/{about if about in ADDRESS else 'vehicle'}/"
        _get(client, url, query)
        times = _statements(lambda url=url, query=query: _get(client, url, query))
        with override_settings(ROOT_URLCONF="tests.bench.bare"):
            plain_ms = sum(ms for ms, _sql in _statements(lambda plain=plain: _get(bare, plain, {})))
            bare_ms = _median(lambda plain=plain: _get(bare, plain, {}))
        page_ms = _median(lambda url=url, query=query: _get(client, url, query))
        slowest_ms, slowest = max(times)
        one = Measured(name, page_ms, bare_ms, sum(ms for ms, _sql in times), slowest_ms, plain_ms, len(times), slowest)
        found.append(one)
        say(one.line())
    return found


def _get(client: Any, url: str, query: dict[str, Any]) -> None:
    answer = client.get(url, query, headers={"host": "localhost"})
    assert answer.status_code == 200, (url, query, answer.status_code)


def _clock() -> Callable[[], float]:
    """Processor time where the database works in this process, which neighbours on the machine do not spoil."""
    from django.db import connection

    return time.process_time if connection.vendor == "sqlite" else time.perf_counter


def _statements(work: Callable[[], None]) -> list[tuple[float, str]]:
    """Milliseconds and text of each statement."""
    from django.db import connection

    found: list[tuple[float, str]] = []
    clock = _clock()

    def timed(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        began = clock()
        try:
            return execute(sql, params, many, context)
        finally:
            found.append((1000 * (clock() - began), f"{sql} {params}"))

    with connection.execute_wrapper(timed):
        work()
    return found


def _median(work: Callable[[], None]) -> float:
    def times() -> Iterator[float]:
        clock = _clock()
        for _round in range(ROUNDS):
            began = clock()
            work()
            yield 1000 * (clock() - began)

    return statistics.median(times())


if __name__ == "__main__":
    import os

    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fitouts.config.settings")
    django.setup()
    slow = [one for one in measure() if one.slowest_ms > 100]
    for one in slow:
        print(f"\n{one.name}: {one.slowest_ms:.0f} ms\n{one.slowest[:1500]}")
