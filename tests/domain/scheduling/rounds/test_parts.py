"""A very large week in parts: nothing lost, nobody doubled, promises with their testers."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from scheduling.domain.rounds.parts import parts_of
from scheduling.domain.rounds.visits import Problem, Promise, Visit
from tests.domain.scheduling.rounds.towns import day, town, week


@pytest.mark.parametrize("seed", range(5))
def test_every_visit_and_day_is_in_exactly_one_part(seed: int) -> None:
    problem = town(seed, visits=120, testers=8, days=3)
    parts = parts_of(problem, most=40)
    assert len(parts) >= 3
    assert Counter(one.key for part in parts for one in part.visits) == Counter(
        one.key for one in problem.visits
    )
    assert Counter(one.key for part in parts for one in part.days) == Counter(
        one.key for one in problem.days
    )
    for part in parts:
        # A tester's whole week is in one part, so that nobody is planned twice.
        testers = {one.tester for one in part.days}
        assert all(
            other is part or not testers & {one.tester for one in other.days} for other in parts
        )


@pytest.mark.parametrize("seed", range(5))
def test_what_a_visit_asks_for_is_in_its_part_where_anybody_has_it(seed: int) -> None:
    problem = town(seed, visits=120, testers=8, days=3)
    for part in parts_of(problem, most=40):
        for visit in part.visits:
            assert any(one.may_take(visit) for one in part.days)


def test_a_promised_visit_goes_with_its_tester() -> None:
    problem = town(1, visits=60, testers=4, days=2)
    promised = {
        visit.key: replace(visit, skills=frozenset(), promise=Promise(f"T-{number % 4}", 600, 630))
        for number, visit in enumerate(problem.visits[:20])
    }
    visits = tuple(promised.get(one.key, one) for one in problem.visits)
    for part in parts_of(Problem(visits, problem.days, problem.travel), most=20):
        for visit in part.visits:
            if visit.promise is not None and len(part.days) < len(problem.days):
                assert visit.promise.tester in {one.tester for one in part.days}


def test_a_small_week_and_a_single_tester_stay_whole() -> None:
    small = town(1, visits=30, testers=3, days=2)
    assert parts_of(small, most=30) == [small]
    alone = week([Visit(f"V{n}", n, 30) for n in range(50)], [day(number=n) for n in range(3)])
    assert parts_of(alone, most=10) == [alone]
