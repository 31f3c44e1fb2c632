"""Days as they are planned now, as a planner's problem again: for one more visit, or a change.

Stops of other programs on the same testers' days stand there as fixed times without a name.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from operator import itemgetter

from registry.models import Firm, Premises, Program
from reports.models import Stop
from reports.rounds.asked_not import standing_wishes
from reports.rounds.bound import with_what_binds
from reports.rounds.crews import crew_days
from reports.rounds.due_work import DueVisit, testing_firms
from reports.rounds.past_minutes import visit_times
from reports.rounds.ruled import ruled
from reports.rounds.week import Horizon, Week, depots_of, week_of
from scheduling.domain.rounds.insertion import Draft
from scheduling.domain.rounds.travel import Roads
from scheduling.domain.rounds.visits import Visit, is_second
from scheduling.models import Obligation


@dataclass(frozen=True)
class AsPlanned:
    """The planned days with one draft of their orders, and the rows behind its keys."""

    week: Week
    draft: Draft
    stops: dict[str, Stop]
    horizon: Horizon
    seconds: dict[str, Stop] = field(default_factory=dict)
    """The second people's presences, by their keys."""


def as_planned(
    *,
    program: Program,
    horizon: Horizon,
    roads: Roads,
    firms: Sequence[Firm] = (),
    more: Sequence[Premises] = (),
) -> AsPlanned:
    """Read the days; with ``firms`` only those companies' testers.

    ``more`` are premises to be visited besides: in the problem, in no order yet.
    """
    rules = ruled(program)
    working = crew_days(
        program=program,
        first_day=horizon.first_day,
        days=horizon.days,
        holidays_off=rules.holidays_off,
    )
    crews = [day for day in working if not firms or day.tester.firm in firms]
    stops = _stops(horizon.moments, testers={day.tester.pk for day in crews})
    mine, theirs = _of_program(stops, program)
    seconds = {stop.second_of_id: stop for stop in theirs if stop.second_of_id is not None}
    due = [_visit(stop, second=seconds.get(stop.pk)) for stop in mine]
    there = {stop.premises_id for stop in mine}
    due += _besides(program, [one for one in more if one.pk not in there], horizon=horizon)
    wishes = standing_wishes(
        program=program, from_on=horizon.first_day, premises=[one.premises.pk for one in due]
    )
    due = [replace(one, wishes=wishes.get(one.premises.pk, ())) for one in due]
    week = week_of(
        due,
        crews=crews,
        horizon=horizon,
        times=visit_times(program, today=horizon.today, learns=rules.learns_minutes),
        roads=roads,
        places_by_zip=rules.places_by_zip,
        parts_from_in=rules.parts_from_in,
        # A day goes on from where its plan let it start, whatever was planned or called off since.
        depots=depots_of(mine),
    )
    week = _with_planned_minutes(week, mine)
    week, others, gaps = with_what_binds(week, theirs, crews=crews, horizon=horizon, roads=roads)
    return AsPlanned(
        week=week,
        draft=_draft(week, mine=mine, others=others, gaps=gaps, horizon=horizon),
        stops={str(stop.premises_id): stop for stop in mine},
        horizon=horizon,
        seconds={key: stop for key, stop in others.items() if is_second(key)},
    )


def held_back(planned: AsPlanned, *, moment: datetime, new_from: datetime) -> AsPlanned:
    """The days from a moment on: what has not begun by then begins no sooner, new visits later yet.

    Else a change of a day under way would draw its later visits into the hours gone by. What is
    promised keeps its time, and what has begun is left as it is.
    """
    problem, minute_at = planned.week.problem, planned.horizon.axis.minute_at
    first, new = minute_at(moment), minute_at(new_from)
    begun = {key for key, stop in planned.stops.items() if stop.arrives_at < moment}
    held = {
        one.key: replace(
            one, not_before=max(one.not_before, first if one.key in planned.stops else new)
        )
        for one in problem.visits
        if one.promise is None and one.key not in begun
    }
    visits = tuple(held.get(one.key, one) for one in problem.visits)
    problem = replace(problem, visits=visits)
    orders = {
        key: [held.get(one.key, one) for one in order]
        for key, order in planned.draft.orders.items()
    }
    week = replace(planned.week, problem=problem)
    return replace(planned, week=week, draft=Draft(problem=problem, orders=orders))


