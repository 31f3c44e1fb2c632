"""Levelling against brute force, against a library's assignment, and by hand."""

from __future__ import annotations

import itertools
from collections import Counter, defaultdict
from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment

from scheduling.domain.level_periods import Capacity, Per, Period, periods_of
from scheduling.domain.level_visits import Duty, Visit, day_in, visits_of
from scheduling.domain.levelling import Levelling, level

MONDAY = date(2026, 1, 5)
ONE_WEEK = timedelta(weeks=1)


def weekly(number: int) -> Capacity:
    return Capacity(number=number, per=Per.WEEK)


def duty(
    key: int, *, due: date, opens: int = 60, place: int | None = None, loses: bool = True
) -> Duty:
    return Duty(
        key=key,
        place=key if place is None else place,
        from_on=due - timedelta(days=opens),
        due_on=due,
        loses_days=loses,
    )


def over_of(found: Levelling) -> int:
    return sum(more for _, more in found.over)


def assert_lawful(found: Levelling, duties: Sequence[Duty], *, first: date) -> None:
    """Each target counts, is in time, and the loads are those of the targets."""
    for one in duties:
        target = found.targets[one.key]
        assert max(first, one.from_on) <= target <= one.due_on
    loads = Counter(
        next(n for n, period in enumerate(found.periods) if period.first <= day <= period.last)
        for day in found.targets.values()
    )
    assert tuple(loads.get(n, 0) for n in range(len(found.periods))) == found.loads


# --- by hand ------------------------------------------------------------------


def test_what_fits_already_is_aimed_at_its_own_week() -> None:
    duties = [duty(n, due=MONDAY + n * ONE_WEEK + timedelta(days=4)) for n in range(4)]
    found = level(duties=duties, capacity=weekly(1), first=MONDAY, last=MONDAY + 5 * ONE_WEEK)
    assert found.targets == {one.key: one.due_on for one in duties}
    assert (found.lost_days, found.is_feasible) == (0, True)


def test_a_heap_is_spread_backwards_with_the_fewest_days_lost() -> None:
    # Three due on Friday January 30, one a week: January 30, 23, 16 lose 0 + 7 + 14 days.
    duties = [duty(n, due=date(2026, 1, 30)) for n in range(3)]
    found = level(duties=duties, capacity=weekly(1), first=MONDAY, last=date(2026, 2, 1))
    assert sorted(found.targets.values()) == [date(2026, 1, d) for d in (16, 23, 30)]
    assert found.lost_days == 21


def test_nothing_is_aimed_before_a_test_counts_for_it() -> None:
    # Opens 10 days before: only the last two weeks are open to it.
    duties = [duty(n, due=date(2026, 1, 30), opens=10) for n in range(3)]
    found = level(duties=duties, capacity=weekly(1), first=MONDAY, last=date(2026, 2, 1))
    assert not found.is_feasible
    assert over_of(found) == 1
    assert found.enough == 2
    assert_lawful(found, duties, first=MONDAY)


def test_a_season_s_tests_keep_to_the_season_and_lose_nothing() -> None:
    # Cross Valley WA: due 31 May; a teaching season opening 1 March leaves 13 weeks.
    opens, due = date(2026, 3, 1), date(2026, 5, 31)
    duties = [duty(n, due=due, opens=(due - opens).days, loses=False) for n in range(130)]
    found = level(duties=duties, capacity=weekly(10), first=MONDAY, last=date(2026, 12, 31))
    assert found.is_feasible
    assert found.lost_days == 0
    assert min(found.targets.values()) >= opens
    assert {load for load in found.loads if load} == {10}


def test_the_tests_of_a_premises_are_kept_together() -> None:
    duties = [
        duty(1, due=date(2026, 5, 31), opens=91, place=7),
        duty(2, due=date(2026, 7, 9), opens=60, place=7),  # from 10 May
    ]
    found = level(duties=duties, capacity=weekly(2), first=MONDAY, last=date(2026, 12, 31))
    assert found.targets[1] == found.targets[2]
    assert found.visits == 1


def test_windows_that_never_meet_are_two_visits() -> None:
    apart = [
        duty(1, due=date(2026, 3, 1), opens=30, place=7),
        duty(2, due=date(2026, 9, 1), opens=30, place=7),
    ]
    assert [visit.size for visit in visits_of(apart)] == [1, 1]


def test_a_premises_larger_than_a_week_is_said_to_be_over_by_the_rest() -> None:
    duties = [duty(n, due=date(2026, 1, 30), place=1) for n in range(5)]
    found = level(duties=duties, capacity=weekly(3), first=MONDAY, last=date(2026, 2, 1))
    assert over_of(found) == 2
    assert found.enough == 5


def test_a_month_s_capacity_holds_for_the_month() -> None:
    duties = [duty(n, due=date(2026, 3, 31), opens=89) for n in range(30)]
    capacity = Capacity(number=10, per=Per.MONTH)
    found = level(duties=duties, capacity=capacity, first=date(2026, 1, 1), last=date(2026, 3, 31))
    assert found.loads == (10, 10, 10)
    assert found.is_feasible


def test_part_of_a_week_has_room_for_its_working_days() -> None:
    wednesday = date(2026, 1, 7)
    rooms = [
        p.room for p in periods_of(capacity=weekly(25), first=wednesday, last=date(2026, 1, 20))
    ]
    assert rooms == [15, 25, 10]


