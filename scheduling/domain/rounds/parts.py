"""A very large week in parts that are planned one after the other, each with testers of its own.

The engine's memory grows with the square of the places, and its speed falls with them. A town is
cut where it is widest, again and again; each part gets its share of hours, and of every skill.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence

from scheduling.domain.rounds.standing import stands_on
from scheduling.domain.rounds.visits import Problem, Visit, WorkingDay

_Side = Callable[[int | None], int]

MOST_VISITS = 700
"""A part holds no more: a week of some 15 testers."""


def parts_of(problem: Problem, *, most: int | None = None) -> list[Problem]:
    """The problem whole where it is small enough, or with a single tester; else in parts.

    Every visit is in exactly one part, one that is promised or stands on a day in its tester's; one
    that no tester of its part may take goes to a part whose testers may.
    """
    most = MOST_VISITS if most is None else most
    if len(problem.visits) <= most or len({day.tester for day in problem.days}) < 2:
        return [problem]
    near, far = _halves(problem)
    if not (near.visits and far.visits):
        return [problem]
    return [*parts_of(near, most=most), *parts_of(far, most=most)]


def _halves(problem: Problem) -> tuple[Problem, Problem]:
    one, other = _farthest_apart(problem)
    between = problem.travel.between

    def side(place: int | None) -> int:
        return 0 if place is None else between(one, place) - between(other, place)

    near_testers = _half_of_testers(problem.days, side=side)
    near_days = tuple(day for day in problem.days if day.tester in near_testers)
    far_days = tuple(day for day in problem.days if day.tester not in near_testers)
    near, far = _half_of_visits(problem, near_days, far_days, side=side)
    return (
        Problem(tuple(near), near_days, problem.travel),
        Problem(tuple(far), far_days, problem.travel),
    )


def _farthest_apart(problem: Problem) -> tuple[int, int]:
    """Two places far from each other: the farthest from any, and the farthest from that."""
    places = sorted({one.place for one in problem.visits if one.place is not None})
    start = problem.days[0].depot
    one = max(places, key=lambda place: (problem.travel.between(start, place), place), default=0)
    other = max(places, key=lambda place: (problem.travel.between(one, place), place), default=0)
    return one, other


def _half_of_testers(days: Sequence[WorkingDay], *, side: _Side) -> frozenset[str]:
    """Of every kind of skills the half whose depots lie nearer; odd ones go where fewer are."""
    kinds: dict[frozenset[str], dict[str, int]] = defaultdict(dict)
    for day in days:
        kinds[day.skills].setdefault(day.tester, side(day.depot))
    near: list[str] = []
    far = 0
    for _skills, testers in sorted(kinds.items(), key=lambda one: sorted(one[0])):
        ordered = sorted(testers, key=lambda tester: (testers[tester], tester))
        share = (len(ordered) + (len(near) <= far)) // 2
        near += ordered[:share]
        far += len(ordered) - share
    return frozenset(near)


def _half_of_visits(
    problem: Problem,
    near_days: Sequence[WorkingDay],
    far_days: Sequence[WorkingDay],
    *,
    side: _Side,
) -> tuple[list[Visit], list[Visit]]:
    """What stands goes with its tester; the rest is cut so that work lies as the hours do.

    Then what only one half may take.
    """
    hours = [sum(day.ends - day.starts for day in days) for days in (near_days, far_days)]
    room = sum(one.service_minutes for one in problem.visits) * hours[0] / max(1, sum(hours))
    near, far, free = _standing(problem, near_days)
    room -= sum(one.service_minutes for one in near)
    for visit in sorted(free, key=lambda one: (side(one.place), one.key)):
        wanted = near if room > 0 else far
        here, there = (near_days, far_days) if wanted is near else (far_days, near_days)
        if not _may(visit, here) and _may(visit, there):
            wanted = far if wanted is near else near
        wanted.append(visit)
        if wanted is near:
            room -= visit.service_minutes
    return near, far


def _standing(
    problem: Problem, near_days: Sequence[WorkingDay]
) -> tuple[list[Visit], list[Visit], list[Visit]]:
    """The visits that stand on a day of the near half, those on one of the far, and the others."""
    near_keys = {day.key for day in near_days}
    near: list[Visit] = []
    far: list[Visit] = []
    free: list[Visit] = []
    for visit in problem.visits:
        day = stands_on(visit, problem=problem)
        (free if day is None else near if day.key in near_keys else far).append(visit)
    return near, far, free


def _may(visit: Visit, days: Sequence[WorkingDay]) -> bool:
    return any(day.may_take(visit) for day in days)
