"""Minutes on one axis agree with the zone's clock, both clock changes included."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from scheduling.domain.rounds.moments import MinuteAxis

PACIFIC = ZoneInfo("America/Los_Angeles")


@pytest.mark.parametrize(
    ("first", "hours_of_sunday"),
    [
        (date(2026, 3, 7), 23),  # the clocks go forward on Sunday 8 March 2026
        (date(2026, 10, 31), 25),  # and back on Sunday 1 November 2026
        (date(2026, 11, 28), 24),
    ],
)
def test_a_sunday_has_the_hours_it_has(first: date, hours_of_sunday: int) -> None:
    axis = MinuteAxis(first, PACIFIC)
    sunday, monday = first + timedelta(days=1), first + timedelta(days=2)
    assert axis.minute_of(sunday, time(0)) == 1440
    assert axis.minute_of(monday, time(0)) == 1440 + hours_of_sunday * 60
    assert axis.end_of(sunday) == axis.minute_of(monday, time(0))


@pytest.mark.parametrize("first", [date(2026, 3, 7), date(2026, 10, 31)])
def test_eight_oclock_reads_as_eight_oclock_before_and_after_a_change(first: date) -> None:
    axis = MinuteAxis(first, PACIFIC)
    for ahead in range(4):
        day = first + timedelta(days=ahead)
        moment = axis.moment_of(axis.minute_of(day, time(8)))
        assert moment == datetime.combine(day, time(8), tzinfo=PACIFIC)
        assert (moment.hour, moment.minute) == (8, 0)


def test_the_offset_of_a_moment_is_that_of_its_own_day() -> None:
    axis = MinuteAxis(date(2026, 3, 7), PACIFIC)
    spoken = [axis.moment_of(axis.minute_of(date(2026, 3, d), time(8))).isoformat() for d in (7, 9)]
    assert spoken == ["2026-03-07T08:00:00-08:00", "2026-03-09T08:00:00-07:00"]


def test_a_time_that_the_clock_skips_counts_from_before_the_change() -> None:
    axis = MinuteAxis(date(2026, 3, 8), PACIFIC)
    moment = axis.moment_of(axis.minute_of(date(2026, 3, 8), time(2, 30)))
    assert moment.isoformat() == "2026-03-08T03:30:00-07:00"


def test_a_time_shown_twice_is_the_first() -> None:
    axis = MinuteAxis(date(2026, 11, 1), PACIFIC)
    moment = axis.moment_of(axis.minute_of(date(2026, 11, 1), time(1, 30)))
    assert moment.isoformat() == "2026-11-01T01:30:00-07:00"


def test_a_drive_over_the_change_takes_its_real_minutes() -> None:
    axis = MinuteAxis(date(2026, 3, 8), PACIFIC)
    leaves = axis.minute_of(date(2026, 3, 8), time(1, 45))
    assert axis.moment_of(leaves + 30).isoformat() == "2026-03-08T03:15:00-07:00"