def test_a_week_is_aimed_at_its_friday_and_a_weekend_only_where_nothing_else_counts() -> None:
    week = Period(first=MONDAY, last=date(2026, 1, 11), room=5)
    late = Visit((duty(1, due=date(2026, 1, 20)),), date(2026, 1, 1), date(2026, 1, 20))
    weekend = Visit((duty(1, due=date(2026, 1, 20)),), date(2026, 1, 10), date(2026, 1, 20))
    assert day_in(late, period=week) == date(2026, 1, 9)
    assert day_in(weekend, period=week) == date(2026, 1, 11)


def test_what_is_due_outside_the_stretch_is_refused() -> None:
    with pytest.raises(ValueError, match="cannot be levelled"):
        level(
            duties=[duty(1, due=date(2027, 1, 1))],
            capacity=weekly(1),
            first=MONDAY,
            last=date(2026, 12, 31),
        )


def test_nothing_owed_is_level() -> None:
    found = level(duties=[], capacity=weekly(1), first=MONDAY, last=MONDAY + ONE_WEEK)
    assert (found.targets, found.is_feasible) == ({}, True)


# --- against brute force --------------------------------------------------------

small_duties = st.lists(
    st.tuples(
        st.integers(0, 34),  # due, days after the first Monday
        st.integers(0, 40),  # opens so many days before
        st.integers(0, 3),  # premises
        st.booleans(),
    ),
    min_size=1,
    max_size=6,
)


def brute_force(duties: Sequence[Duty], periods: Sequence[Period]) -> tuple[int, int, int]:
    """The least (work over, days lost, days moved) over every way to place the visits."""
    visits = visits_of(duties)
    ways = [
        [(n, day) for n, period in enumerate(periods) if (day := day_in(visit, period=period))]
        for visit in visits
    ]
    best: tuple[int, int, int] | None = None
    for choice in itertools.product(*ways):
        loads: dict[int, int] = defaultdict(int)
        lost = moved = 0
        for visit, (number, day) in zip(visits, choice, strict=True):
            loads[number] += visit.size
            lost += visit.lost_days(day)
            moved += visit.moved_days(day)
        over = sum(max(load - periods[n].room, 0) for n, load in loads.items())
        best = min(best or (over, lost, moved), (over, lost, moved))
    assert best is not None
    return best


@settings(max_examples=150, deadline=None)
@given(rows=small_duties, number=st.integers(0, 3))
def test_no_other_plan_is_better(rows: list[tuple[int, int, int, bool]], number: int) -> None:
    last = MONDAY + timedelta(days=34)
    duties = [
        Duty(
            key=key,
            place=place,
            from_on=MONDAY + timedelta(days=due - opens),
            due_on=MONDAY + timedelta(days=due),
            loses_days=loses,
        )
        for key, (due, opens, place, loses) in enumerate(rows)
    ]
    capacity = weekly(number)
    found = level(duties=duties, capacity=capacity, first=MONDAY, last=last)
    assert_lawful(found, duties, first=MONDAY)
    moved = sum((one.due_on - found.targets[one.key]).days for one in duties)
    periods = periods_of(capacity=capacity, first=MONDAY, last=last)
    assert (over_of(found), found.lost_days, moved) == brute_force(duties, periods)
    assert found.is_proven
    if found.enough is not None:
        rooms = [weekly(found.enough - 1), weekly(found.enough)]
        cut = [periods_of(capacity=one, first=MONDAY, last=last) for one in rooms]
        assert brute_force(duties, cut[0])[0] > 0
        assert brute_force(duties, cut[1])[0] == 0


# --- against a library -----------------------------------------------------------


@pytest.mark.parametrize("seed", range(5))
def test_days_lost_equal_those_of_an_assignment_solved_by_a_library(seed: int) -> None:
    """scipy's linear_sum_assignment: every place of every week is a column of its own."""
    draw = np.random.default_rng(seed)
    last = MONDAY + timedelta(days=7 * 26 - 1)
    duties = [
        duty(n, due=MONDAY + timedelta(days=int(day)), opens=int(opens))
        for n, (day, opens) in enumerate(
            zip(draw.integers(60, 7 * 26, 150), draw.integers(20, 75, 150), strict=True)
        )
    ]
    capacity = weekly(9)
    found = level(duties=duties, capacity=capacity, first=MONDAY, last=last)
    periods = periods_of(capacity=capacity, first=MONDAY, last=last)
    columns = [period for period in periods for _ in range(period.room)]
    never = 10_000
    costs = np.full((len(duties), len(columns)), never)
    for row, visit in enumerate(visits_of(duties)):
        for column, period in enumerate(columns):
            day = day_in(visit, period=period)
            if day is not None:
                costs[row, column] = visit.lost_days(day)
    chosen = costs[linear_sum_assignment(costs)]
    assert chosen.max() < never  # the library found a plan that fits, so must we
    assert found.is_feasible
    assert found.lost_days == chosen.sum()


@pytest.mark.slow
@pytest.mark.parametrize("number", [290, 250], ids=["fits", "does not fit"])
def test_ten_thousand_obligations_are_levelled_and_proven(number: int) -> None:
    draw = np.random.default_rng(7)
    first, last = date(2026, 1, 1), date(2026, 12, 31)
    days = np.sort(draw.normal(170, 70, 10_000).clip(0, 364).astype(int))
    duties = [
        duty(
            n,
            due=first + timedelta(days=int(day)),
            place=int(draw.integers(0, 8000)),
            loses=bool(n % 3),
        )
        for n, day in enumerate(days)
    ]
    found = level(duties=duties, capacity=weekly(number), first=first, last=last)
    assert_lawful(found, duties, first=first)
    assert found.is_proven
    assert found.is_feasible is (number == 290)
