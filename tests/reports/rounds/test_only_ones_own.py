"""A company's week mixes the work of several programs; each program sees its own alone.

Pages, feeds, the export and the day sheet: nothing of another program stands in any of them.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date
from itertools import pairwise

import pytest
from django.contrib.auth import get_user_model
from django.test import Client
from icalendar import Calendar

from registry import models as rows
from registry.changes import Hand
from registry.domain.kinds import Role
from registry.models import Approval, Certification, Membership
from reports.actions.feeds import make_feed
from reports.drawing.ground import Ground
from reports.models import CalendarFeed, Round, Stop
from reports.queries.day_sheets import day_sheet
from reports.rendering.day_sheets import render_day_sheet
from tests.reports.rounds.office import NOON, Office, run
from tests.reports.rounds.test_day_sheets import text_of
from tests.reports.rounds.walking import owned, words_of

pytestmark = pytest.mark.django_db

HAND = Hand(by="Dana", at=NOON)


def accepted(office: Office, tester: rows.Tester) -> None:
    """Another program accepts the same tester."""
    for whom in (None, tester):
        Approval.objects.create(
            program=office.program, firm=tester.firm, tester=whom, valid_from=date(2025, 1, 1)
        )
    Certification.objects.create(
        program=office.program,
        tester=tester,
        valid_from=date(2025, 1, 1),
        valid_to=date(2027, 12, 31),
    )


@pytest.fixture
def offices() -> tuple[Office, Office]:
    """Two programs, and one tester who drives for both in one week."""
    flats, mesa = Office(), Office(code="mesa")
    tester = flats.tester("T-1", depot_lat="46.80", depot_lon="-118.25")
    accepted(mesa, tester)
    for office, name in ((flats, "Dogwood Laboratory"), (mesa, "Teasel Mill")):
        site = office.premises(name=name, account=f"{office.code}-1", phone="509 555 0100")
        office.due(site, assembly={"serial": f"{office.code}-serial"})
        office.plan()
    return flats, mesa


def person(office: Office, role: Role = Role.ADMINISTRATOR) -> Client:
    user = get_user_model().objects.create_user(f"{role}-{office.code}")
    Membership.objects.create(user_id=user.pk, role=role, program=office.program)
    client = Client()
    client.force_login(user)
    return client


def names_in(text: str) -> list[str]:
    return [
        name for name in ("Dogwood Laboratory", "Teasel Mill", "flats-1", "mesa-1") if name in text
    ]


def serials_in(text: str) -> list[str]:
    return [name for name in ("flats-serial", "mesa-serial") if name in text]


def events(address: str) -> Sequence[str]:
    answer = Client().get("/" + address.split("/", 3)[3])
    assert answer.status_code == 200
    return [str(one["SUMMARY"]) for one in Calendar.from_ical(answer.content).walk("VEVENT")]


def test_pages_files_and_sheets_of_a_program_hold_nothing_of_another(
    offices: tuple[Office, Office],
) -> None:
    for office, other in (offices, offices[::-1]):
        own, foreign = f"{office.code}-serial", f"{other.code}-serial"
        client = person(office)
        mine = Round.objects.get(plan__program=office.program)
        theirs = Round.objects.get(plan__program=other.program)
        where = f"/p/{office.code}/rounds/"
        for path in ("", f"{mine.pk}/", f"{mine.pk}.gpx", f"{mine.pk}.geojson", "assign/"):
            page = client.get(where + path)
            assert page.status_code == 200, path
            text = page.content.decode()
            assert all(office.code in name or "mesa" not in name for name in names_in(text))
            assert foreign not in text, path
            assert ("Teasel Mill" in text) == (office.code == "mesa"), path
        for path in (
            f"{theirs.pk}/",
            f"{theirs.pk}.pdf",
            f"{theirs.pk}.gpx",
            f"{theirs.pk}.geojson",
        ):
            assert client.get(where + path).status_code == 404, path
        sheet = day_sheet(
            Round.objects.select_related("tester", "firm", "plan__program").get(pk=mine.pk)
        )
        assert serials_in(text_of(render_day_sheet(sheet, ground=Ground()).pdf)) == [own]
        said = run("export_calendar", "--program", office.code, "--tester", "T-1").out
        assert serials_in(said.replace("\r\n ", "")) == [own]


def test_the_companys_calendar_holds_all_and_a_programs_its_own(
    offices: tuple[Office, Office],
) -> None:
    flats, mesa = offices
    tester = rows.Tester.objects.get()
    _feed, whole = make_feed(tester, reader="phone", hand=HAND)
    assert sorted(events(whole)) == ["Dogwood Laboratory: 1 test", "Teasel Mill: 1 test"]
    for office, name in ((flats, "Dogwood Laboratory"), (mesa, "Teasel Mill")):
        _feed, only = make_feed(tester, reader="phone", hand=HAND, only=office.program)
        assert events(only) == [f"{name}: 1 test"]
        _feed, due = make_feed(office.program, reader="wall", hand=HAND)
        assert events(due) == ["Due: 1 × backflow test"]


def test_who_plans_a_program_makes_its_testers_calendars_and_not_their_whole_ones(
    offices: tuple[Office, Office],
) -> None:
    flats, _mesa = offices
    tester = rows.Tester.objects.get()
    client = person(flats)
    page = client.post("/p/flats/calendars/", {"of": f"tester-{tester.pk}", "reader": "phone"})
    assert page.status_code == 422
    page = client.post("/p/flats/calendars/", {"of": f"visits-{tester.pk}", "reader": "phone"})
    assert page.status_code == 200
    feed = CalendarFeed.objects.get()
    assert (feed.tester, feed.program) == (tester, flats.program)
    assert "Visits of Tester T-1, Flats" in words_of(client.get("/p/flats/calendars/"))
    stranger = flats.tester("T-9", firm="Quill Backflow")
    Approval.objects.filter(firm=stranger.firm).delete()
    page = client.post("/p/flats/calendars/", {"of": f"visits-{stranger.pk}", "reader": "phone"})
    assert page.status_code == 422
    auditor = person(flats, Role.AUDITOR)
    page = auditor.post("/p/flats/calendars/", {"of": f"visits-{tester.pk}", "reader": "phone"})
    assert page.status_code == 403


def test_one_program_does_not_move_what_another_planned(offices: tuple[Office, Office]) -> None:
    flats, mesa = offices
    before = {one.pk: one.arrives_at for one in Stop.objects.filter(program=mesa.program)}
    flats.due(flats.premises(name="Cooper Laundry", lat=46.84))
    assert flats.plan().json["feasible"]
    after = {one.pk: one.arrives_at for one in Stop.objects.filter(program=mesa.program)}
    assert after == before
    visits = sorted(
        (one.arrives_at, one.leaves_at) for one in Stop.objects.filter(cancelled_at=None)
    )
    assert all(first[1] <= then[0] for first, then in pairwise(visits))


def test_a_property_manager_carries_away_the_days_of_their_premises_alone(
    offices: tuple[Office, Office],
) -> None:
    flats, _mesa = offices
    mine = flats.premises(name="Quayside Homes")
    flats.due(mine)
    party = owned(flats, mine, email="")
    user = get_user_model().objects.create_user("ione")
    Membership.objects.create(
        user_id=user.pk, role=Role.PROPERTY_MANAGER, program=flats.program, party=party
    )
    client = Client()
    client.force_login(user)
    theirs = rows.Premises.objects.get(name="Dogwood Laboratory")
    page = client.post("/p/flats/calendars/", {"of": f"premises-{theirs.pk}", "reader": "me"})
    assert page.status_code == 422
    page = client.post("/p/flats/calendars/", {"of": f"premises-{mine.pk}", "reader": "me"})
    (address,) = set(re.findall(r"http://[^\s\"]+\.ics", page.content.decode()))
    assert [one.split(":")[0] for one in events(address)] == ["Backflow test due"]
    assert "Quayside Homes" in words_of(client.get("/p/flats/calendars/"))
