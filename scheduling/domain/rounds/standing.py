"""The days as they stand: what an earlier plan put there comes first, in the order it has.

Whoever plans a week anew begins from it, so that a short search cannot lose what was planned.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date
from operator import itemgetter

from scheduling.domain.rounds.insertion import Draft, by_urgency, draft_of, filled
from scheduling.domain.rounds.timing import fits_alone, timed
from scheduling.domain.rounds.visits import Problem, Visit, WorkingDay

DayKey = tuple[str, date]

MOST_PLACES_TRIED = 250_000
"""Visits that stand nowhere times days up to which a draft is filled (seconds of work)."""


def stands_on(visit: Visit, *, problem: Problem) -> WorkingDay | None:
    """The tester's day on which a visit of one person stands and may stay, were it alone there.

    None where it stands nowhere, is promised, or that tester may not take it then any more.
    """
    if visit.stay is None or visit.promise is not None or visit.people > 1:
        return None
    day = problem.day_by_key.get(visit.stay.key)
    if day is None or not day.may_take(visit) or not fits_alone(visit, day=day, problem=problem):
        return None
    return day


def any_stands(problem: Problem) -> bool:
    """Whether any visit stands on a day already."""
    return any(stands_on(visit, problem=problem) is not None for visit in problem.visits)


def begun(problem: Problem, *, most: int = MOST_PLACES_TRIED) -> Draft:
    """What a search begins from: the days as they stand, then what had to go, then the rest.

    More than ``most`` places are not tried: in a week so large only what must be planned is put in
    besides what stands.
    """
    draft = as_it_stands(problem)
    planned = draft.planned()
    waiting = [visit for visit in problem.visits if visit.key not in planned]
    if len(waiting) * len(problem.days) <= most:
        for visit in by_urgency([one for one in waiting if one.stay is not None]):
            draft.put(visit)
        filled(draft)
    return draft


def as_it_stands(problem: Problem) -> Draft:
    """What stands and can be driven so, with all that must be planned; else only the latter.

    Where a day cannot be driven as it stands any more, as little as possible leaves its place.
    """
    on = _orders(problem)
    if not any(visit.promise is None for order in on.values() for visit in order):
        return draft_of(problem, required_only=True)
    draft = Draft(problem)
    for day in problem.days:
        if order := on.get(day.key):
            _put_all(order, day=day, draft=draft)
    planned = draft.planned()
    late = [one for one in problem.visits if one.must_be_planned and one.key not in planned]
    left = [visit for visit in by_urgency(late) if not draft.put(visit)]
    if not left:
        return draft
    other = draft_of(problem, required_only=True)
    if len(other.planned() & {visit.key for visit in left}) == 0:
        return draft
    return _around(other, on)


def _orders(problem: Problem) -> dict[DayKey, list[Visit]]:
    """What stands on each day, and what is promised there, by its time."""
    found: dict[DayKey, list[tuple[int, str, Visit]]] = defaultdict(list)
    for visit in problem.visits:
        day, arrive = stands_on(visit, problem=problem), 0
        if visit.promise is not None:
            day, arrive = _promised_on(visit, problem=problem), visit.promise.arrive
        elif visit.stay is not None:
            arrive = visit.stay.arrive
        if day is not None:
            found[day.key].append((arrive, visit.key, visit))
    return {
        key: [one[2] for one in sorted(rows, key=itemgetter(0, 1))] for key, rows in found.items()
    }


def _promised_on(visit: Visit, *, problem: Problem) -> WorkingDay | None:
    promise = visit.promise
    if promise is None or visit.place is None:
        return None
    days = (day for day in problem.days if day.starts <= promise.arrive <= day.ends)
    return next((day for day in days if day.may_take(visit)), None)


def _put_all(order: Sequence[Visit], *, day: WorkingDay, draft: Draft) -> None:
    """Put the order on its day: whole, else without one, else as much as fits by urgency."""
    if _drivable(order, day=day, draft=draft):
        draft.orders[day.key] = list(order)
    elif not _put_without_one(order, day=day, draft=draft):
        _put_one_by_one(order, day=day, draft=draft)


def _put_without_one(order: Sequence[Visit], *, day: WorkingDay, draft: Draft) -> bool:
    """Put all but one, the least urgent first; rather one that has another place on that day."""
    kept: list[Visit] | None = None
    for visit in reversed(by_urgency(order)):
        rest = [one for one in order if one.key != visit.key]
        if visit.promise is not None or not _drivable(rest, day=day, draft=draft):
            continue
        draft.orders[day.key] = rest
        place = draft.place_on(visit, day)
        if place is not None:
            rest.insert(place.position, visit)
            return True
        kept = kept or rest
    draft.orders[day.key] = kept or []
    return kept is not None


def _put_one_by_one(order: Sequence[Visit], *, day: WorkingDay, draft: Draft) -> None:
    rank = {visit.key: index for index, visit in enumerate(order)}
    kept: list[Visit] = []
    for visit in by_urgency(order):
        at = sum(rank[one.key] < rank[visit.key] for one in kept)
        draft.orders[day.key] = kept
        if not _drivable([*kept[:at], visit, *kept[at:]], day=day, draft=draft):
            place = draft.place_on(visit, day)
            if place is None:
                continue
            at = place.position
        kept.insert(at, visit)


def _drivable(order: Sequence[Visit], *, day: WorkingDay, draft: Draft) -> bool:
    if not day.takes(order):
        return False
    return timed(order, day=day, travel=draft.problem.travel) is not None


def _around(draft: Draft, on: Mapping[DayKey, Sequence[Visit]]) -> Draft:
    """A draft of what must be planned with what stands put around it."""
    planned = draft.planned()
    for day in draft.problem.days:
        for visit in by_urgency(on.get(day.key, ())):
            place = None if visit.key in planned else draft.place_on(visit, day)
            if place is not None:
                draft.orders.setdefault(day.key, []).insert(place.position, visit)
    return draft
