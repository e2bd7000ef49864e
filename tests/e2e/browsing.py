"""A person at a browser: signs in, looks at pages, and hears every complaint the browser makes."""

from __future__ import annotations

import os
import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, ConsoleMessage, Locator, Page, Request, expect

expect.set_options(timeout=15_000)
PHONE = {"width": 360, "height": 780}
BETWEEN = {"width": 820, "height": 1180}
DESK = {"width": 1440, "height": 900}
OVERFLOWING = """() => {
  const wide = document.documentElement.clientWidth;
  if (document.documentElement.scrollWidth <= window.innerWidth) return [];
  return [...document.querySelectorAll('body *')]
    .filter(e => e.getBoundingClientRect().right > wide + 1 && e.offsetParent !== null)
    .slice(0, 8)
    .map(e => `${e.tagName.toLowerCase()}.${e.className} «${(e.innerText || '').slice(0, 30)}»`)
    .concat([`page is ${document.documentElement.scrollWidth} wide in ${window.innerWidth}`]);
}"""


@dataclass
class Person:
    """Somebody signed in with a page open. ``complaints`` is what the browser said against our pages."""

    page: Page
    base: str
    shots: Path
    complaints: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.page.on("console", self._said)
        self.page.on("pageerror", lambda error: self.complaints.append(f"{self.page.url}: {error}"))
        self.page.on("requestfailed", self._failed)

    def _said(self, message: ConsoleMessage) -> None:
        # A refused form answers 422 and a refused page 403: the browser reports the status, which is no fault.
        if message.type in ("error", "warning") and not re.search(r"status of (403|422)", message.text):
            self.complaints.append(f"{self.page.url}: {message.type}: {message.text} {message.location}")

    def _failed(self, request: Request) -> None:
        if request.failure != "net::ERR_ABORTED":  # left by going on, or a download
            self.complaints.append(f"{request.url}: {request.failure}")

    def sign_in(self, name: str, password: str) -> None:
        self.page.goto(f"{self.base}/sign-in/")
        self.page.get_by_label("Name to sign in with").fill(name)
        self.page.get_by_label("Password").fill(password)
        self.page.get_by_role("button", name="Sign in").click()
        expect(self.page.get_by_role("button", name="Sign out")).to_be_visible()

    def go(self, path: str) -> int:
        """Open a page; the status it answers with."""
        answer = self.page.goto(path if path.startswith("http") else f"{self.base}{path}")
        return answer.status if answer else 0

    def look(self, name: str = "") -> None:
        """The page as it is: no complaint, and nothing wider than a phone's or a desk's screen."""
        self.page.wait_for_load_state()
        for size in (PHONE, DESK):
            self.page.set_viewport_size(size)  # type: ignore[arg-type]
            too_wide = self.page.evaluate(OVERFLOWING)
            assert too_wide == [], f"{self.page.url} at {size['width']} px"
            if name and "E2E_SHOTS" in os.environ:  # pages are long, and so is taking them
                self.shoot(f"{name}-{size['width']}")
        assert self.complaints == [], "\n".join(self.complaints)

    def shoot(self, name: str) -> None:
        self.page.evaluate("window.scrollTo(0, 0)")  # heads of tables stick to where one has scrolled to
        # hiding the caret would leave style attributes behind, which our own policy then refuses
        self.page.screenshot(path=self.shots / f"{name}.png", full_page=True, caret="initial")

    # --- What hands do -------------------------------------------------------------------------------

    def press(self, name: str | re.Pattern[str], within: Locator | None = None, *, exact: bool = True) -> None:
        (within or self.page).get_by_role("button", name=name, exact=exact).first.click()

    def follow(self, name: str | re.Pattern[str], within: Locator | None = None, *, exact: bool = True) -> None:
        (within or self.page).get_by_role("link", name=name, exact=exact).first.click()

    def write(self, label: str | re.Pattern[str], text: str, within: Locator | None = None) -> None:
        (within or self.page).get_by_label(label).first.fill(text)

    def section(self, heading: str) -> Locator:
        return self.page.get_by_role("region", name=heading, exact=True)


def a_person(browser: Browser, base: str, shots: Path, **context: Any) -> Person:
    """A fresh browser profile with one page."""
    page = browser.new_context(viewport=DESK, accept_downloads=True, **context).new_page()  # type: ignore[arg-type]
    page.set_default_timeout(float(os.environ.get("E2E_TIMEOUT_MS", "20000")))
    return Person(page, base, shots)
