"""A testing company's dispatcher calls and keeps jobs at the own premises, and nowhere else."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from registry.domain.kinds import Role
from registry.models import Assignment, Firm, Membership, Premises
from reports.models import CallMade, Job, Stop
from reports.rounds.due_work import due_by_premises
from scheduling.models import AssemblyState
from tests.reports.rounds.office import NOON, TODAY, Office
from tests.reports.rounds.walking import words_of

pytestmark = [pytest.mark.django_db, pytest.mark.database]

BASE = "/p/flats/rounds/"


@pytest.fixture
def office() -> Office:
    """Two companies, a premises of each with a test due, and one that nobody has."""
    office = Office()
    office.tester("T-1", firm="Quill Backflow")
    office.tester("T-2", firm="Stillbrook Testing")
    for name, firm in (
        ("Cooper Laundry", "Quill Backflow"),
        ("Teasel Mill", "Stillbrook Testing"),
        ("Dogwood Laboratory", ""),
    ):
        one = office.premises(name=name, phone="509-555-0147")
        office.due(one)
        if firm:
            assign(office, one, firm)
    return office


@pytest.fixture
def client(office: Office) -> Client:
    return person("Quill Backflow", Role.DISPATCHER)


def assign(office: Office, premises: Premises, firm: str) -> None:
    company = Firm.objects.get(name=firm)
    Assignment.objects.create(
        program=office.program, firm=company, premises=premises, made_on=TODAY
    )


def person(firm: str, *roles: Role) -> Client:
    user = get_user_model().objects.create_user("-".join((firm, *roles)))
    for role in roles:
        Membership.objects.create(user_id=user.pk, role=role, firm=Firm.objects.get(name=firm))
    client = Client()
    client.force_login(user)
    return client


def site(name: str) -> Premises:
    return Premises.objects.get(name=name)


def job(office: Office, name: str, *, firm: str = "", **values: Any) -> Job:
    named = Firm.objects.get(name=firm) if firm else None
    values = {"asked_by": f"{name}, {firm or 'nobody'}", "asked_on": TODAY, **values}
    return Job.objects.create(
        program=office.program, premises=site(name), firm=named, recorded_at=NOON, by="x", **values
    )


def test_the_call_list_is_of_the_own_premises(client: Client) -> None:
    page = words_of(client.get(f"{BASE}calls/"))
    assert "Cooper Laundry" in page
    assert "509-555-0147" in page
    assert "Teasel Mill" not in page
    assert "Dogwood Laboratory" not in page
    for name in ("Teasel Mill", "Dogwood Laboratory"):
        for what in ("calls", "jobs/new"):
            where = f"{BASE}{what}/{site(name).pk}/"
            assert client.get(where).status_code == 404
            assert client.post(where, {"outcome": "no"}).status_code == 404
    assert not CallMade.objects.exists()


def test_a_call_leads_to_a_job_of_the_own_company(client: Client) -> None:
    answer = client.post(f"{BASE}calls/{site('Cooper Laundry').pk}/", {"outcome": "ordered"})
    form = client.get(answer["Location"])
    assert "Stillbrook Testing" not in words_of(form)
    assert "selected>Quill Backflow" in form.content.decode()
    told = {"asked_by": "O. Larch", "asked_on": "2026-11-25"}
    refused = client.post(answer["Location"], told)
    assert "Say which of your companies was asked." in words_of(refused)
    other = Firm.objects.get(name="Stillbrook Testing")
    assert client.post(answer["Location"], {**told, "firm": other.pk}).status_code == 200
    assert not Job.objects.exists()
    own = Firm.objects.get(name="Quill Backflow")
    client.post(answer["Location"], {**told, "firm": own.pk})
    assert Job.objects.get().firm == own
    assert "O. Larch" in words_of(client.get(f"{BASE}jobs/"))
    assert "Cooper Laundry" not in words_of(client.get(f"{BASE}calls/"))


def test_jobs_seen_name_the_company_or_none_at_its_premises(office: Office, client: Client) -> None:
    mine = job(office, "Cooper Laundry", firm="Quill Backflow")
    afar = job(office, "Teasel Mill", firm="Quill Backflow")
    anybodys = job(office, "Cooper Laundry")
    others = [
        job(office, "Cooper Laundry", firm="Stillbrook Testing"),
        job(office, "Teasel Mill"),
        job(office, "Dogwood Laboratory", firm="Stillbrook Testing"),
    ]
    page = client.get(f"{BASE}jobs/")
    assert {one.pk for one in page.context["jobs"]} == {mine.pk, afar.pk, anybodys.pk}
    links = page.content.decode()
    assert f"/p/flats/premises/{site('Cooper Laundry').pk}/" in links
    assert f"/p/flats/premises/{site('Teasel Mill').pk}/" not in links
    assert f"{BASE}assign/" not in links
    for one in (mine, afar):
        where = f"{BASE}jobs/{one.pk}/cancel/"
        assert where in links
        assert client.post(where, {"why": "sold"}).status_code == 302
        one.refresh_from_db()
        assert one.cancelled_why == "sold"
    for one in (anybodys, *others):
        where = f"{BASE}jobs/{one.pk}/cancel/"
        assert where not in links
        assert client.get(where).status_code == 404
        assert client.post(where, {"why": "sold"}).status_code == 404
        one.refresh_from_db()
        assert one.cancelled_at is None


def test_who_asked_another_company_or_was_promised_a_visit_is_not_called(
    office: Office, client: Client
) -> None:
    named = job(office, "Cooper Laundry", firm="Stillbrook Testing")
    assert "Cooper Laundry" not in words_of(client.get(f"{BASE}calls/"))
    Job.objects.filter(pk=named.pk).update(covers_until=TODAY)
    assert "Cooper Laundry" in words_of(client.get(f"{BASE}calls/"))
    stop = Stop.objects.create(
        program=office.program, premises=site("Cooper Laundry"), uid="s-1", place=1,
        arrives_at=NOON, leaves_at=NOON, revised_at=NOON, promised_at=NOON,
    )  # fmt: skip
    assert "Cooper Laundry" not in words_of(client.get(f"{BASE}calls/"))
    Stop.objects.filter(pk=stop.pk).update(arrives_at=NOON - timedelta(days=1))
    assert "Cooper Laundry" in words_of(client.get(f"{BASE}calls/"))


def test_an_assignment_that_ended_takes_the_premises_away(office: Office, client: Client) -> None:
    Assignment.objects.update(ended_on=TODAY)
    assert "Cooper Laundry" not in words_of(client.get(f"{BASE}calls/"))
    assert client.get(f"{BASE}calls/{site('Cooper Laundry').pk}/").status_code == 404


def test_a_tester_has_neither_and_one_who_is_both_has_them(office: Office) -> None:
    pk = site("Cooper Laundry").pk
    kept = job(office, "Cooper Laundry", firm="Quill Backflow").pk
    pages = [f"calls/{pk}/", f"jobs/new/{pk}/", f"jobs/{kept}/cancel/", "calls/", "jobs/"]
    tester = person("Quill Backflow", Role.TESTER)
    both = person("Quill Backflow", Role.TESTER, Role.DISPATCHER)
    assert [tester.get(f"{BASE}{one}").status_code for one in pages] == [403] * 5
    assert [both.get(f"{BASE}{one}").status_code for one in pages] == [200] * 5
    for page, links in (
        (BASE, (f"{BASE}calls/", f"{BASE}jobs/")),
        (f"/p/flats/premises/{pk}/", (f"{BASE}calls/{pk}/", f"{BASE}jobs/new/{pk}/")),
    ):
        for link in links:
            assert f'href="{link}"' in both.get(page).content.decode()
            assert f'href="{link}"' not in tester.get(page).content.decode()


def test_only_the_company_that_has_the_premises_is_offered(office: Office) -> None:
    user = get_user_model().objects.create_user("both companies")
    for firm in Firm.objects.all():
        Membership.objects.create(user_id=user.pk, role=Role.DISPATCHER, firm=firm)
    client = Client()
    client.force_login(user)
    one = f"{BASE}jobs/new/{site('Cooper Laundry').pk}/"
    assert "selected>Quill Backflow" in client.get(one).content.decode()
    assign(office, site("Cooper Laundry"), "Stillbrook Testing")
    page = client.get(one).content.decode()
    assert "Stillbrook Testing" in page
    assert "selected>Quill Backflow" not in page


def test_due_work_among_premises_is_that_of_the_program(office: Office) -> None:
    """Removed and resting assemblies, and what opens later: both ways of reading say the same."""
    here = site("Cooper Laundry")
    office.due(here, due_on=date(2026, 11, 20))
    office.due(here, opens_on=date(2027, 6, 1))
    for state in ({"removed_on": TODAY}, {"idle_since": TODAY}):
        row = office.due(here).its_assembly
        AssemblyState.objects.create(
            assembly=row, program=office.program, replayed_as_of=TODAY, replayed_at=NOON, **state
        )
    whole = due_by_premises(program=office.program, last_day=date(2027, 1, 24))
    one_alone = Premises.objects.filter(pk=here.pk)
    among = due_by_premises(program=office.program, last_day=date(2027, 1, 24), among=one_alone)
    assert len(among[here.pk]) == 2
    assert {here.pk: list(whole[here.pk])} == {pk: list(rows) for pk, rows in among.items()}


def test_more_premises_make_no_more_queries(office: Office, client: Client) -> None:
    def count(what: str) -> int:
        with CaptureQueriesContext(connection) as found:
            assert client.get(f"{BASE}{what}/").status_code == 200
        return len(found)

    job(office, "Cooper Laundry", firm="Quill Backflow", covers_until=TODAY)
    few = count("calls"), count("jobs")
    for _number in range(4):
        one = office.premises()
        office.due(one)
        assign(office, one, "Quill Backflow")
        job(office, one.name, firm="Quill Backflow", covers_until=TODAY)
    assert (count("calls"), count("jobs")) == few
