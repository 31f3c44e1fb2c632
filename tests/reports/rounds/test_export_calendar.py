"""`export_calendar` read back by icalendar, and what a calendar must withstand."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar
from icalendar.cal.component import Component

from reports.models import FieldTest, Stop
from tests.reports.rounds.office import MONDAY, NOON, Office, run

pytestmark = pytest.mark.django_db

# The injection set: each of these in every field that data can fill.
HOSTILE = [
    "a\rATTENDEE:mailto:x@example.org",
    "a\nBEGIN:VALARM",
    "a\r\nEND:VEVENT\r\nBEGIN:VEVENT",
    "a\u2028ATTENDEE:x",
    "a\u2029BEGIN:VEVENT",
    "a\x85END:VCALENDAR",
    "semi;colon, comma \\ backslash \\n not a break \\; \\,",
    "\x01\x1b[31mred\x7f",
    'quote " and =caret^n',
    "Łukowa Żółć 水道局 🚰 " * 12,
    "x" * 300,
]


@pytest.fixture
def office() -> Office:
    return Office()


def events(calendar: Calendar) -> list[Component]:
    return list(calendar.walk("VEVENT"))


def text_of(office: Office, certificate: str = "T-1") -> str:
    return run("export_calendar", "--program", office.code, "--tester", certificate).out


def on_one_line(text: str) -> str:
    """What a person should read of a hostile text: written anew here, not with our cleaner."""
    for brk in ("\r\n", "\r", "\n", "\u2028", "\u2029", "\x85"):
        text = text.replace(brk, " ")
    kept = "".join(char for char in text if char >= " " and char != "\x7f")
    return " ".join(kept.split())


def test_each_stop_of_the_plan_is_one_event_at_its_times(office: Office) -> None:
    office.tester("T-1")
    office.tester("T-2", firm="Quill Backflow")
    office.town(visits=40)
    said = office.plan()
    for certificate in ("T-1", "T-2"):
        planned = [
            (datetime.fromisoformat(stop["arrive"]), datetime.fromisoformat(stop["leave"]))
            for one in said.json["rounds"]
            if one["tester"] == certificate
            for stop in one["stops"]
        ]
        found = [
            (e.decoded("dtstart"), e.decoded("dtend")) for e in events(office.calendar(certificate))
        ]
        assert sorted(found) == sorted(planned)
    assert said.json["planned"] == 40


def test_an_event_says_where_what_and_what_to_heed(office: Office) -> None:
    office.tester("T-1")
    premises = office.premises(
        name="Dogwood Laboratory",
        access_notes="Gate code 4411",
        phone="509 555 0100",
        has_medical_supply=True,
    )
    office.due(
        premises,
        service="fire",
        assembly={"maker": "Northfork", "model": "N882", "location": "vault at curb"},
    )
    office.plan()
    (event,) = events(office.calendar("T-1"))
    assert str(event["summary"]) == "Dogwood Laboratory: 1 test"
    assert str(event["location"]) == "1 Juniper St, Tamarack Flats, WA 99171"
    assert event["geo"].to_ical() == "46.85;-118.2"
    description = str(event["description"])
    for words in (
        "RP 0.75 in, Northfork N882, serial S2, vault at curb, due December 15, 2026",
        "Access: Gate code 4411",
        "Telephone: 509 555 0100",
        "fire department",
        "medical supply",
        "29 CFR 1910.146",
        "local code and licensed practice govern",
    ):
        assert words in description


def test_an_event_tells_the_last_readings_as_they_were_recorded(office: Office) -> None:
    office.tester("T-1")
    work = office.due(office.premises())
    for on, relief in ((date(2024, 12, 1), "2.9"), (date(2025, 12, 1), "2.4")):
        FieldTest.objects.create(
            program=office.program,
            assembly=work.its_assembly,
            digest=f"{on}".ljust(64, "0"),
            serial=work.its_assembly.serial,
            tested_on=on,
            method="usc10",
            outcome="pass",
            unit="psid",
            initial={"relief": relief, "check2_tight": "yes"},
            recorded_at=NOON,
        )
    office.plan()
    lines = str(events(office.calendar("T-1"))[0]["description"]).split("\n")
    told = [line for line in lines if line.startswith("Last readings of")]
    said = "December 1, 2025, pass: relief valve opened at 2.4, check 2 tight (psid)"
    assert told == [f"Last readings of S2: {said}"]


def test_a_plain_site_is_told_the_usual_cautions_only(office: Office) -> None:
    office.tester("T-1")
    office.due(office.premises())
    office.plan()
    description = str(events(office.calendar("T-1"))[0]["description"])
    assert "Ask the owner before water is shut" in description
    assert "fire department" not in description
    assert "1910.146" not in description


def test_without_a_plan_or_a_stop_the_calendar_is_empty_and_valid(office: Office) -> None:
    office.tester("T-1")
    for _ in range(2):
        calendar = office.calendar("T-1")
        assert events(calendar) == []
        assert str(calendar["version"]) == "2.0"
        assert calendar["prodid"]
        office.plan()


@pytest.mark.parametrize(
    ("program", "tester"), [("flats", "T-9"), ("nowhere", "T-1"), ("other", "T-1")]
)
def test_an_unknown_certificate_or_program_is_refused(
    office: Office, program: str, tester: str
) -> None:
    office.tester("T-1")
    Office(code="other")
    said = run("export_calendar", "--program", program, "--tester", tester)
    assert (said.code, said.out) == (2, "")
    assert said.err.strip()


def test_the_same_rows_give_the_same_bytes(office: Office) -> None:
    office.tester("T-1")
    office.town(visits=12)
    office.plan()
    assert text_of(office) == text_of(office)
    office.plan()  # a rerun with the same seed moves nothing
    assert text_of(office) == text_of(office)


def test_a_replan_keeps_the_uid_raises_the_sequence_and_stamps_the_row(office: Office) -> None:
    office.tester("T-1")
    office.due(office.premises())
    office.plan(days=1)
    (before,) = events(office.calendar("T-1"))
    office.plan(first_day=MONDAY + timedelta(days=2), days=1)
    (after,) = events(office.calendar("T-1"))
    assert str(after["uid"]) == str(before["uid"])
    assert (before["sequence"], after["sequence"]) == (0, 1)
    assert after.decoded("dtstart") - before.decoded("dtstart") == timedelta(days=2)
    stamp = Stop.objects.get().revised_at
    assert after.decoded("dtstamp") == after.decoded("last-modified") == stamp
    assert stamp.tzinfo is not None


def test_the_uid_follows_from_program_premises_and_origin_alone(office: Office) -> None:
    office.tester("T-1")
    office.due(office.premises())
    office.plan()
    uid = Stop.objects.get().uid
    Stop.objects.all().delete()  # as in another database with the same registry
    office.plan(first_day=date(2026, 12, 7))
    assert Stop.objects.get().uid == uid


def test_a_stop_that_changes_hands_leaves_one_calendar_for_the_other(office: Office) -> None:
    first = office.tester("T-1")
    office.due(office.premises())
    office.plan()
    (before,) = events(office.calendar("T-1"))
    first.certifications.update(valid_to=date(2026, 11, 1))
    office.tester("T-2", firm="Quill Backflow")
    office.plan()
    assert events(office.calendar("T-1")) == []
    (after,) = events(office.calendar("T-2"))
    assert (after["uid"], after["sequence"]) == (before["uid"], 1)


def test_a_promise_outside_the_latest_plan_is_still_shown(office: Office) -> None:
    office.tester("T-1")
    office.due(office.premises())
    office.plan(first_day=date(2026, 12, 7))
    Stop.objects.update(promised_at=NOON)
    office.due(office.premises())
    office.plan()
    assert len(events(office.calendar("T-1"))) == 2


@pytest.mark.parametrize("zone", ["America/Los_Angeles", "Europe/Berlin", "Asia/Kolkata"])
def test_the_zone_is_told_in_full_and_gives_the_right_moments(zone: str) -> None:
    office = Office(zone=zone)
    office.tester("T-1", hours={str(n): [["09:00", "10:00"]] for n in range(7)})
    for _ in range(14):
        office.due(office.premises(), opens_on=date(2026, 9, 1))
    office.plan(first_day=date(2026, 10, 22), days=14)  # over both hemispheres' October changes
    text = text_of(office)
    assert text.count("BEGIN:VTIMEZONE") == 1
    assert f"TZID:{zone}" in text
    found = {event.decoded("dtstart").astimezone(UTC) for event in events(Calendar.from_ical(text))}
    assert found == set(Stop.objects.values_list("arrives_at", flat=True))
    local = {moment.astimezone(ZoneInfo(zone)).hour for moment in found}
    assert local == {9}


def test_a_program_in_utc_needs_no_zone() -> None:
    office = Office(zone="UTC")
    office.tester("T-1")
    office.due(office.premises())
    office.plan()
    text = text_of(office)
    assert "VTIMEZONE" not in text
    assert "DTSTART:20261130T080000Z" in text


@pytest.mark.parametrize("hostile", HOSTILE)
def test_hostile_text_in_any_field_changes_nothing_but_its_own_words(
    office: Office, hostile: str
) -> None:
    office.tester("T-1")
    premises = office.premises(
        name=hostile,
        address=hostile[:250],
        account=hostile[:50],
        access_notes=hostile,
        phone=hostile[:50],
        notes=hostile,
    )
    assembly = {
        "maker": hostile[:100],
        "model": hostile[:100],
        "serial": hostile[:100],
        "location": hostile[:250],
        "notes": hostile,
    }
    office.due(premises, assembly=assembly)
    office.plan()
    text = text_of(office)
    for line in text.removesuffix("\r\n").split("\r\n"):
        assert len(line.encode()) <= 75
        assert not set(line) & set("\r\n\x85\u2028\u2029\x01\x1b\x7f")
    calendar = Calendar.from_ical(text)
    parts: dict[str, int] = {}
    for part in calendar.walk():
        parts[part.name or ""] = parts.get(part.name or "", 0) + 1
    assert parts.pop("VEVENT") == 1
    assert set(parts) <= {"VCALENDAR", "VTIMEZONE", "STANDARD", "DAYLIGHT"}
    (event,) = events(calendar)
    assert "attendee" not in event
    assert str(event["summary"]) == on_one_line(f"{hostile}: 1 test")
    assert str(event["location"]) == on_one_line(f"{hostile[:250]}, Tamarack Flats, WA 99171")
    lines = str(event["description"]).split("\n")
    assert f"Access: {on_one_line(hostile)}" in lines
    assert f"Notes: {on_one_line(hostile)}" in lines


def test_escapes_survive_the_round_trip_through_a_calendar(office: Office) -> None:
    office.tester("T-1")
    words = ["\\", ";", ",", ":", '"', "\\n", "\\N", "\\\\", "ß", "é", "🚰"]
    names = [f"a{first}{second}b" for first in words for second in words]
    for name in names:
        office.due(office.premises(name=name))
    office.plan(days=30)
    found = {str(event["summary"]) for event in events(office.calendar("T-1"))}
    assert found == {f"{name}: 1 test" for name in names}
