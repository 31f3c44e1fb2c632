"""Every due date shown on a page answers "why" with one click, or says why beside itself."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import lxml.html  # type: ignore[import-untyped]
import pytest
from django.test import Client

from registry.models import Assembly, Question
from registry.templatetags.wording import day, long_day
from scheduling.models import AssemblyState, DecisionMember
from tests.access.addresses import address
from tests.access.cast import TODAY, Office, made_cast
from tests.access.test_matrix import BACKEND

HOUSE = Path(__file__).parents[2]
PRINTS_A_DUE_DATE = re.compile(
    r"\{\{[^}]*\b(due_on|cure_by|due_before|due_after|due_now)\b[^}]*\}\}"
)
LEADS_TO_WHY = ("#stands", "'premises-owed'", "'assembly-letters'")
SAYS_WHY_ITSELF = {
    "reports/templates/reports/assembly.html",  # the sum in words, and every step of it
    "reports/templates/reports/place_owed.html",  # the same for a premises
    "notices/templates/notices/letter_day.html",  # why a letter was or was not owed
    "notices/templates/notices/owner/page.html",  # a sentence for each, in the owner's words
    "reports/templates/reports/evidence.html",  # a choice in a list; the file it makes says why
}
PAGES = (
    *("registry", "premises", "letter", "order", "decisions", "decision", "rulebook-compare-moves"),
    *("enter", "letters", "rounds", "round", "field-tests", "field-test", "today", "levelling"),
)


@pytest.fixture
def office(db: None, client: Client) -> Office:
    cast = made_cast()
    client.force_login(cast.people["administrator"], backend=BACKEND)  # type: ignore[arg-type]
    pk = cast.home.ids["assembly"]
    due = AssemblyState.objects.get(assembly=pk).due_on
    DecisionMember.objects.filter(assembly=pk).update(due_before=due, due_after=due)
    return cast.home


def templates_with_due_dates() -> list[Path]:
    found = [
        path
        for app in ("registry", "scheduling", "notices", "reports", "config")
        for path in (HOUSE / app).rglob("templates/**/*.html")
        if PRINTS_A_DUE_DATE.search(path.read_text(encoding="utf-8"))
    ]
    return sorted(found)


def test_a_template_that_prints_a_due_date_leads_to_why() -> None:
    found = templates_with_due_dates()
    assert len(found) >= 8
    silent = [
        str(path.relative_to(HOUSE))
        for path in found
        if not any(sign in path.read_text(encoding="utf-8") for sign in LEADS_TO_WHY)
    ]
    assert set(silent) <= SAYS_WHY_ITSELF, "a due date without a way to why"


def rows_with(text: str, page: str) -> list[lxml.html.HtmlElement]:
    """The row, list item, or list of terms around each place that shows a text."""
    tree = lxml.html.fromstring(page)
    found = []
    for element in tree.iter():
        if isinstance(element.tag, str) and text in (element.text or "") + (element.tail or ""):
            around = [one for one in element.iterancestors() if one.tag in ("tr", "li", "dl")]
            if element.tag in ("tr", "li"):
                around.insert(0, element)
            found.append(around[0] if around else tree)
    return found


def test_each_due_date_on_a_page_stands_beside_a_way_to_why(client: Client, office: Office) -> None:
    one = Assembly.objects.get(pk=office.ids["assembly"])
    due = AssemblyState.objects.get(assembly=one).due_on
    assert due is not None
    why = f"/p/{office.program.code}/assemblies/{one.pk}/"
    seen = set()
    for name in PAGES:
        page = client.get(address(name, office)).content.decode()
        for text in {day(due, TODAY), day(due), long_day(due)}:
            for row in rows_with(text, page):
                hrefs = [str(link.get("href")) for link in row.iter("a")]
                assert any(href.startswith(why) for href in hrefs), (name, text, hrefs)
                seen.add(name)
    assert seen >= {"registry", "premises", "decision", "rulebook-compare-moves"}


def test_a_question_told_on_today_leads_to_whom_it_is_about(client: Client, office: Office) -> None:
    one = Assembly.objects.get(pk=office.ids["assembly"])
    said = "overdue since August 6, 2012, and idle"
    Question.objects.filter(program=office.program).delete()
    Question.objects.create(program=office.program, key="facts:1", kind="facts", text=said,
                            assembly=one, raised_on=TODAY)  # fmt: skip
    page = client.get(address("today", office)).content.decode()
    (line,) = lxml.html.fromstring(page).xpath(f"//li[contains(., '{said}')]")
    hrefs = {str(link.get("href")): link.text_content() for link in line.iter("a")}
    assert hrefs[f"/p/{office.program.code}/assemblies/{one.pk}/#stands"] == one.serial


def test_the_page_behind_it_says_the_sum_and_its_source(client: Client, office: Office) -> None:
    page = client.get(address("assembly", office)).content.decode()
    # plain-rolling, rule 4: an RP on high hazard is due six months after the last pass
    assert 'id="stands"' in page
    due = AssemblyState.objects.get(assembly=office.ids["assembly"]).due_on
    assert isinstance(due, date)
    assert "Every step of the sum" in page
    steps = lxml.html.fromstring(page).xpath("//details//tr")
    assert any(day(due) in step.text_content() or long_day(due) in step.text_content()
               for step in steps)  # fmt: skip
