"""The newest plan as a week board, and one day with its stops, for who may see them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Prefetch, Q, QuerySet

from registry.access import firms_of, visible_premises
from registry.models import Program, Tester
from reports.models import Plan, PlanChange, PlanLeftOut, Round, Stop, StopWork
from reports.rounds.what_helps import tried_words
from scheduling.views.desk import Desk, Seat

_NAMED = 12
_REASONS = 8


@dataclass(frozen=True, kw_only=True)
class Cell:
    """A tester's day on the board; empty where there is no round."""

    on: date
    round: Round | None
    stops: list[Stop]


@dataclass(frozen=True, kw_only=True)
class BoardRow:
    """One tester's week."""

    tester: Tester
    cells: list[Cell]


def newest_plan(program: Program) -> Plan | None:
    """The plan that counts."""
    return Plan.objects.filter(program=program).order_by("-made_at", "-pk").first()


def rounds_seen(desk: Desk) -> QuerySet[Round]:
    """Rounds of this program that a person may see: the office all, a company its own."""
    found = Round.objects.filter(plan__program=desk.program)
    if desk.seat is not Seat.OFFICE:
        found = found.filter(firm__in=firms_of(desk.person))
    return found


def board(desk: Desk, plan: Plan) -> tuple[list[date], list[BoardRow]]:
    """Days and testers of a plan. Three queries."""
    stops = Stop.objects.filter(cancelled_at__isnull=True).select_related("premises")
    rounds = list(
        rounds_seen(desk)
        .filter(plan=plan)
        .select_related("tester", "firm")
        .prefetch_related(Prefetch("stops", queryset=stops.order_by("arrives_at", "pk")))
        .order_by("tester__certificate", "on")
    )
    days = sorted({one.on for one in rounds})
    by_tester: dict[int, dict[date, Round]] = {}
    testers: dict[int, Tester] = {}
    for one in rounds:
        testers[one.tester_id] = one.tester
        by_tester.setdefault(one.tester_id, {})[one.on] = one
    rows = [
        BoardRow(
            tester=testers[pk],
            cells=[_cell(on, week.get(on)) for on in days],
        )
        for pk, week in by_tester.items()
    ]
    return days, rows


def changes_seen(desk: Desk, plan: Plan) -> list[PlanChange]:
    """The latest changes by hand since the plan was made; a company's own only."""
    found = PlanChange.objects.filter(
        program=desk.program, at__gte=plan.made_at, undone_at__isnull=True
    )[:_NAMED]
    if desk.seat is Seat.OFFICE:
        return list(found)
    mine = {
        str(pk)
        for pk in Stop.objects.filter(round__in=rounds_seen(desk)).values_list("pk", flat=True)
    }
    return [one for one in found if set(one.after) <= mine]


def _cell(on: date, one: Round | None) -> Cell:
    return Cell(on=on, round=one, stops=list(one.stops.all()) if one else [])


def stops_of(one: Round) -> list[Stop]:
    """A round's stops in order, each with its assemblies."""
    work = StopWork.objects.select_related("assembly__connection", "obligation").order_by(
        "assembly__serial"
    )
    return list(
        one.stops.filter(cancelled_at__isnull=True)
        .select_related("premises")
        .prefetch_related(Prefetch("work", queryset=work.order_by("assembly__serial")))
        .order_by("arrives_at", "pk")
    )


@dataclass(frozen=True, kw_only=True)
class LeftOut:
    """Premises left out for one and the same reason: how many, and the first of them."""

    reason: str
    count: int
    first: list[PlanLeftOut]

    @property
    def more(self) -> int:
        """How many are not named."""
        return self.count - len(self.first)


def left_out(plan: Plan, desk: Desk) -> list[LeftOut]:
    """What a plan could not take, by reason; the reason of most premises last.

    A company sees of it only the premises it may see.
    """
    found = PlanLeftOut.objects.filter(plan=plan)
    if desk.seat is not Seat.OFFICE:
        found = found.filter(premises__in=visible_premises(desk.person))
    untried = Count("pk", filter=Q(helps=""))
    counts = found.values("reason").order_by("reason").annotate(n=Count("pk"), untried=untried)
    return [
        LeftOut(
            reason=_with_tried(row["reason"], untried=row["untried"], of=row["n"]),
            count=row["n"],
            first=list(
                found.filter(reason=row["reason"])
                .select_related("premises")
                .order_by("pk")[:_NAMED]
            ),
        )
        for row in sorted(counts, key=lambda row: (row["n"], row["reason"]))[:_REASONS]
    ]


def _with_tried(reason: str, *, untried: int, of: int) -> str:
    """The reason; where only the most urgent were tried, with how many."""
    words = tried_words(untried=untried, of=of)
    return f"{reason} ({words})" if words else reason
