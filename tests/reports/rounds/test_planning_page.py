"""Planning from the page: seen before it is kept, refused where something changed meanwhile."""

from __future__ import annotations

import re
from datetime import datetime, timedelta

import pytest
from django.contrib.auth import get_user_model
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from registry import models as rows
from registry.domain.kinds import Role
from reports.models import Plan, Stop
from reports.rounds.proposed import Move
from reports.views import plan_run
from scheduling import background
from scheduling.views.uploads import session_store
from tests.reports.rounds.office import MONDAY, Office

pytestmark = pytest.mark.django_db

WHERE = "/p/flats/rounds/plan/"
ASKED = {"first": MONDAY.isoformat(), "days": "5", "seconds": "1"}


@pytest.fixture(autouse=True)
def at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The search ends within the request: a thread would not see what a test wrote."""
    monkeypatch.setattr(background, "begin", lambda work, wait_seconds: work())


@pytest.fixture
def office() -> Office:
    office = Office()
    office.tester("T-1", depot_lat="46.80", depot_lon="-118.25")
    office.town(visits=5)
    return office


@pytest.fixture
def client(office: Office) -> Client:
    person = get_user_model().objects.create_user("maren")
    rows.Membership.objects.create(
        user_id=person.pk, role=Role.ADMINISTRATOR, program=office.program
    )
    client = Client()
    client.force_login(person)
    return client


def words_of(page: object) -> str:
    text = re.sub(r"<[^>]+>", " ", page.content.decode())  # type: ignore[attr-defined]
    return re.sub(r"\s+", " ", text.replace("\u00a0", " ").replace("&nbsp;", " "))


def proposed(client: Client) -> tuple[str, str]:
    """The page of the plan found, and the token under which it is kept."""
    answer = client.post(WHERE, ASKED)
    assert answer.status_code == 302, words_of(answer)
    there = answer["Location"]
    return words_of(client.get(there)), there.rpartition("=")[2]


def test_a_plan_is_seen_before_it_is_kept(client: Client) -> None:
    page, token = proposed(client)
    assert "5 visits of 5 planned" in page
    assert not Plan.objects.exists()
    kept = client.post(f"{WHERE}keep/", {"run": token})
    assert kept["Location"] == "/p/flats/rounds/"
    assert Stop.objects.count() == 5
    assert Plan.objects.get().made_by == "maren"


def test_looks_at_a_plan_read_no_past_reports(client: Client) -> None:
    _page, token = proposed(client)
    with CaptureQueriesContext(connection) as asked:
        words = words_of(client.get(f"{WHERE}?run={token}"))
    assert "5 visits of 5 planned" in words
    assert not [one for one in asked.captured_queries if "reports_fieldtest" in one["sql"]]


def test_what_moves_for_whom_is_listed_and_promises_are_not_among_them(
    office: Office, client: Client
) -> None:
    office.plan()
    first = Stop.objects.order_by("arrives_at")[0]
    Stop.objects.filter(pk=first.pk).update(promised_at=timezone.now())
    # One customer is there on Tuesdays only, from now on; another one is new.
    second = Stop.objects.order_by("arrives_at")[1]
    second.premises.open_hours = {"1": [["08:00", "12:00"]]}
    second.premises.save()
    office.due(office.premises(name="Cooper Laundry", lat=46.80, lon=-118.25))
    page, _token = proposed(client)
    assert "6 visits of 6 planned" in page
    assert "1 new" in page
    assert f"{second.premises.name} Mon, Nov 30, " in page
    assert "1 to another day or tester, " in page
    assert f"{first.premises.name} Mon" not in page


def test_a_promise_that_cannot_be_kept_is_told_and_stands(office: Office, client: Client) -> None:
    office.plan()
    stop = Stop.objects.order_by("arrives_at")[0]
    # By hand it came to lie after the tester's day.
    late = stop.arrives_at + timedelta(hours=11)
    Stop.objects.filter(pk=stop.pk).update(
        promised_at=timezone.now(), arrives_at=late, leaves_at=late + timedelta(minutes=30)
    )
    page, token = proposed(client)
    assert "1 promise cannot be kept within the rules." in page
    told = f"or call it off; plan anew then: {stop.premises.name} , Mon, Nov 30, "
    assert told in page, page[page.find("1 promise") :][:400]
    assert "Keep this plan" not in page
    assert "0 not planned any more" in page
    client.post(f"{WHERE}keep/", {"run": token})
    stands = Stop.objects.get(pk=stop.pk)
    assert (stands.arrives_at, stands.cancelled_at) == (late, None)
    assert stands.promised_at is not None


@pytest.mark.parametrize(
    ("now", "tester", "only_hour"),
    [
        ("2026-11-30T15:00-08:00", "7", True),
        ("2026-12-01T01:00+00:00", "7", True),
        ("2026-12-01T08:00-08:00", "7", False),
        ("2026-11-30T15:00-08:00", "8", False),
    ],
)
def test_another_hour_of_one_day_is_told_apart_from_another_day_or_person(
    now: str, tester: str, *, only_hour: bool
) -> None:
    was = datetime.fromisoformat("2026-11-30T09:00-08:00")
    move = Move(rows.Premises(), was, datetime.fromisoformat(now), "7", tester)
    assert move.is_only_hour is only_hour


def test_a_promise_made_meanwhile_is_kept_and_the_plan_is_not(
    office: Office, client: Client
) -> None:
    office.plan()
    _page, token = proposed(client)
    Stop.objects.filter(pk=Stop.objects.latest("pk").pk).update(promised_at=timezone.now())
    refused = client.post(f"{WHERE}keep/", {"run": token}, follow=True)
    assert "have changed since: plan again." in words_of(refused)
    assert Plan.objects.count() == 1


def test_while_the_search_goes_on_the_page_tells_the_best_so_far_and_can_end_it(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(background, "begin", lambda work, wait_seconds: None)
    answer = client.post(WHERE, ASKED)
    token = answer["Location"].rpartition("=")[2]
    store = session_store(token)
    kept = store["plan"]
    progress = {"visits": 5, "planned": 4, "drive_minutes": 61, "part": 1, "parts": 1}
    store["plan"] = {**kept, "progress": progress}
    store.save()
    page = words_of(client.get(answer["Location"]))
    assert "Best so far: 4 of 5 visits, 1 h 01 of driving." in page
    assert "now at part" not in page
    store["plan"] = {**kept, "progress": {**progress, "part": 2, "parts": 5}}
    store.save()
    page = words_of(client.get(answer["Location"]))
    assert "now at part 2 of 5 of the week’s visits. Best so far: 4 of 5 visits" in page
    assert not plan_run._is_enough(kept["wait"])
    client.post(f"{WHERE}enough/", {"run": token})
    assert plan_run._is_enough(kept["wait"])


def test_a_plan_of_somebody_else_is_not_there(office: Office, client: Client) -> None:
    _page, token = proposed(client)
    person = get_user_model().objects.create_user("orla")
    rows.Membership.objects.create(user_id=person.pk, role=Role.CLERK, program=office.program)
    other = Client()
    other.force_login(person)
    said = other.post(f"{WHERE}keep/", {"run": token}, follow=True)
    assert "That plan is no longer kept." in words_of(said)
    assert not Plan.objects.exists()


@pytest.mark.parametrize(
    ("changed", "fault"),
    [
        ({"days": "0"}, "Plan at least one day."),
        ({"days": "29"}, "Plan at most 28 days at once."),
        ({"seconds": "601"}, "Look for at most 600 seconds."),
        ({"first": "soon"}, "This is no date."),
    ],
)
def test_what_cannot_be_planned_is_said(
    client: Client, changed: dict[str, str], fault: str
) -> None:
    assert fault in words_of(client.post(WHERE, {**ASKED, **changed}))
