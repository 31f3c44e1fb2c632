"""Every place that ships can be drafted from, and each of its gaps leads to where it is filled."""

from __future__ import annotations

import re
from html import unescape

import pytest
from django.test import Client

from scheduling.domain.draft_tables import TABLE_OF
from scheduling.domain.gaps import Part
from scheduling.models import Rulebook
from scheduling.queries.shipped import shipped_names, shipped_rulebook
from tests.access.cast import made_cast
from tests.access.test_matrix import BACKEND

pytestmark = pytest.mark.django_db
PLACES = [name for name in shipped_names() if not name.startswith("plain-")]


@pytest.fixture
def desk(client: Client) -> Client:
    cast = made_cast()
    client.force_login(cast.people["administrator"], backend=BACKEND)  # type: ignore[arg-type]
    return client


def drafted(desk: Client, place: str) -> Rulebook:
    desk.post("/p/flats/rulebook/drafts/start/", {"source": f"shipped:{place}"})
    return Rulebook.objects.get(name=place, is_draft=True)


def test_every_part_that_may_have_a_gap_has_a_table() -> None:
    assert set(TABLE_OF) == set(Part)


@pytest.mark.parametrize("place", PLACES)
def test_each_gap_of_a_place_leads_to_its_form(desk: Client, place: str) -> None:
    draft = drafted(desk, place)
    answer = desk.get(f"/p/flats/rulebook/drafts/{draft.pk}/")
    assert answer.status_code == 200
    page = answer.content.decode()
    forms = [unescape(one) for one in re.findall(r'href="([^"]+\?gap=[^"]+)"', page)]
    without = re.findall(r'href="([^"]+/gaps/\d+/)"', page)
    assert len(forms) == len(without) == len(shipped_rulebook(place).gaps)
    for where in (*forms, *without):
        assert desk.get(where).status_code == 200, where


def test_a_gap_in_standing_rules_is_filled_rule_by_rule(desk: Client) -> None:
    draft = drafted(desk, "harker-heights-tx")
    page = f"/p/flats/rulebook/drafts/{draft.pk}/"
    for _ in range(10):
        found = re.search(
            r'href="([^"]+/cycle/\d+/\?gap=opening)"', desk.get(page).content.decode()
        )
        if found is None:
            break
        where = unescape(found[1])
        form = desk.get(where).context["form"]
        shown = {field.name: field.value() for field in form}
        told = {name: value for name, value in shown.items() if value not in (None, "", False)}
        told |= {"opens_days": "60", "seen": _seen(desk, where), "fills": "opening"}
        answer = desk.post(where, told)
        assert answer.status_code == 302, answer.context["form"].errors
    draft.refresh_from_db()
    assert "opening" not in draft.gaps
    assert draft.text.count("opens_days = 60") == len(shipped_rulebook("harker-heights-tx").cycles)


def _seen(desk: Client, where: str) -> str:
    found = re.search(r'name="seen" value="(\w+)"', desk.get(where).content.decode())
    assert found is not None
    return found[1]


def test_a_gap_is_closed_by_a_button_only_where_a_rule_stands_in_it(desk: Client) -> None:
    draft = drafted(desk, "oro-valley-az")
    page = f"/p/flats/rulebook/drafts/{draft.pk}/"
    assert "A rule stands in it" not in desk.get(page).content.decode()
    where = f"{page}cure/0/"  # added from the list of rules, so the gap is still open
    told = {"id": "cure", "days": "30", "citation": "Resolution 7", "seen": _seen(desk, where)}
    assert desk.post(where, {**told, "mark": "local"}).status_code == 302
    shown = desk.get(page).content.decode()
    assert re.findall(r"A rule stands in it<span class=.unseen.>: ([^<]+)", shown) == [
        "days to cure"
    ]


def test_doing_without_says_what_is_missing_in_one_sentence(desk: Client) -> None:
    draft = drafted(desk, "oro-valley-az")
    page = desk.get(f"/p/flats/rulebook/drafts/{draft.pk}/gaps/1/").content.decode()
    assert (
        "Nothing is then asked where the rule after an event would stand "
        "(within how many days a test follows is not transcribed). It is kept by your name"
    ) in page


def test_a_number_below_the_least_is_told_in_plain_words(desk: Client) -> None:
    draft = drafted(desk, "oro-valley-az")
    where = f"/p/flats/rulebook/drafts/{draft.pk}/cure/0/"
    told = {"id": "cure", "days": "-5", "citation": "Resolution 7", "seen": _seen(desk, where)}
    answer = desk.post(where, {**told, "mark": "local"})
    assert answer.context["form"].errors["days"] == ["Write 0 or more."]
    assert Rulebook.objects.get(pk=draft.pk).text == draft.text
