"""The times of an order that a person wants, whether or not it keeps every rule.

What it breaks is told by the checker in words; nothing is refused, because the person may know
what the plan does not.
"""

from __future__ import annotations

from collections.abc import Sequence

from scheduling.domain.rounds.plans import Stop
from scheduling.domain.rounds.timing import earliest_start, timed
from scheduling.domain.rounds.visits import Travel, Visit, WorkingDay


def wanted_times(
    order: Sequence[Visit], *, day: WorkingDay, travel: Travel
) -> tuple[tuple[Stop, ...], bool]:
    """The stops of the order as driven, and whether it keeps every rule of times.

    Where it does not, each visit begins as soon as the tester is there: inside its open hours
    where some are left, at its promised minute where that is still ahead, else at once. Raises
    ValueError for a visit without coordinates.
    """
    kept = timed(order, day=day, travel=travel)
    if kept is not None:
        return kept, True
    stops = []
    here, clock = day.depot, day.starts
    for visit in order:
        if visit.place is None:
            raise ValueError(f"{visit.key} has no coordinates")
        ready = clock + travel.between(here, visit.place)
        start = earliest_start(visit, ready=ready)
        is_too_late = start is not None and start > day.ends and visit.promise is None
        start = ready if start is None or is_too_late else start
        here, clock = visit.place, start + visit.service_minutes
        stops.append(Stop(visit=visit.key, place=visit.place, arrive=start, leave=clock))
    return tuple(stops), False
