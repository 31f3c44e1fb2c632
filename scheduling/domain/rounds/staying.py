"""Visits left on the day and with the tester they stand with, unless moving them pays.

Whoever is told of a visit early plans for it: each move is a call to make, so that a few minutes
of driving are not worth one.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from itertools import pairwise

from scheduling.domain.rounds.insertion import Draft
from scheduling.domain.rounds.visits import Travel, Visit, WorkingDay

USUAL_MINUTES = 10
"""What one call is worth in minutes of driving, where nobody said otherwise: our own choice."""


def stay_minutes(draft: Draft) -> int:
    """The minutes that the moves of a draft must have saved, together; left out is moved too."""
    where = {visit.key: key for key, order in draft.orders.items() for visit in order}
    return sum(
        visit.stay.minutes
        for visit in draft.problem.visits
        if visit.stay is not None
        and visit.promise is None
        and visit.stay.key != where.get(visit.key)
    )


def costs(draft: Draft) -> tuple[int, int]:
    """Points left out, then minutes driven, with those that moves must have saved."""
    planned, days = draft.planned(), draft.problem.day_by_key
    lost = sum(one.priority for one in draft.problem.visits if one.key not in planned)
    driven = sum(
        _driven(order, day=days[key], travel=draft.problem.travel)
        for key, order in draft.orders.items()
    )
    return lost, driven + stay_minutes(draft)


def settled(draft: Draft) -> Draft:
    """The draft with every visit put back whose move saves no more driving than it must.

    One visit after the other, as long as any goes back; what finds no room where it stood stays
    moved.
    """
    while any([_went_back(draft, key, visit) for key, visit in _moved(draft)]):  # noqa: C419
        pass  # all of them are tried before any is tried again
    return draft


def _moved(draft: Draft) -> list[tuple[tuple[str, date], Visit]]:
    return [
        (key, visit)
        for key, order in draft.orders.items()
        for visit in order
        if visit.stay is not None and visit.stay.key != key and visit.promise is None
    ]


def _went_back(draft: Draft, key: tuple[str, date], visit: Visit) -> bool:
    assert visit.stay is not None
    days = draft.problem.day_by_key
    here, there = days[key], days.get(visit.stay.key)
    if there is None:
        return False
    order = draft.orders[here.key]
    less = [one for one in order if one.key != visit.key]
    travel = draft.problem.travel
    draft.orders[here.key] = less
    place = draft.place_on(visit, there)
    saved = _driven(order, day=here, travel=travel) - _driven(less, day=here, travel=travel)
    if place is None or place.extra_minutes - saved > visit.stay.minutes:
        draft.orders[here.key] = order
        return False
    draft.orders.setdefault(there.key, []).insert(place.position, visit)
    return True


def _driven(order: Sequence[Visit], *, day: WorkingDay, travel: Travel) -> int:
    if not order:
        return 0
    places = [day.depot, *(visit.place or 0 for visit in order), day.depot]
    return sum(travel.between(a, b) for a, b in pairwise(places))
