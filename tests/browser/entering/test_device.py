"""What the device keeps and says: drafts discarded and taken back, a store emptied, new pages."""

from __future__ import annotations

import json

import pytest
from playwright.sync_api import Page, expect

from reports.entering import kept_pages
from reports.models import FieldTest
from reports.views import entering_device
from tests.browser.entering.conftest import Phone, fill_in

pytestmark = [pytest.mark.browser, pytest.mark.slow]

NEW_KEEPER = "navigator.serviceWorker.getRegistration().then(one => one.update())"
WAITS = "navigator.serviceWorker.getRegistration().then(one => Boolean(one.waiting))"


def until(page: Page, *, waits: bool, seconds: int = 60) -> bool:
    """Say whether in this time a new keeper of the pages waits, or none does any more."""
    for _ in range(seconds * 10):
        if page.evaluate(WAITS) is waits:
            return True
        page.wait_for_timeout(100)
    return False


def taken_over(phone: Phone) -> bool:
    """Say whether the new keeper took over, at the latest once the browser was opened anew.

    A browser lets an old keeper end what it is at, and on a busy machine that can take minutes.
    """
    phone.open(phone.home)
    if until(phone.page, waits=False, seconds=15):
        return True
    phone.kill()
    phone.wake()
    phone.open(phone.home)
    return until(phone.page, waits=False)


def test_a_draft_is_discarded_after_a_question_and_taken_back(phone: Phone) -> None:
    page = phone.page
    phone.open(phone.form("A100"))
    page.fill("#initial_relief", "2.6")
    page.fill("#remarks", "Rust on the bonnet")
    page.wait_for_timeout(300)
    page.click("#discard-ask")
    expect(page.locator("#discard-no")).to_be_focused()
    page.click("#discard-no")
    expect(page.locator("#initial_relief")).to_have_value("2.6")
    page.click("#discard-ask")
    page.click("#discard-yes")
    expect(page.locator("#discarded")).to_be_visible()
    expect(page.locator("#initial_relief")).to_have_value("")
    expect(page.locator("#discarded")).to_contain_text("discarded")
    page.click("#discard-undo")
    expect(page.locator("#discarded")).to_be_hidden()
    expect(page.locator("#initial_relief")).to_have_value("2.6")
    expect(page.locator("#remarks")).to_have_value("Rust on the bonnet")
    expect(page.locator("#discarded")).to_be_hidden()


def test_a_form_begun_is_listed_and_leads_back_to_it(phone: Phone) -> None:
    page = phone.page
    phone.open(phone.form("A101"))
    page.fill("#initial_relief", "2.6")
    page.wait_for_timeout(300)
    phone.open(phone.home)
    expect(page.locator("#draft-list li")).to_have_count(1)
    page.locator("#draft-list a").click()
    page.wait_for_selector("html[data-entering=ready]")
    expect(page.locator("#initial_relief")).to_have_value("2.6")


def test_a_store_that_the_browser_emptied_is_told(phone: Phone) -> None:
    page = phone.page
    with page.expect_response("**/marked/") as answer:
        phone.open(phone.home)
    assert answer.value.status == 204
    phone.open(phone.home)
    expect(page.locator("#emptied")).to_be_hidden()
    page.evaluate(
        """() => new Promise(done => {
        const asked = indexedDB.deleteDatabase('waterclerk-entering');
        asked.onsuccess = asked.onblocked = done; })"""
    )
    phone.open(phone.home)
    expect(page.locator("#emptied")).to_contain_text("This browser has emptied its store")
    page.click("#emptied-seen")
    expect(page.locator("#emptied")).to_be_hidden()
    phone.open(phone.home)
    page.wait_for_timeout(200)
    expect(page.locator("#emptied")).to_be_hidden()


def test_a_new_version_of_the_pages_does_not_eat_a_half_filled_form(
    phone: Phone, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = phone.page
    phone.open(phone.home)
    page.evaluate("navigator.serviceWorker.ready")
    phone.open(phone.form("A100"))
    page.fill("#initial_relief", "2.6")
    page.wait_for_timeout(300)
    identity = page.locator("input[name=client_id]").input_value()
    told = kept_pages.worker_text().replace(kept_pages.build(), "2-newer")
    monkeypatch.setattr(entering_device, "worker_text", lambda: told)
    page.evaluate(NEW_KEEPER)
    assert until(page, waits=True)  # it is here, and does not take over an open form
    page.wait_for_timeout(300)
    assert page.evaluate(WAITS)
    expect(page.locator("#initial_relief")).to_have_value("2.6")
    assert taken_over(phone)  # no form open
    page = phone.page
    assert "waterclerk-files-2-newer" in page.evaluate("caches.keys()")
    phone.open(phone.form("A100"))
    expect(page.locator("#initial_relief")).to_have_value("2.6")
    assert page.locator("input[name=client_id]").input_value() == identity


def test_a_failing_reading_is_followed_by_what_it_points_to(phone: Phone) -> None:
    page = phone.page
    phone.open(phone.form("A100"))
    page.fill("#initial_relief", "1.5")
    page.locator("#initial_relief").blur()
    says = page.locator("#initial_relief_says")
    # "How does the RP work", part 4: opens below 2.0, a restricted stem or guide.
    expect(says).to_contain_text("Below the limit by 0.5.")
    expect(says.locator(".cause")).to_contain_text("restricted stem or guide")
    page.fill("#initial_relief", "2.5")
    page.locator("#initial_relief").blur()
    expect(says.locator(".cause")).to_have_count(0)


def test_the_pages_can_be_put_on_the_home_screen(phone: Phone) -> None:
    phone.open(phone.home)
    where = phone.page.locator("link[rel=manifest]").get_attribute("href")
    answer = phone.context.request.get(f"{phone.base}{where}")
    told = json.loads(answer.text())
    assert (told["display"], told["start_url"]) == ("standalone", "/p/flats/enter/")
    for icon in told["icons"]:
        found = phone.context.request.get(f"{phone.base}{icon['src']}")
        assert found.headers["content-type"] == "image/png"
        size = int.from_bytes(found.body()[16:20])
        assert icon["sizes"] == f"{size}x{size}"


def test_the_page_says_whether_the_browser_keeps_its_store(phone: Phone) -> None:
    phone.open(phone.home)
    expect(phone.page.locator("#kept-line")).to_contain_text("promised to keep it")


def test_what_the_office_decides_later_shows_beside_the_receipt(phone: Phone) -> None:
    page = phone.page
    phone.open(phone.form("A103"))
    fill_in(phone)
    page.fill("#gauge_serial", "G-999")
    page.click("#hand-in")
    page.wait_for_url(phone.home)
    expect(page.locator("#waiting li")).to_contain_text("a person looks at it", timeout=30_000)
    FieldTest.objects.filter(entries__by="Tove").update(
        waits_for_person=False, decision="Test again with a gauge on record."
    )
    phone.open(phone.home)
    expect(page.locator("#waiting li")).to_contain_text(
        "passes, does not count. The office: Test again with a gauge on record."
    )
