"""Weeks or months with the tests each has room for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

ONE_DAY = timedelta(days=1)
WORKDAYS = 5


class Per(StrEnum):
    """For how long a capacity holds."""

    WEEK = "week"
    MONTH = "month"


@dataclass(frozen=True, slots=True, kw_only=True)
class Capacity:
    """Tests that can be done in a week or a month."""

    number: int
    per: Per

    def __str__(self) -> str:
        return f"{self.number} a {self.per}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Period:
    """A week or month, or what of it lies in the stretch, with the tests it has room for.

    `share`: what part of the working days of the whole week or month it holds.
    """

    first: date
    last: date
    room: int
    share: float = 1.0

    @property
    def closes_on(self) -> date:
        """Its last working day; the last day where it has none."""
        day = self.last
        while day.weekday() >= WORKDAYS and day > self.first:
            day -= ONE_DAY
        return day if day.weekday() < WORKDAYS else self.last


def periods_of(*, capacity: Capacity, first: date, last: date) -> tuple[Period, ...]:
    """Cut a stretch of days into weeks (Monday to Sunday) or months.

    A part of a week or month has room for its share of working days, rounded down.
    Example: 25 a week from a Wednesday on: 15 in the first, 25 in those that follow.
    """
    found: list[Period] = []
    day = first
    while day <= last:
        begins, ends = _whole(day, per=capacity.per)
        cut = min(ends, last)
        share, whole = _workdays(day, cut), _workdays(begins, ends)
        found.append(
            Period(first=day, last=cut, room=capacity.number * share // whole, share=share / whole)
        )
        day = cut + ONE_DAY
    return tuple(found)


def _whole(day: date, *, per: Per) -> tuple[date, date]:
    if per is Per.WEEK:
        monday = day - timedelta(days=day.weekday())
        return monday, monday + timedelta(days=6)
    first = day.replace(day=1)
    return first, (first + timedelta(days=32)).replace(day=1) - ONE_DAY


def _workdays(first: date, last: date) -> int:
    days = (last - first).days + 1
    return sum((first + timedelta(days=n)).weekday() < WORKDAYS for n in range(days))
