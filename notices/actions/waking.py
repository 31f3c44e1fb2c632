"""A wake-up of the office's clock: run the day of every live program for which it is time.

The queue only wakes. What makes a second wake-up, two clusters or a kill harmless is what
`run_day` rests on: keys, claims and stored dates.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db import transaction
from django_q.models import Schedule

from notices.actions.clocks import locked_clock
from notices.actions.day import run_day
from notices.domain.wakes import SLACK, Wake
from notices.queries.office_clock import ClockFace, clock_face, clock_faces
from registry.console import Refused
from registry.models import Program
from scheduling.models import DayRun

logger = logging.getLogger(__name__)

EVERY = timedelta(minutes=10)
NAME = "the office's clock"
TASK = "notices.tasks.wake"
LONGEST_PROBLEM = 500

Clock = Callable[[], datetime]
"""Handed down from the edge: tells the moment, once per program, for a wake-up may be long."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Woken:
    """What a wake-up did for one program: ran a day, or not, and why; `problem` if it failed."""

    program: str
    day: date | None
    why: str
    problem: str = ""


def wake_programs(*, clock: Clock) -> list[Woken]:
    """Run the day where it is time; one program's failure is kept, told, and stops no other."""
    return [_wake(face.program, clock=clock) for face in clock_faces(now=clock())]


@transaction.atomic
def ensure_wake_ups(*, now: datetime) -> Schedule:
    """Keep exactly one schedule that wakes the clock every ten minutes; safe to call at any start.

    A next wake-up that lies further ahead than one period (the clock was set back) is now.
    """
    rows = list(Schedule.objects.select_for_update().filter(func=TASK).order_by("pk"))
    if not rows:
        return Schedule.objects.create(
            name=NAME,
            func=TASK,
            schedule_type=Schedule.MINUTES,
            minutes=_MINUTES,
            repeats=-1,
            next_run=now,
        )
    kept = rows[0]
    Schedule.objects.filter(func=TASK).exclude(pk=kept.pk).delete()
    is_far = kept.next_run is None or kept.next_run > now + EVERY + SLACK
    wanted = {"schedule_type": Schedule.MINUTES, "minutes": _MINUTES, "repeats": -1}
    wanted |= {"next_run": now} if is_far else {}
    Schedule.objects.filter(pk=kept.pk).update(**wanted)
    kept.refresh_from_db()
    return kept


_MINUTES = int(EVERY.total_seconds() // 60)


def _wake(program: Program, *, clock: Clock) -> Woken:
    """Look again before running: a wake-up before may have begun it meanwhile."""
    face = clock_face(program, now=clock())
    wake, code = face.wake, program.code
    if wake.day is None:
        _tell(face, wake)
        return Woken(program=code, day=None, why=wake.why)
    try:
        run_day(program=program, as_of=wake.day, now=clock())
    except Refused as refusal:
        return _failed(program, wake, str(refusal), at=clock())
    except Exception as error:  # one program's fault must not stop the others
        logger.exception("The day %s of %s stopped.", wake.day, code)
        return _failed(program, wake, f"{type(error).__name__}: {error}", at=clock())
    return Woken(program=code, day=wake.day, why=wake.why)


def _tell(face: ClockFace, wake: Wake) -> None:
    if face.fault:
        logger.error("%s: %s (%s).", face.program.code, face.fault, wake.why)


def _failed(program: Program, wake: Wake, problem: str, *, at: datetime) -> Woken:
    """Keep the problem on the run's row; one refused before it had a row gets its own."""
    assert wake.day is not None
    text = problem[:LONGEST_PROBLEM]
    with transaction.atomic():
        locked_clock(program)
        last = DayRun.objects.filter(program=program).first()
        if last is not None and last.as_of == wake.day and last.finished_at is None:
            DayRun.objects.filter(pk=last.pk).update(problem=text, finished_at=at)
        else:
            DayRun.objects.create(
                program=program, as_of=wake.day, started_at=at, finished_at=at, problem=text
            )
    return Woken(program=program.code, day=wake.day, why=wake.why, problem=text)
