"""What a feed tells of a change: RFC 5545 sections 3.8.4.7 (UID), 3.8.7.4 (SEQUENCE), 3.8.1.11."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from reports.domain.calendar_events import (
    CalendarEvent,
    KeptEvent,
    read_back,
    settled,
    written_out,
)

AT = datetime(2026, 3, 1, 9, tzinfo=UTC)
VISIT = CalendarEvent(
    uid="a",
    starts=datetime(2026, 3, 3, 15, tzinfo=UTC),
    ends=datetime(2026, 3, 3, 16, tzinfo=UTC),
    summary="Mill: 1 test",
    zone="America/Denver",
)
DAY = CalendarEvent(uid="d", starts=date(2026, 3, 3), ends=date(2026, 3, 4), summary="Due")


def shown(
    events: list[CalendarEvent], kept: dict[str, KeptEvent], at: datetime
) -> dict[str, KeptEvent]:
    """One reading of a feed, kept as a feed keeps it."""
    change = settled(events, kept=kept, at=at)
    after = {uid: one for uid, one in kept.items() if uid not in change.forgotten}
    after |= {one.event.uid: one for one in change.written}
    assert {one.event.uid: one for one in change.shown} == after
    return after


def test_an_event_read_twice_is_the_same_event() -> None:
    first = shown([VISIT, DAY], {}, AT)
    again = settled([VISIT, DAY], kept=first, at=AT + timedelta(hours=1))
    assert again.written == ()
    assert [one.revised_at for one in again.shown] == [AT, AT]


def test_any_difference_raises_the_sequence_by_one_and_stamps_it() -> None:
    first = shown([VISIT], {}, AT)
    later = AT + timedelta(hours=1)
    moved = replace(VISIT, starts=VISIT.starts + timedelta(minutes=5))
    second = shown([moved], first, later)
    assert (second["a"].sequence, second["a"].revised_at) == (1, later)


def test_a_row_that_was_revised_before_it_was_ever_shown_begins_at_its_revision() -> None:
    assert shown([replace(VISIT, least_sequence=4)], {}, AT)["a"].sequence == 4


def test_a_revision_of_the_row_alone_is_no_change_of_what_is_shown() -> None:
    first = shown([VISIT], {}, AT)
    assert shown([replace(VISIT, least_sequence=7)], first, AT + timedelta(1)) == first


def test_what_is_called_off_is_shown_as_cancelled_for_sixty_days() -> None:
    kept = shown([VISIT], {}, AT)
    kept = shown([], kept, AT + timedelta(days=1))
    assert kept["a"].cancelled_at == AT + timedelta(days=1)
    assert kept["a"].sequence == 1
    kept = shown([], kept, AT + timedelta(days=60))
    assert kept["a"].sequence == 1
    assert shown([], kept, AT + timedelta(days=61)) == {}


def test_what_was_over_anyway_is_forgotten_without_a_word() -> None:
    kept = shown([VISIT], {}, AT)
    assert shown([], kept, datetime(2026, 3, 4, 0, 1, tzinfo=UTC)) == {}


def test_what_comes_back_is_newer_than_its_cancellation() -> None:
    kept = shown([], shown([VISIT], {}, AT), AT + timedelta(1))
    kept = shown([VISIT], kept, AT + timedelta(2))
    assert kept["a"].sequence == 2
    assert kept["a"].cancelled_at is None


@pytest.mark.parametrize("event", [VISIT, DAY, replace(VISIT, lat=1.5, lon=2.25, alarm_minutes=30)])
def test_what_is_written_out_reads_back_the_same(event: CalendarEvent) -> None:
    assert read_back(written_out(event)) == event
