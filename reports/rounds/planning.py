"""The action that plans a program's days: read, solve, check, then keep it all at once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.db import transaction

from registry.changes import Hand, record_change
from registry.models import Program
from reports.models import Plan
from reports.rounds.bound import with_what_binds
from reports.rounds.crews import crew_days
from reports.rounds.due_work import due_visits, promised_stops
from reports.rounds.elsewhere import own_part, stops_elsewhere
from reports.rounds.live import from_now, outcomes_on
from reports.rounds.past import Past, past_of
from reports.rounds.roads import roads_for
from reports.rounds.ruled import Ruled, ruled
from reports.rounds.shares import Companies
from reports.rounds.stays import with_stays
from reports.rounds.storing import Making, store_plan
from reports.rounds.week import Horizon, Week, week_of
from scheduling import solver
from scheduling.domain.rounds.minutes import VisitTimes
from scheduling.domain.rounds.travel import Roads


class PlanRefusedError(Exception):
    """Nothing was planned; the message is a sentence that says why and what to do."""


@dataclass(frozen=True)
class Wish:
    """What to plan: from which day, how many, and how long to look.

    ``today`` is the program's day: from it the days of notice count. With ``now`` nothing new is
    planned before that moment: the rest of a day that has begun.

    The search begins from the days as they stand, unless it is to ``begin_anew``. A visit of the
    plan before is moved only where that saves more than ``stay_minutes`` of driving; None: as the
    program's ways say.

    ``companies`` plan their own share of the program's days; without any, everybody's is planned.
    """

    first_day: date
    days: int
    today: date
    effort: solver.Effort
    now: datetime | None = None
    stay_minutes: int | None = 0
    companies: Companies = ()
    begin_anew: bool = False


@dataclass(frozen=True)
class Planned:
    """The kept plan with what it was made from, for whoever tells it."""

    row: Plan
    week: Week
    solved: solver.Solved
    horizon: Horizon
    roads: Roads
    helps: Mapping[str, str]


def plan_rounds(
    *,
    program: Program,
    wish: Wish,
    hand: Hand,
    progress: Callable[[solver.Progress], None] | None = None,
) -> Planned:
    """Plan the program's days and keep the plan with its rounds, stops and assignments.

    What was promised stays; everything else of earlier plans is replaced. Raises
    PlanRefusedError when a promise was made while the plan was being worked out.
    """
    asked = ask(program=program, wish=wish)
    solved = solver.solve(asked.week.problem, effort=wish.effort, progress=progress)
    return keep(asked, solved=solved, hand=hand)


@dataclass(frozen=True)
class Asked:
    """What a plan is made from, read once; ``promises`` notices what changes meanwhile.

    ``past`` is what its minutes and drives rest on.
    """

    program: Program
    wish: Wish
    horizon: Horizon
    week: Week
    roads: Roads
    promises: frozenset[tuple[int, datetime | None, int]]
    past: Past


def ask(*, program: Program, wish: Wish, past: Past | None = None) -> Asked:
    """Read what is to be planned.

    With ``past`` the reports of past days are not read again: for looks at one plan, which goes on
    with the minutes it was made with.
    """
    horizon = Horizon(wish.first_day, wish.days, ZoneInfo(program.zone), wish.today)
    promises = _promises(program)
    rules = ruled(program)
    if past is None:
        past = past_of(program, today=wish.today, learns=rules.learns_minutes)
    roads = roads_for(past.pace)
    read = _Read(program, horizon, rules, roads, past.times, wish.companies)
    week = read.week(now=wish.now)
    if not wish.begin_anew:
        stay = rules.stay_minutes if wish.stay_minutes is None else wish.stay_minutes
        week = with_stays(week, program=program, horizon=horizon, minutes=stay)
    return Asked(program, wish, horizon, week, roads, promises, past)


def keep(asked: Asked, *, solved: solver.Solved, hand: Hand) -> Planned:
    """Keep a plan with its rounds, stops and assignments, all at once.

    Raises PlanRefusedError when a promise was made since what was asked was read.
    """
    program = asked.program
    making = _making(asked, hand=hand)
    with transaction.atomic():
        # Two plans of one program take turns; the second sees what the first kept.
        Program.objects.select_for_update().get(pk=program.pk)
        if _promises(program) != asked.promises:
            raise PlanRefusedError(
                "A customer was promised a visit while the plan was being made: plan again."
            )
        row = store_plan(
            program=program,
            week=asked.week,
            solved=solved,
            making=making,
            companies=asked.wish.companies,
        )
        _record(row, program=program, hand=hand)
    own = replace(solved, plan=own_part(solved.plan))
    told = {left.visit for left in own.plan.left_out}
    helps = {
        str(one.premises_id): one.helps
        for one in row.left_out.all()
        if str(one.premises_id) in told
    }
    return Planned(row, asked.week, own, asked.horizon, asked.roads, helps)


@dataclass(frozen=True)
class _Read:
    """What the program's days are read with."""

    program: Program
    horizon: Horizon
    rules: Ruled
    roads: Roads
    times: VisitTimes
    companies: Companies

    def week(self, *, now: datetime | None) -> Week:
        """The days with all that binds them."""
        program, horizon, roads = self.program, self.horizon, self.roads
        due = due_visits(
            program=program,
            last_day=horizon.dates[-1],
            days=horizon.moments,
            promises_from=horizon.promises_count_from,
            today=horizon.today,
            is_assigned=self.rules.due_is_assigned,
            companies=self.companies,
        )
        crews = crew_days(
            program=program,
            first_day=horizon.first_day,
            days=horizon.days,
            holidays_off=self.rules.holidays_off,
        )
        if self.companies:
            crews = [day for day in crews if day.tester.firm_id in self.companies]
        week = week_of(
            due,
            crews=crews,
            horizon=horizon,
            times=self.times,
            roads=roads,
            places_by_zip=self.rules.places_by_zip,
            parts_from_in=self.rules.parts_from_in,
        )
        told = outcomes_on(program, horizon=horizon)
        week = from_now(week, now=now, told=told, horizon=horizon)
        testers = {day.tester.pk for day in crews}
        theirs = stops_elsewhere(program=program, testers=testers, moments=horizon.moments)
        return with_what_binds(week, theirs, crews=crews, horizon=horizon, roads=roads)[0]


def _promises(program: Program) -> frozenset[tuple[int, datetime | None, int]]:
    """What is promised now, to notice what changes while the search runs."""
    return frozenset(
        (stop.pk, stop.promised_at or stop.pinned_at, stop.revision)
        for stop in promised_stops(program=program)
    )


def _making(asked: Asked, *, hand: Hand) -> Making:
    effort = asked.wish.effort
    return Making(
        at=hand.at,
        by=hand.by,
        horizon=asked.horizon,
        seed=effort.seed,
        iterations=effort.iterations,
        seconds=None if effort.seconds is None else round(effort.seconds),
        factor=asked.roads.factor,
        kmh=asked.roads.kmh,
    )


def _record(row: Plan, *, program: Program, hand: Hand) -> None:
    after = {
        "from_on": row.from_on.isoformat(),
        "days": row.days,
        "visits": row.visits,
        "drive_minutes": row.drive_minutes,
        "work_minutes": row.work_minutes,
        "feasible": row.feasible,
    }
    record_change(
        hand=hand,
        what="plan",
        subject_id=row.pk,
        label=str(row),
        before={},
        after=after,
        program=program,
    )
