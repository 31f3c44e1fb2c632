"""A testing company's own share of a program's days: its testers, what it was given, its visits.

The office plans for every company. A company's dispatcher plans its own share only: premises that
are assigned to it or were asked of it, and that no other company is to visit.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from registry.models import Assignment, Firm, Program
from reports.models import Job, Plan, PlanLeftOut, Round, Stop
from reports.rounds.jobs import firms_asked
from scheduling.models import Obligation

Companies = tuple[int, ...]
"""Ids of the testing companies that plan; empty: the office does, for all of them."""


def share_of(
    due: Mapping[int, Sequence[Obligation]],
    *,
    program: Program,
    companies: Companies,
    assigned: Mapping[int, Sequence[Firm]],
    jobs: Mapping[int, Sequence[Job]],
    after: datetime,
) -> dict[int, Sequence[Obligation]]:
    """What of the due work these companies may plan.

    ``assigned`` are the companies that a person named for a premises, ``jobs`` what customers asked
    for. A premises where another company stands on a day ``after`` that moment is not theirs.
    """
    running = Assignment.objects.filter(program=program, ended_on__isnull=True)
    seen = set(running.filter(firm__in=companies).values_list("premises_id", flat=True))
    others = set(
        Stop.objects.filter(program=program, cancelled_at__isnull=True, arrives_at__gte=after)
        .exclude(round__isnull=True)
        .exclude(round__firm__in=companies)
        .values_list("premises_id", flat=True)
    )
    found: dict[int, Sequence[Obligation]] = {}
    for premises, owed in due.items():
        asked = firms_asked(jobs.get(premises, ()))
        named = {firm.pk for firm in assigned.get(premises) or asked}
        is_named = not named.isdisjoint(companies)
        if premises not in others and (is_named or (not named and premises in seen)):
            found[premises] = owed
    return found


def replaceable_stops(*, program: Program, over: datetime, companies: Companies) -> Iterable[Stop]:
    """Live stops a new plan may move: not promised, or promised for a day ``over`` before that."""
    stops = Stop.objects.filter(program=program, cancelled_at__isnull=True)
    if companies:
        stops = stops.filter(round__firm__in=companies)
    for stop in stops.select_related("round").prefetch_related("work"):
        if not stop.is_fixed or stop.arrives_at < over:
            yield stop


def carry_over(plan: Plan, *, companies: Companies) -> None:
    """Let the newest plan hold the days of the other companies too, as they stood in the last.

    Its visits and minutes are then those of all. Runs inside the caller's transaction.
    """
    earlier = Plan.objects.filter(program=plan.program).exclude(pk=plan.pk)
    before = earlier.order_by("-made_at", "-pk").first()
    if before is None:
        return
    rounds = Round.objects.filter(plan=before).exclude(firm__in=companies)
    kept = list(rounds.values_list("pk", "drive_minutes", "work_minutes"))
    visits = Stop.objects.filter(
        round__in=[pk for pk, _, _ in kept], cancelled_at__isnull=True, second_of__isnull=True
    )
    plan.visits += visits.count()
    plan.drive_minutes += sum(drive for _, drive, _ in kept)
    plan.work_minutes += sum(work for _, _, work in kept)
    plan.save(update_fields=["visits", "drive_minutes", "work_minutes"])
    planned = Stop.objects.filter(round__plan=plan, cancelled_at__isnull=True)
    told = PlanLeftOut.objects.filter(plan=before).exclude(premises__in=planned.values("premises"))
    anew = PlanLeftOut.objects.filter(plan=plan)
    told.exclude(premises__in=anew.values("premises")).update(plan=plan)
    rounds.update(plan=plan)
