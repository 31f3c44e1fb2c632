"""Visits of two people: times found as quickly as slowly, and left where they stand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from itertools import groupby

import pytest

from scheduling.domain.rounds.checking import violations
from scheduling.domain.rounds.insertion import Draft, draft_of, plan_of
from scheduling.domain.rounds.pairs import chances, with_pairs
from scheduling.domain.rounds.slots import best_slots
from scheduling.domain.rounds.standing import begun
from scheduling.domain.rounds.visits import (
    Problem,
    Promise,
    Stay,
    Visit,
    Window,
    WorkingDay,
    second_key,
)
from tests.bench.rounds.weeks import town_with_spots
from tests.domain.scheduling.rounds.towns import MONDAY, day, week

TUESDAY = MONDAY + timedelta(days=1)


def slow_chances(visit: Visit, draft: Draft) -> Iterator[tuple[int, WorkingDay, WorkingDay, int]]:
    """Every quarter of an hour on every day, each driven through with the visit at every place."""
    able = [one for one in draft.problem.days if one.may_take(visit)]
    able.sort(key=lambda one: (one.day, one.team, one.tester))
    for _key, group in groupby(able, key=lambda one: (one.day, one.team)):
        days = list(group)
        since, until = min(one.starts for one in days), max(one.ends for one in days)
        times: set[int] = set()
        for window in visit.open_windows():
            first = max(window.opens, since)
            last = min(window.closes, until) - visit.service_minutes
            times |= {at for at in range(first, last + 1) if at == first or at % 15 == 0}
        for arrive in sorted(times):
            found = []
            for index, one in enumerate(days):
                promise = Promise(one.tester, arrive, arrive + visit.service_minutes)
                place = draft.place_on(replace(visit, promise=promise), one)
                if place is not None:
                    found.append((place.extra_minutes, index))
            if len(found) > 1:
                (cost, here), (more, there) = sorted(found)[:2]
                yield cost + more, days[here], days[there], arrive


@pytest.mark.parametrize("minutes", [5, 30])
@pytest.mark.parametrize("seed", range(1, 5))
def test_the_quick_way_finds_what_the_slow_way_finds(seed: int, minutes: int) -> None:
    problem, _spots = town_with_spots(seed, visits=40, testers=4, days=2, appointments=8)
    # Longest days and most visits too, and an order that nobody can drive.
    days = [
        replace(one, longest_minutes=400) if index % 3 == 0 else replace(one, most_visits=9)
        for index, one in enumerate(problem.days)
    ]
    draft = draft_of(replace(problem, days=tuple(days)), required_only=False)
    late = next(order for order in draft.orders.values() if len(order) > 3)
    late.reverse()
    windows = ((), (Window(500, 700), Window(1440 + 600, 1440 + 900)))[seed % 2]
    vault = Visit("vault", problem.visits[seed].place, minutes, windows=windows, people=2)
    found = [
        (one.extra_minutes, one.first, one.second, one.arrive)
        for one in chances(vault, draft=draft)
    ]
    assert found == list(slow_chances(vault, draft))
    assert found


def test_slots_of_two_people_are_the_slow_ways_best() -> None:
    problem, _spots = town_with_spots(3, visits=60, testers=4, days=2, appointments=8)
    draft = draft_of(problem, required_only=False)
    vault = Visit("vault", problem.visits[7].place, 5, people=2)
    slots = best_slots(vault, draft=draft)
    assert slots
    best: dict[frozenset[object], int] = {}
    for cost, here, there, _arrive in slow_chances(vault, draft):
        both = frozenset([here.key, there.key])
        best[both] = min(cost, best.get(both, cost))
    assert [slot.extra_minutes for slot in slots] == sorted(best.values())[: len(slots)]


# Where pairs stand. The vault is an hour from the depots of T-1 and T-2, and at T-3's and T-4's.


def standing(stay: Stay | None, *, days: list[WorkingDay] | None = None, **more: object) -> Problem:
    vault = Visit("V", 6, 30, people=2, stay=stay, **more)  # type: ignore[arg-type]
    at_home = [day("T-1"), day("T-2"), day("T-1", number=1), day("T-2", number=1)]
    return week([vault], at_home if days is None else days)


def fixed(problem: Problem) -> tuple[Promise, Promise] | None:
    """Both people's promises, by what the pair was fixed for."""
    asked, left = with_pairs(problem)
    if left:
        return None
    first, second = asked.visit_by_key["V"].promise, asked.visit_by_key[second_key("V")].promise
    assert first is not None
    assert second is not None
    return first, second


