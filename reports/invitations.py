"""An appointment as an RFC 5546 message: asked for, changed, or called off.

A reader takes a message for a newer one of the same visit by its UID and a risen SEQUENCE. The
organizer is the very address the e-mail comes from, or calendars offer no buttons.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from icalendar import Calendar, Event, vCalAddress

from reports.calendars import MAKER, Words
from reports.domain.calendar_text import one_line

REQUEST = "REQUEST"
CANCEL = "CANCEL"


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """What an invitation shows: aware moments, and the words of the letter."""

    uid: str
    sequence: int
    starts: datetime
    ends: datetime
    zone: str
    summary: str
    place: str
    words: str
    lat: float | None = None
    lon: float | None = None


def invitation_text(
    visit: Visit, *, method: str, organizer: str, office: str, attendee: str, at: datetime
) -> str:
    """The calendar of one visit for one guest, as text; `at` is when it was said."""
    calendar = Calendar()
    calendar.add("prodid", MAKER)
    calendar.add("version", "2.0")
    calendar.add("method", method)
    event = Event()
    event.add("uid", one_line(visit.uid))
    event.add("sequence", visit.sequence)
    event.add("dtstamp", at.astimezone(UTC).replace(microsecond=0))
    zone = ZoneInfo(visit.zone)
    event.add("dtstart", visit.starts.astimezone(zone))
    event.add("dtend", visit.ends.astimezone(zone))
    event.add("summary", Words(one_line(visit.summary)))
    event.add("location", Words(one_line(visit.place)))
    event.add("description", Words(visit.words))
    event.add("status", "CANCELLED" if method == CANCEL else "CONFIRMED")
    if visit.lat is not None and visit.lon is not None:
        event.add("geo", (visit.lat, visit.lon))
    event["organizer"] = _address(organizer, name=office)
    event["attendee"] = _guest(attendee)
    calendar.add_component(event)
    calendar.add_missing_timezones(
        date(visit.starts.year - 1, 1, 1), date(visit.ends.year + 2, 1, 1)
    )
    return bytes(calendar.to_ical()).decode()


def _address(address: str, *, name: str) -> vCalAddress:
    found = vCalAddress(f"mailto:{address}")
    found.params["CN"] = one_line(name).replace('"', "'")
    return found


def _guest(address: str) -> vCalAddress:
    guest = vCalAddress(f"mailto:{address}")
    guest.params["ROLE"] = "REQ-PARTICIPANT"
    guest.params["PARTSTAT"] = "NEEDS-ACTION"
    guest.params["RSVP"] = "TRUE"
    return guest
