"""A company's dispatcher plans the own share: its testers, what it was given, nobody else's days.

What it must leave alone follows from the glossary: an assignment is what lets a company see a
premises, and only what testing needs.
"""

from __future__ import annotations

from datetime import date, datetime

import pytest
from django.contrib.auth import get_user_model
from django.test import Client

from registry.domain.kinds import Role
from registry.models import Assignment, Firm, Membership, Premises
from reports.models import Job, NotForVisit, Plan, Round, Stop
from scheduling import background
from tests.reports.rounds.office import MONDAY, NOON, Office
from tests.reports.rounds.test_planning_page import ASKED, WHERE, proposed, words_of

pytestmark = pytest.mark.django_db

OWN, OTHER = "Stillbrook Testing", "Larkwater Testing"


@pytest.fixture(autouse=True)
def at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The search ends within the request: a thread would not see what a test wrote."""
    monkeypatch.setattr(background, "begin", lambda work, wait_seconds: work())


@pytest.fixture
def office() -> Office:
    office = Office()
    office.tester("T-1", firm=OWN, depot_lat="46.80", depot_lon="-118.25")
    office.tester("T-2", firm=OTHER, depot_lat="46.80", depot_lon="-118.25")
    return office


def person(role: Role, *, name: str, firm: str) -> Client:
    user = get_user_model().objects.create_user(name)
    Membership.objects.create(user_id=user.pk, role=role, firm=Firm.objects.get(name=firm))
    client = Client()
    client.force_login(user)
    return client


@pytest.fixture
def client(office: Office) -> Client:
    return person(Role.DISPATCHER, name="maren", firm=OWN)


def site(office: Office, *, given_to: str = "", name: str) -> Premises:
    """A premises with a test owed, assigned to a company by a person."""
    made = office.premises(name=name)
    office.due(made)
    if given_to:
        Assignment.objects.create(
            program=office.program,
            firm=Firm.objects.get(name=given_to),
            premises=made,
            made_on=date(2026, 11, 1),
            how="list",
        )
    return made


def live(firm: str) -> dict[str, tuple[datetime, int]]:
    """Where each visit of a company stands, and how often what a calendar shows of it changed."""
    stops = Stop.objects.filter(round__firm__name=firm, cancelled_at__isnull=True)
    return {one.premises.name: (one.arrives_at, one.revision) for one in stops}


def keep(client: Client, token: str) -> None:
    kept = client.post(f"{WHERE}keep/", {"run": token})
    assert kept["Location"] == "/p/flats/rounds/"


def test_only_what_was_given_to_the_company_is_planned(office: Office, client: Client) -> None:
    site(office, given_to=OWN, name="Ours")
    site(office, given_to=OTHER, name="Theirs")
    site(office, name="Nobody's")
    page, token = proposed(client)
    assert "1 visit of 1 planned" in page
    keep(client, token)
    assert live(OWN).keys() == {"Ours"}
    assert live(OTHER) == {}
    assert {one.firm.name for one in Round.objects.all()} == {OWN}
    assert Assignment.objects.filter(firm__name=OWN).count() == 1


def test_what_a_customer_asked_of_the_company_is_its_own(office: Office, client: Client) -> None:
    for name, firm in (("Asked of us", OWN), ("Asked of them", OTHER)):
        Job.objects.create(
            program=office.program,
            premises=site(office, name=name),
            firm=Firm.objects.get(name=firm),
            asked_by="the manager",
            asked_on=date(2026, 11, 20),
            recorded_at=NOON,
            by="dana",
        )
    page, token = proposed(client)
    assert "1 visit of 1 planned" in page
    keep(client, token)
    assert live(OWN).keys() == {"Asked of us"}


def test_other_companies_days_stand_and_stay_on_the_board(office: Office, client: Client) -> None:
    for number in range(3):
        site(office, given_to=OTHER, name=f"Theirs {number}")
    site(office, given_to=OWN, name="Ours")
    office.plan()
    theirs, ours = live(OTHER), live(OWN)
    assert (len(theirs), len(ours)) == (3, 1)
    site(office, given_to=OWN, name="Ours too")
    _page, token = proposed(client)
    keep(client, token)
    assert live(OTHER) == theirs  # not moved, no calendar changed
    assert live(OWN).keys() == {"Ours", "Ours too"}
    newest = Plan.objects.order_by("-made_at", "-pk").first()
    assert newest is not None
    assert {one.firm.name for one in Round.objects.filter(plan=newest)} == {OWN, OTHER}
    assert newest.visits == 5
    administrator = get_user_model().objects.create_user("ada")
    Membership.objects.create(
        user_id=administrator.pk, role=Role.ADMINISTRATOR, program=office.program
    )
    at_the_office = Client()
    at_the_office.force_login(administrator)
    board = words_of(at_the_office.get("/p/flats/rounds/"))
    assert "5 visits planned" in board
    assert "2 visits planned" in words_of(client.get("/p/flats/rounds/"))


def test_a_premises_that_another_company_is_to_visit_is_left_to_it(
    office: Office, client: Client
) -> None:
    shared = site(office, given_to=OWN, name="Both")
    office.plan()
    assert live(OWN).keys() == {"Both"}
    Round.objects.update(firm=Firm.objects.get(name=OTHER))
    Assignment.objects.get_or_create(
        program=office.program,
        firm=Firm.objects.get(name=OTHER),
        premises=shared,
        defaults={"made_on": date(2026, 11, 1), "how": "list"},
    )
    before = live(OTHER)
    page, _token = proposed(client)
    assert "0 visits of 0 planned" in page
    assert live(OTHER) == before


def test_a_promise_of_ours_stays_and_theirs_is_not_ours_to_see(
    office: Office, client: Client
) -> None:
    site(office, given_to=OWN, name="Ours")
    site(office, given_to=OTHER, name="Theirs")
    office.plan()
    Stop.objects.update(promised_at=NOON, promised_by="dana")
    before = (live(OWN), live(OTHER))
    page, token = proposed(client)
    assert "Theirs" not in page
    keep(client, token)
    assert (live(OWN), live(OTHER)) == before


def test_why_a_visit_of_the_own_share_was_left_out_is_told(office: Office, client: Client) -> None:
    far = office.premises(name="Without a place", lat=None, lon=None)
    office.due(far)
    Assignment.objects.create(
        program=office.program,
        firm=Firm.objects.get(name=OWN),
        premises=far,
        made_on=date(2026, 11, 1),
        how="list",
    )
    site(office, given_to=OWN, name="Ours")
    _page, token = proposed(client)
    keep(client, token)
    assert "Without a place" in words_of(client.get("/p/flats/rounds/"))
    other = person(Role.DISPATCHER, name="ole", firm=OTHER)
    assert "Without a place" not in words_of(other.get("/p/flats/rounds/"))


def test_wishes_of_other_companies_testers_are_not_shown(office: Office, client: Client) -> None:
    ours = site(office, given_to=OWN, name="Ours")
    theirs = site(office, given_to=OTHER, name="Theirs")
    for certificate, weekday in (("T-2", 4), ("T-1", 1)):
        tester = office.program.approvals.get(tester__certificate=certificate).tester
        NotForVisit.objects.create(
            premises=ours, tester=tester, weekday=weekday, reason="asked", at=NOON, by="dana"
        )
    page = words_of(client.get(f"/p/flats/rounds/not-wanted/{ours.pk}/"))
    assert "Tester T-1, on Tuesdays" in page
    assert "Tester T-2" not in page
    assert client.get(f"/p/flats/rounds/not-wanted/{theirs.pk}/").status_code == 404


def test_a_tester_plans_nothing(office: Office) -> None:
    site(office, given_to=OWN, name="Ours")
    tester = person(Role.TESTER, name="tom", firm=OWN)
    assert tester.get(WHERE).status_code == 403
    assert tester.post(WHERE, ASKED).status_code == 403
    assert not Plan.objects.exists()
    assert MONDAY.weekday() == 0
