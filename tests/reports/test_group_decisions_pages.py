"""Pages of a decision that catches surveys and protection: listed by name, seen before they are
kept, as a sheet, on the premises' own page, and on Today when they are looked at again."""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from datetime import date
from io import StringIO

import pytest
from django.contrib.auth import get_user_model
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from registry.domain.kinds import Role
from registry.models import Membership, Program, ServiceConnection
from scheduling.actions.by_hand.surveys import follow_premises
from scheduling.models import Decision, Fact, ProgramClock
from tests.domain.scheduling.places.protection_rules import PRINTED_TEXT
from tests.scheduling.larch_court import DUE, TODAY, court, due
from tests.scheduling.waterworks import START, installed, served, waterworks

pytestmark = pytest.mark.django_db

NEW = "/p/works/decisions/new/"
STREET = {"street": "Larch", "service": "any"}
HOLD = {
    "kind": "held",
    "on": TODAY.isoformat(),
    "until": "2026-06-30",
    "name": "Larch Court under repair",
    "approved_by": "J. Marsh, board",
    "reason": "The street is open.",
}


@pytest.fixture
def program() -> Program:
    return waterworks()


@pytest.fixture
def services(program: Program) -> list[ServiceConnection]:
    made = court(program, 2)
    ProgramClock.objects.update_or_create(program=program, defaults={"last_run_on": TODAY})
    return made


@pytest.fixture
def there(client: Client, program: Program, services: list[ServiceConnection]) -> Client:
    user = get_user_model().objects.create_user("maren")
    Membership.objects.create(user_id=user.pk, role=Role.ADMINISTRATOR, program=program)
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    return client


def plain(answer: object) -> str:
    said: str = answer.content.decode()  # type: ignore[attr-defined]
    return said.replace("\N{NO-BREAK SPACE}", " ").replace("&nbsp;", " ")


def decided(there: Client, told: Mapping[str, object]) -> Decision:
    page = plain(there.post(NEW, {**told, "act": "look"}))
    seen = re.search(r'name="seen" value="(\w+)"', page)
    assert seen, page[-3000:]
    answer = there.post(NEW, {**told, "act": "decide", "seen": seen[1]})
    assert answer.status_code == 302, plain(answer)[-3000:]
    return Decision.objects.latest("pk")


def test_each_is_listed_by_name_and_seen_with_its_dates_before_it_is_kept(there: Client) -> None:
    found = plain(there.get(NEW, STREET))
    assert "2 assemblies, 2 premises and 2 services" in found
    for name in ("Survey of the premises", "Protection of the domestic service"):
        assert found.count(f"Leave out {name}") == 2
    looked = plain(there.post(NEW, {**STREET, **HOLD, "act": "look"}))
    assert looked.count("<b>Jun 30</b>") == 4  # the assemblies' tests are due later in the year
    assert not Fact.objects.filter(kind="held").exists()


def test_kept_it_names_everybody_on_its_page_and_in_its_sheet(
    there: Client, services: list[ServiceConnection]
) -> None:
    out = f"premises {services[1].premises_id}"
    row = decided(there, {**STREET, **HOLD, "without": out})
    page = plain(there.get(f"/p/works/decisions/{row.pk}/"))
    assert "for 2 assemblies, 1 premises and 2 services" in page
    assert "address with “Larch”: assemblies, surveys and protection" in page
    assert page.count("Protection of the domestic service</td>") == 2
    assert page.count("Survey of the premises</td>") == 1
    sheet = there.get(f"/p/works/decisions/{row.pk}/", {"as": "csv"}).content.decode()
    lines = list(csv.DictReader(StringIO(sheet)))
    assert [line["serial"] for line in lines if not line["owed"]] == ["W0", "W1"]
    owed = {(one["address"], one["owed"], one["before"], one["after"], one["due_on"])
            for one in lines if one["owed"]}  # fmt: skip
    days = (DUE.isoformat(), "2026-06-30", "2026-06-30")
    assert owed == {
        ("1 Larch Court", "Survey of the premises", *days),
        ("1 Larch Court", "Protection of the domestic service", *days),
        ("2 Larch Court", "Protection of the domestic service", *days),
    }


