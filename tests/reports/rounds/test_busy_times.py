"""Busy calendars read by RFC 5545, and the plans that leave their hours alone."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import icalendar
import pytest
import recurring_ical_events
from dateutil.rrule import rrulestr
from django.contrib.auth import get_user_model
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from registry import models as rows
from registry.changes import Hand
from registry.domain.kinds import Role
from registry.models import Firm, Membership
from reports.actions.busy import read_in
from reports.busy.reading import UnreadableCalendarError, read_busy
from reports.models import BusyCalendar, BusySpan, Stop
from tests.reports.rounds.office import NOON, TODAY, Office, stops_of

LA = ZoneInfo("America/Los_Angeles")
FIRST, LAST = date(2026, 11, 25), date(2027, 12, 30)


def calendar(*events: str, head: str = "") -> bytes:
    inside = "".join(
        f"BEGIN:VEVENT\r\nUID:{number}@flats\r\nDTSTAMP:20261101T000000Z\r\n{event}\r\nEND:VEVENT\r\n"
        for number, event in enumerate(events)
    )
    text = f"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//flats//\r\n{head}{inside}END:VCALENDAR\r\n"
    return text.encode()


def spans(content: bytes, *, first: date = FIRST, last: date = LAST) -> list[tuple[str, str]]:
    return [
        (starts.astimezone(LA).isoformat(), ends.astimezone(LA).isoformat())
        for starts, ends in read_busy(content, zone=LA, first=first, last=last).spans
    ]


def test_a_weekly_hour_keeps_its_wall_time_through_the_clock_change() -> None:
    # RFC 5545, 3.3.10: a rule repeats by local time; expected from dateutil's rrule.
    rule = "FREQ=WEEKLY;BYDAY=TU;COUNT=20"
    got = spans(
        calendar(
            f"DTSTART;TZID=America/Los_Angeles:20270202T130000\r\n"
            f"DTEND;TZID=America/Los_Angeles:20270202T140000\r\nRRULE:{rule}"
        )
    )
    wanted = [
        (day.replace(tzinfo=LA).isoformat(), day.replace(hour=14, tzinfo=LA).isoformat())
        for day in rrulestr(rule, dtstart=datetime(2027, 2, 2, 13, tzinfo=UTC))
    ]
    assert got == wanted
    assert {start[-6:] for start, _end in got} == {"-08:00", "-07:00"}


def test_exceptions_moved_and_struck_out_are_followed() -> None:
    series = (
        "UID:one\r\nDTSTART;TZID=America/Los_Angeles:20261201T090000\r\nDURATION:PT1H\r\n"
        "RRULE:FREQ=DAILY;COUNT=3\r\nEXDATE;TZID=America/Los_Angeles:20261203T090000"
    )
    moved = (
        "UID:one\r\nRECURRENCE-ID;TZID=America/Los_Angeles:20261202T090000\r\n"
        "DTSTART;TZID=America/Los_Angeles:20261202T150000\r\nDURATION:PT30M"
    )
    content = calendar().replace(
        b"END:VCALENDAR",
        f"BEGIN:VEVENT\r\n{series}\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\n{moved}\r\nEND:VEVENT\r\n"
        "END:VCALENDAR".encode(),
    )
    assert spans(content) == [
        ("2026-12-01T09:00:00-08:00", "2026-12-01T10:00:00-08:00"),
        ("2026-12-02T15:00:00-08:00", "2026-12-02T15:30:00-08:00"),
    ]


def test_whole_days_floating_times_free_and_cancelled_entries() -> None:
    # RFC 5545, 3.6.1 (ends are exclusive), 3.3.5 form 1 (floating), 3.8.2.7, 3.8.1.11.
    got = spans(
        calendar(
            "DTSTART;VALUE=DATE:20261224\r\nDTEND;VALUE=DATE:20261226",
            "DTSTART;VALUE=DATE:20270101",
            "DTSTART:20261130T100000\r\nDTEND:20261130T110000",
            "DTSTART:20261130T120000\r\nDTEND:20261130T130000\r\nTRANSP:TRANSPARENT",
            "DTSTART:20261130T140000\r\nDTEND:20261130T150000\r\nSTATUS:CANCELLED",
            "DTSTART:20261130T223000Z\r\nDTEND:20261130T233000Z",
        )
    )
    assert got == [
        ("2026-11-30T10:00:00-08:00", "2026-11-30T11:00:00-08:00"),
        ("2026-11-30T14:30:00-08:00", "2026-11-30T15:30:00-08:00"),
        ("2026-12-24T00:00:00-08:00", "2026-12-26T00:00:00-08:00"),
        ("2027-01-01T00:00:00-08:00", "2027-01-02T00:00:00-08:00"),
    ]


def test_stretches_that_touch_become_one_and_the_past_is_left_out() -> None:
    got = spans(
        calendar(
            "DTSTART:20261130T180000Z\r\nDTEND:20261130T190000Z",
            "DTSTART:20261130T190000Z\r\nDTEND:20261130T200000Z",
            "DTSTART:20261130T183000Z\r\nDTEND:20261130T184500Z",
            "DTSTART:20261120T180000Z\r\nDTEND:20261120T190000Z",
        )
    )
    assert got == [("2026-11-30T10:00:00-08:00", "2026-11-30T12:00:00-08:00")]


def test_one_broken_entry_costs_only_itself_and_is_named() -> None:
    busy = read_busy(
        calendar(
            "SUMMARY:Dentist\r\nDTSTART:20261130T180000Z\r\nDTEND:20261130T190000Z",
            "SUMMARY:Pulse\r\nDTSTART:20261130T180000Z\r\nRRULE:FREQ=SECONDLY",
            "SUMMARY:Lost",
            "SUMMARY:Odd\r\nDTSTART:20261130T180000Z\r\nRRULE:FREQ=SOMETIMES",
        ),
        zone=LA,
        first=FIRST,
        last=LAST,
    )
    assert len(busy.spans) == 1
    assert [note.split("”")[0].removeprefix("“") for note in busy.notes] == ["Pulse", "Lost", "Odd"]
    assert "it repeats by the minute or second" in busy.notes[0]


@pytest.mark.parametrize("content", [b"", b"hello", b"\x00\x01", b"<html></html>"])
def test_what_is_no_calendar_is_refused(content: bytes) -> None:
    with pytest.raises(UnreadableCalendarError, match="no calendar"):
        read_busy(content, zone=LA, first=FIRST, last=LAST)


def files(package: Path) -> list[Path]:
    return sorted(package.rglob("*.ics"))


def test_no_file_of_the_icalendar_project_breaks_the_reading() -> None:
    # The project's own test files, as its wheel installs them: good, odd and broken ones.
    found = files(Path(icalendar.__file__).parent / "tests")
    assert len(found) > 100
    read = 0
    for path in found:
        try:
            busy = read_busy(
                path.read_bytes(), zone=LA, first=date(1995, 1, 1), last=date(2030, 1, 1)
            )
        except UnreadableCalendarError:
            continue
        read += 1
        assert all(starts < ends for starts, ends in busy.spans)
        assert all(a[1] < b[0] for a, b in zip(busy.spans, busy.spans[1:], strict=False))
    assert read > len(found) * 0.9


def test_the_files_of_recurring_ical_events_are_followed_as_it_follows_them() -> None:
    # Its own occurrences, less those shown as free or cancelled, cover the same minutes.
    found = files(Path(recurring_ical_events.__file__).parent / "test")
    assert len(found) > 50
    compared = 0
    for path in found:
        content = path.read_bytes()
        first, last = date(2018, 1, 1), date(2024, 1, 1)
        try:
            busy = read_busy(content, zone=ZoneInfo("UTC"), first=first, last=last)
            theirs = recurring_ical_events.of(icalendar.Calendar.from_ical(content)).between(
                first, last + timedelta(days=1)
            )
        except (UnreadableCalendarError, ValueError, AttributeError, KeyError):
            continue
        if busy.notes or any(_is_free(event) for event in theirs):
            continue
        for event in theirs:
            starts, ends = _utc(event.start), _utc(event.end)
            middle = starts + (ends - starts) / 2
            inside = any(begin <= middle <= end for begin, end in busy.spans)
            assert inside or starts == ends, (path.name, starts)
        compared += 1
    assert compared > 40


def _is_free(event: icalendar.Event) -> bool:
    return "TRANSP" in event or "STATUS" in event


def _utc(value: date) -> datetime:
    if isinstance(value, datetime):
        return value.astimezone(UTC) if value.tzinfo else value.replace(tzinfo=UTC)
    return datetime(value.year, value.month, value.day, tzinfo=UTC)


# --- plans ------------------------------------------------------------------------------


@pytest.fixture
def office() -> Office:
    return Office()


def busy(office: Office, tester: rows.Tester, *events: str, name: str = "office") -> BusyCalendar:
    hand = Hand(by="dora", at=NOON)
    return read_in(
        tester,
        name=name,
        content=calendar(*events),
        program=office.program,
        today=TODAY,
        hand=hand,
    ).row


MIDDAY = "DTSTART:20261130T110000\r\nDTEND:20261130T130000"
MORNING = "DTSTART:20261130T060000\r\nDTEND:20261130T120000"
EVENING = "DTSTART:20261130T150000\r\nDTEND:20261130T220000"
WHOLE = "DTSTART;VALUE=DATE:20261130"


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("event", "free"),
    [
        (MIDDAY, [(8, 0, 11, 0), (13, 0, 16, 30)]),
        (MORNING, [(12, 0, 16, 30)]),
        (EVENING, [(8, 0, 15, 0)]),
        (WHOLE, []),
    ],
)
def test_a_plan_leaves_busy_hours_alone(
    office: Office, event: str, free: list[tuple[int, int, int, int]]
) -> None:
    tester = office.tester("T-1")
    office.town(visits=12)
    busy(office, tester, event)
    said = office.plan(days=1)
    assert said.json["feasible"] is True
    hours = [
        (datetime(2026, 11, 30, a, b, tzinfo=LA), datetime(2026, 11, 30, c, d, tzinfo=LA))
        for a, b, c, d in free
    ]
    stops = stops_of(said)
    assert bool(stops) == bool(free)
    for stop in stops:
        arrive, leave = (datetime.fromisoformat(stop[key]) for key in ("arrive", "leave"))
        assert any(opens <= arrive and leave <= closes for opens, closes in hours)
    if len(free) == 2:
        # Both halves are used: a gap is no early end of the day.
        noon = datetime(2026, 11, 30, 12, tzinfo=LA)
        assert {datetime.fromisoformat(one["arrive"]) < noon for one in stops} == {True, False}


@pytest.mark.django_db
def test_a_promise_stands_where_the_tester_says_busy_later(office: Office) -> None:
    tester = office.tester("T-1")
    office.town(visits=6)
    office.plan(days=1)
    stop = Stop.objects.order_by("arrives_at")[2]
    Stop.objects.filter(pk=stop.pk).update(promised_at=NOON)
    around = stop.arrives_at.astimezone(LA)
    start, end = (around + timedelta(minutes=by) for by in (-10, 20))
    busy(office, tester, f"DTSTART:{start:%Y%m%dT%H%M%S}\r\nDTEND:{end:%Y%m%dT%H%M%S}")
    said = office.plan(days=1)
    kept = Stop.objects.get(pk=stop.pk)
    assert (kept.arrives_at, kept.cancelled_at) == (stop.arrives_at, None)
    assert said.json["planned"] == 6


@pytest.mark.django_db
def test_handed_in_again_a_calendar_is_replaced_whole(office: Office) -> None:
    tester = office.tester("T-1")
    first = busy(office, tester, MORNING, EVENING)
    again = busy(office, tester, MIDDAY)
    other = busy(office, tester, WHOLE, name="family")
    assert first.pk == again.pk
    held = [one.calendar for one in BusySpan.objects.order_by("starts_at")]
    assert held == [other, again]
    assert again.spans.count() == 1
    # Nothing is kept of what the hours are for.
    stored = [field.name for field in BusySpan._meta.get_fields()]
    assert stored == ["id", "calendar", "starts_at", "ends_at"]


def signed_in(office: Office, *, firm: Firm) -> Client:
    person = get_user_model().objects.create_user("dora")
    Membership.objects.create(user=person, firm=firm, role=Role.DISPATCHER)
    client = Client()
    client.force_login(person)
    return client


@pytest.mark.django_db
def test_a_dispatcher_hands_a_calendar_in_and_forgets_it(office: Office) -> None:
    tester = office.tester("T-1")
    stranger = office.tester("X-9", firm="Northmere Testing")
    client = signed_in(office, firm=tester.firm)
    url = reverse("busy-times", args=[office.code])

    def post(content: bytes, **fields: object) -> Any:
        file = SimpleUploadedFile("office.ics", content)
        sent = {"tester": tester.pk, "name": "office", "file": file, **fields}
        return client.post(url, sent, follow=True)

    assert "office of" in post(calendar(MIDDAY)).content.decode()
    assert "is no calendar file" in post(b"hello").content.decode()
    assert post(calendar(MIDDAY), name="").status_code == 422
    assert post(calendar(MIDDAY), tester=stranger.pk).status_code == 404
    told = post(calendar(MORNING, "SUMMARY:Lost")).content.decode()
    assert "“Lost” could not be read (it has no beginning); left out." in told
    row = BusyCalendar.objects.get()
    assert row.spans.count() == 1
    page = client.get(url).content.decode()
    assert "Nov 30, 2026, 6:00 a.m." in page
    client.post(reverse("busy-forget", args=[office.code, row.pk]))
    assert not BusySpan.objects.exists()
