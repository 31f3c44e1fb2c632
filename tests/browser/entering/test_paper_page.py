"""A paper beside its form: larger, turned, by key alone, and going to where a field stands."""

from __future__ import annotations

from io import BytesIO

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image, ImageDraw
from playwright.sync_api import Page, expect

from registry.domain.kinds import Role
from registry.models import Membership, Program
from reports.models import FieldEntry, Paper, PaperSpot
from tests.browser.conftest import Visit
from tests.reports.entering.test_batches import SEVEN_KINDS, sheet_of
from tests.reports.entering.test_papers import KEYED

pytestmark = [pytest.mark.browser, pytest.mark.slow]

WHERE = "/p/flats/field-tests/papers/"
SCROLL = """() => {
  const view = document.getElementById('paper-view');
  return [view.scrollLeft, view.scrollTop];
}"""


def scan(shade: str) -> bytes:
    image = Image.new("RGB", (1275, 1650), "white")
    ImageDraw.Draw(image).rectangle((100, 1200, 700, 1300), fill=shade)
    out = BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


def office_client(visit: Visit, *, role: Role = Role.CLERK) -> Client:
    person = Membership.objects.get(program=visit.office.program, role=role).user
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


def taken_in(visit: Visit, shade: str) -> Paper:
    file = SimpleUploadedFile(f"{shade}.png", scan(shade))
    office_client(visit).post(WHERE, {"file": file})
    return Paper.objects.get(file_name=f"{shade}.png")


def key_address(visit: Visit, paper: Paper) -> str:
    return f"{WHERE}{paper.pk}/key/?assembly={visit.office.ids['assembly']}"


def ready(page: Page) -> None:
    page.wait_for_selector("html[data-entering=ready][data-paper=ready]")


def test_a_place_shown_once_is_gone_to_on_the_next_paper(visit: Visit) -> None:
    page = visit.page
    first, second = taken_in(visit, "black"), taken_in(visit, "navy")
    visit.go(key_address(visit, first))
    ready(page)
    page.locator("#initial_relief").focus()
    page.locator("#paper-view").focus()
    for key in ("+", "+", "+"):
        page.keyboard.press(key)
    wide = page.locator("#paper-view img").bounding_box()
    assert wide is not None
    assert wide["width"] > 1.9 * page.locator("#paper-view").bounding_box()["width"]  # type: ignore[index]
    page.evaluate("document.getElementById('paper-view').scrollTop = 900")
    with page.expect_response("**/spot/"):
        page.keyboard.press("m")
    expect(page.locator("#paper-says")).to_contain_text("stands here on this form")
    spot = PaperSpot.objects.get(field="initial_relief")
    assert 0.3 < spot.down < 1
    visit.go(key_address(visit, second))
    ready(page)
    assert page.evaluate(SCROLL) == [0, 0]
    page.locator("#initial_relief").focus()
    across, down = page.evaluate(SCROLL)
    assert down > 300
    assert across >= 0
    assert visit.complaints == []


def test_a_paper_is_turned_and_shown_whole_by_key_and_button(visit: Visit) -> None:
    page = visit.page
    visit.go(f"{WHERE}{taken_in(visit, 'black').pk}/")
    page.wait_for_selector("html[data-paper=ready]")
    image = page.locator("#paper-view img")
    upright = image.bounding_box()
    page.locator("#paper-view").focus()
    page.keyboard.press("r")
    turned = image.bounding_box()
    assert upright is not None
    assert turned is not None
    assert upright["height"] > upright["width"]
    assert turned["width"] > turned["height"]
    expect(page.locator("#paper-says")).to_contain_text("90 degrees")
    page.get_by_role("button", name="Turn").click()
    expect(page.locator("#paper-says")).to_contain_text("180 degrees")


def test_a_paper_is_keyed_with_the_live_verdict_beside_it(visit: Visit) -> None:
    page = visit.page
    paper = taken_in(visit, "black")
    visit.go(key_address(visit, paper))
    ready(page)
    for name in ("tested_on", "tested_at", "certificate", "gauge_serial"):
        page.fill(f"#{name}", KEYED[name])
    page.fill("#initial_relief", "1.8")
    page.fill("#initial_check1", "7.4")
    page.locator("input[name=initial_check2_tight][value=yes]").check(force=True)
    expect(page.locator("#verdict")).to_contain_text("Fails on the relief valve")
    page.fill("#signed_name", "Tove Vell")
    page.click("#hand-in")
    page.wait_for_url(lambda where: "/key/" not in where)
    entry = FieldEntry.objects.get(channel="paper")
    assert entry.client_id == paper.client_id
    assert entry.field_test is not None
    assert entry.field_test.outcome == "fail"
    visit.go("/p/flats/enter/")
    assert page.locator("#draft-list li").count() == 0


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 640, 1280])
def test_axe_finds_nothing_and_nothing_scrolls_sideways(
    visit: Visit, scheme: str, width: int
) -> None:
    """640 px stands for a window of 1,280 px at 200 % zoom."""
    page = visit.page
    program = Program.objects.get(pk=visit.office.program.pk)
    program.letterhead = {**program.letterhead, "papers_by_two": True}
    program.save()
    waiting, differing = taken_in(visit, "black"), taken_in(visit, "navy")
    where = key_address(visit, differing)
    office_client(visit).post(where, KEYED)
    other = office_client(visit, role=Role.CLERK)
    page.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
    page.set_viewport_size({"width": width, "height": 740})
    file = SimpleUploadedFile("nov.csv", sheet_of(*SEVEN_KINDS))
    cookies = {one["name"]: one["value"] for one in page.context.cookies()}
    other.cookies["sessionid"] = cookies["sessionid"]
    other.post(where, {**KEYED, "initial_relief": "1.4"})
    look = other.post("/p/flats/field-tests/load/", {"file": file})["Location"]
    found = []
    pages = [
        key_address(visit, waiting), f"{WHERE}{differing.pk}/settle/", look, WHERE,
        f"{WHERE}{waiting.pk}/?q=A1",
    ]  # fmt: skip
    for one in pages:
        visit.go(one)
        page.wait_for_timeout(200)
        found += [
            f"{one}: {bad['id']}: {[node['target'] for node in bad['nodes']][:3]}"
            for bad in Axe().run(page).response["violations"]
        ]
        spill = page.evaluate(
            "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        )
        if spill > 0:
            found.append(f"{one}: {spill} px sideways")
    assert found == []
    assert visit.complaints == []


UNDER = """() => {
  const one = document.activeElement;
  if (one === document.body || one.closest('.paper-side')) { return false; }
  const box = one.getBoundingClientRect();
  const bar = document.getElementById('verdict').getBoundingClientRect();
  const side = document.querySelector('.paper-side').getBoundingClientRect();
  const isBeside = window.innerWidth >= 960;
  return box.bottom > bar.top + 1 || (!isBeside && box.top < side.bottom - 1 && side.top <= 0);
}"""


def test_focus_is_neither_under_the_bar_nor_under_the_picture(visit: Visit) -> None:
    page = visit.page
    page.set_viewport_size({"width": 390, "height": 844})
    visit.go(key_address(visit, taken_in(visit, "black")))
    ready(page)
    hidden = []
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate(UNDER):
            hidden.append(page.evaluate("document.activeElement.outerHTML.slice(0, 90)"))
    assert hidden == []
