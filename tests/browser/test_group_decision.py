"""A street is decided about in a browser, at a desk and on a phone: who is in it, what it would
make of each, kept, seen on the premises' own page, ended for all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.contrib.auth import get_user_model
from playwright.sync_api import Page, expect

from registry.domain.kinds import Role
from registry.models import Membership
from scheduling.models import Decision, Obligation, ProgramClock
from tests.browser.conftest import Visit
from tests.browser.office import NAME
from tests.scheduling.larch_court import TODAY, court
from tests.scheduling.waterworks import waterworks

pytestmark = [pytest.mark.browser, pytest.mark.slow]

DESK, PHONE = {"width": 1280, "height": 900}, {"width": 390, "height": 844}


def looked_at(page: Page, name: str) -> None:
    """No fault that axe knows, and nothing wider than the page, at both widths."""
    for size, where in ((DESK, "desk"), (PHONE, "phone")):
        page.set_viewport_size(size)  # type: ignore[arg-type]
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= size["width"], (name, where, wide)
        assert [one["help"] for one in Axe().run(page).response["violations"]] == []
        if kept := os.environ.get("KEEP_PICTURES"):
            page.screenshot(path=Path(kept) / f"{name}-{where}.png", full_page=True)
    page.set_viewport_size(DESK)  # type: ignore[arg-type]


def test_a_street_is_held_with_its_surveys_and_protection_and_the_hold_ended(visit: Visit) -> None:
    program = waterworks()
    services = court(program, 3)
    ProgramClock.objects.update_or_create(program=program, defaults={"last_run_on": TODAY})
    user = get_user_model().objects.get(username=NAME)
    Membership.objects.create(user_id=user.pk, role=Role.ADMINISTRATOR, program=program)
    page = visit.page
    visit.go("/p/works/decisions/new/")
    page.get_by_label("Address with").fill("Larch")
    page.get_by_role("button", name="Show them").click()
    expect(page.get_by_text("3 assemblies, 3 premises and 3 services").first).to_be_visible()
    page.get_by_role("combobox", name="What is decided").select_option("held")
    page.get_by_role("textbox", name="Until").fill("2026-06-30")
    page.get_by_label("Name of the group").fill("Larch Court under repair")
    page.get_by_label("Approved by").fill("J. Marsh, board")
    page.get_by_label("Reason", exact=True).fill("The street is open.")
    page.get_by_label("Leave out Survey of the premises at 3 Larch Court").check()
    page.get_by_role("button", name="See what it would do").click()
    expect(page.get_by_role("button", name="Decide it")).to_be_visible()
    looked_at(page, "new")
    page.get_by_role("button", name="Decide it").click()
    expect(page.get_by_text("It is decided for 8, and the dates follow.")).to_be_visible()
    looked_at(page, "decision")
    visit.go(f"/p/works/premises/{services[0].premises_id}/")
    looked_at(page, "premises")
    page.get_by_role("link", name="Held: Larch Court under repair").first.click()
    page.get_by_label("It ends on").fill("2026-03-10")
    page.get_by_label("Why", exact=True).fill("It was another street.")
    page.get_by_role("button", name="End it").click()
    expect(page.get_by_text("It has ended for 8; their dates follow.")).to_be_visible()
    assert Decision.objects.get(program=program).ended_on == TODAY
    days = Obligation.objects.filter(assembly=None, program=program).values_list("due_on")
    assert {str(day) for (day,) in days} == {"2026-04-01"}
    assert visit.complaints == []
