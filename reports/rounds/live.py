"""A day as it goes: what became of each visit, and the rest planned anew from now on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime, time, timedelta

from django.db import transaction
from django.db.models import Exists, OuterRef

from registry.changes import record_change
from registry.models import Program
from reports.domain.live_day import VisitOutcome, again_from
from reports.models import Round, Stop, VisitTold
from reports.rounds.changing import Changer, ChangeRefusedError
from reports.rounds.due_work import FIXED
from reports.rounds.shares import Companies
from reports.rounds.week import Horizon, Week
from scheduling.domain.rounds.visits import Problem


def say_outcome(
    changer: Changer, stop: Stop, *, outcome: VisitOutcome, words: str, seen: int
) -> VisitTold:
    """Keep what became of a visit; one that was done stays where it is, any other is free to move.

    Raises ChangeRefusedError where the visit changed since it was looked at, was called off, or its
    day has not come.
    """
    with transaction.atomic():
        Program.objects.select_for_update().get(pk=changer.program.pk)
        now = Stop.objects.select_related("round", "premises").get(pk=stop.pk)
        if now.revision != seen or now.cancelled_at is not None or now.round is None:
            raise ChangeRefusedError("The visit has changed since you looked: look at it again.")
        if now.round.on > changer.horizon.today:
            raise ChangeRefusedError("Its day has not come: call it off, or move it.")
        _keep(now, outcome=outcome, at=changer.hand.at)
        row, _made = VisitTold.objects.update_or_create(
            stop=now,
            on=now.round.on,
            defaults={
                "program": changer.program,
                "premises": now.premises,
                "tester_id": now.round.tester_id,
                "arrives_at": now.arrives_at,
                "outcome": outcome,
                "words": words.strip()[:300],
                "at": changer.hand.at,
                "by": changer.hand.by,
            },
        )
        record_change(
            hand=changer.hand,
            what="visit",
            subject_id=now.pk,
            label=str(row),
            before={},
            after={"outcome": str(outcome), "words": row.words},
            program=changer.program,
        )
    return row


def _keep(stop: Stop, *, outcome: VisitOutcome, at: datetime) -> None:
    """A done visit is pinned to its time; for another the promise is over, and it may move."""
    if outcome is VisitOutcome.DONE:
        stop.pinned_at = stop.pinned_at or at
    else:
        stop.promised_at, stop.promised_by, stop.pinned_at = None, "", None
    stop.save(update_fields=["promised_at", "promised_by", "pinned_at"])


def rounds_without_a_word(
    program: Program, *, on: date, now: datetime, companies: Companies
) -> list[tuple[Round, int]]:
    """The rounds of a day with how many visits have begun by now and nobody said what became of.

    Visits that are promised or pinned are not among them: a plan made anew leaves those.
    """
    begun = Stop.objects.filter(
        program=program, round__on=on, arrives_at__lt=now, cancelled_at__isnull=True,
        second_of__isnull=True,
    ).exclude(FIXED)  # fmt: skip
    if companies:
        begun = begun.filter(round__firm__in=companies)
    told = VisitTold.objects.filter(stop=OuterRef("pk"), on=on)
    counts = Counter(begun.exclude(Exists(told)).values_list("round", flat=True))
    rows = Round.objects.filter(pk__in=counts).select_related("tester").order_by("tester__name")
    return [(row, counts[row.pk]) for row in rows]


def outcomes_on(program: Program, *, horizon: Horizon) -> Mapping[int, VisitTold]:
    """The last word of these days about each premises."""
    rows = VisitTold.objects.filter(
        program=program, on__gte=horizon.first_day - timedelta(days=1), on__lte=horizon.dates[-1]
    )
    return {row.premises_id: row for row in rows.order_by("at", "pk")}


def from_now(
    week: Week, *, now: datetime | None, told: Mapping[int, VisitTold], horizon: Horizon
) -> Week:
    """The week with nothing new before now, and no visit tried again on the day it failed.

    What is promised, pinned or done stays at its time.
    """
    first = 0 if now is None else horizon.axis.minute_at(now)
    visits = []
    for visit in week.problem.visits:
        if visit.promise is None:
            again = _again(visit.key, told=told, horizon=horizon)
            visit = replace(visit, not_before=max(visit.not_before, first, again))  # noqa: PLW2901
        visits.append(visit)
    problem = Problem(tuple(visits), week.problem.days, week.problem.travel)
    return replace(week, problem=problem)


def _again(key: str, *, told: Mapping[int, VisitTold], horizon: Horizon) -> int:
    row = told.get(int(key)) if key.isdigit() else None
    day = again_from(VisitOutcome(row.outcome), on=row.on) if row is not None else None
    return 0 if day is None else horizon.axis.minute_of(day, time(0))