def test_the_premises_say_it_and_every_step_of_the_sum_does(
    there: Client, services: list[ServiceConnection]
) -> None:
    row = decided(there, {**STREET, **HOLD})
    home = f"/p/works/premises/{services[0].premises_id}/"
    page = plain(there.get(home))
    assert page.count(f'<a href="/p/works/decisions/{row.pk}/">') == 2
    assert "Held: Larch Court under repair</a>, the premises, from Mar 10 until Jun 30" in page
    assert "Held: Larch Court under repair</a>, the domestic service, from" in page
    assert "The street is open. Approved by J. Marsh, board." in page
    why = plain(there.get(f"{home}owed/"))
    assert "held from March 10, 2026 to June 30, 2026" in why
    assert "until Jun 30, Larch Court under repair, approved by J. Marsh, board" in why
    there.post(f"/p/works/decisions/{row.pk}/end/", {"on": "2026-03-10", "reason": "A mistake."})
    assert f'<a href="/p/works/decisions/{row.pk}/">' not in plain(there.get(home))


def test_what_is_chosen_alone_is_caught_alone(there: Client) -> None:
    only = plain(there.get(NEW, {**STREET, "of": "places"}))
    assert "2 premises and 2 services" in only
    assert "Leave out W0" not in only
    tests = plain(there.get(NEW, {**STREET, "of": "tests"}))
    assert "Surveys and protection owed there" not in tests
    fire = plain(there.get(NEW, {**STREET, "service": "fire"}))
    assert "Nobody is found." in fire
    both = plain(there.get(NEW, {"serials": "W0", "service": "any", "of": "places"}))
    assert "Serials name assemblies" in both
    sheet = there.get(NEW, {**STREET, "of": "places", "as": "csv"}).content.decode()
    assert sheet.count("Survey of the premises") == 2


def test_out_of_use_leaves_surveys_and_protection_out_and_says_so(
    there: Client, program: Program
) -> None:
    told = {**STREET, **HOLD, "kind": "idled"}
    assert "out of use is said of assemblies" in plain(there.post(NEW, {**told, "act": "look"}))
    row = decided(there, told)
    assert row.members.count() == row.members.exclude(assembly=None).count() == 2
    assert due(program) == {("survey", DUE), ("protection", DUE)}


def test_one_exempted_alone_comes_up_to_be_looked_at_again(
    there: Client, program: Program, services: list[ServiceConnection]
) -> None:
    told = {"kind": "exempted", "on": TODAY.isoformat(), "until": "2026-03-11",
            "reason": "No water is drawn.", "approved_by": "M. Director"}  # fmt: skip
    there.post(f"/p/works/connections/{services[0].pk}/fact/", told)
    row = Decision.objects.get()
    assert row.members.get().connection == services[0]
    ProgramClock.objects.filter(program=program).update(last_run_on=date(2026, 3, 11))
    assert "to look at again" in plain(there.get("/p/works/"))
    assert "domestic at 1 Larch Court alone" in plain(there.get(f"/p/works/decisions/{row.pk}/"))


def test_a_rulebook_that_asks_nothing_of_premises_offers_no_choice(there: Client) -> None:
    assert 'name="of"' in plain(there.get(NEW))
    text = PRINTED_TEXT.replace('"service connection"', '"assembly"')
    other = waterworks("other", text=text.replace('subject = "premises"', 'subject = "assembly"'))
    user = get_user_model().objects.get(username="maren")
    Membership.objects.create(user_id=user.pk, role=Role.ADMINISTRATOR, program=other)
    page = plain(there.get("/p/other/decisions/new/"))
    assert "Every assembly of the program" in page
    assert 'name="of"' not in page


def test_the_pages_make_as_many_queries_for_few_as_for_many(
    there: Client, program: Program
) -> None:
    def queries(where: str, asked: dict[str, str]) -> int:
        with CaptureQueriesContext(connection) as found:
            assert there.get(where, asked).status_code == 200
        return len(found)

    def pages() -> tuple[int, int]:
        listed = queries(NEW, STREET)
        row = decided(there, {**STREET, **HOLD})
        return listed, queries(f"/p/works/decisions/{row.pk}/", {})

    few = pages()
    more = [served(program, number) for number in range(20, 26)]
    for service in more:
        installed(service, "DC", on=START)
    follow_premises(program=program, premises_ids=[s.premises_id for s in more], today=TODAY)
    assert pages() == few
