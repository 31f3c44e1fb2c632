"""A tester’s day on a phone-sized browser: ready at the depot, no signal in pits, sent later."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import expect

from registry.models import Question
from reports.models import EntryPhoto, FieldEntry, FieldTest
from scheduling.models import AssemblyState, Fact
from tests.access.cast import TODAY
from tests.browser.entering.conftest import Phone, fill_in, photo

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def test_a_day_from_the_depot_to_the_last_receipt(phone: Phone, tmp_path: Path) -> None:
    page = phone.page
    page.set_viewport_size({"width": 360, "height": 740})
    # At the depot: what is there today, and made ready.
    phone.open(phone.home)
    expect(page.locator("h1")).to_have_text("What to test")
    expect(page.locator("#stops-head")).to_be_visible()
    page.click("#get-ready")
    expect(page.locator("#ready-line")).to_contain_text(" MB.", timeout=60_000)
    forms = {serial: phone.form(serial) for serial in ("A100", "A101", "A102")}
    phone.kill()
    phone.wake(offline=True)
    page = phone.page
    page.set_viewport_size({"width": 360, "height": 740})

    # First stop: found failing, mended, tested again.
    phone.open(phone.home)
    page.locator(f"a[href$='{forms['A100'].removeprefix(phone.base)}']").first.click()
    page.wait_for_selector("html[data-entering=ready]")
    expect(page.locator(".cautions li").first).to_be_visible()
    expect(page.locator("[data-reading=check1] .before").first).to_be_visible()
    fill_in(phone, relief="1.6")
    expect(page.locator("#initial_relief_says .cause")).to_be_visible()
    expect(page.locator("#verdict")).to_contain_text("Fails on the relief valve")
    page.click("#to-repair")
    page.fill("#repairs", "Cleaned the relief valve; new stem seal")
    page.fill("#final_relief", "2.8")
    page.locator("input[name=final_check2_tight][value=yes]").check(force=True)
    page.fill("#final_check1", "7.1")
    page.locator("#final_check1").blur()
    expect(page.locator("#verdict")).to_contain_text("Passes after repair")
    page.set_input_files("#photo", photo(tmp_path, "seal", shade=60))
    expect(page.locator("#photo-list li")).to_have_count(1)
    page.click("#hand-in")
    page.wait_for_url(phone.home)
    expect(page.locator("#waits")).to_contain_text("1 report waits on this device")

    # Second stop: under water, with an open way around it.
    phone.open(forms["A101"])
    page.check("#cautions_read")
    page.select_option("#not_tested", "submerged")
    page.fill("#tested_at", "11:25")
    page.locator("details > summary").first.click()
    page.locator("input[name=way_around][value=yes]").check(force=True)
    page.check("#attested")
    page.fill("#signed_name", "Tove Vell")
    expect(page.locator("#verdict")).to_contain_text("Could not be tested")
    page.click("#hand-in")
    page.wait_for_url(phone.home)

    # Third stop: begun for the wrong one, and let go.
    phone.open(forms["A102"])
    page.fill("#initial_relief", "2.2")
    page.click("#discard-ask")
    page.click("#discard-yes")
    expect(page.locator("#discarded")).to_be_visible()
    phone.open(phone.home)
    expect(page.locator("#waits")).to_contain_text("2 reports wait on this device")
    assert not FieldEntry.objects.filter(by="Tove").exists()

    # Back at the road: all goes by itself, and says what became of it.
    phone.context.set_offline(False)
    expect(page.locator("#waits")).to_have_text("Nothing waits on this device.", timeout=60_000)
    expect(page.locator("#waiting li")).to_have_count(2)
    page.reload()
    page.locator("#sent-head + ul a").filter(has_text="A100").first.click()
    expect(page.locator(".standing-sentence")).to_contain_text("Passes, and counts")

    test = FieldTest.objects.get(serial="A100", entries__by="Tove")
    assert (test.as_found, test.outcome, test.counts) == ("fail", "pass", True)
    fact = Fact.objects.get(field_tests=test)
    assert (fact.kind, fact.detail["found_failed"]) == ("passed", True)
    assert AssemblyState.objects.get(assembly=test.assembly).last_passed_on == test.tested_on
    assert test.tested_on == TODAY
    assert EntryPhoto.objects.filter(entry__field_test=test).count() == 1
    told = " ".join(Question.objects.filter(settled_at=None).values_list("text", flat=True))
    assert "A101" in told
    assert FieldEntry.objects.filter(by="Tove").count() == 2
    assert phone.complaints == []
