"""Visits that take two people at once: fixed for two testers at one time, before all others.

A permit space is not entered without an attendant outside (29 CFR 1910.146(d)(6)), so such a visit
is planned for two or not at all. With both times fixed, the rest is planned around them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Protocol

from scheduling.domain.rounds.gaps import Gap, gaps_at
from scheduling.domain.rounds.insertion import Draft, by_urgency, draft_of
from scheduling.domain.rounds.plans import LeftOut
from scheduling.domain.rounds.standing import as_it_stands
from scheduling.domain.rounds.staying import costs
from scheduling.domain.rounds.unplanned import why_left_out
from scheduling.domain.rounds.visits import Problem, Promise, Visit, WorkingDay, second_key

_Fixed = dict[str, tuple[Visit, Visit]]
"""By a pair's key its two fixed visits."""

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
    keeps its time, and one that stands is moved only where that saves both more driving than its
    stay asks, and the rest of the week loses nothing by it. Without such visits the problem is
    given back as it is.
    """
    pairs = by_urgency([visit for visit in problem.visits if visit.people > 1])
    if not pairs:
        return problem, ()
    others = tuple(visit for visit in problem.visits if visit.people < 2)
    draft = draft_of(replace(problem, visits=others), required_only=True)
    if not any(_stands(visit, draft=draft) for visit in pairs):
        return _asked_so(problem, _by_urgency_alone(pairs, draft=draft))
    standing = _as_they_stand(pairs, draft=draft)
    ways = [standing, _weighed(standing, pairs, draft=draft), _by_urgency_alone(pairs, draft=draft)]
    best = min(ways, key=lambda fixed: _costs(problem, fixed))
    return _asked_so(problem, best)


def _asked_so(problem: Problem, fixed: _Fixed) -> tuple[Problem, tuple[LeftOut, ...]]:
    """The problem with the pairs fixed, and those left out."""
    others = [visit for visit in problem.visits if visit.people < 2]
    pairs = by_urgency([visit for visit in problem.visits if visit.people > 1])
    both = [one for visit in pairs for one in fixed.get(visit.key, ())]
    left = [why_left_out(one, problem=problem) for one in pairs if one.key not in fixed]
    return replace(problem, visits=(*others, *both)), tuple(left)


def _by_urgency_alone(pairs: Sequence[Visit], *, draft: Draft) -> _Fixed:
    """Each pair where it is best, the most urgent first."""
    fixed: _Fixed = {}
    _fix(pairs, fixed, draft=_copy(draft), where=_found)
    return fixed


def _as_they_stand(pairs: Sequence[Visit], *, draft: Draft) -> _Fixed:
    """Each pair that stands where it does, and then the others where they are best."""
    draft = _copy(draft)
    fixed: _Fixed = {}
    _fix(pairs, fixed, draft=draft, where=_stands)
    _fix(pairs, fixed, draft=draft, where=_found)
    return fixed


class _Where(Protocol):
    """Where a pair can be, if anywhere."""

    def __call__(self, visit: Visit, *, draft: Draft) -> tuple[Visit, Visit] | None: ...


def _fix(pairs: Sequence[Visit], fixed: _Fixed, *, draft: Draft, where: _Where) -> None:
    """Fix each pair that is not fixed yet: as promised, else where it can be."""
    for visit in pairs:
        if visit.key not in fixed and (two := _promised(visit) or where(visit, draft=draft)):
            fixed[visit.key] = _put(two, draft=draft)


def _weighed(standing: _Fixed, pairs: Sequence[Visit], *, draft: Draft) -> _Fixed:
    """From how they stand, each pair moved where that saves more than its stay asks."""
    draft = _copy(draft)
    fixed = dict(standing)
    for two in fixed.values():
        _put(two, draft=draft)
    for visit in pairs:
        if visit.key in fixed and visit.promise is None:
            _take(fixed[visit.key], draft=draft)
            fixed[visit.key] = _put(_found(visit, draft=draft) or fixed[visit.key], draft=draft)
    return fixed


def _costs(problem: Problem, fixed: _Fixed) -> tuple[int, int]:
    """What the days as they stand cost around the pairs, and what moving pairs must have saved."""
    asked, left = _asked_so(problem, fixed)
    lost, minutes = costs(as_it_stands(asked))
    lost += sum(problem.visit_by_key[one.visit].priority for one in left)
    pairs = [visit for visit in problem.visits if visit.key in fixed]
    return lost, minutes + sum(_asks(visit, fixed[visit.key]) for visit in pairs)


def _asks(visit: Visit, two: tuple[Visit, Visit]) -> int:
    """The minutes that a pair's being elsewhere, or at another time, must have saved."""
    first, second = two[0].promise, two[1].promise
    assert first is not None
    assert second is not None
    is_there = _is_as_it_stands(visit, first.tester, second.tester, arrive=first.arrive)
    return 0 if visit.stay is None or visit.promise is not None or is_there else visit.stay.minutes


def _put(two: tuple[Visit, Visit], *, draft: Draft) -> tuple[Visit, Visit]:
    for one in two:
        draft.put(one)
    return two


def _take(two: tuple[Visit, Visit], *, draft: Draft) -> None:
    keys = {one.key for one in two}
    for key, order in draft.orders.items():
        draft.orders[key] = [one for one in order if one.key not in keys]


