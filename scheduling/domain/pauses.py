"""Holds and stopped clocks: days on which no rung leaves and no gap of a ladder is counted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from scheduling.domain.workdays import ONE_DAY, Holidays, days_after, is_workday


@dataclass(frozen=True, slots=True, order=True)
class Pause:
    """From `since` to the day before `ends`; `ends` None: until a person restarts it."""

    since: date
    ends: date | None = None

    def holds(self, day: date) -> bool:
        """Return whether the day lies in the pause."""
        return self.since <= day and (self.ends is None or day < self.ends)


def after_pauses(day: date, *, pauses: Sequence[Pause]) -> date | None:
    """Return the day, or the first after the pauses that hold it; None: no end is known."""
    for pause in sorted(pauses, key=lambda pause: pause.since):
        if pause.holds(day):
            if pause.ends is None:
                return None
            day = pause.ends
    return day


def counted_from(
    day: date,
    days: int,
    *,
    is_working: bool,
    holidays: Holidays = (),
    pauses: Sequence[Pause] = (),
) -> date | None:
    """Return the day so many days on, the days of pauses not counted; None: no end is known.

    Example: left 1 March, gap 14, stopped from 5 March and restarted on 10 March: five days
    do not count, so 20 March instead of 15 March.
    """
    plain = days_after(day, days, is_working=is_working, holidays=holidays)
    if not any(pause.since <= plain and (pause.ends or date.max) > day for pause in pauses):
        return plain
    left, found = days, day
    while left > 0:
        found += ONE_DAY
        if any(pause.ends is None and pause.since <= found for pause in pauses):
            return None
        is_counted = not is_working or is_workday(found, holidays=holidays)
        left -= is_counted and not any(pause.holds(found) for pause in pauses)
    return found
