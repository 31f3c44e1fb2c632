"""The dispatcher's pages: a visit promised on the telephone, moved, and taken back."""

from __future__ import annotations

import re

import pytest
from django.contrib.auth import get_user_model
from django.test import Client

from registry import models as rows
from registry.domain.kinds import Role
from reports.models import PlanChange, Stop
from tests.reports.rounds.office import Office

pytestmark = pytest.mark.django_db


@pytest.fixture
def office() -> Office:
    office = Office()
    office.tester("T-1", depot_lat="46.80", depot_lon="-118.25")
    return office


def client_of(role: Role, **where: object) -> Client:
    person = get_user_model().objects.create_user(role.value)
    rows.Membership.objects.create(user_id=person.pk, role=role, **where)
    client = Client()
    client.force_login(person)
    return client


def text_of(page: object) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page.content.decode()))  # type: ignore[attr-defined]


def test_a_caller_is_found_and_promised_the_cheapest_time(office: Office) -> None:
    office.town(visits=4)
    office.plan()
    site = office.premises(name="Cooper Laundry", lat=46.82, lon=-118.25)
    owed = office.due(site)
    client = client_of(Role.ADMINISTRATOR, program=office.program)
    for said in ("cooper", site.account, owed.its_assembly.serial):
        found = client.get("/p/flats/rounds/new-visit/", {"q": said}).content.decode()
        assert f"?premises={site.pk}" in found
    page = client.get("/p/flats/rounds/new-visit/", {"premises": site.pk}).content.decode()
    values = re.findall(r'name="slot" value="([^"]+)"', page)
    assert len(values) == 5  # one a day, the five cheapest of ten days
    taken = client.post("/p/flats/rounds/new-visit/", {"premises": site.pk, "slot": values[0]})
    stop = Stop.objects.get(premises=site)
    assert taken.headers["Location"] == f"/p/flats/rounds/{stop.round_id}/"
    assert stop.promised_by == "administrator"
    board = text_of(client.get("/p/flats/rounds/"))
    assert "Cooper Laundry promised for " in board
    again = client.get("/p/flats/rounds/new-visit/", {"premises": site.pk}).content.decode()
    assert "A visit is planned there already" in again


def test_nothing_owed_and_no_place_are_said(office: Office) -> None:
    bare = office.premises()
    nowhere = office.premises(lat=None, lon=None)
    office.due(nowhere)
    client = client_of(Role.ADMINISTRATOR, program=office.program)
    said = text_of(client.get("/p/flats/rounds/new-visit/", {"premises": bare.pk}))
    assert "Nothing is owed there that a tester could do." in said
    said = text_of(client.get("/p/flats/rounds/new-visit/", {"premises": nowhere.pk}))
    assert "No coordinates: add latitude and longitude to the premises." in said


def test_what_a_day_breaks_stands_on_its_page_until_it_is_undone(office: Office) -> None:
    office.due(office.premises(name="Cooper Laundry", open_hours={"0": [["08:00", "12:00"]]}))
    office.plan()
    stop = Stop.objects.get()
    assert stop.round is not None
    client = client_of(Role.ADMINISTRATOR, program=office.program)
    sent = {
        "act": "move",
        "revision": stop.revision,
        "day": f"{stop.round.tester_id}/2026-12-01",
        "place": "1",
    }
    there = client.post(f"/p/flats/rounds/stops/{stop.pk}/", sent).headers["Location"]
    assert "the visit is outside the open hours there" in text_of(client.get(there))
    change = PlanChange.objects.get()
    client.post(f"/p/flats/rounds/changes/{change.pk}/undo/")
    stop.refresh_from_db()
    back = client.get(f"/p/flats/rounds/{stop.round_id}/")
    assert "the visit is outside" not in text_of(back)
    late = client.post(f"/p/flats/rounds/changes/{change.pk}/undo/")
    assert late.status_code == 409


def test_a_dispatcher_changes_the_rounds_of_their_company_only(office: Office) -> None:
    theirs = office.tester("T-2", firm="Quill Backflow", depot_lat="46.95", depot_lon="-118.0")
    office.due(office.premises(lat=46.801, lon=-118.251))
    office.due(office.premises(lat=46.951, lon=-118.001))
    office.plan()
    client = client_of(Role.DISPATCHER, firm=theirs.firm)
    mine = Stop.objects.get(round__firm=theirs.firm)
    other = Stop.objects.exclude(round__firm=theirs.firm).get()
    assert client.get(f"/p/flats/rounds/stops/{mine.pk}/").status_code == 200
    assert client.get(f"/p/flats/rounds/stops/{other.pk}/").status_code == 404
    page = client.get(f"/p/flats/rounds/stops/{mine.pk}/").content.decode()
    assert "Tester T-2" in page
    assert "Tester T-1" not in page
