"""The week board by mouse: a visit dragged to another day, and back by Undo."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from playwright.sync_api import expect

from reports.models import Round, Stop
from tests.access.addresses import address
from tests.browser.conftest import Visit

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def test_a_visit_is_dragged_to_another_day_and_taken_back(visit: Visit) -> None:
    row = Round.objects.filter(plan__program=visit.office.program, stops__isnull=False)[0]
    days_on = timedelta(days=1)
    row.pk, row.on = None, row.on + days_on
    row.starts_at, row.ends_at = row.starts_at + days_on, row.ends_at + days_on
    row.save()
    visit.go(address("rounds", visit.office))
    stop = visit.page.locator("li[data-stop]").first
    place = re.search(r"/stops/(\d+)/", stop.get_attribute("data-stop") or "")
    assert place is not None
    pk = int(place[1])
    was = Stop.objects.get(pk=pk).arrives_at
    days = visit.page.locator("td[data-day]")
    stop.drag_to(days.nth(1))
    visit.page.wait_for_url(re.compile(r"/rounds/\d+/$"))
    moved = Stop.objects.get(pk=pk)
    assert moved.arrives_at.date() > was.date()
    visit.go(address("rounds", visit.office))
    expect(visit.page.locator("section[aria-labelledby=changes]")).to_contain_text("moved to")
    visit.page.get_by_role("button", name="Undo").first.click()
    visit.page.wait_for_load_state()
    assert Stop.objects.get(pk=pk).arrives_at == was
