"""A calendar file becomes hours: repeats followed, what is free or called off left out.

icalendar reads, recurring-ical-events follows the rules of RFC 5545; here is decided what counts.
"""

from __future__ import annotations

import warnings
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import recurring_ical_events
from icalendar import Calendar

LARGEST_BYTES = 2_000_000
MOST_SPANS = 5_000
NO_CALENDAR = "This is no calendar file. Export the calendar as iCalendar (.ics) and try again."

Span = tuple[datetime, datetime]


class UnreadableCalendarError(Exception):
    """No hours came of a file; the message is a sentence that says why and what to do."""


@dataclass(frozen=True, slots=True)
class Busy:
    """Aware stretches of time that do not overlap, in order; and what could not be read."""

    spans: tuple[Span, ...]
    notes: tuple[str, ...]


def read_busy(content: bytes, *, zone: ZoneInfo, first: date, last: date) -> Busy:
    """The busy hours of a calendar between two days, both included.

    Times without a zone are of `zone`; an entry of whole days takes them from midnight to midnight.
    Entries that are transparent ("show me as free") or cancelled do not count. Raises
    UnreadableCalendarError for what is no calendar, or is too long.
    """
    if len(content) > LARGEST_BYTES:
        raise UnreadableCalendarError(
            "The file is larger than 2 MB. Export only the coming year of the calendar."
        )
    try:
        with warnings.catch_warnings(action="ignore"):  # a guessed zone is better than none
            calendars = Calendar.from_ical(content, multiple=True)
    except (ValueError, KeyError, IndexError, AttributeError) as fault:
        raise UnreadableCalendarError(NO_CALENDAR) from fault
    if not calendars:
        raise UnreadableCalendarError(NO_CALENDAR)
    since = datetime.combine(first, time(0), tzinfo=zone)
    until = datetime.combine(last + timedelta(days=1), time(0), tzinfo=zone)
    within = (since, until)
    found: list[Span] = []
    notes: list[str] = []
    for calendar in calendars:
        found += _events(calendar, within=within, notes=notes)
        found += _named_busy(calendar)
    spans = tuple(_joined(_clipped(found, zone=zone, within=within)))
    if len(spans) > MOST_SPANS:
        raise UnreadableCalendarError(
            f"The calendar has more than {MOST_SPANS:,} busy stretches in that time: "
            "it cannot be meant."
        )
    return Busy(spans, tuple(notes))


_ENDLESS = frozenset({"SECONDLY", "MINUTELY"})
_BROKEN = (ValueError, KeyError, TypeError, AttributeError, OverflowError, IndexError)
"""What the two libraries raise on entries that break RFC 5545: one such entry costs only itself."""


def _events(calendar: Any, *, within: tuple[datetime, datetime], notes: list[str]) -> Iterator[Any]:
    """Starts and ends of what happens, each entry with its repeats and exceptions by itself."""
    entries: dict[str, list[Any]] = defaultdict(list)
    for number, event in enumerate(calendar.walk("VEVENT")):
        entries[str(event.get("UID", f"without UID {number}"))].append(event)
    for events in entries.values():
        try:
            yield from _occurrences(events, calendar=calendar, within=within)
        except _BROKEN as fault:
            notes.append(f"“{_name(events[0])}” could not be read ({fault}); left out.")


def _occurrences(
    events: list[Any], *, calendar: Any, within: tuple[datetime, datetime]
) -> list[Any]:
    for event in events:
        _refuse_endless(event)
    alone = Calendar()
    if "X-WR-TIMEZONE" in calendar:
        alone["X-WR-TIMEZONE"] = calendar["X-WR-TIMEZONE"]
    alone.subcomponents = events
    found = []
    for event in recurring_ical_events.of(alone).between(*within):
        if _counts(event):
            starts, ends = event.start, event.end
            # An entry without an end takes its day (RFC 5545, 3.6.1), or no time at all.
            is_day = not isinstance(starts, datetime) and starts == ends
            found.append((starts, ends + timedelta(days=1) if is_day else ends))
    return found


def _refuse_endless(event: Any) -> None:
    """Nobody is busy every minute by rule: following such a rule would take hours."""
    if "DTSTART" not in event:
        raise ValueError("it has no beginning")
    rules = event.get("RRULE") or []
    for rule in rules if isinstance(rules, list) else [rules]:
        if _ENDLESS & {str(word).upper() for word in rule.get("FREQ", [])}:
            raise ValueError("it repeats by the minute or second")


def _counts(event: Any) -> bool:
    """RFC 5545, 3.8.2.7 and 3.8.1.11: transparent and cancelled entries take no time."""
    free = str(event.get("TRANSP", "OPAQUE")).upper() == "TRANSPARENT"
    return not free and str(event.get("STATUS", "")).upper() != "CANCELLED"


def _named_busy(calendar: Any) -> Iterator[Any]:
    """The periods of VFREEBUSY that are not marked FREE (RFC 5545, 3.2.9)."""
    for component in calendar.walk("VFREEBUSY"):
        given = component.get("FREEBUSY") or []
        for periods in given if isinstance(given, list) else [given]:
            if str(getattr(periods, "params", {}).get("FBTYPE", "BUSY")).upper() == "FREE":
                continue
            for one in _periods(periods):
                yield one.start, one.end


def _periods(value: Any) -> list[Any]:
    inside = getattr(value, "dts", None)
    return [value] if inside is None else [one.dt if hasattr(one, "dt") else one for one in inside]


def _clipped(
    found: Iterable[Any], *, zone: ZoneInfo, within: tuple[datetime, datetime]
) -> Iterator[Span]:
    for starts, ends in found:
        begins, over = _moment(starts, zone=zone), _moment(ends, zone=zone)
        begins, over = max(begins, within[0]), min(over, within[1])
        if over > begins:
            yield begins, over


def _moment(value: Any, *, zone: ZoneInfo) -> datetime:
    if not isinstance(value, datetime):
        return datetime.combine(value, time(0), tzinfo=zone)
    return value.replace(tzinfo=zone) if value.tzinfo is None else value


def _joined(spans: Iterable[Span]) -> Iterator[Span]:
    """Stretches that touch or overlap become one."""
    last: Span | None = None
    for begins, over in sorted(spans):
        if last is not None and begins <= last[1]:
            last = (last[0], max(last[1], over))
            continue
        if last is not None:
            yield last
        last = (begins, over)
    if last is not None:
        yield last


def _name(event: Any) -> str:
    return str(event.get("SUMMARY", "") or "An entry").strip()[:60] or "An entry"
