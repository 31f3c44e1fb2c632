"""The program's clock: the row that writers of a day lock, and which days it admits."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.db.models import Min

from registry.console import Refused
from registry.models import LoadBatch, Program
from registry.moments import recording_moment, today_in
from scheduling.models import DayRun, ProgramClock


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """A day on which letters are written or leave: the day, the moment to record, and its run.

    `run` is None where a person acts.
    """

    program: Program
    on: date
    at: datetime
    run: DayRun | None = None


def locked_clock(program: Program) -> ProgramClock:
    """Return the program's clock, held until this transaction ends."""
    ProgramClock.objects.get_or_create(program=program)
    return ProgramClock.objects.select_for_update().get(program=program)


def admit(program: Program, *, day: date, now: datetime) -> Day:
    """Move the clock to the day and open a run; Refused for a day that must not be run."""
    with transaction.atomic():
        clock = locked_clock(program)
        _refuse_wrong_day(program, day=day, clock=clock, today=today_in(zone=program.zone, now=now))
        clock.last_run_on = day
        clock.save(update_fields=["last_run_on"])
        run = DayRun.objects.create(program=program, as_of=day, started_at=now)
    return Day(
        program=program, on=day, at=recording_moment(program=program, as_of=day, now=now), run=run
    )


def _refuse_wrong_day(program: Program, *, day: date, clock: ProgramClock, today: date) -> None:
    if not program.is_trial and day > today:
        raise Refused(f"{day} has not come yet for {program.code}; there today is {today}.")
    refuse_past_day(program, day=day, last_run_on=clock.last_run_on)


def refuse_past_day(program: Program, *, day: date, last_run_on: date | None) -> None:
    """Raise Refused for a day before the program's last run, or before its first load."""
    if last_run_on is not None and day < last_run_on:
        raise Refused(
            f"The last run of {program.code} was for {last_run_on}; "
            f"{day} lies before it. Run that day or a later one."
        )
    first = LoadBatch.objects.filter(program=program).aggregate(day=Min("as_of"))["day"]
    if first is not None and day < first:
        raise Refused(
            f"The registry of {program.code} was first loaded for {first}; {day} lies before it."
        )
