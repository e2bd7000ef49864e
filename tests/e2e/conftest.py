"""The demo workshop, opened as README opens it, and a browser."""

from __future__ import annotations

import os
import signal
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

from tests import needs
from tests.e2e.browsing import Person, a_person
from tests.services import prepared
from tests.services.running import Shop, free_port

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@dataclass(frozen=True)
class Demo:
    """The open demo: where it is, and the passwords it printed."""

    shop: Shop
    base: str
    passwords: dict[str, str]
    shots: Path


@pytest.fixture(scope="package")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Demo]:
    """The demo of ``start --demo``, opened again by the same line on a copy of its folder."""
    needs.chromium()
    shop = Shop(prepared.demo(tmp_path_factory, tmp_path_factory.mktemp("demo") / "home"))
    passwords = prepared.passwords(shop.home)
    shots = Path(os.environ.get("E2E_SHOTS") or tmp_path_factory.mktemp("shots"))
    shots.mkdir(exist_ok=True)
    port = free_port()
    process = shop.start("manage.py", "start", "--demo", "--no-open", "--port", str(port), log="again.log")
    try:
        shop.wait_until_open(process, "again.log")
        yield Demo(shop, f"http://127.0.0.1:{port}", passwords, shots)
        process.send_signal(signal.SIGINT)
        process.wait(timeout=60)
        assert "Loomwright is closed." in shop.log("again.log")
        left = subprocess.run(["pgrep", "-g", str(process.pid)], capture_output=True, text=True, check=False)
        assert left.stdout == ""
    finally:
        shop.close()


@pytest.fixture(scope="package")
def chrome() -> Iterator[Browser]:
    path = needs.chromium()
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def sit_down(demo: Demo, chrome: Browser):
    """Sign somebody in: ``sit_down("mara")``."""
    people: list[Person] = []

    def sits(name: str, **context) -> Person:
        person = a_person(chrome, demo.base, demo.shots, **context)
        people.append(person)
        person.sign_in(name, demo.passwords[name])
        return person

    yield sits
    for person in people:
        person.page.context.close()
