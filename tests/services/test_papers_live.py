"""A browser watches a paper go from queued to done, and asks no longer once it is."""

from __future__ import annotations

import os

import pytest
from django.conf import settings
from django.urls import reverse
from playwright.sync_api import expect, sync_playwright

from quoting.models import BackgroundJob
from quoting.services import background, documents
from tests import needs
from tests.factories.jobs import make_fitout, make_snapshot, make_user, make_workshop

pytestmark = [pytest.mark.service, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def page(live_server, client, monkeypatch):
    """A signed-in page; whatever the console complains of fails the test."""
    path = needs.chromium()
    monkeypatch.setitem(os.environ, "DJANGO_ALLOW_ASYNC_UNSAFE", "1")  # Playwright runs a loop in this thread
    make_workshop()
    client.force_login(make_user("estimator"))
    cookie = client.cookies[settings.SESSION_COOKIE_NAME].value
    complaints: list[str] = []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"])
        context = browser.new_context(base_url=live_server.url, viewport={"width": 360, "height": 800})
        context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": live_server.url}])
        page = context.new_page()
        page.on("console", lambda said: complaints.append(said.text) if said.type in {"error", "warning"} else None)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        yield page
        browser.close()
    assert complaints == []


def test_papers_of_a_job_live(page, monkeypatch, files):
    monkeypatch.setattr(background.run_job, "apply_async", lambda **options: None)
    fitout = make_fitout()
    document = documents.ask(kind="quote", snapshot=make_snapshot(fitout), fitout=fitout, title="Quote A", by=None)
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))

    page.goto(reverse("papers", args=[fitout.pk]))
    row = page.locator(f"#paper-{document.pk}")
    expect(row).to_contain_text("Queued next in line")

    job = background.claim(document.job_id, "a:1")
    background.progress(job, 2, 3)
    expect(row).to_contain_text("2 of 3", timeout=5000)

    background.fail(job, "The roof run has no length. Enter it, then retry.")
    expect(row).to_contain_text("The roof run has no length.", timeout=5000)
    row.get_by_role("button", name="Retry").click()
    expect(row).to_contain_text("Queued", timeout=5000)

    row.get_by_role("button", name="Cancel").click()
    expect(row).to_contain_text("Cancelled. Press Retry", timeout=5000)
    asked.clear()
    page.wait_for_timeout(2500)
    assert asked == []
    assert BackgroundJob.objects.get().state == BackgroundJob.State.FAILED
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    if folder := os.environ.get("SCREENSHOTS"):
        page.screenshot(path=f"{folder}/papers-360.png", full_page=True)
