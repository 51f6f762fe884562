"""The system's chromium against the service itself, with a floor that has one batch."""

import os
from dataclasses import dataclass
from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import Browser, Page, expect, sync_playwright

from tests.floor import Floor

NOW = "2027-01-14T07:40:00+00:00"
READ = "2027-01-14T07:30:00+00:00"
CHROMIUM = os.environ.get("FILLMARK_CHROMIUM", "/usr/bin/chromium")
WIDE = {"width": 1024, "height": 768}


@dataclass
class Looking:
    """One browser tab of somebody who is signed in; the moment is named in a header."""

    page: Page
    address: str
    faults: list[str]

    def open(self, name: str, *arguments: Any) -> Page:
        self.page.goto(self.address + reverse(name, args=arguments))
        return self.page

    def sees(self, *texts: str) -> None:
        """Wait until the page says all of them: what was pressed may still be on its way."""
        for text in texts:
            expect(self.page.locator("body")).to_contain_text(text, use_inner_text=True)


@pytest.fixture(scope="session")
def browser():
    # The driver runs an event loop of its own beside the tests, which are not asynchronous.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    expect.set_options(timeout=30_000)
    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield found
        found.close()
    del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]


@pytest.fixture
def floor(client, settings, transactional_db):
    settings.TEST_CLOCK = True
    return Floor.open(
        client, "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=3, kits=3
    )


@pytest.fixture
def batch(floor):
    batch = floor.place(16, "R1-01", "A-1", at="2027-01-11T08:00:00+00:00")
    floor.read("R1-01", "R1-02", at=READ)
    return batch


@pytest.fixture
def look(browser: Browser, live_server, floor):
    """Sign in as the manager in a new tab; whatever the browser complains of is kept."""
    contexts = []

    def look(email: str = "mara@example.org", **options: Any) -> Looking:
        options = {"viewport": WIDE, "extra_http_headers": {"Fillmark-Now": NOW}, **options}
        context = browser.new_context(**options)
        contexts.append(context)
        context.set_default_timeout(30_000)
        looking = Looking(context.new_page(), live_server.url, [])
        looking.page.on(
            "console",
            lambda said: looking.faults.append(said.text) if said.type == "error" else None,
        )
        looking.page.on("pageerror", lambda error: looking.faults.append(str(error)))
        page = looking.open("sign-in")
        page.fill("#id_email", email)
        page.fill("#id_password", "correct horse")
        page.click("main button.action")
        page.wait_for_url(lambda url: "sign-in" not in url)
        return looking

    yield look
    for context in contexts:
        context.close()
