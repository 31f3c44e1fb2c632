"""The figures of a standing board, counted from the rows they stand for."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Case, Count, F, Q, QuerySet, Value, When
from django.db.models.functions import TruncMonth

from registry.models import Program
from scheduling.domain.obligations import ClosedHow
from scheduling.domain.rulebook import TEST
from scheduling.models import AssemblyState, Obligation
from scheduling.queries.standing_in_sql import standing_case

SPANS = (30, 60, 90)
PASSED = "passed this year"
Counts = dict[str, int]


@dataclass(frozen=True, kw_only=True)
class BoardFigures:
    """Counts as a board keeps them: by standing and label, by span, by month and outcome."""

    counts: Counts
    spans: Counts
    months: Counts

    def changed_by(self, *, before: BoardFigures, after: BoardFigures) -> BoardFigures:
        """These figures after some rows went from `before` to `after`."""
        return BoardFigures(
            counts=_moved(self.counts, before.counts, after.counts),
            spans=_moved(self.spans, before.spans, after.spans),
            months=_moved(self.months, before.months, after.months),
        )


def figures_of(
    program: Program, *, on: date, assembly_ids: Collection[int] | None = None
) -> BoardFigures:
    """Count a program on a day, or only some of its assemblies: three grouped queries."""
    states = AssemblyState.objects.filter(program=program)
    tests = Obligation.objects.filter(program=program, kind=TEST)
    if assembly_ids is not None:
        states = states.filter(pk__in=assembly_ids)
        tests = tests.filter(assembly__in=assembly_ids)
    return BoardFigures(
        counts=_counts(states, on=on), spans=_spans(states, on=on), months=_months(tests, on=on)
    )


def _counts(states: QuerySet[AssemblyState], *, on: date) -> Counts:
    rows = (
        states.annotate(stands=standing_case(day=on, via=""))
        .values("stands", "counted_as")
        .order_by()
        .annotate(n=Count("pk"))
    )
    return {f"{row['stands']}|{row['counted_as']}": row["n"] for row in rows}


def _spans(states: QuerySet[AssemblyState], *, on: date) -> Counts:
    in_use = Q(removed_on__isnull=True, idle_since__isnull=True)
    asked = {
        f"in_{span}": Count(
            "pk", filter=in_use & Q(due_on__gte=on, due_on__lte=on + timedelta(days=span))
        )
        for span in SPANS
    }
    found = states.aggregate(
        **asked,
        passed=Count("pk", filter=Q(last_passed_on__year=on.year, removed_on__isnull=True)),
    )
    spans = {f"{span}": found[f"in_{span}"] for span in SPANS}
    return {name: n for name, n in {**spans, PASSED: found["passed"]}.items() if n}


def _months(tests: QuerySet[Obligation], *, on: date) -> Counts:
    """Tests that fell or fall due in this year and the last, by month and what became of them."""
    still = Q(assembly__state__idle_since__isnull=False, closed_on__isnull=True)
    how = Case(
        When(closed_how=ClosedHow.MET, closed_on__lte=F("due_on"), then=Value("in time")),
        When(closed_how=ClosedHow.MET, then=Value("late")),
        When(closed_how=ClosedHow.MISSED, then=Value("missed")),
        default=Value("open"),
    )
    rows = (
        tests.filter(due_on__gte=date(on.year - 1, 1, 1), due_on__lte=date(on.year, 12, 31))
        .exclude(closed_how__in=(ClosedHow.EXCUSED, ClosedHow.SUPERSEDED))
        .exclude(still)
        .annotate(month=TruncMonth("due_on"), how=how)
        .values("month", "how")
        .order_by()
        .annotate(n=Count("pk"))
    )
    return {f"{row['month']:%Y-%m}|{row['how']}": row["n"] for row in rows}


def _moved(kept: Counts, before: Counts, after: Counts) -> Counts:
    names = {**kept, **before, **after}
    moved = {name: kept.get(name, 0) + after.get(name, 0) - before.get(name, 0) for name in names}
    return {name: number for name, number in moved.items() if number}
