"""The main ways through the office, by keyboard, by mouse, and without scripts."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from notices.models import Letter, Objection
from registry.models import Assembly
from scheduling.models import ProgramClock
from tests.access.addresses import address
from tests.browser.conftest import Visit
from tests.browser.office import NAME, PASSWORD

pytestmark = [pytest.mark.browser, pytest.mark.slow]

SHEET = """Acct,Svc Addr,City,ST,Zip,Type,Make,Size,Serial,Install Date,Owner Name
7-1,12 Depot Rd,Tamarack Flats,WA,99171,RP,Ironbridge,2,D700,2024-05-01,Flats Storage
7-2,19 Orchard Rd,Tamarack Flats,WA,99171,XYZ,Ironbridge,2,D701,2024-05-01,Flats Clinic
"""


def test_the_keyboard_reaches_the_page_the_words_and_a_row(visit: Visit) -> None:
    visit.go(address("registry", visit.office))
    visit.page.keyboard.press("Tab")
    expect(visit.page.locator(":focus")).to_have_text("Skip to the page")
    visit.page.keyboard.press("Enter")
    visit.page.keyboard.press("Tab")
    assert visit.page.evaluate("document.activeElement.closest('main') !== null")
    for _ in range(30):
        visit.page.keyboard.press("Tab")
        if visit.page.evaluate("document.activeElement.textContent") == "A100":
            break
    assert visit.page.evaluate("getComputedStyle(document.activeElement).outlineWidth") == "3px"
    visit.page.keyboard.press("Enter")
    expect(visit.page.locator("h1")).to_contain_text("A100")


def test_the_map_shows_a_pin_that_opens_by_keyboard(visit: Visit) -> None:
    visit.go(address("registry", visit.office))
    pin = visit.page.locator(".premises-pin")
    expect(pin).to_have_count(1)
    expect(pin).to_have_attribute("aria-label", re.compile("Weir Lane Dental, 1.assembly, overdue"))
    pin.focus()
    visit.page.keyboard.press("Enter")
    link = visit.page.locator(".leaflet-popup a", has_text="Weir Lane Dental")
    expect(link).to_be_focused()
    asked = visit.page.evaluate(
        "performance.getEntriesByType('resource').map(one => new URL(one.name).origin)"
    )
    assert set(asked) == {visit.base}


def test_a_spreadsheet_is_previewed_then_brought_in(visit: Visit, tmp_path: Path) -> None:
    sheet = tmp_path / "november.csv"
    sheet.write_text(SHEET)
    visit.go(address("load", visit.office))
    visit.page.set_input_files("#file", sheet)
    visit.page.get_by_role("button", name="Look at it").click()
    expect(visit.page.locator("h1")).to_have_text("2 rows read, 1 set aside")
    assert not Assembly.objects.filter(serial="D700").exists()
    visit.page.get_by_role("button", name="Bring in 1").click()
    expect(visit.page.locator(".message")).to_contain_text("1 new, 0 changed", timeout=20_000)
    assert Assembly.objects.filter(serial="D700").exists()
    with visit.page.expect_download() as download:
        visit.page.get_by_role("link", name="Download the 1 to mend").click()
    text = download.value.path().read_text(encoding="utf-8-sig")
    assert "XYZ" in text.splitlines()[1]
    assert text.splitlines()[0].endswith(",why")


def test_an_order_is_signed_only_after_its_evidence(visit: Visit) -> None:
    # The office holds an open objection, and its day is the eve of Thanksgiving: either would keep
    # the order from being signed.
    Objection.objects.all().delete()
    ProgramClock.objects.filter(program=visit.office.program).update(last_run_on=date(2026, 12, 1))
    visit.go(
        address("letter", visit.office).replace(
            str(visit.office.ids["letter"]), str(visit.office.ids["order"])
        )
    )
    visit.page.get_by_role("link", name="Read the evidence, then sign").click()
    expect(visit.page.locator("h1")).to_have_text("Shutoff order, its evidence")
    visit.page.get_by_role("button", name="Sign as Ida Marrow").click()
    # The box was not ticked: the browser keeps the form, and nothing is signed.
    order = Letter.objects.get(pk=visit.office.ids["order"])
    assert (order.state, order.left_on) == ("composed", None)


def test_light_and_dark_are_kept(visit: Visit) -> None:
    visit.page.get_by_role("button", name="Dark").click()
    visit.go(address("registry", visit.office))
    assert visit.page.locator("html").get_attribute("data-look") == "dark"
    paper = visit.page.evaluate("getComputedStyle(document.body).backgroundColor")
    assert paper == "rgb(15, 24, 29)"
    visit.page.get_by_role("button", name="As the system").click()
    assert visit.page.locator("html").get_attribute("data-look") is None


def test_everything_works_without_scripts(visit: Visit, browser: Browser) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(visit.base + "/login/")
    page.fill("#id_username", NAME)
    page.fill("#id_password", PASSWORD)
    page.click("button.main")
    page.goto(visit.base + address("fact-new", visit.office))
    page.select_option("#id_kind", "passed")
    page.fill("#id_on", "2026-11-24")
    page.get_by_role("button", name="Record it").click()
    expect(page.locator(".message")).to_contain_text("The fact is kept")
    expect(page.locator("h2.standing-sentence")).to_contain_text("Good")
    page.goto(visit.base + address("registry", visit.office) + "?standing=good")
    expect(page.locator("tbody tr")).to_have_count(1)
    context.close()


def test_a_refused_form_counts_its_faults_and_links_to_each(visit: Visit) -> None:
    visit.go(address("part-new-premises", visit.office))
    visit.page.fill("#id_lat", "46.8")
    visit.page.get_by_role("button", name="Keep it").click()
    summary = visit.page.get_by_role("alert")
    expect(summary).to_contain_text("Two things need mending.")
    summary.get_by_role("link", name="Address").click()
    expect(visit.page.locator("#id_address")).to_be_focused()
    described = visit.page.locator("#id_address").get_attribute("aria-describedby") or ""
    assert "id_address_error" in described
    assert visit.page.locator("#id_address").get_attribute("aria-invalid") == "true"


def test_a_page_prints_on_white_without_things_to_press(visit: Visit) -> None:
    visit.go(address("assembly", visit.office))
    visit.page.emulate_media(media="print")
    assert visit.page.locator(".words").is_hidden()
    assert visit.page.locator("main .button").first.is_hidden()
    assert visit.page.evaluate("getComputedStyle(document.body).backgroundColor") == (
        "rgb(255, 255, 255)"
    )
