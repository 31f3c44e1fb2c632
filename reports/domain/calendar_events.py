"""What a calendar shows: events as plain values, and what a change of them does to a feed.

A reader of a calendar takes an event for the same by its UID, and for newer by its SEQUENCE
(RFC 5545 sections 3.8.4.7 and 3.8.7.4). One that is called off is shown as cancelled for sixty
days, so that every reader that asks now and then takes it away; then it is forgotten.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, replace
from datetime import date, datetime, timedelta
from hashlib import sha256
from typing import Any

CANCELLED_FOR = timedelta(days=60)


@dataclass(frozen=True, slots=True, kw_only=True)
class CalendarEvent:
    """One event. Both ends are aware moments, or both days; the end is exclusive.

    Moments are shown by the clock of ``zone``. ``least_sequence`` is the revision of the row
    shown. ``alarm_minutes`` before the start a reader may ring; None: it never does.
    """

    uid: str
    starts: date | datetime
    ends: date | datetime
    summary: str
    zone: str = "UTC"
    location: str = ""
    description: str = ""
    lat: float | None = None
    lon: float | None = None
    url: str = ""
    alarm_minutes: int | None = None
    least_sequence: int = 0

    @property
    def last_day(self) -> date:
        """The day it ends on, by its own clock."""
        return self.ends.date() if isinstance(self.ends, datetime) else self.ends


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptEvent:
    """An event as a feed last showed it: since when, at which SEQUENCE, cancelled or not."""

    event: CalendarEvent
    sequence: int
    revised_at: datetime
    cancelled_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedChange:
    """What a reading of a feed changes of what it kept: rows to write, names to forget."""

    shown: tuple[KeptEvent, ...]
    written: tuple[KeptEvent, ...]
    forgotten: tuple[str, ...]


def digest_of(event: CalendarEvent) -> str:
    """Return a name for all that the event shows; the row's revision is no part of it."""
    shown = {key: _plain(value) for key, value in asdict(event).items() if key != "least_sequence"}
    return sha256(json.dumps(shown, sort_keys=True).encode()).hexdigest()


def settled(
    events: Iterable[CalendarEvent],
    *,
    kept: Mapping[str, KeptEvent],
    at: datetime,
) -> FeedChange:
    """Return what the feed shows now, and what of it is new.

    An event that shows anything new rises by one in SEQUENCE, and at least to the revision of
    its row. One that is gone is cancelled, unless it was over anyway: shown 1 March for 3 March
    and gone on 2 March, it is cancelled; gone on 4 March, it is forgotten.
    """
    shown, written = [], []
    left = dict(kept)
    for event in events:
        before = left.pop(event.uid, None)
        now = _now(event, before=before, at=at)
        shown.append(now)
        if now is not before:
            written.append(now)
    forgotten = []
    for uid, before in left.items():
        gone = _gone(before, at=at)
        if gone is None:
            forgotten.append(uid)
            continue
        shown.append(gone)
        if gone is not before:
            written.append(gone)
    return FeedChange(shown=tuple(shown), written=tuple(written), forgotten=tuple(forgotten))


def _now(event: CalendarEvent, *, before: KeptEvent | None, at: datetime) -> KeptEvent:
    if before is None:
        return KeptEvent(event=event, sequence=event.least_sequence, revised_at=at)
    if before.cancelled_at is None and digest_of(before.event) == digest_of(event):
        return before
    sequence = max(before.sequence + 1, event.least_sequence)
    return KeptEvent(event=event, sequence=sequence, revised_at=at)


def _gone(before: KeptEvent, *, at: datetime) -> KeptEvent | None:
    if before.cancelled_at is not None:
        return before if at - before.cancelled_at < CANCELLED_FOR else None
    if before.event.last_day < at.date():
        return None
    return replace(before, sequence=before.sequence + 1, revised_at=at, cancelled_at=at)


def written_out(event: CalendarEvent) -> dict[str, Any]:
    """Return the event as plain data, as a feed keeps it."""
    return {key: _plain(value) for key, value in asdict(event).items()}


def read_back(kept: Mapping[str, Any]) -> CalendarEvent:
    """Return the event that :func:`written_out` wrote."""
    return CalendarEvent(
        **{**kept, "starts": _moment(kept["starts"]), "ends": _moment(kept["ends"])}
    )


def _plain(value: object) -> object:
    return value.isoformat() if isinstance(value, date) else value


def _moment(text: str) -> date | datetime:
    return datetime.fromisoformat(text) if "T" in text else date.fromisoformat(text)
