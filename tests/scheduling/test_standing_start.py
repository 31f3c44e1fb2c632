"""A search begins from the days as they stand, and its answer is never worse than they are."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from itertools import pairwise

import pytest

from scheduling.domain.rounds.insertion import Draft
from scheduling.domain.rounds.plans import Plan, Stop
from scheduling.domain.rounds.standing import as_it_stands
from scheduling.domain.rounds.timing import timed
from scheduling.domain.rounds.visits import Problem, Stay, Visit, WorkingDay
from scheduling.solver import Effort, Solved, solve
from tests.bench.rounds.weeks import town_with_spots

ONCE = Effort(iterations=1, seed=99)
A_LOT = 1000
"""Minutes that no move saves, and that outweigh the least urgent visit."""

Where = dict[str, tuple[str, date]]


def where(plan: Plan) -> Where:
    """Each visit's tester and date."""
    return {stop.visit: one.key for one in plan.rounds for stop in one.stops}


def standing(problem: Problem, plan: Plan, *, minutes: int) -> Problem:
    """The week with the plan standing in it; promises are left as they are."""
    stays = {
        stop.visit: Stay(one.tester, one.day, minutes, stop.arrive)
        for one in plan.rounds
        for stop in one.stops
    }
    visits = (
        one if one.promise else replace(one, stay=stays.get(one.key)) for one in problem.visits
    )
    return replace(problem, visits=tuple(visits))


def town(seed: int, *, visits: int) -> tuple[Problem, Plan]:
    """Three testers' three days, some 90 visits of room, with a plan of them."""
    problem, _spots = town_with_spots(seed, visits=visits, testers=3, days=3, appointments=4)
    return problem, solve(problem, effort=Effort(iterations=60, seed=seed)).plan


def cost(orders: dict[tuple[str, date], list[str]], problem: Problem) -> tuple[int, int]:
    """Points left out; minutes driven and what moves must have saved, counted plainly."""
    on = {key: day for day, order in orders.items() for key in order}
    lost = sum(one.priority for one in problem.visits if one.key not in on)
    minutes = sum(
        one.stay.minutes
        for one in problem.visits
        if one.stay is not None and not one.promise and one.stay.key != on.get(one.key)
    )
    for day in problem.days:
        visits = [problem.visit_by_key[key] for key in orders.get(day.key, [])]
        places = [day.depot, *(one.place or 0 for one in visits), day.depot]
        minutes += sum(problem.travel.between(a, b) for a, b in pairwise(places))
    return lost, minutes


def of_plan(plan: Plan) -> dict[tuple[str, date], list[str]]:
    return {one.key: [stop.visit for stop in one.stops] for one in plan.rounds}


def of_draft(draft: Draft) -> dict[tuple[str, date], list[str]]:
    return {key: [one.key for one in order] for key, order in draft.orders.items()}


def planned_once(problem: Problem) -> Solved:
    found = solve(problem, effort=ONCE)
    assert found.violations == ()
    assert found.notes == ()
    return found


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("minutes", [0, 10, A_LOT])
def test_one_look_drops_nothing_that_stands_and_moves_nothing_without_paying(
    seed: int, minutes: int
) -> None:
    problem, before = town(seed, visits=50)
    assert before.left_out == ()
    again = standing(problem, before, minutes=minutes)
    found = planned_once(again).plan
    assert found.left_out == ()
    was, now = where(before), where(found)
    moved = [key for key in was if now[key] != was[key]]
    saved = cost(of_plan(before), problem)[1] - cost(of_plan(found), problem)[1]
    assert saved >= minutes * len(moved)
    if minutes == A_LOT:
        assert moved == []


def fullest(problem: Problem, plan: Plan) -> WorkingDay:
    """The day with most visits."""
    one = max(plan.rounds, key=lambda one: (len(one.stops), one.tester))
    return problem.day_by_key[one.key]


def gone(problem: Problem, plan: Plan) -> Problem:
    """A tester is ill on one day."""
    day = fullest(problem, plan)
    return replace(problem, days=tuple(one for one in problem.days if one is not day))


def shorter(problem: Problem, plan: Plan) -> Problem:
    """A tester's day ends three hours before it did."""
    day = fullest(problem, plan)
    (last,) = [one.stops[-1].leave for one in plan.rounds if one.key == day.key]
    short = replace(day, ends=last - 180)
    return replace(problem, days=tuple(short if one is day else one for one in problem.days))


