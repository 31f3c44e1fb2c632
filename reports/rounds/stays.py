"""Visits of the plan before that nobody was promised: a new plan leaves them unless moving pays."""

from __future__ import annotations

from dataclasses import replace

from registry.models import Program
from reports.models import Stop
from reports.rounds.due_work import FIXED
from reports.rounds.week import Horizon, Week
from scheduling.domain.rounds.visits import Stay


def with_stays(week: Week, *, program: Program, horizon: Horizon, minutes: int) -> Week:
    """The week with the tester's day on which each visit stands, and its minute there.

    A move must save more than so many minutes of driving; also with none the search begins from
    where everything stands.
    """
    stands = _standing(program, horizon=horizon, minutes=minutes)
    visits = tuple(
        replace(visit, stay=stands.get(visit.key)) if visit.promise is None else visit
        for visit in week.problem.visits
    )
    return replace(week, problem=replace(week.problem, visits=visits))


def _standing(program: Program, *, horizon: Horizon, minutes: int) -> dict[str, Stay]:
    """Where each visit stands, by its key; a second person's presence with the visit itself."""
    first, last = horizon.moments
    stops = Stop.objects.filter(
        program=program,
        arrives_at__gte=first,
        arrives_at__lt=last,
        cancelled_at__isnull=True,
        round__isnull=False,
    ).exclude(FIXED)
    rows = list(
        stops.order_by("pk").values_list(
            "pk", "second_of_id", "premises_id", "round__tester_id", "round__on", "arrives_at"
        )
    )
    seconds = {beside: str(tester) for _pk, beside, _premises, tester, _on, _at in rows if beside}
    minute_at = horizon.axis.minute_at
    return {
        str(premises): Stay(str(tester), on, minutes, minute_at(at), seconds.get(pk, ""))
        for pk, beside, premises, tester, on, at in rows
        if not beside
    }
