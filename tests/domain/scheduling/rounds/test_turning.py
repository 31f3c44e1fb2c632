"""Stretches of a day turned round: shorter, drivable, and with the same visits in it."""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

import pytest

from scheduling.domain.rounds.insertion import Draft, draft_of
from scheduling.domain.rounds.turning import turned
from scheduling.domain.rounds.visits import Problem, Promise, Visit, Window, WorkingDay
from tests.domain.scheduling.rounds.towns import MONDAY, day, town, week


@dataclass(frozen=True)
class OneWay:
    """Seeded minutes that differ by direction, as one-way streets make them."""

    table: tuple[tuple[int, ...], ...]
    how: str = "one way"

    def between(self, origin: int, target: int) -> int:
        return self.table[origin][target]


def in_order(*places: int, minutes: int = 5) -> list[Visit]:
    return [Visit(key=str(place), place=place, service_minutes=minutes) for place in places]


def ordered(problem: Problem, visits: list[Visit]) -> list[str]:
    """The day's order after turning, by key."""
    (only,) = problem.days
    draft = turned(Draft(problem, {only.key: visits}))
    return [visit.key for visit in draft.orders[only.key]]


def driven(problem: Problem, order: list[Visit]) -> int:
    places = [0, *(visit.place or 0 for visit in order), 0]
    return sum(problem.travel.between(a, b) for a, b in pairwise(places))


def test_a_crossing_is_untangled() -> None:
    # Out to 2, on to 6, back to 4, on to 8: 10 x (2 + 4 + 2 + 4 + 8) = 200 minutes; straight 160.
    visits = in_order(2, 6, 4, 8)
    assert ordered(week(visits, [day()]), visits) == ["2", "4", "6", "8"]


def test_a_promise_is_never_turned_out_of_its_time() -> None:
    fixed = replace(in_order(6)[0], promise=Promise("T-1", 545, 550))
    visits = [in_order(2)[0], fixed, *in_order(4, 8)]
    problem = week(visits, [day()])
    assert ordered(problem, visits) == ["2", "6", "8", "4"]


def test_a_window_that_would_be_missed_stays_before_what_it_is_before() -> None:
    visits = in_order(2, 6, 4, 8)
    visits[1] = replace(visits[1], windows=(Window(480, 550),))
    assert ordered(week(visits, [day()]), visits) == ["2", "6", "8", "4"]


def test_ten_minutes_less_driving_are_not_worth_more_than_a_hundred_of_waiting() -> None:
    # B first saves ten minutes on the way home, but A would then wait for its second window.
    visits = [
        Visit(key="A", place=1, service_minutes=5, windows=(Window(490, 495), Window(900, 905))),
        Visit(key="B", place=2, service_minutes=5),
    ]
    table = ((0, 10, 10), (10, 0, 10), (20, 10, 0))
    problem = Problem(tuple(visits), (day(),), OneWay(table))
    assert ordered(problem, visits) == ["A", "B"]


@pytest.mark.parametrize("seed", range(6))
def test_no_stretch_turned_round_is_shorter_still(seed: int) -> None:
    dice = random.Random(seed)
    size = 12
    table = tuple(tuple(dice.randint(1, 30) * (a != b) for b in range(size)) for a in range(size))
    visits = in_order(*dice.sample(range(1, size), size - 1))
    days = (WorkingDay("T-1", MONDAY, 0, 10_000, depot=0),)
    problem = Problem(tuple(visits), days, OneWay(table))
    before = driven(problem, visits)
    order = [problem.visit_by_key[key] for key in ordered(problem, visits)]
    assert sorted(one.key for one in order) == sorted(one.key for one in visits)
    assert driven(problem, order) <= before
    for first, last in combinations(range(len(order)), 2):
        other = [*order[:first], *reversed(order[first : last + 1]), *order[last + 1 :]]
        assert driven(problem, other) >= driven(problem, order)


def test_a_seeded_town_keeps_who_does_what() -> None:
    problem = town(3, visits=40, testers=2, days=2)
    draft = draft_of(problem, required_only=False)
    before = {key: {visit.key for visit in order} for key, order in draft.orders.items()}
    turned(draft)
    assert {key: {visit.key for visit in order} for key, order in draft.orders.items()} == before
    for one in problem.days:
        draft.stops(one)  # raises where a day cannot be driven