def forbidden(problem: Problem, plan: Plan) -> Problem:
    """Somebody does not want that tester on that day any more."""
    day = fullest(problem, plan)
    key = next(
        stop.visit
        for one in plan.rounds
        for stop in one.stops
        if one.key == day.key and not problem.visit_by_key[stop.visit].promise
    )
    barred = frozenset([(day.tester, day.day)])
    visits = (replace(one, barred=barred) if one.key == key else one for one in problem.visits)
    return replace(problem, visits=tuple(visits))


def newcomers(problem: Problem, _plan: Plan) -> Problem:
    """Urgent work that stands nowhere."""
    new = [
        Visit(f"N{number}", number, 45, priority=5000, required=number == 0) for number in range(4)
    ]
    return replace(problem, visits=(*problem.visits, *new))


CHANGES = [gone, shorter, forbidden, newcomers]


@pytest.mark.parametrize("change", CHANGES)
@pytest.mark.parametrize("minutes", [0, 10])
def test_a_week_too_full_costs_no_more_than_it_does_as_it_stands(
    change: Callable[[Problem, Plan], Problem], minutes: int
) -> None:
    problem, before = town(4, visits=110)
    assert len(before.left_out) > 10
    again = change(standing(problem, before, minutes=minutes), before)
    found = solve(again, effort=ONCE)
    assert {one.rule.name for one in found.violations} <= {"PROMISE"}  # a promise of who is ill
    draft = as_it_stands(again)
    assert cost(of_plan(found.plan), again) <= cost(of_draft(draft), again)
    assert solve(again, effort=ONCE) == found


def affected(again: Problem, was: Where) -> set[str]:
    """What cannot stay: its day is gone or forbidden; of a shorter day nothing for sure."""
    return {
        key
        for key, day in was.items()
        if day not in again.day_by_key
        or not again.day_by_key[day].may_take(again.visit_by_key[key])
    }


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("change", CHANGES)
def test_only_what_must_is_moved(seed: int, change: Callable[[Problem, Plan], Problem]) -> None:
    problem, before = town(seed, visits=50)
    problem = replace(problem, visits=tuple(replace(v, promise=None) for v in problem.visits))
    again = change(standing(problem, before, minutes=A_LOT), before)
    found = planned_once(again).plan
    was, now = where(before), where(found)
    moved = {key for key in was if now.get(key) != was[key]}
    must = affected(again, was)
    assert must <= moved
    # Who is ill may be the only one for it.
    assert {left.visit for left in found.left_out} <= (must if change is gone else set())
    if change is not shorter:
        assert moved == must
        assert bool(moved) == (change is not newcomers)
        return
    day = again.day_by_key[fullest(problem, before).key]
    assert {was[key] for key in moved} == {day.key}
    kept = [again.visit_by_key[stop.visit] for stop in stops_on(found, day)]
    for key in moved:
        back = again.visit_by_key[key]
        for at in range(len(kept) + 1):
            assert timed([*kept[:at], back, *kept[at:]], day=day, travel=again.travel) is None


def stops_on(plan: Plan, day: WorkingDay) -> list[Stop]:
    return [stop for one in plan.rounds if one.key == day.key for stop in one.stops]


@pytest.mark.parametrize("minutes", [0, A_LOT])
def test_in_a_week_in_parts_what_stands_stays(
    minutes: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    problem, before = town(2, visits=50)
    again = standing(problem, before, minutes=minutes)
    monkeypatch.setattr("scheduling.domain.rounds.parts.MOST_VISITS", 20)
    found = planned_once(again).plan
    assert found.left_out == ()
    assert cost(of_plan(found), again) <= cost(of_plan(before), again)
    if minutes:
        assert where(found) == where(before)


def test_without_weight_the_order_that_stands_is_where_the_search_begins() -> None:
    problem, before = town(3, visits=110)
    # What the same single look finds from nothing is worse.
    anew = solve(problem, effort=ONCE).plan
    found = planned_once(standing(problem, before, minutes=0)).plan
    assert cost(of_plan(found), problem) <= cost(of_plan(before), problem)
    assert cost(of_plan(before), problem) < cost(of_plan(anew), problem)
