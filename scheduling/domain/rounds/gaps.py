"""Between which visits of a day a fixed time could lie: a quick look before days are driven.

What stands before a place in an order cannot be done sooner, and what stands behind it cannot begin
later, wherever lunch is eaten and whatever is put in between.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from scheduling.domain.rounds.timing import earliest_start
from scheduling.domain.rounds.visits import Travel, Visit, WorkingDay

NEVER = -1
"""No minute: what is late already is never too early."""


@dataclass(frozen=True, slots=True)
class Gap:
    """A place in an order: since when one can be there, and by when one must leave."""

    position: int
    since: int
    until: int


def gaps_at(
    place: int, *, order: Sequence[Visit], day: WorkingDay, travel: Travel
) -> tuple[Gap, ...]:
    """The gaps of a day as seen from a place, those that are none left away.

    Lunch and the longest day are not looked at, so a gap may prove too narrow, but nothing fits
    outside of one.
    """
    stops = [day.depot, *(day.depot if one.place is None else one.place for one in order)]
    free = _free_from(order, stops=stops, day=day, travel=travel)
    by = _there_by(order, stops=stops, day=day, travel=travel)
    found = []
    for position, (here, there) in enumerate(pairwise([*stops, day.depot])):
        since = free[position] + travel.between(here, place)
        until = by[position] - travel.between(place, there)
        if free[position] != NEVER and since <= until:
            found.append(Gap(position, since, until))
    return tuple(found)


def _free_from(
    order: Sequence[Visit], *, stops: Sequence[int], day: WorkingDay, travel: Travel
) -> list[int]:
    """For each stop (the depot first) the first minute after it; NEVER from where one is late."""
    free = [day.starts]
    for visit, (here, there) in zip(order, pairwise(stops), strict=True):
        start = None
        if free[-1] != NEVER and visit.place is not None:
            start = earliest_start(visit, ready=free[-1] + travel.between(here, there))
        free.append(NEVER if start is None else start + visit.service_minutes)
    return free


def _there_by(
    order: Sequence[Visit], *, stops: Sequence[int], day: WorkingDay, travel: Travel
) -> list[int]:
    """For each visit, and for home, the last minute to arrive so that nothing behind is late."""
    home = day.ends
    legs = [travel.between(here, there) for here, there in pairwise([*stops[1:], day.depot])]
    behind = accumulate(
        zip(reversed(order), reversed(legs), strict=True),
        lambda by, one: _latest_start(one[0], leaves_by=by - one[1]),
        initial=home,
    )
    return list(behind)[::-1]


def _latest_start(visit: Visit, *, leaves_by: int) -> int:
    """The last minute at which the visit may begin; NEVER when there is none."""
    if visit.promise is not None:
        arrive = visit.promise.arrive
        return arrive if arrive + visit.service_minutes <= leaves_by else NEVER
    starts = (
        (window.opens, min(window.closes, leaves_by) - visit.service_minutes)
        for window in visit.open_windows()
    )
    return max((last for opens, last in starts if opens <= last), default=NEVER)
