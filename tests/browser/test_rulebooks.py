"""A rulebook in a real browser: copied, changed in a form, compared, in force, taken back."""

from __future__ import annotations

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from tests.browser.conftest import Visit

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def violations(visit: Visit) -> list[str]:
    return [one["help"] for one in Axe().run(visit.page).response["violations"]]


def test_a_place_is_copied_changed_compared_put_in_force_and_taken_back(visit: Visit) -> None:
    page = visit.page
    visit.go("/p/flats/rulebook/")
    page.get_by_role("button", name="Make a draft copy").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Draft plain-rolling")

    page.get_by_role("link", name="Change rule 3").click()
    page.get_by_label("Every", exact=False).first.fill("every moon")
    page.get_by_role("button", name="Keep it in the draft").click()
    expect(page.get_by_role("alert")).to_contain_text("is not allowed here")
    assert violations(visit) == []
    page.get_by_label("Every", exact=False).first.fill("6 months")
    page.get_by_role("button", name="Keep it in the draft").click()
    expect(page.get_by_text("is kept in the draft")).to_be_visible()
    assert violations(visit) == []

    page.get_by_role("link", name="Compare").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(re.compile("would change"))
    page.get_by_role("link", name="Put it in force").click()
    page.get_by_label("From", exact=True).fill("2027-01-15")
    page.get_by_role("button", name="Show what happens then").click()
    page.get_by_label("Why, or by whose resolution").fill("Resolution 7")
    assert violations(visit) == []
    page.get_by_role("button", name="Put it in force from January 15, 2027").click()
    expect(page.get_by_text("Until then it can be taken back")).to_be_visible()

    page.get_by_role("button", name="Take it back").click()
    expect(page.get_by_text("will not come into force")).to_be_visible()
    expect(page.get_by_role("heading", level=1)).to_have_text("Draft plain-rolling")
    assert [one for one in visit.complaints if "422" not in one] == []
