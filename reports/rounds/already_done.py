"""Work that a tester said was done and whose report is not in yet: nobody goes there twice."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Final

from registry.models import Program
from reports.domain.live_day import VisitOutcome
from reports.models import StopWork, VisitTold
from scheduling.models import Obligation

AWAITED: Final = timedelta(days=30)
"""How long a report is waited for before the work counts as due again: our own choice; the longest
time for a report in print is thirty days."""


def without_done(
    due: Mapping[int, Sequence[Obligation]], *, program: Program, before: datetime, today: date
) -> Mapping[int, Sequence[Obligation]]:
    """Leave out what was said to be done ``before`` a moment, while its report is waited for.

    An assembly that failed on that day or later is due again: somebody has to return.
    """
    done = _done(program, before=before, since=today - AWAITED)
    if not done:
        return due
    left: dict[int, Sequence[Obligation]] = {}
    for premises, owed in due.items():
        rest = [one for one in owed if not _is_done(one, on=done.get(one.its_assembly.pk))]
        if rest:
            left[premises] = rest
    return left


def _done(program: Program, *, before: datetime, since: date) -> dict[int, date]:
    """The last day on which each assembly's visit was said to be done."""
    told = VisitTold.objects.filter(
        program=program, outcome=VisitOutcome.DONE, on__gte=since, arrives_at__lt=before
    )
    days = dict(told.order_by("on").values_list("stop_id", "on"))
    work = StopWork.objects.filter(stop__in=told.values("stop")).values_list(
        "stop_id", "assembly_id"
    )
    found: dict[int, date] = {}
    for stop, assembly in work:
        found[assembly] = max(days[stop], found.get(assembly, days[stop]))
    return found


def _is_done(one: Obligation, *, on: date | None) -> bool:
    return on is not None and (one.failed_on is None or one.failed_on < on)
