"""A comparison carried from request to request: it goes on, is exported, and writes nothing."""

from __future__ import annotations

import csv
import json
import re
from datetime import date
from html import unescape
from io import StringIO
from urllib.parse import urlencode

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from scheduling.models import Adoption, Rulebook
from tests.access.addresses import address
from tests.access.cast import Cast, made_cast
from tests.access.test_matrix import BACKEND
from tests.access.test_query_counts import add_assemblies

pytestmark = pytest.mark.django_db
WHERE = "/p/flats/rulebook/compare/"


@pytest.fixture
def cast() -> Cast:
    return made_cast()


@pytest.fixture
def desk(client: Client, cast: Cast) -> Client:
    add_assemblies(cast.home, number=5)
    client.force_login(cast.people["auditor"], backend=BACKEND)  # type: ignore[arg-type]
    return client


def state_of(page: str) -> str:
    found = re.search(r'name="state" value="([^"]+)"', page)
    assert found is not None
    return found[1]


def test_a_large_registry_takes_several_requests_and_tells_how_far_it_is(
    desk: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = desk.get(WHERE, {"with": "shipped:plain-season"}).content.decode()
    monkeypatch.setattr("scheduling.queries.comparing.BATCH", 2)
    monkeypatch.setattr("reports.views.comparison_run.SECONDS", -1.0)
    page = desk.get(WHERE, {"with": "shipped:plain-season"}).content.decode()
    assert "Assembly 2 of 6" in page
    assert '<progress max="6" value="2"' in page
    page = desk.post(WHERE, {"state": state_of(page)}).content.decode()
    assert "Assembly 4 of 6" in page
    page = desk.post(WHERE, {"state": state_of(page)}).content.decode()
    assert figures(page) == figures(whole)


def figures(page: str) -> list[str]:
    return re.findall(r'<td class="figure">([^<]+)</td>', page)


def test_looking_writes_nothing(desk: Client) -> None:
    desk.get(WHERE, {"with": "shipped:plain-season"})
    with CaptureQueriesContext(connection) as found:
        page = desk.get(WHERE, {"with": "shipped:plain-season"}).content.decode()
        desk.post(WHERE, {"state": state_of(page), "export": "json"})
    written = [q["sql"] for q in found if q["sql"].split()[0] in ("INSERT", "UPDATE", "DELETE")]
    assert written == []


def test_it_is_exported_as_rows_and_as_json(desk: Client) -> None:
    state = state_of(desk.get(WHERE, {"with": "shipped:plain-season"}).content.decode())
    told = json.loads(desk.post(WHERE, {"state": state, "export": "json"}).content)
    answer = desk.post(WHERE, {"state": state, "export": "csv"})
    rows = list(csv.reader(StringIO(answer.content.decode())))
    assert answer["Content-Disposition"] == 'attachment; filename="plain-season-compared.csv"'
    assert ["assemblies", "", "6", "6"] in rows
    moved = [row for row in rows if row[:2] == ["due dates", "moved"]]
    assert moved == [["due dates", "moved", "", str(told["due_dates"]["moved"])]]
    assert len([row for row in rows if row[0] == "letters"]) == 24


def test_a_state_nobody_signed_or_of_another_program_is_refused(desk: Client, cast: Cast) -> None:
    state = state_of(desk.get(WHERE, {"with": "shipped:plain-season"}).content.decode())
    assert desk.post(WHERE, {"state": state[:-4] + "abcd"}).status_code == 422
    desk.force_login(cast.people["stranger"], backend=BACKEND)  # type: ignore[arg-type]
    elsewhere = desk.post("/p/hills/rulebook/compare/", {"state": state})
    assert elsewhere.status_code == 422
    assert "another program" in elsewhere.content.decode()


def test_a_draft_changed_meanwhile_must_be_compared_again(desk: Client, cast: Cast) -> None:
    from scheduling.models import Rulebook

    pk = cast.home.ids["draft"]
    state = state_of(desk.get(WHERE, {"with": f"draft:{pk}"}).content.decode())
    Rulebook.objects.filter(pk=pk).update(sha256="other")
    answer = desk.post(WHERE, {"state": state})
    assert answer.status_code == 422
    assert "compare again" in answer.content.decode()


def test_a_day_that_has_its_rulebook_is_told_before_anything_is_decided(
    client: Client, cast: Cast
) -> None:
    office = cast.home
    add_assemblies(office, number=2)
    client.force_login(cast.people["administrator"], backend=BACKEND)  # type: ignore[arg-type]
    there = Adoption.objects.filter(program__code="flats")[0]
    Adoption.objects.create(
        program=there.program, rulebook=there.rulebook, effective_on=date(2026, 11, 27),
        recorded_at=there.recorded_at,
    )  # fmt: skip
    Rulebook.objects.filter(pk=office.ids["draft"]).update(gaps=[])
    where = address("rulebook-draft-enforce", office)
    page = client.get(where, {"from": "2026-11-27"}).content.decode()
    assert "two cannot be from one day" in page
    assert 'value="2026-11-28"' in page
    assert 'name="reason"' not in page
    page = client.get(where, {"from": "2026-11-28"}).content.decode()
    assert "two cannot be from one day" not in page
    assert 'name="reason"' in page


def test_a_rulebook_that_is_not_there_or_not_yours_is_not_found(desk: Client, cast: Cast) -> None:
    for word in ("shipped:nowhere", "draft:x", f"draft:{cast.other.ids['draft']}", "x"):
        assert desk.get(WHERE, {"with": word}).status_code == 404


def test_the_single_assemblies_that_move_are_listed_a_page_at_a_time(
    desk: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    where = f"{WHERE}moves/"
    asked = {"with": "shipped:plain-season", "from": "2026-11-25"}
    rows = list(csv.reader(StringIO(_streamed(desk, where, {**asked, "as": "csv"}))))
    assert rows[0][0] == "serial"
    listed = {row[0] for row in rows[1:]}
    assert listed
    monkeypatch.setattr("reports.views.comparison_moves.SHOWN", 1)
    seen, query = set(), "?" + urlencode(asked)
    for _ in range(10):
        page = desk.get(where + query).content.decode()
        seen |= set(re.findall(r'#stands">([^<]+)</a><span class="small">', page))
        further = re.search(r'class="button" href="([^"]+)">Look on', page)
        if further is None:
            break
        query = unescape(further[1])
    assert seen == listed


def _streamed(client: Client, where: str, asked: dict[str, str]) -> str:
    answer = client.get(where, asked)
    return b"".join(answer.streaming_content).decode()  # type: ignore[attr-defined]


def test_a_decision_without_its_reason_is_asked_for_again(client: Client, cast: Cast) -> None:
    office = cast.home
    add_assemblies(office, number=2)
    client.force_login(cast.people["administrator"], backend=BACKEND)  # type: ignore[arg-type]
    Rulebook.objects.filter(pk=office.ids["draft"]).update(gaps=[])
    where = address("rulebook-draft-enforce", office)
    state = state_of(client.get(where, {"from": "2026-11-28"}).content.decode())
    before = Adoption.objects.count()
    told = {"state": state, "act": "enforce", "reason": "  "}
    answer = client.post(where, told)
    assert answer.status_code == 422
    assert "it is kept with the decision. Nothing is in force yet." in answer.content.decode()
    assert Adoption.objects.count() == before
