"""A workshop run by real processes, on the queue in files and on Redis."""

from __future__ import annotations

import pytest

from tests import needs
from tests.services import prepared
from tests.services.running import Shop


@pytest.fixture(params=["files", "redis"])
def shop(request, tmp_path, tmp_path_factory):
    environment = {}
    if request.param == "redis":
        environment = {"REDIS_URL": needs.redis_url(), "REDIS_VISIBILITY_TIMEOUT_S": "5"}
        _empty(environment["REDIS_URL"])
    shop = Shop(prepared.migrated(tmp_path_factory, tmp_path / "home"), **environment)
    yield shop
    shop.close()
    print(shop.log("worker.log"), shop.log("sweep.log"), sep="\n--- sweeper\n")  # shown when the test fails


@pytest.fixture(scope="session")
def migrated_postgresql(tmp_path_factory):
    """The address of an empty workshop's database on PostgreSQL, to be copied."""
    server = needs.database_url()
    with prepared.postgresql(server) as address:
        shop = Shop(tmp_path_factory.mktemp("postgresql") / "home", DATABASE_URL=address)
        shop.manage("migrate", "-v", "0", timeout=240)
        yield address


def _empty(url: str) -> None:
    from redis import Redis

    with Redis.from_url(url) as server:
        server.flushdb()
