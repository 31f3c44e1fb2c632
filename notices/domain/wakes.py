"""When a program's day has begun, whether it was run, and whether the clock can be right."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

LATE = timedelta(hours=1)
"""How long after a day has begun its run may be missing before somebody must be told."""

SLACK = timedelta(minutes=5)
"""Clocks of two machines may differ by so much without one of them being wrong."""

LEASE = timedelta(minutes=30)
"""A run that began this long ago and did not end is taken for dead (a task's own time limit)."""

MOST_DEATHS = 3
"""After so many runs of one day that died, the next wake leaves it to a person."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RunSeen:
    """One run as its row tells it: the day it ran, when it began, whether it ended well."""

    as_of: date
    started_at: datetime
    is_finished: bool
    problem: str = ""

    @property
    def is_good(self) -> bool:
        """Whether it ran to its end."""
        return self.is_finished and not self.problem


@dataclass(frozen=True, slots=True, kw_only=True)
class Hours:
    """Where a program lives and when its working day begins there: the local hour, 0 to 23."""

    zone: str
    begins_at: int

    def day_begun(self, now: datetime) -> date:
        """The latest local day whose hour has come.

        Example: 05:00 in Los Angeles; at 12:30 UTC on 2026-07-01 it is 05:30 there, so
        2026-07-01; half an hour before five it is still 2026-06-30. Wall clocks are compared,
        so an hour that a clock change leaves out or repeats begins the day once.
        """
        there = now.astimezone(ZoneInfo(self.zone))
        return there.date() if there.hour >= self.begins_at else there.date() - timedelta(days=1)

    def today(self, now: datetime) -> date:
        """The calendar day there."""
        return now.astimezone(ZoneInfo(self.zone)).date()


@dataclass(frozen=True, slots=True, kw_only=True)
class Wake:
    """What a wake-up does for a program: run `day`, or nothing; `why` says it in words."""

    day: date | None
    why: str


def wake_of(*, hours: Hours, runs: list[RunSeen], now: datetime) -> Wake:
    """Say what a wake-up at `now` does; `runs` are the program's latest, newest first.

    A day that was run is run again: what arrived since is owed too, and keys keep the rest
    from happening twice. Only a run under way, or one that died three times, holds it back.
    """
    today, begun = hours.today(now), hours.day_begun(now)
    if any(run.started_at > now + SLACK for run in runs):
        return Wake(day=None, why="the machine’s clock stands before the last run")
    if begun < today:
        return Wake(day=None, why=f"the day there begins at {hours.begins_at:02d}:00")
    if any(
        not run.is_finished and not run.problem and now - run.started_at < LEASE for run in runs
    ):
        return Wake(day=None, why="a run is under way")
    if deaths_of(today, runs=runs) >= MOST_DEATHS:
        return Wake(day=None, why=f"the run died {MOST_DEATHS} times: look, then run it by hand")
    again = any(run.is_good and run.as_of == today for run in runs)
    return Wake(day=today, why="what arrived since" if again else "not run yet")


def deaths_of(day: date, *, runs: list[RunSeen]) -> int:
    """How many of the day's latest runs did not end well, counted back to one that did."""
    count = 0
    for run in runs:
        if run.as_of != day or run.is_good:
            break
        count += 1
    return count


def fault_of(
    *,
    hours: Hours,
    last_good: date | None,
    last_start: datetime | None,
    since: datetime,
    now: datetime,
) -> str:
    """What is wrong with a live program's clock, in words; empty while all is well.

    `last_good` is the latest day run to its end, `last_start` when any run last began,
    `since` when the program was made: it owes no run for a day that began before.
    """
    if last_start is not None and last_start > now + SLACK:
        return (
            f"the machine’s clock ({_clock(now, hours)}) stands before the last run "
            f"({_clock(last_start, hours)}): set the clock"
        )
    if last_good is not None and last_good > hours.today(now):
        return f"the machine’s clock stands before the last day run, {last_good}: set the clock"
    owed = hours.day_begun(now - LATE)
    if now - since < LATE or (last_good is not None and last_good >= owed):
        return ""
    if last_good is None and owed < hours.today(since):
        return ""
    last = f"the last one run is {last_good}" if last_good else "none was ever run"
    return f"the day {owed} was not run; {last}"


def _clock(moment: datetime, hours: Hours) -> str:
    return f"{moment.astimezone(ZoneInfo(hours.zone)):%Y-%m-%d %H:%M}"
