"""A day without signal: five tests with photos, the browser killed, and nothing lost or doubled."""

from __future__ import annotations

import json
from io import BytesIO
from pathlib import Path

import pytest
from django.test import Client
from PIL import Image
from playwright.sync_api import expect

from registry.domain.kinds import Role
from registry.models import Membership
from reports.models import EntryPhoto, FieldEntry, FieldTest
from tests.browser.entering.conftest import Phone, fill_in, photo

pytestmark = [pytest.mark.browser, pytest.mark.slow]

SERIALS = ("A100", "A101", "A102", "A103", "A104")


def make_ready(phone: Phone) -> None:
    phone.open(phone.home)
    phone.page.click("#get-ready")
    expect(phone.page.locator("#ready-line")).to_contain_text("assemblies,", timeout=60_000)


def hand_in(phone: Phone) -> None:
    phone.page.click("#hand-in")
    phone.page.wait_for_url(phone.home)


def all_sent(phone: Phone) -> None:
    expect(phone.page.locator("#waits")).to_have_text(
        "Nothing waits on this device.", timeout=60_000
    )


def test_five_tests_in_flight_mode_survive_a_killed_browser(phone: Phone, tmp_path: Path) -> None:
    make_ready(phone)
    forms = [phone.form(serial) for serial in SERIALS]
    phone.kill()
    phone.wake(offline=True)
    phone.open(phone.home)
    expect(phone.page.locator("#signal")).to_contain_text("No signal.")
    expect(phone.page.locator("#ready-line")).to_contain_text("1 stop, 5 assemblies")
    for number, form in enumerate(forms):
        phone.open(form)
        fill_in(phone, relief=f"2.{number + 1}")
        phone.page.set_input_files("#photo", photo(tmp_path, f"p{number}", shade=40 * number))
        expect(phone.page.locator("#photo-list li")).to_have_count(1)
        hand_in(phone)
    expect(phone.page.locator("#waits")).to_contain_text("5 reports wait on this device")
    assert not FieldEntry.objects.filter(channel="device", by="Tove").exists()
    phone.kill()
    phone.wake(offline=True)
    phone.open(phone.home)
    expect(phone.page.locator("#waits")).to_contain_text("5 reports wait on this device")
    phone.context.set_offline(False)
    all_sent(phone)
    expect(phone.page.locator("#waiting li")).to_have_count(5)
    expect(phone.page.locator("#waiting")).to_contain_text("receipt")
    entries = FieldEntry.objects.filter(by="Tove")
    assert sorted(one.body["fields"]["serial"] for one in entries) == list(SERIALS)
    assert EntryPhoto.objects.filter(entry__in=entries).count() == 5
    tests = FieldTest.objects.filter(entries__in=entries)
    assert {one.outcome for one in tests} == {"pass"}
    assert all(one.counts for one in tests)
    for kept in EntryPhoto.objects.filter(entry__in=entries):
        image = Image.open(BytesIO(bytes(kept.content)))
        assert max(image.size) == 1600
        assert not image.getexif()
    assert phone.complaints == []


def test_pressed_twice_it_is_one_row(phone: Phone) -> None:
    phone.open(phone.form("A100"))
    fill_in(phone)
    phone.page.evaluate(
        "() => { const b = document.getElementById('hand-in'); b.click(); b.click(); }"
    )
    phone.page.wait_for_url(phone.home)
    all_sent(phone)
    assert FieldEntry.objects.filter(by="Tove").count() == 1


def test_a_half_filled_form_is_taken_up_again_after_the_browser_was_killed(phone: Phone) -> None:
    form = phone.form("A100")
    phone.open(form)
    phone.page.locator("#initial_relief").press_sequentially("2.6")
    phone.page.locator("input[name=shutoff2_tight][value='no flow']").check(force=True)
    phone.page.wait_for_timeout(300)
    identity = phone.page.locator("input[name=client_id]").input_value()
    phone.kill()
    phone.wake()
    phone.open(form)
    expect(phone.page.locator("#initial_relief")).to_have_value("2.6")
    expect(phone.page.locator("input[name=shutoff2_tight]:checked")).to_have_value("no flow")
    assert phone.page.locator("input[name=client_id]").input_value() == identity


def test_a_lost_answer_is_sent_again_and_gets_the_first_receipt(phone: Phone) -> None:
    phone.open(phone.form("A101"))
    fill_in(phone)
    lost = {"count": 0}

    def lose(route) -> None:  # type: ignore[no-untyped-def]
        if lost["count"] == 0:
            lost["count"] = 1
            route.fetch()  # it reaches the office
            route.abort()  # and the answer is lost on the way
        else:
            route.continue_()

    phone.context.route("**/enter/send/", lose)
    hand_in(phone)
    phone.page.locator("#send-now").dispatch_event("click")
    all_sent(phone)
    assert lost["count"] == 1
    assert FieldEntry.objects.filter(by="Tove").count() == 1


def test_the_saved_file_has_the_same_result_as_sending(phone: Phone, tmp_path: Path) -> None:
    make_ready(phone)
    phone.context.set_offline(True)
    phone.open(phone.form("A102"))
    fill_in(phone)
    phone.page.set_input_files("#photo", photo(tmp_path, "gauge", shade=90))
    expect(phone.page.locator("#photo-list li")).to_have_count(1)
    hand_in(phone)
    with phone.page.expect_download() as download:
        phone.page.click("#save-file")
    path = download.value.path()
    assert len(json.loads(path.read_text())["records"]) == 1
    office = Client()
    clerk = Membership.objects.get(role=Role.CLERK, program=phone.office.program).user
    office.force_login(clerk, backend="django.contrib.auth.backends.ModelBackend")
    with path.open("rb") as saved:
        answer = office.post("/p/flats/enter/file/", {"file": saved})
    assert answer.status_code == 200
    entry = FieldEntry.objects.get(body__fields__serial="A102")
    assert entry.photos.count() == 1
    assert entry.field_test is not None
    assert entry.field_test.counts
    # Sending afterwards finds it there already, and the phone gets the receipt.
    phone.context.set_offline(False)
    all_sent(phone)
    assert FieldEntry.objects.filter(body__fields__serial="A102").count() == 1
    expect(phone.page.locator("#waiting")).to_contain_text(entry.receipt)


def test_logged_out_nothing_is_lost_and_the_page_says_what_to_do(phone: Phone) -> None:
    phone.open(phone.form("A103"))
    fill_in(phone)
    phone.page.wait_for_timeout(300)
    cookies = phone.context.cookies()
    phone.context.clear_cookies(name="sessionid")
    phone.page.click("#hand-in")
    phone.page.wait_for_url("**/login/**")
    assert not FieldEntry.objects.filter(by="Tove").exists()
    phone.context.add_cookies(cookies)  # type: ignore[arg-type]
    phone.open(phone.home)
    phone.page.locator("#send-now").dispatch_event("click")
    all_sent(phone)
    assert FieldEntry.objects.filter(by="Tove").count() == 1
