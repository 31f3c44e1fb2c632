"""Events as RFC 5545 text: the same events the same bytes.

The one module that knows the calendar library. A UID stays through replans, SEQUENCE rises with
every change, DTSTAMP and LAST-MODIFIED are the moment of the last one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from icalendar import Alarm, Calendar, Event, vDuration, vText

from reports.domain.calendar_events import KeptEvent
from reports.domain.calendar_text import one_line

MAKER = "-//Waterclerk//Rounds 1.0//EN"


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedHead:
    """What a subscribed calendar says of itself: how often to ask again, and its address."""

    refresh: timedelta
    url: str = ""


def calendar_text(events: Sequence[KeptEvent], *, name: str, feed: FeedHead | None = None) -> str:
    """The calendar of these events, each by its own zone's clock; valid when there are none.

    Only what is subscribed to rings: a file that is opened once would ring for ever.
    """
    calendar = Calendar()
    calendar.add("prodid", MAKER)
    calendar.add("version", "2.0")
    calendar.add("x-wr-calname", Words(one_line(name)))
    if feed is not None:
        # RFC 7986 section 5.7; the older name beside it is what more readers know.
        calendar.add("refresh-interval", vDuration(feed.refresh), parameters={"VALUE": "DURATION"})
        calendar.add("x-published-ttl", vDuration(feed.refresh))
    for kept in events:
        calendar.add_component(_event(kept, rings=feed is not None))
    if years := [kept.event.starts.year for kept in events if _is_moment(kept)]:
        # The years around the events: a zone's whole history would outweigh the calendar.
        calendar.add_missing_timezones(date(min(years) - 1, 1, 1), date(max(years) + 2, 1, 1))
    return bytes(calendar.to_ical()).decode()


def _is_moment(kept: KeptEvent) -> bool:
    return isinstance(kept.event.starts, datetime)


class Words(vText):
    r"""Text as it stands: the library would make a line break of the two characters ``\N``."""

    __slots__ = ()

    def to_ical(self) -> bytes:
        """Escape by RFC 5545 section 3.3.11; only plain line feeds are left to be breaks."""
        escaped = self.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
        return escaped.replace("\n", "\\n").encode()


def _event(kept: KeptEvent, *, rings: bool) -> Event:
    shown = kept.event
    revised_at = kept.revised_at.astimezone(UTC).replace(microsecond=0)
    event = Event()
    event.add("uid", one_line(shown.uid))
    event.add("sequence", kept.sequence)
    event.add("dtstamp", revised_at)
    event.add("last-modified", revised_at)
    event.add("dtstart", _by_clock(shown.starts, zone=shown.zone))
    event.add("dtend", _by_clock(shown.ends, zone=shown.zone))
    event.add("summary", Words(shown.summary))
    if shown.location:
        event.add("location", Words(shown.location))
    if shown.description:
        event.add("description", Words(shown.description))
    if shown.lat is not None and shown.lon is not None:
        event.add("geo", (shown.lat, shown.lon))
    if shown.url:
        event.add("url", shown.url)
    if not _is_moment(kept):
        event.add("transp", "TRANSPARENT")  # a day on which something is due blocks nobody's hours
    if kept.cancelled_at is not None:
        event.add("status", "CANCELLED")
    elif rings and shown.alarm_minutes is not None:
        event.add_component(_alarm(shown.alarm_minutes, words=shown.summary))
    return event


def _by_clock(moment: date | datetime, *, zone: str) -> date | datetime:
    return moment.astimezone(ZoneInfo(zone)) if isinstance(moment, datetime) else moment


def _alarm(minutes: int, *, words: str) -> Alarm:
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", Words(words))
    alarm.add("trigger", timedelta(minutes=-minutes))
    return alarm
