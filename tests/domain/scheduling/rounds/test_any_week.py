"""Whatever the week, what we plan breaks no rule, and the checker sees the smallest cheat."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.domain.rounds.checking import Rule, violations
from scheduling.domain.rounds.helping import helps_for
from scheduling.domain.rounds.insertion import Draft, draft_of, plan_of
from scheduling.domain.rounds.plans import Plan
from scheduling.domain.rounds.standing import as_it_stands
from scheduling.domain.rounds.staying import costs
from scheduling.domain.rounds.timing import timed
from scheduling.domain.rounds.visits import (
    Lunch,
    Problem,
    Promise,
    Stay,
    Visit,
    Window,
    WorkingDay,
)
from scheduling.solver import Effort, solve
from tests.domain.scheduling.rounds.towns import MONDAY, day, week

SKILLS = ["fire lines", "confined space"]
DAYS = 2
TESTERS_DAYS = [(tester, MONDAY + timedelta(days=n)) for tester in ("T-1", "T-2") for n in (0, 1)]
LEFT_TO_A_PERSON = {Rule.PROMISE, Rule.REQUIRED}
"""What no plan can mend: promises and requirements that the week does not allow."""


@st.composite
def windows(draw: st.DrawFn) -> tuple[Window, ...]:
    found = []
    for _ in range(draw(st.integers(0, 3))):
        opens = draw(st.integers(0, DAYS * 1440))
        found.append(Window(opens, opens + draw(st.integers(0, 400))))
    return tuple(found)


def stays() -> st.SearchStrategy[Stay]:
    """Where an earlier plan had a visit; also with a tester who is gone."""
    testers_days = st.sampled_from([*TESTERS_DAYS, ("T-9", MONDAY)])
    minutes, arrive = st.integers(0, 60), st.integers(0, DAYS * 1440)
    second = st.sampled_from(["", "T-1", "T-2", "T-9"])
    return st.builds(
        lambda key, n, at, beside: Stay(key[0], key[1], n, at, beside),
        testers_days,
        minutes,
        arrive,
        second,
    )


@st.composite
def visits(draw: st.DrawFn, *, key: str, people: int) -> Visit:
    minutes = draw(st.integers(0, 250))
    promise = None
    if draw(st.integers(0, 9)) == 0:
        arrive = draw(st.integers(480, 1440 + 900))
        promise = Promise(draw(st.sampled_from(["T-1", "T-2"])), arrive, arrive + minutes)
    return Visit(
        key=key,
        place=draw(st.none() | st.integers(0, 12)),
        service_minutes=minutes,
        priority=draw(st.integers(100, 4000)),
        windows=draw(windows()),
        skills=frozenset(draw(st.lists(st.sampled_from(SKILLS), max_size=1))),
        not_before=draw(st.just(0) | st.integers(0, DAYS * 1440)),
        required=draw(st.integers(0, 9)) == 0,
        promise=promise,
        barred=frozenset(draw(st.lists(st.sampled_from(TESTERS_DAYS), max_size=1))),
        people=draw(st.integers(1, people)),
        stay=draw(st.none() | stays()),
        space=draw(st.just(0) | st.integers(0, 4)),
    )


@st.composite
def working_days(draw: st.DrawFn, *, lunches: bool) -> list[WorkingDay]:
    found = []
    for tester in ("T-1", "T-2"):
        skills = draw(st.lists(st.sampled_from(SKILLS), unique=True))
        depot = draw(st.integers(0, 12))
        for number in range(DAYS):
            one = day(tester, number=number, depot=depot, skills=skills)
            if lunches and draw(st.booleans()):
                noon = Window(number * 1440 + 690, number * 1440 + 780)
                one = replace(one, lunch=Lunch(noon, draw(st.integers(0, 90))))
            if draw(st.booleans()):
                one = replace(one, longest_minutes=draw(st.integers(60, 600)))
            if draw(st.integers(0, 4)) == 0:
                one = replace(one, most_visits=draw(st.integers(0, 3)))
            if draw(st.integers(0, 2)) == 0:
                one = replace(one, places=draw(st.integers(0, 6)))
            found.append(one)
    return draw(st.lists(st.sampled_from(found), unique=True))


@st.composite
def weeks(draw: st.DrawFn, *, lunches: bool = True, people: int = 1) -> Problem:
    count = draw(st.integers(0, 10))
    return week(
        [draw(visits(key=f"V{n}", people=people)) for n in range(count)],
        draw(working_days(lunches=lunches)),
    )


def broken(plan: Plan, problem: Problem) -> set[Rule]:
    found = {one.rule for one in violations(plan, problem=problem)}
    return found - LEFT_TO_A_PERSON


@given(weeks())
def test_plain_insertion_breaks_no_rule_and_accounts_for_every_visit(problem: Problem) -> None:
    plan = plan_of(draft_of(problem, required_only=False), how="insertion")
    assert broken(plan, problem) == set()
    told = [stop.visit for one in plan.rounds for stop in one.stops]
    told += [left.visit for left in plan.left_out]
    assert sorted(told) == sorted(problem.visit_by_key)


@given(weeks(lunches=False))
def test_no_stop_could_begin_a_minute_earlier(problem: Problem) -> None:
    plan = plan_of(draft_of(problem, required_only=False), how="insertion")
    for one in plan.rounds:
        for index, stop in enumerate(one.stops):
            early = replace(stop, arrive=stop.arrive - 1, leave=stop.leave - 1)
            stops = (*one.stops[:index], early, *one.stops[index + 1 :])
            cheat = replace(
                plan,
                rounds=tuple(
                    replace(one, stops=stops) if other is one else other for other in plan.rounds
                ),
            )
            assert violations(cheat, problem=problem) != violations(plan, problem=problem)


@given(weeks(lunches=False))
def test_swapping_two_neighbours_without_new_times_is_seen(problem: Problem) -> None:
    plan = plan_of(draft_of(problem, required_only=False), how="insertion")
    for one in plan.rounds:
        for before, after in pairwise(one.stops):
            if before.leave == before.arrive or after.leave == after.arrive:
                continue  # a visit of no length may stand on either side of a moment
            order = tuple(
                after if stop is before else before if stop is after else stop for stop in one.stops
            )
            cheat = Plan((replace(one, stops=order),), plan.left_out, "by hand")
            assert Rule.TRAVEL in {v.rule for v in violations(cheat, problem=problem)}


@settings(max_examples=25, deadline=None)
@given(weeks(people=2))
def test_the_engine_breaks_no_rule_either(problem: Problem) -> None:
    found = solve(problem, effort=Effort(iterations=20, seed=1))
    assert {one.rule for one in found.violations} <= LEFT_TO_A_PERSON
    assert found.violations == violations(found.plan, problem=problem)
    helped = helps_for(found.plan, problem=problem).found
    assert set(helped) == {left.visit for left in found.plan.left_out}


def changed(problem: Problem, *, minutes: int, number: int, less: int) -> Problem:
    """The week standing as plain insertion plans it, one of its days shorter than then."""
    draft = draft_of(problem, required_only=False)
    stays = {
        stop.visit: Stay(one.tester, one.day, minutes, stop.arrive)
        for one in problem.days
        for stop in draft.stops(one)
    }
    days = (
        replace(one, ends=max(one.starts, one.ends - less)) if at == number else one
        for at, one in enumerate(problem.days)
    )
    visits = (replace(one, stay=stays.get(one.key)) for one in problem.visits)
    return replace(problem, visits=tuple(visits), days=tuple(days))


@settings(max_examples=25, deadline=None)
@given(weeks(), st.integers(0, 30), st.integers(0, 3), st.integers(0, 200))
def test_what_is_found_is_never_worse_than_what_stands(
    before: Problem, minutes: int, number: int, less: int
) -> None:
    problem = changed(before, minutes=minutes, number=number, less=less)
    found = solve(problem, effort=Effort(iterations=1, seed=1))
    orders = {
        one.key: [problem.visit_by_key[stop.visit] for stop in one.stops]
        for one in found.plan.rounds
    }
    assert costs(Draft(problem, orders)) <= costs(as_it_stands(problem))


@settings(max_examples=25, deadline=None)
@given(weeks(lunches=False))
def test_what_is_left_out_for_want_of_hours_really_fits_nowhere(problem: Problem) -> None:
    found = solve(problem, effort=Effort(iterations=20, seed=1))
    orders = {
        one.key: [problem.visit_by_key[stop.visit] for stop in one.stops]
        for one in found.plan.rounds
    }
    for left in found.plan.left_out:
        visit = problem.visit_by_key[left.visit]
        if visit.place is None or visit.promise is not None:
            continue
        for one in (one for one in problem.days if one.may_take(visit)):
            order = orders.get(one.key, [])
            if one.most_visits is not None and len(order) >= one.most_visits:
                continue
            if one.places is not None and sum(v.space for v in order) + visit.space > one.places:
                continue
            for position in range(len(order) + 1):
                longer = [*order[:position], visit, *order[position:]]
                assert timed(longer, day=one, travel=problem.travel) is None
