"""A real browser at a served office, logged in through the page."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from playwright.sync_api import Browser, ConsoleMessage, Page
from pytest_django.live_server_helper import LiveServer

from tests.access.cast import Office
from tests.browser.office import NAME, PASSWORD, made_office


@dataclass(frozen=True, kw_only=True)
class Visit:
    """An office served on loopback, a page in it, and what the browser complained of."""

    office: Office
    base: str
    page: Page
    complaints: list[str]

    def go(self, path: str) -> None:
        """Open an address of the site."""
        self.page.goto(self.base + path)

    def log_in(self) -> None:
        """Log in as a person does."""
        self.go("/login/")
        self.page.fill("#id_username", NAME)
        self.page.fill("#id_password", PASSWORD)
        self.page.click("button.main")
        self.page.wait_for_url("**/p/flats/")


@pytest.fixture
def visit(transactional_db: None, live_server: LiveServer, browser: Browser) -> Iterator[Visit]:
    """A visit at desk width, logged in."""
    office = made_office()
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    complaints: list[str] = []

    def heard(message: ConsoleMessage) -> None:
        if message.type in {"error", "warning"}:
            complaints.append(message.text)

    page.on("console", heard)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    found = Visit(office=office, base=live_server.url, page=page, complaints=complaints)
    found.log_in()
    yield found
    context.close()
