"""Visits of the plan before that nobody was promised: a new plan leaves them unless moving pays."""

from __future__ import annotations

from dataclasses import replace

from registry.models import Program
from reports.models import Stop
from reports.rounds.due_work import FIXED
from reports.rounds.week import Horizon, Week
from scheduling.domain.rounds.visits import Stay


def with_stays(week: Week, *, program: Program, horizon: Horizon, minutes: int) -> Week:
    """The week with the tester's day on which each visit stands.

    A move must save more than so many minutes of driving; with none nothing is read.
    """
    if not minutes:
        return week
    first, last = horizon.moments
    stops = Stop.objects.filter(
        program=program,
        arrives_at__gte=first,
        arrives_at__lt=last,
        cancelled_at__isnull=True,
        second_of__isnull=True,
        round__isnull=False,
    ).exclude(FIXED)
    rows = stops.order_by("pk").values_list("premises_id", "round__tester_id", "round__on")
    stands = {str(premises): Stay(str(tester), on, minutes) for premises, tester, on in rows}
    visits = tuple(
        replace(visit, stay=stands.get(visit.key)) if visit.promise is None else visit
        for visit in week.problem.visits
    )
    return replace(week, problem=replace(week.problem, visits=visits))
