"""What some tests need from the machine: absent, they skip and say why; with REQUIRE_SERVICES=1 they fail instead."""

from __future__ import annotations

import os
import shutil

import pytest


def need(present: object, reason: str) -> None:
    """Go on when ``present``; otherwise skip with ``reason``, or fail when the services are required."""
    if present:
        return
    if os.environ.get("REQUIRE_SERVICES") == "1":
        pytest.fail(f"REQUIRE_SERVICES=1, but {reason}", pytrace=False)
    pytest.skip(reason)


def chromium() -> str:
    """Path of the browser, or skip."""
    path = os.environ.get("TEST_CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser") or ""
    need(path, "no chromium on this machine (apt-get install chromium)")
    return path


def database_url() -> str:
    """Address of a PostgreSQL that may be filled and emptied, or skip."""
    url = os.environ.get("TEST_DATABASE_URL", "")
    need(url, "TEST_DATABASE_URL is not set: an address of a PostgreSQL to try things in (.ci/run starts one)")
    return url


def redis_url() -> str:
    """Address of a Redis that may be emptied, or skip."""
    url = os.environ.get("TEST_REDIS_URL", "")
    need(url, "TEST_REDIS_URL is not set: an address of a Redis to try things in (.ci/run starts one)")
    return url