def _stops(moments: tuple[datetime, datetime], *, testers: set[int]) -> list[Stop]:
    first, last = moments
    return list(
        Stop.objects.filter(
            round__tester__in=testers,
            arrives_at__gte=first,
            arrives_at__lt=last,
            cancelled_at__isnull=True,
        )
        .select_related("premises", "round__tester__firm")
        .prefetch_related("work__assembly__connection", "work__obligation__assembly__connection")
        .order_by("arrives_at", "pk")
    )


def _of_program(stops: Sequence[Stop], program: Program) -> tuple[list[Stop], list[Stop]]:
    """The program's stops, the first of each premises; and whatever else binds the days."""
    mine: dict[int, Stop] = {}
    for stop in stops:
        if stop.program_id == program.pk and stop.second_of_id is None:
            mine.setdefault(stop.premises_id, stop)
    kept = {stop.pk for stop in mine.values()}
    return list(mine.values()), [stop for stop in stops if stop.pk not in kept]


def _visit(stop: Stop, *, second: Stop | None) -> DueVisit:
    owed = [work.obligation for work in stop.work.all() if work.obligation is not None]
    return DueVisit(
        premises=stop.premises,
        obligations=tuple(owed),
        # Two people's time is not moved: one alone would come.
        stop=stop if stop.is_fixed or second is not None else None,
        second=second,
    )


def _besides(program: Program, premises: Sequence[Premises], *, horizon: Horizon) -> list[DueVisit]:
    found: dict[int, list[Obligation]] = defaultdict(list)
    owed = Obligation.objects.filter(
        program=program, assembly__premises__in=premises, kind="test", closed_on__isnull=True
    )
    for one in owed.select_related("assembly__connection").order_by("due_on", "pk"):
        here = found[one.its_assembly.premises_id]
        if one.assembly_id not in {other.assembly_id for other in here}:
            here.append(one)
    firms = testing_firms(program)
    return [
        DueVisit(premises=one, obligations=tuple(found[one.pk]), firms=firms.get(one.pk, ()))
        for one in premises
    ]


def _with_planned_minutes(week: Week, mine: Sequence[Stop]) -> Week:
    """The week with each planned visit as long as it was planned, whatever was closed since."""
    minutes = {
        str(stop.premises_id): int((stop.leaves_at - stop.arrives_at) // timedelta(minutes=1))
        for stop in mine
    }
    visits = tuple(
        replace(visit, service_minutes=minutes.get(visit.key, visit.service_minutes))
        for visit in week.problem.visits
    )
    return replace(week, problem=replace(week.problem, visits=visits))


def _draft(
    week: Week,
    *,
    mine: Sequence[Stop],
    others: dict[str, Stop],
    gaps: Sequence[Visit],
    horizon: Horizon,
) -> Draft:
    draft = Draft(problem=week.problem)
    minute = horizon.axis.minute_at
    keyed = [(minute(stop.arrives_at), _day(stop), str(stop.premises_id)) for stop in mine]
    keyed += [(minute(stop.arrives_at), _day(stop), key) for key, stop in others.items()]
    for gap in gaps:
        assert gap.promise is not None
        on = horizon.axis.moment_of(gap.promise.arrive).date()
        keyed.append((gap.promise.arrive, (gap.promise.tester, on), gap.key))
    for _arrive, day, key in sorted(keyed, key=itemgetter(0)):
        if day in week.problem.day_by_key:
            draft.orders.setdefault(day, []).append(week.problem.visit_by_key[key])
    return draft


def _day(stop: Stop) -> tuple[str, date]:
    assert stop.round is not None
    return str(stop.round.tester_id), stop.round.on
