"""Subscribed calendars as their readers ask for them, read back by two libraries.

icalendar and recurring-ical-events are the readers; RFC 5545 and RFC 7986 say what must stand.
"""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta
from typing import Any
from urllib.parse import urlsplit

import pytest
import recurring_ical_events
import time_machine
from django.contrib.auth import get_user_model
from django.test import Client
from django.utils import timezone
from icalendar import Calendar

from registry import models as rows
from registry.changes import Hand
from registry.domain.kinds import Role
from registry.models import Membership
from reports.actions.feeds import hash_of, make_feed
from reports.models import CalendarFeed, FeedEntry, Stop
from reports.queries.calendar_days import work_words
from tests.reports.rounds.office import MONDAY, NOON, Office

pytestmark = pytest.mark.django_db

HAND = Hand(by="Dispatcher", at=NOON)
AFTER = datetime(2026, 11, 26, 18, tzinfo=NOON.tzinfo)


@pytest.fixture
def office() -> Office:
    office = Office()
    office.tester("T-1")
    return office


def path_of(address: str) -> str:
    return urlsplit(address).path


def read(address: str) -> Any:
    response = Client().get(path_of(address))
    assert response.status_code == 200
    assert response["Content-Type"] == "text/calendar; charset=utf-8"
    return Calendar.from_ical(response.content)


@pytest.fixture
def rounds(office: Office) -> str:
    """The address of T-1's rounds: two premises planned for the week of 30 November."""
    office.due(office.premises(name="Dogwood Laboratory"))
    office.due(office.premises(name="Cooper Laundry", lon=-118.25))
    office.plan()
    return make_feed(rows.Tester.objects.get(certificate="T-1"), reader="phone", hand=HAND)[1]


def test_only_a_hash_of_the_address_is_kept(rounds: str) -> None:
    secret = re.fullmatch(r".*/calendars/(.+)\.ics", rounds)
    assert secret is not None
    feed = CalendarFeed.objects.get()
    assert feed.secret_hash == hash_of(secret[1])
    assert secret[1] not in str({**feed.__dict__})
    assert len(secret[1]) >= 43  # 256 bits in base 64


def test_two_libraries_read_the_stops_at_their_times(rounds: str) -> None:
    calendar = read(rounds)
    found = recurring_ical_events.of(calendar).between(MONDAY, MONDAY + timedelta(days=7))
    stops = Stop.objects.order_by("arrives_at")
    assert [(e["DTSTART"].dt, e["DTEND"].dt) for e in found] == [
        (stop.arrives_at, stop.leaves_at) for stop in stops
    ]
    assert {str(e["UID"]) for e in calendar.walk("VEVENT")} == {stop.uid for stop in stops}
    assert [str(z["TZID"]) for z in calendar.walk("VTIMEZONE")] == ["America/Los_Angeles"]


def test_the_calendar_says_how_often_to_ask_and_rings_before_a_stop(rounds: str) -> None:
    calendar = read(rounds)
    assert calendar["REFRESH-INTERVAL"].dt == timedelta(hours=1)  # RFC 7986 section 5.7
    assert calendar["REFRESH-INTERVAL"].params["VALUE"] == "DURATION"
    event = calendar.walk("VEVENT")[0]
    assert event.walk("VALARM")[0]["TRIGGER"].dt == timedelta(minutes=-30)
    assert str(event["URL"]).endswith("/p/flats/enter/")
    assert "Enter the test: http://127.0.0.1:8000/p/flats/enter/" in str(event["DESCRIPTION"])


def test_asked_again_the_same_bytes_come_or_none_at_all(rounds: str) -> None:
    client = Client()
    first = client.get(path_of(rounds))
    again = client.get(path_of(rounds))
    assert again.content == first.content
    spared = client.get(path_of(rounds), headers={"If-None-Match": first["ETag"]})
    assert (spared.status_code, spared.content) == (304, b"")
    assert FeedEntry.objects.filter(sequence=0).count() == 2


def test_a_change_of_access_notes_reaches_the_reader_as_a_newer_event(rounds: str) -> None:
    before = {str(e["UID"]): int(e["SEQUENCE"]) for e in read(rounds).walk("VEVENT")}
    stop = Stop.objects.earliest("arrives_at")
    stop.premises.access_notes = "Gate code 4411"
    stop.premises.save()
    after = {str(e["UID"]): int(e["SEQUENCE"]) for e in read(rounds).walk("VEVENT")}
    assert after == {**before, stop.uid: before[stop.uid] + 1}


def test_a_stop_called_off_is_cancelled_for_sixty_days(rounds: str) -> None:
    stop = Stop.objects.latest("arrives_at")
    with time_machine.travel(AFTER, tick=False):
        read(rounds)
        Stop.objects.filter(pk=stop.pk).update(cancelled_at=AFTER)
        events = {str(e["UID"]): e for e in read(rounds).walk("VEVENT")}
        assert str(events[stop.uid]["STATUS"]) == "CANCELLED"
        assert not events[stop.uid].walk("VALARM")
    with time_machine.travel(AFTER + timedelta(days=59), tick=False):
        assert stop.uid in {str(e["UID"]) for e in read(rounds).walk("VEVENT")}
    with time_machine.travel(AFTER + timedelta(days=60), tick=False):
        assert stop.uid not in {str(e["UID"]) for e in read(rounds).walk("VEVENT")}


