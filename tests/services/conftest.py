"""A workshop run by real processes, on the queue in files and on Redis."""

from __future__ import annotations

import pytest

from tests import needs
from tests.services.running import Shop


@pytest.fixture(params=["files", "redis"])
def shop(request, tmp_path):
    environment = {}
    if request.param == "redis":
        environment = {"REDIS_URL": needs.redis_url(), "REDIS_VISIBILITY_TIMEOUT_S": "5"}
        _empty(environment["REDIS_URL"])
    shop = Shop(tmp_path / "home", **environment)
    shop.home.mkdir(mode=0o700)
    shop.manage("migrate", "-v", "0")
    yield shop
    shop.close()
    print(shop.log("worker.log"), shop.log("sweep.log"), sep="\n--- sweeper\n")  # shown when the test fails


def _empty(url: str) -> None:
    from redis import Redis

    with Redis.from_url(url) as server:
        server.flushdb()
