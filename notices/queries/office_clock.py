"""What the office's clock would do for each live program, and what is wrong with it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.conf import settings
from django.db.models import OuterRef, QuerySet, Subquery

from notices.domain.wakes import Hours, RunSeen, Wake, fault_of, wake_of
from registry.models import Program
from scheduling.models import DayRun

LOOKED_AT = 12
"""The latest runs that a wake-up looks at: enough for a lease and for those that died."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockFace:
    """One live program as its clock stands: its hours, its latest day run, wake and fault."""

    program: Program
    hours: Hours
    last_good: date | None
    last_start: datetime | None
    wake: Wake
    fault: str


def live_programs() -> QuerySet[Program]:
    """Every program but trials: a trial lives on the day it is told."""
    return Program.objects.filter(is_trial=False)


def hours_of(program: Program) -> Hours:
    """The program's zone and the hour its day begins."""
    return Hours(zone=program.zone, begins_at=settings.DAY_BEGINS_AT)


def latest_runs(program: Program) -> list[RunSeen]:
    """The last few runs of a program, newest first."""
    rows = DayRun.objects.filter(program=program).order_by("-started_at", "-id")[:LOOKED_AT]
    return [
        RunSeen(
            as_of=row.as_of,
            started_at=row.started_at,
            is_finished=row.finished_at is not None,
            problem=row.problem,
        )
        for row in rows
    ]


def clock_faces(*, now: datetime) -> list[ClockFace]:
    """Every live program, the one that waited longest first; a newly made one before all."""
    faces = [clock_face(program, now=now) for program in live_programs().order_by("code")]
    return sorted(faces, key=lambda face: face.last_start.timestamp() if face.last_start else 0.0)


def clock_face(program: Program, *, now: datetime) -> ClockFace:
    """One program as its clock stands."""
    runs, hours = latest_runs(program), hours_of(program)
    good = [run.as_of for run in runs if run.is_good] or _last_good(program)
    last_good = max(good, default=None)
    last_start = max((run.started_at for run in runs), default=None)
    return ClockFace(
        program=program,
        hours=hours,
        last_good=last_good,
        last_start=last_start,
        wake=wake_of(hours=hours, runs=runs, now=now),
        fault=fault_of(
            hours=hours,
            last_good=last_good,
            last_start=last_start,
            since=program.created_at,
            now=now,
        ),
    )


def faults_of_clocks(*, now: datetime) -> list[str]:
    """What is wrong in each live program that is not well, in two or three queries in all."""
    return [fault for fault in (_fault(row, now=now) for row in _faces_at_once()) if fault]


def _faces_at_once() -> QuerySet[Any]:
    runs = DayRun.objects.filter(program=OuterRef("pk")).order_by("-started_at", "-id")
    good = runs.filter(finished_at__isnull=False, problem="")
    return live_programs().annotate(
        last_start=Subquery(runs.values("started_at")[:1]),
        last_good=Subquery(good.values("as_of")[:1]),
    )


def _fault(row: Any, *, now: datetime) -> str:
    return fault_of(
        hours=hours_of(row),
        last_good=row.last_good,
        last_start=row.last_start,
        since=row.created_at,
        now=now,
    )


def _last_good(program: Program) -> list[date]:
    rows = DayRun.objects.filter(program=program, finished_at__isnull=False, problem="")
    return list(rows.order_by("-started_at", "-id").values_list("as_of", flat=True)[:1])
