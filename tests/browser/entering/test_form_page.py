"""The form under a thumb, a keyboard and a checker: verdicts as one writes, nothing hidden."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, expect

from reports.models import FieldEntry
from tests.browser.entering.conftest import NAME, PASSWORD, Phone, fill_in

pytestmark = [pytest.mark.browser, pytest.mark.slow]

UNDER_THE_BAR = """() => {
  if (document.activeElement === document.body) { return false; }
  const one = document.activeElement.getBoundingClientRect();
  const bar = document.getElementById('verdict').getBoundingClientRect();
  return bar.height > 0 && one.bottom > bar.top + 1;
}"""


def test_each_field_says_how_it_stands_and_the_bar_how_the_whole_does(phone: Phone) -> None:
    page = phone.page
    phone.open(phone.form("A100"))
    bar = page.locator("#verdict")
    expect(bar).to_have_attribute("role", "status")
    page.fill("#initial_relief", "1.8")
    page.fill("#initial_check1", "7.4")
    page.locator("#initial_check1").blur()
    expect(page.locator("#initial_relief_says")).to_contain_text("Below the limit by 0.2.")
    expect(page.locator("#initial_check1_says")).to_have_text("Meets it, by 2.4.")
    expect(bar).to_contain_text("Fails on the relief valve")
    expect(bar).to_contain_text("Check 2 is still missing")
    page.fill("#initial_relief", "2.4")
    page.locator("input[name=initial_check2_tight][value=yes]").check(force=True)
    expect(bar).to_contain_text("Passes")
    page.locator("input[name=initial_check2_tight][value=no]").check(force=True)
    expect(bar).to_contain_text("Fails on check 2")
    page.locator("input[name=shutoff2_tight][value=no]").check(force=True)
    expect(bar).to_contain_text("the readings do not count unless no flow is shown")


# 13.7 kPa is 1.987 psi, 13.8 kPa is 2.0015 psi: judged without a rounded limit.
def test_a_gauge_in_kpa_is_judged_in_kpa(phone: Phone) -> None:
    page = phone.page
    phone.open(phone.form("A100"))
    page.locator("input[name=unit][value=kPa]").check(force=True)
    expect(page.locator("[data-unit]").first).to_have_text("kPa")
    page.fill("#initial_relief", "13.8")
    page.locator("#initial_relief").blur()
    expect(page.locator("#initial_relief_says")).to_have_text("Meets it, by 0.010486.")
    page.fill("#initial_relief", "13.7")
    page.locator("#initial_relief").blur()
    expect(page.locator("#initial_relief_says")).to_contain_text("Below the limit")


def test_the_bar_is_still_while_a_verdict_does_not_turn(phone: Phone) -> None:
    page = phone.page
    phone.open(phone.form("A100"))
    page.evaluate(
        """() => { window.turns = 0; new MutationObserver(() => { window.turns += 1; })
        .observe(document.getElementById('verdict'), {childList: true, subtree: true}); }"""
    )
    page.locator("#remarks").press_sequentially("Dry pit, clean", delay=5)
    page.wait_for_timeout(200)
    assert page.evaluate("window.turns") <= 2  # at most once, to say that it is saved


def test_focus_is_never_under_the_bar(phone: Phone) -> None:
    page = phone.page
    page.set_viewport_size({"width": 360, "height": 640})
    phone.open(phone.form("A100"))
    hidden = []
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate(UNDER_THE_BAR):
            hidden.append(page.evaluate("document.activeElement.outerHTML.slice(0, 90)"))
    assert hidden == []


def test_a_test_is_entered_with_the_keyboard_alone(phone: Phone) -> None:
    page = phone.page
    phone.open(phone.form("A100"))
    keys = {
        "cautions_read": ("Space",),
        "shutoff1_tight": ("Space",),
        "shutoff2_tight": ("Space",),
        "relief_running": ("Space",),
        "initial_relief": ("2", ".", "4"),
        "initial_check2_tight": ("Space",),
        "initial_check1": ("7", ".", "4"),
        "supply_on": ("Space",),
        "attested": ("Space",),
        "signed_name": ("T", "o", "v", "e"),
    }
    pressed = set()
    for _ in range(120):
        page.keyboard.press("Tab")
        name = page.evaluate("document.activeElement.name || document.activeElement.id")
        for key in keys.get(name, ()) if name not in pressed else ():
            page.keyboard.press(key)
        pressed.add(name)
        if name == "hand-in":
            page.keyboard.press("Enter")
            break
    page.wait_for_url(phone.home)
    expect(page.locator("#waits")).to_have_text("Nothing waits on this device.")
    assert FieldEntry.objects.get(by="Tove").field_test.outcome == "pass"  # type: ignore[union-attr]


def test_the_device_names_what_is_missing_and_leads_to_it(phone: Phone) -> None:
    page = phone.page
    phone.open(phone.form("A100"))
    page.click("#hand-in")
    faults = page.get_by_role("alert")
    expect(faults).to_be_focused()
    expect(faults).to_contain_text("Say whether shutoff valve 2 holds")
    faults.get_by_role("link", name="Signature").click()
    expect(page.locator("#signed_name")).to_be_focused()
    assert not FieldEntry.objects.filter(by="Tove").exists()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 1280])
def test_axe_finds_nothing_and_nothing_scrolls_sideways(
    phone: Phone, scheme: str, width: int
) -> None:
    page = phone.page
    page.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
    page.set_viewport_size({"width": width, "height": 740})
    found = []
    blank = [f"{phone.home}type/{kind}/" for kind in ("RPDA", "PVB")]
    for where in (phone.home, phone.form("A100"), *blank):
        phone.open(where)
        if page.locator("#to-repair").is_visible():
            page.click("#to-repair")
        if page.locator("details").count():
            page.locator("summary").first.click()
        page.wait_for_timeout(150)
        found += [
            f"{where}: {one['id']}: {[node['target'] for node in one['nodes']][:3]}"
            for one in Axe().run(page).response["violations"]
        ]
        spill = page.evaluate(
            "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        )
        if spill > 0:
            found.append(f"{where}: {spill} px sideways")
    assert found == []


def test_every_target_is_at_least_48_px_high(phone: Phone) -> None:
    phone.open(phone.form("A100"))
    low = phone.page.evaluate(
        """() => [...document.querySelectorAll('.hand button, .choices label, .tickbox, .other,'
        + ' .boxed input, .blank input, .blank select, .parts a')]
        .filter(one => one.getClientRects().length && one.getBoundingClientRect().height < 48)
        .map(one => one.outerHTML.slice(0, 80))"""
    )
    assert low == []


def test_without_scripts_the_form_is_judged_when_it_is_sent(phone: Phone, browser: Browser) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{phone.base}/login/")
    page.fill("#id_username", NAME)
    page.fill("#id_password", PASSWORD)
    page.click("button.main")
    page.goto(phone.form("A100"))
    page.click("#hand-in")
    expect(page.get_by_role("alert")).to_contain_text("things need mending")
    plain = Phone(
        office=phone.office,
        base=phone.base,
        store=phone.store,
        playwright=phone.playwright,
        context=context,
        page=page,
    )
    fill_in(plain, relief="1.8")
    page.click("#hand-in")
    expect(page.locator("h1")).to_contain_text("Receipt")
    expect(page.locator(".standing-sentence")).to_contain_text("Fails")
    context.close()
