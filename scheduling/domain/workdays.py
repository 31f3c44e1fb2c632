"""Days of the calendar and days of work; which days are holidays is handed down."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, timedelta

ONE_DAY = timedelta(days=1)
SATURDAY = 5

Holidays = Collection[date]
"""The days on which the office is closed besides Saturdays and Sundays."""


def is_workday(day: date, *, holidays: Holidays = ()) -> bool:
    """Return whether a day is a Monday to Friday and no holiday."""
    return day.weekday() < SATURDAY and day not in holidays


def days_after(day: date, days: int, *, is_working: bool, holidays: Holidays = ()) -> date:
    """Return the day so many days on (or back); the day itself is not counted.

    Example: 10 working days after Tuesday 2026-11-24, Thanksgiving Thursday 26 November a
    holiday: 25, 27, 30 November, 1 to 4, 7, 8, 9 December = 2026-12-09.
    """
    if not is_working:
        return day + timedelta(days=days)
    step = ONE_DAY if days >= 0 else -ONE_DAY
    left, found = abs(days), day
    while left:
        found += step
        left -= is_workday(found, holidays=holidays)
    return found


def next_workday(day: date, *, holidays: Holidays = ()) -> date:
    """Return the day itself where it is worked on, else the next that is."""
    while not is_workday(day, holidays=holidays):
        day += ONE_DAY
    return day


def in_days(days: int, *, is_working: bool) -> str:
    """Return a number of days in words: `1 day`, `10 working days`."""
    unit = "working day" if is_working else "day"
    return f"{days} {unit}{'' if abs(days) == 1 else 's'}"
