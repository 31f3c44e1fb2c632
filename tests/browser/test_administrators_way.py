"""As an administrator would: adopt a place's rules, fill its gaps, compare, level, undo."""

from __future__ import annotations

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from scheduling.models import Adoption, LevelDecision, Obligation, Rulebook
from tests.access.test_query_counts import add_assemblies
from tests.browser.conftest import Visit

pytestmark = [pytest.mark.browser, pytest.mark.slow]

PLACE = "harker-heights-tx"


def violations(page: Page) -> list[str]:
    return [one["help"] for one in Axe().run(page).response["violations"]]


def test_a_place_is_adopted_its_gaps_filled_compared_in_force_levelled_and_undone(
    visit: Visit,
) -> None:
    add_assemblies(visit.office, number=6)
    page = visit.page
    adopt(visit)
    fill_one_gap(page)
    do_without_the_others(visit)
    compare(page)
    put_in_force(page)
    level_and_undo(visit)
    take_back(visit)
    assert [one for one in visit.complaints if "422" not in one] == []


def adopt(visit: Visit) -> None:
    page = visit.page
    visit.go(f"/p/flats/rulebook/shipped/{PLACE}/")
    expect(page.get_by_role("heading", name="Not transcribed")).to_be_visible()
    page.get_by_role("button", name="Make a draft copy").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(f"Draft {PLACE}")
    expect(page.get_by_text(re.compile(r"gaps are open: fill or waive each first"))).to_be_visible()
    expect(page.get_by_role("link", name="Put it in force")).to_have_count(0)
    assert violations(page) == []


def fill_one_gap(page: Page) -> None:
    page.get_by_role("link", name="Write the rule for days to cure").click()
    page.get_by_label("Days", exact=True).fill("30")
    page.get_by_label("Citation").first.fill("Resolution 7, set here")
    page.get_by_role("button", name="Keep it in the draft").click()
    expect(page.get_by_text("Gap “days to cure” is filled.")).to_be_visible()


def do_without_the_others(visit: Visit) -> None:
    page = visit.page
    for _ in range(40):
        further = page.get_by_role("link", name=re.compile("^Do without it"))
        if further.count() == 0:
            break
        further.first.click()
        page.get_by_label("Why it may do without").fill("The usual days hold here: Resolution 7")
        page.get_by_role("button", name="Do without it").click()
    expect(page.get_by_text("Nothing is missing.")).to_be_visible()
    assert Rulebook.objects.get(name=PLACE, is_draft=True).gaps == []


def compare(page: Page) -> None:
    page.get_by_role("link", name="Compare").first.click()
    expect(page.get_by_role("heading", level=1)).to_have_text(re.compile("would change"))
    expect(page.get_by_text("the next 24 months under each")).to_be_visible()
    assert violations(page) == []
    page.get_by_role("link", name="which assemblies move").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(f"What moves under {PLACE}")
    expect(page.get_by_role("row")).not_to_have_count(0)
    assert violations(page) == []
    page.go_back()


def put_in_force(page: Page) -> None:
    page.get_by_role("link", name="Put it in force").click()
    page.get_by_label("From", exact=True).fill("2026-11-26")
    page.get_by_role("button", name="Show what happens then").click()
    page.get_by_label("Why, or by whose resolution").fill("Resolution 7")
    page.get_by_role("button", name=re.compile("^Put it in force from November.26")).click()
    expect(page.get_by_text("Until then it can be taken back")).to_be_visible()
    newest = Adoption.objects.order_by("-effective_on", "-pk")[0]
    assert (newest.rulebook.name, newest.by, newest.reason) == (PLACE, "Ida Marrow", "Resolution 7")


def take_back(visit: Visit) -> None:
    visit.go("/p/flats/rulebook/")
    visit.page.get_by_role("button", name="Take it back").click()
    expect(visit.page.get_by_text("will not come into force")).to_be_visible()
    assert Adoption.objects.filter(rulebook__name=PLACE).count() == 0


def level_and_undo(visit: Visit) -> None:
    page = visit.page
    visit.go("/p/flats/levelling/")
    page.get_by_label("Tests", exact=True).fill("2")
    page.get_by_role("button", name="Propose").click()
    # the page fetches the answer by itself until the solver has it
    expect(page.get_by_role("heading", name="What moves")).to_be_visible(timeout=60_000)
    assert violations(page) == []
    page.get_by_role("button", name="Set these targets").click()
    expect(page.get_by_text("The targets are set")).to_be_visible()
    assert Obligation.objects.filter(target_on__isnull=False).exists()
    page.get_by_role("button", name="Undo").first.click()
    expect(page.get_by_text("It is undone")).to_be_visible()
    assert LevelDecision.objects.filter(undone_by="Ida Marrow").exists()
    assert not Obligation.objects.filter(target_on__isnull=False).exists()
