"""A trial lives on: its day moved by a person, each day on which something happens run."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from notices.actions.day import DayTally, run_day
from notices.queries.lived import next_day_of
from registry.console import Refused
from registry.models import Program
from scheduling.domain.workdays import ONE_DAY

MOST_RUNS = 40
"""Days run for one request; the rest is another request's."""

MOST_DAYS = timedelta(days=750)
"""How far on one request may go: two years, which the longest ladder does not take."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lived:
    """Where a trial stands after living on, and what each run did."""

    day: date
    runs: tuple[DayTally, ...]
    is_there: bool
    """Whether it came to the day asked for, or to a letter."""


def live_to(program: Program, *, today: date, to: date, now: datetime) -> Lived:
    """Run every day up to one on which something is owed or opens, and that day itself.

    Refused for a program that is no trial, and for a day that is not ahead.
    """
    _refuse(program, today=today, to=to)
    runs: list[DayTally] = []
    for day in _days(program, today=today, to=to):
        runs.append(run_day(program=program, as_of=day, now=now))
        if len(runs) >= MOST_RUNS:
            break
    return Lived(day=runs[-1].as_of, runs=tuple(runs), is_there=runs[-1].as_of == to)


def live_to_next_letter(program: Program, *, today: date, now: datetime) -> Lived:
    """Run until a letter is composed; where none comes in two years, up to the last day looked at.

    Refused for a program that is no trial.
    """
    end = today + MOST_DAYS
    _refuse(program, today=today, to=end)
    runs: list[DayTally] = []
    for day in _days(program, today=today, to=end):
        if day == end:
            break
        runs.append(run_day(program=program, as_of=day, now=now))
        if runs[-1].letters or len(runs) >= MOST_RUNS:
            break
    there = bool(runs and runs[-1].letters)
    return Lived(day=runs[-1].as_of if runs else today, runs=tuple(runs), is_there=there)


def _days(program: Program, *, today: date, to: date) -> Iterator[date]:
    """Yield the days on which something happens, then the last; each asked for when it is due."""
    day = today
    while (following := next_day_of(program, after=day)) is not None and following < to:
        day = max(following, day + ONE_DAY)
        yield day
    yield to


def _refuse(program: Program, *, today: date, to: date) -> None:
    if not program.is_trial:
        raise Refused("Only a trial lives on any day. A live program’s day is run when it comes.")
    if not today < to <= today + MOST_DAYS:
        raise Refused(f"Choose a day after {today}, and at most two years on.")
