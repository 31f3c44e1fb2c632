"""Visits stay where they stand unless moving them saves more driving than a call is worth."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from scheduling.domain.rounds.checking import violations
from scheduling.domain.rounds.insertion import Draft, draft_of, plan_of
from scheduling.domain.rounds.plans import Plan
from scheduling.domain.rounds.staying import settled, stay_minutes
from scheduling.domain.rounds.visits import Problem, Stay, Visit
from scheduling.solver import Effort, solve
from tests.domain.scheduling.rounds.towns import MONDAY, day, town, week

TUESDAY = MONDAY + timedelta(days=1)
DAYS = [day(), day(number=1)]


def asked(minutes: int) -> Problem:
    """A drive to place 8 on Monday; A lies on the way, and stands alone on Tuesday: 100 minutes."""
    far = Visit(key="far", place=8, service_minutes=30, stay=Stay("T-1", MONDAY, 1000))
    on_the_way = Visit(key="A", place=5, service_minutes=30, stay=Stay("T-1", TUESDAY, minutes))
    return week([far, on_the_way], DAYS)


def dates(plan: Plan) -> dict[str, object]:
    return {stop.visit: one.day for one in plan.rounds for stop in one.stops}


@pytest.mark.parametrize(("minutes", "day_of_a"), [(0, MONDAY), (99, MONDAY), (101, TUESDAY)])
def test_a_move_that_saves_a_hundred_minutes_pays_below_that_and_not_above(
    minutes: int, day_of_a: object
) -> None:
    found = solve(asked(minutes), effort=Effort(iterations=60, seed=1))
    assert found.violations == ()
    assert dates(found.plan) == {"far": MONDAY, "A": day_of_a}


@pytest.mark.parametrize(("minutes", "goes_back"), [(99, False), (100, True), (101, True)])
def test_what_saved_no_more_than_it_must_goes_back(minutes: int, goes_back: bool) -> None:
    problem = asked(minutes)
    far, on_the_way = problem.visits
    draft = Draft(problem, {DAYS[0].key: [on_the_way, far]})
    assert stay_minutes(draft) == minutes
    settled(draft)
    there = {key: [one.key for one in order] for key, order in draft.orders.items() if order}
    if goes_back:
        assert there == {DAYS[0].key: ["far"], DAYS[1].key: ["A"]}
    else:
        assert there == {DAYS[0].key: ["A", "far"]}


def test_a_visit_whose_day_is_full_is_moved_all_the_same() -> None:
    full = Visit(key="full", place=0, service_minutes=510, required=True, priority=4000,
                 stay=Stay("T-1", TUESDAY, 1000))  # fmt: skip
    moved = Visit(key="A", place=5, service_minutes=30, stay=Stay("T-1", TUESDAY, 1000))
    found = solve(week([full, moved], DAYS), effort=Effort(iterations=60, seed=1))
    assert dates(found.plan) == {"full": TUESDAY, "A": MONDAY}


def test_a_plain_plan_puts_visits_where_they_stand() -> None:
    draft = draft_of(asked(10), required_only=False)
    assert dates(plan_of(draft, how="insertion")) == {"far": MONDAY, "A": TUESDAY}


def test_a_stay_on_a_day_or_with_a_tester_that_is_gone_binds_nobody() -> None:
    gone = Visit(key="A", place=5, service_minutes=30, stay=Stay("T-9", MONDAY, 1000))
    barred = Visit(
        key="B",
        place=5,
        service_minutes=30,
        stay=Stay("T-1", MONDAY, 1000),
        barred=frozenset([("T-1", MONDAY)]),
    )
    found = solve(week([gone, barred], DAYS), effort=Effort(iterations=60, seed=1))
    assert found.violations == ()
    assert dates(found.plan) == {"A": TUESDAY, "B": TUESDAY}


def test_fewer_visits_move_when_a_call_is_worth_something() -> None:
    problem = town(11, visits=60, testers=2, days=3)
    first = solve(problem, effort=Effort(iterations=100, seed=1)).plan
    was = {stop.visit: one.key for one in first.rounds for stop in one.stops}
    moved = {}
    for minutes in (0, 10):
        again = replace(
            problem,
            visits=tuple(
                replace(one, stay=Stay(*was[one.key], minutes)) if one.key in was else one
                for one in problem.visits
            ),
        )
        # A newcomer is more urgent than all others.
        new = Visit(key="new", place=problem.visits[7].place, service_minutes=45, priority=9000)
        again = replace(again, visits=(*again.visits, new))
        plan = solve(again, effort=Effort(iterations=100, seed=2)).plan
        assert violations(plan, problem=again) == ()
        now = {stop.visit: one.key for one in plan.rounds for stop in one.stops}
        assert "new" in now
        moved[minutes] = sum(1 for key in was if key in now and now[key] != was[key])
    assert moved[10] < moved[0] / 2, moved