def test_without_a_stay_the_first_possible_time_is_taken() -> None:
    assert fixed(standing(None)) == (Promise("T-1", 540, 570), Promise("T-2", 540, 570))


@pytest.mark.parametrize("minutes", [0, 10])
@pytest.mark.parametrize("arrive", [1440 + 600, 1440 + 607])
def test_a_pair_stands_with_both_people_at_its_time(minutes: int, arrive: int) -> None:
    stay = Stay("T-2", TUESDAY, minutes, arrive, "T-1")
    leave = arrive + 30
    told = (Promise("T-2", arrive, leave), Promise("T-1", arrive, leave))
    assert fixed(standing(stay)) == told  # the first stays the first


@pytest.mark.parametrize(("minutes", "testers"), [(239, {"T-3", "T-4"}), (241, {"T-1", "T-2"})])
def test_moving_a_pair_must_save_more_than_its_stay(minutes: int, testers: set[str]) -> None:
    # Both drive 120 minutes there and back; the other two live there.
    days = [day("T-1"), day("T-2"), day("T-3", depot=6), day("T-4", depot=6)]
    two = fixed(standing(Stay("T-1", MONDAY, minutes, 600, "T-2"), days=days))
    assert two is not None
    assert {one.tester for one in two} == testers


def test_a_pair_whose_hour_is_taken_keeps_its_day_and_its_people() -> None:
    stay = Stay("T-2", TUESDAY, 10, 1440 + 600, "T-1")
    closed = standing(stay, windows=(Window(480, 900), Window(1440 + 720, 1440 + 900)))
    at = 1440 + 720
    assert fixed(closed) == (Promise("T-2", at, at + 30), Promise("T-1", at, at + 30))


@pytest.mark.parametrize("gone", ["T-1", "T-2"])
def test_a_pair_whose_tester_is_gone_moves(gone: str) -> None:
    days = [day("T-1"), day("T-2"), day("T-3", depot=6)]
    days = [one for one in days if one.tester != gone]
    two = fixed(standing(Stay("T-1", MONDAY, 10, 600, "T-2"), days=days))
    assert two is not None
    assert gone not in {one.tester for one in two}
    assert fixed(standing(Stay("T-1", MONDAY, 10, 600, "T-2"), days=days[:1])) is None


def test_a_pair_forbidden_where_it_stands_moves() -> None:
    barred = frozenset([("T-2", MONDAY)])
    two = fixed(standing(Stay("T-1", MONDAY, 1000, 600, "T-2"), barred=barred))
    assert two is not None
    assert two[0].arrive == 1440 + 540


def test_a_newcomer_does_not_push_a_pair_from_where_it_stands() -> None:
    stay = Stay("T-1", MONDAY, 10, 540, "T-2")
    vault = Visit("V", 6, 30, people=2, stay=stay)
    urgent = Visit("N", 6, 60, people=2, priority=9000)
    asked, left = with_pairs(week([vault, urgent], [day("T-1"), day("T-2")]))
    assert left == ()
    both = asked.visit_by_key["V"].promise, asked.visit_by_key["N"].promise
    assert both == (Promise("T-1", 540, 570), Promise("T-1", 570, 630))


def test_a_newcomer_that_would_find_no_room_comes_first_all_the_same() -> None:
    vault = Visit("V", 0, 300, people=2, priority=100, stay=Stay("T-1", MONDAY, 10, 480, "T-2"))
    urgent = Visit("N", 0, 300, people=2, priority=9000)
    asked, left = with_pairs(week([vault, urgent], [day("T-1"), day("T-2")]))
    assert [one.visit for one in left] == ["V"]
    assert asked.visit_by_key["N"].promise == Promise("T-1", 480, 780)


def test_a_pair_is_not_moved_where_the_rest_of_the_week_pays_for_it() -> None:
    # T-3 and T-4 live at the vault, but their day is full of what stands there.
    full = [
        Visit(f"F{tester}", 6, 500, priority=4000, stay=Stay(tester, MONDAY, 10, 480))
        for tester in ("T-3", "T-4")
    ]
    vault = Visit("V", 6, 30, people=2, stay=Stay("T-1", MONDAY, 10, 600, "T-2"))
    days = [day("T-1"), day("T-2"), day("T-3", depot=6), day("T-4", depot=6)]
    asked, left = with_pairs(week([vault, *full], days))
    assert left == ()
    assert asked.visit_by_key["V"].promise == Promise("T-1", 600, 630)
    plan = plan_of(begun(asked), how="insertion")
    assert violations(plan, problem=week([vault, *full], days)) == ()
    assert plan.left_out == ()
