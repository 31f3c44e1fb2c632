"""One axis of real elapsed minutes, so that clock changes cannot stretch or shrink a drive."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import cached_property
from zoneinfo import ZoneInfo


@dataclass(frozen=True)
class MinuteAxis:
    """Minutes since midnight of ``first_day`` in ``zone``.

    2026-03-08 in Los Angeles has 23 hours: 08:00 that day is minute 420 from its own
    midnight, and 08:00 of the day after is minute 1860 (23 h + 8 h).
    """

    first_day: date
    zone: ZoneInfo

    @cached_property
    def _origin(self) -> datetime:
        return self._real(self.first_day, time(0))

    def minute_of(self, day: date, wall: time) -> int:
        """The minute at which the wall clock of the zone shows this.

        A time that the clock skips counts from before the change (02:30 becomes 03:30); one
        that it shows twice is the first.
        """
        return int((self._real(day, wall) - self._origin) // timedelta(minutes=1))

    def end_of(self, day: date) -> int:
        """The minute at which the day is over."""
        return self.minute_of(day + timedelta(days=1), time(0))

    def minute_at(self, moment: datetime) -> int:
        """The minute of an aware moment, seconds cut off."""
        return int((moment.astimezone(UTC) - self._origin) // timedelta(minutes=1))

    def moment_of(self, minute: int) -> datetime:
        """The aware local moment of a minute."""
        return (self._origin + timedelta(minutes=minute)).astimezone(self.zone)

    def _real(self, day: date, wall: time) -> datetime:
        return datetime.combine(day, wall, tzinfo=self.zone).astimezone(UTC)
