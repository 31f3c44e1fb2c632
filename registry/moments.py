"""The moment something is recorded: the clock's, but a trial lives on the day it is told."""

from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from registry.models import Program

NOON = time(12)


def recording_moment(*, program: Program, as_of: date, now: datetime) -> datetime:
    """Return `now` for a live program, noon of `as_of` in the program's zone for a trial."""
    if not program.is_trial:
        return now
    return datetime.combine(as_of, NOON, tzinfo=ZoneInfo(program.zone))


def end_of_day(program: Program, day: date | None) -> datetime | None:
    """Return the last moment of a day in the program's zone: what was known then, or None."""
    if day is None:
        return None
    return datetime.combine(day, time.max, tzinfo=ZoneInfo(program.zone))


def today_in(*, zone: str, now: datetime) -> date:
    """Return the calendar day that `now` falls on in a zone."""
    return now.astimezone(ZoneInfo(zone)).date()