def test_a_revoked_address_is_no_address(rounds: str) -> None:
    CalendarFeed.objects.update(revoked_at=timezone.now())
    assert Client().get(path_of(rounds)).status_code == 404
    assert Client().get("/calendars/guessed.ics").status_code == 404


def test_a_premises_shows_whole_due_days_and_promised_visits_only(office: Office) -> None:
    site = office.premises(name="Dogwood Laboratory")
    office.due(site)
    office.plan()
    _feed, address = make_feed(site, reader="owner's phone", hand=HAND)
    (due,) = read(address).walk("VEVENT")
    assert due["DTSTART"].dt == date(2026, 12, 15)
    assert due["DTEND"].dt == date(2026, 12, 16)  # exclusive: RFC 5545 section 3.6.1
    assert due["DTSTART"].params["VALUE"] == "DATE"
    assert str(due["TRANSP"]) == "TRANSPARENT"
    assert str(due["SUMMARY"]).startswith("Backflow test due: RP")
    Stop.objects.update(promised_at=NOON)
    assert {str(e["SUMMARY"]) for e in read(address).walk("VEVENT")} == {
        str(due["SUMMARY"]),
        "Backflow test at Dogwood Laboratory",
    }


def test_a_program_shows_how_much_is_due_on_each_day(office: Office) -> None:
    for _ in range(3):
        office.due(office.premises())
    office.due(office.premises(), due_on=date(2027, 1, 4))
    _feed, address = make_feed(office.program, reader="wall", hand=HAND)
    told = {e["DTSTART"].dt: str(e["SUMMARY"]) for e in read(address).walk("VEVENT")}
    assert told == {
        date(2026, 12, 15): "Due: 3 × backflow test",
        date(2027, 1, 4): "Due: 1 × backflow test",
    }


def test_a_kind_of_work_is_named_as_its_rulebook_names_it() -> None:
    assert work_words("internal inspection") == "Internal inspection"


def test_a_dispatcher_makes_an_address_seen_once_and_revokes(office: Office, rounds: str) -> None:
    tester = rows.Tester.objects.get(certificate="T-1")
    person = get_user_model().objects.create_user("dispatcher")
    Membership.objects.create(user_id=person.pk, role=Role.DISPATCHER, firm=tester.firm)
    client = Client()
    client.force_login(person)
    page = client.post("/p/flats/calendars/", {"of": f"tester-{tester.pk}", "reader": "van"})
    (address,) = set(re.findall(r"http://[^\s\"]+\.ics", page.content.decode()))
    assert read(address)
    listed = client.get("/p/flats/calendars/").content.decode()
    assert address not in listed
    assert "van" in listed
    feed = CalendarFeed.objects.get(reader="van")
    client.post(f"/p/flats/calendars/{feed.pk}/revoke/")
    assert Client().get(path_of(address)).status_code == 404
    assert Client().get(path_of(rounds)).status_code == 200


def shown_address(office: Office, *, at: str) -> str:
    """What the page shows to an administrator whose browser asked for it at that host."""
    person, _made = get_user_model().objects.get_or_create(username="maren")
    Membership.objects.get_or_create(
        user_id=person.pk, role=Role.ADMINISTRATOR, program=office.program
    )
    client = Client()
    client.force_login(person)
    told = {"of": f"program-{office.program.pk}", "reader": at}
    page = client.post("/p/flats/calendars/", told, headers={"host": at})
    found = re.findall(r"http[^\s\"]+\.ics", page.content.decode())
    return str(found[0]) if found else str(page.status_code)


def test_an_address_is_the_one_the_browser_used_or_what_the_office_says(
    office: Office, rounds: str, settings: Any
) -> None:
    settings.ALLOWED_HOSTS = ["127.0.0.1", "localhost"]
    settings.BASE_URL_IS_GIVEN = False
    assert shown_address(office, at="127.0.0.1:8137").startswith("http://127.0.0.1:8137/")
    assert shown_address(office, at="localhost:9000").startswith("http://localhost:9000/")
    assert shown_address(office, at="elsewhere.example") == "400"
    settings.BASE_URL, settings.BASE_URL_IS_GIVEN = "https://clerk.example", True
    assert shown_address(office, at="127.0.0.1:8137").startswith("https://clerk.example/")


def test_whose_calendar_and_for_whom_must_be_said(office: Office) -> None:
    person = get_user_model().objects.create_user("administrator")
    Membership.objects.create(user_id=person.pk, role=Role.ADMINISTRATOR, program=office.program)
    client = Client()
    client.force_login(person)
    for sent, fault in (
        ({"of": "", "reader": "wall"}, "Choose whose calendar it is."),
        ({"of": "tester-1", "reader": "wall"}, "Choose whose calendar it is."),
        ({"of": "program-1", "reader": " "}, "Say who or what will read it"),
    ):
        page = client.post("/p/flats/calendars/", sent)
        assert page.status_code == 422
        assert fault in page.content.decode()
    assert not CalendarFeed.objects.exists()
