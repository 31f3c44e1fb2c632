"""A phone with a tester logged in, whose browser can be killed and opened again on its store."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from django.contrib.auth import get_user_model
from PIL import Image
from playwright.sync_api import BrowserContext, Page, Playwright
from pytest_django.live_server_helper import LiveServer

from registry.domain.identity import serial_key
from registry.domain.kinds import Role
from registry.models import Assembly, Membership, Tester
from tests.access.cast import AT, Office, made_cast
from tests.chromium import ARGUMENTS, chromium_path

NAME, PASSWORD = "tove", "seven words for a trial"
PHONE = {"width": 390, "height": 844}


@dataclass(kw_only=True)
class Phone:
    """A phone: its store outlives its browser."""

    office: Office
    base: str
    store: Path
    playwright: Playwright
    context: BrowserContext
    page: Page
    complaints: list[str] = field(default_factory=list)

    @property
    def home(self) -> str:
        """The page to choose from."""
        return f"{self.base}/p/{self.office.program.code}/enter/"

    def form(self, serial: str) -> str:
        """The address of an assembly's form."""
        found = Assembly.objects.get(program=self.office.program, serial=serial)
        return f"{self.home}{found.pk}/"

    def open(self, where: str) -> None:
        """Open a page, and its form where it has one."""
        self.page.goto(where)
        if self.page.locator("#entry").count():
            self.page.wait_for_selector("html[data-entering=ready]")

    def kill(self) -> None:
        """Close the browser, as a phone does that is put away."""
        self.context.close()

    def wake(self, *, offline: bool = False) -> None:
        """Open the browser anew on the same store."""
        self.context = _context(self.playwright, self.store)
        self.context.set_offline(offline)
        self.page = _page(self.context, self.complaints)

    def log_in(self) -> None:
        """Log in as the tester."""
        self.page.goto(f"{self.base}/login/")
        self.page.fill("#id_username", NAME)
        self.page.fill("#id_password", PASSWORD)
        self.page.click("button.main")
        self.page.wait_for_url("**/p/flats/**")


def _context(playwright: Playwright, store: Path) -> BrowserContext:
    return playwright.chromium.launch_persistent_context(
        str(store),
        executable_path=chromium_path(),
        args=list(ARGUMENTS),
        viewport={"width": PHONE["width"], "height": PHONE["height"]},
        timezone_id="America/Los_Angeles",
    )


def _page(context: BrowserContext, complaints: list[str]) -> Page:
    page = context.pages[0] if context.pages else context.new_page()
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on(
        "console",
        lambda one: complaints.append(one.text) if "Content Security" in one.text else None,
    )
    page.set_default_timeout(20_000)
    return page


def made_tester() -> Office:
    """An office with five assemblies at the premises of a tester who can log in."""
    office = made_cast().home
    tester = Tester.objects.get(pk=office.ids["tester"])
    person = get_user_model().objects.create_user(NAME, password=PASSWORD, first_name="Tove")
    Membership.objects.create(user=person, role=Role.TESTER, firm=office.firm, tester=tester)
    first = Assembly.objects.get(pk=office.ids["assembly"])
    for number in range(1, 5):
        Assembly.objects.create(
            program=office.program,
            premises=first.premises,
            connection=first.connection,
            type="RP",
            maker="Northfork",
            serial=f"A10{number}",
            maker_key=first.maker_key,
            serial_key=serial_key(f"A10{number}"),
            size_in=first.size_in,
            hazard="high",
            location="Boiler feed, east wall",
            created_at=AT,
        )
    return office


@pytest.fixture
def phone(
    transactional_db: None, live_server: LiveServer, playwright: Playwright, tmp_path: Path
) -> Iterator[Phone]:
    """A phone, logged in."""
    office = made_tester()
    store = tmp_path / "store"
    context = _context(playwright, store)
    complaints: list[str] = []
    found = Phone(
        office=office,
        base=live_server.url,
        store=store,
        playwright=playwright,
        context=context,
        page=_page(context, complaints),
        complaints=complaints,
    )
    found.log_in()
    yield found
    found.context.close()


def fill_in(phone: Phone, *, relief: str = "2.4", check1: str = "7.4") -> None:
    """Fill a form for an RP as a tester does."""
    page = phone.page
    page.check("#cautions_read")
    for name, value in (
        ("shutoff1_tight", "yes"),
        ("shutoff2_tight", "yes"),
        ("relief_running", "no"),
    ):
        page.locator(f"input[name={name}][value={value}]").check(force=True)
    page.fill("#tested_at", "10:40")
    page.fill("#initial_relief", relief)
    page.locator("input[name=initial_check2_tight][value=yes]").check(force=True)
    page.fill("#initial_check1", check1)
    page.locator("input[name=supply_on][value=yes]").check(force=True)
    page.check("#attested")
    page.fill("#signed_name", "Tove Vell")


def photo(folder: Path, name: str, *, shade: int) -> Path:
    """A photo of a phone: large, and with a place in its EXIF."""
    image = Image.new("RGB", (2400, 1800), (shade, 90, 120))
    exif = Image.Exif()
    exif[0x010F] = "Somebody’s camera"
    exif.get_ifd(0x8825)[1] = "N"
    path = folder / f"{name}.jpg"
    image.save(path, "JPEG", exif=exif)
    return path
