"""Days driven shorter without changing who does what: a stretch of visits is driven backwards.

The routing engine moves and swaps visits but never turns a stretch of one day round, so that a long
day can be left crossing its own way.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate, pairwise

from scheduling.domain.rounds.insertion import Draft
from scheduling.domain.rounds.plans import Stop
from scheduling.domain.rounds.timing import timed
from scheduling.domain.rounds.visits import Travel, Visit, WorkingDay
from scheduling.domain.rounds.weights import DRIVE_MINUTE_COST, OUT_MINUTE_COST


def turned(draft: Draft) -> Draft:
    """The draft with each stretch turned round where its day then costs less, until none is left.

    Every day keeps its visits and can be driven as before; a minute of driving weighs as in the
    search. Raises ValueError for a draft that cannot be driven.
    """
    for day in draft.problem.days:
        order = draft.orders.get(day.key, [])
        if len(order) > 1:
            draft.orders[day.key] = _turned(order, day=day, travel=draft.problem.travel)
    return draft


def _turned(order: Sequence[Visit], *, day: WorkingDay, travel: Travel) -> list[Visit]:
    kept = list(order)
    cost = _cost(kept, day=day, travel=travel)
    if cost is None:
        raise ValueError(f"the order of {day.tester} on {day.day} cannot be driven")
    is_better = True
    while is_better:
        is_better = False
        for first in range(len(kept) - 1):
            for last in _shorter(kept, first, day=day, travel=travel):
                other = [*kept[:first], *reversed(kept[first : last + 1]), *kept[last + 1 :]]
                less = _cost(other, day=day, travel=travel)
                if less is not None and less < cost:
                    kept, cost, is_better = other, less, True
                    break
    return kept


def _shorter(order: Sequence[Visit], first: int, *, day: WorkingDay, travel: Travel) -> list[int]:
    """The ends of stretches from ``first`` on that are driven shorter backwards, best first."""
    places = [day.depot, *(visit.place or 0 for visit in order), day.depot]
    between = travel.between
    along = list(accumulate((between(a, b) for a, b in pairwise(places)), initial=0))
    against = list(accumulate((between(b, a) for a, b in pairwise(places)), initial=0))
    here = first + 1
    before = places[here - 1]
    found = []
    for there in range(here + 1, len(places) - 1):
        after = places[there + 1]
        now = along[there + 1] - along[here - 1]
        inside = against[there] - against[here]
        then = between(before, places[there]) + inside + between(places[here], after)
        if then < now:
            found.append((then - now, there - 1))
    return [last for _less, last in sorted(found)]


def _cost(order: Sequence[Visit], *, day: WorkingDay, travel: Travel) -> int | None:
    """What the order costs by the minute; None where it cannot be driven."""
    stops = timed(order, day=day, travel=travel)
    return None if stops is None else _weighed(stops, day=day, travel=travel)


def _weighed(stops: Sequence[Stop], *, day: WorkingDay, travel: Travel) -> int:
    places = [day.depot, *(stop.place for stop in stops), day.depot]
    drive = sum(travel.between(a, b) for a, b in pairwise(places))
    leaves = stops[0].arrive - travel.between(day.depot, stops[0].place)
    home = stops[-1].leave + travel.between(stops[-1].place, day.depot)
    return drive * DRIVE_MINUTE_COST + (home - leaves) * OUT_MINUTE_COST