def _copy(draft: Draft) -> Draft:
    return Draft(draft.problem, {key: list(order) for key, order in draft.orders.items()})


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
    """Where both drive least, and stay weighs so many minutes; the least change where equal."""
    stands = _where_it_stands(visit, draft=draft)

    def rank(one: Together) -> tuple[int, bool, int, int, str, str]:
        stay, testers = visit.stay, (one.first.tester, one.second.tester)
        if stay is None or visit.promise is not None:
            return (one.extra_minutes, False, 0, one.arrive, *testers)
        asks = 0 if _is_as_it_stands(visit, *testers, arrive=one.arrive) else stay.minutes
        is_other = one.first.day != stay.day or {*testers} != {stay.tester, stay.second}
        away = 0 if is_other else abs(one.arrive - stay.arrive)
        return (one.extra_minutes + asks, is_other, away, one.arrive, *testers)

    best = min([*chances(visit, draft=draft), *stands], key=rank, default=None)
    return None if best is None else _fixed(visit, best)


def _fixed(visit: Visit, one: Together) -> tuple[Visit, Visit]:
    """The visit as two fixed ones; of two people with whom it stands the first stays the first."""
    first, second = one.first.tester, one.second.tester
    if visit.stay is not None and (second, first) == (visit.stay.tester, visit.stay.second):
        first, second = second, first
    return together(visit, first, second, arrive=one.arrive)


def _is_as_it_stands(visit: Visit, first: str, second: str, *, arrive: int) -> bool:
    stay = visit.stay
    return stay is not None and (arrive, {first, second}) == (
        stay.arrive,
        {stay.tester, stay.second},
    )


def _stands(visit: Visit, *, draft: Draft) -> tuple[Visit, Visit] | None:
    """The pair where and when it stands; None where it cannot stay so."""
    for one in _where_it_stands(visit, draft=draft):
        testers = (one.first.tester, one.second.tester)
        if _is_as_it_stands(visit, *testers, arrive=one.arrive):
            return _fixed(visit, one)
    return None


def _where_it_stands(visit: Visit, *, draft: Draft) -> list[Together]:
    """The times that are left to the two people it stands with on their day, its own among them."""
    stay, by_key = visit.stay, draft.problem.day_by_key
    if stay is None or visit.promise is not None:
        return []
    days = tuple(
        by_key[key]
        for key in ((stay.tester, stay.day), (stay.second, stay.day))
        if key in by_key and stay.second != stay.tester
    )
    alone = Draft(Problem((), days, draft.problem.travel), draft.orders)
    leave = stay.arrive + visit.service_minutes
    is_open = any(one.opens <= stay.arrive and leave <= one.closes for one in visit.open_windows())
    found = list(chances(visit, draft=alone, at=stay.arrive)) if is_open else []
    return [*found, *chances(visit, draft=alone)]


def together(visit: Visit, first: str, second: str, *, arrive: int) -> tuple[Visit, Visit]:
    """The visit as two fixed ones, each for its tester, at one time."""
    leave = arrive + visit.service_minutes
    return (
        replace(visit, promise=Promise(first, arrive, leave), stay=None),
        _second(visit, promise=Promise(second, arrive, leave)),
    )


def _second(visit: Visit, *, promise: Promise) -> Visit:
    return replace(
        visit,
        key=second_key(visit.key),
        promise=promise,
        second_promise=None,
        people=1,
        stay=None,
        space=0,
    )


def chances(visit: Visit, *, draft: Draft, at: int | None = None) -> Iterator[Together]:
    """For each date, team and time (or ``at`` that minute) the two who add least driving."""
    anybody = replace(visit, promise=None)
    able = [day for day in draft.problem.days if visit.place is not None and day.may_take(anybody)]
    able.sort(key=lambda day: (day.day, day.team, day.tester))
    for _date_and_team, group in groupby(able, key=lambda day: (day.day, day.team)):
        days = list(group)
        if len(days) < 2:
            continue
        gaps = [_gaps(visit, day=day, draft=draft) for day in days]
        for arrive in _times(visit, days=days) if at is None else [at]:
            two = sorted(_extras(visit, days=days, gaps=gaps, arrive=arrive, draft=draft))[:2]
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


def _gaps(visit: Visit, *, day: WorkingDay, draft: Draft) -> tuple[Gap, ...]:
    assert visit.place is not None
    order = draft.orders.get(day.key, [])
    return gaps_at(visit.place, order=order, day=day, travel=draft.problem.travel)


def _extras(
    visit: Visit, *, days: list[WorkingDay], gaps: list[tuple[Gap, ...]], arrive: int, draft: Draft
) -> Iterator[tuple[int, int]]:
    """What each tester's driving grows by who can be there then; the promised one first."""
    leave = arrive + visit.service_minutes
    for index, day in enumerate(days):
        among = [one.position for one in gaps[index] if one.since <= arrive and leave <= one.until]
        if not among:
            continue
        wanted = replace(visit, promise=Promise(day.tester, arrive, leave))
        place = draft.place_on(wanted, day, among=among)
        if place is not None:
            is_promised = visit.promise is not None and visit.promise.tester == day.tester
            yield (-1 if is_promised else place.extra_minutes), index
