"""The year's tests by the week they are due, and how many were met in time."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import Case, Count, F, Q, Value, When

from registry.models import Program
from reports.drawing.ribbon import Week
from scheduling.domain.obligations import ClosedHow
from scheduling.models import Obligation


@dataclass(frozen=True, kw_only=True)
class Year:
    """The weeks of a calendar year with what was owed in each."""

    year: int
    weeks: list[Week]
    in_time: int
    due_so_far: int

    @property
    def percent_in_time(self) -> str:
        """Met by its due day, of what has come due; empty while nothing has."""
        return f"{100 * self.in_time / self.due_so_far:.1f}" if self.due_so_far else ""


def year_of(program: Program, *, today: date) -> Year:
    """The calendar year of `today`, from stored obligations: one query."""
    first, last = date(today.year, 1, 1), date(today.year, 12, 31)
    counts: Counter[tuple[date, str]] = Counter()
    in_time = due_so_far = 0
    for row in _owed(program, first=first, last=last, today=today):
        counts[(row["due_on"], row["how"])] += row["n"]
        if row["due_on"] < today:
            due_so_far += row["n"]
        if row["how"] == "met in time" and row["due_on"] < today:
            in_time += row["n"]
    return Year(
        year=today.year,
        weeks=_weeks(counts, first=first, last=last),
        in_time=in_time,
        due_so_far=due_so_far,
    )


def _owed(program: Program, *, first: date, last: date, today: date) -> Iterable[Any]:
    standing_still = Q(assembly__state__idle_since__isnull=False, closed_on__isnull=True)
    how = Case(
        When(closed_how=ClosedHow.MET, closed_on__lte=F("due_on"), then=Value("met in time")),
        When(closed_how=ClosedHow.MET, then=Value("met")),
        When(closed_how=ClosedHow.MISSED, then=Value("past")),
        When(due_on__lt=today, then=Value("past")),
        default=Value("to come"),
    )
    return (
        Obligation.objects.filter(
            program=program, assembly__isnull=False, due_on__gte=first, due_on__lte=last
        )
        .exclude(closed_how__in=(ClosedHow.EXCUSED, ClosedHow.SUPERSEDED))
        .exclude(standing_still)
        .annotate(how=how)
        .values("due_on", "how")
        .order_by("due_on")
        .annotate(n=Count("pk"))
    )


def _weeks(counts: Counter[tuple[date, str]], *, first: date, last: date) -> list[Week]:
    monday = first - timedelta(days=first.weekday())
    weeks: list[Week] = []
    while monday <= last:
        days = [monday + timedelta(days=number) for number in range(7)]
        weeks.append(
            Week(
                starts_on=monday,
                met=sum(counts[(day, "met")] + counts[(day, "met in time")] for day in days),
                open_past=sum(counts[(day, "past")] for day in days),
                to_come=sum(counts[(day, "to come")] for day in days),
            )
        )
        monday += timedelta(days=7)
    return weeks
