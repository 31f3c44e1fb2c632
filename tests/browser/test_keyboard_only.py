"""Rounds without a pointer: a visit moved, pinned, kept from a tester, and all of it undone."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from registry import models
from registry.models import Approval, Assignment, Certification
from reports.models import NotForVisit, Round, Stop
from tests.access.addresses import address
from tests.browser.conftest import Visit

pytestmark = [pytest.mark.browser, pytest.mark.slow]

MOST_TABS = 120


def tab_to(page: Page, what: str) -> None:
    """Press Tab until what a selector names has the focus; fails where it is never reached."""
    for _ in range(MOST_TABS):
        page.keyboard.press("Tab")
        if page.evaluate("what => document.activeElement.matches(what)", what):
            return
    raise AssertionError(f"Tab never comes to {what}.")


def press(page: Page, what: str) -> None:
    """Go to something by Tab and press Enter on it; wait for the page it leads to."""
    tab_to(page, what)
    with page.expect_navigation():
        page.keyboard.press("Enter")


STEPS = """value => [...document.activeElement.options].findIndex(one => one.value === value)
  - document.activeElement.selectedIndex"""


def choose(page: Page, value: str) -> None:
    """Move the choice of the field in focus, by arrow keys, to a value."""
    steps = int(page.evaluate(STEPS, value))
    for _ in range(abs(steps)):
        page.keyboard.press("ArrowDown" if steps > 0 else "ArrowUp")
    assert page.evaluate("document.activeElement.value") == value


@pytest.fixture
def another(visit: Visit) -> Round:
    """A second tester, with a day of the plan on the day after the first one's."""
    row = Round.objects.filter(plan__program=visit.office.program, stops__isnull=False)[0]
    first = row.tester
    terms = Certification.objects.filter(tester=first)[0]
    other = models.Tester.objects.create(
        firm=first.firm,
        certificate="T-2",
        name="R. Odom",
        hours=first.hours,
        depot_lat=first.depot_lat,
        depot_lon=first.depot_lon,
        skills=first.skills,
    )
    terms.pk, terms.tester = None, other
    terms.save()
    accepted = Approval.objects.filter(tester=first)[0]
    accepted.pk, accepted.tester = None, other
    accepted.save()
    days_on = timedelta(days=1)
    row.pk, row.tester, row.on = None, other, row.on + days_on
    row.starts_at, row.ends_at = row.starts_at + days_on, row.ends_at + days_on
    row.save()
    return row


def test_a_visit_is_moved_pinned_forbidden_and_undone_by_keyboard(
    visit: Visit, another: Round
) -> None:
    page, board = visit.page, address("rounds", visit.office)
    stop = Stop.objects.get(program=visit.office.program, cancelled_at__isnull=True)
    assert stop.round is not None
    was = (stop.round.tester_id, stop.round.on, stop.arrives_at)
    its_page = f'a[href$="/stops/{stop.pk}/"]'

    visit.go(board)
    press(page, its_page)
    tab_to(page, "#day")
    choose(page, f"{another.tester_id}/{another.on.isoformat()}")
    press(page, "button[value=move]")
    moved = Stop.objects.select_related("round").get(pk=stop.pk)
    assert moved.round is not None
    assert (moved.round.tester_id, moved.round.on) == (another.tester_id, another.on)

    visit.go(board)
    press(page, its_page)
    press(page, "button[value=pin]")
    assert Stop.objects.get(pk=stop.pk).pinned_at is not None

    visit.go(board)
    press(page, its_page)
    press(page, 'a[href*="/not-wanted/"]')
    tab_to(page, "[name=tester]")
    assert page.evaluate("document.activeElement.value") == str(another.tester_id)
    tab_to(page, "[name=reason]")
    page.keyboard.type("Asked for somebody else.")
    press(page, "form button.main")
    wish = NotForVisit.objects.get(premises=stop.premises, tester=another.tester)
    assert wish.ended_at is None
    press(page, f'form[action$="/{wish.pk}/end/"] button')
    assert NotForVisit.objects.get(pk=wish.pk).ended_at is not None

    for _ in range(2):
        visit.go(board)
        press(page, 'form[action*="/changes/"] button')
    back = Stop.objects.select_related("round").get(pk=stop.pk)
    assert back.round is not None
    assert (back.round.tester_id, back.round.on, back.arrives_at) == was
    assert back.pinned_at is None
    assert visit.complaints == []


def test_an_area_is_drawn_by_keyboard_and_by_pointer_and_lists_before_it_assigns(
    visit: Visit,
) -> None:
    page = visit.page
    visit.go(address("round-assign", visit.office))
    page.wait_for_selector("#area-map[data-drawn]")
    field = page.locator("#area-corners")
    tab_to(page, ".area-tools button:nth-child(2)")
    page.keyboard.press("Enter")
    expect(field).to_have_value(re.compile(r"^[^;]+;[^;]+;[^;]+;[^;]+$"))
    before = field.input_value().split(";")
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("Shift+ArrowUp")
    page.keyboard.press("+")
    after = field.input_value().split(";")
    assert len(after) == 5
    assert float(after[0].split(",")[0]) > float(before[0].split(",")[0])
    assert float(after[0].split(",")[1]) < float(before[0].split(",")[1])
    assert after[2:] == before[1:]
    page.keyboard.press("Delete")
    expect(page.locator(".area-tools ~ p[role=status]")).to_contain_text("nothing is assigned")
    press(page, "form[method=get] .acts:not(.area-tools) button")
    assert "area=" in page.url
    expect(page.locator("input[name=premises]").first).to_be_checked()
    count = Assignment.objects.count()

    page.wait_for_selector("#area-map[data-drawn]")
    page.locator(".area-tools button").first.click()
    box = page.locator("#area-map").bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x - 100, y - 100)
    page.mouse.down()
    for dx, dy in ((100, -100), (100, 100), (-100, 100), (-100, -90)):
        page.mouse.move(x + dx, y + dy, steps=8)
    page.mouse.up()
    drawn = field.input_value().split(";")
    assert 3 <= len(drawn) <= 40
    assert drawn != after
    assert Assignment.objects.count() == count
    assert visit.complaints == []
