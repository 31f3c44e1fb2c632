"""A tester's hours that are another program's: fixed times without a name, nobody's to see here.

A testing company's week mixes the work of several programs. Each program plans only its own, around
what the others' plans hold for the same testers.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta

from registry.models import Program
from reports.models import Round, Stop
from reports.rounds.crews import depot_of
from reports.rounds.van import spaces_elsewhere
from reports.rounds.week import Horizon, Week, spot_of
from scheduling.domain.rounds.insertion import draft_of
from scheduling.domain.rounds.plans import Plan
from scheduling.domain.rounds.travel import Roads
from scheduling.domain.rounds.visits import (
    Problem,
    Promise,
    Spot,
    Visit,
    first_key,
    is_second,
    second_key,
)

ELSEWHERE = "elsewhere"


def is_elsewhere(visit: str) -> bool:
    """Whether the key of a visit stands for another program's stop."""
    return visit.startswith(f"{ELSEWHERE}-")


def is_own(visit: str) -> bool:
    """Whether the key of a visit is a premises' own: no other program's, no second person's."""
    return not is_elsewhere(visit) and not is_second(visit)


def own_part(plan: Plan) -> Plan:
    """The plan without the stops of other programs, and without days that hold nothing else.

    A second person's presence is part of it.
    """
    rounds = tuple(
        replace(one, stops=tuple(stop for stop in one.stops if not is_elsewhere(stop.visit)))
        for one in plan.rounds
    )
    left = tuple(one for one in plan.left_out if not is_elsewhere(one.visit))
    return replace(plan, rounds=tuple(one for one in rounds if one.stops), left_out=left)


def stops_elsewhere(
    *, program: Program, testers: Collection[int], moments: tuple[datetime, datetime]
) -> list[Stop]:
    """Live stops of other programs on these testers' days, in the order of their times."""
    first, last = moments
    found = Stop.objects.filter(
        round__tester__in=testers,
        arrives_at__gte=first,
        arrives_at__lt=last,
        cancelled_at__isnull=True,
    ).exclude(program=program)
    return list(found.select_related("premises", "round__tester").order_by("arrives_at", "pk"))


def with_others(
    week: Week, theirs: Sequence[Stop], *, horizon: Horizon, roads: Roads
) -> tuple[Week, dict[str, Stop]]:
    """The week with other programs' stops as fixed times on their testers' days.

    A tester without a depot on record starts where the other program's round does. What cannot be
    kept by these days' hours (two programs that planned one hour before) is left away.
    """
    if not theirs:
        return week, {}
    spots, visits, named = list(week.spots), [], {}
    spaces = spaces_elsewhere(theirs, days=week.problem.days)
    depots: dict[tuple[str, date], int] = {}
    for stop in theirs:
        assert stop.round is not None
        key = _key(stop, week)
        beside = week.problem.visit_by_key.get(first_key(key))
        place = None if beside is None else beside.place
        if place is None:
            spots.append(spot_of(stop.premises) or _depot(stop.round))
            place = len(spots) - 1
        fixed = _fixed(stop, key=key, place=place, horizon=horizon)
        visits.append(replace(fixed, space=spaces.get(stop.pk, 0)))
        named[key] = stop
        tester = stop.round.tester
        if depot_of(tester) is None:
            spots.append(_depot(stop.round))
            depots.setdefault((str(tester.pk), stop.round.on), len(spots) - 1)
    days = tuple(replace(day, depot=depots.get(day.key, day.depot)) for day in week.problem.days)
    travel = roads.table(spots)
    can = draft_of(Problem(tuple(visits), days, travel), required_only=True).planned()
    kept = tuple(visit for visit in visits if visit.key in can)
    problem = Problem(visits=(*week.problem.visits, *kept), days=days, travel=travel)
    named = {key: stop for key, stop in named.items() if key in can}
    return replace(week, problem=problem, spots=tuple(spots)), named


def _key(stop: Stop, week: Week) -> str:
    """A second person at a visit of this week keeps the key that says so."""
    own = str(stop.premises_id)
    if stop.second_of_id is not None and own in week.visits:
        return second_key(own)
    return f"{ELSEWHERE}-{stop.pk}"


def _fixed(stop: Stop, *, key: str, place: int, horizon: Horizon) -> Visit:
    assert stop.round is not None
    arrive = horizon.axis.minute_at(stop.arrives_at)
    minutes = int((stop.leaves_at - stop.arrives_at) // timedelta(minutes=1))
    promise = Promise(str(stop.round.tester_id), arrive, arrive + minutes)
    return Visit(key=key, place=place, service_minutes=minutes, promise=promise)


def _depot(row: Round) -> Spot:
    return Spot(lat=float(row.depot_lat), lon=float(row.depot_lon))
