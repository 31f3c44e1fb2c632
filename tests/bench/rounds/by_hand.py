"""What offices do without a planner: one ZIP after the other, what is due first within it.

Each tester's day takes the ZIP whose most urgent visit is most urgent of all, drives to its visits
in the order of urgency as hours, windows and lunch allow, and goes on with the next ZIP.
Common practice, as honestly as a program can play it: it never breaks a rule, and keeps promises.
"""

from __future__ import annotations

from collections import defaultdict

from scheduling.domain.rounds.insertion import Draft, draft_of
from scheduling.domain.rounds.timing import timed
from scheduling.domain.rounds.travel import great_circle_km
from scheduling.domain.rounds.visits import Problem, Spot, Visit, WorkingDay


def planned_by_hand(problem: Problem, *, zips: dict[str, str]) -> Draft:
    """The days as an office would fill them; `zips` names the ZIP of each visit by its key."""
    draft = draft_of(problem, required_only=True)
    waiting = _by_zip(problem, done=draft.planned(), zips=zips)
    for day in sorted(problem.days, key=lambda one: (one.day, one.tester)):
        for name in sorted(waiting, key=lambda one: _rank(waiting[one])):
            waiting[name] = _filled(draft, day, waiting[name])
    return draft


def zips_of(spots: dict[str, Spot], *, side_km: float = 6.0) -> dict[str, str]:
    """Invented ZIPs: squares of a side of six kilometres, as towns of that size have them."""
    corner = Spot(min(one.lat for one in spots.values()), min(one.lon for one in spots.values()))
    north = great_circle_km([corner, Spot(corner.lat + 1, corner.lon)])[0, 1]
    east = great_circle_km([corner, Spot(corner.lat, corner.lon + 1)])[0, 1]
    return {
        key: f"{int((one.lat - corner.lat) * north / side_km)}"
        f"-{int((one.lon - corner.lon) * east / side_km)}"
        for key, one in spots.items()
    }


def _by_zip(
    problem: Problem, *, done: frozenset[str], zips: dict[str, str]
) -> dict[str, list[Visit]]:
    found: dict[str, list[Visit]] = defaultdict(list)
    for visit in problem.visits:
        if visit.key not in done and visit.place is not None:
            found[zips[visit.key]].append(visit)
    for visits in found.values():
        visits.sort(key=lambda one: (-one.priority, one.key))
    return dict(found)


def _rank(visits: list[Visit]) -> tuple[int, str]:
    return (-visits[0].priority, visits[0].key) if visits else (0, "")


def _filled(draft: Draft, day: WorkingDay, visits: list[Visit]) -> list[Visit]:
    """Put what still fits after the last of them, around appointments; return what does not."""
    left = []
    for visit in visits:
        order = draft.orders.get(day.key, [])
        free = [place for place, one in enumerate(order) if one.promise is None]
        first = free[-1] + 1 if free else 0
        tries = ([*order[:at], visit, *order[at:]] for at in range(first, len(order) + 1))
        fitting = (one for one in tries if timed(one, day=day, travel=draft.problem.travel))
        found = next(fitting, None) if day.may_take(visit) else None
        if found is None:
            left.append(visit)
        else:
            draft.orders[day.key] = found
    return left
