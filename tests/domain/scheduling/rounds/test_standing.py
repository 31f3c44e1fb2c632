"""Days as they stand: put first, whole and in their order; what cannot stay leaves alone."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from scheduling.domain.rounds.insertion import Draft, draft_of
from scheduling.domain.rounds.parts import parts_of
from scheduling.domain.rounds.standing import any_stands, as_it_stands, begun
from scheduling.domain.rounds.staying import costs
from scheduling.domain.rounds.timing import timed
from scheduling.domain.rounds.visits import Problem, Promise, Stay, Visit, Window
from tests.bench.rounds.weeks import town_with_spots
from tests.domain.scheduling.rounds.towns import MONDAY, day, week

Orders = dict[tuple[str, date], list[str]]


def town(seed: int, *, visits: int = 60) -> Problem:
    return town_with_spots(seed, visits=visits, testers=4, days=2, appointments=5)[0]


def keys_of(draft: Draft) -> Orders:
    return {key: [one.key for one in order] for key, order in draft.orders.items() if order}


def standing(problem: Problem, draft: Draft, *, minutes: int = 10) -> Problem:
    """The week with each planned visit standing where the draft has it."""
    stays = {
        stop.visit: Stay(one.tester, one.day, minutes, stop.arrive)
        for one in problem.days
        for stop in draft.stops(one)
    }
    visits = (
        visit if visit.promise else replace(visit, stay=stays.get(visit.key))
        for visit in problem.visits
    )
    return replace(problem, visits=tuple(visits))


def stands(seed: int, *, visits: int = 60, minutes: int = 10) -> tuple[Problem, Orders]:
    """A town whose days stand in an order that plain insertion would not choose."""
    problem = town(seed, visits=visits)
    draft = draft_of(problem, required_only=False)
    for one in problem.days:
        order = draft.orders.get(one.key, [])
        for at in range(len(order) - 1):
            other = [*order[:at], order[at + 1], order[at], *order[at + 2 :]]
            if timed(other, day=one, travel=problem.travel) is not None:
                draft.orders[one.key] = order = other
    return standing(problem, draft, minutes=minutes), keys_of(draft)


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("minutes", [0, 10])
def test_what_stands_is_put_as_it_stands(seed: int, minutes: int) -> None:
    problem, orders = stands(seed, minutes=minutes)
    assert keys_of(as_it_stands(problem)) == orders
    assert keys_of(draft_of(problem, required_only=False)) != orders


@pytest.mark.parametrize("seed", range(5))
def test_a_shorter_day_loses_only_what_fits_nowhere_on_it(seed: int) -> None:
    problem, orders = stands(seed)
    short = max(problem.days, key=lambda one: (len(orders.get(one.key, [])), one.tester))
    shorter = replace(short, ends=short.ends - 100)
    days = tuple(shorter if one is short else one for one in problem.days)
    problem = replace(problem, days=days)
    draft = as_it_stands(problem)
    found = keys_of(draft)
    assert {k: v for k, v in found.items() if k != short.key} == {
        k: v for k, v in orders.items() if k != short.key
    }
    left = set(orders[short.key]) - set(found[short.key])
    assert left
    for key in left:
        assert draft.place_on(problem.visit_by_key[key], shorter) is None
    assert any_stands(problem)


@pytest.mark.parametrize("seed", range(5))
def test_of_a_tester_who_is_gone_only_the_own_days_are_planned_anew(seed: int) -> None:
    problem, orders = stands(seed)
    days = tuple(one for one in problem.days if one.tester != "T-1")
    problem = replace(problem, days=days)
    kept = {key: order for key, order in orders.items() if key[0] != "T-1"}
    assert keys_of(as_it_stands(problem)) == kept
    found = keys_of(begun(problem))
    for key, order in kept.items():
        assert [one for one in found[key] if one in order] == order


def test_one_who_is_forbidden_leaves_alone() -> None:
    problem, orders = stands(2)
    key, order = next((key, order) for key, order in sorted(orders.items()) if len(order) > 4)
    gone = next(one for one in order if problem.visit_by_key[one].promise is None)
    visits = tuple(
        replace(one, barred=frozenset([key])) if one.key == gone else one for one in problem.visits
    )
    found = keys_of(as_it_stands(replace(problem, visits=visits)))
    assert found == {**orders, key: [one for one in order if one != gone]}


def test_one_whose_hours_changed_goes_to_another_hour_of_its_day() -> None:
    a, b, c = (
        Visit(name, place, 60, stay=Stay("T-1", MONDAY, 10, arrive))
        for name, place, arrive in (("a", 1, 490), ("b", 2, 560), ("c", 3, 630))
    )
    late = replace(a, windows=(Window(800, 900),), priority=9000)
    draft = as_it_stands(week([late, b, c], [day(), day(number=1)]))
    ((key, order),) = keys_of(draft).items()
    assert (key, set(order)) == (("T-1", MONDAY), {"a", "b", "c"})


def test_a_new_promise_takes_its_time_from_what_stands_there() -> None:
    a, b = (
        Visit(name, 0, 250, priority=points, stay=Stay("T-1", MONDAY, 10, arrive))
        for name, points, arrive in (("a", 900, 480), ("b", 100, 730))
    )
    told = Visit("P", 0, 60, promise=Promise("T-1", 480, 540))
    draft = as_it_stands(week([a, b, told], [day()]))
    assert keys_of(draft) == {("T-1", MONDAY): ["P", "a"]}


def test_what_must_be_planned_finds_room_among_what_stands() -> None:
    a, b = (
        Visit(name, 0, 250, stay=Stay("T-1", MONDAY, 10, arrive))
        for name, arrive in (("a", 480), ("b", 730))
    )
    must = Visit("must", 0, 200, required=True)
    draft = as_it_stands(week([a, b, must], [day()]))
    assert keys_of(draft) == {("T-1", MONDAY): ["must", "a"]} or keys_of(draft) == {
        ("T-1", MONDAY): ["a", "must"]
    }


def test_in_a_very_large_week_nothing_more_is_tried_than_what_stands() -> None:
    problem, orders = stands(1, visits=90)
    assert len(problem.visits) > sum(len(order) for order in orders.values())
    assert keys_of(begun(problem, most=0)) == orders
    assert costs(begun(problem)) <= costs(begun(problem, most=0))


@pytest.mark.parametrize("seed", range(4))
def test_a_visit_goes_to_the_part_of_the_tester_with_whom_it_stands(seed: int) -> None:
    problem, _orders = stands(seed, visits=100)
    barred = frozenset((one.tester, one.day) for one in problem.days if one.tester == "T-0")
    visits = tuple(
        replace(one, barred=barred) if number % 5 == 0 and one.promise is None else one
        for number, one in enumerate(problem.visits)
    )
    problem = replace(problem, visits=visits)
    parts = parts_of(problem, most=30)
    assert len(parts) > 1
    assert sorted(one.key for part in parts for one in part.visits) == sorted(problem.visit_by_key)
    for part in parts:
        testers = {one.tester for one in part.days}
        for visit in part.visits:
            if visit.stay is None or visit.promise is not None:
                continue
            may = problem.day_by_key[visit.stay.key].may_take(visit)
            assert visit.stay.tester in testers or not may
