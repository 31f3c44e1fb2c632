"""Recurrences: a small part of RFC 5545, counted from the anchor, with month ends clamped.

RFC 5545 leaves out dates that do not exist; RFC 7529 (SKIP=BACKWARD) says what an office
wants: the 31st becomes the last day of the month, 29 February the 28th in common years,
and each comes back where it exists.
"""

from __future__ import annotations

import calendar
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache
from itertools import islice
from typing import Literal

from dateutil.rrule import DAILY, MONTHLY, WEEKLY, YEARLY, rrule

FREQUENCIES: dict[str, Literal[0, 1, 2, 3]] = {
    "YEARLY": YEARLY,
    "MONTHLY": MONTHLY,
    "WEEKLY": WEEKLY,
    "DAILY": DAILY,
}
PARTS = ("FREQ", "INTERVAL", "COUNT", "BYMONTH", "BYMONTHDAY", "BYSETPOS")
LAST_YEAR = 2300
DAYS_OF = {2: 29, 4: 30, 6: 30, 9: 30, 11: 30}


class CycleError(ValueError):
    """A recurrence outside what is allowed; the message names the part and the mend."""


@dataclass(frozen=True, slots=True)
class Cycle:
    """A recurrence rule that has passed the whitelist."""

    freq: str
    interval: int = 1
    count: int | None = None
    bymonth: tuple[int, ...] = ()
    bymonthday: tuple[int, ...] = ()
    bysetpos: tuple[int, ...] = ()

    @property
    def months(self) -> int | None:
        """The step in months, where the rule is a plain number of months or years."""
        if self.bymonth or self.bymonthday or self.bysetpos:
            return None
        return {"YEARLY": 12, "MONTHLY": 1}.get(self.freq, 0) * self.interval or None

    @property
    def text(self) -> str:
        """The rule as RFC 5545 writes it."""
        parts = [f"FREQ={self.freq}", f"INTERVAL={self.interval}"]
        parts += [f"COUNT={self.count}"] if self.count is not None else []
        for name, values in (
            ("BYMONTH", self.bymonth),
            ("BYMONTHDAY", self.bymonthday),
            ("BYSETPOS", self.bysetpos),
        ):
            parts += [f"{name}={','.join(map(str, values))}"] if values else []
        return ";".join(parts)

    @property
    def words(self) -> str:
        """The step in words: `6 months`, `1 year`, or the rule itself."""
        if self.bymonth or self.bymonthday or self.bysetpos:
            return self.text
        unit = {"YEARLY": "year", "MONTHLY": "month", "WEEKLY": "week", "DAILY": "day"}[self.freq]
        return f"{self.interval} {unit}{'' if self.interval == 1 else 's'}"


def parse_cycle(text: str) -> Cycle:
    """Read a recurrence rule; raise CycleError for anything outside the whitelist.

    Allowed: FREQ YEARLY, MONTHLY, WEEKLY, DAILY; INTERVAL 1–120; COUNT; BYMONTH;
    BYMONTHDAY; BYSETPOS. Example: `FREQ=MONTHLY;INTERVAL=6`.
    """
    parts = _split(text)
    freq = parts.get("FREQ", "")
    if freq not in FREQUENCIES:
        raise CycleError(f"FREQ is {freq or 'missing'}: write YEARLY, MONTHLY, WEEKLY or DAILY.")
    cycle = Cycle(
        freq=freq,
        interval=_number(parts, "INTERVAL", low=1, high=120) or 1,
        count=_number(parts, "COUNT", low=1, high=1000),
        bymonth=_numbers(parts, "BYMONTH", low=1, high=12),
        bymonthday=_numbers(parts, "BYMONTHDAY", low=-31, high=31),
        bysetpos=_numbers(parts, "BYSETPOS", low=-31, high=31),
    )
    _refuse_what_never_comes(cycle)
    return cycle


def _refuse_what_never_comes(cycle: Cycle) -> None:
    """Refuse parts that contradict each other or name no day of any year."""
    has_parts = bool(cycle.bymonth or cycle.bymonthday or cycle.bysetpos)
    if has_parts and cycle.freq not in ("YEARLY", "MONTHLY"):
        raise CycleError(f"FREQ={cycle.freq} takes no BY parts: write YEARLY or MONTHLY.")
    if cycle.bysetpos and not cycle.bymonthday:
        raise CycleError("BYSETPOS chooses among days: give BYMONTHDAY too, or leave it out.")
    if cycle.bymonthday and cycle.freq == "YEARLY" and not cycle.bymonth:
        raise CycleError("BYMONTHDAY alone comes every month: add BYMONTH, or write MONTHLY.")
    if _is_clamped(cycle) and cycle.interval > 1 and len(cycle.bymonth) > 1:
        raise CycleError(f"BYMONTHDAY={cycle.bymonthday[0]} in several months: keep INTERVAL=1.")
    longest = max((DAYS_OF.get(month, 31) for month in cycle.bymonth), default=31)
    if cycle.bymonthday and not _is_clamped(cycle) and min(map(abs, cycle.bymonthday)) > longest:
        raise CycleError(f"BYMONTHDAY={cycle.bymonthday[-1]} never comes in those months.")


def _is_clamped(cycle: Cycle) -> bool:
    """Return whether the rule names one day that some months lack: it is clamped to their end."""
    days = cycle.bymonthday
    return len(days) == 1 and days[0] > 28 and not cycle.bysetpos


