"""Minutes of past tests, read from reports with a time on them; see ``learning``."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, time, timedelta
from decimal import Decimal
from itertools import pairwise

from registry.models import Program
from reports.models import FieldTest
from scheduling.domain.rounds.learning import Sample, learned_from, times_with
from scheduling.domain.rounds.minutes import AssemblyJob, VisitTimes

BACK = timedelta(days=730)
MOST = 10_000
"""The newest so many reports of two years are enough to see how long a test takes."""


def visit_times(program: Program, *, today: date, learns: bool) -> VisitTimes:
    """The minutes of the program's visits: what its past says enough of, else the defaults."""
    base = VisitTimes()
    if not learns:
        return base
    return times_with(learned_from(past_samples(program, today=today)), base=base)


def past_samples(program: Program, *, today: date) -> list[Sample]:
    """The minutes between tests that one tester did at one premises on one day."""
    visits: dict[tuple[int, int, date], list[tuple[time, str, Decimal]]] = defaultdict(list)
    rows = FieldTest.objects.filter(
        program=program,
        assembly__isnull=False,
        tester__isnull=False,
        tested_at__isnull=False,
        tested_on__gt=today - BACK,
        tested_on__lte=today,
        mended_by__isnull=True,
    ).order_by("-tested_on", "-pk")
    fields = ("tester_id", "assembly__premises_id", "tested_on", "tested_at")
    for row in rows.values_list(*fields, "assembly__type", "assembly__size_in")[:MOST]:
        tester, premises, on, at, kind, size = row
        visits[tester, premises, on].append((at, kind, size))
    return [
        Sample(AssemblyJob(kind, size), _minutes(after) - _minutes(before))
        for tests in visits.values()
        for (before, _kind, _size), (after, kind, size) in pairwise(sorted(tests))
    ]


def _minutes(at: time) -> int:
    return at.hour * 60 + at.minute
