"""Past drives read from field tests with a time on them: what the days of testers really took."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import pairwise
from operator import attrgetter

from registry.models import Assembly, Program
from reports.models import FieldTest
from scheduling.domain.rounds.calibrating import Drive
from scheduling.domain.rounds.minutes import AssemblyJob, VisitTimes, service_minutes
from scheduling.domain.rounds.travel import Roads
from scheduling.domain.rounds.visits import Spot

BACK = timedelta(days=365)
MOST = 4_000
"""The newest so many reports of the last year are enough to see how fast roads are driven."""

LONGEST_MINUTES = 180
"""More between two visits was no drive: a break, another customer, a forgotten hour."""


@dataclass
class _Visit:
    """The reports of one premises on one tester's day: the first minute, and what was tested."""

    spot: Spot
    begins: int = 24 * 60
    jobs: list[AssemblyJob] = field(default_factory=list)


def past_drives(*, program: Program, roads: Roads, times: VisitTimes, today: date) -> list[Drive]:
    """The drives between the timed reports of one tester on one day, by what `roads` expect."""
    drives = []
    for day, visits in _days(program, today=today):
        table = roads.table([one.spot for one in visits])
        for number, (before, after) in enumerate(pairwise(visits)):
            gap = after.begins - before.begins
            if gap <= LONGEST_MINUTES:
                took = gap - service_minutes(before.jobs, times=times)
                drives.append(Drive(day, table.between(number, number + 1), took))
    return drives


def _days(program: Program, *, today: date) -> Iterator[tuple[str, list[_Visit]]]:
    found: dict[str, dict[int, _Visit]] = defaultdict(dict)
    for row in _reports(program, today=today):
        assembly, at = row.assembly, row.tested_at
        spot = None if assembly is None else _spot(assembly)
        if assembly is None or at is None or spot is None:
            continue
        day = found[f"{row.tester_id} {row.tested_on}"]
        visit = day.setdefault(assembly.premises_id, _Visit(spot))
        visit.begins = min(visit.begins, at.hour * 60 + at.minute)
        visit.jobs.append(AssemblyJob(assembly.type, assembly.size_in))
    for key, visits in found.items():
        yield key, sorted(visits.values(), key=attrgetter("begins"))


def _spot(assembly: Assembly) -> Spot | None:
    lat, lon = assembly.premises.lat, assembly.premises.lon
    return None if lat is None or lon is None else Spot(float(lat), float(lon))


def _reports(program: Program, *, today: date) -> Iterator[FieldTest]:
    return iter(
        FieldTest.objects.filter(
            program=program,
            tested_on__gt=today - BACK,
            tested_on__lte=today,
            tested_at__isnull=False,
            tester__isnull=False,
            assembly__isnull=False,
        )
        .select_related("assembly__premises")
        .order_by("-tested_on", "-pk")[:MOST]
    )