def _split(text: str) -> dict[str, str]:
    parts: dict[str, str] = {}
    for piece in text.strip().removeprefix("RRULE:").split(";"):
        name, equals, value = piece.partition("=")
        if name not in PARTS or not equals:
            raise CycleError(f"{piece!r} is not allowed here: use only {', '.join(PARTS)}.")
        if name in parts:
            raise CycleError(f"{name} stands twice: keep one.")
        parts[name] = value
    return parts


def _number(parts: dict[str, str], name: str, *, low: int, high: int) -> int | None:
    if name not in parts:
        return None
    return _in_range(parts[name], name=name, low=low, high=high)


def _numbers(parts: dict[str, str], name: str, *, low: int, high: int) -> tuple[int, ...]:
    if name not in parts:
        return ()
    found = {_in_range(p, name=name, low=low, high=high) for p in parts[name].split(",")}
    return tuple(sorted(found))


def _in_range(text: str, *, name: str, low: int, high: int) -> int:
    digits = text.removeprefix("-")
    if not (digits.isascii() and digits.isdigit() and len(digits) <= 4):
        raise CycleError(f"{name}={text!r} is no whole number.")
    value = int(text)
    if value == 0 or not low <= value <= high:
        raise CycleError(f"{name}={value} is out of range: {low} to {high}, and not 0.")
    return value


def add_months(day: date, months: int) -> date:
    """Return the day some months on, clamped to the month's end.

    Example: 31 August + 6 months = 28 February (29 in a leap year).
    """
    month = day.month - 1 + months
    year = day.year + month // 12
    month = month % 12 + 1
    return date(year, month, min(day.day, calendar.monthrange(year, month)[1]))


def occurrence(*, cycle: Cycle, anchor: date, number: int) -> date | None:
    """Return occurrence `number` of a rule (0 is the anchor itself where the rule holds it).

    None when the rule has ended. Plain months, weeks and days are counted directly;
    every other rule is read from dateutil, and the two agree.
    """
    if cycle.count is not None and number >= cycle.count:
        return None
    step = _step_of(cycle)
    if step is None:
        found = _counted(cycle, anchor)
        return found[number] if number < len(found) else None
    return _stepped(cycle=cycle, anchor=anchor, number=number)


def _stepped(*, cycle: Cycle, anchor: date, number: int) -> date:
    months = cycle.months
    if months is not None:
        return add_months(anchor, months * number)
    days = (7 if cycle.freq == "WEEKLY" else 1) * cycle.interval
    return anchor + timedelta(days=days * number)


def _step_of(cycle: Cycle) -> int | None:
    """Return the length of a plain step in days, roughly; None for a rule with parts."""
    if cycle.bymonth or cycle.bymonthday or cycle.bysetpos:
        return None
    return {"YEARLY": 365, "MONTHLY": 30, "WEEKLY": 7, "DAILY": 1}[cycle.freq] * cycle.interval


@lru_cache(maxsize=65536)
def first_after(cycle: Cycle, anchor: date, day: date) -> date | None:
    """Return the first occurrence after a day, never the anchor itself; None when it has ended.

    Each rule, anchor and day is worked out once. Example: yearly from 2024-02-29 after
    2027-03-01 is 2028-02-29.
    """
    step = _step_of(cycle)
    if step is None:
        found = _counted(cycle, anchor)
        place = bisect_right(found, max(day, anchor))
        return found[place] if place < len(found) else None
    number = max(1, (day - anchor).days // (step + step // 30 + 1))
    while (when := occurrence(cycle=cycle, anchor=anchor, number=number)) is not None:
        if when > day:
            return when
        number += 1
    return None


@lru_cache(maxsize=4096)
def _counted(cycle: Cycle, anchor: date) -> tuple[date, ...]:
    """Return the occurrences of a rule with parts from its anchor on, up to the last year kept."""
    end = datetime(LAST_YEAR, 1, 1)  # noqa: DTZ001  (dates, which have no zone)
    return tuple(islice(_walk(cycle=cycle, anchor=anchor, end=end), 4000))


def _walk(*, cycle: Cycle, anchor: date, end: datetime) -> Iterator[date]:
    for moment in rrule_of(cycle=cycle, anchor=anchor):
        if moment >= end:
            return
        yield moment.date()


def rrule_of(*, cycle: Cycle, anchor: date) -> rrule:
    """Return dateutil's rule with the month's end clamped as RFC 7529's SKIP=BACKWARD asks.

    For a plain step of months from a day after the 28th:
    `FREQ=MONTHLY;INTERVAL=n;BYMONTHDAY=28..d;BYSETPOS=-1`, a year being 12 months.
    """
    freq, interval, days = cycle.freq, cycle.interval, cycle.bymonthday
    setpos = cycle.bysetpos
    if cycle.months is not None and anchor.day > 28:
        freq, interval, days = "MONTHLY", cycle.months, tuple(range(28, anchor.day + 1))
        setpos = (-1,)
    elif _is_clamped(cycle):
        days, setpos = tuple(range(28, days[0] + 1)), (-1,)
        freq = "MONTHLY" if len(cycle.bymonth) > 1 else freq
    return rrule(
        FREQUENCIES[freq],
        dtstart=datetime(anchor.year, anchor.month, anchor.day),  # noqa: DTZ001
        interval=interval,
        count=cycle.count,
        bymonth=cycle.bymonth or None,
        bymonthday=days or None,
        bysetpos=setpos or None,
        until=None if cycle.count else datetime(LAST_YEAR, 1, 1),  # noqa: DTZ001
        cache=False,
    )
