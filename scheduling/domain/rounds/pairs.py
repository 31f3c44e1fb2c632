"""Visits that take two people at once: fixed for two testers at one time, before all others.

A permit space is not entered without an attendant outside (29 CFR 1910.146(d)(6)), so such a visit
is planned for two or not at all. With both times fixed, the rest is planned around them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import groupby

from scheduling.domain.rounds.insertion import Draft, by_urgency, draft_of
from scheduling.domain.rounds.plans import LeftOut
from scheduling.domain.rounds.unplanned import why_left_out
from scheduling.domain.rounds.visits import Problem, Promise, Visit, WorkingDay, second_key

STEP_MINUTES = 15
"""Times that are tried: the first possible minute, and every quarter of an hour."""


@dataclass(frozen=True, slots=True)
class Together:
    """Two testers at one visit from ``arrive`` on, and the driving both add."""

    extra_minutes: int
    first: WorkingDay
    second: WorkingDay
    arrive: int


def with_pairs(problem: Problem) -> tuple[Problem, tuple[LeftOut, ...]]:
    """The problem with each such visit as two fixed ones, and those left out, with why.

    The most urgent choose first, each where both testers drive least. A visit promised before
    keeps its time. Without such visits the problem is given back as it is.
    """
    pairs = [visit for visit in problem.visits if visit.people > 1]
    if not pairs:
        return problem, ()
    others = tuple(visit for visit in problem.visits if visit.people < 2)
    draft = draft_of(replace(problem, visits=others), required_only=True)
    fixed: list[Visit] = []
    left: list[LeftOut] = []
    for visit in by_urgency(pairs):
        two = _promised(visit) or _found(visit, draft=draft)
        if two is None:
            left.append(why_left_out(visit, problem=problem))
            continue
        fixed += two
        for one in two:
            draft.put(one)
    return replace(problem, visits=(*others, *fixed)), tuple(left)


def whole_pairs(draft: Draft) -> Draft:
    """The draft without a visit of two people of which only one is planned."""
    planned = draft.planned()
    for visit in draft.problem.visits:
        both = {visit.key, second_key(visit.key)}
        if visit.people > 1 and len(both & planned) == 1:
            for key, order in draft.orders.items():
                draft.orders[key] = [one for one in order if one.key not in both]
    return draft


def _promised(visit: Visit) -> tuple[Visit, Visit] | None:
    if visit.promise is None or visit.second_promise is None:
        return None
    return visit, _second(visit, promise=visit.second_promise)


def _found(visit: Visit, *, draft: Draft) -> tuple[Visit, Visit] | None:
    best = min(
        chances(visit, draft=draft),
        key=lambda one: (one.extra_minutes, one.arrive, one.first.tester, one.second.tester),
        default=None,
    )
    if best is None:
        return None
    return together(visit, best.first.tester, best.second.tester, arrive=best.arrive)


def together(visit: Visit, first: str, second: str, *, arrive: int) -> tuple[Visit, Visit]:
    """The visit as two fixed ones, each for its tester, at one time."""
    leave = arrive + visit.service_minutes
    return (
        replace(visit, promise=Promise(first, arrive, leave)),
        _second(visit, promise=Promise(second, arrive, leave)),
    )


def _second(visit: Visit, *, promise: Promise) -> Visit:
    return replace(visit, key=second_key(visit.key), promise=promise, second_promise=None, people=1)


def chances(visit: Visit, *, draft: Draft) -> Iterator[Together]:
    """For each date, team and time the two testers who add least driving."""
    anybody = replace(visit, promise=None)
    able = [day for day in draft.problem.days if visit.place is not None and day.may_take(anybody)]
    able.sort(key=lambda day: (day.day, day.team, day.tester))
    for _date_and_team, group in groupby(able, key=lambda day: (day.day, day.team)):
        days = list(group)
        for arrive in _times(visit, days=days) if len(days) > 1 else ():
            two = sorted(_extras(visit, days=days, arrive=arrive, draft=draft))[:2]
            if len(two) == 2:
                (cost, first), (more, second) = two
                if visit.promise is not None and days[second].tester == visit.promise.tester:
                    first, second = second, first
                yield Together(cost + more, days[first], days[second], arrive)


def _times(visit: Visit, *, days: list[WorkingDay]) -> list[int]:
    since, until = min(day.starts for day in days), max(day.ends for day in days)
    if visit.promise is not None:
        return [visit.promise.arrive] if since <= visit.promise.arrive < until else []
    found: set[int] = set()
    for window in visit.open_windows():
        first = max(window.opens, since)
        last = min(window.closes, until) - visit.service_minutes
        if first <= last:
            found |= {
                first,
                *range(-(-first // STEP_MINUTES) * STEP_MINUTES, last + 1, STEP_MINUTES),
            }
    return sorted(found)


def _extras(
    visit: Visit, *, days: list[WorkingDay], arrive: int, draft: Draft
) -> Iterator[tuple[int, int]]:
    """What each tester's driving grows by who can be there then; the promised one first."""
    leave = arrive + visit.service_minutes
    for index, day in enumerate(days):
        wanted = replace(visit, promise=Promise(day.tester, arrive, leave))
        place = draft.place_on(wanted, day)
        if place is not None:
            is_promised = visit.promise is not None and visit.promise.tester == day.tester
            yield (-1 if is_promised else place.extra_minutes), index
